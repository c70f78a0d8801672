"""All there is to build on an elevation: the schedule place by place, each with its drawing.

Derived from the designer's question what the worst elevation needs, and what it would need one level lower. One place
is shown at a time; who says so stands beside each line; nothing is printed where a designer has to be asked.
"""

from collections import Counter
from collections.abc import Iterable, Sequence

import streamlit as st

from exposure.assess.details_parts import ElevationDetails
from exposure.detail import RuleResult, Schedule, ScheduleLine
from exposure.detail.axes import axes_meaning
from exposure.draw.junction_svg import bare_junction
from exposure.draw.marked import dimensions, mark
from exposure.junction.catalogue import JUNCTIONS, Drawing, LeftOut, drawings_of
from exposure.junction.numbers import numbers_of
from exposure.page.choices.address import asks, choose
from exposure.page.choices.state import PageState
from exposure.page.markup import PHONE, Marked, Safe, caution, doubts, plate, say, table
from exposure.page.parts.folding import Sealed
from exposure.paper.sheet_reasons import follows_words, short_lower, short_reason
from exposure.tables.standing import without_standing

FIRST = "Sill tray"  # shown before the reader chooses
HEADS = ["Build this", "Why this elevation", "One level lower", "Who says so"]
ABOVE = "as above"
ROWS = {one.key: one.row for one in JUNCTIONS}


def show_build_part(one: ElevationDetails, words: Sealed, state: PageState) -> None:
    """The places in order of work, then in one piece what the schedule follows, the place chosen, cautions and rules."""
    schedule = one.schedule
    by_place: dict[str, list[ScheduleLine]] = {}
    for line in schedule.floor if schedule.specific_design else schedule.lines:
        by_place.setdefault(line.where, []).append(line)
    now = state.row if state.row in by_place else FIRST if FIRST in by_place else next(iter(by_place), "")
    if by_place:
        st.pills(
            "Where, in order of work",
            list(by_place),
            **asks("row", now, lambda row: choose(row=row)),
            required=True,
        )
    st.html(
        words.of(
            f"place {now}",
            lambda: (
                _follows(one)
                + (_place(one, now, by_place[now]) if now else "")
                + _cautions(schedule)
                + _rules(schedule.rules)
            ),
        )
    )


def _follows(one: ElevationDetails) -> Marked:
    if one.schedule.specific_design:
        stop = caution(f"{one.schedule.lines[0].build} {one.schedule.specific_design}")
        return (
            f"<h3>{say(one.name)}: have it designed</h3>{stop}<p>What the designer should not go below:</p>"
        )
    follows = follows_words(one)
    return (
        f"<h3>What to build on the {say(one.name)} elevation</h3>"
        f'<p class="note">{say(follows[:1].upper() + follows[1:])} {say(axes_meaning(one.schedule))}</p>'
    )


def _place(one: ElevationDetails, where: str, lines: Sequence[ScheduleLine]) -> Marked:
    drawings, left_out = drawings_at(one, where)
    shown = "".join(map(drawn_junction, drawings))
    sections = f'<div class="junctions">{shown}</div>' if shown else ""
    mine = [each for each in left_out if where.lower().startswith(each.title.lower().split()[0])]
    missing = "".join(f'<p class="note">Not drawn: {say(each.title)}, {say(each.why)}.</p>' for each in mine)
    return sections + missing + _lines_table(f"{where}, {one.name} elevation", lines)


def _lines_table(caption: str, lines: Iterable[ScheduleLine]) -> Marked:
    """The lines; what the line above said of the reason or the source is not said again."""
    rows: list[tuple[object, ...]] = []
    before: tuple[str, str, str] = ("", "", "")
    for line in lines:
        why, lower, source = short_reason(line), short_lower(line), without_standing(line.source)
        warned = f'<span class="src"><b>Caution</b> {say(line.caution)}</span>' if line.caution else ""
        rule = f'<span class="src">{say(line.rule)}</span>' if line.rule else ""
        said = ABOVE if source == before[2] else source
        rows.append(
            (
                Safe(f"{dimensions(line.build)}{warned}"),
                Safe(f"{say(ABOVE if why == before[0] and why else why)}{rule}"),
                ABOVE if lower == before[1] and lower else lower,
                Safe(f'{mark(line.standing)}<span class="src">{say(said)}</span>'),
            )
        )
        before = (why, lower, source)
    return table(caption, HEADS, rows, kind="schedule stack")


def _cautions(schedule: Schedule) -> Marked:
    said = "".join(map(caution, schedule.cautions[:1]))
    rest = "".join(f"<li>{say(one)}</li>" for one in schedule.cautions[1:])
    more = f'<ul class="plain">{rest}</ul>' if rest else ""
    return said + more + doubts(schedule.raised, word="Raised")


def _rules(rules: Iterable[RuleResult]) -> Marked:
    rows = [
        (
            rule.rule,
            Safe(
                say(rule.result) + "".join(f'<span class="src">{say(taken)}</span>' for taken in rule.taken)
            ),
            rule.figures,
            Safe(f'{mark(rule.standing)}<span class="src">{say(rule.source)}</span>'),
        )
        for rule in rules
    ]
    if not rows:
        return ""
    return "<h3>What the local rules say</h3>" + table(
        "The stricter of rule and schedule is taken; your local code decides.",
        ["Rule", "Says", "By", "Who says so"],
        rows,
        kind="stack",
    )


def drawings_at(one: ElevationDetails, place: str) -> tuple[list[Drawing], tuple[LeftOut, ...]]:
    """The drawings of one place of the schedule, and the junctions that could not be drawn for it.

    A drawing belongs where the row stands that asks for its junction, else where most of its sizes stand.
    """
    where = {line.key: line.where for line in one.schedule.lines}
    asked = [junction for junction in JUNCTIONS if where.get(junction.row, place) == place]
    numbers = numbers_of(one.schedule, one.circumstances, one.pressure)
    drawings, left_out = drawings_of([(one.name, numbers)], asked)

    def belongs(drawing: Drawing) -> bool:
        places = Counter(where[key] for key, _ in drawing.words if key in where)
        return (where.get(ROWS[drawing.section.key]) or places.most_common(1)[0][0]) == place

    return list(filter(belongs, drawings)), left_out


def drawn_junction(drawing: Drawing) -> Marked:
    """A junction on its plate, told in the words of its parts and sizes."""
    key = drawing.section.key
    svg, names = bare_junction(drawing.section, width=PHONE, prefix=f"page-{key}")
    listed = "".join(f"<li>{say(name)}</li>" for name in names)
    shown = plate(svg, caption=f"{drawing.section.title}, level {drawing.level} of 4; sizes in mm")
    return f'<div class="drawn">{shown}<ol class="parts">{listed}</ol></div>'
