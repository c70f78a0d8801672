"""Which places are compared, with which weather: those the reader chose, the named ones, or a list that was opened.

Derived from the planner's question. The places go as a list of sites to the one comparison there is
(:mod:`exposure.assess.compare_sites`); its result is kept by all that went in.
"""

import hashlib
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import streamlit as st

from exposure.assess.compare_sites import Comparison, compare_sites
from exposure.assess.reference_wall import reference_wall
from exposure.assess.site_weather import GridWeather, OneRecord
from exposure.checks import RefusalError
from exposure.doubts import as_attribute, flags_of
from exposure.figures import position
from exposure.in_place import filled_in_place
from exposure.invented.geography import places
from exposure.invented.place_files import INVENTED_FLAG
from exposure.page.choices.compare_files import (
    COVER,
    GRID,
    GROUND,
    NEIGHBOURS,
    CompareFile,
    compare_files,
)
from exposure.page.choices.inputs import INVENTED_RECORD, SpotInUse, demo, home_of, record_in_use, spot_in_use
from exposure.page.choices.session import RecordInUse, session
from exposure.page.choices.state import MOST_PLACES, NamedSpot, PageState
from exposure.page.work.kept import Kept
from exposure.page.work.long_work import Tell
from exposure.site.site_list import ListedSite, SiteList, read_site_list
from exposure.wall.building import wall_shapes

SAME = 1e-5  # degrees within which two positions are one place
KEPT = 48
MOST_ROWS = 500
LARGEST = 1_000_000  # bytes


@dataclass(frozen=True)
class PlacesAsked:
    """A comparison that is asked for: how to make it, what it is called, and all that goes in as a short text."""

    key: str
    title: str
    make: Callable[[Tell], tuple[str, Comparison]]
    home: str = ""  # name of the place in force, where it is among them


def asked_places(state: PageState, spot: SpotInUse) -> PlacesAsked:
    """What the choices ask to compare.

    Raises
    ------
    RefusalError
        When the record in force is missing, or its place.
    """
    given = session.site_list
    if given is not None:
        name, content = given
        mark = hashlib.sha256(content).hexdigest()
        return _asked(state, spot, name, mark, partial(_read_list, content))
    own = session.records
    if GRID not in compare_files() and state.record != INVENTED_RECORD and not state.places and len(own) > 1:
        return _own_records(state, own)
    listed, home = _chosen(state, spot)
    return _asked(state, spot, f"{len(listed.sites)} places", repr(listed.sites), lambda: listed, home)


def _asked(
    state: PageState, spot: SpotInUse, title: str, mark: str, read: Callable[[], SiteList], home: str = ""
) -> PlacesAsked:
    files = dict(compare_files())
    invented = state.record == INVENTED_RECORD or GRID in files
    record = None if invented else record_in_use(state, spot)
    of_files = sorted((kind, one.mark) for kind, one in files.items())
    key = repr((mark, state.reference, record.mark if record else INVENTED_RECORD, of_files))
    return PlacesAsked(key, title, partial(_compare, key, read, record, files, state.reference), home)


def _read_list(content: bytes) -> SiteList:
    if len(content) > LARGEST:
        raise RefusalError(
            f"a list of {len(content):,} bytes", f"at most {LARGEST:,}", "Cut it, or use exposure compare."
        )
    return read_site_list(content, shapes=wall_shapes(), most=MOST_ROWS)


def _compare(
    key: str,
    read: Callable[[], SiteList],
    record: RecordInUse | None,
    files: Mapping[str, CompareFile],
    reference: str,
    tell: Tell,
) -> tuple[str, Comparison]:
    """One wall on every place, in one record, a grid of the reader's, or the nearest cells of the invented grid."""
    paths: dict[str, str | Path] = {kind: one.path for kind, one in files.items()}
    weather: GridWeather | OneRecord
    if GRID in files:
        weather = GridWeather(paths[GRID])
    elif record is not None:
        weather = OneRecord(record.climate)
    else:
        weather = GridWeather(demo().climate, flags=(INVENTED_FLAG,))
        paths = {GROUND: demo().height, COVER: demo().cover, **paths}
    found = compare_sites(
        read(),
        weather,
        wall=reference_wall(reference),
        ground=paths.get(GROUND),
        cover=paths.get(COVER),
        neighbours=paths.get(NEIGHBOURS),
        tell=tell,
        workers=0 if record is not None else 1,
        keep=Path(_folder().name),
    )
    kept_comparisons().put(key, found)
    return key, found


def _own_records(state: PageState, own: Mapping[str, RecordInUse]) -> PlacesAsked:
    """The records of this session against each other, each at its own place."""
    key = repr((sorted(own), state.reference, state.at))
    return PlacesAsked(
        key, f"{len(own)} records", partial(_compare_records, key, dict(own), state.reference, state.at)
    )


def _compare_records(
    key: str, own: Mapping[str, RecordInUse], reference: str, at: tuple[float, float] | None, tell: Tell
) -> tuple[str, Comparison]:
    with tempfile.TemporaryDirectory(prefix="exposure-records-") as folder:
        sites = []
        for row, (mark, record) in enumerate(own.items(), start=1):
            have = record.climate.attrs
            where = (have.get("latitude"), have.get("longitude"))
            latitude, longitude = where if None not in where else at or (None, None)
            if latitude is None or longitude is None:
                continue
            path = Path(folder) / f"{mark}.nc"
            climate = record.climate.assign_attrs(flags=as_attribute(flags_of(have)))
            with filled_in_place(path) as part:
                climate.to_netcdf(part, engine="h5netcdf", invalid_netcdf=False)
            sites.append(ListedSite(row, record.title, float(latitude), float(longitude), record=str(path)))
        found = compare_sites(
            SiteList(tuple(sites), (), ()), None, wall=reference_wall(reference), tell=tell, workers=0
        )
    kept_comparisons().put(key, found)
    return key, found


def _chosen(state: PageState, spot: SpotInUse) -> tuple[SiteList, str]:
    """The reader's places as a list of sites, no name twice, and the name of the place in force among them."""
    sites: list[ListedSite] = []
    home = ""
    for row, one in enumerate(chosen_spots(state, spot), start=1):
        there = spot_in_use(state.with_(at=(one.latitude, one.longitude), place_name=""))
        name = one.name or there.name
        taken = {site.name for site in sites}
        if name in taken:
            name = f"{name}, {position(there.latitude, there.longitude)}"
        while name in taken:
            name += " again"
        sites.append(ListedSite(row, name, there.latitude, there.longitude))
        if same_place(one, spot):
            home = name
    return SiteList(tuple(sites), (), ()), home


def chosen_spots(state: PageState, spot: SpotInUse) -> tuple[NamedSpot, ...]:
    """The reader's places; without any the place in force and the named places."""
    if state.places:
        return tuple(dict.fromkeys(state.places))
    here = (NamedSpot(round(spot.latitude, 5), round(spot.longitude, 5)),)
    if state.record != INVENTED_RECORD:
        return here
    named = tuple(NamedSpot(*home_of(place.name)) for place in places())
    others = tuple(one for one in named if not same_place(one, spot) and label_of(state, one) != spot.name)
    return (*here, *others)[:MOST_PLACES]


def label_of(state: PageState, spot: NamedSpot) -> str:
    """What a place to compare is called."""
    return spot.name or spot_in_use(state.with_(at=(spot.latitude, spot.longitude), place_name="")).name


def same_place(one: NamedSpot, other: NamedSpot | SpotInUse) -> bool:
    """Whether both lie at the same position."""
    return abs(one.latitude - other.latitude) < SAME and abs(one.longitude - other.longitude) < SAME


@st.cache_resource
def kept_comparisons() -> Kept[Comparison]:
    """Comparisons made, for all readers of this server, by what went in."""
    return Kept(KEPT)


@st.cache_resource
def _folder() -> tempfile.TemporaryDirectory:
    """Where indices and surveys are kept by content while the server runs."""
    return tempfile.TemporaryDirectory(prefix="exposure-sites-")
