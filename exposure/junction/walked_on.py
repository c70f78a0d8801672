"""What is walked on over the membrane of a closed deck: its top is the level from which every height over the deck counts."""

from exposure.junction.numbers import Numbers
from exposure.junction.scene import Layer, Point, rectangle
from exposure.junction.threshold import BAR, GRATING

WALKED = 60.0  # mm, its top over the membrane at the wall; no line sizes it
PAVED = 25.0  # mm thick
PAVED_OFF = 30.0  # mm, clear of what is turned up
SUPPORTS, SUPPORT_WIDE = (30.0, 190.0), 40.0  # mm from its end
GRATED = 7 * BAR  # mm, grating before a door where snow lies


def walked_on_it(
    left: float, end: float, membrane_at: float, fall: float, over: float | None = None
) -> list[Layer]:
    """What is walked on, on supports over the deck's membrane, which lies at ``membrane_at`` below ``end``; clear of what stands there.

    Parameters
    ----------
    over
        Its top, where that does not count from there.
    """
    stop, under = end - PAVED_OFF, (membrane_at + WALKED if over is None else over) - PAVED
    parts = [
        Layer("walked on", "paving", rectangle(left, under, stop, under + PAVED), "What is walked on, clear of what is turned up", (), "support 0", order=5)
    ]  # fmt: skip
    for place, from_end in enumerate(SUPPORTS):
        outer, inner = max(stop - from_end - SUPPORT_WIDE, left), stop - from_end
        if inner - outer < SUPPORT_WIDE / 2:
            continue
        outline = (
            (outer, membrane_at - fall * (end - outer)),
            (inner, membrane_at - fall * (end - inner)),
            (inner, under),
            (outer, under),
        )
        parts.append(
            Layer(f"support {place}", "packer", outline, "Supports of it, beyond the cut" if place == 0 else "", (), "deck membrane", cut=False, order=5)
        )  # fmt: skip
    return parts


def walked_on_at_door(numbers: Numbers, left: float, end: float, deck: float, fall: float) -> list[Layer]:
    """What is walked on before a door; where snow lies its first strip is a grating."""
    if not numbers.has("deck_snow"):
        return walked_on_it(left, end, deck, fall)
    inner, top = end - PAVED_OFF, deck + WALKED
    outer, rest = inner - GRATED, top - GRATING
    teeth: list[Point] = [(outer, rest), (inner, rest)]
    x = inner
    while x > outer + 1:
        teeth += [(x, top), (x - BAR / 3, top), (x - BAR / 3, rest + 4), (x - BAR, rest + 4)]
        x -= BAR
    bearers = []
    for place, from_end in enumerate((0.0, GRATED - BAR)):
        a, b = inner - from_end - BAR / 2, inner - from_end
        foot = ((a, deck - fall * (end - a)), (b, deck - fall * (end - b)), (b, rest), (a, rest))
        bearers.append(
            Layer(f"bearer {place}", "packer", foot, "", ("deck_snow",), "deck membrane", cut=False, order=5)
        )
    said = "Grating over its channel, the room below it, as long as the door is wide, on feet beyond the cut"
    return [
        Layer("grating", "bracket", tuple(teeth), said, ("deck_snow",), "bearer 0", cut=False, order=5),
        *bearers,
        *walked_on_it(left, outer + PAVED_OFF - 2, deck - fall * (end - outer), fall, over=top),
    ]
