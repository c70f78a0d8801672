"""The last sheets: every line of a schedule with its reason, what it would be one level lower, and who says so."""

import re
from collections.abc import Sequence
from typing import Any

from markupsafe import Markup

from exposure.show.marked import dimensions, mark, name, on_paper, say
from exposure.show.numbers import litres_with_band, pascals
from exposure.show.paper import INNER_WIDE, lines_needed, row_height
from exposure.show.sheet_annex import BODY, alike, names_of, shared_out
from exposure.show.sheet_words import class_words

REASON_COLUMNS = (
    ("Where", 74),
    ("Build this", 222),
    ("Why", 134),
    ("One level lower", 94),
    ("Who says so", 186),
)
PADDING = 8
AXES = {"W": "wetness", "P": "pressure", "M": "the harder of both"}


def reason_pages(details: Any) -> list[dict]:
    """Every line of the schedule with why, what it would be one level lower, and who says so."""
    pages: list[dict] = []
    for group in alike(details, lambda one: _lines_key(one.schedule)):
        schedule = group[0].schedule
        lead = _reason_lead(group)
        room = BODY - lines_needed(str(lead.striptags()), width=INNER_WIDE, size=14) * 18.5 - 60
        blocks = [_reason(line) for line in schedule.floor or schedule.lines]
        for part in shared_out(blocks, first=room, rest=room):
            pages.append(
                {
                    "kind": "reasons",
                    "short": "reasons",
                    "head": Markup("Reasons and sources: {}").format(
                        names_of(group) if len(group) < 3 else f"{len(group)} elevations"
                    ),
                    "lead": lead,
                    "columns": REASON_COLUMNS,
                    "lines": _spanned(part),
                    "names": [one.exposure.wall.name for one in group],
                }
            )
    for page in pages:
        page["last"] = page is pages[-1]
    return pages


def _lines_key(schedule: Any) -> tuple:
    return tuple(
        (line.key, line.build, line.one_lower, line.rule) for line in schedule.floor or schedule.lines
    )


def _reason_lead(group: Sequence[Any]) -> Markup:
    """The two figures the rows of a group follow, elevation by elevation."""
    parts = [
        Markup("{}: wetness {}, {}; pressure {}").format(
            name(one.exposure.wall.name, most=30),
            litres_with_band(one.exposure.wall_spell_index, one.exposure.spell_band),
            class_words(one.exposure),
            pascals(one.pressure.any_direction),
        )
        for one in group
    ]
    return Markup("What a row follows is named in it. {}.").format(Markup(". ").join(parts))


def _reason(line: Any) -> tuple[float, dict]:
    """One row; what every row of the page shares stands in its lead and is left out here."""
    why = _shortened(line.why, line.axis)
    lower = re.sub(r"^One level lower \([^)]*\)(?: asks|:) ?", "", line.one_lower)
    lower = lower[:1].upper() + lower[1:]
    source = re.sub(
        r" \((?:not checked|our choice|from memory, not checked)(?:, confirm)?\)", "", line.source
    )
    caution = f" Caution: {line.caution}" if line.caution else ""
    cells = (line.where, f"{line.build} {line.rule}{caution}", why, lower, f"{line.mark}xx {source}")
    height = row_height(
        [(on_paper(words), wide - PADDING) for words, (_, wide) in zip(cells, REASON_COLUMNS, strict=True)],
        size=11,
    )
    return height, {
        "where": say(line.where),
        "span": 1,
        "build": dimensions(line.build),
        "rule": say(line.rule),
        "caution": say(line.caution),
        "why": say(why),
        "one_lower": say(lower),
        "mark": mark(line.mark),
        "source": say(source),
    }


def _spanned(rows: list[dict]) -> list[dict]:
    """Rows of one place under one head: the first row says how many it spans, the others none."""
    first = rows[0]
    for row in rows[1:]:
        if row["where"] == first["where"]:
            first["span"] += 1
            row["span"] = 0
        else:
            first = row
    return rows


def _shortened(why: str, axis: str) -> str:
    """A reason without the elevation's wetness, which the page's lead gives, but with the name of what it follows."""
    reason, here, figures = why.partition(" Here ")
    if here and re.fullmatch(r"[\d,.]+\s*L/m² in the worst spell[^.]*\.", figures):
        return f"{reason} ({AXES.get(axis, 'exposure')})"
    return why.removesuffix(" The same at every level.")
