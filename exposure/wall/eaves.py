"""Eaves over a wall: what their overhang does to its factor, and what is taken where nobody gives it."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from exposure.checks import check_between
from exposure.wall.building import OUTSIDE_TABLE, Wall
from exposure.wall.name_list import names_listed

TABLE_OVERHANG = (250.0, 450.0)  # mm; "about 350 mm" of the wall-factor table, our reading


def eaves_taken(walls: Sequence[Wall], own: Mapping) -> list[str]:
    """That eaves were credited which nobody gave, as a sentence; nothing where each is told or chosen."""
    told = {"overhang", "shape", "wall_factor"}
    taken = [wall.name for wall in walls if "eaves" in wall.shape and not told & set(own.get(wall.name, ()))]
    if not taken:
        return []
    return [
        f"The eaves are not given: about 350 mm is taken over {names_listed(taken)}, which lowers the wall factor; "
        "narrower eaves leave it at 0.5."
    ]


def with_overhang(wall: Wall, overhang: float) -> Wall:
    """``wall`` under eaves that reach out by ``overhang`` mm, where that changes what the table says.

    The table's eaves walls have about 350 mm. Less is outside the table (0.5 unless the user chooses); more
    is given no more credit, and flagged.

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
        note = f"Eaves of {overhang:g} mm on the {wall.name} elevation are outside the table (about 350 mm): 0.5 is taken unless you choose."
        return replace(wall, shape=OUTSIDE_TABLE, flags=(*wall.flags, note))
    note = f"Eaves of {overhang:g} mm on the {wall.name} elevation are wider than the table's 350 mm; no more is credited for them."
    return replace(wall, flags=(*wall.flags, note))
