"""What geometry must prove of a section: true dimensions, nothing through another, nothing afloat, water led out."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely import Point as Spot
from shapely import STRtree, area, buffer, dwithin, intersection, is_valid, unary_union
from shapely.geometry.base import BaseGeometry

from exposure.junction.drop import follow, runs_freely, starts
from exposure.junction.measured import CLOSED, TRUE, Proven
from exposure.junction.scene import SHEDDING, Section

MOST_OVERLAP = 1.0  # mm2
SLOT = 3.0  # mm, the narrowest slot of a base closer: its row asks 3 to 5
AFLOAT = 4.6  # mm; films over one another hold cladding fixed direct this far off


@dataclass(frozen=True)
class Failure:
    """One thing a section does not stand up to."""

    proof: str
    words: str


def failures(section: Section) -> tuple[Failure, ...]:
    """Every proof the section fails; empty for a sound one.

    A face view has no depth, so it is held to its dimensions alone; a plan has no up and down, so no drop falls in it.
    """
    found = [*untrue_dimensions(section)]
    if section.view == "face":
        return tuple(found)
    proven = Proven(section)
    found += [*overlaps(proven), *afloat(proven), *broken_lines(proven), *open_to_indoors(proven)]
    if section.view == "upright":
        found += [*pinched(proven), *wrong_ways(proven), *topped(proven)]
    return tuple(found)


def untrue_dimensions(section: Section) -> list[Failure]:
    """Dimensions whose points are not as far apart as their number."""
    return [
        Failure("dimension", f"{one.key} says {one.value:g}, its points measure {one.drawn:.6f}")
        for one in section.dimensions
        if not abs(one.drawn - one.value) <= TRUE
    ]


def overlaps(proven: Proven) -> list[Failure]:
    """Parts that lie through one another."""
    shapes = np.array([proven.shapes[layer.key] for layer in proven.cut], dtype=object)
    sound = is_valid(shapes)
    found = [
        Failure("overlap", f"{proven.cut[place].key} crosses itself") for place in np.flatnonzero(~sound)
    ]
    beyond = [layer.key for layer in proven.section.layers if not layer.cut]
    found += [
        Failure("overlap", f"{key} crosses itself") for key in beyond if not is_valid(proven.shapes[key])
    ]
    places, shapes = np.flatnonzero(sound), shapes[sound]
    pairs = STRtree(shapes).query(shapes, predicate="intersects")
    one, other = pairs[:, pairs[0] < pairs[1]]
    areas = area(intersection(shapes[one], shapes[other]))
    for pair in np.flatnonzero(areas > MOST_OVERLAP):
        names = (proven.cut[places[side[pair]]].key for side in (one, other))
        found.append(Failure("overlap", f"{' and '.join(names)} share {areas[pair]:.1f} mm2"))
    return found


def afloat(proven: Proven) -> list[Failure]:
    """Parts that touch nothing that carries them."""
    found = []
    layers = {layer.key: layer for layer in proven.section.layers}
    carried = [layer for layer in layers.values() if layer.carrier in layers]
    parts, carriers = (
        np.array([proven.shapes[key] for key in keys], dtype=object)
        for keys in ([one.key for one in carried], [one.carrier for one in carried])
    )
    held = {one.key for one, near in zip(carried, dwithin(parts, carriers, AFLOAT), strict=True) if near}
    for layer in proven.section.layers:
        seen, one = {layer.key}, layer
        while one.carrier:
            if one.key not in held:
                found.append(Failure("afloat", f"{one.key} is not held by {one.carrier}"))
                break
            one = layers[one.carrier]
            if one.key in seen:
                found.append(Failure("afloat", f"{layer.key} is carried by itself"))
                break
            seen.add(one.key)
    return found


def broken_lines(proven: Proven) -> list[Failure]:
    """Gaps in the line that keeps water out, and in the one that keeps air in."""
    found = []
    for name, ends, parts in (
        ("membrane line", proven.section.water_ends, [layer for layer in proven.cut if layer.water]),
        ("air seal", proven.section.air_ends, [layer for layer in proven.cut if layer.air]),
    ):
        if not ends:
            continue
        whole = unary_union(buffer([proven.shapes[layer.key] for layer in parts], CLOSED, quad_segs=16))
        pieces = list(getattr(whole, "geoms", [whole]))
        if not any(all(piece.intersects(proven.shapes[end]) for end in ends) for piece in pieces):
            found.append(Failure(name, f"there is a gap between {' and '.join(ends)}"))
    return found


def open_to_indoors(proven: Proven) -> list[Failure]:
    """Ways for air from the open to a place that must stay dry."""
    return [
        Failure("way in", f"the open air reaches {point[0]:.0f}, {point[1]:.0f}")
        for point in proven.section.indoors
        if proven.wet.distance(Spot(point)) < TRUE
    ]


def pinched(proven: Proven) -> list[Failure]:
    """Cavities whose way out to the open air is narrower than the narrowest slot of a closer; not one that runs on down past the view."""
    open_air, *cavities = (Spot(one) for one in proven.section.outdoors)
    if not cavities:
        return []
    wide, low = proven.air_over(SLOT), proven.section.box[1]
    found = []
    for cavity in cavities:
        if not _joined(proven.air, open_air, cavity) or _joined(wide, open_air, cavity):
            continue
        if all(space.bounds[1] > low + TRUE for space in wide if space.distance(cavity) < SLOT):
            words = f"from {cavity.x:.0f}, {cavity.y:.0f} less than {SLOT:g} mm lead to the open air"
            found.append(Failure("pinched", words))
    return found


def _joined(spaces: Sequence[BaseGeometry], one: Spot, other: Spot) -> bool:
    """Whether two spots lie in one air space, or at its edge."""
    return any(max(space.distance(one), space.distance(other)) < SLOT for space in spaces)


def topped(proven: Proven) -> list[Failure]:
    """Turned-up backs that the pushed water tops."""
    found = []
    for one in proven.section.held:
        shape = proven.shapes[one.layer]
        if max(shape.distance(Spot(one.low)), shape.distance(Spot(one.top))) > TRUE + 2 * CLOSED:
            found.append(Failure("head of water", f"{one.row} is not measured on {one.layer}"))
        if one.top[1] - one.low[1] < one.head - TRUE:
            found.append(
                Failure(
                    "head of water",
                    f"{one.row} stands {one.top[1] - one.low[1]:.0f} mm, water is pushed {one.head:.0f} mm high",
                )
            )
    return found


def wrong_ways(proven: Proven) -> list[Failure]:
    """Drops that fall on what sheds water and end where none may."""
    found: dict[str, Failure] = {}
    for layer in proven.cut:
        if layer.material not in SHEDDING or layer.key not in proven.shrunk:
            continue
        passed: set[int] = set()  # sides down which a drop ran: one that starts below it goes the same way
        for start, side in sorted(starts(proven, layer), key=lambda one: -one[0][1]):
            if side in passed:
                continue
            ends = follow(proven, layer.key, start)
            if runs_freely(proven, layer.key, side, start):
                passed.add(side)
            for path, why in ends:
                if why and why not in found:
                    found[why] = Failure(
                        "drainage", f"a drop on {layer.key} at {start[0]:.0f}, {start[1]:.0f} {why} at "
                        f"{path[-1][0]:.0f}, {path[-1][1]:.0f}",
                    )  # fmt: skip
    return list(found.values())
