"""The window opening seen from outside, before the window and the cladding: laps, tapes, ends and how far each reaches.

A face view has no depth: parts lie over one another in the order of work.
"""

from exposure.junction.build_up import wall_of
from exposure.junction.head import CHECK, lintel_height
from exposure.junction.jamb import CLEAR, LAP
from exposure.junction.leaf import WEEP
from exposure.junction.lining_tape import tape_over
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, Dimension, Layer, Section, rectangle
from exposure.junction.window import BOX, BOX_IN, Frame, frame_of, side_tape
from exposure.junction.work_faces import BELOW_SILL, PAST_HEAD, TAPE

WIDE, HIGH = 600.0, 520.0
ROUND = 240.0
THIN = 10.0  # mm, what is seen on edge, thicker than it is
THICK = 12.0  # mm, a course seen on edge
STONE, STONE_PAST = 70.0, 50.0  # mm, sill on the outer leaf
ASIDE = 45.0  # mm, weep holes at the base stand by their own measure, not by the window's
BREAK, GAP = 113.0, 28.0  # mm, break in the leaf over the weep holes of its base
LAPPED = CLEAR + LAP  # mm, from the edge of the leaf to that of the opening behind it
BEARING = LAPPED + 100.0  # mm, lintel past the leaf's reveal; no line sizes it
UNDER_LINTEL = 30.0  # mm, highest fixing of a jamb in sight
STRIP = TAPE  # of stretch tape on the face
FIXING, BESIDE = 7.0, 25.0  # mm, a fixing, and how far beside the opening
FREE = 1  # of the fixings, clear of the head flashing: it has the name
FILM_SEEN = 18.0  # mm, tray film up the jamb, wide enough to be told from the end of the tray before it
OWN_SIZE = "The opening's size is for the drawing only."
LEFT_OUT = "The tape that lines it, out over membrane and fixings before the tray is laid, is left out."


def opening(numbers: Numbers) -> Section:
    """The opening of a window, its sill tray laid, and where head flashing, fixings and weep holes come."""
    wall = wall_of(numbers)
    return _masonry(numbers, framed=wall.film) if wall.masonry else _clad(numbers)


def _field(
    reach: float, material: str, name: str, rows: tuple[str, ...]
) -> tuple[tuple[float, float, float, float], Layer]:
    box = (-reach, -reach, WIDE + reach, HIGH + reach)
    return box, Layer("field", material, rectangle(*box), name, rows, order=2)


def _hole() -> Layer:
    return Layer("hole", "opening", rectangle(0, 0, WIDE, HIGH), "", (), "field")


def _tray(numbers: Numbers, down: float, lapped: float = 0.0) -> tuple[list[Layer], list[Dimension]]:
    """Tray with its ends, as it shows in the opening, or behind a leaf that hides ``lapped`` of it at each side."""
    end, back = numbers.length("end_dam"), numbers.length("back_dam")
    name, look = "Turned-up end of the tray, sealed at the corner", "tray"
    if lapped:
        name, look = f"{name}, behind the leaf", "metal behind"
    left, right = -lapped, WIDE + lapped
    parts = [
        Layer("tray back", "pale metal", rectangle(0, 0, WIDE, back), "Turned-up back of the tray", ("back_dam",), "hole", order=3),
        *(
            Layer(f"hidden tray back {place}", "hidden", rectangle(*ends, back), "", (), "hole", order=3)
            for place, ends in enumerate(((left + THIN / 2, 0, 0), (WIDE, 0, right - THIN / 2)))
            if lapped
        ),  # to under its ends
        Layer("tray end", look, rectangle(left, 0, left + THIN, end), name, ("end_dam",), "hole", order=3),
        Layer("other tray end", look, rectangle(right - THIN, 0, right, end), "", (), "hole", order=3),
    ]  # fmt: skip
    sizes = [Dimension("end_dam", (left, 0), (left, end), end, "y", "left")]
    if down:
        parts.append(
            Layer(
                "tray front",
                "pale metal",
                rectangle(-20, -down, WIDE + 20, 0),
                "Tray, down over the membrane",
                ("tray_down",),
                "field",
                order=3,
            )
        )
    return parts, sizes


def _membrane_parts(numbers: Numbers, lapped: float = 0.0) -> tuple[list[Layer], list[Dimension]]:
    """Fixings, corner tapes and the tray's film up the jambs of an opening ``lapped`` by a leaf."""
    left, right, head = -lapped, WIDE + lapped, HIGH + (lapped and CHECK + CLEAR)
    first = HIGH - UNDER_LINTEL  # of the fixings
    each, corner, jamb = numbers.length("fix_mm"), numbers.length("corner_tape"), numbers.length("jamb_up")
    heights = [first - place * each for place in range(int(first // each) + 1)]
    spots = [(x, y) for x in (left - BESIDE, right + BESIDE) for y in heights]
    bare = [y for y in heights if corner < y and (numbers.boards or y < head - corner)]  # of corner tapes
    seen = bare[0] if len(bare) > 1 else first
    parts = [
        Layer(f"fixing {place}", "fixing", rectangle(x - FIXING / 2, y - FIXING / 2, x + FIXING / 2, y + FIXING / 2),
              "Fixings of the membrane, all round" if place == FREE else "", ("fix_mm",) if place == FREE else (), "field", order=2)
        for place, (x, y) in enumerate(spots)
    ]  # fmt: skip
    parts += [
        Layer("corner tape", "pale tape", ((left - STRIP, -STRIP), (left + corner, -STRIP), (left + corner, 0), (left, 0), (left, corner), (left - STRIP, corner)),
              "Stretch tape round the corner, in one piece" if numbers.boards else "Stretch tape round all four corners, in one piece each", ("corner_tape",), "field", order=3),
        Layer("other corner tape", "pale tape",
              ((right + STRIP, -STRIP), (right - corner, -STRIP), (right - corner, 0), (right, 0), (right, corner), (right + STRIP, corner)), "", (),
              "field", order=3),
        Layer("jamb film", "pale tape", rectangle(right - FILM_SEEN, 0, right, jamb), "Tray film up the jamb, in the opening at both sides", ("jamb_up",), "hole", order=3),
        Layer("other jamb film", "pale tape", rectangle(left, 0, left + FILM_SEEN, jamb), "", (), "hole", order=3),
    ]  # fmt: skip
    if not numbers.boards:  # on open studs all four corners
        up, down = head + STRIP, head - corner
        parts += [
            Layer("upper corner tape", "pale tape", ((left - STRIP, up), (left - STRIP, down), (left, down), (left, head), (left + corner, head), (left + corner, up)), "", (), "field",
                  order=3),
            Layer("other upper corner tape", "pale tape",
                  ((right + STRIP, up), (right + STRIP, down), (right, down), (right, head), (right - corner, head), (right - corner, up)), "", (),
                  "field", order=3),
        ]  # fmt: skip
    sizes = [
        Dimension("fix_mm", (left - BESIDE, seen - each), (left - BESIDE, seen), each, "y", "left"),
        Dimension(
            "corner_tape", (left - STRIP, 0), (left - STRIP, corner), corner, "y", "left"
        ),  # the other arm lies under the tray or the sill
        Dimension("jamb_up", (right, 0), (right, jamb), jamb, "y", "right"),
    ]
    return parts, sizes


def _corner_tape_under(numbers: Numbers) -> list[Layer]:
    """The arms of the stretch tape along the sill, which the tray's front hides."""
    corner = numbers.length("corner_tape")
    return [
        Layer(key, "hidden", rectangle(a, -STRIP, b, 0), "", ("corner_tape",), "field", order=3)
        for key, a, b in (("corner tape under", 0, corner), ("other corner tape under", WIDE - corner, WIDE))
    ]  # fmt: skip


def _jamb_tape(numbers: Numbers) -> list[Layer]:
    """The jamb tape as it shows from outside: over a flange it lies flat, that of a box frame goes into the opening."""
    wide = numbers.length("tape_w")
    left, right, name = 20 - wide, 20.0, "Jamb tape to come, over the flange"
    if numbers.circumstances.frame == BOX:
        _, way = side_tape(Frame(BOX_IN), wide, start=FILM, side=CLEAR, face=-FILM)
        left, right, name = (
            min(way[-1][1], -THIN),
            0.0,
            "Jamb tape to come, from the side of the frame onto the wall",
        )
    return [
        Layer("jamb tape", "outlined", rectangle(left, -BELOW_SILL, right, HIGH + PAST_HEAD), name, ("tape_w",), "field", order=3),
        Layer("other jamb tape", "outlined", rectangle(WIDE - right, -BELOW_SILL, WIDE - left, HIGH + PAST_HEAD), "", (), "field", order=3),
    ]  # fmt: skip


def _lining_left_out(numbers: Numbers) -> tuple[str, ...]:
    """That the lining's tape, where it comes out round the opening, would hide what it is laid over."""
    wall = wall_of(numbers)
    return (LEFT_OUT,) if tape_over(numbers, wall, frame_of(numbers, wall)) else ()


def _clad(numbers: Numbers) -> Section:
    past, up = numbers.length("head_past"), numbers.length("head_up")
    down = numbers.length("tray_down")
    reach = max(ROUND, up + 60, down + 80, past + 60)
    box, field = _field(reach, "film", "Membrane", ("mem_class",))
    film, film_sizes = _membrane_parts(numbers)
    tray, tray_sizes = _tray(numbers, down)
    head = Layer("head flashing", "outlined", rectangle(-past, HIGH, WIDE + past, HIGH + up), "Head flashing to come, its ends folded up",
                 ("head_past", "head_ends"), "field", order=3)  # fmt: skip
    tape = [] if numbers.circumstances.window_position == "over the cavity" else _jamb_tape(numbers)
    under = _corner_tape_under(numbers)
    stop = numbers.length("head_stop")
    ends = [
        Layer(key, "metal", rectangle(x, HIGH, x + THIN, HIGH + stop), name, ("head_stop",), "field", order=3)
        for key, x, name in (("stop end", WIDE + past - THIN, "Stop-end of the head flashing, folded up"), ("other stop end", -past, ""))
    ]  # fmt: skip
    sizes = [
        Dimension("head_past", (-past, HIGH + up), (0, HIGH + up), past, "x", "top"),
        Dimension("head_stop", (WIDE + past, HIGH), (WIDE + past, HIGH + stop), stop, "y", "right"),
    ]
    return Section(
        "opening", "Window opening from outside, tray laid", "face", box, (field, _hole(), *tape, *film, *tray, *under, head, *ends),
        (*film_sizes, *tray_sizes, *sizes), sides=("seen from outside", ""), notes=(OWN_SIZE, *_lining_left_out(numbers)),
    )  # fmt: skip


def _masonry(numbers: Numbers, *, framed: bool) -> Section:
    past, apart = numbers.length("sill_past"), numbers.length("weep_sp")
    reach = max(ROUND, past + 70, (apart - WIDE) / 2 + ASIDE + 40)
    box, field = _field(reach, "masonry", "Masonry leaf", ("cav_mas",))
    tray, tray_sizes = _tray(numbers, 0.0, LAPPED)
    high, stop = lintel_height(numbers), numbers.length("tray_stop")
    on_lintel = HIGH + high
    first = WIDE / 2 + ASIDE - apart / 2
    at = -reach + BREAK
    zigzag = [(-reach, at), (80, at), (95, at + 26), (115, at - 26), (130, at), (WIDE + reach, at)]  # fmt: skip
    left_out = (*zigzag, *((x, y + GAP) for x, y in reversed(zigzag)))  # the base lies farther down
    parts, sizes = [field, _hole()], [*tray_sizes]
    if framed:
        film, film_sizes = _membrane_parts(numbers, LAPPED)
        parts += film
        sizes += film_sizes
    parts += tray
    parts += [
        Layer("outer sill", "concrete", rectangle(-STONE_PAST, -STONE, WIDE + STONE_PAST, 0), "Sill on the outer leaf", (), "field", order=3),
        Layer("sill course", "tray", rectangle(-past, -STONE - THICK, WIDE + past, -STONE), "Damp-proof course under the sill, past each side", ("sill_past",),
              "field", order=3),
        *(
            Layer(f"sill course end {place}", "tray", rectangle(x - THICK, -STONE, x, 0), "", ("sill_past",), "field", order=3)
            for place, x in enumerate((-STONE_PAST, WIDE + STONE_PAST + THICK))
        ),
        Layer("lintel", "concrete", rectangle(-BEARING, HIGH, WIDE + BEARING, on_lintel), "Lintel of the outer leaf", (), "field", order=3),
        Layer("head tray", "tray", rectangle(-past, on_lintel, WIDE + past, on_lintel + THICK), "Cavity tray on the lintel, past each side as the sill's course, stop-ends up",
              ("head_tray_mas", "tray_stop"), "lintel", order=3),
        *(
            Layer(f"stop-end {place}", "tray", rectangle(x - THICK, on_lintel, x, on_lintel + stop), "", ("tray_stop",), "lintel", order=3)
            for place, x in enumerate((THICK - past, WIDE + past))
        ),
    ]  # fmt: skip
    sizes += [
        Dimension(
            "tray_stop",
            (WIDE + past, on_lintel),
            (WIDE + past, on_lintel + stop),
            stop,
            "y",
            "right",
            name="stop-end",
        ),
        Dimension("sill_past", (-past, -STONE - THICK), (0, -STONE - THICK), past, "x", "bottom"),
    ]
    parts.append(Layer("break", "frame", left_out, "", (), "field", order=8))
    parts += [
        Layer(
            f"base weep {place}",
            "fixing",
            rectangle(x - 5, -reach + 30, x + 5, -reach + 95),
            "",
            ("weep_sp",),
            "field",
            order=8,
        )
        for place, x in enumerate((first, first + apart))
    ]
    parts += [
        Layer(f"head weep {place}", "fixing", rectangle(x - 5, on_lintel + THICK, x + 5, on_lintel + THICK + WEEP),
              "Weep holes over trays and, below the break, at the base" if place else "", ("weep_sp",), "field", order=8)
        for place, x in enumerate((WIDE * 0.2, WIDE * 0.8))
    ]  # fmt: skip
    sizes.append(
        Dimension(
            "weep_sp",
            (first, -reach + 62),
            (first + apart, -reach + 62),
            apart,
            "x",
            "bottom",
        )
    )
    return Section(
        "opening", "Window opening from outside", "face", box, tuple(parts), tuple(sizes),
        sides=("seen from outside", ""), notes=(OWN_SIZE, *(("Tapes, film and fixings are on the membrane behind the leaf.",) if framed else ())),
    )  # fmt: skip
