"""As it stands, and what would be if: one short table for the elevation shown, worked out beside the page.

Derived from the designer's question what shelters a wall and whether it still would if a neighbour went, and the
planner's what an extra storey or another ground would do: a detail is chosen for the building's life, not for today.
"""

from functools import partial

import streamlit as st

from exposure.assess.what_changes import ElevationThen, Then, what_changes
from exposure.assess.what_if import HEDGE
from exposure.figures import band_words, litres
from exposure.page.choices.address import choices
from exposure.page.choices.answer import Answer, details_mark, find_answer
from exposure.page.choices.own_inputs import OwnInputs, own_inputs
from exposure.page.choices.session import session
from exposure.page.markup import Marked, Safe, folded, say, table
from exposure.page.work.long_work import Tell, begin, running, show_work
from exposure.paper.sheet_words import class_words

WORK = "what-if"
KEPT = 3  # answers kept in one reader's session
MOST_LINES = 12  # lines of the schedule told for one what-if; the rest are counted


def show_what_ifs() -> None:
    """The table for the elevation shown; begun when it is asked for, kept while the inputs stay."""
    state = choices()
    answer = find_answer(state)
    mark = details_mark(answer)
    made = session.what_ifs
    if mark in made:
        st.html(answer.seal.on(_words(made[mark], answer.chosen.wall.name)))
        return
    if session.what_ifs_asked != mark:
        session.what_ifs_asked = mark
        begin(WORK, "Assessing:", partial(_work_out, mark, answer, own_inputs(state, answer.building)))
    show_work(WORK, _keep, what="the what-ifs")
    if running(WORK) is None and st.button("Work them out again"):
        del session.what_ifs_asked
        st.rerun(scope="fragment")


def _work_out(mark: str, answer: Answer, own: OwnInputs, tell: Tell) -> tuple[str, tuple[Then, ...]]:
    found = what_changes(
        answer.record.climate,
        answer.assessment,
        answer.surveyed,
        circumstances=own.circumstances,
        office_rules=own.rules,
        tell=tell,
    )
    return mark, found


def _keep(made: tuple[str, tuple[Then, ...]]) -> None:
    found = dict(session.what_ifs)
    found[made[0]] = made[1]
    while len(found) > KEPT:
        found.pop(next(iter(found)))
    session.what_ifs = found


def _words(found: tuple[Then, ...], name: str) -> Marked:
    before = found[0]
    now = before.of(name) or before.elevations[0]
    worst = before.elevations[0].exposure.wall.name
    rows = [_row(one, name, now, worst, first=one is before) for one in found]
    heads = [
        f"The {name} elevation",
        "Class",
        "Worst spell, L/m²",
        "90 % band",
        "Level",
        "Worst elevation, where it changes",
        "Schedule",
    ]
    return (
        table(f"As it stands, and if; {name} elevation", heads, rows, numbers=(2, 3), kind="stack what-if")
        + f'<p class="note">{say(HEDGE)} Half the neighbours: drawn by lot, always the same. Each line changes one '
        "thing alone.</p>"
    )


def _row(one: Then, name: str, now: ElevationThen, now_worst: str, *, first: bool) -> tuple[object, ...]:
    mine = one.of(name)
    if mine is None:
        return (one.in_words, "no such elevation then", "", "", "", one.elevations[0].exposure.wall.name, "")
    exposure, schedule = mine.exposure, mine.schedule
    moved = exposure.exposure_class != now.exposure.exposure_class
    level = f"wetness {schedule.wetness_level}, pressure {schedule.pressure_level}"
    raised = schedule.axes != now.schedule.axes
    worst = one.elevations[0].exposure.wall.name
    moved_worst = first or worst != now_worst
    return (
        one.in_words,
        Safe(f"<b>{say(class_words(exposure))}</b>" if moved else say(class_words(exposure))),
        litres(exposure.wall_spell_index),
        band_words(exposure.spell_band),
        Safe(f"<b>{say(level)}</b>" if raised else say(level)),
        worst if moved_worst else "",
        "" if first else Safe(_changed(mine)),
    )


def _changed(mine: ElevationThen) -> Marked:
    stop = (
        f"<p><b>Have it designed.</b> {say(mine.schedule.specific_design)}</p>"
        if mine.schedule.specific_design
        else ""
    )
    if not mine.changes:
        return stop or "nothing changes"
    shown = mine.changes[:MOST_LINES]
    lines = "".join(
        f"<li><b>{say(line.where)}</b>: {say(line.after) or 'not asked any more'}"
        + (f' <span class="src">now: {say(line.before)}</span>' if line.before else "")
        + "</li>"
        for line in shown
    )
    more = len(mine.changes) - len(shown)
    tail = f"<li>and {more} more</li>" if more else ""
    count = len(mine.changes)
    return stop + folded(
        f"{count} line{'s' if count > 1 else ''} change{'' if count > 1 else 's'}", f"<ul>{lines}{tail}</ul>"
    )
