"""The windows and doors of this job: what to order for each, whether the one offered does, and how much it all takes.

Derived from the designer's question what the worst elevation needs, and the builder's what to have on site: a window
is ordered for its own elevation's pressure, and tape and trays are bought for the openings there are.
"""

from collections.abc import Sequence
from math import floor

import streamlit as st

from exposure.assess.details_parts import BuildingDetails, ElevationDetails
from exposure.assess.openings import OpeningOrder, opening_orders, openings_csv
from exposure.checks import RefusalError
from exposure.detail.materials import ITEMS, not_counted_words
from exposure.detail.openings import Opening
from exposure.detail.take_off import COUNTED_FROM, TakeOff, amount_words, shown
from exposure.detail.window_class import class_passed, rated_words, rating_of
from exposure.figures import pascals, percent, pressure_band
from exposure.page.choices.address import choices, choose, fill
from exposure.page.choices.answer import Answer, find_answer, find_details
from exposure.page.choices.own_files import kept, openings_in_use
from exposure.page.choices.state import PageState
from exposure.page.forms.openings_form import LIST, REFUSED
from exposure.page.held import Held
from exposure.page.markup import Marked, Safe, refusal, say, table
from exposure.page.parts.prices_panel import show_prices
from exposure.page.refuse import show_refused

_RATING: Held[str] = Held("window-rating", "")
VERDICTS = {
    "does": "it does",
    "not for the gust": "does not hold the gust",
    "not even for the hourly mean": "does not hold even the hourly mean",
    "rating not known": "rating not known",
}


def show_missing_openings(answer: Answer) -> None:
    """Say in plain sight that the list in force is not counted, with the way to leave it out."""
    _, refused = openings_in_use(answer.state, answer.building.walls)
    if refused is not None:
        st.html(refusal(refused, what="the openings list"))
        if st.button("Leave the openings list out", on_click=choose, kwargs={"openings": ""}):
            st.rerun(scope="app")


def show_windows_part() -> None:
    """The rating of the window looked at, the list with its answer, what the material costs."""
    state = choices()
    answer = find_answer(state)
    details = find_details(answer)
    _rating_form(state)
    show_refused(REFUSED, LIST)
    st.html(_pressures(details.of(answer.chosen.wall.name)) + _rating_table(details, state))
    openings, _ = openings_in_use(state, answer.building.walls)
    if openings:
        _show_list(details, openings, state)
    else:
        st.html('<p class="note">No openings are listed: list them under Openings, above.</p>')
    st.html(_take_off_table(details))
    show_prices(details, state)


def _pressures(one: ElevationDetails) -> Marked:
    """Wind pressure at the wall shown while it rains."""
    pressure = one.pressure
    rows = [
        (
            f"Heavy rain {pressure.likelihood}, any direction; hourly mean {pressure_band(pressure.any_direction_range)}",
            pascals(pressure.any_direction),
            pascals(pressure.any_direction_gust),
        ),
        ("The same, the wind square on this wall", pascals(pressure.facing), pascals(pressure.facing_gust)),
    ]
    meaning = "".join(f"<li>{say(line)}</li>" for line in one.window.meaning)
    caption = f"Wind pressure at the {one.name} wall while it rains"
    return (
        table(caption, ["Wind", "Hourly mean", "Gust"], rows, numbers=(1, 2))
        + f'<ul class="plain">{meaning}</ul>'
    )


def _rating_form(state: PageState) -> None:
    with st.form("rating", border=False):
        left, right = st.columns([2, 1], vertical_alignment="bottom")
        with left:
            st.text_input(
                "The window you are offered is rated to (Pa, or its class)",
                key=fill(_RATING, "" if state.rating is None else f"{state.rating:g}"),
                placeholder="300, or 7A, or E750",
                max_chars=12,
                help="The pressure it was tested to, from the maker's declaration. It is set against each elevation's gust.",
            )
        with right:
            pressed = st.form_submit_button("Set it against the walls", on_click=_use_rating)
    if pressed:
        st.rerun(scope="app")


def _use_rating() -> None:
    text = _RATING.value.strip()
    try:
        choose(rating=floor(10 * rating_of(text, "the rating") + 1e-6) / 10 if text else None)
    except RefusalError as refused:
        REFUSED.put(refused)


def _rating_table(details: BuildingDetails, state: PageState) -> Marked:
    rated = state.rating
    rows = []
    for one in details.elevations:
        order = one.window
        row: list[object] = [
            one.name,
            order.to_order,
            order.never_below or "not known",
            pascals(order.pressure),
            pascals(order.mean_pressure),
        ]
        if rated is not None:
            row.append(_does_words(rated, order.pressure, order.mean_pressure))
        rows.append(row)
    heads = ["Elevation", "Class to order", "Never below", "Gust", "Hourly mean"]
    caption = "What watertightness to order, by elevation"
    if rated is not None:
        caption += f". Offered: {rated_words(rated)}, class {class_passed(rated)}"
        heads.append("The one offered")
    source = details.elevations[0].window.source
    return table(caption, heads, rows, numbers=(3, 4), kind="stack") + f'<p class="note">{say(source)}.</p>'


def _does_words(rated: float, gust: float, mean: float) -> Safe:
    if rated >= gust:
        return Safe("it does")
    return Safe(
        f"<b>{'does not hold the gust' if rated >= mean else 'does not hold even the hourly mean'}</b>"
    )


def _show_list(details: BuildingDetails, openings: Sequence[Opening], state: PageState) -> None:
    orders = opening_orders(details, openings, rating=state.rating)
    own = kept(state.openings)
    name = own.name if own else ""
    st.html(_orders_table(orders, name))
    with st.container(horizontal=True, key="openings-files"):
        st.download_button(
            "Openings to order (CSV)",
            openings_csv(orders),
            "openings.csv",
            "text/csv",
            key="openings-csv",
            on_click="ignore",
        )
        if st.button("Leave the list out", on_click=choose, kwargs={"openings": ""}):
            st.rerun(scope="app")


def _orders_table(orders: Sequence[OpeningOrder], name: str) -> Marked:
    rows = []
    for one in orders:
        opening = one.opening
        bad = one.does is False
        offered = "" if one.rated is None else f"{rated_words(one.rated)}: "
        words = say(offered + VERDICTS[one.verdict])
        rows.append(
            (
                f"{opening.count} × {one.kind}, {opening.elevation}",
                f"{opening.width:.0f} × {opening.height:.0f}",
                one.to_order,
                pascals(one.gust),
                Safe(f"<b>{words}</b>" if bad else words),
                f"{one.amounts.tape:.1f}",
                f"{one.amounts.sill_tray:.1f}",
                f"{one.amounts.head_flashing + one.amounts.cavity_tray:.1f}",
            )
        )
    return table(
        f"Openings of the list {name}: what to order, and what they take (waste in it)",
        ["Opening", "Size, mm", "Class to order", "Gust", "The one offered", "Tape, m", "Sill tray, m", "Head flashing or cavity tray, m"],
        rows,
        numbers=(3, 5, 6, 7),
        kind="stack",
    )  # fmt: skip


def _take_off_table(details: BuildingDetails) -> Marked:
    def row(name: str, found: TakeOff) -> tuple[object, ...]:
        return (
            name,
            amount_words(found.openings),
            *(shown(found, one) for one in ITEMS),
        )

    rows = [*(row(one.name, one.take_off) for one in details.elevations), row("All", details.total)]
    heads = ["Elevation", "Openings", *(one.head.capitalize().replace(" m2", ", m²") for one in ITEMS)]
    waste = ", ".join(f"{name} {percent(share)}" for name, share in details.total.waste.items())
    return table(
        f"Take-off with these openings and the laps of the wall, {COUNTED_FROM}; waste in it ({waste}). "
        f"{not_counted_words(details.total.not_counted)}",
        heads,
        rows,
        numbers=range(1, 2 + len(ITEMS)),
        kind="stack",
    )
