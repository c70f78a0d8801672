"""The evidence page: it shows what the tests found, all of it and nothing else."""

import re
from html.parser import HTMLParser
from importlib.resources import files

import pytest
from outside import CHECKS, HOW

from exposure.cli import main
from exposure.detail.rule_file import rule_names
from exposure.paper.evidence import evidence_page
from exposure.paper.evidence.evidence_page import comparisons, evidence_html, evidence_markdown, gaps


def test_every_outside_number_is_in_the_evidence_as_it_stands():
    kept = {one.name: one for one in comparisons()}
    missing = sorted(set(CHECKS) - set(kept))
    assert not missing, f"run the tests with --evidence again; not in the evidence: {missing}"
    for name, row in CHECKS.items():
        assert (kept[name].source, kept[name].tolerance) == (row["source"], row["tolerance"]), name
        assert kept[name].expected == (
            row["expected"]
            if isinstance(row["expected"], bool | str)
            else pytest.approx(row["expected"], rel=1e-5)
        ), name


def test_what_is_shown_as_found_lies_as_near_as_it_says():
    """By arithmetic on the page's own data: nobody typed a figure that does not agree."""
    for one in comparisons():
        wanted = one.expected
        if isinstance(wanted, str) and not isinstance(one.found, str):
            wanted = [float(part) for part in wanted.split(",")]
        if isinstance(wanted, bool | str):
            assert one.found == wanted, one.name
            continue
        wanted, found = (value if isinstance(value, list) else [value] for value in (wanted, one.found))
        for a, b in zip(wanted * (len(found) if len(wanted) == 1 else 1), found, strict=True):
            off = abs(a - b)
            off = min(off, abs(off - 360)) if one.unit.startswith("deg") else off
            assert off <= one.tolerance + 2e-5 * max(abs(a), 1e-7), one.name  # shown to six figures


def test_a_distance_beyond_rounding_has_its_reason():
    """By the digits the expected figure is written with; what a test works out has the computer's."""
    for one in comparisons():
        if isinstance(one.expected, bool) or isinstance(one.found, str):
            continue
        written = str(CHECKS[one.name]["expected"]) if one.name in CHECKS else ""
        digits = [len(part.partition(".")[2]) for part in written.split(",")]
        rounding = 2.05 * 10.0 ** -min(digits) if written else 1e-6
        assert one.tolerance <= rounding or one.because, one.name


def test_no_source_is_this_program_or_left_to_be_guessed():
    for one in comparisons():
        assert "exposure/" not in one.source, one.name
        assert (
            len(one.source.split()) > 1 or "." in one.source or one.how == "by a general-purpose library"
        ), one.name
        if "from memory" in one.source:
            assert "memory" in one.how or one.how.startswith("worked out"), one.name
    assert {one.how for one in comparisons()} >= set(HOW.values())


def test_the_rules_of_each_country_are_counted_too():
    """New Zealand's, by the lines of its file."""
    text = (files("exposure.tables") / "local_rules" / "new_zealand.toml").read_text("utf-8")
    counted = evidence_page.standings_by_table()
    assert counted["local_rules/new_zealand"].total() == len(re.findall(r'^\w*standing = "', text, re.M)) > 10
    assert {f"local_rules/{key.replace(' ', '_')}" for key in rule_names()} <= set(counted)


class Cells(HTMLParser):
    def __init__(self):
        super().__init__()
        self.tags = []

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))


def test_the_page_shows_all_of_it_without_a_request():
    html = evidence_html()
    cells = Cells()
    cells.feed(html)
    tags = [tag for tag, _ in cells.tags]
    assert not {"script", "img", "link", "iframe"} & set(tags)
    for words in [gap.what for gap in gaps()]:
        assert words.split(",")[0].replace("'", "&#x27;") in html
    rows = len(re.findall(r"^\| ", evidence_markdown(), re.M))
    assert tags.count("tr") == rows - tags.count("thead")  # Markdown draws a line under each head


def test_text_of_a_check_is_text(monkeypatch):
    harmed = comparisons()[0]._replace(what="<script>|", source="a | b")
    monkeypatch.setattr(evidence_page, "comparisons", lambda: [harmed])
    assert "<script>|" not in evidence_html()
    assert "&lt;script&gt;" in evidence_html()
    assert "\\|" in evidence_markdown()


def test_the_command_writes_both(tmp_path, capsys):
    assert main(["evidence", "--out", str(tmp_path / "e")]) == 0
    assert sorted(path.name for path in (tmp_path / "e").iterdir()) == ["evidence.html", "evidence.md"]
    assert f"{len(comparisons())} results" in capsys.readouterr().out


def test_a_number_that_does_not_agree_fails():
    import outside

    before = dict(outside.SAID)
    for name in ("hour-head-on", "direction-0-5"):
        outside.inputs_of(name)
    with pytest.raises(AssertionError, match="tolerance"):
        outside.agrees(1.2, "hour-head-on")
    with pytest.raises(AssertionError, match="tolerance"):
        outside.agrees(181.0, "direction-0-5", turn=360)
    outside.SAID.clear()
    outside.SAID.update(before)
