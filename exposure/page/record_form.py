"""Change the weather record: the invented grid, or a file of one's own.

Derived from the designer's question: a figure is only as good as its record, so a file is checked before it
replaces the record before it, and what is wrong with it is said in three parts.
"""

import hashlib
from functools import partial

import streamlit as st

from exposure.page.address import choices, choose, follow
from exposure.page.inputs import INVENTED_RECORD, RecordInUse
from exposure.page.long_work import Tell, begin, forget_refusal, running, show_work
from exposure.page.state import PageState, short_name

WORK = "record"
KEPT = 4  # records of one reader's session
HINT = (
    "A table with time, wind_speed [m/s], wind_from_direction [degree] and rain [mm] in its header, a weather file "
    "(EPW, TMY3), or another open format; packed with gzip or zip too. It stays on this server while the page is open."
)


def show_record_form(state: PageState) -> None:
    """Choose among the records at hand, or open another."""
    own = st.session_state.get("own-records", {})
    names = {INVENTED_RECORD: "Invented grid"} | {mark: one.title for mark, one in own.items()}
    if len(names) > 1 or state.record not in names:
        shown = state.record if state.record in names else None
        st.radio(
            "Record",
            list(names),
            format_func=lambda mark: names[mark],
            index=None,
            key=follow("record", shown),
            on_change=_use_chosen,
        )
    if state.record not in names:
        st.button("Use the invented grid", on_click=_use, args=(INVENTED_RECORD,))
    st.file_uploader("Open a weather file", key="record-file", help=HINT, on_change=_read_upload)
    st.text_input(
        "Columns, when its header has other names",
        key="record-columns",
        placeholder="time=date,rain=precip [in],wind_speed=wspd [mph],wind_from_direction=wdir [degree]",
    )
    show_work(
        WORK,
        _keep,
        what=st.session_state.get("record-name", "the file"),
        meanwhile="What the page shows is still the record before.",
    )
    if st.session_state.get(f"refused-{WORK}") is not None:
        st.button("Keep the record before", on_click=forget_refusal, args=(WORK,))


def record_at_work() -> bool:
    """Whether a file is being read."""
    return running(WORK) is not None


def _use_chosen() -> None:
    _use(st.session_state["record"])


def _use(mark: str) -> None:
    own = st.session_state.get("own-records", {})
    if mark in own:
        choose(record=mark, at=_spot_of(own[mark]) or choices().at)
    else:
        choose(record=INVENTED_RECORD, at=None if choices().record != INVENTED_RECORD else choices().at)


def _spot_of(record: RecordInUse) -> tuple[float, float] | None:
    have = record.climate.attrs
    if have.get("latitude") is None or have.get("longitude") is None:
        return None
    return float(have["latitude"]), float(have["longitude"])


def _read_upload() -> None:
    given = st.session_state.get("record-file")
    if given is None:
        return
    name, content = short_name(given.name), given.getvalue()
    st.session_state["record-name"] = name
    forget_refusal(WORK)
    columns = st.session_state.get("record-columns", "").strip() or None
    begin(WORK, f"Reading {name}.", partial(read_record, content, name, columns, choices().at))


def read_record(
    content: bytes, name: str, columns: str | None, at: tuple[float, float] | None, tell: Tell
) -> RecordInUse:
    """A record from the bytes of an upload, read and tried before it is used.

    Raises
    ------
    RefusalError
        When the file is not a record, or no year of it can count.
    """
    from exposure.climate import open_climate
    from exposure.rain.index import airfield_index

    tell(0.0, "")
    climate = open_climate(content, columns=columns, at=at)
    tell(0.7, "Trying it.")
    index = airfield_index(climate, orientation=[0.0])  # refuses what has no year that counts
    tell(1.0, "")
    mark = "file-" + hashlib.sha256(content + repr((columns, at)).encode()).hexdigest()[:12]
    years = index["year"].values
    span = f"{years[0]} to {years[-1]}" if len(years) > 1 else f"{years[0]}"
    line = f"{climate.attrs['kind']}, {span}, {len(years)} of {index.sizes['record_year']} years count"
    return RecordInUse(mark, name, line, climate, climate.attrs["kind"] == "invented")


def _keep(record: RecordInUse) -> None:
    own = dict(st.session_state.get("own-records", {}))
    own[record.mark] = record
    while len(own) > KEPT:
        own.pop(next(iter(own)))
    st.session_state["own-records"] = own
    _use(record.mark)


__all__ = ["read_record", "record_at_work", "show_record_form"]
