"""The ground and the hills round a site, by the direction the wind comes from."""

from collections.abc import Sequence

from exposure.draw.drawing import Point, compass_letters, path, picture, polar, stroke, text
from exposure.draw.palette import INK, PAPER
from exposure.tables import load_table

TONES = {
    "I": "#FFFFFF",
    "II": "#EDEFEF",
    "III": "#D5DADB",
    "IV": "#B4BCBF",
}  # smooth to rough; ink reads on each
SHOWN_HILL = 1.005  # a smaller coefficient prints as 1.00
SECTOR_NAMES = (
    "north", "north-north-east", "east-north-east", "east", "east-south-east", "south-south-east",
    "south", "south-south-west", "west-south-west", "west", "west-north-west", "north-north-west",
)  # fmt: skip


def ground_ring(
    terrain: Sequence[str],
    topography: Sequence[float],
    *,
    size: int = 340,
    facing: float | None = None,
    title: str = "Ground and hills by direction",
    prefix: str = "ground",
) -> str:
    """Draw twelve sectors, each with its terrain category and, where there is a hill, its topography coefficient.

    ``facing`` [degree] puts a short wall and an arrow in the middle: the way a wall in question looks.

    Examples
    --------
    >>> "north: II" in ground_ring(["II"] * 12, [1.0] * 12)
    True
    """
    centre: Point = (size / 2, size / 2)
    outer, inner = size / 2 - 24, size * 0.13
    parts = []
    for sector, (category, hill) in enumerate(zip(terrain, topography, strict=True)):
        bearings = [30 * sector - 15 + step * 5 for step in range(7)]
        edge = [polar(centre, outer, bearing) for bearing in bearings]
        edge += [polar(centre, inner, bearing) for bearing in reversed(bearings)]
        parts.append(
            f'<path d="{path(edge, close=True)}" fill="{TONES.get(category, PAPER)}" stroke="{INK}" stroke-width="0.75"/>'
        )
        x, y = polar(centre, (outer + inner) / 2 + 8, 30 * sector)
        parts.append(
            text(x, y + (0 if hill >= SHOWN_HILL else 5), category, size=14, bold=True, anchor="middle")
        )
        if hill >= SHOWN_HILL:
            parts.append(text(x, y + 14, f"×{hill:.2f}", size=12, anchor="middle"))
    parts.append(_middle(centre, inner, facing))
    parts.append(compass_letters(centre, outer + 14))
    desc = "; ".join(
        f"{way}: {category}" + (f", hill times {hill:.2f}" if hill >= SHOWN_HILL else "")
        for way, category, hill in zip(SECTOR_NAMES, terrain, topography, strict=True)
    )
    return picture("".join(parts), width=size, height=size, title=title, desc=f"{desc}.", prefix=prefix)


def _middle(centre: Point, inner: float, facing: float | None) -> str:
    """A cross, or a wall with an arrow the way it faces."""
    if facing is None:
        return stroke(f"M{centre[0] - 6} {centre[1]} h12 M{centre[0]} {centre[1] - 6} v12", width=1.6)
    tip = polar(centre, inner - 5, facing)
    barbs = [polar(tip, 9, facing + turn) for turn in (155, -155)]
    wall = [polar(centre, 13, facing + turn) for turn in (-90, 90)]
    return (
        stroke(path([centre, tip]), width=2)
        + stroke(path([barbs[0], tip, barbs[1]]), width=2)
        + stroke(path(wall), width=6.5)
    )


def ground_caption(terrain: Sequence[str], *, facing: bool = False) -> str:
    """What the categories on the ring mean.

    Examples
    --------
    >>> ground_caption(["II"] * 12)
    'Ground the wind comes over, II: farmland. × stands for a hill.'
    """
    words = {row["category"]: row["in_short"] for row in load_table("terrain")["row"]}
    used = [category for category in words if category in terrain]
    listed = "; ".join(f"{category}: {words[category]}" for category in used)
    middle = " Middle: the way the worst wall faces." if facing else ""
    return f"Ground the wind comes over, {listed}. × stands for a hill.{middle}"
