"""Outside corners of a wall with a cavity and one without: drawn in a form of their own, told from the wall with the cavity."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

from exposure.junction.build_up import wall_of
from exposure.junction.catalogue import Drawing
from exposure.junction.corners import outside_corner

ONE_SIDED = "corner-one-side"
Pair = tuple[str, str]


def one_sided_pairs(drawings: Sequence[Drawing], corners: Iterable[Pair]) -> dict[Pair, str]:
    """Of elevations that meet at outside corners those where light cladding has a cavity on one side alone, and that side."""
    walls_of = {
        name: wall_of(one.numbers)
        for one in drawings
        if one.section.key == "corner-outside" and one.numbers
        for name in one.elevations
    }
    found = {}
    for pair in corners:
        walls = {name: walls_of[name] for name in pair if name in walls_of}
        deep = [name for name, wall in walls.items() if wall.cavity]
        if len(walls) == 2 and len(deep) == 1 and not any(wall.masonry for wall in walls.values()):
            found[pair] = deep[0]
    return found


def one_sided_drawings(drawings: Sequence[Drawing], pairs: dict[Pair, str]) -> tuple[Drawing, ...]:
    """The corner with a cavity on one side as each wall that has it there builds it, the hardest first."""
    deep = set(pairs.values())
    found = [
        replace(
            one,
            section=outside_corner(one.numbers, bare=True),
            elevations=tuple(name for name in one.elevations if name in deep),
            stem=one.stem.replace("corner-outside", ONE_SIDED),
        )
        for one in drawings
        if one.section.key == "corner-outside" and one.numbers and deep & set(one.elevations)
    ]
    return tuple(sorted(found, key=lambda one: -one.level))


def told_one_sided(
    pairs: Mapping[Pair, str],
    drawn: Sequence[Drawing],
    codes: Mapping[str, str],
    otherwise: Callable[[Drawing], str],
) -> list[str]:
    """Which wall stands where in the drawing of such a corner, and what the one with the cavity builds otherwise than drawn."""
    own = {name: one for one in drawn for name in one.elevations}
    found: dict[str, list[str]] = {}
    for pair, deep in pairs.items():
        [bare] = [name for name in pair if name != deep]
        found.setdefault(otherwise(own[deep]), []).append(
            f"{codes[deep]} on the left, {codes[bare]} across the top"
        )
    return [f"{'; '.join(where)}: {words}" for words, where in found.items()]


def beside_the_other(
    common: Sequence[Drawing], more: Sequence[Drawing], *, alone: bool
) -> tuple[Drawing, ...]:
    """Shared drawings with the corner of a wall without a cavity after the other outside corner, in its place where it is ``alone``."""
    other = next((one for one in common if one.section.key == "corner-outside"), None)
    place = common.index(other) + 1 if other else len(common)
    return (*common[: place - bool(other and alone)], *more, *common[place:])
