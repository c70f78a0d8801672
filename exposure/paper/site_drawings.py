"""Drawings of the builder's file: every section and frame of the house stored once, shown from wherever it belongs.

A phone keeps one file, so what is drawn alike is written once: pictures stand in a store at the end of the file, and steps,
rows and elevations point to them.
"""

from bisect import bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import islice

from markupsafe import Markup

from exposure.assess.details_parts import BuildingDetails, ElevationDetails
from exposure.detail.schedule_parts import Step
from exposure.draw.junction_svg import junction_picture
from exposure.draw.marked import say, whole
from exposure.draw.work_frames import bare_frame
from exposure.figures import listed
from exposure.junction.catalogue import JUNCTIONS, Drawing, runs_of, window_cannot
from exposure.junction.numbers import Numbers, numbers_of
from exposure.junction.short_runs import STEPPED, short_runs_of
from exposure.paper.one_sided_corners import ONE_SIDED
from exposure.paper.picture_store import Store, pointer, stored
from exposure.paper.provenance import in_order
from exposure.paper.sheet_columns import CORNERS
from exposure.paper.sheet_corners import built_at_corners, corner_sheets, one_sided_corners
from exposure.paper.sheet_plan import SheetPlan
from exposure.paper.sheet_register import ON_DECK, STANDS_ON

PHONE = 310  # CSS pixels; a phone of 320 shows it whole, a wider one enlarges it
LETTERS = 15.0  # of a frame 310 wide: 12 pixels or more on a phone of 360
MOST_RUNS = 4  # orders of work drawn; the mildest beyond them stand in words
MOST_AT_ROWS = 3  # sections under one place of the schedule; its elevation lists all
AT_FRAMES = (
    "sill",
    "head",
    "jamb",
    "threshold",
    "opening",
    "lap-level",
    "lap-upright",
)  # sections beside a frame
AT_A_DOOR = ("threshold", "door-side", "deck-door", "deck-door-jamb", "deck-jamb", "slats-door")
AT_SUPPORT = ("sill", "threshold")  # a sill support has no size
OUTSIDE = "corner-outside"
TRAYS_AT = "roof-at-wall"  # the section whose steps have them
ONLY_AT = {"sill": "window", "opening": "window", **dict.fromkeys(AT_A_DOOR, "door")}


@dataclass(frozen=True)
class SiteDrawings:
    """What the file draws, and where each picture is pointed to."""

    store: Store  # stands in the file once
    frames: Mapping[str, Mapping[int, Markup]]  # elevation -> step -> picture
    sections: Mapping[str, Mapping[str, dict]]  # elevation -> junction -> what its place shows
    plan: SheetPlan
    trays: Mapping[str, list[dict]]  # elevation -> trays of a leaf up along a roof, step by step

    def at_step(self, elevation: str, step: Step) -> list[dict]:
        """Sections that show a step: those it names, or at a frame those that have its sizes."""
        mine = self.sections[elevation]
        if step.drawn:
            sections = [mine[key] for key in mine if _drawn_for(key) in step.drawn]
            trays = self.trays.get(elevation, []) if TRAYS_AT in step.drawn else []
            return [*sorted(sections, key=lambda one: step.drawn.index(one["key"])), *trays]
        carried = AT_SUPPORT if "support" in step.adds else ()
        keys = [
            key
            for key in AT_FRAMES
            if key in mine and (mine[key]["sized"] & set(step.sets) or key in carried)
        ]
        return [mine[key] for key in keys]

    def at_rows(self, elevation: str, rows: Iterable[str]) -> list[dict]:
        """Sections that show rows of the schedule: those drawn for one of them, then those with most of their sizes."""
        asked = set(rows)
        own = {one.key for one in JUNCTIONS if one.row in asked}
        scores = {
            key: 9 * (_drawn_for(key) in own) + 2 * len(one["sized"] & asked) + len(one["rows"] & asked)
            for key, one in self.sections[elevation].items()
        }
        best = sorted((key for key, score in scores.items() if score), key=lambda key: -scores[key])
        return [self.sections[elevation][key] for key in best[:MOST_AT_ROWS]]

    def drawn_on(self, elevation: str, step: Step) -> str:
        """Where the paper draws a step that has no frame, in a sentence."""
        cells = [self.plan.cells.get(key, {}).get(elevation) for key in step.drawn]
        sheets = sorted({cell.sheet for cell in cells if cell is not None})
        return (
            f"Drawn on sheet{'s' * (len(sheets) > 1)} {listed([str(one) for one in sheets])}."
            if sheets
            else ""
        )

    def at_door(self, one: ElevationDetails) -> dict:
        """What holds at a door of an elevation and not at a window: warnings, what cannot be built, sections."""
        mine = [section for key, section in self.sections[one.name].items() if key in AT_A_DOOR]
        numbers = numbers_of(one.schedule, one.circumstances, one.pressure)
        jamb = "door-jamb" if "door-jamb" in self.sections[one.name] else "jamb"
        door = [junction for junction in JUNCTIONS if junction.key in ("threshold", "head", jamb)]
        return {
            "cannot": whole(window_cannot(one.name, numbers, door)),
            "warnings": in_order(words for section in mine for words in section["warnings"]),
            "sections": mine,
            "which": [
                f"Does this door stand on {STANDS_ON[key]}? Then {ON_DECK[key]} holds below the frame, else the threshold."
                for key in STANDS_ON
                if key in self.sections[one.name]
            ],
        }


def site_drawings(details: BuildingDetails, plan: SheetPlan, *, most: int | None = None) -> SiteDrawings:
    """Every frame and section of a house, the hardest wall's first where they would be too many.

    Parameters
    ----------
    details
        A :class:`exposure.assess.details_parts.BuildingDetails`.
    plan
        Its sheets.
    most
        Letters that the drawings may take; by default as many as they need.
    """
    numbers = {
        one.name: numbers_of(one.schedule, one.circumstances, one.pressure) for one in details.elevations
    }
    frames, pictures = _frames(details, numbers)
    trays = _trays(numbers, pictures)
    walls = [one.name for one in details.elevations]
    drawings = [*plan.drawings, *plan.one_sided_drawn]
    by_need = sorted(drawings, key=lambda one: min(walls.index(name) for name in one.elevations))
    ids = {one.stem: f"d{place}" for place, one in enumerate(by_need)}
    sections = {
        ids[one.stem]: junction_picture(one.section, lines={}, width=PHONE, prefix=ids[one.stem])
        for one in by_need
    }
    kept, store = _within(most, pictures, sections)
    pictures_of = {stem: pointer(id_, kept[id_]) for stem, id_ in ids.items() if id_ in kept}
    shown: dict[str, dict[str, dict]] = {name: {} for name in walls}
    for drawing in plan.drawings:
        for name in drawing.elevations:
            shown[name][drawing.section.key] = _shown(drawing, pictures_of.get(drawing.stem, ""), plan, name)
    for (key, name), other in plan.milder.items():
        if key in shown[name] and key in shown[other]:
            mine = shown[name][key]
            shown[name][key] = shown[other][key] | {"corners": mine["corners"], "sheets": mine["sheets"]}
    for name, mine in shown.items():
        if "door-jamb" in mine and "jamb" in mine:
            mine["jamb"]["only"] = "window"
        if one_sided := one_sided_corners(plan, name):
            shown[name] = _with_one_sided(mine, one_sided, pictures_of, plan)
    return SiteDrawings(store, frames, shown, plan, trays)


def _within(
    most: int | None, pictures: Mapping[str, str], sections: Mapping[str, str]
) -> tuple[dict[str, str], Store]:
    """As many of the ``sections``, the first ones, as go with the ``pictures`` into ``most`` letters, and the store of both."""

    def first(count: int) -> dict[str, str]:
        return dict(islice(sections.items(), count))

    @cache
    def store_of(count: int) -> Store:
        return stored({**pictures, **first(count)})

    count = len(sections)
    if most is not None and len(store_of(count).html) > most:  # a section more never makes the store shorter
        too_many = bisect_right(range(count), most, key=lambda one: len(store_of(one).html))
        count = max(too_many - 1, 0)
    return first(count), store_of(count)


def _drawn_for(key: str) -> str:
    """The junction that a section is a form of."""
    return OUTSIDE if key.startswith(ONE_SIDED) else key


def _shown(drawing: Drawing, picture: Markup | str, plan: SheetPlan, elevation: str) -> dict:
    """A section as one of its places shows it; no picture where the file has no room for it."""
    section = drawing.section
    cell = plan.cells.get(section.key, {}).get(elevation)
    sheets = [cell.sheet] if cell else []
    if cell and section.key in CORNERS:
        sheets = corner_sheets(section.key, plan.but_one_sided(), [elevation])
    return {
        "key": _drawn_for(section.key),
        "title": say(section.title.removesuffix(", upright section"), most=120),
        "picture": picture,
        "sheets": sheets,
        "only": ONLY_AT.get(section.key, ""),
        "warnings": [whole(words) for words in section.warnings],
        "corners": [
            whole(words)
            for words in (built_at_corners(section.key, plan, elevation) if section.key in CORNERS else ())
        ],
        "sized": {one.key for one in section.dimensions},
        "rows": {row for row, _ in drawing.words},
    }


def _with_one_sided(
    mine: Mapping[str, dict],
    corners: Mapping[str, tuple[Drawing, list[str]]],
    pictures: Mapping[str, Markup],
    plan: SheetPlan,
) -> dict[str, dict]:
    """An elevation's sections with its corners of a cavity on one side after the other outside corner, in its place where it has no other."""
    found: dict[str, dict] = {}
    for key, shown in mine.items():
        if key != OUTSIDE or shown["corners"]:
            found[key] = shown
        if key == OUTSIDE:
            for stem, (drawing, told) in corners.items():
                one = _shown(drawing, pictures.get(stem, ""), plan, "")
                sheets = [plan.numbers["junctions"]]
                found[stem] = one | {"sheets": sheets, "corners": [whole(words) for words in told]}
    return found


def _trays(numbers: Mapping[str, Numbers], pictures: dict[str, str]) -> dict[str, list[dict]]:
    """The stepped trays of each leaf along a roof in frames, as places of a step show them; their pictures join the others."""
    found: dict[str, list[dict]] = {}
    for place, run in enumerate(short_runs_of([*numbers.items()], (STEPPED,))):
        for frame in run.frames:
            id_ = f"trays{place + 1}-{frame.number}"
            pictures[id_] = bare_frame(frame, run.numbers, letters=LETTERS, prefix=id_)
            words = say(f"trays along a roof, {frame.number}. {frame.words}", most=400)
            one = {
                "title": words,
                "picture": pointer(id_, pictures[id_]),
                "sheets": [],
                "only": "",
                "warnings": [],
                "corners": [],
            }
            for name in run.elevations:
                found.setdefault(name, []).append(one)
    return found


def _frames(
    details: BuildingDetails, numbers: Mapping[str, Numbers]
) -> tuple[dict[str, dict[int, Markup]], dict[str, str]]:
    """The picture of each step by elevation, and the pictures by name: those with the same sizes once."""
    runs = runs_of([(one.name, numbers[one.name], one.schedule.steps) for one in details.elevations])
    found: dict[str, dict[int, Markup]] = {one.name: {} for one in details.elevations}
    pictures: dict[str, str] = {}
    for place, run in enumerate(runs[:MOST_RUNS]):
        for frame in run.frames:
            id_ = f"step{frame.number}" if place == 0 else f"step{frame.number}-{place + 1}"
            pictures[id_] = bare_frame(frame, run.numbers, letters=LETTERS, prefix=id_)
            for name in run.elevations:
                found[name][frame.number] = pointer(id_, pictures[id_])
    return found, pictures
