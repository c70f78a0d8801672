"""The register of openings as data: each with its wall, size, rating asked and drawing, and what is held for a record.

The printed sheet, the file for the site and ``register.json`` in a building's folder are made from this one list.
"""

import json
from collections import Counter
from collections.abc import Mapping
from dataclasses import asdict, dataclass

from exposure.assess.openings import opening_orders
from exposure.assess.site_record import FORMATS, REGISTER, VERSION, house_key
from exposure.detail.window_class import grooved, rated_words
from exposure.figures import pascals
from exposure.paper.provenance import input_mark, version_words
from exposure.paper.sheet_plan import SheetPlan

DRAWINGS = {False: "sill", True: "threshold"}  # of a window, of a door


@dataclass(frozen=True)
class HoldPoint:
    """What is recorded before the next step covers it; numbered by its step of the order of work of the house."""

    step: int
    words: str
    door: bool = False  # of doors alone


@dataclass(frozen=True)
class RegisteredWall:
    """One elevation of the register: its hold points, and the class of a window that no list has."""

    name: str
    code: str
    sheet: int
    asked: str
    steps: int
    points: tuple[HoldPoint, ...]


@dataclass(frozen=True)
class RegisteredOpening:
    """One opening; ``width`` and ``height`` [mm] are None where no list has it."""

    mark: str  # on the plan and in the record: code of the wall and a number
    elevation: str
    kind: str
    width: float | None
    height: float | None
    asked: str
    offered: str
    sheet: int
    drawing: str  # name of the drawing of its sill or threshold, without ending

    @property
    def size(self) -> str:
        """Width and height as printed; empty where unknown."""
        return "" if self.width is None else f"{self.width:g} × {self.height:g}"


@dataclass(frozen=True)
class Register:
    """Every opening of a building that is known, and every elevation, whether a list has openings on it or not."""

    key: str
    inputs: str
    house: str
    place: str
    openings: tuple[RegisteredOpening, ...]
    walls: tuple[RegisteredWall, ...]

    def of(self, elevation: str) -> tuple[RegisteredOpening, ...]:
        """Openings of one elevation."""
        return tuple(one for one in self.openings if one.elevation == elevation)


def register_of(plan: SheetPlan) -> Register:
    """The register of a building, worst elevation first."""
    details, assessment = plan.details, plan.details.assessment
    site = assessment.site
    sheets = {name: sheet.number for sheet in plan.fronts for name in sheet.names}
    drawn = {
        (name, one.section.key): one.stem
        for one in plan.drawings
        if one.section.key in DRAWINGS.values()
        for name in one.elevations
    }
    builds = {one.name: {line.key: line.build for line in one.schedule.lines} for one in details.elevations}
    running: Counter[str] = Counter()
    openings = []
    for order in opening_orders(details, details.openings, rating=details.rating):
        wall, what = order.opening.elevation, DRAWINGS[order.opening.door]
        cell = plan.cells.get(what, {}).get(wall)
        for _ in range(order.opening.count):
            running[wall] += 1
            openings.append(
                RegisteredOpening(
                    mark_of_opening(plan.codes[wall], running[wall]), wall, order.kind, order.opening.width, order.opening.height,
                    f"{order.to_order}, {pascals(order.gust)}{_groove(builds[wall], door=order.opening.door)}",
                    "" if order.rated is None else f"{rated_words(order.rated)}: {order.verdict}",
                    cell.sheet if cell and (wall, what) in drawn else sheets[wall], drawn.get((wall, what), ""),
                )
            )  # fmt: skip
    walls = tuple(
        RegisteredWall(
            one.name, plan.codes[one.name], sheets[one.name],
            f"{one.window.to_order}, {pascals(one.window.pressure)}{_groove(builds[one.name])}",
            len(one.schedule.steps),
            tuple(
                HoldPoint(step.number, step.hold, step.door) for step in one.schedule.steps if step.hold
            ),
        )
        for one in details.elevations
    )  # fmt: skip
    return Register(
        house_key(
            house=assessment.building.name, place=site.name, latitude=site.latitude, longitude=site.longitude
        ),
        input_mark(details), assessment.building.name, site.name, tuple(openings), walls,
    )  # fmt: skip


def _groove(builds: Mapping[str, str], *, door: bool | None = None) -> str:
    """What a frame needs beside its class; ``door`` is None where no list says what it is."""
    if door is not True and grooved(builds, door=False):
        return ", groove for the metal cover"
    if door is False or not grooved(builds, door=True):
        return ""
    if "deck_sill" in builds and "sill_cover" not in builds:
        return ", of a door on the closed deck a groove for its metal sill"
    return ", groove for the metal cover" if door else ", of doors a groove for the metal cover"


def mark_of_opening(code: str, number: int) -> str:
    """What an opening is called on the plan and in the record.

    Examples
    --------
    >>> mark_of_opening("SW", 3), mark_of_opening("N2", 1)
    ('SW3', 'N2-1')
    """
    return f"{code}{'-' if code[-1:].isdigit() else ''}{number}"


def register_json(register: Register, *, notice: str = "") -> str:
    """The register as a file that a record from the site is held against; ``notice`` says that it is invented."""
    words = {
        "format": FORMATS[REGISTER],
        **({"notice": notice} if notice else {}),
        "version": VERSION,
        "program": version_words(),
        "units": {"width": "mm", "height": "mm"},
        **asdict(register),
    }
    return json.dumps(words, indent=1, ensure_ascii=False) + "\n"
