"""The roof over each elevation: gable or eaves wall, how high its gables reach, and what of it nobody told.

What is not told is taken on the harder side and kept beside the wall as :class:`exposure.wall.building.Untold`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import radians, tan
from typing import NamedTuple

import numpy as np
import shapely
from shapely import Polygon

from exposure.checks import RefusalError, check_between
from exposure.doubts import Doubt, doubt
from exposure.wall.building import GABLE, HIGHEST, OUTSIDE_TABLE, STEEP, Untold, Wall
from exposure.wall.eaves import USUAL, with_overhang, without_told_eaves
from exposure.wall.name_list import names_listed

RIDGE_TAKEN = "wall.ridge_taken"  # the doubt
FORMS = ("gable", "hip", "flat")
SHALLOW = 30.0  # degrees of pitch: the milder answer where none is told; our choice
FLAT = 20.0  # degrees; a lower pitch is a flat roof in the wall-factor table
PLAIN = 0.9  # of the rectangle round it that a plan fills when it has one ridge; our choice
LONGER = 1.2  # times as long as wide, for the ridge to run along the longer side; our choice


@dataclass(frozen=True)
class Roof:
    """What is told of a roof; None is not told.

    Parameters
    ----------
    form
        ``gable`` (on a plain rectangle the ridge runs along the longer side), ``hip`` or ``flat``.
    gables
        Names of the elevations that are gables; all others are eaves walls.
    ridge_height
        Of the ridge above the ground. [m]
    pitch
        Of the slopes, from which the ridge's height follows. [degree]
    eaves
        How far the roof reaches over eaves walls. [mm]
    own_eaves, own_ridges
        The same of single elevations, by name. [mm], [m]

    Examples
    --------
    >>> Roof("hip", eaves=350).form
    'hip'
    """

    form: str | None = None
    gables: tuple[str, ...] | None = None
    ridge_height: float | None = None
    pitch: float | None = None
    eaves: float | None = None
    own_eaves: Mapping[str, float] = field(default_factory=dict)
    own_ridges: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.form is not None and self.form not in FORMS:
            raise RefusalError(f"roof {self.form!r}", f"one of {', '.join(FORMS)}", "Correct the roof.")
        if self.gables and self.form in ("hip", "flat"):
            raise RefusalError(
                f"gables under a {self.form} roof", "roof = 'gable' with gables", "Correct roof or gables."
            )
        for value, name, low, high, unit in (
            (self.ridge_height, "ridge_height", 1, HIGHEST, "m"),
            (self.pitch, "pitch", 5, 75, "degrees"),
            (self.eaves, "eaves", 0, 5000, "mm"),
        ):
            if value is not None:
                check_between(value, name, low, high, unit)


class Span(NamedTuple):
    """What a plan tells of the ridge over it."""

    along: float  # bearing of the longer side of the smallest rectangle round it [degree, 0 to 180]
    short: float  # its shorter side; no ridge spans more [m]
    plain: bool  # whether one ridge along the longer side is what such a plan has
    widths: tuple[float, ...]  # of each elevation's whole side [m]

    @classmethod
    def of(cls, plan: Polygon, widths: Sequence[float]) -> "Span":
        """From the plan and the width of each elevation's side."""
        box = shapely.get_coordinates(plan.minimum_rotated_rectangle)
        sides = np.diff(box[:3], axis=0)
        length = np.hypot(*sides.T)
        longest = sides[int(np.argmax(length))]
        plain = plan.area >= PLAIN * length.prod() and length.max() >= LONGER * length.min()
        along = float(np.rad2deg(np.arctan2(longest[0], longest[1]))) % 180.0
        return cls(along, float(length.min()), bool(plain), tuple(widths))


def wall_shape(*, storeys: int, roof: str | None, gable_end: bool) -> str:
    """Row of the wall-factor table for a wall, or ``outside the table``; one storey counts as two (our choice).

    Examples
    --------
    >>> wall_shape(storeys=1, roof="gable", gable_end=True), wall_shape(storeys=5, roof="flat", gable_end=False)
    ('two-storey gable', 'multi-storey, flat roof')
    """
    if roof == "flat":
        return "two-storey, flat roof" if storeys <= 2 else "multi-storey, flat roof"
    if storeys > 3:
        return OUTSIDE_TABLE
    count = "three" if storeys == 3 else "two"
    return f"{count}-storey gable" if roof is None or gable_end else f"{count}-storey eaves wall"


def roofed(walls: Sequence[Wall], span: Span, roof: Roof, *, storeys: int) -> tuple[Wall, ...]:
    """``walls``, each as tall as the eaves, under ``roof``: shape, height and what nobody told of each.

    Raises
    ------
    RefusalError
        When a gable is named that no elevation is, or a ridge lies below the eaves.
    """
    names = [wall.name for wall in walls]
    strange = [name for name in (*(roof.gables or ()), *roof.own_ridges) if name not in names]
    if strange:
        raise RefusalError(
            f"gables on {names_listed(map(repr, strange[:5]))}",
            f"elevations {names_listed(names)}",
            "Name the elevations that are gables so.",
        )
    return tuple(
        _roofed(wall, width, span, roof, storeys) for wall, width in zip(walls, span.widths, strict=True)
    )


def ridge_doubt(walls: Sequence[Wall], roof: Roof) -> list[Doubt]:
    """That a roof with gables, of which nobody told where they are, is taken to have them at the short ends.

    Examples
    --------
    >>> ridge_doubt([], Roof("hip"))
    []
    """
    ends = [wall.name for wall in walls if wall.tops == (GABLE,)]
    if roof.form != "gable" or roof.gables is not None or not ends:
        return []
    return [doubt(RIDGE_TAKEN, names_listed(ends))]


def _roofed(wall: Wall, width: float, span: Span, roof: Roof, storeys: int) -> Wall:
    flat = _shaped(wall, "flat", storeys, gable=False)
    if roof.form == "flat":
        return flat
    told = roof.own_eaves.get(wall.name, roof.eaves)
    low = roof.pitch is not None and roof.pitch < FLAT  # the table's flat roof
    under_eaves = flat if low else _shaped(wall, "hip", storeys, gable=False)
    milder = with_overhang(under_eaves, USUAL if told is None else told)
    eaves = f"{USUAL if told is None else told:g} mm of eaves"
    gable = _to_ridge(_shaped(wall, "gable", storeys, gable=True), min(width, span.short), roof)
    if roof.gables is None and roof.form is None:
        pitched = f"a roof with eaves all round, {eaves}"
        answers = ((pitched, milder), ("a flat roof", flat))
        return replace(gable, untold=(Untold("roof", "a gable", answers), *gable.untold))
    if roof.gables is None and roof.form == "gable" and not span.plain:
        return replace(
            gable,
            untold=(Untold("ridges", "a gable", ((f"an eaves wall, {eaves}", milder),)), *gable.untold),
        )
    if roof.form != "hip" and _is_gable(wall, span, roof):
        return gable
    return without_told_eaves(under_eaves) if told is None else with_overhang(under_eaves, told)


def _is_gable(wall: Wall, span: Span, roof: Roof) -> bool:
    if roof.gables is not None:
        return wall.name in roof.gables
    off = abs((2 * (wall.orientation - span.along) + 180.0) % 360.0 - 180.0) / 2
    return off < 45.0  # 0 when the wall faces along the ridge


def _shaped(wall: Wall, form: str, storeys: int, *, gable: bool) -> Wall:
    shape = wall_shape(storeys=storeys, roof=form, gable_end=gable)
    if shape != OUTSIDE_TABLE:
        return replace(wall, shape=shape)
    return replace(
        wall,
        shape=shape,
        factor_reason=f"a pitched roof on {storeys} storeys is outside the table",
        flags=(*wall.flags, doubt("wall.outside_table", wall.name, storeys=storeys)),
    )


def _to_ridge(wall: Wall, span: float, roof: Roof) -> Wall:
    """``wall`` as a gable whose top is the ridge: told, from a told pitch, or from a steep one."""
    eaves = wall.height
    told = roof.own_ridges.get(wall.name, roof.ridge_height)

    def up_to(height: float) -> Wall:
        return replace(wall, height=round(height, 2), eaves_height=eaves)

    if told is not None:
        return up_to(check_between(told, f"ridge height of {wall.name}", eaves, HIGHEST, "m"))
    if roof.pitch is not None:
        return up_to(eaves + span / 2 * tan(radians(roof.pitch)))
    steep, shallow = (up_to(eaves + span / 2 * tan(radians(pitch))) for pitch in (STEEP, SHALLOW))
    taken = f"{steep.height:g} m, a pitch of {STEEP:g} degrees"
    answer = f"a pitch of {SHALLOW:g} degrees, {shallow.height:g} m"
    return replace(steep, untold=(*wall.untold, Untold("ridge height", taken, ((answer, shallow),))))
