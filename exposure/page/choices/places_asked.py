"""Which places are compared, with which weather: those the reader chose, the named ones, or a list that was opened.

Derived from the planner's question. The places go as a list of sites to the one comparison there is
(:mod:`exposure.assess.compare_sites`); its result is kept by all that went in.
"""

import json
import tempfile
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path

import streamlit as st

from exposure.assess.compare_sites import compare_sites
from exposure.assess.reference_wall import reference_wall
from exposure.assess.site_weather import GridWeather, OneRecord
from exposure.doubts import as_attribute, flags_of
from exposure.figures import position
from exposure.in_place import filled_in_place
from exposure.invented.geography import places
from exposure.invented.place_files import INVENTED_FLAG
from exposure.page.choices.compare_files import GRID, LIST, compare_files
from exposure.page.choices.inputs import INVENTED_RECORD, SpotInUse, demo, home_of, record_in_use, spot_in_use
from exposure.page.choices.session import CompareFile, RecordInUse, session
from exposure.page.choices.state import MOST_PLACES, NamedSpot, PageState
from exposure.page.work import compare_work
from exposure.page.work.asked import Asked, Makes
from exposure.page.work.beside import do_beside
from exposure.page.work.compared import Compared, compared
from exposure.page.work.long_work import Tell
from exposure.page.work.reading import RECORD, write_record
from exposure.site.site_list import ListedSite, SiteList

SAME = 1e-5  # degrees within which two positions are one place
KEPT = 48


COMPARISONS: Makes[Compared] = Makes("compare", doing="Comparing", one="comparison", most=KEPT)


def asked_places(state: PageState, spot: SpotInUse) -> Asked[Compared]:
    """What the choices ask to compare.

    Raises
    ------
    RefusalError
        When the record in force is missing, or its place, or a file of the comparison.
    """
    files = compare_files(state)
    grid = GRID in files
    invented = state.record == INVENTED_RECORD
    own = {} if grid or invented or state.places or LIST in files else session.records
    each = len(own) > 1  # records against each other, each at its own place
    home = ""
    sites: tuple[ListedSite, ...] = ()
    if each:
        title = f"{len(own)} records"
    elif LIST in files:
        title = files[LIST].name
    else:
        sites, home = _chosen(state, spot)
        title = f"{len(sites)} places"
    record = None if each or invented or grid else record_in_use(state, spot)
    told = {
        "reference": state.reference,
        "home": home,
        "kind": state.grid_kind if grid else "",
        "rain_rule": state.grid_rain if grid else "",
        "where": state.grid_rows if grid else "",
    }
    records = dict(own) if each else {} if record is None else {record.mark: record}
    key = repr((sorted(records), each and state.at, sites, sorted(state.compare_files), told))
    asked = _Asked(sites, records, each, state.at, files, told)
    return Asked(key, title, partial(_make, asked))


@dataclass(frozen=True)
class _Asked:
    """All that goes into a comparison: chosen sites, or a list among the files, or each record's own place."""

    sites: tuple[ListedSite, ...]
    records: Mapping[str, RecordInUse]
    each: bool  # whether each record is a place
    at: tuple[float, float] | None  # of records that tell no place
    files: Mapping[str, CompareFile]
    told: Mapping[str, str]


def _make(asked: _Asked, tell: Tell) -> Compared:
    home = tempfile.TemporaryDirectory(prefix="exposure-compared-")
    try:
        return (_beside if {*asked.files} - {LIST} else _here)(asked, home, tell)
    except BaseException:
        home.cleanup()
        raise


def _here(asked: _Asked, home: tempfile.TemporaryDirectory, tell: Tell) -> Compared:
    """One wall on every place, in one record, each record at its place, or the invented grid and its maps."""
    weather: GridWeather | OneRecord | None = None
    ground = cover = None
    listed = SiteList(asked.sites, (), ())
    if LIST in asked.files:  # a text of a megabyte at most
        listed = compare_work.read_list(Path(asked.files[LIST].path).read_bytes())
    if asked.each:
        listed = SiteList(_sites_of(asked, Path(home.name)), (), ())
    elif asked.records:
        weather = OneRecord(next(iter(asked.records.values())).climate)
    else:
        weather = GridWeather(demo().climate, flags=(INVENTED_FLAG,))
        ground, cover = demo().height, demo().cover
    found = compare_sites(
        listed,
        weather,
        wall=reference_wall(asked.told["reference"]),
        ground=ground,
        cover=cover,
        tell=tell,
        workers=0 if asked.records else 1,
        keep=_folder().name,
    )
    return compared(found, home=asked.told["home"])


def _beside(asked: _Asked, home: tempfile.TemporaryDirectory, tell: Tell) -> Compared:
    """The same with files of the reader's own, in a process of its own (:mod:`exposure.page.work.compare_work`)."""
    folder = Path(home.name)
    files = {kind: one.path for kind, one in asked.files.items()}
    sites = _sites_of(asked, folder) if asked.each else asked.sites
    if asked.records and not asked.each:
        write_record(folder / RECORD, next(iter(asked.records.values())).climate, line="")
    request = {**asked.told, "files": files, "sites": [asdict(one) for one in sites], "keep": _folder().name}
    do_beside(compare_work.__name__, folder, request, tell, result=compare_work.SHOWN)
    shown = json.loads((folder / compare_work.SHOWN).read_text("utf-8"))
    return Compared(shown, lambda name: (Path(home.name) / compare_work.OUT / name).read_bytes())


def _sites_of(asked: _Asked, folder: Path) -> tuple[ListedSite, ...]:
    """The records as files of ``folder``, each a site at its own place."""
    sites = []
    for row, (mark, record) in enumerate(asked.records.items(), start=1):
        have = record.climate.attrs
        where = (have.get("latitude"), have.get("longitude"))
        latitude, longitude = where if None not in where else asked.at or (None, None)
        if latitude is None or longitude is None:
            continue
        path = folder / f"{mark}.nc"
        climate = record.climate.assign_attrs(flags=as_attribute(flags_of(have)))
        with filled_in_place(path) as part:
            climate.to_netcdf(part, engine="h5netcdf", invalid_netcdf=False)
        sites.append(ListedSite(row, record.title, float(latitude), float(longitude), record=str(path)))
    return tuple(sites)


def _chosen(state: PageState, spot: SpotInUse) -> tuple[tuple[ListedSite, ...], str]:
    """The reader's places as sites, no name twice, and the name of the place in force among them."""
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
    return tuple(sites), home


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
def _folder() -> tempfile.TemporaryDirectory:
    """Where indices and surveys are kept by content while the server runs."""
    return tempfile.TemporaryDirectory(prefix="exposure-sites-")
