"""As it stands, and what would be if: class, spell and schedule of every elevation under each what-if."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import xarray as xr

from exposure.assess.assessment import Assessment
from exposure.assess.building import assess_building
from exposure.assess.from_files import Surveyed, resurvey
from exposure.assess.schedules import elevation_schedules, record_read
from exposure.assess.what_if import what_ifs
from exposure.detail import Schedule, questions
from exposure.detail.rule_file import Rule
from exposure.wall import WallExposure
from exposure.wall.building_words import building_from_words

AS_IT_STANDS = "as it stands"
OF_THE_WALL = ("frame_type", "cladding_fixing")  # what another wall may not be built with
FARMLAND, BUILT_UP = "II", "III"
ROOFS = {
    "gable": "a pitched roof with gables",
    "hip": "a pitched roof, eaves all round",
    "flat": "a flat roof",
}


@dataclass(frozen=True)
class WhatIf:
    """Something that could be otherwise: how the building then stands, and which answers then differ."""

    words: str  # completes what it ``starts`` with
    surveyed: Callable[[], Surveyed]
    circumstances: Mapping[str, Any]
    starts: str = "With"


@dataclass(frozen=True)
class LineChange:
    """One line of the schedule that would read otherwise; empty where there is none."""

    where: str
    before: str
    after: str


@dataclass(frozen=True)
class ElevationThen:
    """One elevation under one what-if."""

    exposure: WallExposure
    schedule: Schedule
    changes: tuple[LineChange, ...]  # against the schedule as it stands


@dataclass(frozen=True)
class Then:
    """The building under one what-if, worst elevation first."""

    words: str
    elevations: tuple[ElevationThen, ...]
    starts: str = ""

    @property
    def in_words(self) -> str:
        """What is otherwise, as the head of a row.

        Examples
        --------
        >>> Then("built as render", (), "If").in_words, Then("as it stands", ()).in_words
        ('If built as render', 'As it stands')
        """
        said = f"{self.starts} {self.words}".strip()
        return f"{said[:1].upper()}{said[1:]}"

    def of(self, name: str) -> ElevationThen | None:
        """The elevation called ``name``; none where the building then has no such one."""
        return next((one for one in self.elevations if one.exposure.wall.name == name), None)


def building_what_ifs(surveyed: Surveyed, circumstances: Mapping[str, Any]) -> list[WhatIf]:
    """The what-ifs that mean something for this building: around it, itself, how it is built.

    Parameters
    ----------
    circumstances
        What the building's file says of its details, so that nothing is offered that is so already.
    """
    found = [
        WhatIf(words, partial(_as_given, then), circumstances) for words, then in what_ifs(surveyed).items()
    ]
    given = set(surveyed.site.categories)
    if given != {FARMLAND}:
        found.append(
            WhatIf("open farmland all round", partial(_on_ground, surveyed, FARMLAND), circumstances)
        )
    if given != {BUILT_UP}:
        found.append(
            WhatIf("suburbs or woods all round", partial(_on_ground, surveyed, BUILT_UP), circumstances)
        )
    roof = surveyed.words.get("roof")
    if roof in ROOFS:  # told of an outline alone: a list of elevations has none
        found += [
            WhatIf(words, partial(_under_roof, surveyed, other), circumstances)
            for other, words in ROOFS.items()
            if other != roof
        ]
    usual = {one.key: one for one in questions()}
    now = circumstances.get("wall_type", usual["wall_type"].default)
    found += [
        WhatIf(
            f"built as {choice}",
            partial(_as_given, surveyed),
            _built_as(circumstances, choice),
            starts="If",
        )
        for choice in usual["wall_type"].choices
        if choice != now and _goes_with(circumstances, choice)
    ]
    if not circumstances.get("air_seal_tested"):
        tested = {**circumstances, "air_seal_tested": True}
        found.append(WhatIf("the inner air seal of each window tested", partial(_as_given, surveyed), tested))
    return found


def what_changes(
    climate: xr.Dataset,
    assessment: Assessment,
    surveyed: Surveyed,
    *,
    circumstances: Mapping[str, Any] | None = None,
    office_rules: Sequence[Rule] = (),
    wet_hour: float | None = None,
    tell: Callable[[float, str], None] = lambda _share, _words: None,
) -> tuple[Then, ...]:
    """The building as it stands, then under each of its what-ifs.

    Parameters
    ----------
    climate, assessment, surveyed
        The record, the assessment made from it, and what that was made of.
    circumstances, office_rules
        As :func:`exposure.assess.details.detail_building`.
    tell
        Called between what-ifs with the share done and a few words; may raise to stop.
    """
    given = dict(assessment.building.details if circumstances is None else circumstances)
    read = record_read(climate)

    def scheduled(then: Assessment, mine: Mapping[str, Any]) -> dict[str, Schedule]:
        made = elevation_schedules(then, read, mine, office_rules=office_rules)
        return {one.elevation: one for one in made.schedules}

    before = scheduled(assessment, given)
    found = [_then(AS_IT_STANDS, assessment, before, before)]
    wanted = building_what_ifs(surveyed, given)
    for done, one in enumerate(wanted):
        tell(done / len(wanted), one.words)
        then = one.surveyed()
        same = then is surveyed
        tell((done + 0.3) / len(wanted), one.words)
        other = assessment if same else assess_building(climate, then.building, then.site, wet_hour=wet_hour)
        tell((done + 0.8) / len(wanted), one.words)
        made = _then(one.words, other, scheduled(other, one.circumstances), before)
        found.append(replace(made, starts=one.starts))
    tell(1.0, "")
    return tuple(found)


def _then(
    words: str, then: Assessment, schedules: Mapping[str, Schedule], before: Mapping[str, Schedule]
) -> Then:
    elevations = []
    for exposure in then.elevations:
        after = schedules[exposure.wall.name]
        was = before.get(exposure.wall.name)
        elevations.append(ElevationThen(exposure, after, () if was is None else line_changes(was, after)))
    return Then(words, tuple(elevations))


def line_changes(before: Schedule, after: Schedule) -> tuple[LineChange, ...]:
    """Lines that read otherwise, in order of work; a line that is only in one of them stands against nothing.

    Where a designer has to be asked, the floor for the designer stands for the schedule.
    """
    was = {line.key: line for line in (before.floor or before.lines)}
    now = {line.key: line for line in (after.floor or after.lines)}
    return tuple(
        LineChange(
            (now.get(key) or was[key]).where,
            was[key].build if key in was else "",
            now[key].build if key in now else "",
        )
        for key in [*was, *(key for key in now if key not in was)]
        if key not in was or key not in now or was[key].build != now[key].build
    )


def _as_given(surveyed: Surveyed) -> Surveyed:
    return surveyed


def _on_ground(surveyed: Surveyed, category: str) -> Surveyed:
    """The same building on one ground all round; hills and neighbours stay."""
    place = surveyed.words["place"]
    sectors = {
        bearing: {name: value for name, value in told.items() if name != "terrain"}
        for bearing, told in place.get("sector", {}).items()
    }
    return _reworded(surveyed, {"place": {**place, "terrain": category, "sector": sectors}})


def _under_roof(surveyed: Surveyed, roof: str) -> Surveyed:
    """The same building under another roof; what is told of its gables and ridge belongs to the old one."""
    return _reworded(surveyed, {"roof": roof, **dict.fromkeys(("gables", "ridge_height", "pitch"))})


def _reworded(surveyed: Surveyed, changed: Mapping[str, Any]) -> Surveyed:
    words = {key: value for key, value in {**surveyed.words, **changed}.items() if value is not None}
    file = building_from_words(words, neighbours=surveyed.neighbours)
    return resurvey(file, ground=surveyed.ground, cover=surveyed.cover, neighbours=surveyed.neighbours)


def _built_as(circumstances: Mapping[str, Any], wall_type: str) -> dict[str, Any]:
    """The circumstances with another wall; what holds its windows and its cladding is open again."""
    own = {
        name: {key: value for key, value in told.items() if key not in OF_THE_WALL}
        for name, told in circumstances.get("elevations", {}).items()
    }
    rest = {key: value for key, value in circumstances.items() if key not in OF_THE_WALL}
    return {**rest, **({"elevations": own} if own else {}), "wall_type": wall_type}


def _goes_with(circumstances: Mapping[str, Any], wall_type: str) -> bool:
    in_cavity = circumstances.get("window_position") == "in the masonry cavity"
    return not in_cavity or "masonry" in wall_type
