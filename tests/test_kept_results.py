"""What is kept by content: found again, made anew when anything it depends on differs, and never in the way."""

import os
from pathlib import Path

import numpy as np
import pytest

from exposure.assess import kept_results
from exposure.assess.kept_results import content_of, kept_or_made, prune
from exposure.climate.grid import marks


def counted(made):
    def make():
        made.append(1)
        return {"number": len(made)}

    return make


def test_the_same_key_is_made_once_and_another_anew(tmp_path, monkeypatch):
    made = []
    make = counted(made)
    assert kept_or_made(str(tmp_path), ("a", 1.0), make) == {"number": 1}
    assert kept_or_made(str(tmp_path), ("a", 1.0), make) == {"number": 1}
    assert kept_or_made(str(tmp_path), ("a", 1.5), make) == {"number": 2}
    monkeypatch.setattr(kept_results, "code_mark", lambda *_parts: "other code")
    assert kept_or_made(str(tmp_path), ("a", 1.0), make) == {"number": 3}
    assert kept_or_made(None, ("a", 1.0), make) == {"number": 4}
    assert len(made) == 4


def test_a_torn_file_is_made_anew(tmp_path):
    make = counted([])
    kept_or_made(str(tmp_path), ("a",), make)
    (kept,) = tmp_path.glob("*.json")
    kept.write_text('{"number": ')
    assert kept_or_made(str(tmp_path), ("a",), make) == {"number": 2}
    assert kept_or_made(str(tmp_path), ("a",), make) == {"number": 2}


@pytest.mark.parametrize(
    "harm", ["[1, 2]", "7", "null", '{"made": {"number": 1}}', '{"made": {"number": 9}, "seal": "a"}']
)
def test_what_is_not_as_it_was_written_is_made_anew(tmp_path, harm):
    make = counted([])
    kept_or_made(str(tmp_path), ("a",), make)
    (kept,) = tmp_path.glob("*.json")
    kept.write_text(harm)
    assert kept_or_made(str(tmp_path), ("a",), make) == {"number": 2}


def test_other_code_has_another_mark(tmp_path, monkeypatch):
    import exposure

    (tmp_path / "rain").mkdir()
    (tmp_path / "rain" / "hour.py").write_text("factor = 2 / 9")
    monkeypatch.setattr(exposure, "__file__", str(tmp_path / "__init__.py"))
    before = marks.code_mark.__wrapped__("rain")
    (tmp_path / "rain" / "hour.py").write_text("factor = 3 / 9")
    assert marks.code_mark.__wrapped__("rain") != before


def test_a_folder_that_cannot_be_written_costs_nothing_but_time(tmp_path):
    (tmp_path / "file").write_text("in the way")
    assert kept_or_made(str(tmp_path / "file"), ("a",), counted([])) == {"number": 1}


def test_what_fails_is_not_kept(tmp_path):
    def fail():
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        kept_or_made(str(tmp_path), ("a",), fail)
    assert not list(tmp_path.iterdir())


def test_the_oldest_go_first(tmp_path, monkeypatch):
    monkeypatch.setattr(kept_results, "MOST_KEPT", 2)
    for age, name in enumerate("abcd"):  # a is the youngest
        path = tmp_path / f"{name}.json"
        path.write_text("{}")
        os.utime(path, (1e9 - age, 1e9 - age))
    prune(tmp_path)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.json", "b.json"]
    prune(tmp_path / "nowhere")


def test_another_process_may_prune_at_the_same_time(tmp_path, monkeypatch):
    unlink = Path.unlink
    monkeypatch.setattr(Path, "unlink", lambda path, **how: (unlink(path), unlink(path, **how)))
    monkeypatch.setattr(kept_results, "MOST_KEPT", 1)
    for age, name in enumerate("abc"):
        (tmp_path / f"{name}.json").write_text("{}")
        os.utime(tmp_path / f"{name}.json", (1e9 - age, 1e9 - age))
    prune(tmp_path)  # what the other took away hinders nothing
    assert [path.name for path in tmp_path.iterdir()] == ["a.json"]


def test_figures_of_any_kind_come_back_as_numbers(tmp_path):
    for _ in range(2):
        assert kept_or_made(str(tmp_path), ("a",), lambda: {"number": np.float32(1.5)}) == {"number": 1.5}


def test_a_folder_is_made_with_those_above_it(tmp_path):
    make = counted([])
    for _ in range(2):
        assert kept_or_made(str(tmp_path / "new" / "kept"), ("a",), make) == {"number": 1}


def test_a_file_is_known_by_what_is_in_it_and_an_address_never(tmp_path, monkeypatch):
    one, other = tmp_path / "one", tmp_path / "other"
    one.write_text("same")
    other.write_text("same")
    assert content_of(one) == content_of(other) != ""
    other.write_text("else")
    assert content_of(one) != content_of(other)
    whole = content_of(tmp_path)
    other.write_text("longer")
    assert content_of(tmp_path) != whole
    assert content_of("https://example.org/grid") != content_of("https://example.org/grid")
    assert content_of(None) == ""
    monkeypatch.setattr(marks, "HASHED_WHOLE", 1)  # a large file: by name, size and time of change
    before = content_of(one)
    os.utime(one, (5e8, 5e8))
    assert content_of(one) != before
