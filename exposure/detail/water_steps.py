"""How a water check is done: water and minutes by the size of the opening, set-up, steps from below upward."""

from collections.abc import Mapping, Sequence
from math import ceil, floor

from exposure.detail.ladder import STUD_LAYERS
from exposure.detail.openings import Opening
from exposure.detail.schedule_parts import ScheduleLine, Step
from exposure.figures import NO_BREAK, amount, millimetres, number

NOZZLE_METRES = 1.5  # m of joint in one go, AAMA 501.2 (from memory)
NOZZLE_MINUTES = 5  # min for that, the same
MARGIN = 300.0  # mm of wall wetted round the opening, so that its joint is under water too; our choice
USUAL = (1200.0, 1200.0)  # mm, the opening told of where none is listed
HOSE_MOST = 15.0  # L/min that one garden hose gives at most as a rule; our choice, the bucket tells
WIND_MOST = 5.0  # m/s, twigs move; more and the spray drifts off the joint; our choice
WATCH = 15.0  # min to look on after the water is off, at least; our choice
SPRAY_DISTANCE = 400  # mm from rack to face, so that the cones meet; our choice, the rack's maker decides
HAND_SPRAY_DISTANCE = 1000  # mm from a soft garden spray; our choice


def wetted_area(*, width: float, height: float) -> float:
    """Area of an opening and the wall that is wetted round it; width and height in mm. [m2]

    Examples
    --------
    >>> round(wetted_area(width=1200, height=1200), 2)
    3.24
    """
    return (width + 2 * MARGIN) * (height + 2 * MARGIN) / 1e6


def joint_minutes(length: float) -> float:
    """How long a joint of ``length`` [mm] is wetted by itself: 5 min for each 1.5 m begun. [min]

    Examples
    --------
    >>> joint_minutes(1200), joint_minutes(1600)
    (5, 10)
    """
    return NOZZLE_MINUTES * max(1, ceil(length / (1000 * NOZZLE_METRES)))


def _different(sizes: Sequence[Opening]) -> list[tuple[float, float]]:
    """Width and height of each size, the smallest first; the usual one where none is listed."""
    listed = sorted(
        {(one.width, one.height) for one in sizes}, key=lambda one: wetted_area(width=one[0], height=one[1])
    )
    return listed or [USUAL]


def rate_words(rate: float, sizes: Sequence[Opening], *, pressed: bool = False) -> str:
    """How much water, on each square metre and for each size of opening; ``pressed`` where a rack gives it."""
    if not rate:
        return "A soft spray by hand, not measured at this level."
    return f"{amount(rate, 'L/(m²·min)')} on the opening and {millimetres(MARGIN)} round it. {litres_by_size(rate, sizes, pressed=pressed)}"


def litres_by_size(rate: float, sizes: Sequence[Opening], *, pressed: bool) -> str:
    """Area to wet and litres a minute for each size of opening; ``rate`` in L/(m2 min), ``pressed`` where a rack gives it."""
    words = "; ".join(_litres_words(rate, width, height, pressed) for width, height in _different(sizes))
    return words if sizes else f"Taken, since no size is listed here: {words}"


def _litres_words(rate: float, width: float, height: float, pressed: bool) -> str:
    area = wetted_area(width=width, height=height)
    litres = rate * area
    strips = _strips(litres)
    way = (
        f"feed the rack from {strips}"
        if pressed
        else f"wet it in {strips} upright strips, each for its full time"
    )
    many = f", more than one hose gives: {way}" if strips > 1 else ""
    return (
        f"{number(width)} by {millimetres(height)}: {number(area, 1)}{NO_BREAK}m², "
        f"{number(litres)}{NO_BREAK}L a minute{many}"
    )


def _strips(litres: float) -> int:
    """How many upright strips one hose wets one after the other, for ``litres`` a minute in all."""
    return max(1, ceil(litres / HOSE_MOST))


def on_film(lines: Mapping[str, ScheduleLine]) -> bool:
    """Whether the chamber would stand on membrane over open studs, with no board behind it."""
    return STUD_LAYERS in lines


def set_up(
    pressed: bool, rate: float, lines: Mapping[str, ScheduleLine], sizes: Sequence[Opening]
) -> tuple[str, ...]:
    """How to set up, one line for each thing; ``pressed`` where the check is under pressure."""
    joints = (
        f"A joint by itself is wetted {NOZZLE_MINUTES}{NO_BREAK}min for each {NOZZLE_METRES:g}{NO_BREAK}m of the longest listed here, "
        "no longer than the whole opening."
    )
    wind = f"No check in wind above {number(WIND_MOST)}{NO_BREAK}m/s, when twigs move: the spray drifts off the joint."
    inside = "Lining off, inner seal in place, a light and a second person inside."
    if not pressed:
        areas = [wetted_area(width=width, height=height) for width, height in _different(sizes)]
        most = max(rate * area / _strips(rate * area) for area in areas)
        seconds = 600 / most if rate else 0.0
        return (
            f"A garden spray set soft, {millimetres(HAND_SPRAY_DISTANCE)} off, no jet at a joint.",
            "Stand beside the opening, the spray level or downward, never up under a flashing.",
            *(
                [
                    f"Time the hose into a bucket: 10{NO_BREAK}L in {number(floor(seconds))}{NO_BREAK}s or less is enough."
                ]
                if rate
                else []
            ),
            "Film and tape ready, to mask what is not wetted yet.",
            joints,
            wind,
            inside,
        )
    return (
        f"Spray rack {millimetres(SPRAY_DISTANCE)} off, or as its maker says, set to "
        f"{amount(rate, 'L/(m²·min)')} and calibrated with a catch box; a hose for single joints.",
        "A chamber of sheet and frame sealed to the wall inside, round the opening and its joint to the wall.",
        *(
            ["On open studs close the bays round the opening with boards first and seal the chamber to them."]
            if on_film(lines)
            else []
        ),
        "Gauge zeroed with the fan off; its tube away from the water.",
        "Film and tape ready, to mask what is not wetted yet.",
        joints,
        wind,
        inside.replace("inside.", "inside the room, outside the chamber."),
    )


def check_steps(minutes: float, pressures: str, sizes: Sequence[Opening]) -> tuple[Step, ...]:
    """The steps of the check with the minutes of each, from below upward.

    Parameters
    ----------
    minutes
        For the whole opening. [min]
    pressures
        To which the pressure is raised, in words; empty where it is not.
    """
    length = f"{number(minutes)}{NO_BREAK}min"
    widest, tallest = (max(values) for values in zip(*_different(sizes), strict=True))
    across, up, longer = (
        f"{number(min(joint_minutes(size), minutes))}{NO_BREAK}min"
        for size in (widest, tallest, max(widest, tallest))
    )
    steps = [
        Step(
            "Read the moisture of frame and sill inside.",
            "Write it down.",
            "Circuits near the wetting off and locked.",
        ),
        Step(
            f"Mask jambs and head; wet the sill joint alone with the hose, {across}.",
            "Write down start and end.",
            "A second person watches inside: sill corners and the back of the tray, with a light.",
        ),
        Step(f"Unmask the jambs; wet each from the bottom up, {up}.", "", "Watch the lower corners."),
        Step(
            f"Unmask the head; wet it and the flashing's ends, {across}.", "", "Watch head and upper corners."
        ),
        Step(f"Wet the joint of window and wall all round, {longer} a side.", "", ""),
    ]
    whole = Step(
        f"Wet the whole opening and {millimetres(MARGIN)} round it for {length}.",
        "Write down start and end, and whether the tray drains to the outside.",
        "Stop at the first water inside.",
    )
    if not pressures:
        steps.append(whole)
    else:
        steps += [
            Step(whole.text.replace("Wet the", "Without pressure, wet the"), whole.hold, whole.caution),
            Step(
                f"Raise the pressure in steps of 50\u00a0Pa, 5\u00a0min each, to {pressures}, and hold it with the water on for {length}.",
                "Write down pressure, start and end.",
                "Burners off; nobody in front of the glass; never above the window's rating.",
            ),
        ]
    steps += [
        Step(
            f"Water off. Watch for {number(max(minutes, WATCH))}{NO_BREAK}min more: tray corners, frame, floor below.",
            "Write down what is seen.",
            "",
        ),
        Step(
            "Read the moisture again, and once more next day. Close nothing in until it is dry.",
            "Write it down and sign.",
            "",
        ),
        Step(
            f"To find a leak in a fixed joint: nozzle, bottom up, {NOZZLE_METRES:g}{NO_BREAK}m in {NOZZLE_MINUTES}{NO_BREAK}min; "
            "not on opening lights or open joints.",
            "",
            "",
        ),
    ]
    return tuple(steps)
