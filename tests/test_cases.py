"""The published and hand-worked numbers under ``cases/`` are complete, sourced, and each stands once."""

import tomllib
from pathlib import Path

import outside
import pytest
from outside import CHECKS

CASES = Path(__file__).parent / "cases"
FULL_LIST = Path(__file__).parents[2] / "shared" / "checks.toml"


def test_each_number_has_a_source_and_stands_once():
    rows = [row for path in CASES.glob("*.toml") for row in tomllib.loads(path.read_text("utf-8"))["check"]]
    assert len({row["id"] for row in rows}) == len(rows) == len(CHECKS) > 20
    for row in rows:
        assert row["source"].strip(), row["id"]
        assert row["tag"] in outside.HOW, row["id"]
        assert isinstance(row["inputs"], dict), row["id"]


def test_what_goes_into_a_check_is_read_not_typed_again(monkeypatch):
    """A result is held against a check only by who has read its inputs."""
    monkeypatch.setattr(outside, "READ", set())
    monkeypatch.setattr(outside, "SAID", {})
    with pytest.raises(AssertionError, match="inputs of hour-head-on"):
        outside.agrees(1.11111, "hour-head-on")
    assert outside.inputs_of("hour-head-on") == {"wind_speed": 5, "rain": 1, "turn": 0}
    outside.agrees(1.11111, "hour-head-on")


def test_no_number_of_the_full_list_is_left_out():
    if not FULL_LIST.is_file():
        pytest.skip("the full list of check numbers is not beside this checkout")
    for row in tomllib.loads(FULL_LIST.read_text("utf-8"))["check"]:
        assert row["id"] in CHECKS, f"{row['id']} is not asserted anywhere"
        assert CHECKS[row["id"]]["expected"] == row["expected"], row["id"]
        assert CHECKS[row["id"]]["tolerance"] <= row["tolerance"], row["id"]
