"""Words someone on site would not know are explained where they stand, in the tables that orders are made from."""

import re
from importlib.resources import files

import pytest

from exposure.detail.ladder import ladder_rows
from exposure.detail.rule_file import local_rules
from exposure.export.ranked_files import RANK_NOTE

PERM = 57.2135  # ng/(Pa s m2) in one US perm, ASTM E96
ROWS = {row.key: row for row in ladder_rows()}
SAID = [outcome["says"] for rule in local_rules().values() for outcome in rule.outcomes]


@pytest.mark.parametrize("words", [*ROWS["mem_class"].build, *(one for one in SAID if "class W" in one)])
def test_a_water_class_says_which_is_the_tightest(words):
    assert "W1" in words
    assert "the tightest" in words


def test_vapour_stands_in_american_units_beside():
    (value,) = set(ROWS["mem_perm"].values)
    shown = [(value, words) for words in ROWS["mem_perm"].build]
    shown += [(re.search(r"([\d.]+) µg/\(N·s\)", words)[1], words) for words in SAID if "µg/(N·s)" in words]
    assert len(shown) >= 3
    for amount, words in shown:
        perms = float(re.search(r"([\d.]+) US perms", words)[1])
        assert perms == pytest.approx(1000 * float(amount) / PERM, rel=0.02), words


def test_no_order_and_no_source_speaks_of_a_ladder():
    text = files("exposure.tables").joinpath("detail_ladder.toml").read_text("utf-8")
    shown = re.findall(r'"([^"]*[Ll]adder[^"]*)"', text.split("[[row]]", 1)[1])
    assert [one for one in shown if "ladder" in one.lower()] == []


def test_a_resample_is_explained_where_ranks_are():
    assert "A resample is the record with its whole years drawn again at random" in RANK_NOTE
