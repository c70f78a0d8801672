"""The comparison for other programs, made when it is asked for.

Derived from the planner's question: a ranking goes into a report, a spreadsheet and a map, each with its bands.
"""

from collections.abc import Callable
from functools import partial

import streamlit as st

from exposure.assess.compare_sites import Comparison
from exposure.export.ranked_files import left_out_csv, ranked_csv, ranked_geopackage, ranked_json
from exposure.paper.ranked_page import ranked_html


def show_comparison_files(comparison: Comparison, *, key: str) -> None:
    """Buttons that save the ranking; ``key`` tells two of them on one page apart."""
    wanted: list[tuple[str, Callable[[Comparison], str | bytes], str, str]] = [
        ("Save as CSV", ranked_csv, "comparison.csv", "text/csv"),
        ("Save as GeoPackage", ranked_geopackage, "comparison.gpkg", "application/geopackage+sqlite3"),
        ("Save as JSON", ranked_json, "comparison.json", "application/json"),
        ("Save as a page", ranked_html, "comparison.html", "text/html"),
    ]
    if comparison.left_out:
        wanted.append(("Rows left out (CSV)", left_out_csv, "left_out.csv", "text/csv"))
    with st.container(horizontal=True, key=f"{key}-files"):
        for words, make, name, kind in wanted:
            st.download_button(
                words, partial(make, comparison), name, kind, key=f"{key}-{name}", on_click="ignore"
            )
