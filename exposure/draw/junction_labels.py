"""Where the rings of a drawn junction stand: at the far left and right, beyond the sizes.

Nothing here may cover another label, and no leader crosses another; a leader may cross a line of the drawing, never a number.
"""

from collections.abc import Sequence
from itertools import product
from math import dist, hypot, inf
from typing import NamedTuple

import numpy as np

from exposure.draw.drawing import Box, Point, is_free
from exposure.draw.junction_lanes import SIZE, Ruled, crosses, grown, meet, strokes_of
from exposure.draw.lettering import text_width

RING = 10.0  # radius
SPREAD = 7.0  # steps in which a ring moves up or down
APART = 1.5  # from a ring to what else stands there
EACH = 2 * RING + 3.2  # from ring to ring where they stand in a row
STARTS = (0.0, 6.0, 12.0, 18.0)  # of such a row, under the top
LEAN, LEVEL = 0.1, 120.0  # a leader less steep looks like a sheet or a ledge: as if it were so much longer
ALONG, ASIDE = 14.0, 4.0  # a leader beside a line of a size for so long, and no farther off, is taken for it
FORBIDDEN = 1e6
TRIES, PASSES = 3, 8
LONG = 0.45  # of the width, length of a leader from which on a nearer place is looked for
DOTS = 6.0  # from the end of a leader to another, to be told from it
FAR = 0.5  # of the width, length of the longest leader from which on a plainer choice of sides is tried
NEAR = 60.0  # how far from the level of its part it is tried first


class Tag(NamedTuple):
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


class Field:
    """Where tags may stand: its edges, and the numbers and lines of sizes already there, looked at once for each tag and leader."""

    def __init__(self, ruled: Sequence[Ruled], edges: Box, parts: Sequence[Box] = ()) -> None:
        self.left, self.top, self.right, self.bottom = edges
        self.parts = parts
        self.numbers = [one.label for one in ruled]
        self.lines = [line for one in ruled for line in strokes_of(one)]
        self._rooms: dict[Box, bool] = {}
        self._ways: dict[tuple[Point, Point], bool] = {}

    def has_room(self, box: Box) -> bool:
        """Whether a tag covers no number and no line of a size, whatever its leader."""
        found = self._rooms.get(box)
        if found is None:
            found = is_free(grown(box, APART), self.numbers) and not any(
                crosses(a, b, box) for a, b in self.lines
            )
            self._rooms[box] = found
        return found

    def lets_pass(self, leader: tuple[Point, Point]) -> bool:
        """Whether a leader passes no number and runs along no line."""
        found = self._ways.get(leader)
        if found is None:
            a, b = leader
            found = not any(crosses(a, b, box) for box in self.numbers) and not any(
                runs_along(leader, line) for line in self.lines
            )
            self._ways[leader] = found
        return found

    def nearer_side(self, asked: "Asked", spot: Point) -> int:
        """The side asked for, or the one to which ``spot`` is nearer to the end of what is drawn at its height; -1 for the left."""
        if asked.side:
            return asked.side
        x, y = spot
        beside = [(left, right) for left, top, right, bottom in self.parts if top <= y <= bottom]
        first = min((left for left, _ in beside), default=self.left)
        last = max((right for _, right in beside), default=self.right)
        return -1 if x - first < last - x else 1

    def heights(self) -> list[float]:
        """Where a ring may stand."""
        steps = max(int((self.bottom - self.top - 2 * RING) / SPREAD), 0)
        return [self.top + RING + step * SPREAD for step in range(steps + 1)]


def place_tags(
    asked: Sequence[Asked],
    ruled: Sequence[Ruled],
    *,
    left: float,
    right: float,
    top: float,
    bottom: float,
    parts: Sequence[Box] = (),
) -> list[Tag]:
    """Rings and words at the far left and right, each with a leader that crosses no number and no other leader.

    Parameters
    ----------
    asked
        Those with a ring of their own, falls and lengths laid flat.
    parts
        What is drawn: a leader takes the side on which it is sooner past them.
    """
    edges = (left, top, right, bottom)
    found = _placed(asked, Field(ruled, edges, parts))
    if parts and (len(found) < len(asked) or crossings(found) or _longest(found) > FAR * (right - left)):
        plain = _placed(asked, Field(ruled, edges))  # too crowded for each to take its side
        found = max(found, plain, key=lambda tags: (*_rank(tags), -_longest(tags)))
    return found


def _longest(tags: Sequence[Tag]) -> float:
    """Length of the longest leader."""
    return max((_reach(tag) for tag in tags), default=0.0)


def _rank(tags: Sequence[Tag]) -> tuple[int, int]:
    """How well they are placed: all of them, then few that cross."""
    return len(tags), -len(crossings(tags))


def _placed(asked: Sequence[Asked], field: Field) -> list[Tag]:
    """Rings and words on a field."""
    waiting = list(asked)
    best: list[Tag] = []

    for turn in range(TRIES):
        done, failed = _in_turn(waiting, field)
        if failed is None:
            done = untangled(done, waiting, field)
        best = max(best, done, key=_rank)
        if len(best) == len(asked) and not crossings(best):
            return _parted(_shortened(best, waiting, field), waiting, field)
        if turn == 0:
            for plain, start in product((False, True), STARTS):
                found = _matched(asked, field, start, plain=plain)
                if found and crossings(found):
                    found = untangled(found, asked, field)
                best = max(best, found, key=_rank)
                if len(best) == len(asked) and not crossings(best):
                    return _parted(_shortened(best, asked, field), asked, field)
        in_the_way = crossings(done)[0][0] if failed is None else failed
        waiting.insert(0, waiting.pop(in_the_way))  # what found no room, or is in the way, chooses first
    return best


def _matched(asked: Sequence[Asked], field: Field, start: float, *, plain: bool) -> list[Tag]:
    """Tags at even heights from ``start`` on, all leaders together as short as can be: shortest leaders seldom cross.

    Empty where one finds no place. ``plain`` for the length alone, whatever side and slope.
    """
    number = int((field.bottom - field.top - start - 2 * RING) // EACH) + 1
    places = [
        (away, field.top + start + RING + EACH * step) for away in (-1, 1) for step in range(max(number, 0))
    ]
    if len(places) < len(asked):
        return []
    tags: dict[tuple[int, int], Tag] = {}
    costs = [[FORBIDDEN] * len(places) for _ in asked]
    for row, one in enumerate(asked):
        for column, (away, y) in enumerate(places):
            for rank, spot in enumerate(one.spots):
                tag = _tag(one, away, y, spot, field)
                if rank == 0 and not field.has_room(tag.box):
                    break
                wanted = field.nearer_side(one, spot)
                far = 0 if away == wanted else 300 if one.side else 60
                cost = _reach(tag) if plain else _reach(tag) + _level(tag) + far + 12 * rank
                if cost < costs[row][column] and field.lets_pass(tag.leader):
                    costs[row][column], tags[row, column] = cost, tag
    from scipy.optimize import linear_sum_assignment  # only for crowded drawings

    chosen = linear_sum_assignment(costs)[1].tolist()
    if any(costs[row][column] >= FORBIDDEN for row, column in enumerate(chosen)):
        return []
    found = [tags[row, column] for row, column in enumerate(chosen)]
    clear = all(
        _is_clear(tag, [*found[:place], *found[place + 1 :]], field) for place, tag in enumerate(found)
    )
    return found if clear else []


def _in_turn(asked: Sequence[Asked], field: Field) -> tuple[list[Tag], int | None]:
    """Tags in the order asked, and the place of the first that found no room."""
    done: list[Tag] = []
    for place, one in enumerate(asked):
        tag = None
        for reach in (NEAR, field.bottom - field.top):  # the first place is seldom far
            tag = _first_free(_options(one, field, reach), one, field, done)
            if tag is not None:
                break
        if tag is None:
            return done, place
        done.append(tag)
    return done, None


def _options(asked: Asked, field: Field, reach: float) -> list[tuple[float, int, float, Point]]:
    """Cost, side, height and end of the leader of every place not farther than ``reach`` from a part's level, cheapest first."""
    heights = field.heights()
    options = []
    for rank, point in enumerate(asked.spots):
        level = min(max(point[1], field.top + RING), field.bottom - RING)
        places = [level, *(y for y in heights if level - reach <= y <= level + reach)]
        wanted = field.nearer_side(asked, point)
        for away, x in ((-1, field.left), (1, field.right)):
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
    options: Sequence[tuple[float, int, float, Point]], asked: Asked, field: Field, done: Sequence[Tag]
) -> Tag | None:
    """The nearest place whose leader meets nothing; failing that one whose leader crosses another leader."""
    second = None
    for _cost, away, y, point in options:
        tag = _tag(asked, away, y, point, field)
        if not _is_clear(tag, done, field):
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


def untangled(tags: list[Tag], asked: Sequence[Asked], field: Field) -> list[Tag]:
    """The same tags, two whose leaders cross changing places: each change makes the leaders shorter, so it comes to an end."""
    for _ in range(PASSES):
        tangled = crossings(tags)
        if not tangled:
            break
        for one, other in tangled:
            changed = (
                _exchanged(tags, asked, (one, other), field)
                or _elsewhere(tags, asked, one, field)
                or _elsewhere(tags, asked, other, field)
            )
            if changed:
                tags = changed
                break
        else:
            break
    return tags


def _shortened(tags: list[Tag], asked: Sequence[Asked], field: Field) -> list[Tag]:
    """The same tags, those with long leaders where a free place has a shorter one that crosses none."""
    for place in sorted(range(len(tags)), key=lambda one: -_reach(tags[one])):
        if _reach(tags[place]) > LONG * (field.right - field.left):
            tags = _elsewhere(tags, asked, place, field, most=_reach(tags[place])) or tags
    return tags


def _parted(tags: list[Tag], asked: Sequence[Asked], field: Field) -> list[Tag]:
    """The same tags, one whose leader ends beside the end of another led to another spot of its part, where none crosses."""
    for place in range(len(tags)):
        taken = [tag.leader[1] for other, tag in enumerate(tags) if other != place]
        if _stands_off(tags[place].leader[1], taken):
            continue
        spots = [spot for spot in asked[place].spots if _stands_off(spot, taken)]
        if spots:
            wanted = [*asked[:place], asked[place]._replace(spots=spots), *asked[place + 1 :]]
            tags = _elsewhere(tags, wanted, place, field, most=inf) or tags
    return tags


def _stands_off(spot: Point, taken: Sequence[Point]) -> bool:
    return all(dist(spot, other) >= DOTS for other in taken)


def _exchanged(
    tags: list[Tag], asked: Sequence[Asked], pair: tuple[int, int], field: Field
) -> list[Tag] | None:
    """The tags with two that have changed places, where that is free and the leaders become shorter."""
    rest = [tag for place, tag in enumerate(tags) if place not in pair]
    mine = [tags[place] for place in pair]
    new = [
        [_tag(asked[place], *_place_of(there, field), spot, field) for spot in asked[place].spots]
        for place, there in zip(pair, reversed(mine), strict=True)
    ]
    with_rest = [_meetings(some, rest).sum(axis=1) for some in (*new, mine)]
    crossed = with_rest[0][:, None] + with_rest[1] + _meetings(*new)
    now = (
        int(with_rest[2].sum()) + meet(*mine[0].leader, *mine[1].leader),
        _reach(mine[0]) + _reach(mine[1]),
    )
    costs = sorted(
        (found, _reach(new[0][here]) + _reach(new[1][there]), here, there)
        for here, row in enumerate(crossed.tolist())
        for there, found in enumerate(row)
    )
    for *cost, here, there in costs:
        if tuple(cost) >= now:
            return None
        one, other = new[0][here], new[1][there]
        if _is_clear(one, [*rest, other], field) and _is_clear(other, [*rest, one], field):
            changed = list(tags)
            changed[pair[0]], changed[pair[1]] = one, other
            return changed
    return None


def _elsewhere(
    tags: list[Tag], asked: Sequence[Asked], moved: int, field: Field, *, most: float = 0.0
) -> list[Tag] | None:
    """The tags with one at another free place, where fewer leaders then cross, or as many and its own is shorter than ``most``."""
    rest = [tag for place, tag in enumerate(tags) if place != moved]
    mine = sum(moved in pair for pair in crossings(tags))
    beside = [_place_of(other, field)[1] + way * (2 * RING + 2) for other in rest for way in (-1, 1)]
    heights = [*field.heights(), *(y for y in beside if field.top + RING <= y <= field.bottom - RING)]
    taken, spots = [other.box for other in rest], asked[moved].spots
    open_to: list[Tag] = []
    for y in heights:
        for away in (-1, 1):
            box = _tag(asked[moved], away, y, spots[0], field).box
            if field.has_room(box) and is_free(grown(box, APART), taken):
                open_to += [_tag(asked[moved], away, y, spot, field) for spot in spots]
    crossed = _meetings(open_to, rest).sum(axis=1).tolist()
    costs = [_reach(tag) + _level(tag) for tag in open_to]
    nearest = sorted(
        (found, cost, place)
        for place, (cost, found) in enumerate(zip(costs, crossed, strict=True))
        if (found, cost) < (mine, most)
    )
    for *_, place in nearest:
        if _is_clear(open_to[place], rest, field):
            return [*tags[:moved], open_to[place], *tags[moved + 1 :]]
    return None


def _meetings(some: Sequence[Tag], others: Sequence[Tag]) -> np.ndarray:
    """Which leaders of ``some`` cross which of ``others``, a row for each of the first; as ``meet`` has it for two."""
    (ax, ay, bx, by), (cx, cy, dx, dy) = (
        np.array([(*tag.leader[0], *tag.leader[1]) for tag in tags], float).reshape(-1, 4).T
        for tags in (some, others)
    )
    ax, ay, bx, by = (one[:, None] for one in (ax, ay, bx, by))
    ux, uy, vx, vy = bx - ax, by - ay, dx - cx, dy - cy
    apart = (ux * (cy - ay) - uy * (cx - ax)) * (ux * (dy - ay) - uy * (dx - ax)) < 0
    return apart & ((vx * (ay - cy) - vy * (ax - cx)) * (vx * (by - cy) - vy * (bx - cx)) < 0)


def _level(tag: Tag) -> float:
    """What a leader costs that lies nearly level."""
    (ax, ay), (bx, by) = tag.leader
    return LEVEL if abs(by - ay) < LEAN * abs(bx - ax) else 0.0


def _reach(tag: Tag) -> float:
    (ax, ay), (bx, by) = tag.leader
    return hypot(bx - ax, by - ay)


def _place_of(tag: Tag, field: Field) -> tuple[int, float]:
    """Side and height of a tag."""
    return -1 if tag.box[0] <= field.left else 1, (tag.box[1] + tag.box[3]) / 2


def _tag(asked: Asked, away: int, y: float, spot: Point, field: Field) -> Tag:
    words, ring = asked.words, asked.ring
    wide = 2 * RING if ring else text_width(words, size=SIZE, bold=True) + 6
    left = field.left if away < 0 else field.right - wide
    right = field.left + wide if away < 0 else field.right
    return Tag(words, (left, y - RING, right, y + RING), ((right if away < 0 else left, y), spot), ring)


def _is_clear(tag: Tag, rest: Sequence[Tag], field: Field) -> bool:
    """Whether a tag covers nothing and its leader passes no number, no other tag; other leaders may cross it."""
    box, (a, b) = tag.box, tag.leader
    return (
        field.has_room(box)
        and is_free(grown(box, APART), [other.box for other in rest])
        and field.lets_pass(tag.leader)
        and not any(crosses(a, b, other.box) or crosses(*other.leader, box) for other in rest)
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
