"""The evidence as HTML and Markdown: every comparison with an outside number, every gap, every table's standing.

``found.json`` is written by the tests on request; nothing here works a figure out.
"""

import json
import tomllib
from collections import Counter
from collections.abc import Sequence
from html import escape
from importlib.resources import files
from pathlib import Path
from typing import Any, NamedTuple

from exposure.figures import NO_BREAK
from exposure.in_place import filled_in_place
from exposure.paper.provenance import version_words
from exposure.tables import load_table
from exposure.tables.standing import STANDINGS, row_standings, standing_words

HEADS = ("What", "Source", "How", "Expected", "Found", "Apart at most")
SUBJECTS = {
    "rain": "Rain on a wall in the open: hours, spells, extremes",
    "site": "Ground, hills, neighbours, walls and other models",
    "details": "Pressures, heads, vapour, window classes, local rules",
    "climate": "Reading weather",
    "real records": "Real records, hour by hour, against code of another hand",
    "general libraries": "General-purpose libraries",
}
CSS = """
body{margin:0 auto;max-width:1200px;padding:24px;color:#1B2228;background:#fff;font:16px/1.5 Arial,'Liberation Sans',sans-serif;font-variant-numeric:tabular-nums}
h1{font-size:26px;line-height:1.25}h2{font-size:20px;margin:32px 0 8px}p{max-width:84ch}
table{border-collapse:collapse;width:100%;font-size:14px}th,td{text-align:left;vertical-align:top;padding:5px 8px;border-top:1px solid #C9CFD2;overflow-wrap:break-word}
thead th{border-bottom:1.5px solid #1B2228}.num{text-align:right;min-width:8em}
@media (max-width:760px){table,tbody,tr,td{display:block}thead{position:absolute;clip-path:inset(50%)}tr{border-top:1.5px solid #1B2228;padding:6px 0}
td{border:0;padding:2px 0;text-align:left}td::before{content:attr(data-name) ": ";color:#4E5A63}.num{text-align:left;min-width:0}}
@media print{body{font-size:10pt;padding:0}table{font-size:8pt}}
""".strip()


class Comparison(NamedTuple):
    """One result beside a number from outside."""

    name: str
    about: str
    what: str
    source: str
    how: str
    expected: Any
    found: Any
    tolerance: float
    unit: str
    because: str = ""  # why they may lie so far apart, where it is more than rounding


class Gap(NamedTuple):
    """Something no outside number confirms, and why."""

    what: str
    why: str


def comparisons() -> list[Comparison]:
    """Every comparison the tests made, as kept with this version.

    Examples
    --------
    >>> len(comparisons()) > 100
    True
    """
    return [Comparison(**row) for row in json.loads(_kept("found.json"))]


def gaps() -> list[Gap]:
    """What has no outside check.

    Examples
    --------
    >>> all(gap.why for gap in gaps())
    True
    """
    return [Gap(**row) for row in tomllib.loads(_kept("gaps.toml"))["gap"]]


def standings_by_table() -> dict[str, Counter[str]]:
    """How the figures of each table and local rule stand, counted.

    Examples
    --------
    >>> standings_by_table()["terrain"].total() > 0
    True
    """
    room = files("exposure.tables")
    names = [
        f"{folder}{entry.name.removesuffix('.toml')}"
        for folder in ("", "local_rules/")
        for entry in sorted(room.joinpath(folder).iterdir(), key=lambda entry: entry.name)
        if entry.name.endswith(".toml")
    ]
    counted = {name: Counter(_standings(load_table(name))) for name in names}
    return {name: count for name, count in counted.items() if count}


def _standings(table: object) -> list[str]:
    if isinstance(table, dict):
        return [*row_standings(table), *(one for value in table.values() for one in _standings(value))]
    return [one for value in table for one in _standings(value)] if isinstance(table, list) else []


def _kept(name: str) -> str:
    return (files("exposure.paper.evidence") / name).read_text("utf-8")


def write_evidence(folder: Path) -> list[Path]:
    """Write ``evidence.html`` and ``evidence.md`` into ``folder``, and return their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    written = {"evidence.html": evidence_html(), "evidence.md": evidence_markdown()}
    for name, text in written.items():
        with filled_in_place(folder / name) as part:
            part.write_text(text, "utf-8")
    return [folder / name for name in written]


class _Part(NamedTuple):
    """A heading with sentences and a table."""

    heading: str
    words: tuple[str, ...]
    heads: Sequence[str]
    rows: list[tuple[str, ...]]
    numbers: frozenset[int] = frozenset()


def _parts() -> list[_Part]:
    found = comparisons()
    parts = []
    for about in dict.fromkeys([*SUBJECTS, *(one.about for one in found)]):
        rows = [_row(one) for one in found if one.about == about]
        if rows:
            parts.append(_Part(SUBJECTS.get(about, about), (), HEADS, rows, frozenset((3, 4))))
    parts.append(
        _Part("What has no outside check", (), ("What", "Why"), [(gap.what, gap.why) for gap in gaps()])
    )
    parts.append(
        _Part(
            "How the figures of the tables stand",
            ("Only 'read' was compared with the document itself. Each schedule says it again at each line.",),
            ("Table", *(standing_words(one) for one in STANDINGS)),
            [
                (name.replace("_", " ").replace("/", ": "), *(str(count[one] or "") for one in STANDINGS))
                for name, count in standings_by_table().items()
            ],
            frozenset(range(1, 1 + len(STANDINGS))),
        )
    )
    return parts


def _row(one: Comparison) -> tuple[str, ...]:
    unit = "" if one.unit in ("", "1") else f"{NO_BREAK}{one.unit}"
    apart = f"{one.tolerance:.2g}{one.because and ': '}{one.because}" if one.tolerance else "same"
    what = one.what[0].upper() + one.what[1:]
    return (what, one.source, one.how, _figure(one.expected) + unit, _figure(one.found), apart)


def _figure(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(_figure(one) for one in value)
    return value if isinstance(value, str) else f"{value:.6g}"


def _lead() -> tuple[str, ...]:
    found = comparisons()
    how = Counter(one.how for one in found)
    return (
        f"{len(found)} results of this program beside numbers from outside it: "
        + "; ".join(f"{number} {words}" for words, number in how.most_common())
        + ". Every one lies within the distance named; the tests fail where one does not.",
        "A distance with no reason beside it is rounding: two in the last digit of the figure expected, or what a computer "
        "rounds. 'Worked out' is arithmetic on the stated source, by hand; 'second hand' is the figure as a transcription, a "
        "test sheet or a trade page has it, not the document; 'from memory' was compared with no text at all.",
        f"{len(gaps())} things have no outside check; they are listed below, with the reason.",
        "The test run of this version wrote the figures; run the tests to see them made again.",
        f"This is {version_words()}. Local codes and licensed practice decide what is built.",
    )


def evidence_html() -> str:
    """The page, whole and without a request.

    Examples
    --------
    >>> evidence_html().count("<h2>") > 5
    True
    """
    body = ["<h1>Evidence</h1>", *(f"<p>{escape(words)}</p>" for words in _lead())]
    for part in _parts():
        heads = "".join(
            f'<th scope="col"{" class=num" if i in part.numbers else ""}>{escape(head)}</th>'
            for i, head in enumerate(part.heads)
        )
        rows = "".join(
            "<tr>"
            + "".join(
                f'<td data-name="{escape(head)}"{" class=num" if i in part.numbers else ""}>{escape(cell)}</td>'
                for i, (head, cell) in enumerate(zip(part.heads, row, strict=True))
            )
            + "</tr>"
            for row in part.rows
        )
        body.append(f"<h2>{escape(part.heading)}</h2>")
        body += [f"<p>{escape(words)}</p>" for words in part.words]
        body.append(f"<table><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>")
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width,initial-scale=1"><title>Evidence</title>'
        f"<style>{CSS}</style></head><body>{''.join(body)}</body></html>\n"
    )


def evidence_markdown() -> str:
    """The same as Markdown."""
    lines = ["# Evidence", ""]
    for words in _lead():
        lines += [words, ""]
    for part in _parts():
        lines += [f"## {part.heading}", ""]
        for words in part.words:
            lines += [words, ""]
        for row in (part.heads, ["---"] * len(part.heads), *part.rows):
            lines.append("| " + " | ".join(cell.replace("|", "\\|") for cell in row) + " |")
        lines.append("")
    return "\n".join(lines)
