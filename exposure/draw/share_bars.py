"""Areas as bars of one length, each cut by how much of its walls is of which class."""

from collections.abc import Mapping, Sequence

from exposure.draw.drawing import HAIR, hatched, path, picture, rectangle, stroke, text
from exposure.draw.lettering import clean, fit
from exposure.draw.palette import CLASS_LOOKS, SOFT

ROW, BAR, NAMES = 30.0, 18.0, 210.0  # height of a row and of its bar, room for names
NARROW, NARROW_ROW = 300, 50.0  # width and row where names stand above their bars


def share_bars(
    rows: Sequence[tuple[str, Mapping[str, float]]], *, narrow: bool = False, prefix: str = "shares"
) -> str:
    """Draw each area's shares, 0 to 1, by class; ``narrow``: for a phone, names above the bars.

    Examples
    --------
    >>> "North: sheltered 25 %, severe 75 %" in share_bars([("North", {"sheltered": 0.25, "severe": 0.75})])
    True
    """
    width, names, row = (NARROW, 1.0, NARROW_ROW) if narrow else (900, NAMES, ROW)
    length = width - names - (2.0 if narrow else 12.0)
    parts, top = _key(names, width), 54.0 if narrow else 34.0
    for number, (name, shares) in enumerate(rows):
        y = top + number * row
        if narrow:
            parts.append(text(0, y + 13, fit(name, width=width, size=14), size=14))
            y += 20
        else:
            parts.append(
                text(names - 10, y + BAR - 4, fit(name, width=names - 20, size=13), size=13, anchor="end")
            )
        left = names
        for class_name in CLASS_LOOKS:
            part = shares.get(class_name, 0.0)
            if not part > 0:
                continue
            parts.append(hatched(rectangle(left, y, part * length, BAR), class_name))
            left += part * length
    foot = top + len(rows) * row
    if not narrow:
        ticks = " ".join(
            path([(names + k * length / 4, top - 4), (names + k * length / 4, foot)]) for k in range(5)
        )
        parts.insert(0, stroke(ticks, colour=HAIR))
    parts += [
        text(
            names + k * length / 4,
            foot + 14,
            f"{25 * k} %",
            size=12,
            anchor="end" if k == 4 else "start" if narrow and k == 0 else "middle",
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


def _key(left: float, width: float) -> list[str]:
    """What each class looks like, in as many lines as its words need."""
    parts, x, y = [], left, 6.0
    for name in CLASS_LOOKS:
        wide = 42 + 7.5 * len(name)
        if x > left and x + wide > width:
            x, y = left, y + 22
        parts.append(hatched(rectangle(x, y, 22, 14), name))
        parts.append(text(x + 28, y + 12, name, size=12))
        x += wide
    return parts
