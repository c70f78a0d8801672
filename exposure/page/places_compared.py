"""One wall put on every place: worked out beside the page, kept by what went in.

Derived from the planner's question. Places are compared by one stated wall that turns to face each of twelve ways,
without neighbours, so that the order tells of places and not of buildings.
"""

import threading
from collections import OrderedDict
from dataclasses import dataclass

import streamlit as st

from exposure.assess import Assessment, assess_building
from exposure.assess.from_files import survey_building
from exposure.invented.geography import places
from exposure.page.inputs import (
    INVENTED_RECORD,
    RecordInUse,
    SpotInUse,
    demo,
    home_of,
    record_in_use,
    spot_in_use,
)
from exposure.page.long_work import Tell
from exposure.page.state import MOST_PLACES, PageState
from exposure.rain.index import compass_orientations
from exposure.show.assessment_pictures import place_row
from exposure.show.comparison import PlaceRow
from exposure.show.numbers import degrees

WAYS = 12
HEIGHT = {
    "two": 5.6,
    "three": 8.4,
    "multi": 20.0,
}  # m to the top of the reference wall, by its storeys; our choice
STOREYS = {"two": 2, "three": 3, "multi": 6}
KEPT = 48


@dataclass(frozen=True)
class ComparedPlace:
    """One place with the reference wall on it."""

    name: str
    home: bool
    assessment: Assessment

    @property
    def row(self) -> PlaceRow:
        """Its line in the comparison."""
        return place_row(self.name, self.assessment.worst)


def places_to_compare(state: PageState, spot: SpotInUse) -> list[tuple[SpotInUse, RecordInUse]]:
    """Where, and with which weather: the home first, then the reader's list or the named places."""
    own = st.session_state.get("own-records", {})
    if state.record != INVENTED_RECORD:
        found = []
        for mark, record in own.items():
            have = record.climate.attrs
            at = (have.get("latitude"), have.get("longitude"))
            where = spot_in_use(state.with_(record=mark, at=at if None not in at else state.at))
            found.append(
                (SpotInUse(record.title, where.latitude, where.longitude, False, where.line), record)
            )
        return found
    wanted = list(state.places) or [home_of(place.name) for place in places()]
    spots = [spot, *(spot_in_use(state.with_(at=at)) for at in wanted)]
    unique = list({one.name: one for one in reversed(spots)}.values())[::-1]
    return [(one, record_in_use(state, one)) for one in unique[:MOST_PLACES]]


def comparison_key(state: PageState, pairs: list[tuple[SpotInUse, RecordInUse]]) -> str:
    """What went in, as a text."""
    return repr(
        (state.reference, [(one.name, one.latitude, one.longitude, record.mark) for one, record in pairs])
    )


def known_comparison(key: str) -> tuple[ComparedPlace, ...] | None:
    """A comparison worked out before."""
    return _kept().get(key)


def compare(
    key: str, state: PageState, pairs: list[tuple[SpotInUse, RecordInUse]], tell: Tell
) -> tuple[ComparedPlace, ...]:
    """Assess the reference wall on every place.

    Raises
    ------
    RefusalError
        When a place's record cannot be used.
    """
    found = []
    for done, (spot, record) in enumerate(pairs):
        tell(done / len(pairs), f"{spot.name}, {done + 1} of {len(pairs)}.")
        found.append(
            ComparedPlace(spot.name, done == 0, _assess_place(state.reference, record.mark, spot, record))
        )
    tell(1.0, "")
    result = tuple(found)
    _kept().put(key, result)
    return result


# Kept as it is, not as a copy: an assessment is frozen.
@st.cache_resource(max_entries=4 * KEPT, show_spinner=False)
def _assess_place(reference: str, record_mark: str, spot: SpotInUse, _record: RecordInUse) -> Assessment:
    count = reference.split("-")[0]
    words = {
        "name": "Reference wall",
        "height": HEIGHT[count],
        "storeys": STOREYS[count],
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


class _Kept:
    """Comparisons of all readers, by what went in; the oldest go."""

    def __init__(self) -> None:
        self._found: OrderedDict[str, tuple[ComparedPlace, ...]] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, key: str) -> tuple[ComparedPlace, ...] | None:
        with self._lock:
            return self._found.get(key)

    def put(self, key: str, result: tuple[ComparedPlace, ...]) -> None:
        with self._lock:
            self._found[key] = result
            while len(self._found) > KEPT:
                self._found.popitem(last=False)


@st.cache_resource
def _kept() -> _Kept:
    return _Kept()
