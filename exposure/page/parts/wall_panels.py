"""Around the schedule of one elevation: the wrap standing bare, wetting and drying, the site water check, take-off.

Derived from the builder's question in which weeks the wrap may stand bare and what to check before it is covered, and
the designer's whether taping and a cavity pay. Cautions stay inside the check.
"""

import streamlit as st

from exposure.assess.details import BuildingDetails, ElevationDetails
from exposure.detail.bare_wrap import BareWrap
from exposure.detail.take_off import TakeOff, amount_words
from exposure.detail.water_check import WaterCheck
from exposure.draw.details_pictures import bare_wrap_caption, bare_wrap_of, wetting_of
from exposure.draw.marked import dimensions
from exposure.figures import pascals, pressure_band, whole
from exposure.page.choices.address import asks, choose, writes
from exposure.page.choices.query import from_query
from exposure.page.choices.state import PageState, short_name
from exposure.page.markup import Marked, caution, doubts, plate, say, table
from exposure.page.parts.folding import Sealed, folded_part
from exposure.paper.sheet_words import openings_words
from exposure.wall.name_list import in_turn

YEAR = 8760  # hours
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
REFUSED = "refused-bare-start"
WEEK_CHOICES = (1, 2, 3, 4, 6, 8, 12, 16, 26)


def show_panels(details: BuildingDetails, one: ElevationDetails, state: PageState, words: Sealed) -> None:
    """The four parts; two lie open, and the reader opens the others when the job is at them."""
    first, second = st.columns(2)
    with first, st.expander("While the wrap stands bare", expanded=True):
        _bare(details, one.bare_wrap, state, words)
    with second, st.expander("Wetting and drying behind the cladding", expanded=True):
        st.html(words.of("wetting", lambda: _wetting(details, one)))
    folded_part(
        "Site water check",
        "water-check",
        lambda: st.html(words.of("check", lambda: _check(one.water_check))),
    )
    folded_part(
        "Windows to order, pressures, take-off",
        "window-order",
        lambda: st.html(words.of("order", lambda: _window(one) + _take_off(one.take_off))),
    )


def _bare(details: BuildingDetails, bare: BareWrap, state: PageState, words: Sealed) -> None:
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
    refused = st.session_state.pop(REFUSED, "")
    if refused:
        st.html(doubts([f"The date {refused} cannot be read: write month-day, such as 09-21."], word="Note"))
    st.html(words.of("bare", lambda: _bare_words(details, bare)))


def _bare_words(details: BuildingDetails, bare: BareWrap) -> Marked:
    return (
        f"<p>{say(bare.in_words)}</p>"
        + plate(bare_wrap_of(bare, width=520), caption=bare_wrap_caption(bare))
        + f"<p>Clad first: {say(in_turn(details.clad_first[:3]))}.</p>"
        + doubts(bare.flags)
    )


def _use_start(given: str) -> None:
    read = from_query({"bare": given.strip()}) if given.strip() else PageState()
    if read.notes:
        st.session_state[REFUSED] = short_name(given)
    else:
        choose(bare_from=read.bare_from)


def _wetting(details: BuildingDetails, one: ElevationDetails) -> Marked:
    svg = wetting_of(one.wetting, width=520)
    rows = [
        (
            result.way.name,
            _not_nothing(result.hours_wet),
            _on_end(result.longest_wet),
            _not_nothing(1000 * result.litres_behind_membrane),
        )
        for result in one.wetting
    ]
    return (
        f"<p>{say(details.wetting.sentence_of(one.name))} {say(details.drying)}</p>"
        + (
            plate(svg, caption="Hours wet behind the membrane, by week, membrane open to vapour.")
            if svg
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


def _on_end(hours: int) -> str:
    """How long on end, in the unit a reader can picture."""
    if hours < 2 * YEAR:
        return f"{whole(hours)} h"
    return f"{hours / YEAR:.1f} years"


def to_check(check: WaterCheck) -> str:
    """How many openings to check, as an instruction: it does not say how many there are."""
    words = openings_words(check)
    return f"Check {words} on this elevation. {check.first}" if check.openings else f"{words}."


def _check(check: WaterCheck) -> Marked:
    if check.stop:
        return caution(check.stop)
    set_up = "".join(f"<li>{dimensions(line)}</li>" for line in check.set_up)
    steps = "".join(
        f"<li>{dimensions(step.text)}"
        + (f'<span class="hold">{say(step.hold)}</span>' if step.hold else "")
        + (f'<span class="src">{say(step.caution)}</span>' if step.caution else "")
        + "</li>"
        for step in check.steps
    )
    return (
        '<div class="pair"><div>'
        + f"<p>{say(to_check(check))}</p>"
        + f"<p>Pressure: {dimensions(check.pressure_words)} {say(check.fan_words)} Spray: {dimensions(check.rate_words)}.</p>"
        + f"<h3>Set up</h3><ul>{set_up}</ul>"
        + "".join(map(caution, check.cautions))
        + f"</div><div><h3>Do</h3><ol class='order'>{steps}</ol>"
        + f"<p><b>Pass.</b> {say(check.pass_rule)}</p><p><b>If it leaks.</b> {say(check.on_failure)}</p>"
        + doubts(check.flags)
        + "</div></div>"
    )


def _window(one: ElevationDetails) -> Marked:
    order, pressure = one.window, one.pressure
    rows = [
        (
            f"Heavy rain {pressure.likelihood}, any direction; hourly mean {pressure_band(pressure.any_direction_range)}",
            pascals(pressure.any_direction),
            pascals(pressure.any_direction_gust),
        ),
        ("The same, the wind square on this wall", pascals(pressure.facing), pascals(pressure.facing_gust)),
    ]
    meaning = "".join(f"<li>{say(line)}</li>" for line in order.meaning)
    return (
        f"<p>Windows: {say(order.in_words)}. {say(order.source)}.</p>"
        + table(
            "Wind pressure at this wall while it rains", ["Wind", "Hourly mean", "Gust"], rows, numbers=(1, 2)
        )
        + f"<ul>{meaning}</ul>"
    )


def _metres(amount: float | None, *, decimals: int = 0) -> str:
    words = amount_words(amount, decimals=decimals)
    return words if amount is None else f"{words} m"


def _take_off(found: TakeOff) -> Marked:
    rows = [
        ("Membrane", f"{found.membrane:.0f} m²"),
        ("Tape", _metres(found.tape)),
        ("Sill tray", _metres(found.sill_tray, decimals=1)),
        ("Head flashing", _metres(found.head_flashing, decimals=1)),
        ("Battens", f"{found.batten:.0f} m"),
    ]
    waste = ", ".join(f"{name} {share:.0%}" for name, share in found.waste.items())
    return table(
        f"Take-off of this elevation, waste in it ({waste})", ["What", "How much"], rows, numbers=(1,)
    ) + doubts(found.flags)
