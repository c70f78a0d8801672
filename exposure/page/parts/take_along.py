"""What can be taken along: sheets, the file for the site, tables, and the project itself.

Derived from all three questions: a designer files a sheet, a builder needs the steps where there is no network, a
planner wants figures in a table. Each is made when it is asked for, by the same calls as in the terminal.
"""

import json
import tempfile
from collections.abc import Callable
from datetime import UTC, date, datetime
from functools import partial
from pathlib import Path

import streamlit as st
from streamlit.runtime.uploaded_file_manager import UploadedFile

from exposure.assess.details_parts import BuildingDetails
from exposure.export.building_files import write_building_geopackage
from exposure.export.details_files import details_csv, details_json, take_off_csv
from exposure.invented.geography import places
from exposure.map.contour_map import region_field
from exposure.page.choices.address import choices, take
from exposure.page.choices.answer import Answer, details_mark
from exposure.page.choices.inputs import INVENTED_RECORD, demo, region_index
from exposure.page.choices.own_files import keep, own_files
from exposure.page.choices.project_file import LARGEST, NAME_ENDING, open_project, write_project
from exposure.page.choices.query import to_query
from exposure.page.choices.session import session
from exposure.page.choices.state import key_of
from exposure.page.held import Held
from exposure.page.markup import doubts, say
from exposure.page.refuse import Refused, show_refused
from exposure.page.work.long_work import Tell, begin, running, show_work
from exposure.paper.pdf import sheet_pdf
from exposure.paper.sheet import annex_html, sheet_html
from exposure.paper.site_file import site_file_html

PDF = "pdf"
_PROJECT: Held[UploadedFile | None] = Held("project-file", None)
SITE_FILES_KEPT = 8  # for all readers together, a megabyte each
_REFUSED: Refused = Held("refused-project", None)
PARTS = {"fronts": "Sheets to build from", "all": "Annex with reasons"}


def file_name(answer: Answer, ending: str) -> str:
    """A plain name for a file of this building."""
    return f"{key_of(answer.building.name)[:60] or 'building'}{ending}"


def sheets_of(answer: Answer, details: BuildingDetails, *, behind: bool = True) -> str:
    """The sheets as one HTML document; or the annex behind them, with the region's map where there is one."""
    if not behind:
        return sheet_html(details, invented=answer.invented)
    index = region_index() if answer.state.record == INVENTED_RECORD else None
    region = None
    if index is not None:
        coast = json.loads(demo().coast.read_text("utf-8"))
        region = region_field(index, places=places(), coast=coast)
    return annex_html(details, region=region, invented=answer.invented)


@st.cache_resource(max_entries=SITE_FILES_KEPT, show_spinner=False)
def _site_file(mark: str, invented: bool, day: date, _details: BuildingDetails) -> str:
    return site_file_html(_details, invented=invented, made=day)


def _site_file_of(answer: Answer, details: BuildingDetails) -> Callable[[], str]:
    """What gives the file for the site, made once for all readers who look at it or save it on one day."""
    mark = details_mark(answer)
    return lambda: _site_file(mark, answer.invented, date.today(), details)


def site_button(answer: Answer, details: BuildingDetails) -> None:
    """Take to site: one file with every elevation, that needs no server."""
    st.download_button(
        "Take to site",
        _site_file_of(answer, details),
        file_name(answer, ".site.html"),
        "text/html",
        key="take-to-site",
        on_click="ignore",
        type="primary",
        help="One file with all elevations. Open it on the phone before you leave; it needs no signal.",
    )


def show_sheet_buttons(answer: Answer, details: BuildingDetails) -> None:
    """The sheets or their annex, as HTML at once and as PDF made beside the page."""
    parts = st.segmented_control(
        "Which sheets", list(PARTS), format_func=PARTS.__getitem__, default="fronts", key="sheet-parts"
    )
    behind = parts == "all"
    ending = ".annex" if behind else ".sheets"
    st.html(f'<p class="note">{say(parts_words(details, behind=behind))}</p>')
    st.download_button(
        "Sheets to print (HTML)",
        partial(sheets_of, answer, details, behind=behind),
        file_name(answer, f"{ending}.html"),
        "text/html",
        key="sheets-html",
        on_click="ignore",
        type="primary",
    )
    made = session.sheets_pdf
    mark = f"{_mark()} {behind}"
    if made is not None and made[0] == mark:
        st.download_button(
            "Sheets as PDF",
            made[1],
            file_name(answer, f"{ending}.pdf"),
            "application/pdf",
            key="sheets-pdf",
            on_click="ignore",
        )
    elif running(PDF) is None:
        st.button("Make the PDF", on_click=_make_pdf, args=(answer, details, mark, behind))
    show_work(PDF, _keep_pdf, what="the PDF")


def parts_words(details: BuildingDetails, *, behind: bool) -> str:
    """What the chosen print holds."""
    if behind:
        return "The annex: why these figures, the seasons, and the reason and source of every line of the schedules."
    number = len(details.elevations)
    return (
        f"The building with every junction, {number} elevation{'' if number == 1 else 's'} (those built alike share a "
        "sheet), then junctions, order of work, water check, register of openings, figures and doubts."
    )


def _mark() -> str:
    return repr(sorted(to_query(choices()).items()))


def _make_pdf(answer: Answer, details: BuildingDetails, mark: str, behind: bool) -> None:
    del session.sheets_pdf
    words = "Making the PDF, up to a minute." if behind else "Making the PDF, some seconds."
    begin(PDF, words, partial(_pdf, answer, details, mark, behind))


def _pdf(answer: Answer, details: BuildingDetails, mark: str, behind: bool, tell: Tell) -> tuple[str, bytes]:
    tell(0.05, "")
    html = sheets_of(answer, details, behind=behind)
    tell(0.15, "")
    made = sheet_pdf(html)
    tell(1.0, "")
    return mark, made


def _keep_pdf(made: tuple[str, bytes]) -> None:
    session.sheets_pdf = made


def show_table_buttons(answer: Answer, details: BuildingDetails) -> None:
    """The same figures for other programs."""
    wanted: list[tuple[str, Callable[[], str | bytes], str, str]] = [
        ("Schedule (CSV)", partial(details_csv, details), ".schedule.csv", "text/csv"),
        ("Take-off (CSV)", partial(take_off_csv, details), ".take-off.csv", "text/csv"),
        ("Everything (JSON)", partial(details_json, details), ".json", "application/json"),
        ("Building (GeoPackage)", partial(geopackage, answer), ".gpkg", "application/geopackage+sqlite3"),
    ]
    with st.container(horizontal=True, key="tables"):
        for words, make, ending, kind in wanted:
            st.download_button(
                words, make, file_name(answer, ending), kind, key=f"take{ending}", on_click="ignore"
            )


def geopackage(answer: Answer) -> bytes:
    """The building, its elevations and site as a GeoPackage."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "building.gpkg"
        write_building_geopackage(path, answer.assessment, answer.surveyed)
        return path.read_bytes()


def show_project(answer: Answer) -> None:
    """Save the project, and open one."""
    made = datetime.now(tz=UTC).date()
    with st.container(horizontal=True, vertical_alignment="bottom", key="project"):
        st.download_button(
            "Save this project",
            write_project(
                answer.state, record_title=answer.record.title, made=made, files=own_files(answer.state)
            ),
            file_name(answer, NAME_ENDING),
            "application/toml",
            key="save-project",
            on_click="ignore",
        )
        show_project_upload()


def show_project_upload() -> None:
    """Open a project that was saved."""
    st.file_uploader(
        "Open a project", type=["toml"], key=_PROJECT.key, max_upload_size=2, on_change=_open_project
    )
    show_refused(_REFUSED, "The project")
    notes = session.project_notes
    if notes:
        del session.project_notes
        st.html(doubts(notes, word="Note"))


def _open_project() -> None:
    from exposure.checks import RefusalError

    given = _PROJECT.value
    if given is None:
        return
    try:
        if given.size > LARGEST:
            raise RefusalError(
                f"a file of {given.size:,} bytes", f"at most {LARGEST:,} bytes", "Choose a project file."
            )
        project = open_project(given.getvalue())
    except RefusalError as refused:
        _REFUSED.put(refused)
        return
    for one in project.files:
        keep(one)
    session.project_notes = project.state.notes
    take(project.state.with_())


def show_site_file(answer: Answer, details: BuildingDetails) -> None:
    """What Take to site saves, shown as it is: one source for the page and the phone."""
    site_button(answer, details)
    with st.container(key="site-file"):
        st.iframe(
            _site_file_of(answer, details)(),
            height=900,
            alt=f"On site: {answer.building.name}",
        )
