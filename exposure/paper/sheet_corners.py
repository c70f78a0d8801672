"""What is built at the corners of a house: each by the harder of its two walls, each wall with its own cavity."""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence

from exposure.assess.corners import corner_rank, harder_first
from exposure.assess.details_parts import ElevationDetails
from exposure.detail import ScheduleLine
from exposure.detail.ladder import ladder_rows, rank
from exposure.figures import amount
from exposure.junction.catalogue import Drawing
from exposure.junction.corners import SEALED
from exposure.junction.size_names import size_name
from exposure.paper.compared_drawings import own_drawings
from exposure.paper.one_sided_corners import (
    ONE_SIDED,
    Pair,
    drawn_one_sided,
    stands,
    stands_right,
    told_one_sided,
)
from exposure.paper.sheet_plan import ElevationSheet, SheetPlan, lines_of

AT_CORNERS = {  # rows that the harder of two walls decides, and at which kind of corner
    "icorner": "corner-inside",
    "ocorner": "corner-outside",
    "cav_corner": "corner-outside",
}
OUTSIDE = "corner-outside"
AT = {OUTSIDE: "across the top", "corner-inside": "down the sheet"}  # where the harder of two walls is drawn
AS_DRAWN = "sizes as drawn"
NO_SUCH_CORNER = "The outline has none; where a bay or porch makes one, as drawn"
CAVITY = "cavity"  # the size that each of two walls keeps for itself


def told_by_corner(
    drawing: Drawing, plan: SheetPlan, own: Mapping[str, Drawing], said: Mapping[str, str]
) -> list[str]:
    """What is built at each corner there is, in one line: by its harder wall, and the cavity of either side.

    Parameters
    ----------
    own
        Each elevation's drawing of the corner.
    said
        What elevations without a sheet of their own for it build otherwise than drawn, the cavity left out.
    """
    ranks = {name: rank_of(one) for name, one in own.items()}
    found: dict[str, list[str]] = {}
    for pair in plan.corners_at(drawing.section.key):
        top = max((ranks[name] for name in pair if name in ranks), default=None)
        harder = [name for name in pair if ranks.get(name) == top]
        drawn = any(name in drawing.elevations for name in harder)
        if drawn:
            words = "as drawn"
        else:
            forms = {id(own.get(name, name)): name for name in reversed(harder)}  # one drawing is told once
            harder = [name for name in harder if name in forms.values()]
            built = [said[name] if name in said else _on_its_sheet(name, drawing, plan) for name in harder]
            words = ", or the harder of the two: ".join(dict.fromkeys(built))
        base = drawing if drawn else own.get(harder[0])
        told_by_side = drawn and all(_cavity(own[name]) for name in pair if name in own)
        sides = _sides(pair, plan, own)
        told = [
            words,
            sides if not told_by_side and (not drawn or _unlike(pair, own, drawing)) else "",
            otherwise_at(pair, plan, own, base, cavity=told_by_side) if base else "",
        ]
        found.setdefault("; ".join(filter(None, told)), []).append(_named(pair, own, plan))
    if not found:
        milder: dict[str, list[str]] = {}
        for name, words in said.items():
            if name in own and _cavity(own[name]) != _cavity(drawing):
                size = _cavity(own[name])
                cavity = f"{CAVITY} {amount(size, 'mm')}" if size else f"no {CAVITY}"
                words = cavity if words == AS_DRAWN else f"{words}, {cavity}"
            milder.setdefault(words, []).append(plan.codes[name])
        return [NO_SUCH_CORNER, *(f"{', '.join(codes)}: {words}" for words, codes in milder.items())]
    return [
        f"First named {AT[drawing.section.key]}",
        *(
            f"Corner{'s' if pairs[1:] else ''} of {', of '.join(pairs)}: {words}"
            for words, pairs in found.items()
        ),
    ]


def corner_sheets(key: str, plan: SheetPlan, mine: Sequence[str]) -> list[int]:
    """The sheets that have a corner of some elevations: their own, that of a harder wall beside them, that of corners with a cavity on one side."""
    ranks = {name: rank_of(one) for name, one in own_drawings(key, plan.drawings).items()}
    cells = plan.cells[key]
    found = {cell.sheet for name in mine if (cell := cells[name])}
    for pair in plan.corners_at(key):
        for name in set(pair) & set(mine):
            [other] = set(pair) - {name}
            harder, _ = harder_first((name, other), ranks)  # of two alike its own
            if pair in plan.one_sided:
                found.add(plan.numbers["junctions"])
            elif cell := cells[harder]:
                found.add(cell.sheet)
    return sorted(found)


def corners_elsewhere(plan: SheetPlan, sheet: ElevationSheet) -> str:
    """Where the outside corners of a sheet that draws none are drawn, each by the wall that is met there; empty where it draws one."""
    cells = plan.cells.get(OUTSIDE, {})
    if not cells or any(one.section.key == OUTSIDE for one in sheet.drawings):
        return ""
    found: dict[int, list[str]] = {}
    for pair in plan.corners_at(OUTSIDE):
        for name in (one for one in pair if one in sheet.names):
            [other] = {*pair} - {name}
            cell = cells[other]
            if cell and (OUTSIDE, name) in plan.milder and pair not in plan.one_sided:
                found.setdefault(cell.sheet, []).append(plan.codes[other])
    if not found:
        return ""
    told = ", ".join(f"with {' and '.join(dict.fromkeys(codes))}: sheet {at}" for at, codes in found.items())
    return f"Corner{'s' * (sum(map(len, found.values())) > 1)} {told}."


def _on_its_sheet(name: str, drawing: Drawing, plan: SheetPlan) -> str:
    cell = plan.cells[drawing.section.key].get(name)
    return f"as drawn on sheet {cell.sheet} for {plan.codes[name]}" if cell else not_drawn(plan, name)


def not_drawn(plan: SheetPlan, name: str) -> str:
    """That an elevation's orders of a junction have no drawing, and which sheet says why: its own."""
    return f"not drawn, as sheet {next(one.number for one in plan.fronts if name in one.names)} says"


def _unlike(pair: Sequence[str], own: Mapping[str, Drawing], drawing: Drawing) -> bool:
    return any(_cavity(own[name]) != _cavity(drawing) for name in pair if name in own)


def rank_of(drawing: Drawing) -> tuple[float, ...]:
    """How hard the walls of a drawing are at a corner."""
    return corner_rank(drawing.numbers.values if drawing.numbers else {}, drawing.level)


def harder_drawings(drawing: Drawing, drawings: Iterable[Drawing]) -> list[Drawing]:
    """The drawings of the same corner for harder walls."""
    return [
        one for one in drawings if one.section.key == drawing.section.key and rank_of(one) > rank_of(drawing)
    ]


def _as_named(pair: Sequence[str], own: Mapping[str, Drawing]) -> list[str]:
    """Two walls, first the one whose membrane their drawing shows round the corner."""
    return harder_first(pair, {name: rank_of(own[name]) for name in pair if name in own})


def _named(pair: Sequence[str], own: Mapping[str, Drawing], plan: SheetPlan) -> str:
    """Codes of two walls in that order, and whether their corner lies mirrored to its drawing."""
    first, other = _as_named(pair, own)
    return f"{plan.codes[first]} and {plan.codes[other]}{_mirrored(first, other, plan)}"


def _mirrored(first: str, other: str, plan: SheetPlan) -> str:
    return " (mirrored)" * stands_right(other, first, plan.facing)


def otherwise_at(
    pair: Pair, plan: SheetPlan, own: Mapping[str, Drawing], base: Drawing, *, cavity: bool = False
) -> str:
    """What is built otherwise than by the drawing of a corner: what its other wall asks more, boards and battens of a side, and its ``cavity`` where asked."""
    told = [*_asked_more(pair, own, base)]
    boards, apart = _boarded(base), _battens(base)
    for name in pair:
        mine = own.get(name, base)
        differs = []
        if cavity and _cavity(mine) != _cavity(base):
            differs.append(f"{CAVITY} {amount(_cavity(mine), 'mm')}")
        if base.section.key != ONE_SIDED and _boarded(mine) != boards:
            differs.append(
                "no boards on the studs, its layers under the sheet round the corner as far as the corner stud, "
                "not lapped over it; that sheet's edge taped over blocking"
                if boards
                else "boards on the studs, its sheet lapped over the one round the corner"
            )
        if _battens(mine) and apart and _battens(mine) != apart:
            differs.append(f"battens {amount(_battens(mine), 'mm')}")
        if differs:
            told.append(f"on {plan.codes[name]}'s side {', '.join(differs)}")
    return "; ".join(told)


def _asked_more(pair: Sequence[str], own: Mapping[str, Drawing], base: Drawing) -> list[str]:
    """Sizes, tape and seal that one of two walls asks and the drawing of their corner has less of."""
    walls = [own[name] for name in pair if name in own]
    sizes = {one.key: one for wall in walls for one in wall.section.dimensions}
    told = []
    for key in ("icorner", "ocorner", "lap_v"):
        most, there = (max((_size(one, key) for one in some), default=0.0) for some in (walls, [base]))
        if most > there > 0:
            told.append(f"{size_name(sizes[key])} {amount(most, 'mm')}")
    parts = {layer.key for layer in base.section.layers}
    if "lap tape" not in parts and any(
        layer.key == "lap tape" for one in walls for layer in one.section.layers
    ):
        told.append("tape over the edge")
    if "batten" in parts and SEALED not in _split(base) and any(SEALED in _split(one) for one in walls):
        told.append("the batten beside the corner sealed top to bottom")
    return told


def _size(drawing: Drawing, key: str) -> float:
    """A size in a drawing, 0 where it has none. [mm]"""
    return next((one.value for one in drawing.section.dimensions if one.key == key), 0.0)


def _split(drawing: Drawing) -> str:
    return str(drawing.numbers.values.get("cav_corner", "")) if drawing.numbers else ""


def _boarded(drawing: Drawing) -> bool:
    return any(layer.key == "core board" for layer in drawing.section.layers)


def _battens(drawing: Drawing) -> float:
    """How far apart the battens in a drawing stand, 0 where none does. [mm]"""
    return _size(drawing, "batten_sp")


def _cavity(drawing: Drawing) -> float:
    """The cavity in a drawing, 0 where there is none. [mm]"""
    return next((one.value for one in drawing.section.dimensions if size_name(one) == CAVITY), 0.0)


def _sides(pair: Sequence[str], plan: SheetPlan, own: Mapping[str, Drawing]) -> str:
    """The cavity on either side of a corner; what covers the end of one where the other wall has none."""
    if any(name not in own for name in pair):
        return ""
    sizes = {name: _cavity(own[name]) for name in pair}
    if len(set(sizes.values())) == 1:
        size = sizes[pair[0]]
        return f"cavity {amount(size, 'mm')} on both sides" if size else "no cavity on either side"
    deep, other = sorted(pair, key=lambda name: -sizes[name])
    told = f"cavity {amount(sizes[deep], 'mm')} on {plan.codes[deep]}'s side"
    if sizes[other]:
        return f"{told}, {amount(sizes[other], 'mm')} on {plan.codes[other]}'s"
    layers = {layer.key: layer for layer in own[other].section.layers}
    ended = any(layer.key == "corner batten" for layer in own[deep].section.layers)
    laps = f", past the batten at the end of {plan.codes[deep]}'s cavity" if ended else ""
    return f"{told}, none on {plan.codes[other]}'s: its {layers['cladding'].name.lower()}, straight on the membrane{laps}"


def sides_at_corners(
    drawing: Drawing, plan: SheetPlan, mine: Sequence[str], elsewhere: Collection[str] = ()
) -> list[str]:
    """Of the corners of some elevations where the first named stands, the harder of two that differ, and the cavity on either side where those are not of their drawing.

    Parameters
    ----------
    elsewhere
        Walls whose own drawing shows the corners with them.
    """
    key = drawing.section.key
    own = own_drawings(key, plan.drawings)
    found: dict[str, list[str]] = {}
    for pair in plan.corners_at(key):
        if set(pair) & set(mine) and set(pair) <= own.keys() - set(elsewhere):
            sides = _sides(pair, plan, own) if _unlike(pair, own, drawing) else ""
            first, _ = _as_named(pair, own)
            but = otherwise_at(pair, plan, own, drawing) if own[first] == drawing else ""
            words = "; ".join(filter(None, [f"first named {AT[key]}", sides, but]))
            found.setdefault(words, []).append(_named(pair, own, plan))
    return [
        *(
            f"Corner{'s' * (len(pairs) > 1)} of {', of '.join(pairs)}: {words}"
            for words, pairs in found.items()
        ),
    ]


def told_on_another(drawing: Drawing, plan: SheetPlan, mine: Sequence[str], sheet: int) -> list[str]:
    """At which corners of some elevations the other wall builds otherwise than their drawing, where another ``sheet`` tells it."""
    key = drawing.section.key
    own = own_drawings(key, plan.drawings)
    found = []
    for pair in plan.corners_at(key):
        if set(pair) <= own.keys() and pair not in plan.one_sided:
            first, second = _as_named(pair, own)
            if first in mine and otherwise_at(pair, plan, own, drawing, cavity=True):
                found.append(second)
    return (
        [f"At a corner with {any_of(plan, found)}: otherwise on its side, as sheet {sheet} says"]
        if found
        else []
    )


def as_built(plan: SheetPlan, mine: ElevationDetails, line: ScheduleLine) -> ScheduleLine:
    """An order as an elevation builds it: of a corner its neighbours', where they ask the same and none of its corners is built by itself."""
    key = AT_CORNERS.get(line.key, "")
    if (key, mine.name) not in plan.milder:
        return line
    beside = [pair[pair[0] == mine.name] for pair in plan.corners_at(key) if mine.name in pair]
    theirs = [one for name in beside for one in lines_of(plan.details.of(name)) if one.key == line.key]
    alike = len(theirs) == len(beside) and len({one.build for one in theirs}) == 1
    return theirs[0] if alike else line


def built_at_corners(key: str, plan: SheetPlan, mine: str) -> list[str]:
    """What one elevation builds at each of its corners of a kind, where every wall has its own drawing before it."""
    own = own_drawings(key, plan.drawings)
    found: dict[str, list[str]] = {}
    for pair in plan.corners_at(key):
        if mine not in pair or pair in plan.one_sided or any(name not in own for name in pair):
            continue
        [other] = [name for name in pair if name != mine]
        harder = rank_of(own[other]) > rank_of(own[mine])
        base = own[other] if harder else own[mine]
        drawn = "as drawn for " + plan.codes[other] if harder else "as drawn"
        first, second = _as_named(pair, own)
        told = [f"{drawn}, {plan.codes[first]} {AT[key]}"]
        told += [_sides(pair, plan, own)] if harder or _unlike(pair, own, base) else []
        told.append(otherwise_at(pair, plan, own, base))
        found.setdefault("; ".join(filter(None, told)), []).append(
            plan.codes[other] + _mirrored(first, second, plan)
        )
    return [
        *(
            f"Corner{'s' if codes[1:] else ''} with {' and '.join(codes)}: {words}"
            for words, codes in found.items()
        ),
    ]


def one_sided_corners(plan: SheetPlan, mine: str) -> dict[str, tuple[Drawing, list[str]]]:
    """By stem the drawings of an elevation's corners with a cavity on one side alone, and which wall stands where in each."""
    own = own_drawings(OUTSIDE, plan.drawings)
    found: dict[str, tuple[Drawing, list[str]]] = {}
    for pair, how in plan.one_sided.items():
        if mine in pair:
            [other] = set(pair) - {mine}
            drawing = drawn_one_sided(how, plan.one_sided_drawn)
            told = [stands(pair, how, plan.codes), otherwise_at(pair, plan, own, drawing)]
            found.setdefault(drawing.stem, (drawing, []))[1].append(
                f"Corner with {plan.codes[other]}: {'; '.join(filter(None, told))}"
            )
    return found


def told_by_one_sided(plan: SheetPlan, otherwise: Callable[[Drawing], str]) -> list[str]:
    """Which wall stands where at each corner with a cavity on one side, and what is built there ``otherwise`` than drawn."""
    own = own_drawings(OUTSIDE, plan.drawings)

    def words(pair: Pair, mine: Drawing) -> str:
        return "; ".join(filter(None, [otherwise(mine), otherwise_at(pair, plan, own, mine)]))

    return told_one_sided(plan.one_sided, plan.one_sided_drawn, plan.codes, words)


def asked_at_corners(plan: SheetPlan, mine: ElevationDetails) -> dict[str, str]:
    """By row of a corner: what the walls that meet an elevation ask more of it than its own order says."""
    own = {line.key: line for line in lines_of(mine)}
    found: dict[str, dict[str, list[str]]] = {}
    for one in plan.details.elevations:
        theirs = {line.key: line for line in lines_of(one)} if one.name != mine.name else {}
        for row in ladder_rows():
            if row.key not in AT_CORNERS or row.key not in own or row.key not in theirs:
                continue
            corners = plan.corners_at(AT_CORNERS[row.key])
            if plan.corners and not any({one.name, mine.name} == set(pair) for pair in corners):
                continue
            line = theirs[row.key]
            if rank(row, line.value) > rank(row, own[row.key].value):
                asked = amount(line.value, line.unit).partition(", ")[0]
                found.setdefault(row.key, {}).setdefault(asked, []).append(one.name)
    return {
        key: " ".join(f"At a corner with {any_of(plan, names)}: {asked}." for asked, names in more.items())
        for key, more in found.items()
    }


def any_of(plan: SheetPlan, names: Sequence[str]) -> str:
    """Codes of elevations, any one of them."""
    *first, last = [plan.codes[one] for one in names]
    return f"{', '.join(first)} or {last}" if first else last
