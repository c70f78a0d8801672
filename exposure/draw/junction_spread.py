"""Room for what is thin: films and sheets along an axis are drawn thicker than they are, so that their order can be seen."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from exposure.draw.junction_materials import LINES
from exposure.junction.scene import FILM, Layer, Point

SEEN = 2.7  # picture units, thickness of a film as it is seen
THIN = 3.2  # mm; what is thinner is drawn thicker
LONG = 12.0  # mm of a straight side from which on it counts


@dataclass(frozen=True)
class Spread:
    """Strips along one axis that are drawn wider by a factor. [mm]"""

    strips: tuple[tuple[float, float], ...] = ()  # ascending, apart
    factor: float = 1.0

    def at(self, value: float) -> float:
        """Where ``value`` is shown.

        Examples
        --------
        >>> [Spread(((0, 2),), 3).at(value) for value in (-1, 1, 5)]
        [-1.0, 3.0, 9.0]
        """
        inside = 0.0
        for low, high in self.strips:  # ascending
            if value <= low:
                break
            inside += min(value, high) - low
        return float(value + (self.factor - 1) * inside)

    @property
    def total(self) -> float:
        """Width of all strips together."""
        return sum(high - low for low, high in self.strips)

    def edges(self) -> list[float]:
        """Where the strips begin and end."""
        return [edge for strip in self.strips for edge in strip] if self.factor > 1 else []


def strips_of(layers: Iterable[Layer], axis: int, low: float, high: float) -> tuple[tuple[float, float], ...]:
    """Strips from ``low`` to ``high`` in which films and sheets lie across ``axis`` (0 for x)."""
    found = []
    for layer in layers:
        if layer.material not in (*LINES, "thin packer"):
            continue
        ring = [*layer.outline, layer.outline[0]]
        sides = sorted(
            {
                round(a[axis], 4)
                for a, b in pairwise(ring)
                if abs(a[axis] - b[axis]) < 1e-6 and abs(a[1 - axis] - b[1 - axis]) >= LONG
            }
        )
        found += [(a, b) for a, b in pairwise(sides) if b - a <= THIN and a >= low and b <= high]
    return _joined(found)


def on_both_arms(
    across: Sequence[tuple[float, float]], up: Sequence[tuple[float, float]], turn: int
) -> tuple[tuple[tuple[float, float], ...], tuple[tuple[float, float], ...]]:
    """Strips round a corner: each arm has those of the other besides, so that what both are built of looks equally thick.

    Parameters
    ----------
    turn
        As of a section.

    Examples
    --------
    >>> on_both_arms([(-3, 0)], [(0, 1)], -1)
    (((-3, 0),), ((0, 3),))
    """
    turned_up, turned_across = (
        [(min(turn * a, turn * b), max(turn * a, turn * b)) for a, b in strips] for strips in (across, up)
    )
    return _joined([*across, *turned_across]), _joined([*up, *turned_up])


def _joined(strips: Iterable[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    joined: list[list[float]] = []
    for a, b in sorted(strips):
        if joined and a <= joined[-1][1] + 1e-3:
            joined[-1][1] = max(joined[-1][1], b)
        else:
            joined.append([a, b])
    return tuple((a, b) for a, b in joined)


def scale_for(room: float, long: float, strips: Spread) -> float:
    """Units a millimetre at which ``long`` mm fit into ``room`` when their ``strips`` are drawn wider."""
    plain = room / long
    if plain * FILM >= SEEN or not strips.strips:
        return plain
    return (room - strips.total * SEEN / FILM) / (long - strips.total)


def with_corners(points: Sequence[Point], across: Sequence[float], up: Sequence[float]) -> list[Point]:
    """An outline with corners where its slanting sides meet the edges of strips."""
    if not (across or up):
        return list(points)
    whole: list[Point] = []
    for a, b in zip(points, [*points[1:], points[0]], strict=True):
        whole.append(a)
        dx, dy = b[0] - a[0], b[1] - a[1]
        if abs(dx) < 1e-6 or abs(dy) < 1e-6:
            continue
        shares = [(x - a[0]) / dx for x in across] + [(y - a[1]) / dy for y in up]
        whole += [
            (a[0] + share * dx, a[1] + share * dy) for share in sorted(shares) if 1e-6 < share < 1 - 1e-6
        ]
    return whole
