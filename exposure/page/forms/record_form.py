"""Change the weather record: the invented grid, or a file of one's own.

Derived from the designer's question: a figure is only as good as its record, so a file is checked before it
replaces the record before it, and what is wrong with it is said in three parts.
"""

import hashlib
import re
from functools import partial
from typing import NamedTuple

import streamlit as st
import xarray as xr
from streamlit.runtime.uploaded_file_manager import UploadedFile

from exposure.checks import RefusalError
from exposure.climate.services.service import SERVICES
from exposure.doubts import Doubt, flags_of
from exposure.page.choices.address import asks, choices, choose
from exposure.page.choices.inputs import INVENTED_RECORD, on_island
from exposure.page.choices.session import RecordInUse, session
from exposure.page.choices.state import PageState, short_name
from exposure.page.held import Held
from exposure.page.markup import say
from exposure.page.work.beside import record_beside
from exposure.page.work.long_work import REFUSED_WORK, Tell, begin, forget_refusal, running, show_work
from exposure.page.work.reading import FETCH, READ

WORK = "record"
_FILE: Held[UploadedFile | None] = Held("record-file", None)
_NAME: Held[str] = Held("record-name", "the file")  # of what is read
_COLUMNS: Held[str] = Held("record-columns", "")
_ROWS: Held[str] = Held("record-rows", "")
_KIND: Held[str] = Held("record-kind", "")
_RAIN: Held[str] = Held("record-rain", "")
_STAMP: Held[str] = Held("record-stamp", "")
_ZONE: Held[float | None] = Held("record-zone", None)
_MISSING: Held[str] = Held("record-missing", "")
_SERVICE: Held[str] = Held("fetch-service", "")
_YEARS: Held[str] = Held("fetch-years", "")
KIND_WORDS = {
    "": "as the file says; else asked after reading",
    "gauge": "a rain gauge at a station",
    "reanalysis": "a reanalysis grid",
    "model": "another model",
    "typical year": "a typical year put together",
}
KIND_BUTTONS = {"gauge": "A gauge", "reanalysis": "A reanalysis grid", "model": "Another model"}
RAIN_WORDS = {  # by rule of exposure.climate.request
    "": "as the file says",
    "hour": "the amount of each hour",
    "since 00 UTC": "the amount since midnight UTC, growing through the day",
    "rate": "a rate, such as mm/h or kg/m²/s",
}
ROWS_HINT = "A column and the value its rows must have; of a grid with several members the one that counts."
STAMP_WORDS = {
    "": "end of the hour, or as the file says",
    "end": "end of the hour",
    "start": "start of the hour",
}
KEPT = 4  # records of one reader's session
HINT = (
    "A table with time, wind_speed [m/s], wind_from_direction [degree] and rain [mm] in its header, a weather file "
    "(EPW, TMY3), or another open format; packed with gzip or zip too. It stays on this server while the page is open; a reload loses it, so keep the file at hand."
)


def show_record_form(state: PageState) -> None:
    """Choose among the records at hand, or open another."""
    own = session.records
    names = {INVENTED_RECORD: "Invented grid"} | {mark: one.title for mark, one in own.items()}
    if len(names) > 1 or state.record not in names:
        shown = state.record if state.record in names else None
        st.radio(
            "Record",
            list(names),
            format_func=lambda mark: names[mark],
            index=None,
            **asks("record", shown, _use),
        )
    if state.record not in names:
        st.button("Use the invented grid", on_click=_use, args=(INVENTED_RECORD,))
    st.file_uploader("Open a weather file", key=_FILE.key, help=HINT, on_change=_read_upload)
    st.text_input(
        "Columns, when its header has other names",
        key=_COLUMNS.key,
        placeholder="time=date,rain=precip [in],wind_speed=wspd [mph],wind_from_direction=wdir [degree]",
    )
    st.text_input(
        "Rows, when it holds several stations",
        key=_ROWS.key,
        placeholder="station=A7",
        help=ROWS_HINT,
    )
    st.html("<h3>What the file does not say itself</h3>")
    left, right = st.columns(2, vertical_alignment="bottom")
    with left:
        st.selectbox(
            "Kind of record",
            list(KIND_WORDS),
            format_func=KIND_WORDS.__getitem__,
            key=_KIND.key,
            help="Every trace of rain of a gauge counts. A model drizzles in hours when no gauge would read anything.",
        )
        st.selectbox(
            "Time stamps stand at the",
            list(STAMP_WORDS),
            format_func=STAMP_WORDS.__getitem__,
            key=_STAMP.key,
        )
    with right:
        st.number_input(
            "Time zone of stamps without one, hours ahead of UTC",
            -14.0,
            14.0,
            None,
            0.5,
            format="%g",
            key=_ZONE.key,
            placeholder="UTC",
        )
        st.text_input(
            "Numbers that stand for missing", key=_MISSING.key, placeholder="-999, 9999", max_chars=60
        )
    st.selectbox(
        "How its rain adds up",
        list(RAIN_WORDS),
        format_func=RAIN_WORDS.__getitem__,
        key=_RAIN.key,
        help="Asked of a grid that does not say.",
    )
    st.html("<h3>Or fetch one from an open service</h3>")
    _fetch_form()
    if running(WORK) is not None:
        st.html('<p class="note">It is being read: how far it is stands on top of the page, with Stop.</p>')


def show_record_work() -> None:
    """How far a record is read, what is wrong with it, and the ways on: on top of the page, not in a closed form."""
    uploaded = _FILE.value is not None
    show_work(
        WORK,
        _keep,
        what=_NAME.value,
        meanwhile="What the page shows is still the record before.",
        again=_read_upload if uploaded else None,
    )
    if REFUSED_WORK[WORK].value is not None:
        with st.container(horizontal=True, key="refused-record-ways"):
            if uploaded:
                st.button(
                    "Read it again",
                    on_click=_read_upload,
                    help="With the columns and rows as they stand now.",
                )
            st.button("Keep the record before", on_click=forget_refusal, args=(WORK,))


def _fetch_form() -> None:
    st.html(
        '<p class="note">This asks a public server for the position in force. Nothing is asked until you press the button.</p>'
    )
    with st.form("fetch", border=False):
        st.selectbox("Service", list(SERVICES), key=_SERVICE.key)
        st.text_input("Years", "2005-2024", key=_YEARS.key, max_chars=40)
        st.form_submit_button("Fetch", on_click=_fetch)


def _fetch() -> None:
    try:
        at = choices().at
        if at is None:
            raise RefusalError("no position was chosen", "latitude and longitude", "Type one under Change.")
        years = years_of(_YEARS.value)
    except RefusalError as refused:
        REFUSED_WORK[WORK].put(refused)
        return
    name = _SERVICE.value
    _NAME.put(name)
    forget_refusal(WORK)
    begin(WORK, f"Fetching from {name}:", partial(fetch_record, name, at, years))


def years_of(text: str) -> list[int]:
    """Years as typed, first to last.

    Examples
    --------
    >>> years_of("2001-2003")
    [2001, 2002, 2003]
    """
    found = re.fullmatch(r"\s*(\d{4})\s*(?:-\s*(\d{4})\s*)?", text)
    if found is None or int(found[2] or found[1]) < int(found[1]):
        raise RefusalError(
            f"the years {text[:40]!r}", "such as 2005-2024", "Type the first and the last year."
        )
    return list(range(int(found[1]), int(found[2] or found[1]) + 1))


def fetch_record(service: str, at: tuple[float, float], years: list[int], tell: Tell) -> RecordInUse:
    """A record fetched year by year, kept in the user's cache, so that a stopped fetch goes on where it was.

    Raises
    ------
    RefusalError
        When the service cannot be reached or has none of the years.
    """
    request = {"do": FETCH, "service": service, "at": at, "years": years}
    climate, line = record_beside(request, b"", tell)
    title = f"{climate.attrs.pop('service_title')}, {at[0]:g}, {at[1]:g}"
    return _record(climate, title, line, repr((service, at, years)).encode())


def _use(mark: str) -> None:
    own = session.records
    now = choices()
    if mark in own:
        at, invented = now.at, own[mark].invented
        if not invented and at is not None and now.record == INVENTED_RECORD and on_island(at):
            at = None  # a place of the invented island is no place of a record of one's own
        at = _spot_of(own[mark]) or at
        choose(record=mark, at=at, place_name=now.place_name if at == now.at else "")
    elif now.record != INVENTED_RECORD:
        choose(record=INVENTED_RECORD, at=None, place_name="")


def _spot_of(record: RecordInUse) -> tuple[float, float] | None:
    have = record.climate.attrs
    if have.get("latitude") is None or have.get("longitude") is None:
        return None
    return float(have["latitude"]), float(have["longitude"])


class ToldOfFile(NamedTuple):
    """What the form tells of a record's file (:func:`exposure.climate.opening.open_climate`)."""

    columns: str | None = None
    where: str | None = None
    kind: str | None = None
    stamp: str | None = None
    time_zone: float | None = None
    missing: tuple[float, ...] = ()
    rain_rule: str | None = None


def _read_upload(kind: str | None = None) -> None:
    given = _FILE.value
    if given is None:
        return
    name, content = short_name(given.name), given.getvalue()
    _NAME.put(name)
    forget_refusal(WORK)
    try:
        asked = _asked(kind)
    except RefusalError as refused:
        REFUSED_WORK[WORK].put(refused)
        return
    begin(
        WORK,
        f"Reading {name}.",
        partial(read_record, content, name, asked, choices().at),
    )


def _asked(kind: str | None) -> ToldOfFile:
    """What the form tells of the file, besides the file."""
    return ToldOfFile(
        columns=_COLUMNS.value.strip() or None,
        where=_ROWS.value.strip() or None,
        kind=kind or _KIND.value or None,
        stamp=_STAMP.value or None,
        time_zone=_ZONE.value,
        missing=missing_codes(_MISSING.value),
        rain_rule=_RAIN.value or None,
    )


def missing_codes(text: str) -> tuple[float, ...]:
    """Numbers that stand for missing, as typed.

    Examples
    --------
    >>> missing_codes("-999, 9999"), missing_codes("")
    ((-999.0, 9999.0), ())
    """
    try:
        return tuple(float(one) for one in text.replace(",", " ").replace(";", " ").split())
    except ValueError:
        raise RefusalError(
            f"the missing numbers {text[:40]!r}", "numbers such as -999, 9999", "Correct them."
        ) from None


def show_kind_question(record: RecordInUse) -> bool:
    """Ask what kind of record it is where its file does not say, and tell whether that is so."""
    guess = next(
        (
            one
            for one in flags_of(record.climate.attrs)
            if isinstance(one, Doubt) and one.key == "climate.kind_guessed"
        ),
        None,
    )
    if guess is None:
        return False
    with st.container(border=True, key="kind-question"):
        st.html(
            '<p role="status"><b>Is this record from a gauge, or from a model or reanalysis grid?</b> '
            f"Its file does not say. {say(guess.numbers['reason'])}. Until you say, it counts as a gauge: that gives the "
            "higher class.</p>"
        )
        if _FILE.value is None:
            st.html('<p class="note">Open the file again under Change, and say it there.</p>')
            return True
        with st.container(horizontal=True):
            for kind in ("gauge", "reanalysis", "model"):
                st.button(KIND_BUTTONS[kind], on_click=_read_upload, args=(kind,), key=f"kind-{kind}")
    return True


def read_record(
    content: bytes,
    name: str,
    told: ToldOfFile,
    at: tuple[float, float] | None,
    tell: Tell,
) -> RecordInUse:
    """A record from the bytes of an upload, read and tried before it is used.

    Raises
    ------
    RefusalError
        When the file is not a record, or no year of it can count.
    """
    climate, line = record_beside({"do": READ, "at": at, **told._asdict()}, content, tell)
    climate.attrs["file"] = name
    mark = (
        content
        + repr(sorted(told._asdict().items())).encode()
        + (repr(at).encode() if "distance" in climate.attrs else b"")
    )
    return _record(climate, name, line, mark)


def _record(climate: xr.Dataset, title: str, line: str, content: bytes) -> RecordInUse:
    mark = "file-" + hashlib.sha256(content).hexdigest()[:12]
    return RecordInUse(mark, title, line, climate, climate.attrs["kind"] == "invented")


def _keep(record: RecordInUse) -> None:
    own = dict(session.records)
    own[record.mark] = record
    while len(own) > KEPT:
        own.pop(next(iter(own)))
    session.records = own
    _use(record.mark)
