"""What the material costs by the office's own prices: a file opened, a table for each elevation and level.

Derived from the designer's question what the worst elevation needs: one level more is bought when it is cheap.
"""

import streamlit as st
from streamlit.runtime.uploaded_file_manager import UploadedFile

from exposure.assess.costs import not_in_it
from exposure.assess.details_parts import BuildingDetails
from exposure.assess.prices import COLUMNS, ITEMS
from exposure.checks import RefusalError
from exposure.figures import listed, number, whole
from exposure.page.choices.address import choose
from exposure.page.choices.own_files import LARGEST, PRICES, check_size, keep, prices_in_use, read_own
from exposure.page.choices.state import PageState
from exposure.page.held import Held
from exposure.page.markup import Marked, refusal, table
from exposure.page.refuse import Refused, show_refused

_REFUSED: Refused = Held("refused-prices", None)
_FILE: Held[UploadedFile | None] = Held("prices-file", None)


def show_prices(details: BuildingDetails, state: PageState) -> None:
    """The costs where prices are in force, and the way to open a file of them."""
    st.html("<h3>What the material costs</h3>")
    _, gone = prices_in_use(state)
    if gone is not None:
        st.html(refusal(gone, what="the prices"))
    if details.costs:
        st.html(_table(details))
    if state.prices:
        st.button("Leave the prices out", on_click=choose, kwargs={"prices": ""})
    show_refused(_REFUSED, "The prices")
    st.file_uploader(
        f"Open the prices of your office (CSV, up to {LARGEST[PRICES] // 1000} kB)",
        type=["csv", "txt"],
        key=_FILE.key,
        max_upload_size=1,
        on_change=_open,
        help=f"First line: {', '.join(COLUMNS)}. Items: {listed(list(ITEMS))}. No price is the program's own.",
    )


def _open() -> None:
    given = _FILE.value
    if given is None:
        return
    try:
        check_size(PRICES, given.size)
        choose(prices=keep(read_own(PRICES, given.getvalue(), given.name)))
    except RefusalError as refused:
        _REFUSED.put(refused)


def _table(details: BuildingDetails) -> Marked:
    costs = details.costs or ()
    rows = [
        (
            one.elevation,
            number(one.scheduled.cost),
            *(number(each.cost) for each in one.by_level),
            "no level above" if one.next_step is None else whole(one.next_step),
        )
        for one in costs
    ]
    without = not_in_it(one.scheduled for one in costs)
    heads = ["Elevation", "As scheduled", *(f"Level {level}" for level in range(1, 5)), "One level more adds"]
    return table(
        f"Material in {costs[0].currency}, by your prices. {without}",
        heads,
        rows,
        numbers=range(1, 7),
        kind="stack",
    )
