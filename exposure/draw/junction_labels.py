"""Where the rings of a drawn junction stand: at the far left and right, beyond the sizes.

Nothing here may cover another label, and no leader crosses another; a leader may cross a line of the drawing, never a number.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from math import hypot
from typing import NamedTuple

from exposure.draw.drawing import Box, Point, is_free
from exposure.draw.junction_lanes import SIZE, Ruled, crosses, grown, meet, strokes_of
from exposure.draw.lettering import text_width

RING = 10.0  # radius
SPREAD = 7.0  # steps in which a ring moves up or down
EACH = 2 * RING + 3.2  # from ring to ring where they stand in a row
STARTS = (0.0, 6.0, 12.0, 18.0)  # of such a row, under the top
LEAN, LEVEL = 0.1, 120.0  # a leader less steep looks like a sheet or a ledge: as if it were so much longer
ALONG, ASIDE = 14.0, 4.0  # a leader beside a line of a size for so long, and no farther off, is taken for it
FORBIDDEN = 1e6
TRIES, PASSES = 3, 8
NEAR = 60.0  # how far from the level of its part it is tried first


@dataclass(frozen=True)
class Tag:
    """A ring with a number, or words with a leader."""

    words: str
    box: Box
    leader: tuple[Point, Point]
    ring: bool


class Asked(NamedTuple):
    """What a leader runs to: its words, whether they stand in a ring, where the leader may end, best first."""

    words: str
    ring: bool
    spots: Sequence[Point]
    side: int = 0  # -1 for the left, 1 for the right, 0 for the nearer


def place_tags(
    asked: Sequence[Asked],
    ruled: Sequence[Ruled],
    *,
    left: float,
    right: float,
    top: float,
    bottom: float,
) -> list[Tag]:
    """Rings and words at the far left and right, each with a leader that crosses no number and no other leader.

    Parameters
    ----------
    asked
        Those with a ring of their own, falls and lengths laid flat.
    """
    field = (left, top, right, bottom)
    numbers, lines = [one.label for one in ruled], [line for one in ruled for line in strokes_of(one)]
    waiting = list(asked)
    best: list[Tag] = []

    def is_better(found: list[Tag]) -> bool:
        return (len(found), -len(crossings(found))) > (len(best), -len(crossings(best)))

    for turn in range(TRIES):
        done, failed = _in_turn(waiting, ruled, field)
        if failed is None:
            done = untangled(done, waiting, ruled, field)
        if is_better(done):
            best = done
        if len(best) == len(asked) and not crossings(best):
            return best
        if turn == 0:
            for plain, start in product((False, True), STARTS):
                found = _matched(asked, numbers, lines, field, start, plain=plain)
                if found and crossings(found):
                    found = untangled(found, asked, ruled, field)
                if found and is_better(found):
                    best = found
                if len(best) == len(asked) and not crossings(best):
                    return best
        in_the_way = crossings(done)[0][0] if failed is None else failed
        waiting.insert(0, waiting.pop(in_the_way))  # what found no room, or is in the way, chooses first
    return best


def _matched(
    asked: Sequence[Asked],
    numbers: Sequence[Box],
    lines: Sequence[tuple[Point, Point]],
    field: Box,
    start: float,
    *,
    plain: bool,
) -> list[Tag]:
    """Tags at even heights from ``start`` on, all leaders together as short as can be: shortest leaders seldom cross.

    Empty where one finds no place. ``plain`` for the length alone, whatever side and slope.
    """
    left, top, right, bottom = field
    number = int((bottom - top - start - 2 * RING) // EACH) + 1
    places = [(away, top + start + RING + EACH * step) for away in (-1, 1) for step in range(max(number, 0))]
    if len(places) < len(asked):
        return []
    tags: dict[tuple[int, int], Tag] = {}
    costs = [[FORBIDDEN] * len(places) for _ in asked]
    free: dict[
        tuple[int, bool], bool
    ] = {}  # whether a ring has room at a place; words are looked at one by one
    for row, one in enumerate(asked):
        for column, (away, y) in enumerate(places):
            for rank, spot in enumerate(one.spots):
                tag = _tag(one, away, y, spot, field)
                if rank == 0:
                    key = (column if one.ring else -1 - row * len(places) - column, one.ring)
                    if key not in free:
                        free[key] = _has_room(tag, (), numbers, lines)
                    if not free[key]:
                        break
                wanted = one.side or (-1 if spot[0] < (left + right) / 2 else 1)
                far = 0 if away == wanted else 300 if one.side else 60
                cost = _reach(tag) if plain else _reach(tag) + _level(tag) + far + 12 * rank
                if (
                    cost < costs[row][column]
                    and not any(crosses(*tag.leader, box) for box in numbers)
                    and not any(runs_along(tag.leader, line) for line in lines)
                ):
                    costs[row][column], tags[row, column] = cost, tag
    from scipy.optimize import linear_sum_assignment  # only for crowded drawings

    chosen = linear_sum_assignment(costs)[1].tolist()
    if any(costs[row][column] >= FORBIDDEN for row, column in enumerate(chosen)):
        return []
    found = [tags[row, column] for row, column in enumerate(chosen)]
    clear = all(
        _is_clear(tag, [*found[:place], *found[place + 1 :]], numbers, lines)
        for place, tag in enumerate(found)
    )
    return found if clear else []


def _in_turn(asked: Sequence[Asked], ruled: Sequence[Ruled], field: Box) -> tuple[list[Tag], int | None]:
    """Tags in the order asked, and the place of the first that found no room."""
    _, top, _, bottom = field
    done: list[Tag] = []
    numbers = [one.label for one in ruled]
    lines = [line for one in ruled for line in strokes_of(one)]
    for place, one in enumerate(asked):
        tag = None
        for reach in (NEAR, bottom - top):  # the first place is seldom far
            tag = _first_free(_options(one, field, reach), one, field, numbers, done, lines)
            if tag is not None:
                break
        if tag is None:
            return done, place
        done.append(tag)
    return done, None


def _heights(field: Box) -> list[float]:
    """Where a ring may stand."""
    steps = max(int((field[3] - field[1] - 2 * RING) / SPREAD), 0)
    return [field[1] + RING + step * SPREAD for step in range(steps + 1)]


def _options(asked: Asked, field: Box, reach: float) -> list[tuple[float, int, float, Point]]:
    """Cost, side, height and end of the leader of every place not farther than ``reach`` from a part's level, cheapest first."""
    left, top, right, bottom = field
    middle, heights = (left + right) / 2, _heights(field)
    options = []
    for rank, point in enumerate(asked.spots):
        level = min(max(point[1], top + RING), bottom - RING)
        places = [level, *(y for y in heights if level - reach <= y <= level + reach)]
        for away, x in ((-1, left), (1, right)):
            wanted = asked.side or (-1 if point[0] < middle else 1)
            far = (0 if away == wanted else 300 if asked.side else 90) + 25 * rank
            options += [
                (
                    hypot(point[0] - x, 2 * (point[1] - y))
                    + far
                    + (LEVEL if abs(point[1] - y) < LEAN * abs(point[0] - x) else 0),
                    away,
                    y,
                    point,
                )
                for y in places
            ]
    return sorted(options)


def _first_free(
    options: Sequence[tuple[float, int, float, Point]],
    asked: Asked,
    field: Box,
    numbers: Sequence[Box],
    done: Sequence[Tag],
    lines: Sequence[tuple[Point, Point]],
) -> Tag | None:
    """The nearest place whose leader meets nothing; failing that one whose leader crosses another leader."""
    second = None
    for _cost, away, y, point in options:
        tag = _tag(asked, away, y, point, field)
        if not _is_clear(tag, done, numbers, lines):
            continue
        if not any(meet(*tag.leader, *other.leader) for other in done):
            return tag
        second = second or tag
    return second


def crossings(tags: Sequence[Tag]) -> list[tuple[int, int]]:
    """Places of the tags whose leaders cross, in pairs."""
    return [
        (place, other)
        for place, one in enumerate(tags)
        for other in range(place)
        if meet(*one.leader, *tags[other].leader)
    ]


def untangled(tags: list[Tag], asked: Sequence[Asked], ruled: Sequence[Ruled], field: Box) -> list[Tag]:
    """The same tags, two whose leaders cross changing places: each change makes the leaders shorter, so it comes to an end."""
    lines = [line for one in ruled for line in strokes_of(one)]
    numbers = [one.label for one in ruled]
    for _ in range(PASSES):
        tangled = crossings(tags)
        if not tangled:
            break
        for one, other in tangled:
            changed = (
                _exchanged(tags, asked, (one, other), numbers, lines, field)
                or _elsewhere(tags, asked, one, numbers, lines, field)
                or _elsewhere(tags, asked, other, numbers, lines, field)
            )
            if changed:
                tags = changed
                break
        else:
            break
    return tags


def _exchanged(
    tags: list[Tag],
    asked: Sequence[Asked],
    pair: tuple[int, int],
    numbers: Sequence[Box],
    lines: Sequence[tuple[Point, Point]],
    field: Box,
) -> list[Tag] | None:
    """The tags with two that have changed places, where that is free and the leaders become shorter."""
    first, second = pair
    rest = [tag for place, tag in enumerate(tags) if place not in pair]

    def cost_of(one: Tag, other: Tag) -> tuple[int, float]:
        crossed = sum(meet(*tag.leader, *by.leader) for tag in (one, other) for by in rest)
        return crossed + meet(*one.leader, *other.leader), _reach(one) + _reach(other)

    best, fewest = None, cost_of(tags[first], tags[second])
    for here in asked[first].spots:
        for there in asked[second].spots:
            new = [
                _tag(asked[place], *_place_of(tags[others], field), spot, field)
                for place, others, spot in ((first, second, here), (second, first, there))
            ]
            cost = cost_of(*new)
            if cost < fewest and all(
                _is_clear(tag, [*rest, new[1 - place]], numbers, lines) for place, tag in enumerate(new)
            ):
                best, fewest = new, cost
    if best is None:
        return None
    changed = list(tags)
    changed[first], changed[second] = best
    return changed


def _elsewhere(
    tags: list[Tag],
    asked: Sequence[Asked],
    moved: int,
    numbers: Sequence[Box],
    lines: Sequence[tuple[Point, Point]],
    field: Box,
) -> list[Tag] | None:
    """The tags with one at another free place, where fewer leaders then cross."""
    rest = [tag for place, tag in enumerate(tags) if place != moved]
    mine = sum(moved in pair for pair in crossings(tags))
    best, fewest = None, (mine, 0.0)
    beside = [_place_of(other, field)[1] + way * (2 * RING + 2) for other in rest for way in (-1, 1)]
    heights = [*_heights(field), *(y for y in beside if field[1] + RING <= y <= field[3] - RING)]
    for y in heights:
        for away in (-1, 1):
            for spot in asked[moved].spots:
                tag = _tag(asked[moved], away, y, spot, field)
                crossed = _crossed(tag, rest, fewest[0])
                if (crossed, _reach(tag)) < fewest and _is_clear(tag, rest, numbers, lines):
                    best, fewest = tag, (crossed, _reach(tag))
    return [best if place == moved else tag for place, tag in enumerate(tags)] if best else None


def _crossed(tag: Tag, rest: Sequence[Tag], most: int) -> int:
    """How many leaders that of ``tag`` crosses; beyond ``most`` nobody counts on."""
    found = 0
    for other in rest:
        found += meet(*tag.leader, *other.leader)
        if found > most:
            break
    return found


def _level(tag: Tag) -> float:
    """What a leader costs that lies nearly level."""
    (ax, ay), (bx, by) = tag.leader
    return LEVEL if abs(by - ay) < LEAN * abs(bx - ax) else 0.0


def _reach(tag: Tag) -> float:
    (ax, ay), (bx, by) = tag.leader
    return hypot(bx - ax, by - ay)


def _place_of(tag: Tag, field: Box) -> tuple[int, float]:
    """Side and height of a tag."""
    return -1 if tag.box[0] <= field[0] else 1, (tag.box[1] + tag.box[3]) / 2


def _tag(asked: Asked, away: int, y: float, spot: Point, field: Box) -> Tag:
    words, ring = asked.words, asked.ring
    wide = 2 * RING if ring else text_width(words, size=SIZE, bold=True) + 6
    left, _, right, _ = field
    box = (left, y - RING, left + wide, y + RING) if away < 0 else (right - wide, y - RING, right, y + RING)
    return Tag(words, box, ((box[2], y) if away < 0 else (box[0], y), spot), ring)


def _is_clear(
    tag: Tag, rest: Sequence[Tag], numbers: Sequence[Box], lines: Sequence[tuple[Point, Point]]
) -> bool:
    """Whether a tag covers nothing and its leader passes no number, no other tag; other leaders may cross it."""
    return (
        _has_room(tag, rest, numbers, lines)
        and not any(crosses(*tag.leader, box) for box in numbers)
        and not any(crosses(*tag.leader, other.box) or crosses(*other.leader, tag.box) for other in rest)
        and not any(runs_along(tag.leader, line) for line in lines)
    )


def runs_along(leader: tuple[Point, Point], line: tuple[Point, Point]) -> bool:
    """Whether a leader lies so near along a line of a size that both look like one: as a plate or a ledge.

    Examples
    --------
    >>> [runs_along(((0, y), (50, 20)), ((10, 20), (60, 20))) for y in (21, 40)]
    [True, False]
    """
    (ax, ay), (bx, by) = line
    (cx, cy), (dx, dy) = leader
    ux, uy, vx, vy = bx - ax, by - ay, dx - cx, dy - cy
    if abs(ux * vy - uy * vx) >= LEAN * abs(ux * vx + uy * vy):  # most are not even near its way
        return False
    long = hypot(ux, uy)
    if long < ALONG:
        return False
    ux, uy = ux / long, uy / long
    (s0, d0), (s1, d1) = sorted(
        ((x - ax) * ux + (y - ay) * uy, (y - ay) * ux - (x - ax) * uy) for x, y in leader
    )
    low, high = max(s0, 0.0), min(s1, long)
    if high - low < ALONG:
        return False
    near, far = (d0 + (d1 - d0) * (s - s0) / (s1 - s0) for s in (low, high))
    return near * far <= 0 or min(abs(near), abs(far)) < ASIDE


def _has_room(
    tag: Tag, rest: Sequence[Tag], numbers: Sequence[Box], lines: Sequence[tuple[Point, Point]]
) -> bool:
    """Whether a tag covers no other tag, no number and no line of a size, whatever its leader."""
    near = grown(tag.box, 1.5)
    return (
        all(is_free(near, [other.box]) for other in rest)
        and is_free(near, numbers)
        and not any(crosses(a, b, tag.box) for a, b in lines)
    )
