"""The layer on the room side of a wall and how open its membrane may be, by climate, with a check of water inside.

The check ranks layers by diffusion alone, in a mean year (:mod:`exposure.detail.condensation`).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from math import inf
from typing import Any

import numpy as np

from exposure.detail.circumstances import Circumstances
from exposure.detail.condensation import Layer, Month, WaterInWall, still_air_of, water_in_wall
from exposure.detail.inside_climate import (
    CLIMATES,
    COOLED,
    COOLED_HUMIDITY,
    HEATED,
    OutsideMonths,
)
from exposure.detail.materials import UNSETTLED
from exposure.detail.vapour import permeance_in_perm, saturation_pressure
from exposure.doubts import doubt
from exposure.figures import NO_BREAK, listed
from exposure.tables import load_table

HARDEST_CLASS = 4  # humidity class where nobody says: the hardest of rooms people live in; our choice
STEPS = (
    0.06,
    0.29,
    0.57,
    0.86,
    1.67,
    5.0,
)  # permeances a membrane is looked for at, 1 to 90 US perms; our choice
VENTED, IN_THE_OPEN = (
    0.13,
    0.04,
)  # m2 K/W outside, before a vented cavity and in the open; ISO 6946, from memory
CAUTION = (
    "A ranking by diffusion in a mean year: air through gaps, rain and stored damp are not counted. It is no moisture "
    "simulation: who designs the wall makes one where codes ask."
)


@dataclass(frozen=True)
class InsideOption:
    """One layer on the room side with the membrane ordered, and the water it leaves in the wall."""

    key: str
    name: str
    membrane: float | None  # microgram/(N s); None for a wall without one
    water: WaterInWall
    rank: int  # 1 holds least


@dataclass(frozen=True)
class InsideLayer:
    """What goes on the room side of one elevation."""

    climate: str  # cold, mixed, warm and humid, mild, not known
    by: str  # told, the record, nobody
    row: Mapping[str, Any] | None  # of the table inside_climate; None for a wall without frame
    least: float  # microgram/(N s), of the membrane
    most: float  # the same; inf where there is no limit
    raised: bool  # least is above the table's, by the check
    humidity_class: int
    options: tuple[InsideOption, ...]  # best first; empty where the outdoor air is not known
    flags: tuple[str, ...]
    asked: float = 0.0  # microgram/(N s), what the schedule orders of the membrane: a rule may ask more

    @property
    def side(self) -> str:
        """Where the vapour control goes, in a few words."""
        if self.row is None:
            return ""
        return UNSETTLED if self.is_wet else self.row["side"]

    @property
    def chosen(self) -> InsideOption | None:
        """The layer that the climate asks, as the check finds it."""
        return next((one for one in self.options if self.row and one.key == self.row["control"]), None)

    @property
    def is_wet(self) -> bool:
        """Whether the check finds water inside the wall with that layer: then it is not ordered."""
        return self.chosen is not None and not self.chosen.water.harmless

    @property
    def in_words(self) -> str:
        """Climate, side, range and check, as a sentence."""
        said = f"{self.climate} by {self.by}" if self.by != "nobody" else "climate not known"
        if self.row is None:
            return f"Inside layer ({said}): none is laid on masonry; {self.check_words}."
        return f"Inside layer ({said}): {self.side}; membrane {self.range_words}; {self.check_words}."

    @property
    def range_words(self) -> str:
        """How open to vapour the membrane may be."""
        least = max(self.least, self.asked)
        if self.most == inf or least > self.most:
            return f"{permeance_words(least)} or more"
        return f"{permeance_words(least)} to {permeance_words(self.most)}"

    @property
    def check_words(self) -> str:
        """Say what the check finds of the layer ordered and of the others."""
        if not self.options:
            return "water inside the wall not checked, the record lacks temperature or humidity"
        mark = " (asked by the climate alone, not ordered)" if self.side == UNSETTLED else " (ordered)"
        return "by diffusion " + "; ".join(
            f"{one.name}{mark if one is self.chosen else ''} {one.water.in_words}"
            + (f", {one.water.peak:,.0f}{NO_BREAK}g/m²" if one.water.peak >= 1 else "")
            for one in self.options
        )


def is_laid(side: str) -> bool:
    """Whether a vapour control layer is ordered, by the words of its side.

    Examples
    --------
    >>> is_laid("on the room side"), is_laid("none needed by the climate"), is_laid(UNSETTLED)
    (True, False, False)
    """
    return side != UNSETTLED and not side.startswith("none")


def permeance_words(permeance: float) -> str:
    """A permeance [microgram/(N s)] in both units.

    Examples
    --------
    >>> permeance_words(0.57).replace(NO_BREAK, " "), permeance_words(1.67).replace(NO_BREAK, " ")
    ('0.57 µg/(N·s) (10 US perm)', '1.67 µg/(N·s) (29 US perm)')
    """
    return f"{permeance:.3g}{NO_BREAK}µg/(N·s) ({permeance_in_perm(permeance):.2g}{NO_BREAK}US{NO_BREAK}perm)"


def inside_layer(
    circumstances: Circumstances, months: OutsideMonths | None, *, boards: bool = False
) -> InsideLayer:
    """The inside layer of an elevation.

    Parameters
    ----------
    circumstances
        ``rooms`` and ``humidity`` are taken where they are told.
    months
        Outdoor air by month, None where the record has none.
    boards
        Whether the schedule orders rigid boards on the studs, where there are none.

    Examples
    --------
    >>> found = inside_layer(Circumstances(rooms="cooled through hot, damp summers"), None)
    >>> found.side, found.least, found.most
    ('none that is tight', 0.06, 0.57)
    """
    return _inside_layer(
        circumstances.wall_type,
        "sheathed" if boards else circumstances.sheathing,
        circumstances.rooms,
        circumstances.humidity,
        months,
        circumstances.local_rules,
    )


@cache
def _inside_layer(
    wall_type: str,
    sheathing: str,
    rooms: str,
    humidity: str,
    months: OutsideMonths | None,
    rules: tuple[str, ...],
) -> InsideLayer:
    told = CLIMATES.get(rooms)
    climate = told or (months.climate if months else "not known")
    flags = []
    framed = wall_type != "cavity masonry"
    if told is None and framed:
        flags.append(
            doubt("detail.rooms_not_said")
            if months is None
            else doubt("detail.rooms_by_record", climate=climate)
        )
    elif told is not None and framed and months is not None and months.climate != told:
        flags.append(doubt("detail.rooms_against_record", told=told, found=months.climate))
    table = load_table("inside_climate")
    row = next((one for one in table["row"] if one["climate"] == climate and wall_type in one["walls"]), None)
    by_rule = [one for one in table["by_rule"] if one["rule"] in rules and climate in one["climates"]]
    if row and by_rule:
        row = {**row, **by_rule[0]}
    number, excess, unsaid = _humidity(humidity)
    least = row["low"] if row else 0.0
    most = row["high"] if row else inf
    options: tuple[InsideOption, ...] = ()
    if months is not None:
        if unsaid and framed:
            flags.append(doubt("detail.humidity_not_said", number=number))
        year = room_months(
            months, climate, excess=excess, wet_leaf=wall_type in ("masonry veneer", "rendered board")
        )
        if row is not None:
            least = _least(row, wall_type, sheathing, year)
        options = _options(wall_type, sheathing, year, least if row else None)
    found = InsideLayer(
        climate,
        "how the rooms are kept" if told else ("the record" if months else "nobody"),
        row,
        least,
        most,
        row is not None and least > row["low"],
        number,
        options,
        (),
    )
    if found.chosen is not None and found.is_wet:
        dry = [one.name for one in options if one.water.harmless]
        flags.append(
            doubt(
                "detail.inside_wet",
                layer=found.chosen.name,
                found=found.chosen.water.in_words,
                peak=found.chosen.water.peak,
                others=listed(dry) if dry else "none of those compared",
            )
        )
    return InsideLayer(**{**found.__dict__, "flags": tuple(flags)})


def _humidity(said: str) -> tuple[int, float, bool]:
    """Humidity class, its excess of vapour pressure at 0 degC [Pa], and whether nobody said."""
    rows = load_table("humidity_class")["row"]
    told = next((one for one in rows if one["answer"] == said), None)
    row = told or next(one for one in rows if one["class"] == HARDEST_CLASS)
    return row["class"], float(row["excess"]), told is None


def room_months(
    months: OutsideMonths, climate: str, *, excess: float, wet_leaf: bool = False
) -> tuple[Month, ...]:
    """Air on both sides of a wall, month by month.

    Rooms stand at 20 degC, or as warm as outdoors; their air holds what the air outdoors does and the excess, which
    falls to nothing at 20 degC outdoors. Where summers are damp, months whose air is damper than that of a cooled room
    have cooled rooms.

    Parameters
    ----------
    excess
        Of vapour pressure at 0 degC outdoors. [Pa]
    wet_leaf
        Whether the air behind the cladding is then saturated, as the sun on a wet leaf makes it.

    Examples
    --------
    >>> even = OutsideMonths((10.0,) * 12, (1000.0,) * 12, 2922.0)
    >>> room_months(even, "cold", excess=810.0)[0].inside_vapour
    1405.0
    """
    dry = COOLED_HUMIDITY / 100 * float(saturation_pressure(COOLED))
    found = []
    for warmth, vapour in zip(months.temperature, months.vapour_pressure, strict=True):
        if climate in ("mixed", "warm and humid") and vapour > dry and warmth > HEATED - 5:
            outside = float(saturation_pressure(warmth)) if wet_leaf else vapour
            found.append(Month(COOLED, dry, warmth, outside))
        else:
            more = excess * float(np.clip((20 - warmth) / 20, 0, 1))
            found.append(Month(max(HEATED, warmth), vapour + more, warmth, vapour))
    return tuple(found)


def _layers(
    wall_type: str, sheathing: str, control: Mapping[str, Any], membrane: float | None, month: Month
) -> tuple[Layer, ...]:
    inward = month.outside_vapour > month.inside_vapour
    found = []
    for row in load_table("inside_build_up")["row"]:
        if wall_type not in row["walls"] or (sheathing == "open studs" and not row["open"]):
            continue
        air = row["still_air"]
        if row["name"] == "control":
            air = control["damp" if inward else "dry"]
        elif row["name"] == "membrane" and membrane is not None:
            air = still_air_of(membrane)
        if air > 0:
            name = control["name"] if row["name"] == "control" else row["name"]
            found.append(Layer(name, row["resistance"], air))
        elif row["name"] == "control":
            found.append(Layer("lining", 0.0, 1e-3))  # no layer; every month has as many layers
    return tuple(found)


def _water(
    wall_type: str,
    sheathing: str,
    control: Mapping[str, Any],
    membrane: float | None,
    year: tuple[Month, ...],
) -> WaterInWall:
    layers = [_layers(wall_type, sheathing, control, membrane, month) for month in year]
    return water_in_wall(layers, year, outer_surface=IN_THE_OPEN if wall_type == "cavity masonry" else VENTED)


def _least(row: Mapping[str, Any], wall_type: str, sheathing: str, year: tuple[Month, ...]) -> float:
    """The row's least permeance, or the first step above it, within its range, at which the wall dries."""
    control = next(one for one in load_table("inside_control")["row"] if one["key"] == row["control"])
    tried = [row["low"], *(step for step in STEPS if row["low"] < step <= row["high"])]
    for permeance in tried:
        if _water(wall_type, sheathing, control, permeance, year).harmless:
            return permeance
    return row["low"]


def _options(
    wall_type: str, sheathing: str, year: tuple[Month, ...], membrane: float | None
) -> tuple[InsideOption, ...]:
    controls = load_table("inside_control")["row"]
    if membrane is None:  # masonry takes no layer
        controls = [one for one in controls if one["key"] == "none"]
    found = [(one, _water(wall_type, sheathing, one, membrane, year)) for one in controls]
    order = sorted({(round(water.kept), round(water.peak)) for _, water in found})
    ranked = [
        InsideOption(
            one["key"],
            one["name"],
            membrane,
            water,
            1 + order.index((round(water.kept), round(water.peak))),
        )
        for one, water in found
    ]
    return tuple(sorted(ranked, key=lambda one: one.rank))
