"""The order of work at a window as a row of pictures: what a step adds is dark, what stood before is pale.

``bare_frame`` is for printed sheets and lists that have number and words of their own, ``work_picture`` draws frames
whole. What each takes stays as it is.
"""

from collections.abc import Sequence
from itertools import product
from math import hypot, inf

import shapely

from exposure.draw.drawing import Box, Point, filled, is_free, path, picture, stroke, text
from exposure.draw.junction_lanes import ARROW, TOGETHER, grown
from exposure.draw.junction_marks import arrow_head, outward
from exposure.draw.lettering import text_width, wrap
from exposure.draw.palette import HAIR, INK, PAPER, RAIN, SOFT
from exposure.draw.work_depth import painting_order
from exposure.junction.numbers import Numbers
from exposure.junction.size_names import SIZE_NAMES
from exposure.junction.work_faces import HIGH, WIDE, Face, Size, seen
from exposure.junction.work_scene import Frame

SCALE = 0.25
CELL = 310.0
LEFT, TOP = 30.0, 34.0
SPARE = 20.0  # of TOP, where no number stands above the drawing
LETTERS = 13.0
LINE = 17.0
GAP = 10.0
DARK = {
    "film": "#8FB6BC",
    "flap": "#8FB6BC", "tape": RAIN, "metal": "#37434B", "tray": "#5C6A73", "timber": "#C9A873", "board": "#E9E4DA", "room": "#FBFAF6",
    "frame": PAPER, "glass": "#BFD2D4", "cladding": "#C2CCD1", "masonry": "#D8C6B6", "barrier": "#A98F66", "course": INK, "stone": "#BDBDB6",
    "fixing": INK, "soil": "#B9A98C", "render": "#DAD6CC", "insulation": "#E8D9A6",
}  # fmt: skip
PALE = {
    "film": "#EAF1F2",
    "flap": "#DDE8E9", "tape": "#C6D8DB", "metal": "#C5CBCF", "tray": "#D8DCDF", "timber": "#F3EBDD", "board": "#F4F1EB", "room": "#FBFAF6",
    "frame": PAPER, "glass": "#E6EDED", "cladding": "#E8ECEE", "masonry": "#F1EAE3", "barrier": "#E3D8C6", "course": "#AEB7BC", "stone": "#E6E6E2",
    "fixing": "#AEB7BC", "soil": "#EDE7DC", "render": "#F0EEE9", "insulation": "#F6F0DC",
}  # fmt: skip
LINES = {  # material -> width, dashes, colour
    "edge": (1.0, "", SOFT),
    "arris": (0.8, "", SOFT),
    "hidden edge": (0.8, "4 3", SOFT),
    "sealant": (3.0, "", "#6F7A82"),
    "inner seal": (2.6, "6 3", INK),
    "drop": (2.2, "", RAIN),
    "joint": (0.5, "", SOFT),
    "hatching": (0.6, "", INK),
    "slots": (1.8, "5 5", INK),
    "dots": (1.6, "0.1 7", SOFT),
    "cut away": (1.2, "4 3", INK),
    "mark": (2.2, "8 4", INK),
    "check": (1.4, "", INK),
    "mesh": (2.4, "0.1 4.4", INK),
}
TICK = 3.2  # half as wide as a tick at the end of a size
TAIL = 3.0  # of an arrow from outside, behind its head
END = 2.5  # half of what is kept free round the end of a size
OFFSETS = sorted(
    product((0.6 * step for step in range(-18, 19)), repeat=2), key=lambda by: hypot(by[0], 1.3 * by[1])
)  # of a label, in letters
# letters a label is moved not to hide a sliver, cross a leader, lie at its spot
ON_EDGE, CROSSED, UNLED = 20.0, 9.0, 2.0
MARKS = ("inner seal", "drop", "sealant", "cut away", "mesh")
# drawn in pieces, whose inner sides are no edges
SIDES = "film", "masonry", "room", "board", "render", "insulation"


def work_picture(
    frames: Sequence[Frame],
    numbers: Numbers,
    *,
    title: str = "Order of work at a window",
    columns: int = 3,
    prefix: str = "work",
) -> str:
    """All frames in rows.

    Parameters
    ----------
    columns
        In a row; 1 for a phone.
    """
    cells = [_cell(frame, numbers) for frame in frames]
    high = max((tall for _, tall in cells), default=40.0)
    body = []
    for place, (cell, _) in enumerate(cells):
        x, y = place % columns * (CELL + GAP), place // columns * (high + GAP)
        body.append(f'<g transform="translate({x:g} {y:g})">{_frame(high)}{cell}</g>')
    rows = -(-len(cells) // columns)
    return picture(
        "".join(body), width=min(columns, max(len(cells), 1)) * (CELL + GAP) - GAP, height=rows * (high + GAP) - GAP, title=title,
        desc=" ".join(f"{frame.number}. {frame.words}" for frame in frames), prefix=prefix,
    )  # fmt: skip


def bare_frame(frame: Frame, numbers: Numbers, *, letters: float = LETTERS, prefix: str) -> str:
    """The drawing of one step without its number and words, for a list that has them; ``letters`` is the height of its sizes."""
    drawn = f'<g transform="translate(0 {-SPARE:g})">{_drawn(frame, numbers, letters)}</g>'
    return picture(
        drawn, width=CELL, height=TOP - SPARE + HIGH * SCALE + 6, title=f"Step {frame.number}, drawn", desc=_said(frame, numbers),
        prefix=prefix,
    )  # fmt: skip


def _said(frame: Frame, numbers: Numbers) -> str:
    """The sizes of a frame in words."""
    sizes = ", ".join(f"{size.row.replace('_', ' ')} {_words(size.row, numbers)}" for size in frame.sizes)
    return (
        f"What the step adds is dark, what stood before is pale.{f' Sizes in mm: {sizes}.' if sizes else ''}"
    )


def _frame(high: float) -> str:
    return (
        f'<rect x="0.5" y="0.5" width="{CELL - 1:g}" height="{high - 1:g}" fill="{PAPER}" stroke="{HAIR}"/>'
    )


def _at(spot: tuple[float, float, float]) -> Point:
    across, up = seen(spot)
    return LEFT + across * SCALE, TOP + (HIGH - up) * SCALE


def _face(face: Face, *, new: bool) -> str:
    points = [_at(spot) for spot in face.points]
    if face.line:
        width, dashes, colour = LINES[face.material]
        drawn = stroke(
            path(points),
            colour=colour if new or face.material == "arris" else HAIR,
            width=width if new else width * 0.8,
            dashes=dashes,
            ends="round",
        )
        light = face.material in ("cut away", "mesh")  # to be seen on dark
        return stroke(path(points), colour=PAPER, width=width + 1.8) + drawn if light else drawn
    body = filled(points, (DARK if new else PALE)[face.material])
    if face.material in SIDES:
        return body
    return body + stroke(path(points, close=True), colour=INK if new else SOFT, width=1.1 if new else 0.6)


def _drawn(frame: Frame, numbers: Numbers, letters: float = LETTERS) -> str:
    """One frame's drawing with its sizes."""
    patch = [_at(spot) for spot in ((0, 0, 0), (WIDE, 0, 0), (WIDE, HIGH, 0), (0, HIGH, 0))]
    parts = [stroke(path(patch, close=True), colour=SOFT, width=0.8)]
    faces = [(face, False) for face in frame.before] + [(face, True) for face in frame.added]
    order = painting_order([face for face, _ in faces], on_top=MARKS)
    parts += [_face(face, new=new) for face, new in map(faces.__getitem__, order)]
    ends = [[_at(spot) for spot in size.ends] for size in (*frame.sizes, *frame.names)]
    marks: list[str] = []
    labels: list[str] = []
    boxes = placed_labels(frame, numbers, letters)
    for (words, box), spots in zip(boxes, ends, strict=True):
        middle = ((box[0] + box[2]) / 2, box[1] + 0.95 * letters)
        marks.append(_measured(spots, middle))
        labels.append(
            f'<rect x="{box[0]:.1f}" y="{box[1]:.1f}" width="{box[2] - box[0]:.1f}" height="{1.35 * letters:.1f}" rx="3" fill="{PAPER}" stroke="{SOFT}" stroke-width="0.5"/>'
        )
        labels.append(
            text(middle[0], middle[1] + 0.1 * letters, words, size=letters, bold=True, anchor="middle")
        )
    return "".join([*parts, *marks, *labels])


def placed_labels(frame: Frame, numbers: Numbers, letters: float = LETTERS) -> list[tuple[str, Box]]:
    """Words of each size and name and where they stand: as near as can be to where they are asked, on no other, on no end of a size, on nothing new that is seen on edge, and no leader behind one."""
    given = (*frame.sizes, *frame.names)
    taken = [grown((*_at(spot), *_at(spot)), END) for size in given for spot in size.ends]
    on_edge = [_box(face) for face in frame.added if _is_on_edge(face)]
    placed: list[tuple[str, Box]] = []
    ways: list[shapely.LineString] = []
    for size in given:
        words = size.name or f"{size.word or SIZE_NAMES[size.row]} {_words(size.row, numbers)}"
        half, (x, y) = text_width(words, size=letters, bold=True) / 2 + 3, _at(size.at)
        box, least = _label_box(x, y, half, letters), inf
        for dx, dy in OFFSETS:
            far = hypot(dx, 1.3 * dy)
            if far >= least:
                break
            one = _label_box(x + dx * letters, y + dy * letters, half, letters)
            if is_free(grown(one, 1), taken):
                far += ON_EDGE * (not is_free(one, on_edge)) + UNLED * (not _is_led(one, size, letters))
                if far < least:
                    far += CROSSED * _crosses(one, size, placed, ways)
                if far < least:
                    box, least = one, far
        taken.append(box)
        placed.append((words, box))
        ways += _leader(box, size)
    return placed


def _leader(box: Box, size: Size) -> list[shapely.LineString]:
    """The way from a label to what it names or measures."""
    if not size.ends:
        return []
    x, y = (sum(each) / len(size.ends) for each in zip(*map(_at, size.ends), strict=True))
    return [shapely.LineString([((box[0] + box[2]) / 2, (box[1] + box[3]) / 2), (x, y)])]


def _is_led(box: Box, size: Size, letters: float) -> bool:
    """Whether the leader of a name to its one spot is long enough to be seen; sizes have lines of their own."""
    return len(size.ends) != 1 or shapely.box(*box).distance(shapely.Point(_at(size.ends[0]))) > letters


def _crosses(
    box: Box, size: Size, placed: Sequence[tuple[str, Box]], ways: Sequence[shapely.LineString]
) -> bool:
    """Whether a label would lie on the leader of another, or its own leader run behind another label."""
    mine = shapely.box(*box)
    behind = (shapely.box(*one) for _, one in placed)
    return any(mine.intersects(way) for way in ways) or any(
        way.intersects(one) for way in _leader(box, size) for one in behind
    )


def _label_box(x: float, y: float, half: float, letters: float) -> Box:
    """A label's box round a spot, moved into the picture."""
    across = min(max(x, half + 2), CELL - half - 2)
    up = min(max(y, SPARE + letters), TOP + HIGH * SCALE + 5 - 0.4 * letters)
    return (across - half, up - 0.95 * letters, across + half, up + 0.4 * letters)


def _is_on_edge(face: Face) -> bool:
    """Whether a face is a stop-end or the end of a tape or film up a jamb: a sliver that a label would hide."""
    return face.material in ("metal", "tape") and not face.line and len({x for x, _, _ in face.points}) == 1


def _box(face: Face) -> Box:
    across, up = zip(*map(_at, face.points), strict=True)
    return min(across), min(up), max(across), max(up)


def _measured(ends: Sequence[Point], label: Point) -> str:
    """The line between two ends with its ticks and the way to its number, or a leader to one spot; light round it, to be seen on dark."""
    if not ends:
        return ""
    if len(ends) == 1:
        (x, y) = ends[0]
        way = path([label, (x, y)])
        return (
            stroke(way, colour=PAPER, width=3)
            + stroke(way, width=0.8)
            + f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2.2" fill="{INK}"/>'
        )
    (ax, ay), (bx, by) = ends
    long = hypot(bx - ax, by - ay)
    if long < TOGETHER:
        return _from_outside(ends, label)
    up = TICK if (bx - ax) * (by - ay) >= 0 else -TICK  # across the line, whichever way it leans
    ticks = " ".join(path([(x - TICK, y + up), (x + TICK, y - up)]) for x, y in ends)
    way = f"{path(ends)} {path([((ax + bx) / 2, (ay + by) / 2), label])}"
    return (
        stroke(way, colour=PAPER, width=3)
        + stroke(way, width=0.8)
        + stroke(ticks, colour=PAPER, width=3.4)
        + stroke(ticks, width=1.6)
    )


def _from_outside(ends: Sequence[Point], label: Point) -> str:
    """Arrows from outside at a size whose two ticks would run together, the way to its number from the nearer one."""
    ways = outward(ends)
    heads = [arrow_head(tip, out) for tip, out in zip(ends, ways, strict=True)]
    long = ARROW[0] + TAIL
    tails = [(x + long * ux, y + long * uy) for (x, y), (ux, uy) in zip(ends, ways, strict=True)]
    near = min(tails, key=lambda tail: hypot(tail[0] - label[0], tail[1] - label[1]))
    thin = f"{path([tails[0], ends[0]])} {path([tails[1], ends[1]])} {path([near, label])}"
    return (
        stroke(thin, colour=PAPER, width=3)
        + stroke(thin, width=0.8)
        + "".join(stroke(path(head, close=True), colour=PAPER, width=2) for head in heads)
        + "".join(filled(head, INK) for head in heads)
    )


def _cell(frame: Frame, numbers: Numbers) -> tuple[str, float]:
    """One frame's drawing with its number and words, and how tall it is."""
    parts = [_drawn(frame, numbers)]
    y = TOP + HIGH * SCALE + 26
    parts.append(
        f'<circle cx="18" cy="18" r="13" fill="{INK}"/>'
        + text(18, 22.8, frame.number, size=14, bold=True, anchor="middle", colour=PAPER)
    )
    for line in wrap(frame.words, width=CELL - 24, size=13):
        parts.append(text(12, y, line, size=13))
        y += LINE
    return "".join(parts), y


def _words(row: str, numbers: Numbers) -> str:
    unit = {"sill_slope": "\u00a0%", "pen_slope": "°"}.get(row, "")
    return f"{numbers.length(row):,.10g}{unit}"
