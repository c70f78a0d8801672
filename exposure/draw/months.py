"""When the rain comes: the share of a year's driving rain in each month."""

from collections.abc import Sequence
from functools import partial

from exposure.draw.drawing import MONTH_LETTERS, picture, stroke, text
from exposure.draw.palette import INK, RAIN, SOFT
from exposure.figures import NO_BREAK, percent

MONTH_NAMES = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
BEST_RUN = 3  # months in the season worth working in
MUCH = 0.7  # share the wet season's sentence speaks of


def whole_shares(share: Sequence[float]) -> list[int]:
    """Shares as whole percent that add up to a hundred, by largest remainder; all zero where there is no rain.

    Examples
    --------
    >>> whole_shares([1, 1, 1])
    [34, 33, 33]
    """
    total = sum(share)
    if total <= 0:
        return [0] * len(share)
    exact = [100 * part / total for part in share]
    down = [int(part) for part in exact]
    order = sorted(range(len(exact)), key=lambda place: (down[place] - exact[place], place))
    for place in order[: 100 - sum(down)]:
        down[place] += 1
    return down


def months(
    share: Sequence[float],
    *,
    width: int = 520,
    title: str = "Driving rain by month, % of the year",
    prefix: str = "months",
) -> str:
    """Draw twelve bars, January first; shares of any scale.

    Examples
    --------
    >>> "January 12 %" in months([12, 10, 9, 6, 4, 3, 3, 5, 8, 12, 14, 14]).replace(NO_BREAK, " ")
    True
    """
    figures = whole_shares(share)
    tall, cell = 64, width / 12
    top = max(*share, 1e-9)
    parts = []
    for place, (letter, part, figure) in enumerate(zip(MONTH_LETTERS, share, figures, strict=True)):
        high, left = tall * part / top, place * cell
        parts.append(
            f'<rect x="{left + 4:.1f}" y="{tall + 18 - high:.1f}" width="{cell - 8:.1f}" height="{high:.1f}" fill="{RAIN}"/>'
        )
        parts.append(text(left + cell / 2, tall + 13 - high, figure, size=12, anchor="middle", colour=INK))
        parts.append(text(left + cell / 2, tall + 34, letter, size=13, anchor="middle", colour=SOFT))
    parts.append(stroke(f"M0 {tall + 18} H{width}", width=1.25))
    desc = ", ".join(f"{name} {figure}{NO_BREAK}%" for name, figure in zip(MONTH_NAMES, figures, strict=True))
    return picture("".join(parts), width=width, height=tall + 40, title=title, desc=f"{desc}.", prefix=prefix)


def months_sentence(share: Sequence[float]) -> str:
    """Which run of months brings most of the rain, and which three are the driest.

    Examples
    --------
    >>> months_sentence([12, 10, 9, 6, 4, 3, 3, 5, 8, 12, 14, 14]).replace(NO_BREAK, " ")
    'October to March brings 71 % of the year. May to July is driest, with 10 %.'
    """
    total = sum(share)
    if total <= 0:
        return "No driving rain in any month."
    parts = [part / total for part in share]

    def run(first: int, length: int) -> float:
        return sum(parts[(first + step) % 12] for step in range(length))

    for length in range(1, 13):
        first = max(range(12), key=partial(run, length=length))
        if run(first, length) >= MUCH:
            break
    dry = min(range(12), key=lambda start: run(start, BEST_RUN))
    words = f"{MONTH_NAMES[first]} to {MONTH_NAMES[(first + length - 1) % 12]} brings {percent(run(first, length))} of the year."
    if length == 1:
        words = f"{MONTH_NAMES[first]} alone brings {percent(run(first, 1))} of the year."
    return (
        f"{words} {MONTH_NAMES[dry]} to {MONTH_NAMES[(dry + BEST_RUN - 1) % 12]} is driest, "
        f"with {percent(run(dry, BEST_RUN))}."
    )
