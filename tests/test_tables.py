"""Every table of the project: source complete, a unit for each number, bands that meet, keys that are unique."""

import itertools
import math
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1] / "exposure"
TABLES = sorted(path for path in ROOT.rglob("*.toml") if "tables" in path.parts)


def read(path):
    return tomllib.loads(path.read_text("utf-8"))


def named(path):
    return str(path.relative_to(ROOT))


@pytest.mark.parametrize("path", TABLES, ids=named)
def test_the_source_is_complete(path):
    source = read(path)["source"]
    assert source["document"].strip()
    assert source["place"].strip()
    assert isinstance(source["verified"], bool)


@pytest.mark.parametrize("path", TABLES, ids=named)
def test_each_number_has_a_unit(path):
    table = read(path)
    for row in table.get("row", []):
        for column, value in row.items():
            if isinstance(value, int | float) and not isinstance(value, bool):
                assert "unit" in row or column in table["units"], f"{column} has no unit"


@pytest.mark.parametrize("path", TABLES, ids=named)
def test_bands_meet_without_gap_or_overlap(path):
    rows = [row for row in read(path).get("row", []) if "from" in row and "to" in row]
    numbers = [row for row in rows if not isinstance(row["from"], str)]
    for below, above in itertools.pairwise(numbers):
        if above["from"] <= below["from"]:
            continue  # the next group of bands begins
        assert above["from"] == below["to"], f"{below['to']} does not meet {above['from']}"
    assert all(row["to"] > row["from"] for row in numbers)
    assert not any(math.isnan(row["from"]) for row in numbers)


@pytest.mark.parametrize("path", TABLES, ids=named)
def test_no_row_stands_twice(path):
    rows = [repr(sorted(row.items())) for row in read(path).get("row", [])]
    assert len(rows) == len(set(rows))
    keys = [row["key"] for row in read(path).get("row", []) if "key" in row]
    assert len(keys) == len(set(keys))


def test_there_are_tables():
    assert len(TABLES) > 5
