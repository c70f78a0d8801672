"""A pipe through the wall, upright section: its fall outward, and what seals it to the membrane."""

from dataclasses import replace
from math import radians, tan

from exposure.junction.build_up import battens, cladding, core, lining, wall_of
from exposure.junction.laps import BACKING, STUD_WIDE, backed
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, SHEET, Dimension, Layer, Point, Section, sheet

RADIUS = 25.0
OUT, PAST = 70.0, 15.0  # mm, pipe before the cladding, and at least before the end of tape round it
BEYOND = 110.0
FLANGE, CLEAR = 60.0, 10.0  # mm, of a flange beside its pipe at least, flange between pipe and tape
ROUND, TUBE, SEAL = (
    8.0,
    3.0,
    10.0,
)  # mm, room between pipe and sleeve, the sleeve's thickness, depth of the seal at each end
JOINT, SEALED, IN_LEAF = (
    12.0,
    12.0,
    25.0,
)  # mm, joint round the pipe, the depth of its sealant in cladding and in a leaf; no line sizes them
HOOD_PAST = 18.0  # mm, hood before the end of the pipe
ON_LINING = 14.0  # mm, sealant on the lining, and along the pipe there
OFF_SEALANT = 3.0  # mm, at least, from the end of the tape on the pipe to the sealant, which else lies on it
TOE = 5.0  # mm, of sealant on the pipe before the end of tape
BEAD = 8.0  # mm, height of the sealant along the top edge of a hood
FORMS = ("taped", "flange", "sleeve with a flange", "sleeve and hood, or another wall")
NAMES = ("", "Flange round the pipe", *("Sleeve with a flange, in to the face of the lining",) * 2)


def flange_beside(numbers: Numbers) -> float:
    """How far a flange lies beside its pipe: tape has its bond on it. [mm]"""
    return max(FLANGE, numbers.length("tape_bond", 0.0) + CLEAR)


def pipe(numbers: Numbers) -> Section:
    """A pipe that falls outward."""
    wall = wall_of(numbers)
    angle = numbers.length("pen_slope")
    rise = tan(radians(angle))
    onto = numbers.length("pen_tape") if wall.film else 60.0

    def above(x: float) -> float:
        return RADIUS + rise * x

    def below(x: float) -> float:
        return rise * x - RADIUS

    bond, flange = numbers.length("tape_bond", 0.0), flange_beside(numbers)
    tip = -2 * FILM - bond
    start, end = min(wall.face - OUT, tip - PAST), wall.room + 45
    form = FORMS.index(str(numbers.values.get("pen_form", FORMS[0])))
    sleeved = ROUND + TUBE if wall.film and form > 1 else 0.0  # what a sleeve takes beside the pipe
    reach = onto if form == 0 else flange + sleeved + onto
    low, high = below(start) - reach - BEYOND, above(end) + reach + BEYOND
    parts = [
        Layer("pipe", "pipe", ((start, below(start)), (end, below(end)), (end, above(end)), (start, above(start))), "Pipe, falling outward",
              ("pen_slope",), "outer seal" if sleeved else "blocking" if wall.film and not form and not wall.board else "core", water=True, order=4),
    ]  # fmt: skip
    whole = [*core(wall, low, high), lining(wall, low, high)]
    whole.append(
        replace(cladding(wall, low, high), carrier="", outline=_block(wall.face, wall.leaf_back, low, high))
    )
    sealed = numbers.has("pen_joint")
    under = wall.film and form == 0 and sealed and tip < wall.face + SEALED + OFF_SEALANT
    tip, taped = (min(tip, wall.face), FILM) if under else (tip, 0.0)
    for layer in whole:
        x0, x1 = min(x for x, _ in layer.outline), max(x for x, _ in layer.outline)
        gap = JOINT * sealed + taped if layer.key == "cladding" else sleeved
        upper = ((x0, above(x0) + gap), (x1, above(x1) + gap), (x1, high), (x0, high))
        lower = ((x0, low), (x1, low), (x1, below(x1) - gap), (x0, below(x0) - gap))
        below_it = replace(layer, outline=lower)
        above_it = replace(layer, key=f"{layer.key} above", outline=upper, carrier=_above(layer.carrier))
        if wall.film and layer.key == "core" and not wall.board:
            parts += (
                [*backed([below_it], below(-2 * FILM) - sleeved - flange), above_it]
                if form
                else _blocked(below_it, above_it)
            )
        else:
            parts += [below_it, above_it]
    if sealed:
        deep, where = (IN_LEAF, "leaf") if wall.masonry else (SEALED, "cladding")
        inner = wall.face + deep
        shape = _along(wall.face, inner, above, taped, taped + JOINT)
        if under:  # and over the tape's end
            shape = (
                *shape[1:],
                (tip, above(tip) + 2.5 * FILM),
                (tip - TOE, above(tip - TOE)),
                (tip, above(tip)),
                (tip, above(tip) + FILM),
            )
        name = f"Sealant at top and sides of the pipe in the {where}{', over the tape to its end' if under else ''}, the joint below it open"
        parts.append(Layer("joint", "sealant", shape, name, ("pen_joint",), "cladding above", order=8))
    if wall.cavity and not wall.masonry:
        parts.append(battens(wall, low, high))
    dimensions = [
        Dimension("pen_slope", (start, below(start)), (wall.face, below(wall.face)), angle, "fall °")
    ]
    if wall.film and form == 3:
        edge = start - HOOD_PAST
        leg = above(wall.face) + 55
        hood = [(wall.face, leg), (wall.face, above(wall.face) + 20), (edge, above(edge) + 12), (edge, below(start) - 8)]  # fmt: skip
        bead = ((wall.face, leg + BEAD), (wall.face, leg), (wall.face - SHEET, leg))
        parts += [
            Layer("hood", "metal", sheet(hood, -SHEET), "Hood over the end of the pipe, open below, fixed as its maker says", ("pen_form",), "cladding above", order=8),
            Layer("hood seal", "sealant", bead, "Sealant along top edge and sides of the hood", ("pen_form",), "cladding above", order=8),
        ]  # fmt: skip
    if wall.film:
        seal, sizes = _seal(
            form,
            (onto, bond, tip, flange),
            lambda x: above(x) + sleeved,
            lambda x: below(x) - sleeved,
            low,
            high,
            boards=bool(wall.board),
        )
        parts += seal
        if sleeved:
            parts += _sleeve(wall.room, above, below)
        dimensions += sizes
    parts += _on_lining(wall.room, sleeved, above, below)
    air: tuple[Point, ...] = ((start - 5, low + 5), (start - 5, high - 5))
    if wall.cavity:
        middle = (wall.leaf_back + wall.skin) / 2
        air += ((middle, low + 2), (middle - FILM, high - 2))
    return Section(
        "pipe", "Pipe through the wall, upright section", "upright", (start - HOOD_PAST - 25, low, end, high), tuple(parts), tuple(dimensions),
        outdoors=air, indoors=((wall.room + 20, low + 5), (wall.room + 20, high - 5)),
        drop=(wall.face, high - 20),
        water_ends=("membrane", "membrane above") if wall.film else (),
    )  # fmt: skip


def _blocked(under: Layer, over: Layer) -> list[Layer]:
    """Framing ``under`` and ``over`` a pipe sealed by tape alone, blocking at the cut edge of the membrane all round it."""
    low, _, right, left = under.outline
    first, second, top, last = over.outline
    foot, head = left[1] - STUD_WIDE, second[1] + STUD_WIDE
    deep, high = (low[0], foot), (right[0], head)
    block = Layer("blocking", "timber", (deep, (right[0], foot), right, left), BACKING, (), "core", order=2)
    return [
        replace(under, outline=(low, under.outline[1], block.outline[1], deep)),
        block,
        replace(block, key="blocking above", outline=(first, second, high, (low[0], head)), name="", carrier="core above"),
        replace(over, outline=((low[0], head), high, top, last)),
    ]  # fmt: skip


def _above(carrier: str) -> str:
    return f"{carrier} above" if carrier else ""


def _block(left: float, right: float, low: float, high: float) -> tuple[Point, ...]:
    return ((left, low), (right, low), (right, high), (left, high))


def _sleeve(room: float, above, below) -> list[Layer]:
    """The tube of a sleeve from its flange to the face of the lining, and the seal between it and the pipe at both ends."""
    face = -2 * FILM
    parts = []
    for upper, edge, way in (("", below, -1), (" above", above, 1)):
        key, tube = f"sleeve{upper}", _along(face, room, edge, way * ROUND, way * (ROUND + TUBE))
        parts.append(Layer(key, "flange", tube, NAMES[2], ("pen_form",), f"core{upper}", water=True, order=4))
        for where, first in (("outer", face), ("inner", room - SEAL)):
            bead = _along(first, first + SEAL, edge, 0, way * ROUND)
            parts.append(
                Layer(f"{where} seal{upper}", "sealant", bead, "Sleeve's seal to its pipe, at both ends", ("pen_form",), key, water=True, order=4)
            )  # fmt: skip
    return parts


def _on_lining(room: float, sleeved: float, above, below) -> list[Layer]:
    """The bead that joins the pipe, and its sleeve, to the face of the airtight lining."""
    name = f"Lining sealed to the {'sleeve' if sleeved else 'pipe'}, airtight"
    parts = []
    for upper, edge, way in (("", below, -1), (" above", above, 1)):
        face = edge(room)
        bead = (
            (room, face),
            (room + ON_LINING, edge(room + ON_LINING)),
            (room, face + way * (sleeved + ON_LINING)),
        )
        parts.append(
            Layer(f"lining seal{upper}", "sealant", bead, name, (), f"lining{upper}", air=True, order=9)
        )
    return parts


def _along(first: float, last: float, edge, near: float, far: float) -> tuple[Point, ...]:
    """What lies along an ``edge`` of the pipe, so far from it."""
    return (
        (first, edge(first) + near),
        (last, edge(last) + near),
        (last, edge(last) + far),
        (first, edge(first) + far),
    )


def _seal(
    form: int, lies: tuple[float, float, float, float], above, below, low: float, high: float, *, boards: bool
) -> tuple[list[Layer], list[Dimension]]:
    """Membrane under and over the pipe, with flange or tape between: lower edge over, upper edge under.

    ``lies`` is how far the tape lies on the membrane and at least on pipe or flange, where on the pipe it ends, and how wide the flange is.
    """
    onto, bond, tip, flange = lies
    holder = "core board" if boards else "core"
    foot = below(-2 * FILM)
    crown = above(0)
    if form == 0:
        top, bottom = above(-FILM) + onto, foot - onto
        end = -2 * FILM - bond
        sizes = [
            Dimension("pen_tape", (-FILM, above(-FILM)), (-FILM, top), onto, "y", "left"),
            Dimension("tape_bond", (end, below(end)), (-2 * FILM, foot), bond, "x", "bottom", name="least on pipe"),
        ]  # fmt: skip
    else:
        top, bottom = crown + flange, foot - flange
        behind = Dimension(
            "tape_bond", (-2 * FILM, top - bond), (-2 * FILM, top), bond, "y", "left", name="behind"
        )
        sizes = [behind]
    edge = foot if form == 0 else bottom  # from which the tape is measured
    seal = ("pen_tape", "tape_bond", "pen_form") if form == 0 else ("pen_form",)
    material = "tape" if form == 0 else "flange"
    if form == 0:  # the tape over the pipe comes last, on the sheet
        upper: tuple[Point, ...] = ((-FILM, above(-FILM)), (0, crown), (0, high), (-FILM, high))
        name, rows = "Membrane", ("mem_class",)
        last: tuple[Point, ...] = (
            (tip, above(tip)),
            (-FILM, above(-FILM)),
            (-FILM, top),
            (-2 * FILM, top),
            (-2 * FILM, above(-2 * FILM) + FILM),
            (tip, above(tip) + FILM),
        )
        before: tuple[Point, ...] = (
            (-2 * FILM, bottom),
            (-FILM, bottom),
            (-FILM, below(-FILM)),
            (tip, below(tip)),
            (tip, below(tip) - FILM),
            (-2 * FILM, below(-2 * FILM) - FILM),
        )
        title = f"Tape round the pipe, at least {bond:g} mm of it turned onto the pipe"
    else:
        lapped = [(-FILM, high), (-FILM, top + 8), (-2 * FILM, top + 4), (-2 * FILM, top - bond)]
        upper, name, rows = sheet(lapped, FILM), "Membrane, lapped over from above", ("pen_form",)
        last = ((-FILM, above(-FILM)), (0, crown), (0, top), (-FILM, top))
        title = NAMES[form]
        before = ((-2 * FILM, bottom), (-FILM, bottom), (-FILM, below(-FILM)), (-2 * FILM, foot))
    parts = [
        Layer("membrane", "membrane", ((-FILM, low), (0, low), (0, below(0)), (-FILM, below(-FILM))), "Membrane", ("mem_class",), holder,
              water=True, order=2),
        Layer("membrane above", "membrane", upper, name, rows, f"{holder} above",
              water=True, order=4),
        Layer("seal under", material, before, title, seal, "membrane", water=True, order=4),
        Layer("seal over", material, last, title, seal, "sleeve above" if form > 1 else "pipe", water=True, order=4),
    ]  # fmt: skip
    if form:
        tape = ((-3 * FILM, edge + bond), (-3 * FILM, edge), (-2 * FILM, edge - FILM), (-2 * FILM, edge - onto), (-FILM, edge - onto), (-FILM, edge),
                (-2 * FILM, edge), (-2 * FILM, edge + bond))  # fmt: skip
        parts.append(
            Layer("flange tape", "tape", tape, "Tape over the lower edge and sides of the flange", ("pen_tape", "tape_bond"), "seal under", water=True, order=4)
        )  # fmt: skip
    return parts, [
        Dimension("pen_tape", (-2 * FILM, edge - onto), (-2 * FILM, edge), onto, "y", "left"),
        *sizes,
    ]
