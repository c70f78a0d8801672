"""What is built at the corners of a house: each by the harder of its two walls, each wall with its own cavity."""

from collections.abc import Mapping, Sequence

from exposure.assess.details_parts import ElevationDetails
from exposure.detail import ScheduleLine
from exposure.detail.ladder import ladder_rows, rank
from exposure.draw.junction_canvas import numbered_parts
from exposure.figures import amount
from exposure.junction.catalogue import Drawing
from exposure.junction.size_names import size_name
from exposure.paper.sheet_plan import SheetPlan, lines_of, own_drawings

AT_CORNERS = {  # rows that the harder of two walls decides, and at which kind of corner
    "icorner": "corner-inside",
    "ocorner": "corner-outside",
    "cav_corner": "corner-outside",
}
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
    levels = {name: one.level for name, one in own.items()}
    found: dict[str, list[str]] = {}
    for pair in plan.corners_at(drawing.section.key):
        top = max(levels.get(name, 0) for name in pair)
        harder = [name for name in pair if levels.get(name, 0) == top]
        if any(name in drawing.elevations for name in harder):
            words = "as drawn"
        else:
            forms = {id(own.get(name, name)): name for name in reversed(harder)}  # one drawing is told once
            harder = [name for name in harder if name in forms.values()]
            built = [said[name] if name in said else _on_its_sheet(name, drawing, plan) for name in harder]
            words = ", or the harder of the two: ".join(dict.fromkeys(built))
        sides = _sides(pair, plan, own)
        if sides and (words != "as drawn" or _unlike(pair, own, drawing)):
            words = f"{words}; {sides}"
        base = drawing if words.startswith("as drawn;") or words == "as drawn" else own.get(harder[0])
        seen = own[harder[0]] if words.startswith("as drawn on sheet") else drawing
        if base and (unlike := _other_build(pair, plan, own, base, seen)):
            words = f"{words}; {unlike}"
        found.setdefault(words, []).append(" and ".join(plan.codes[name] for name in pair))
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
        f"Corner{'s' if pairs[1:] else ''} of {', of '.join(pairs)}: {words}"
        for words, pairs in found.items()
    ]


def _on_its_sheet(name: str, drawing: Drawing, plan: SheetPlan) -> str:
    cell = plan.cells[drawing.section.key].get(name)
    return f"as drawn on sheet {cell.sheet} for {plan.codes[name]}" if cell else "not drawn, by its orders"


def _unlike(pair: Sequence[str], own: Mapping[str, Drawing], drawing: Drawing) -> bool:
    return any(_cavity(own[name]) != _cavity(drawing) for name in pair if name in own)


def _other_build(
    pair: Sequence[str], plan: SheetPlan, own: Mapping[str, Drawing], base: Drawing, seen: Drawing
) -> str:
    """Boards and battens of a side that are not those by which its corner is built; ``seen`` is the drawing that shows it."""
    told = []
    boards, apart = _boarded(base), _battens(base)
    named = {layer.key for _, layer in numbered_parts(seen.section)}
    for name in pair:
        mine = own.get(name, base)
        differs = []
        if _boarded(mine) != boards:
            differs.append("no boards on the studs" if boards else "boards on the studs")
        if _battens(mine) and apart and _battens(mine) != apart:
            differs.append(f"battens {amount(_battens(mine), 'mm')}")
        deep = any(_cavity(own.get(other, base)) for other in pair)
        if "corner batten" in named and deep and not _cavity(mine):
            differs.append(
                "no batten, the ends of its cladding are fixed to the corner stud through the membrane"
            )
        if differs:
            told.append(f"on {plan.codes[name]}'s side {', '.join(differs)}")
    return "; ".join(told)


def _boarded(drawing: Drawing) -> bool:
    return any(layer.key == "core board" for layer in drawing.section.layers)


def _battens(drawing: Drawing) -> float:
    """How far apart the battens in a drawing stand, 0 where none does. [mm]"""
    return next((one.value for one in drawing.section.dimensions if one.key == "batten_sp"), 0.0)


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


def cavities_at_corners(drawing: Drawing, plan: SheetPlan, mine: Sequence[str]) -> list[str]:
    """The cavity on either side of the corners of some elevations where the two are not those of their drawing."""
    own = own_drawings(drawing.section.key, plan.drawings)
    return [
        f"Corner of {' and '.join(plan.codes[name] for name in pair)}: {sides}"
        for pair in plan.corners_at(drawing.section.key)
        if set(pair) & set(mine) and _unlike(pair, own, drawing) and (sides := _sides(pair, plan, own))
    ]


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
        if mine not in pair or any(name not in own for name in pair):
            continue
        [other] = [name for name in pair if name != mine]
        harder = own[other].level > own[mine].level and own[other] != own[mine]
        base = own[other] if harder else own[mine]
        told = [f"as drawn for {plan.codes[other]}" if harder else "as drawn"]
        told += [_sides(pair, plan, own)] if harder or _unlike(pair, own, base) else []
        told.append(_other_build(pair, plan, own, base, base))
        found.setdefault("; ".join(filter(None, told)), []).append(plan.codes[other])
    return [
        f"Corner{'s' if codes[1:] else ''} with {' and '.join(codes)}: {words}"
        for words, codes in found.items()
    ]


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
