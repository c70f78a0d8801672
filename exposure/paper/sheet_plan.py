"""Which sheet holds what: elevations built alike share one, and every junction of every elevation stands somewhere."""

from collections.abc import Callable, Collection, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from exposure.assess.corners import Pairs, corner_rank, corners_of
from exposure.assess.details_parts import BuildingDetails, ElevationDetails
from exposure.detail import ScheduleLine
from exposure.draw.assessment_pictures import codes_of
from exposure.figures import amount
from exposure.junction.catalogue import JUNCTIONS, Drawing, LeftOut, drawings_of
from exposure.junction.numbers import Numbers, numbers_of
from exposure.paper.compared_drawings import is_as_drawn, named_parts, own_drawings, parts_apart
from exposure.paper.one_sided_corners import (
    OneSided,
    beside_the_other,
    facing_of,
    one_sided_drawings,
    one_sided_pairs,
)
from exposure.paper.sheet_columns import CORNERS, DRAWN_TALL, page_holds, printed

FRONT = 6  # drawings on an elevation's sheet at most
FIRST = ("sill", "head", "jamb", "base-soil")
THEN = (  # what only some elevations have comes before what all have
    "roof-at-wall", "flat-roof", "kick-out", "parapet-cap", "saddle", "deck-door", "deck", "deck-slats", "floor-line", "floor-open",
    "floor-direct", "floor-leaf",
    "base-paving", "corner-outside", "opening",
)  # fmt: skip
MOST_LINES = 10
TICKED = (  # rows worth a tick, the first ten that a schedule holds
    "mem_class", "back_dam", "cav_depth", "cav_mas", "cav_render", "gnd", "sill_slope", "tray_down", "tape_w", "head_up",
    "lap_h", "cav_vent", "cav_vent_mas", "air_seal", "bare_max", "step_h", "step_flat", "deck_up", "cap_slope",
)  # fmt: skip
WALL_TOPS = [one.key for one in JUNCTIONS if one.top]  # walls built alike end as their roof has it
SNOW = "snow_roof"  # it is the size where it is more than the junction's own
_CAVITY = dict.fromkeys(("cav_depth", "cav_mas", "cav_render"), "clear cavity")
MAIN_SIZE: dict[
    str, dict[str, str]
] = {  # junction -> rows and what they measure; the first that its drawing shows
    "sill": {"back_dam": "back of the tray up"},
    "head": {"head_up": "flashing up the wall", "head_tray_mas": "rise of the cavity tray"},
    "jamb": {"tape_w": "tape wide", "dpc_jamb": "damp-proof course wide", "jamb_cover": "joint covered by"},
    "threshold": {"sill_slope": "fall of the tray"},
    "door-jamb": {"dpc_jamb": "damp-proof course wide"},
    "door-side": {"paved": "cladding above paving"},
    "opening": {"jamb_up": "tray up the jambs", "sill_past": "sill's damp-proof course past it"},
    "cavity-barrier": {"head_up": "leg of its tray"},
    "base-soil": {
        "gnd": "cladding above soil",
        "cav_base": "cavity below damp-proof course",
        "base_tray": "tray up the framing",
    },
    "base-paving": {"paved": "cladding above paving"},
    "lap-level": {"lap_h": "upper over lower"},
    "lap-upright": {"lap_v": "sheet over sheet"},
    "corner-inside": {"icorner": "past the corner"},
    "corner-outside": _CAVITY,
    "pipe": {"pen_slope": "fall outward"},
    "meter-box": {"head_up": "flashing up the wall"},
    "block": {"tape_bond": "tape onto the membrane"},
    "wall-top-eaves": _CAVITY,
    "wall-top-gable": _CAVITY,
    "floor-line": {"cav_run": "cavity stopped each"},
    "floor-open": {"floor_gap": "gap in the cladding"},
    "floor-direct": {"floor_gap": "gap in the cladding"},
    "floor-leaf": {"cav_run_leaf": "cavity stopped each"},
    "roof-at-wall": {SNOW: "covered above the snow", "step_h": "flashing up the wall"},
    "flat-roof": {SNOW: "covered above the snow", "step_flat": "flashing up the wall"},
    "kick-out": {"kick_h": "upright side"},
    "parapet-cap": {"cap_slope": "fall of the cap"},
    "saddle": {"saddle_up": "up"},
    "deck": {SNOW: "covered above the snow", "deck_up": "up the wall"},
    "deck-door": {"deck_step": "below the floor at the door"},
    "deck-slats": {"deck_slats": "clear of the wall"},
    "deck-door-jamb": {"jamb_cover": "frame covered by"},
    "deck-jamb": {"tape_w": "tape wide", "jamb_cover": "frame covered by"},
    "slats-door": {"deck_slats_down": "step at the door"},
}

TOLD = 2  # parts that words tell apart; with more of them it is another form
FORMS = {"threshold": 1}  # a channel and its grating make a level door, which is another form


@dataclass(frozen=True)
class Cell:
    """One junction on one elevation: its main size, and the sheet that has it."""

    size: str
    level: int
    sheet: int
    row: str = ""  # that the size is of
    only: str = ""  # codes of those elevations of its sheet that have it; empty where all do
    also: tuple[int, ...] = ()  # other sheets, by whose drawing one of its corners is built
    drawn: bool = True  # False where no drawing shows how it is built there


@dataclass(frozen=True)
class ElevationSheet:
    """One elevation, or several built alike, with what is drawn on their sheet."""

    number: int
    elevations: tuple[ElevationDetails, ...]
    drawings: tuple[Drawing, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the elevations."""
        return tuple(one.name for one in self.elevations)


@dataclass(frozen=True)
class SheetPlan:
    """The sheets of a building."""

    details: BuildingDetails
    codes: dict[str, str]
    fronts: tuple[ElevationSheet, ...]
    common: tuple[
        Drawing, ...
    ]  # junctions not on every elevation's own sheet, each at the hardest level, in every form told apart
    left_out: tuple[LeftOut, ...]
    cells: dict[str, dict[str, Cell | None]]  # junction -> elevation -> cell; none: it has no such junction
    numbers: dict[str, int]  # kind of sheet -> its number, those behind the elevations
    drawings: tuple[Drawing, ...] = ()  # every one of the building
    corners: tuple[tuple[str, str], ...] = ()  # elevations that meet; none where nobody told where they stand
    inside: tuple[tuple[str, str], ...] = ()  # of these, those that meet at an inside corner
    milder: Mapping[tuple[str, str], str] = field(
        default_factory=dict
    )  # junction and elevation none of whose corners is built by itself -> the hardest wall beside it
    one_sided: Mapping[tuple[str, str], OneSided] = field(
        default_factory=dict
    )  # elevations at an outside corner with a cavity on one side alone -> how they stand
    one_sided_drawn: tuple[Drawing, ...] = ()  # that corner, by each such side, the hardest first

    @property
    def facing(self) -> dict[str, float]:
        """Where each elevation faces. [degrees]"""
        return facing_of(one.exposure.wall for one in self.details.elevations)

    def corners_at(self, junction: str) -> tuple[tuple[str, str], ...]:
        """Elevations that meet at corners of one kind."""
        return tuple(pair for pair in self.corners if (pair in self.inside) == (junction == "corner-inside"))

    def but_one_sided(self) -> "SheetPlan":
        """The plan without the corners that have a drawing of their own."""
        return replace(self, corners=tuple(pair for pair in self.corners if pair not in self.one_sided))

    def named(self, names: Iterable[str]) -> str:
        """Codes of some elevations, empty when they are all."""
        asked = list(names)
        return "" if len(asked) == len(self.codes) else ", ".join(self.codes[one] for one in asked)

    def shared_for(self, junction: str, name: str) -> Drawing | None:
        """The drawing on the shared sheet that is most like an elevation's own; None where the sheet has none."""
        forms = [one for one in self.common if one.section.key == junction]
        own = own_drawings(junction, self.drawings).get(name)
        return min(forms, key=lambda one: parts_apart(one, own) if own else 0, default=None)

    def cell_of(self, junction: str, sheet: ElevationSheet) -> Cell | None:
        """The cell of the elevations that share a sheet, with the codes of those that have the junction where not all do."""
        found = {name: cell for name in sheet.names if (cell := self.cells[junction][name]) is not None}
        if not found:
            return None
        cell = next(iter(found.values()))
        alone = len(found) < len(sheet.names)
        return replace(cell, only=", ".join(self.codes[name] for name in found)) if alone else cell


def sheet_plan(details: BuildingDetails) -> SheetPlan:
    """Share a building's elevations and junctions out over the sheets."""
    numbers = {
        one.name: numbers_of(one.schedule, one.circumstances, one.pressure) for one in details.elevations
    }
    drawings, left_out = drawings_of(list(numbers.items()))
    stems = {
        name: tuple(
            one.stem for one in drawings if name in one.elevations and one.section.key not in WALL_TOPS
        )
        for name in numbers
    }
    walls = [one.exposure.wall for one in details.elevations]
    all_corners, inside = corners_of(walls)
    outside = [pair for pair in all_corners if pair not in inside]
    one_sided = one_sided_pairs(drawings, outside, facing_of(walls))
    milder = _never_by_their_own(drawings, all_corners, inside, one_sided)
    groups = alike(details.elevations, lambda one: (_built(one), stems[one.name]))
    fronts = tuple(
        ElevationSheet(
            number, tuple(group), _as_fit(_front(drawings, group[0].name, milder), group, left_out)
        )
        for number, group in enumerate(groups, start=2)
    )
    kinds = ["junctions", *(["work"] if any(one.schedule.steps for one in details.elevations) else [])]
    kinds += ["check", "figures", "openings"]  # the last is filled in by hand, on a page of its own
    behind = {kind: number for number, kind in enumerate(kinds, start=len(fronts) + 2)}
    cells = _cells(fronts, numbers, behind["junctions"], drawings)
    for (key, name), other in milder.items():  # the harder wall's sheet has it
        cell, theirs = cells[key][name], cells[key][other]
        if cell is not None and theirs is not None:
            cells[key][name] = replace(cell, sheet=theirs.sheet)
    _told_in_front(fronts, cells, behind["junctions"], drawings)
    there = one_sided_drawings(drawings, one_sided)
    common = beside_the_other(
        shared_drawings(drawings, cells, behind["junctions"], fronts, apart=_only_in(one_sided, outside)),
        there[:1],
        alone=bool(one_sided) and {*one_sided, *inside} == {*all_corners},
    )
    return SheetPlan(
        details, codes_of(details.assessment), fronts, common, left_out, cells,
        behind, tuple(drawings), all_corners, inside, milder, one_sided, there,
    )  # fmt: skip


def _only_in(one_sided: Collection[tuple[str, str]], outside: Sequence[tuple[str, str]]) -> set[str]:
    """Elevations all of whose ``outside`` corners have a cavity on one side alone."""
    return {
        name for pair in one_sided for name in pair if all(one in one_sided for one in outside if name in one)
    }


def _never_by_their_own(
    drawings: Sequence[Drawing], corners: Pairs, inside: Pairs, apart: Collection[tuple[str, str]]
) -> dict[tuple[str, str], str]:
    """Elevations each of whose corners of a kind is built by a harder wall, by the corner's key, and the hardest of those walls, of corners ``apart`` with a drawing of their own only where there is no other."""
    found = {}
    for key in CORNERS:
        ranks = {
            name: corner_rank(one.numbers.values if one.numbers else {}, one.level)
            for name, one in own_drawings(key, drawings).items()
        }
        for name, mine in ranks.items():
            beside = [
                (pair[0] if pair[1] == name else pair[1])
                for pair in corners
                if name in pair and (pair in inside) == (key == CORNERS[0])
            ]
            if beside and all(other in ranks and ranks[other] > mine for other in beside):
                own = {one for pair in apart if name in pair for one in pair}
                found[key, name] = max(beside, key=lambda other: (other not in own, ranks[other]))
    return found


def _told_in_front(
    fronts: Sequence[ElevationSheet],
    cells: dict[str, dict[str, Cell | None]],
    behind: int,
    drawings: Sequence[Drawing],
) -> None:
    """Have a junction drawn on the sheet of one elevation alone where all others without room for it build it just so."""
    for key, row in cells.items():
        if key in CORNERS:
            continue
        there = [name for name, cell in row.items() if cell is not None and cell.sheet == behind]
        own = own_drawings(key, drawings)
        drawn = [(sheet.number, one) for sheet in fronts for one in sheet.drawings if one.section.key == key]
        same = {
            name: next((number for number, one in drawn if name in own and is_as_drawn(one, own[name])), 0)
            for name in there
        }
        if all(same.values()):
            for name, number in same.items():
                cell = row[name]
                row[name] = None if cell is None else replace(cell, sheet=number)


def alike(
    elevations: Iterable[ElevationDetails], key: Callable[[ElevationDetails], Hashable]
) -> list[list[ElevationDetails]]:
    """Elevations in groups whose ``key`` is the same, in order."""
    groups: dict[Hashable, list[ElevationDetails]] = {}
    for one in elevations:
        groups.setdefault(key(one), []).append(one)
    return list(groups.values())


def lines_of(one: ElevationDetails) -> tuple[ScheduleLine, ...]:
    """An elevation's orders; under specific design the floor the designer starts from."""
    return one.schedule.floor or one.schedule.lines


def ticked_lines(one: ElevationDetails) -> list[ScheduleLine]:
    """Ten orders or fewer, in order of work: those that a local rule sharpened first, then the main sizes."""
    held = {line.key: line for line in lines_of(one)}
    ruled = [key for key, line in held.items() if line.rule]
    chosen = list(dict.fromkeys([*ruled, *(key for key in TICKED if key in held)]))[:MOST_LINES]
    return [line for key, line in held.items() if key in chosen]


def _built(one: ElevationDetails) -> Hashable:
    """Everything that is built on an elevation."""
    schedule = one.schedule
    orders = tuple((line.key, line.build, line.rule, line.caution, line.standing) for line in lines_of(one))
    return (
        schedule.level,
        schedule.specific_design,
        orders,
        schedule.rules,
        schedule.steps,
        schedule.look_first,
        schedule.retrofit,
    )


def _front(
    drawings: Sequence[Drawing], name: str, milder: Collection[tuple[str, str]] = ()
) -> tuple[Drawing, ...]:
    """What is drawn on an elevation's own sheet: the window and the base, then what only some elevations have."""
    mine = {
        one.section.key: one
        for one in drawings
        if name in one.elevations and (one.section.key, name) not in milder
    }
    return tuple(mine[key] for key in (*FIRST, *THEN) if key in mine)


def _as_fit(
    front: tuple[Drawing, ...], group: Sequence[ElevationDetails], left_out: Sequence[LeftOut]
) -> tuple[Drawing, ...]:
    """Of the drawings for a sheet, in their order, those that one page holds; the others go to the sheet that all share."""
    names, schedule, lines = {one.name for one in group}, group[0].schedule, ticked_lines(group[0])
    ticked = [f"{line.build} {line.rule}" for line in lines]
    undrawn: dict[str, list[str]] = {}
    for each in left_out:
        if each.junction != "every" and names & {*each.elevations}:
            undrawn.setdefault(each.why, []).append(each.title)
    cautions = dict.fromkeys(line.caution for line in lines if line.caution not in schedule.cautions)
    framed = [f"{', '.join(titles)}: {why}" for why, titles in undrawn.items()] + [" ".join(cautions)]
    kept: list[Drawing] = []
    shown: list[dict] = []
    for one in front:
        if len(kept) == FRONT:
            break
        more = [*shown, printed(one.section, tallest=DRAWN_TALL)]
        clashes = dict.fromkeys(clash.words for mine in (*kept, one) for clash in mine.section.conflicts)
        if len(kept) < len(FIRST) or page_holds(
            more, walls=len(group), ticked=ticked, framed=[*framed, *clashes]
        ):
            kept, shown = [*kept, one], more
    return tuple(kept)


def shared_drawings(
    drawings: Sequence[Drawing],
    cells: dict[str, dict[str, Cell | None]],
    sheet: int,
    fronts: Sequence[ElevationSheet] = (),
    *,
    apart: Collection[str] = (),
) -> tuple[Drawing, ...]:
    """Each junction once, at the hardest level; of another form besides, unless an elevation's own sheet draws that.

    Parameters
    ----------
    apart
        Elevations of whose outside corners each has a drawing of another kind: they give none to the others.
    """
    kept: dict[str, list[Drawing]] = {one.section.key: [] for one in drawings}
    for one in sorted(drawings, key=lambda one: -one.level):
        key, mine = one.section.key, kept[one.section.key]
        there = {name for name, cell in cells[key].items() if cell is not None and cell.sheet == sheet}
        if key == CORNERS[1] and {*one.elevations} <= {*apart} and there - {*apart}:
            continue
        if mine:
            asked = bool(there & set(one.elevations)) and key not in CORNERS
            own = (each for front in fronts for each in front.drawings if each.section.key == key)
            if (
                not asked
                or min(parts_apart(one, drawn) for drawn in mine) <= FORMS.get(key, TOLD)
                or any(named_parts(each) == named_parts(one) for each in own)
            ):
                continue
        if there:
            mine.append(one)
    return tuple(one for mine in kept.values() for one in mine)


def _cells(
    fronts: Sequence[ElevationSheet],
    numbers: dict[str, Numbers],
    behind: int,
    drawings: Sequence[Drawing] = (),
) -> dict[str, dict[str, Cell | None]]:
    shown = {
        (one.section.key, name): {size.key for size in one.section.dimensions}
        for one in drawings
        for name in one.elevations
    }
    cells: dict[str, dict[str, Cell | None]] = {}
    for junction in JUNCTIONS:
        row: dict[str, Cell | None] = {}
        for sheet in fronts:
            drawn = any(one.section.key == junction.key for one in sheet.drawings)
            for one in sheet.elevations:
                lines = {line.key: line for line in lines_of(one)}
                if not junction.among({key: line.value for key, line in lines.items()}, one.schedule.tops):
                    row[one.name] = None
                elif one.schedule.specific_design:
                    row[one.name] = Cell("design", 0, sheet.number)
                else:
                    rows = [key for key in MAIN_SIZE[junction.key] if key in lines]
                    own = [float(lines[key].value) for key in rows if key != SNOW]
                    if SNOW in rows and own and max(own) >= float(lines[SNOW].value):
                        rows.remove(SNOW)
                    seen = [key for key in rows if key in shown.get((junction.key, one.name), ())]
                    # undrawn, nobody can tell which of several is meant
                    told = seen or (rows if len(rows) == 1 else [])
                    line = lines[told[0]] if told else None
                    size = amount(line.value, line.unit) if line and not isinstance(line.value, str) else ""
                    row[one.name] = Cell(
                        size,
                        numbers[one.name].level,
                        sheet.number if drawn else behind,
                        line.key if line else "",
                    )
        if any(row.values()):
            cells[junction.key] = row
    return cells
