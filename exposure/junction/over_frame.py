"""What is set over a window's frame besides its flashing: the sealant between the two, and a hood on the cladding."""

from collections.abc import Callable

from exposure.detail.order import hood_clear
from exposure.junction.build_up import Wall, face_over
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, SHEET, Dimension, Layer, Point, rectangle, sheet
from exposure.junction.window import IN_REVEAL_OUT, TRIM, UNDER_FLANGE, Frame

SEALED = "sealed to the window too"
SEAL, LEAST_SEAL = 10.0, 4.0  # mm, depth of the sealant between flashing and frame
HOOD_OVER, HOOD_LEG = 25.0, 45.0  # mm, its bend over the edge of the cladding, and its leg up that
HOOD_FALL = 0.3
HOOD_BEAD = 6.0  # mm, sealant over its top edge
WITHIN = 5.0  # mm, trim or lining short of the end of the flashing over it


def sealant_over(
    numbers: Numbers, frame: Frame, soffit: Callable[[float], float], *, back: Point, lined: float
) -> list[Layer]:
    """Sealant under the flashing where its ends' row asks it: onto the frame, or onto the tape behind its leg and from that to a frame that stands behind it.

    Parameters
    ----------
    soffit
        Height of the flashing's underside at x.
    back
        Where the tape on the wall begins, behind the flashing's leg.
    lined
        Height of the tape that lines the opening over the frame.
    """
    if numbers.values.get("head_ends") != SEALED:
        return []
    if frame.on_cladding:
        near, name = frame.outer - UNDER_FLANGE, "Sealant between flashing and flange, without a break"
        behind = ((near, FILM), (near + SEAL, FILM), (near + SEAL, soffit(near + SEAL)), (near, soffit(near)))
        return [Layer("head seal", "sealant", behind, name, ("head_ends",), "flashing", order=3)]
    end = min(frame.outer + SEAL, back[0])
    if not frame.taped and end - frame.outer >= LEAST_SEAL:
        name = "Sealant between flashing and frame, without a break, on a rod where the gap is wide"
        outline = ((frame.outer, 0.0), (end, 0.0), (end, soffit(end)), (frame.outer, soffit(frame.outer)))
        return [Layer("head seal", "sealant", outline, name, ("head_ends",), "flashing", order=3)]
    name = "Sealant between flashing and the frame's tape, without a break"
    if frame.flange:
        name = "Sealant between flashing and the head tape over the flange, without a break"
    elif not frame.taped:
        name = "Sealant between flashing and lining tape, and from that to the frame, without a break"
    out = back[0] - SEAL
    fillet = (back, (back[0], soffit(back[0])), (out, soffit(out)))
    parts = [Layer("head seal", "sealant", fillet, name, ("head_ends",), "flashing", order=3)]
    if not (frame.taped or frame.flange):
        left = max(frame.outer, 0.0)
        bead = rectangle(left, 0, left + SEAL, lined)
        parts.append(Layer("frame seal", "sealant", bead, name, ("head_ends",), "frame", order=3))
    return parts


def is_lined(wall: Wall, frame: Frame) -> bool:
    """Whether a lining closes the slot between a flange's frame and the cladding, which opens into the cavity."""
    return frame.flange and wall.cavity > 0 and frame.outer > wall.face + 1


def jamb_beyond(
    wall: Wall, frame: Frame, edge: Callable[[float], float], *, end: float, where: str
) -> list[Layer]:
    """Trim or reveal lining at the jamb, seen beyond the cut, from the ``end`` of the drawing to its ``edge``, given by x; ``where`` that lies."""
    if frame.trimmed:
        row, order, what = "jamb_cover", 8, "Trim"
    elif is_lined(wall, frame):
        row, order, what = "reveal", 9, "Reveal lining"
    else:
        return []
    out, inner = before_cladding(wall, frame), max(frame.outer, wall.face)
    outline = ((out, end), (inner, end), (inner, edge(inner)), (out, edge(out)))
    return [
        Layer(
            "jamb beyond",
            "trim",
            outline,
            f"{what}, seen beyond, {where}",
            (row,),
            "frame",
            cut=False,
            order=order,
        )
    ]


def trim_along_head(
    numbers: Numbers, wall: Wall, frame: Frame, soffit: Callable[[float], float], *, top: float
) -> list[Layer]:
    """The trim over the joint of a box frame before the boards: from under the flashing, whose underside is ``soffit`` by x, at most up to ``top``, down over the frame."""
    if not frame.trimmed or frame.taped:
        return []
    out, inner, low = before_cladding(wall, frame), frame.outer, -numbers.length("jamb_cover")
    ends = [(out, min(soffit(out), top)), (inner, min(soffit(inner), top))]
    if soffit(out) < top < soffit(inner):
        ends.insert(1, (out + (inner - out) * (top - soffit(out)) / (soffit(inner) - soffit(out)), top))
    name = "Trim along the head, up under the flashing"
    outline = ((inner, low), (out, low), *ends)
    return [Layer("head trim", "trim", outline, name, ("jamb_cover",), "frame", order=8)]


def over_the_edge(numbers: Numbers, most: float) -> float:
    """How far trim or lining lie past the edge of the opening: ``most``, and within the flashing over them."""
    return min(most, numbers.length("head_past", most + WITHIN) - WITHIN)


def before_cladding(wall: Wall, frame: Frame) -> float:
    """Outer face of what closes the jamb: before the cladding where trim, lining or a flange on it do."""
    if frame.on_cladding:
        return wall.face - UNDER_FLANGE - FILM
    if frame.trimmed:
        return wall.face - (IN_REVEAL_OUT if frame.outer > wall.face + 1 else TRIM)
    return wall.face - (IN_REVEAL_OUT if is_lined(wall, frame) else 0.0)


def hood(
    numbers: Numbers, wall: Wall, frame: Frame, *, foot: float, drip: float
) -> tuple[list[Layer], list[Dimension]]:
    """The hood ordered over a frame whose flange lies on the cladding, its leg along the face of that, and how far it stands clear of the frame's face.

    Parameters
    ----------
    foot
        Lower edge of the cladding over the window, which carries the hood.
    drip
        Lower edge of the hood.
    """
    clear = hood_clear(str(numbers.values.get("reveal_face", "")))
    if not frame.on_cladding or clear is None:
        return [], []
    out, bend = frame.outer - clear, foot + HOOD_OVER
    top = bend + HOOD_LEG
    on = face_over(wall, foot, top)
    way = [(on, top), (face_over(wall, foot, bend), bend), (out, bend - HOOD_FALL * clear), (out, drip)]
    plate = sheet(way, -SHEET)
    bead = ((on, top), plate[-1], (plate[-1][0], top + HOOD_BEAD / 2), (face_over(wall, foot, top + HOOD_BEAD), top + HOOD_BEAD))  # fmt: skip
    name = "Hood over the window, top edge sealed, open below"
    parts = [
        Layer("hood", "metal", plate, name, ("reveal_face",), "cladding", order=8),
        Layer("hood seal", "sealant", bead, "", ("reveal_face",), "cladding", order=8),
    ]
    return parts, [
        Dimension("reveal_face", (out, drip), (frame.outer, drip), clear, "x", "bottom", name="hood")
    ]
