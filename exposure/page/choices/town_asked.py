"""Which town is asked about, with which weather: a file of footprints opened in this session, or the invented town.

Derived from the planner's question which walls of a town are hit hardest. The town is worked out in a process of its own
(:mod:`exposure.page.work.town_work`); the files it leaves are kept by all that went in, while the server runs.
"""

import hashlib
import json
import tempfile
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

import streamlit as st

from exposure.checks import RefusalError
from exposure.page.choices.inputs import INVENTED_RECORD, own_record
from exposure.page.choices.session import RecordInUse
from exposure.page.choices.state import INVENTED_TOWN, PageState, plain_file_name, short_name
from exposure.page.held import Held
from exposure.page.work.asked import Asked, Makes
from exposure.page.work.beside import do_beside
from exposure.page.work.long_work import Tell
from exposure.page.work.reading import RECORD, write_record
from exposure.page.work.town_work import GIVEN, OUT, SHOWN

TOWNS, AREAS = "town", "areas"
LARGEST = 20  # MB of a file opened here; the terminal takes more
KEPT_FILES, KEPT = 4, 6
TITLES = {TOWNS: "a file of footprints", AREAS: "a file of districts"}


class TownFile(NamedTuple):
    """A file of this session."""

    name: str
    content: bytes


FILES: Held[dict[str, TownFile]] = Held("own-town-files", {})  # by mark


@dataclass(frozen=True, eq=False)
class FoundTown:
    """A town worked out: what the screen says of it, and the folder of its files, which goes with it."""

    shown: dict[str, Any]
    folder: tempfile.TemporaryDirectory

    def bytes_of(self, name: str) -> bytes:
        """One of its files to take away."""
        return (Path(self.folder.name) / OUT / name).read_bytes()

    def words_of(self, name: str) -> str:
        """One of the pages it is shown with."""
        return (Path(self.folder.name) / name).read_text("utf-8")


@dataclass(frozen=True)
class TownAsked(Asked[FoundTown]):
    """A town that is asked for, and what its weather is called."""

    weather: str


TOWNS_MADE: Makes[FoundTown] = Makes("town", doing="Working out", one="town", most=KEPT)


def keep_file(kind: str, name: str, content: bytes) -> str:
    """Keep an opened file in this session; gives its mark.

    Raises
    ------
    RefusalError
        When it is too large or empty.
    """
    if not 0 < len(content) <= LARGEST * 1_000_000:
        raise RefusalError(
            f"a file of {len(content):,} bytes",
            f"{TITLES[kind]} of at most {LARGEST} MB",
            "Cut it to the part you ask about, or use exposure district in the terminal.",
        )
    mark = f"{kind}-{hashlib.sha256(content).hexdigest()[:12]}"
    files = dict(FILES.value)
    files.pop(mark, None)
    files[mark] = TownFile(short_name(name), content)
    while len(files) > KEPT_FILES:
        files.pop(next(iter(files)))
    FILES.put(files)
    return mark


def file_of(mark: str) -> TownFile:
    """The file of that mark.

    Raises
    ------
    RefusalError
        When this session does not hold it.
    """
    found = FILES.value.get(mark)
    if found is None:
        raise RefusalError(
            f"the address names {TITLES[mark.partition('-')[0]]} that this session does not hold",
            "a file opened in this window: an address carries only its mark",
            "Open it again, or take the invented town.",
        )
    return found


def asked_town(state: PageState) -> TownAsked | None:
    """What the choices ask for; None while no town is chosen.

    Raises
    ------
    RefusalError
        When a file or the record in force is missing.
    """
    if not state.town:
        return None
    given = None if state.town == INVENTED_TOWN else file_of(state.town)
    areas = file_of(state.town_areas) if state.town_areas else None
    record = None if state.record == INVENTED_RECORD else own_record(state)
    told = {
        "height_column": state.town_column,
        "weight_column": state.town_weight,
        "default_height": state.town_height,
        "terrain": state.town_ground,
        "squares": None if areas else state.town_squares,
    }
    weather = INVENTED_RECORD if record is None else record.mark
    names = (given.name if given else "", areas.name if areas else "")
    key = json.dumps([state.town, state.town_areas, names, told, weather])
    title = given.name if given else "The invented town"
    called = "Invented grid" if record is None else record.title
    return TownAsked(key, title, partial(_make, given, areas, told, record), called)


def _make(
    given: TownFile | None,
    areas: TownFile | None,
    told: dict[str, Any],
    record: RecordInUse | None,
    tell: Tell,
) -> FoundTown:
    home = tempfile.TemporaryDirectory(prefix="exposure-town-")
    try:
        return _made_in(home, given, areas, told, record, tell)
    except BaseException:
        home.cleanup()
        raise


def _made_in(
    home: tempfile.TemporaryDirectory,
    given: TownFile | None,
    areas: TownFile | None,
    told: dict[str, Any],
    record: RecordInUse | None,
    tell: Tell,
) -> FoundTown:
    folder = Path(home.name)
    (folder / GIVEN).mkdir()
    request: dict[str, Any] = {**told, "keep": _tiles().name}
    for kind, file in (("footprints", given), (AREAS, areas)):
        request[kind] = "" if file is None else plain_file_name(file.name, instead=kind)
        if file is not None:
            (folder / GIVEN / request[kind]).write_bytes(file.content)
    if record is not None:
        write_record(folder / RECORD, record.climate, line="")
    do_beside("exposure.page.work.town_work", folder, request, tell, result=SHOWN)
    return FoundTown(json.loads((folder / SHOWN).read_text("utf-8")), home)


@st.cache_resource
def _tiles() -> tempfile.TemporaryDirectory:
    """Where finished tiles are kept by content while the server runs."""
    return tempfile.TemporaryDirectory(prefix="exposure-tiles-")
