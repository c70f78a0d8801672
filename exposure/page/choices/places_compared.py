"""One wall put on every place: worked out beside the page, kept by what went in.

Derived from the planner's question. Places are compared by one stated wall that turns to face each of twelve ways,
without neighbours, so that the order tells of places and not of buildings. The arithmetic of the order is
:mod:`exposure.assess.ranking`.
"""

from dataclasses import dataclass, replace

import streamlit as st

from exposure.assess import Assessment, assess_building
from exposure.assess.compare_sites import Comparison, notes_on
from exposure.assess.from_files import survey_building
from exposure.assess.ranking import RankedSite, rank_sites, shared_flags
from exposure.assess.reference_wall import WAYS, of_assessment, reference_wall
from exposure.checks import RefusalError
from exposure.draw.place_rows import PlaceRow, row_of
from exposure.figures import degrees, position
from exposure.invented.geography import places
from exposure.page.choices.inputs import (
    INVENTED_RECORD,
    RecordInUse,
    SpotInUse,
    demo,
    home_of,
    record_in_use,
    spot_in_use,
)
from exposure.page.choices.state import MOST_PLACES, NamedSpot, PageState
from exposure.page.work.kept import Kept
from exposure.page.work.long_work import Tell
from exposure.rain.index import compass_orientations
from exposure.site.site_list import LeftOut

SAME = 1e-5  # degrees within which two positions are one place
KEPT = 48


@dataclass(frozen=True)
class ComparedPlace:
    """One place with the reference wall on it, and where it stands in the order."""

    name: str
    home: bool
    assessment: Assessment
    ranked: RankedSite

    @property
    def row(self) -> PlaceRow:
        """Its line in the comparison."""
        return row_of(self.ranked)


@dataclass(frozen=True)
class ComparedPlaces:
    """The places, hardest hit first, and the comparison as files take it."""

    places: tuple[ComparedPlace, ...]
    comparison: Comparison

    @property
    def rows(self) -> list[PlaceRow]:
        """Their lines, in order."""
        return [one.row for one in self.places]

    @property
    def home(self) -> str | None:
        """Name of the place in force; None when it is not among them."""
        return next((one.name for one in self.places if one.home), None)


@dataclass(frozen=True)
class PlaceToCompare:
    """A place asked for: where, with which weather; or why it cannot be used."""

    spot: SpotInUse
    home: bool
    record: RecordInUse | None = None
    refused: RefusalError | None = None


def chosen_spots(state: PageState, spot: SpotInUse) -> tuple[NamedSpot, ...]:
    """The reader's list; without one the place in force and the named places."""
    if state.places:
        return tuple(dict.fromkeys(state.places))
    here = (NamedSpot(round(spot.latitude, 5), round(spot.longitude, 5)),)
    if state.record != INVENTED_RECORD:
        return here
    named = tuple(NamedSpot(*home_of(place.name)) for place in places())
    others = tuple(one for one in named if not _same(one, spot) and label_of(state, one) != spot.name)
    return (*here, *others)[:MOST_PLACES]


def label_of(state: PageState, spot: NamedSpot) -> str:
    """What a place to compare is called."""
    return spot.name or spot_in_use(state.with_(at=(spot.latitude, spot.longitude))).name


def _same(one: NamedSpot, spot: SpotInUse) -> bool:
    return abs(one.latitude - spot.latitude) < SAME and abs(one.longitude - spot.longitude) < SAME


def places_to_compare(state: PageState, spot: SpotInUse) -> list[PlaceToCompare]:
    """Where, and with which weather: the reader's list; else records against each other, or the named places."""
    if state.record != INVENTED_RECORD and not state.places:
        return _own_records(state)
    found = []
    taken: set[str] = set()
    for one in chosen_spots(state, spot):
        there = spot_in_use(state.with_(at=(one.latitude, one.longitude)))
        name = one.name or there.name
        if name in taken:
            name = f"{name}, {position(there.latitude, there.longitude)}"
        while name in taken:
            name += " again"
        taken.add(name)
        there = replace(there, name=name)
        try:
            found.append(PlaceToCompare(there, _same(one, spot), record_in_use(state, there)))
        except RefusalError as refused:
            found.append(PlaceToCompare(there, _same(one, spot), None, refused))
    return found


def _own_records(state: PageState) -> list[PlaceToCompare]:
    """The records of this session, each at its own place."""
    found = []
    for mark, record in st.session_state.get("own-records", {}).items():
        have = record.climate.attrs
        at = (have.get("latitude"), have.get("longitude"))
        where = spot_in_use(state.with_(record=mark, at=at if None not in at else state.at))
        spot = SpotInUse(record.title, where.latitude, where.longitude, False, where.line)
        found.append(PlaceToCompare(spot, mark == state.record, record))
    return found


def comparison_key(state: PageState, wanted: list[PlaceToCompare]) -> str:
    """What went in, as a text."""
    return repr(
        (
            state.reference,
            [
                (
                    one.spot.name,
                    one.spot.latitude,
                    one.spot.longitude,
                    one.home,
                    one.record and one.record.mark,
                )
                for one in wanted
            ],
        )
    )


def known_comparison(key: str) -> ComparedPlaces | None:
    """A comparison worked out before."""
    return _kept().get(key)


def compare(key: str, state: PageState, wanted: list[PlaceToCompare], tell: Tell) -> ComparedPlaces:
    """Assess the reference wall on every place, and rank them; a place that cannot be used is left out and told.

    Raises
    ------
    RefusalError
        When no place is left.
    """
    wall = reference_wall(state.reference)
    assessed: dict[str, tuple[PlaceToCompare, Assessment]] = {}
    left_out = []
    for done, one in enumerate(wanted):
        tell(done / len(wanted), f"{one.spot.name}, {done + 1} of {len(wanted)}.")
        try:
            if one.record is None:
                assert one.refused is not None  # one of the two is there
                raise one.refused
            found = _assess_place(state.reference, one.record.mark, one.spot, one.record)
        except RefusalError as refused:
            left_out.append(LeftOut(done + 1, one.spot.name, refused))
            continue
        assessed[one.spot.name] = (one, found)
    if not assessed:
        raise left_out[0].reason
    sites = [of_assessment(name, found, wall) for name, (_, found) in assessed.items()]
    ranked = rank_sites(sites)
    tell(1.0, "")
    result = ComparedPlaces(
        tuple(
            ComparedPlace(one.name, assessed[one.name][0].home, assessed[one.name][1], one) for one in ranked
        ),
        Comparison(ranked, tuple(left_out), tuple(notes_on(sites)), shared_flags(sites), wall),
    )
    _kept().put(key, result)
    return result


# Kept as it is, not as a copy: an assessment is frozen.
@st.cache_resource(max_entries=4 * KEPT, show_spinner=False)
def _assess_place(reference: str, record_mark: str, spot: SpotInUse, _record: RecordInUse) -> Assessment:
    wall = reference_wall(reference)
    words = {
        "name": "Reference wall",
        "height": wall.height,
        "storeys": wall.storeys,
        "place": {"name": spot.name, "latitude": spot.latitude, "longitude": spot.longitude},
        "elevation": [
            {"name": f"facing {degrees(way)}", "orientation": float(way), "length": 10.0, "shape": reference}
            for way in compass_orientations(WAYS)
        ],
    }
    maps = demo() if spot.invented else None
    surveyed = survey_building(
        words, ground=maps.height if maps else None, cover=maps.cover if maps else None
    )
    return assess_building(_record.climate, surveyed.building, surveyed.site)


@st.cache_resource
def _kept() -> Kept[ComparedPlaces]:
    return Kept(KEPT)
