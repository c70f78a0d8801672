"""The choices turned into what the screens show: each input found, the building assessed once, kept by content.

Derived from all three questions: they are answered from one assessment, so that no two parts of the page can
disagree. What is kept is keyed on what went in (the record's own mark, place, building, ground), never on who
asked; two readers share a result only when they gave the same inputs.
"""

import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import Any

import streamlit as st
import xarray as xr

from exposure.assess import Assessment, assess_building
from exposure.assess.details import DEFAULT_START, detail_orders, order_building
from exposure.assess.details_parts import BuildingDetails, BuildingOrders
from exposure.assess.from_files import Surveyed
from exposure.assess.schedules import RecordRead, record_read
from exposure.draw.assessment_pictures import rose_curves
from exposure.draw.rose import RoseCurves
from exposure.page.choices import inputs
from exposure.page.choices.house_inputs import surveyed_building
from exposure.page.choices.inputs import SpotInUse
from exposure.page.choices.own_files import house_words
from exposure.page.choices.own_inputs import OwnInputs, own_inputs
from exposure.page.choices.seal import Seal
from exposure.page.choices.session import RecordInUse
from exposure.page.choices.state import House, PageState
from exposure.page.held import Held
from exposure.page.markup import say
from exposure.page.work.kept import Kept
from exposure.page.work.turns import Turns, waiting_words
from exposure.wall import Building, Site, WallExposure

KEPT = 64  # results kept for all readers together
OWN_KEPT = 4  # and from records of a reader's own
READ_KEPT = 4  # records taken apart, 5 MB each: orders and the rest of the details follow each other


@dataclass(frozen=True)
class Answer:
    """The inputs in force and the assessment made of them."""

    state: PageState
    spot: SpotInUse
    record: RecordInUse
    surveyed: Surveyed
    assessment: Assessment
    mark: str  # by content of everything that went into the assessment

    @property
    def building(self) -> Building:
        """What stands there."""
        return self.surveyed.building

    @property
    def site(self) -> Site:
        """What it stands on."""
        return self.surveyed.site

    @property
    def worst(self) -> WallExposure:
        """The elevation with the largest wall spell index."""
        return self.assessment.worst

    @property
    def chosen(self) -> WallExposure:
        """The elevation the reader asked for, else the worst."""
        asked = self.state.elevation
        return next((one for one in self.assessment.elevations if one.wall.name == asked), self.worst)

    @property
    def seal(self) -> Seal:
        """What every panel about the elevation shown carries."""
        return Seal.of(
            self.mark,
            [one.wall.name for one in self.assessment.elevations],
            self.chosen.wall.name,
            turn=self.state.turn,
        )

    @property
    def invented(self) -> bool:
        """Whether any input is made up, which every screen and sheet says."""
        theirs = isinstance(self.state.building or House(""), House)
        return self.record.invented or self.spot.invented or theirs


def find_answer(state: PageState) -> Answer:
    """Everything the screens show for these choices.

    Raises
    ------
    RefusalError
        When an input is missing or cannot be used.
    """
    asked = state.with_(
        view="", open="", row="", elevation="", measure="", facing="", places=(), reference="", prices="",
        compare_files=(), grid_kind="", grid_rain="", grid_rows="", town="", town_areas="", town_squares=0.0,
        town_height=None, town_column="", town_weight="", town_ground="",
    )  # fmt: skip
    own = state.record != inputs.INVENTED_RECORD
    kept = _kept_here() if own else _kept_for_all
    if own:  # a record that is gone is refused, whatever is kept
        inputs.record_in_use(state, inputs.spot_in_use(state))
    house_words(state)  # and so is a house
    found = kept.get(asked)
    if found is None:
        with _in_turn():
            found = kept.get(asked) or _find_answer(asked)
        kept.put(asked, found)
    return replace(found, state=state)


_kept_for_all: Kept["Answer"] = Kept(inputs.RECORDS_KEPT)  # each holds a column of the grid
_KEPT_HERE: Held[Kept["Answer"] | None] = Held("answers from own records", None)


def _kept_here() -> Kept["Answer"]:
    """Answers from records of the reader's own: with this session they go."""
    kept = _KEPT_HERE.value or Kept(OWN_KEPT)
    _KEPT_HERE.put(kept)
    return kept


@st.cache_resource
def heavy_turns() -> Turns:
    """The one queue of this server."""
    return Turns()


@contextmanager
def _in_turn() -> Iterator[None]:
    """Hold a turn; while waiting, say so on the screen: a reader who is gone or asks for something else leaves there."""
    places: list[Any] = []

    def tell(before: int) -> None:
        if not places:
            places.append(st.empty())
        places[0].html(f'<p role="status" class="note">{say(waiting_words(before))}</p>')

    with heavy_turns().taken(tell):
        for place in places:
            place.empty()
        yield


def _find_answer(state: PageState) -> Answer:
    spot = inputs.spot_in_use(state)
    inputs.read_ahead(state, spot)
    surveyed = surveyed_building(state, spot)
    record = inputs.record_in_use(state, spot)
    content = repr((record.mark, surveyed.building, surveyed.site))
    mark = hashlib.sha256(content.encode()).hexdigest()
    assessment = _assess(mark, record.climate, surveyed, inputs.rose_of_spot(state, spot))
    return Answer(state, spot, record, surveyed, assessment, mark)


def find_orders(answer: Answer) -> BuildingOrders:
    """What is built on every elevation, for the same choices: all that the first figures hang on.

    Raises
    ------
    RefusalError
        For answers about the building that do not go together.
    """
    own = own_inputs(answer.state, answer.building)
    return _order(answer.mark, own.mark, own, answer)


def find_details(answer: Answer) -> BuildingDetails:
    """The same orders and all that is said besides; refusals as of :func:`find_orders`."""
    start, weeks = _bare_window(answer.state)
    own = own_inputs(answer.state, answer.building)
    return _detail(answer.mark, start, weeks, own.mark, own, answer)


def details_mark(answer: Answer) -> str:
    """By content of everything that went into the details."""
    own = own_inputs(answer.state, answer.building)
    return repr((answer.mark, *_bare_window(answer.state), own.mark))


def _bare_window(state: PageState) -> tuple[int, int]:
    return week_of(state.bare_from) if state.bare_from else DEFAULT_START, state.bare_weeks


def rose_of_place(answer: Answer, *, spell: bool = False) -> RoseCurves:
    """Open-field index at the rose's orientations, and both ends of its band."""
    return _rose_curves(answer.mark, spell, answer.assessment)


@st.cache_data(max_entries=2 * KEPT, show_spinner=False)
def _rose_curves(mark: str, spell: bool, _assessment: Assessment) -> RoseCurves:
    return rose_curves(_assessment, spell=spell)


def week_of(day: str) -> int:
    """Week of the year, counted from 0, of a month and day written ``mm-dd``.

    Examples
    --------
    >>> week_of("01-01"), week_of("09-21"), week_of("12-31")
    (0, 37, 51)
    """
    month, date_in_month = map(int, day.split("-"))
    return min((_DAYS_BEFORE[month - 1] + date_in_month - 1) // 7, 51)


_DAYS_BEFORE = (0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334)


@st.cache_resource(max_entries=READ_KEPT, show_spinner=False)
def _read(mark: str, _climate: xr.Dataset) -> RecordRead:
    return record_read(_climate)


# Kept as they are, not as copies: what is kept is frozen or never written to, and copying a record costs more than
# assessing it.
@st.cache_resource(max_entries=KEPT, show_spinner=False)
def _order(mark: str, own_mark: str, _own: OwnInputs, _answer: Answer) -> BuildingOrders:
    with heavy_turns().taken():
        return order_building(
            _answer.assessment,
            _read(_answer.record.mark, _answer.record.climate),
            _own.circumstances,
            openings=_own.openings,
            office_rules=_own.rules,
        )


@st.cache_resource(max_entries=KEPT, show_spinner=False)
def _detail(
    mark: str, start: int, weeks: int, own_mark: str, _own: OwnInputs, _answer: Answer
) -> BuildingDetails:
    orders = find_orders(_answer)
    with heavy_turns().taken():
        details = detail_orders(
            orders,
            _read(_answer.record.mark, _answer.record.climate),
            rating=_own.rating,
            prices=_own.prices,
            bare=(start, weeks),
        )
    return _own.told_in(details)


@st.cache_resource(max_entries=KEPT, show_spinner=False)
def _assess(mark: str, _climate: xr.Dataset, _surveyed: Surveyed, _rose: xr.Dataset | None) -> Assessment:
    return assess_building(_climate, _surveyed.building, _surveyed.site, rose=_rose)
