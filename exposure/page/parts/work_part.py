"""Work on site: the order at a window, the wrap standing bare, wetting and drying, the site water check.

Derived from the builder's question in which weeks the wrap may stand bare and what to check before it is covered, and
the designer's whether taping and a cavity pay. Cautions stay inside the check.
"""

import streamlit as st

from exposure.assess.details_parts import BuildingDetails, ElevationDetails
from exposure.detail.bare_wrap import BareWrap
from exposure.detail.schedule_parts import Schedule
from exposure.detail.water_check import WaterCheck
from exposure.detail.wetting_result import on_end
from exposure.draw.bare_wrap import bare_wrap, bare_wrap_caption
from exposure.draw.marked import dimensions
from exposure.draw.wetting import wetting
from exposure.figures import whole
from exposure.page.choices.address import asks, choose, writes
from exposure.page.choices.query import from_query
from exposure.page.choices.state import PageState, short_name
from exposure.page.held import Held
from exposure.page.markup import PHONE, Marked, caution, doubts, either, say, table
from exposure.page.parts.folding import Sealed
from exposure.paper.sheet_words import openings_words
from exposure.wall.name_list import in_turn

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_REFUSED: Held[str] = Held("refused-bare-start", "")  # what was typed as a date
WEEK_CHOICES = (1, 2, 3, 4, 6, 8, 12, 16, 26)


def show_work_part(details: BuildingDetails, one: ElevationDetails, state: PageState, words: Sealed) -> None:
    """The dates of the bare wrap, then in one piece what follows from them, the order of work, drying and the check."""
    with st.container(horizontal=True):
        st.text_input(
            "Wrap goes up (month-day)",
            **asks("bare-start", state.bare_from, _use_start),
            placeholder="09-21",
            max_chars=5,
        )
        st.selectbox(
            "Weeks until clad",
            sorted({*WEEK_CHOICES, state.bare_weeks}),
            **asks("bare-weeks", state.bare_weeks, writes("bare_weeks", int)),
        )
    refused = _REFUSED.take()
    note = f"The date {refused} cannot be read: write month-day, such as 09-21."
    told = words.of(
        "work",
        lambda: (
            _bare_words(details, one.bare_wrap)
            + _steps(one.schedule)
            + _wetting(details, one)
            + _check(one.water_check)
        ),
    )
    st.html((doubts([note], word="Note") if refused else "") + told)


def _steps(schedule: Schedule) -> Marked:
    items = []
    for step in schedule.steps:
        hold = f'<span class="hold">Before it is covered: {say(step.hold)}</span>' if step.hold else ""
        warned = caution(step.caution) if step.caution else ""
        items.append(f'<li value="{step.number}">{dimensions(step.text)}{hold}{warned}</li>')
    return (
        f'<h3>Order of work at a window</h3><ol class="order">{"".join(items)}</ol>' if items else "<p></p>"
    )


def _bare_words(details: BuildingDetails, bare: BareWrap | None) -> Marked:
    if bare is None:
        return "<p>This wall has no membrane that stands bare.</p>"
    return (
        f"<h3>While the wrap stands bare</h3><p>{say(bare.in_words)}</p>"
        + either(
            bare_wrap(bare, width=520),
            bare_wrap(bare, width=PHONE, prefix="bare-up"),
            caption=bare_wrap_caption(bare),
            kind="weeks",
        )
        + f"<p>Clad first: {say(in_turn(details.clad_first[:3]))}.</p>"
        + doubts(bare.flags)
    )


def _use_start(given: str) -> None:
    read = from_query({"bare": given.strip()}) if given.strip() else PageState()
    if read.notes:
        _REFUSED.put(short_name(given))
    else:
        choose(bare_from=read.bare_from)


def _wetting(details: BuildingDetails, one: ElevationDetails) -> Marked:
    svg = wetting(one.wetting, width=520)
    small = wetting(one.wetting, width=PHONE, prefix="wetting-up")
    rows = [
        (
            result.way.name,
            _not_nothing(result.hours_wet),
            on_end(result.longest_wet),
            _not_nothing(1000 * result.litres_behind_membrane),
        )
        for result in one.wetting
    ]
    return (
        "<h3>Wetting and drying behind the cladding</h3>"
        f"<p>{say(details.wetting.sentence_of(one.name))} {say(details.drying)}</p>"
        + (
            either(
                svg,
                small,
                caption="Hours wet behind the membrane, by week, membrane open to vapour.",
                kind="weeks",
            )
            if svg and small
            else ""
        )
        + table(
            f"Behind the membrane of the {one.name} wall: in a mean year, and the longest time on end in the whole record",
            ["Built", "Hours wet a year", "Longest on end", "mL/m² a year"],
            rows,
            numbers=(1, 2, 3),
        )
        + f'<p class="note">{say(details.wetting.caution)}</p>'
        + doubts(details.wetting.flags)
    )


def _not_nothing(amount: float) -> str:
    """A whole figure; one that is there but under 1 is not told as nothing."""
    return "under 1" if 0 < amount < 1 else whole(amount)


def to_check(check: WaterCheck) -> str:
    """How many openings to check, as an instruction: it does not say how many there are."""
    words = openings_words(check)
    return f"Check {words} on this elevation. {check.first}" if check.openings else f"{words}."


def _check(check: WaterCheck) -> Marked:
    if check.stop:
        return f"<h3>Site water check</h3>{caution(check.stop)}"
    set_up = "".join(f"<li>{dimensions(line)}</li>" for line in check.set_up)
    steps = "".join(
        f"<li>{dimensions(step.text)}"
        + (f'<span class="hold">{say(step.hold)}</span>' if step.hold else "")
        + (f'<span class="src">{say(step.caution)}</span>' if step.caution else "")
        + "</li>"
        for step in check.steps
    )
    return (
        '<h3>Site water check</h3><div class="pair"><div>'
        + f"<p>{say(to_check(check))}</p>"
        + f"<p>Pressure: {dimensions(check.pressure_words)} {say(check.fan_words)} Spray: {dimensions(check.rate_words)}.</p>"
        + f"<h4>Set up</h4><ul class='plain'>{set_up}</ul>"
        + "".join(map(caution, check.cautions))
        + f"</div><div><h4>Do</h4><ol class='order'>{steps}</ol>"
        + f"<p><b>Pass.</b> {say(check.pass_rule)}</p><p><b>If it leaks.</b> {say(check.on_failure)}</p>"
        + doubts(check.flags)
        + "</div></div>"
    )
