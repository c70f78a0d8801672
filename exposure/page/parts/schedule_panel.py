"""What to build on an elevation: the level, the lines that decide it, the whole schedule in order of work.

Derived from the designer's question what the worst elevation needs, and what it would need one level lower. The
caution stands inside the same box; who says so stands beside each line; nothing is printed where a designer has to
be asked.
"""

from collections.abc import Callable, Iterable
from functools import partial
from itertools import groupby

import streamlit as st

from exposure.assess.details import ElevationDetails
from exposure.detail import RuleResult, Schedule, ScheduleLine
from exposure.detail.axes import axes_meaning, axis_steps
from exposure.draw.marked import dimensions, mark
from exposure.junction.catalogue import Drawing
from exposure.page.markup import Marked, Safe, caution, doubts, folded, say, table
from exposure.page.parts.folding import Sealed, folded_part
from exposure.page.parts.junctions import drawings_by_place, drawn_junction
from exposure.paper.sheet_reasons import follows_words, short_lower, short_reason

KEY_LINES = (
    "mem_class", "lap_h", "seam_tape", "sill_form", "sill_slope", "back_dam", "end_dam", "head_up", "pen_form",
    "cav_depth", "cav_mas", "cav_render", "cav_vent", "bare_max", "chk_type",
)  # fmt: skip
FOLLOWS = "Each line names which of them it follows."
HEADS = ["Where", "Build this", "Why this elevation", "One level lower", "Who says so"]


def level_strip(schedule: Schedule) -> Marked:
    """The four steps and where each axis stands on them; each step keeps what the one before asks."""
    cells = []
    for place, (words, on) in enumerate(axis_steps(schedule), 1):
        kind = "on" if on else "has" if place < schedule.level else ""
        here = ' aria-current="true"' if on else ""
        cells.append(f'<li class="{kind}"{here}>{say(words)}</li>')
    return (
        f'<ol class="levels" aria-label="{say(schedule.axes.capitalize())}">{"".join(cells)}</ol>'
        f'<p class="note">{say(axes_meaning(schedule))}</p>'
    )


def needs_words(one: ElevationDetails) -> str:
    """What an elevation needs, in one sentence for the top of the page."""
    schedule = one.schedule
    if schedule.specific_design:
        return f"Have it designed: {schedule.specific_design}"
    found = {line.key: line for line in schedule.lines}
    wanted = [
        found[key].build.rstrip(".")
        for key in ("cav_depth", "cav_mas", "cav_render", "back_dam")
        if key in found
    ]
    return f"Build to {schedule.axes}. " + "".join(f"{words}. " for words in wanted)


def show_schedule(one: ElevationDetails, words: Sealed, above: Callable[[], Marked]) -> None:
    """The lines that decide the level with the caution in the same box, then everything folded by part.

    ``words`` keeps what is put together about this elevation; what stands ``above`` goes out with the box, because
    each part of its own costs the browser time.
    """
    schedule = one.schedule
    st.html(words.of("schedule", lambda: above() + _box(one, schedule)))
    if schedule.specific_design:
        return
    folded_part(
        "The whole schedule, in order of work",
        "whole-schedule",
        lambda: _show_whole(one, words),
    )
    folded_part(
        "Order of work at a window, with hold points",
        "window-steps",
        lambda: st.html(words.of("steps", lambda: _steps(schedule))),
    )
    if schedule.rules:
        with st.expander("What the local rules say", expanded=True):
            st.html(words.of("rules", lambda: _rules(schedule.rules)))


def _box(one: ElevationDetails, schedule: Schedule) -> Marked:
    inside = (
        _designed(schedule) if schedule.specific_design else _follows(one) + _deciding(one.name, schedule)
    )
    return (
        f'<h3 class="part">What to build on the {say(one.name)} elevation</h3><div class="box">{inside}</div>'
    )


def _follows(one: ElevationDetails) -> Marked:
    return (
        f'<p class="note follows">The {say(one.name)} elevation has {say(follows_words(one))} {FOLLOWS}</p>'
    )


def _designed(schedule: Schedule) -> Marked:
    return caution(f"{schedule.lines[0].build} {schedule.specific_design}") + _lines_table(
        "What the designer should not go below", _key_lines(schedule.floor)
    )


def _deciding(name: str, schedule: Schedule) -> Marked:
    caption = f"{name} elevation, {schedule.axes}. The lines that decide."
    return (
        _lines_table(caption, _key_lines(schedule.lines))
        + caution(schedule.cautions[0])
        + doubts(schedule.raised, word="Raised")
        + doubts(schedule.flags)
    )


def _key_lines(lines: Iterable[ScheduleLine]) -> list[ScheduleLine]:
    return [line for line in lines if line.key in KEY_LINES]


def _lines_table(caption: str, lines: Iterable[ScheduleLine]) -> Marked:
    return table(caption, HEADS, [_row(line) for line in lines], kind="schedule stack")


def _row(line: ScheduleLine) -> tuple[object, ...]:
    rule = f'<span class="src">{say(line.rule)}</span>' if line.rule else ""
    warned = f'<span class="src"><b>Caution</b> {say(line.caution)}</span>' if line.caution else ""
    return (
        line.where,
        Safe(f"{dimensions(line.build)}{warned}"),
        Safe(f"{say(short_reason(line))}{rule}"),
        short_lower(line),
        Safe(f'{mark(line.standing)}<span class="src">{say(line.source)}</span>'),
    )


def _show_whole(one: ElevationDetails, words: Sealed) -> None:
    """The schedule place by place, the junctions drawn under the place their sizes stand at."""
    schedule = one.schedule
    by_place, left_out = drawings_by_place(one)
    st.html(words.of("follows", lambda: _follows(one)))
    for number, (where, group) in enumerate(groupby(schedule.lines, key=lambda line: line.where)):
        pictures = by_place.pop(where, [])
        st.html(words.of(f"place {number}", partial(_place, one.name, where, list(group), pictures)))
    missing = "".join(f"<li>{say(one.title)}: {say(one.why)}.</li>" for one in left_out)
    not_drawn = f'<p class="note">Not drawn:</p><ul class="note">{missing}</ul>' if missing else ""
    st.html(
        words.of("cautions", lambda: not_drawn + "".join(map(caution, schedule.cautions[1:])) or "<p></p>")
    )


def _place(name: str, where: str, lines: list[ScheduleLine], pictures: list[Drawing]) -> Marked:
    count = f"{len(lines)} line{'s' if len(lines) > 1 else ''}"
    count += f", {len(pictures)} drawn" if pictures else ""
    summary = f'{say(where)}<span class="note">{count}</span>'
    shown = "".join(map(drawn_junction, pictures))
    sections = f'<div class="junctions">{shown}</div>' if shown else ""
    return folded(summary, sections + _lines_table(f"{where}, {name} elevation", lines))


def _steps(schedule: Schedule) -> Marked:
    items = []
    for step in schedule.steps:
        hold = f'<span class="hold">Before it is covered: {say(step.hold)}</span>' if step.hold else ""
        warned = caution(step.caution) if step.caution else ""
        items.append(f"<li>{dimensions(step.text)}{hold}{warned}</li>")
    return f'<ol class="order">{"".join(items)}</ol>'


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
    return table(
        "The stricter of rule and schedule is taken; your local code decides.",
        ["Rule", "Says", "By", "Who says so"],
        rows,
        kind="stack",
    )
