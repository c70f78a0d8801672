"""How the wall factor, and with it the index, changes from the top of a wall to its foot."""

from typing import NamedTuple

from exposure.tables import load_table
from exposure.wall.classes import exposure_class
from exposure.wall.index import WallExposure


class Part(NamedTuple):
    """One part of a wall. Indices in L/m2 (annual: per year)."""

    position: str  # top, middle, bottom, below, or all
    wall_factor: float
    wall_annual_index: float
    wall_spell_index: float
    exposure_class: str
    note: str


def by_position(one: WallExposure) -> list[Part]:
    """The parts the wall-factor table tells apart; a wall outside the table is one part."""
    used = one.factors[3].value
    rows = [row for row in load_table("wall_factor")["row"] if row["shape"] == one.wall.shape]
    if one.wall.wall_factor is not None or not rows:
        meaning = one.wall.factor_reason or "chosen, the same for the whole wall"
        rows = [{"position": "all", "wall_factor": used, "meaning": meaning}]
    parts = []
    for row in rows:
        ratio = row["wall_factor"] / used if used > 0 else 0.0
        spell = one.wall_spell_index * ratio
        parts.append(
            Part(
                row["position"],
                row["wall_factor"],
                one.wall_annual_index * ratio,
                spell,
                exposure_class(spell),
                row.get("meaning", ""),
            )
        )
    return parts
