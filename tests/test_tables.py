"""Every table of the project: source complete, a unit for each number, bands that meet, keys that are unique."""

import itertools
import math
import re
import tomllib
from pathlib import Path

import pytest

from exposure.assess.prices import ITEMS as PRICED
from exposure.detail.ladder import ladder_rows
from exposure.detail.materials import ITEMS, NAMED, NO_MATERIAL
from exposure.detail.take_off import WASTE
from exposure.tables import table_standing
from exposure.tables.standing import (
    STANDING_WORDS,
    STANDINGS,
    is_verified,
    row_standings,
    standing_words,
    with_standing,
    without_standing,
)

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
    assert "verified" not in source  # follows from the standing of the rows


@pytest.mark.parametrize("path", TABLES, ids=named)
def test_every_row_says_how_it_stands(path):
    table = read(path)
    for row in (*table.get("row", []), *table.get("outcome", [])):
        found = row_standings(row)
        assert found, row
        assert set(found) <= set(STANDINGS), row


def test_only_what_was_read_counts_as_verified():
    assert [one for one in STANDING_WORDS if is_verified(one)] == ["read"]
    for path in TABLES:
        table = read(path)
        if path.parent.name == "tables" and table.get("row"):
            marked = {one for row in table["row"] for one in row_standings(row)}
            assert is_verified(table_standing(path.stem)) == (marked == {"read"}), path.stem


# Figures of the ladder that were compared with an open document or law, level by level, written down here by hand
# from that comparison. Anything else may not call itself read.
READ = {
    "low_timber": "1234", "dpc_up": "1234", "cav_base": "1234",  # NHBC good craftsmanship guide, 2002
    "mem_perm": "1234", "lap_h": "12", "fix_mm": "123",  # NHBC Standards 2021, 6.2.13
    "sill_slope": "23", "head_lap": "12", "head_drip": "1234", "tray_fall": "1234",  # Ontario code 9.27.3.8
    "head_slope": "134", "head_up": "123", "head_ends": "4", "clad_gap": "1234",  # the same; New Zealand guides
    "roof_gap": "123",  # New Zealand code of practice 35 mm, Ontario code 50 mm
    "cav_depth": "24", "cav_render": "1234", "cav_mas": "1234",  # Canadian break; NHBC Standards 6.2.10
    "weep_sp": "1234",  # a UK warranty body's guide
}  # fmt: skip


def test_the_ladder_calls_read_what_was_read_and_nothing_else():
    found = {}
    for row in read(ROOT / "tables" / "detail_ladder.toml")["row"]:
        levels = "".join(str(i + 1) for i, one in enumerate(row["standings"]) if one == "read")
        if levels:
            found[row["key"]] = levels
    assert found == READ


SECOND_HAND = re.compile(
    r"\bby (a|trade|another)\b|quoted|second.hand|memory|trade page|trade sheet|not known, by"
)


def test_what_was_read_cites_no_second_hand_source():
    for row in read(ROOT / "tables" / "detail_ladder.toml")["row"]:
        for step, standing in enumerate(row["standings"]):
            source = row["sources"][min(step, len(row["sources"]) - 1)]
            assert standing != "read" or not SECOND_HAND.search(source), (row["key"], source)
    for path in TABLES:
        for outcome in read(path).get("outcome", []):
            cited = " ".join(str(outcome.get(word, "")) for word in ("document", "clause", "edition"))
            assert outcome["standing"] != "read" or not SECOND_HAND.search(cited), (path.name, cited)


@pytest.mark.parametrize(
    ("table", "standing"),
    # by the comparison of each table with public texts: a transcription or another's statement is second hand
    [
        ("terrain", "second hand"),
        ("exposure_class", "second hand"),
        ("window_class", "second hand"),
        ("permeance_class", "second hand"),
        ("corrosion", "second hand"),
        ("obstruction", "from memory"),
        ("wall_factor", "from memory"),
        ("ashrae_exposure", "from memory"),
        ("deposition", "from memory"),
        ("detail_level", "ours"),
        ("land_cover", "ours"),
    ],
)
def test_tables_claim_no_more_than_was_found(table, standing):
    assert table_standing(table) == standing


def test_words_for_a_standing_stand_once():
    shown = [one.words for one in STANDING_WORDS.values()]
    letters = [one.letter for one in STANDING_WORDS.values()]
    assert len(set(shown)) == len(shown)
    assert len(set(letters)) == len(letters)
    assert standing_words("ours") == "our choice"
    for standing in STANDING_WORDS:
        said = with_standing("A guide (2014)", standing)
        assert without_standing(said) == "A guide (2014)"
        assert (said == "A guide (2014)") == (standing in ("read", "worked out", "practice"))


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


def test_every_row_is_counted_named_or_without_material():
    """Each row of the ladder stands in one of the lists, and what a row counts has a name an office can price."""
    counted = {key for one in ITEMS for key in one.rows.split()}
    named = {key for rows in NAMED.values() for key in rows.split()}
    nothing = set(NO_MATERIAL.split())
    assert counted | named | nothing == {row.key for row in ladder_rows()} | {"inside_layer"}
    assert not nothing & (counted | named)
    assert {one.name for one in ITEMS} <= set(PRICED)
    assert {one.name for one in ITEMS if one.unit != "piece"} == set(WASTE)
    for row in ladder_rows():  # what an order has bought in so many words is no row without material
        if row.key in nothing:
            words = " ".join(row.build)
            assert not re.match(
                r"(Put|Lay|Fix|Set|Line|Carry) (a|the|every) (flashing|tray|closer|tape|strip)", words
            )
