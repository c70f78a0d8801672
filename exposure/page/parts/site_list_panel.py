"""A list of sites, up to 500: uploaded, compared beside the page, ranked.

Derived from the planner's question for more places than can be laid side by side: which of these sites are hit
hardest, how sure is that, and which rows of the list need mending.
"""

import hashlib
import tempfile
from functools import partial
from pathlib import Path

import pandas as pd
import streamlit as st

from exposure.assess.compare_sites import Comparison, compare_sites
from exposure.assess.reference_wall import reference_wall
from exposure.assess.site_weather import GridWeather, OneRecord
from exposure.checks import RefusalError
from exposure.draw.comparison_bars import comparison_bars, narrow_bars
from exposure.draw.comparison_words import list_sentence, wall_sentence
from exposure.draw.place_rows import row_of
from exposure.export.ranked_files import CAUTION, RANK_NOTE
from exposure.invented.place_files import INVENTED_FLAG
from exposure.page.choices.inputs import INVENTED_RECORD, RecordInUse, demo
from exposure.page.choices.state import PageState, short_name
from exposure.page.markup import caution, doubts, plate, say
from exposure.page.parts.compare_files import show_comparison_files
from exposure.page.work.long_work import Tell, begin, forget_refusal, running, show_work
from exposure.site.site_list import HEADER, read_site_list
from exposure.wall.building import compass_name, wall_shapes

WORK = "sites"
LIST = "site-list"  # the upload: its name and bytes
FOUND = "sites-found"  # the comparison and what went in
MOST_ROWS = 500
LARGEST = 1_000_000  # bytes
BARS = 20
MOST_DOUBTS = 40  # shown under a list; all of them stand in its files
EXAMPLE = (
    f"{HEADER}\nHarbour road,48.44,-29.68,,,\nUpper field,48.60,-29.40,III,120,two-storey gable\n"
    'Mill,48° 33′ N,29° 28′ W,"I,I,II,II,II,III,III,III,II,II,I,I",,\n'
)
HINT = (
    "CSV with name, latitude and longitude; where you know them also terrain (I to IV), ground_height [m] and wall. "
    "GeoJSON of points works too. Up to 500 sites and 1 MB; it stays on this server while the page is open."
)


def show_site_list(state: PageState, record: RecordInUse) -> None:
    """Upload, progress, and the ranking."""
    left, right = st.columns([2, 1], vertical_alignment="bottom")
    with left:
        st.file_uploader(
            "Open a list of sites",
            type=["csv", "txt", "tsv", "geojson", "json"],
            key="site-list-file",
            help=HINT,
            on_change=_take_upload,
        )
    with right:
        st.download_button(
            "An example list", EXAMPLE, "sites.csv", "text/csv", key="site-list-example", on_click="ignore"
        )
    given = st.session_state.get(LIST)
    if given is None:
        st.html(f'<p class="note">{say(HINT)}</p>')
    else:
        _begin_if_new(state, record, *given)
    show_work(
        WORK,
        _keep,
        what=given[0] if given else "the list",
        meanwhile="What stands below is still the former answer." if FOUND in st.session_state else "",
        again=_begin_again,
    )
    found = st.session_state.get(FOUND)
    if (found is not None and given is not None and found[0] == _key(state, record, given[1])) or (
        found is not None and running(WORK) is not None
    ):
        _show(found[1])


def _begin_again() -> None:
    st.session_state.pop("sites-asked", None)


def _take_upload() -> None:
    given = st.session_state.get("site-list-file")
    forget_refusal(WORK)
    if given is None:
        for key in (LIST, FOUND, "sites-asked"):
            st.session_state.pop(key, None)
        return
    st.session_state[LIST] = (short_name(given.name), given.getvalue())
    st.session_state.pop("sites-asked", None)


def _key(state: PageState, record: RecordInUse, content: bytes) -> str:
    mark = state.record if state.record == INVENTED_RECORD else record.mark
    return repr((hashlib.sha256(content).hexdigest(), state.reference, mark))


def _begin_if_new(state: PageState, record: RecordInUse, name: str, content: bytes) -> None:
    key = _key(state, record, content)
    found = st.session_state.get(FOUND)
    if (found is not None and found[0] == key) or st.session_state.get("sites-asked") == key:
        return
    st.session_state["sites-asked"] = key
    forget_refusal(WORK)
    weather = None if state.record == INVENTED_RECORD else OneRecord(record.climate)
    call = partial(compare_list, key, content, weather, state.reference, _folder().name)
    begin(WORK, f"Comparing {name}.", call)


def _folder() -> tempfile.TemporaryDirectory:
    """Where what is worked out for this session is kept; gone with the session."""
    if "sites-folder" not in st.session_state:
        st.session_state["sites-folder"] = tempfile.TemporaryDirectory(prefix="exposure-sites-")
    return st.session_state["sites-folder"]


def compare_list(
    key: str, content: bytes, weather: OneRecord | None, reference: str, folder: str, tell: Tell
) -> tuple[str, Comparison]:
    """The comparison of an uploaded list; ``weather`` is the invented grid where none is given.

    Raises
    ------
    RefusalError
        When the list or the weather cannot be used.
    """
    if len(content) > LARGEST:
        raise RefusalError(
            f"a list of {len(content):,} bytes", f"at most {LARGEST:,}", "Cut it, or use exposure compare."
        )
    listed = read_site_list(content, shapes=wall_shapes(), most=MOST_ROWS)
    maps = demo() if weather is None else None
    found = compare_sites(
        listed,
        weather or GridWeather(demo().climate, flags=(INVENTED_FLAG,)),
        wall=reference_wall(reference),
        ground=maps.height if maps else None,
        cover=maps.cover if maps else None,
        tell=tell,
        workers=1,
        keep=Path(folder),
    )
    return key, found


def _keep(found: tuple[str, Comparison]) -> None:
    st.session_state[FOUND] = found


def _show(found: Comparison) -> None:
    ranked = found.ranked
    st.html(f'<p class="lead">{say(list_sentence(ranked))}</p>')
    if found.left_out:
        rows = "1 row was" if len(found.left_out) == 1 else f"{len(found.left_out)} rows were"
        st.html(f"<p><b>{rows} left out</b>; each stands below with what to mend.</p>")
    shown = [row_of(one) for one in ranked[:BARS]]
    many = f"The hardest {BARS} of {len(ranked)}. " if len(ranked) > BARS else ""
    caption = f"{many}{wall_sentence(found)} Stems: 90 % band of the years."
    st.html(
        plate(comparison_bars(shown, prefix="list"), caption=caption, size="bars-roomy")
        + plate(narrow_bars(shown, prefix="list-narrow"), caption=caption, size="bars-narrow")
    )
    st.dataframe(table_of(found), hide_index=True, width="stretch", key="sites-table")
    st.html(f'<p class="note">{say(RANK_NOTE)}</p>')
    show_comparison_files(found, key="sites")
    st.html(caution(CAUTION))
    st.html(
        doubts(
            (
                f"Row {one.row}{f', {one.name}' if one.name else ''}: {one.reason}"
                for one in found.left_out[:50]
            ),
            word="Left out",
        )
        + doubts(found.notes, word="Note")
        + doubts(found.flags)
        + doubts(own_doubts(found))
    )


def own_doubts(found: Comparison) -> list[str]:
    """Each site's own doubts with its name, in the order of the ranking; what holds for all is said once elsewhere."""
    said = [
        f"{one.name}: {flag}" for one in found.ranked for flag in one.site.flags if flag not in found.flags
    ]
    more = len(said) - MOST_DOUBTS
    return said if more <= 0 else [*said[:MOST_DOUBTS], f"And {more} more, in the files saved above."]


def table_of(found: Comparison) -> pd.DataFrame:
    """The ranking as a table that can be sorted; figures are numbers."""
    return pd.DataFrame(
        [
            {
                "Rank": one.rank,
                "Rank from": one.ranks[0],
                "to": one.ranks[1],
                "Place": one.name,
                "Class of the wall": one.site.in_words,
                "Worst spell, L/m²": round(one.site.value),
                "Band from": None if one.site.band is None else int(one.site.band[0]),
                "up to": None if one.site.band is None else -int(-one.site.band[1] // 1),
                "A year, L/m²": round(one.site.worst.wall_annual_index),
                "Facing": compass_name(one.site.worst.wall.orientation),
                "Keeps its rank, of 100": None if one.kept is None else round(100 * one.kept),
                "Lies close to": len(one.close_to),
                "What decides it": one.decides,
                "Doubts": " ".join(flag for flag in one.site.flags if flag not in found.flags),
            }
            for one in found.ranked
        ]
    )


def still_listing() -> bool:
    """Whether a list is being compared."""
    return running(WORK) is not None
