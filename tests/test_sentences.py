"""What is said is never taken apart again: doubts are made from their table, decisions follow keys."""

import ast
from pathlib import Path
from types import MappingProxyType

import pytest
import xarray as xr

import exposure
from exposure.assess.building import sea_twice
from exposure.detail.ways_to_build import ways_to_build
from exposure.doubts import Doubt, doubt

CORE = Path(exposure.__file__).parent
ROOMS = (
    "rain",
    "site",
    "wall",
    "detail",
    "junction",
    "assess",
    "climate",
    "region",
    "paper",
    "map",
    "export",
    "draw",
)
SOURCES = sorted(path for room in ROOMS for path in (CORE / room).rglob("*.py"))
LISTS = ("flags", "doubts")


def said_in(one: ast.AST) -> list[str]:
    """Texts an expression puts into a list, those inside calls (the numbers of a doubt) not counted."""
    if isinstance(one, ast.Call):
        return []
    own = []
    if isinstance(one, ast.JoinedStr):
        return [ast.unparse(one)]
    if isinstance(one, ast.Constant) and isinstance(one.value, str) and " " in one.value.strip():
        own = [one.value]
    return own + [text for part in ast.iter_child_nodes(one) for text in said_in(part)]


def plain_flags(tree: ast.AST) -> list[str]:
    """Sentences that are put into a list of flags or doubts as they stand."""
    found = []
    for one in ast.walk(tree):
        if isinstance(one, ast.Call) and isinstance(one.func, ast.Attribute):
            whose = one.func.value
            if one.func.attr in ("append", "extend") and isinstance(whose, ast.Name) and whose.id in LISTS:
                found += [text for part in one.args for text in said_in(part)]
        elif isinstance(one, ast.AugAssign) and isinstance(one.target, ast.Name) and one.target.id in LISTS:
            found += said_in(one.value)
        elif isinstance(one, ast.Assign | ast.AnnAssign) and one.value is not None:
            targets = one.targets if isinstance(one, ast.Assign) else [one.target]
            if any(isinstance(target, ast.Name) and target.id in LISTS for target in targets):
                found += said_in(one.value) if isinstance(one.value, ast.List | ast.Tuple) else []
        elif isinstance(one, ast.keyword) and one.arg in LISTS:
            found += said_in(one.value) if isinstance(one.value, ast.List | ast.Tuple) else []
    return found


def test_the_search_finds_a_plain_flag():
    bad = 'flags.append(f"The {name} is odd.")\nflags += ["It is odd."]\nmake(flags=("Very odd.",))'
    assert len(plain_flags(ast.parse(bad))) == 3
    assert plain_flags(ast.parse('flags.append(doubt("a.b", "two words", of=f"{x} m"))')) == []


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(CORE)))
def test_no_doubt_is_made_as_a_plain_sentence(path):
    assert plain_flags(ast.parse(path.read_text("utf-8"))) == []


class Face:
    """An elevation that looks over sea, as far as the doubt asks."""

    ground_sector = 0


class Shore:
    """A site with sea to the north."""

    untold = MappingProxyType({})
    categories = ("I", *("III",) * 11)


def climate(flag: str) -> xr.Dataset:
    return xr.Dataset(attrs={"kind": "reanalysis", "land_share": 0.9, "flags": [flag]})


def test_a_sea_cell_is_told_by_the_key_and_not_by_words():
    reworded = Doubt("A cell of water.", "climate.mostly_sea")
    assert sea_twice(climate(reworded), Shore(), [Face()])
    assert sea_twice(climate("A station that is mostly seaweed."), Shore(), [Face()]) == []
    assert sea_twice(climate(doubt("climate.mostly_sea")), Shore(), [Face()])[0].key == "assess.sea_twice"


@pytest.mark.parametrize("room", ["draw", "paper", "page", "export", "map"])
def test_no_sentence_is_parted_where_it_is_shown(room):
    marks = (
        'partition("; ")',
        'partition(" Here ")',
        'split("; ")',
        'endswith(f", {',
        "removesuffix(tail",
    )
    found = [
        f"{path.name}: {mark}"
        for path in sorted((CORE / room).glob("*.py"))
        for mark in marks
        if mark in path.read_text("utf-8")
    ]
    assert found == []


def test_ways_to_build_know_their_membrane_apart_from_their_name():
    ways = ways_to_build()
    assert {one.membrane for one in ways} == {"open", "closed"}
    for one in ways:
        assert one.name.startswith(f"{one.option}, ")
        assert "membrane" not in one.option
