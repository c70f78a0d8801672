"""Where the rings of a drawn junction stand, on their parts or in free air near them, and the words beside it.

Nothing here may cover another label, and no leader crosses another; a leader may cross a line of the drawing, never a number.
"""

from collections.abc import Iterator, Mapping, Sequence
from math import hypot, inf
from operator import itemgetter
from typing import NamedTuple

import numpy as np

from exposure.draw.drawing import Box, Point, is_free
from exposure.draw.junction_lanes import SIZE, Ruled, crosses, grown, marks_of, meet, strokes_of
from exposure.draw.junction_misread import Misread, close
from exposure.draw.junction_near import LEAN, LEVEL, Leader, Near, beside_dots, cost_of, costs_of, overlap
from exposure.draw.junction_room import NO_ROOM, Room
from exposure.draw.lettering import text_width

RING = 10.0  # radius
SPREAD = 7.0  # steps in which words move up or down
APART = 1.5  # from a ring to what else stands there
ALONG, ASIDE = 14.0, 4.0  # a leader beside a line of a size for so long, and no farther off, is taken for it
SHORT = 40.0  # a leader that may stay as it is
CLEAR_OF = 24.0  # from a ring on its part to the end of a leader to another; farther off it is no clearer
SLIGHT, GRAVE = 10.0, 24.0  # of what makes a leader be misread, what may stay, and for what others make way
GAIN = 0.9  # of its cost, what a ring costs at most where it moves nearer
LONG, TOO_LONG = (
    0.32,
    0.4,
)  # of the width, length of a leader from which on a few other orders are tried, and all
LOW = 2.0  # what each unit costs that a ring stands lower than just under the drawing
TOO_FAR = 2.0  # what each unit of a long leader beyond that costs more
FAR = 0.25  # of the width, cost of a leader from which on others make way for it
TRIES, ENOUGH, PASSES = 32, 7, 3  # orders tried until all have a place; with long leaders a few; moves nearer


class Tag(NamedTuple):
    """A ring with a number, or words with a leader."""

    words: str
    box: Box
    leader: Leader  # of no length where the ring stands on its part
    ring: bool


class Asked(NamedTuple):
    """What a leader runs to: its words, whether they stand in a ring, where the leader may end, best first."""

    words: str
    ring: bool
    spots: Sequence[Point]
    side: int = 0  # of words: -1 for the left, 1 for the right
    own: Sequence[Point] | np.ndarray = ()  # where a ring may stand on its part itself
    key: str = ""  # of its part


class Field:
    """Where tags may stand: its edges, and the numbers and lines of sizes already there, looked at once for each leader."""

    def __init__(self, ruled: Sequence[Ruled], edges: Box) -> None:
        self.left, self.top, self.right, self.bottom = edges
        self.numbers = [one.label for one in ruled]
        self.lines = [line for one in ruled for line in strokes_of(one)]
        self._ways: dict[Leader, bool] = {}
        self._marks = [line for one in ruled for line in marks_of(one)]
        self._near: dict[str, Near] = {}
        self._air: np.ndarray | None = None

    def has_room(self, box: Box) -> bool:
        """Whether a tag covers no number and no line of a size, whatever its leader."""
        return is_free(grown(box, APART), self.numbers) and not any(crosses(a, b, box) for a, b in self.lines)

    def lets_pass(self, leader: Leader) -> bool:
        """Whether a leader passes no number and runs along no line."""
        found = self._ways.get(leader)
        if found is None:
            a, b = leader
            found = not any(crosses(a, b, box) for box in self.numbers) and not any(
                runs_along(leader, line) for line in self.lines
            )
            self._ways[leader] = found
        return found

    def near(self, one: Asked, room: Room) -> Near:
        """Places for a ring near its part; one drawing asks for them many times over."""
        if self._air is None:
            self._air = room.air[~overlap(room.air, np.array(self.numbers).reshape(-1, 4), RING + APART)]
        if one.words not in self._near:
            self._near[one.words] = Near(
                self._air,
                room.outlines,
                one.spots,
                self.numbers,
                radius=RING,
                apart=APART,
                passes=self.lets_pass,
            )
        return self._near[one.words]

    def misread(self, room: Room) -> Misread:
        """What leaders could be misread by."""
        return Misread(self._marks, room.outlines[: len(room.owners)], room.owners)

    def heights(self) -> list[float]:
        """Where words may stand."""
        steps = max(int((self.bottom - self.top - 2 * RING) / SPREAD), 0)
        return [self.top + RING + step * SPREAD for step in range(steps + 1)]


def place_tags(
    asked: Sequence[Asked], ruled: Sequence[Ruled], *, edges: Box, room: Room = NO_ROOM
) -> list[Tag]:
    """Words at the far left and right, rings on their parts or near them; what finds no place is missing.

    Parameters
    ----------
    asked
        Those with a ring of their own, falls and lengths laid flat.
    edges
        Left, top, right and bottom of where they may stand.
    room
        Where rings may stand.
    """
    on_parts = _on_parts(asked)
    on = {one.words for one in on_parts}
    led = [one for one in asked if one.words not in on]
    found = [*on_parts, *_led(led, [*ruled, *map(_kept, on_parts)], edges, room)]
    if on and (len(found) < len(asked) or crossings(found)):
        return max(
            found, _led(asked, ruled, edges, room), key=lambda tags: (len(tags), -len(crossings(tags)))
        )
    return found


def _on_parts(asked: Sequence[Asked]) -> list[Tag]:
    """Rings that stand on their own parts, clear of where leaders to other parts end, and in the middle rather than at an edge."""
    found = []
    for one in asked:
        if len(one.own):
            ends = np.array([other.spots[0] for other in asked if other is not one] or [(0.0, 0.0)])
            places = np.array(one.own)
            (x, y), (end_x, end_y) = places.T, ends.T
            apart = np.hypot(x[:, None] - end_x, y[:, None] - end_y).min(axis=1)
            aside = np.hypot(*(places - places.mean(axis=0)).T)
            left, top = places[int((np.minimum(apart, CLEAR_OF) - aside / SHORT).argmax())].tolist()
            middle = (left, top)
            found.append(_ring(one.words, middle, (middle, middle)))
    return found


def _ring(words: str, middle: Point, leader: Leader) -> Tag:
    x, y = middle
    return Tag(words, (x - RING, y - RING, x + RING, y + RING), leader, ring=True)


def _kept(tag: Tag) -> Ruled:
    """A ring as what no other label or leader may cross."""
    return Ruled(tag.leader, tag.leader, tag.box, tag.words)


def _led(asked: Sequence[Asked], ruled: Sequence[Ruled], edges: Box, room: Room) -> list[Tag]:
    """Tags with leaders."""
    field = Field(ruled, edges)
    words = _beside([one for one in asked if not one.ring], field)
    rings = [one for one in asked if one.ring]
    best: list[Tag] = []
    for turn in range(TRIES):
        found, first = _near(rings, words, field, room)
        found = _shortened([*words, *found], rings, field, room)
        best = max(best, found, key=lambda tags: (len(tags), -_longest(tags)))
        if first is None:
            least = _longest(best) / (field.right - field.left)
            if least < (LONG if turn < ENOUGH else TOO_LONG):
                break
            worst = max((tag for tag in found if tag.ring), key=_reach).words
            first = next((place for place, one in enumerate(rings) if one.words == worst), 0)
        rings.insert(0, rings.pop(first))  # what found no place, or only a far one, chooses first
    return _plainer(_made_way(best, rings, field, room), rings, field, room)


def _made_way(tags: list[Tag], rings: Sequence[Asked], field: Field, room: Room) -> list[Tag]:
    """The same tags, what stands in the way of the rings with the dearest leaders moved, where each costs less then than those did."""
    asked = {one.words: one for one in rings}
    least = FAR * (field.right - field.left)
    leaders = np.array([tag.leader for tag in tags]).reshape(-1, 4)
    costs = costs_of(leaders, room.outlines).tolist()
    dear = [(cost, tag) for cost, tag in zip(costs, tags, strict=True) if tag.ring and cost > least]
    for cost, far in sorted(dear, key=itemgetter(0), reverse=True):
        if far in tags:
            tags = _after(tags, far, asked, field, room, most=GAIN * cost) or tags
    return tags


def _after(
    tags: Sequence[Tag], far: Tag, asked: Mapping[str, Asked], field: Field, room: Room, *, most: float
) -> list[Tag]:
    """All tags when ``far`` takes its nearest place, and what stood there another in turn; empty where one finds none."""
    fixed = [tag for tag in tags if not tag.ring]
    standing = [tag for tag in tags if tag.ring and tag is not far]
    waiting = [far]
    while waiting and len(fixed) <= len(tags):
        one = asked[waiting.pop(0).words]
        found = None if one.words == far.words else _in_air(one, [*fixed, *standing], field, room, most)
        if found is not None:
            standing.append(found)
            continue
        found = _in_air(one, fixed, field, room, most)
        if found is None:
            return []
        fixed.append(found)
        waiting += [tag for tag in standing if _in_way(tag, found)]
        standing = [tag for tag in standing if not _in_way(tag, found)]
    return [*fixed, *standing]


def _in_way(one: Tag, other: Tag) -> bool:
    """Whether two tags cannot stand together."""
    return (
        not is_free(grown(one.box, APART), [other.box])
        or crosses(*one.leader, other.box)
        or crosses(*other.leader, one.box)
        or meet(*one.leader, *other.leader)
    )


def _longest(tags: Sequence[Tag]) -> float:
    return max((_reach(tag) for tag in tags if tag.ring), default=0.0)


def _near(
    asked: Sequence[Asked], words: Sequence[Tag], field: Field, room: Room
) -> tuple[list[Tag], int | None]:
    """Rings in free air in the order asked, and the place of the first that found none."""
    done: list[Tag] = []
    for place, one in enumerate(asked):
        found = _in_air(one, [*words, *done], field, room, inf)
        if found is None:
            return done, place
        done.append(found)
    return done, None


def _in_air(one: Asked, rest: Sequence[Tag], field: Field, room: Room, most: float) -> Tag | None:
    """A ring where its leader costs least, if less than ``most``."""
    found = field.near(one, room).cheapest([tag.box for tag in rest], [tag.leader for tag in rest], most)
    return None if found is None else _ring(one.words, *found)


def _shortened(tags: list[Tag], rings: Sequence[Asked], field: Field, room: Room) -> list[Tag]:
    """The same tags, rings with long leaders where the others now leave air nearer to their parts."""
    asked = {one.words: one for one in rings}
    for _ in range(PASSES):
        moved = False
        for place in sorted(range(len(tags)), key=lambda one: -_reach(tags[one])):
            if not tags[place].ring or _reach(tags[place]) < SHORT:
                continue
            rest = [*tags[:place], *tags[place + 1 :]]
            now = cost_of(tags[place].leader, [tag.leader for tag in rest], room.outlines)
            found = _in_air(asked[tags[place].words], rest, field, room, GAIN * now)
            if found is not None:
                tags, moved = [*tags[:place], found, *tags[place + 1 :]], True
        if not moved:
            break
    return tags


class Plain:
    """What tags of one drawing cost with all that could be misread, and where else their rings may stand."""

    def __init__(self, rings: Sequence[Asked], field: Field, room: Room) -> None:
        self._asked = {one.words: one for one in rings}
        self._field, self._room = field, room
        self._misread = field.misread(room)
        self._longest = LONG * (field.right - field.left)
        drawn = room.outlines[: len(room.owners), 1].max(initial=-inf)
        self._foot = max([float(drawn), *(box[3] for box in field.numbers)])

    def costs(self, tags: Sequence[Tag]) -> tuple[np.ndarray, np.ndarray]:
        """What each ring costs, and what of it might be spared elsewhere; nothing for words."""
        leaders = _rows(tags)
        rings = np.array([tag.ring for tag in tags])
        keys = [self._asked[tag.words].key if tag.ring else "" for tag in tags]
        faults = self._misread.cost(leaders, keys)
        ends = leaders[:, 2:]
        faults += beside_dots(leaders, leaders) + close(ends, ends) + self._low(leaders)
        faults += TOO_FAR * np.clip([_reach(tag) - self._longest for tag in tags], 0, None)
        return rings * (costs_of(leaders, self._room.outlines) + faults), rings * faults

    def _low(self, leaders: np.ndarray) -> np.ndarray:
        """What it costs that rings stand below the first row under the drawing, which makes it higher on its sheet."""
        return np.asarray(LOW * np.clip(leaders[:, 1] - self._foot - 2 * RING, 0, None))

    def moved(self, tag: Tag, rest: Sequence[Tag], most: float, passed: Sequence[Tag] = ()) -> Tag | None:
        """The same ring where it costs less than ``most``, clear of the ``rest``; of those ``passed`` only the dots count."""
        asked, by = self._asked[tag.words], _rows(passed)
        ends = np.vstack([_rows(rest)[:, 2:], by[:, 2:]])
        found = self._field.near(asked, self._room).cheapest(
            [one.box for one in rest],
            [one.leader for one in rest],
            most,
            longest=max(self._longest, _reach(tag)),
            more=lambda leaders: (
                self._misread.cost(leaders, [asked.key])
                + self._low(leaders)
                + close(leaders[:, 2:], ends)
                + beside_dots(leaders, by)
            ),
        )
        return None if found is None else _ring(tag.words, *found)

    def ways(self, tag: Tag, rest: Sequence[Tag], most: float) -> Iterator[list[Tag]]:
        """All tags when one has the place it likes best and those in its way others; and when one of those beside it chooses first."""
        found = self.moved(tag, [one for one in rest if not one.ring], most, rest)
        if found is not None:
            blocked = [one for one in rest if one.ring and _in_way(one, found)]
            yield self._moved_in_turn([*(one for one in rest if one not in blocked), found], blocked)
        mine = _rows([tag])
        for other in rest:
            if other.ring and beside_dots(mine, _rows([other]))[0]:
                others = [one for one in rest if one is not other]
                yield self._moved_in_turn(others, [other, tag])
                yield self._moved_in_turn(others, [tag, other])

    def _moved_in_turn(self, done: list[Tag], waiting: Sequence[Tag]) -> list[Tag]:
        """All tags when those ``waiting`` choose one after another; empty where one finds no place."""
        for one in waiting:
            found = self.moved(one, done, inf)
            if found is None:
                return []
            done = [*done, found]
        return done


def _rows(tags: Sequence[Tag]) -> np.ndarray:
    return np.array([(*tag.leader[0], *tag.leader[1]) for tag in tags], float).reshape(-1, 4)


def _plainer(tags: list[Tag], rings: Sequence[Asked], field: Field, room: Room) -> list[Tag]:
    """The same tags, rings elsewhere whose leaders could be misread, if need be with others that make way for them."""
    if not rings:
        return tags
    plain = Plain(rings, field, room)
    costs, faults = plain.costs(tags)
    foot = max(box[3] for box in (*(tag.box for tag in tags), *field.numbers))
    for _ in range(PASSES):
        moved = False
        for words in [tags[place].words for place in np.argsort(-faults) if faults[place] > SLIGHT]:
            place = next(place for place, tag in enumerate(tags) if tag.ring and tag.words == words)
            if faults[place] < SLIGHT:
                continue
            tag, rest, most = tags[place], [*tags[:place], *tags[place + 1 :]], float(costs[place]) - SLIGHT
            found = plain.moved(tag, rest, most)
            ways = [[*rest, found]] if found else plain.ways(tag, rest, most) if faults[place] > GRAVE else []
            for other in ways:
                if other and all(one.box[3] <= foot for one in other):  # or the drawing would be higher
                    after = plain.costs(other)
                    if after[0].sum() < costs.sum() - SLIGHT:
                        tags, (costs, faults), moved = other, after, True
                        break
        if not moved:
            break
    return tags


def _beside(asked: Sequence[Asked], field: Field) -> list[Tag]:
    """Words at the far left and right, in the order asked."""
    done: list[Tag] = []
    for one in asked:
        tag = _first_free(_options(one, field), one, field, done)
        if tag is not None:
            done.append(tag)
    return done


def _options(asked: Asked, field: Field) -> list[tuple[float, int, float, Point]]:
    """Cost, side, height and end of the leader of every place for words, cheapest first."""
    options = []
    for rank, point in enumerate(asked.spots):
        level = min(max(point[1], field.top + RING), field.bottom - RING)
        for away, x in ((-1, field.left), (1, field.right)):
            far = (300 if away == -asked.side else 0) + 25 * rank
            options += [
                (
                    hypot(point[0] - x, 2 * (point[1] - y))
                    + far
                    + (LEVEL if abs(point[1] - y) < LEAN * abs(point[0] - x) else 0),
                    away,
                    y,
                    point,
                )
                for y in (level, *field.heights())
            ]
    return sorted(options)


def _first_free(
    options: Sequence[tuple[float, int, float, Point]], asked: Asked, field: Field, done: Sequence[Tag]
) -> Tag | None:
    """The nearest place whose leader meets nothing; failing that one whose leader crosses another leader."""
    second = None
    for _cost, away, y, point in options:
        tag = _words(asked.words, away, y, point, field)
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


def _reach(tag: Tag) -> float:
    (ax, ay), (bx, by) = tag.leader
    return hypot(bx - ax, by - ay)


def _words(words: str, away: int, y: float, spot: Point, field: Field) -> Tag:
    wide = text_width(words, size=SIZE, bold=True) + 6
    left = field.left if away < 0 else field.right - wide
    right = field.left + wide if away < 0 else field.right
    return Tag(words, (left, y - RING, right, y + RING), ((right if away < 0 else left, y), spot), ring=False)


def _is_clear(tag: Tag, rest: Sequence[Tag], field: Field) -> bool:
    """Whether words cover nothing and their leader passes no number and no other words."""
    box, (a, b) = tag.box, tag.leader
    return (
        field.has_room(box)
        and is_free(grown(box, APART), [other.box for other in rest])
        and field.lets_pass(tag.leader)
        and not any(crosses(a, b, other.box) or crosses(*other.leader, box) for other in rest)
    )


def runs_along(leader: Leader, line: tuple[Point, Point]) -> bool:
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
