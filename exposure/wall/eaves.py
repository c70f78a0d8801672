"""Eaves over a wall: what their overhang does to its factor."""

from dataclasses import replace

from exposure.checks import check_between
from exposure.doubts import doubt
from exposure.wall.building import OUTSIDE_TABLE, Untold, Wall

TABLE_OVERHANG = (250.0, 450.0)  # mm; "about 350 mm" of the wall-factor table, our reading
USUAL = 350.0  # mm; the table's own


def with_overhang(wall: Wall, overhang: float) -> Wall:
    """``wall`` under eaves that reach out by ``overhang`` mm, where that changes what the table says.

    The table's eaves walls have about 350 mm. Less is outside the table and takes 0.5, the hardest; more is
    given no more credit, and flagged.

    Examples
    --------
    >>> eaves = Wall(name="south", orientation=180, length=9, height=6, shape="two-storey eaves wall")
    >>> with_overhang(eaves, 100).shape, with_overhang(eaves, 350) == eaves
    ('outside the table', True)
    """
    check_between(overhang, f"overhang of {wall.name}", 0, 5000, "mm")
    low, high = TABLE_OVERHANG
    if "eaves" not in wall.shape or low <= overhang <= high:
        return wall
    if overhang < low:
        return replace(
            wall,
            shape=OUTSIDE_TABLE,
            factor_reason=f"eaves of {overhang:g} mm, narrower than the table's 350 mm",
            flags=(*wall.flags, doubt("wall.narrow_eaves", wall.name, overhang=f"{overhang:g}")),
        )
    note = doubt("wall.wide_eaves", wall.name, overhang=f"{overhang:g}")
    return replace(wall, flags=(*wall.flags, note))


def without_told_eaves(wall: Wall) -> Wall:
    """An eaves wall whose overhang nobody told: no credit is taken, and what 350 mm would make is kept beside.

    Examples
    --------
    >>> eaves = Wall(name="south", orientation=180, length=9, height=6, shape="two-storey eaves wall")
    >>> bare = without_told_eaves(eaves)
    >>> bare.wall_factor, bare.untold[0].answers[0][1].shape
    (0.5, 'two-storey eaves wall')
    """
    if "eaves" not in wall.shape:
        return wall
    return replace(
        wall,
        shape=OUTSIDE_TABLE,
        factor_reason="eaves not told: no credit is taken for them",
        untold=(*wall.untold, Untold("eaves", "no eaves", ((f"{USUAL:g} mm of eaves", wall),))),
    )
