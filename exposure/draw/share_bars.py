"""Areas as bars of one length, each cut by how much of its walls is of which class."""

from collections.abc import Mapping, Sequence

from exposure.draw.drawing import HAIR, hatched, path, picture, rectangle, stroke, text
from exposure.draw.lettering import clean, fit
from exposure.draw.palette import CLASS_LOOKS, SOFT

ROW, BAR, NAMES = 30.0, 18.0, 210.0  # height of a row and of its bar, room for names
LEAST_FIGURE = 0.07  # of the bar; a narrower part has its figure in the table alone


def share_bars(
    rows: Sequence[tuple[str, Mapping[str, float]]], *, width: int = 900, prefix: str = "shares"
) -> str:
    """Draw each area's shares, 0 to 1, by class.

    Examples
    --------
    >>> "North: sheltered 25 %, severe 75 %" in share_bars([("North", {"sheltered": 0.25, "severe": 0.75})])
    True
    """
    length = width - NAMES - 12.0
    parts, top = [_key(NAMES)], 34.0
    for number, (name, shares) in enumerate(rows):
        y = top + number * ROW
        parts.append(
            text(NAMES - 10, y + BAR - 4, fit(name, width=NAMES - 20, size=13), size=13, anchor="end")
        )
        left = NAMES
        for class_name in CLASS_LOOKS:
            part = shares.get(class_name, 0.0)
            if not part > 0:
                continue
            parts.append(hatched(rectangle(left, y, part * length, BAR), class_name))
            left += part * length
    foot = top + len(rows) * ROW
    ticks = " ".join(
        path([(NAMES + k * length / 4, top - 4), (NAMES + k * length / 4, foot)]) for k in range(5)
    )
    parts.insert(0, stroke(ticks, colour=HAIR))
    parts += [
        text(
            NAMES + k * length / 4,
            foot + 14,
            f"{25 * k} %",
            size=12,
            anchor="end" if k == 4 else "middle",
            colour=SOFT,
        )
        for k in range(5)
    ]
    told = "; ".join(f"{clean(name)}: {_words(shares)}" for name, shares in rows[:40])
    return picture(
        "".join(parts), width=width, height=foot + 22, title="Walls by class", desc=f"{told}.", prefix=prefix
    )  # fmt: skip


def _words(shares: Mapping[str, float]) -> str:
    return ", ".join(
        f"{name} {shares[name]:.0%}".replace("%", " %") for name in CLASS_LOOKS if shares.get(name, 0) > 0
    )


def _key(left: float) -> str:
    parts, x = [], left
    for name in CLASS_LOOKS:
        parts.append(hatched(rectangle(x, 6, 22, 14), name))
        parts.append(text(x + 28, 18, name, size=12))
        x += 42 + 7.5 * len(name)
    return "".join(parts)
