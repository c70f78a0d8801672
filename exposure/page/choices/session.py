"""What one reader's session holds besides the values of its widgets, and what several parts of the page ask.

What a reader brought, what was made for the reader and what the page was last drawn for lie here. None of it reaches
another reader.
"""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import xarray as xr

from exposure.assess.what_changes import Then
from exposure.page.choices.state import PageState
from exposure.page.held import Held
from exposure.page.work.compared import Compared


@dataclass(frozen=True)
class RecordInUse:
    """The weather record asked."""

    mark: str  # short, by content
    title: str
    line: str
    climate: xr.Dataset
    invented: bool


@dataclass(frozen=True)
class OwnFile:
    """A text of the reader's, already read once and found sound."""

    kind: str  # one of :mod:`exposure.page.choices.own_files`
    name: str
    text: str

    @property
    def mark(self) -> str:
        """Short, by content."""
        return f"{self.kind}-{hashlib.sha256(self.text.encode()).hexdigest()[:12]}"


@dataclass(frozen=True)
class CompareFile:
    """A file for a comparison: called so, lying there (a folder, where it is several files)."""

    name: str
    path: str


class Session:
    """A reader's session."""

    choice: Held[PageState | None] = Held("choice in force", None)
    address: Held[Mapping[str, Any] | None] = Held("address last told", None)

    records: Held[Mapping[str, RecordInUse]] = Held("own-records", {})  # by mark
    files: Held[Mapping[str, OwnFile]] = Held("own-files", {})  # by mark: houses, openings, rules, prices
    compare_files: Held[Mapping[str, CompareFile]] = Held("compare-files", {})  # by mark

    desk_drawn_for: Held[PageState | None] = Held("choices the desk was drawn for", None)
    map_moved: Held[bool] = Held("map-moved", False)  # a click that only the map's part of the page knows yet
    project_notes: Held[tuple[str, ...]] = Held("project-notes", ())  # of a project just opened

    sheets_pdf: Held[tuple[str, bytes] | None] = Held("pdf-made", None)  # and the mark of what it was made of
    what_ifs: Held[Mapping[str, tuple[Then, ...]]] = Held("what-ifs-made", {})  # by mark
    what_ifs_asked: Held[str] = Held("what-ifs-asked", "")  # the mark of those begun
    comparison_pdf: Held[tuple[Compared, bytes] | None] = Held("comparison-pdf", None)


session = Session()
