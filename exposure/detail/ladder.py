"""The rows of the ladder, read from its table: what each asks at every level, and what an elevation is asked."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from math import ceil, floor
from typing import Any

from exposure.detail.beside import beside
from exposure.detail.circumstances import Circumstances
from exposure.detail.levels import Levels
from exposure.detail.snow import CLEAR
from exposure.rain.pressure import WallPressure
from exposure.rain.wind_pressure import head_of_water, head_told
from exposure.tables import load_table

TABLE = "detail_ladder"
SPLASH = 5.0  # mm above the head of water, our choice
DAMS = ("back_dam", "end_dam")  # rows that hold a head of water; the ends never lower than the back
ROD_BACK = 25.0  # mm, an upstand at which backing rod and sealant (18 mm) stand beside a frame on packers of 8 mm; our choice
DECK_STEP = "deck_step"
SADDLE, DECK_UP = "saddle_up", "deck_up"
SADDLE_LAP = 75.0  # mm, wall membrane over a saddle from the foot of the cladding up; our choice
BEHIND_FOOT = (
    5.0  # mm, edge of a sheet over the foot of the cladding, so that no light reaches it; our choice
)
UNDER_FLOOR = 50.0  # mm, a deck at a door below the floor beyond the front of the tray: recess, fall and 10 mm clear; our choice
CORNERS = ("icorner", "ocorner")
UPRIGHT_LAP = "lap_v"
TO_THE_BEND = 100.0  # mm from a corner to the edge of the next sheet, so that its tape lies flat; our choice
SETBACK = (0.0, 0.0, 25.0, 50.0)  # mm, what the four entries of the row reveal say in words
CLADDING = 20.0  # mm, light cladding as it is drawn
LIGHT_CAVITIES = ("cav_depth", "cav_render")  # behind light cladding
SILL_SUPPORT = "sill_support"
LEAST_CAVITY = 10.0  # mm, where the window itself stands over a cavity; Canadian capillary break, published
CAVITY_ROWS = (
    "cav_fire", "cav_vent", "slot", "mesh", "cav_run", "cav_top", "cav_top_cap", "batten_sp", "cav_corner", "film_straps",
)  # fmt: skip
RIGID_BOARDS = "W1 on rigid boards"  # entry of the row mem_class
STUD_LAYERS = "stud_layers"
ON_FILM = (STUD_LAYERS, "film_straps")  # rows of a membrane over open studs
MEASURED_FROM = 2  # level from which the spray is measured
LESS_IS_STRICTER = (
    "weep_sp",
    "weep_top",
    "mesh",
)  # rows that are the same at every level, and stricter when smaller
SNOW_ROWS = ("gnd", "paved", "snow_open", "snow_roof")  # heights that snow lies against
LEAST_SMOKE = 2  # entry of the row smoke that tests the seal, where the trays count on a tested one
NOTHING_ASKED = ("smoke", "chk_first", "chk_min", "chk_pct")  # left out while they ask nothing
ONLY_BY_A_RULE = ("weep_top", "base_tray")  # left out unless a rule asks for it


@dataclass(frozen=True)
class Row:
    """One part of an elevation at four levels."""

    key: str
    stage: int
    where: str
    axis: str
    direction: str
    unit: str
    values: tuple[float | str, ...]
    build: tuple[str, ...]
    reason: str
    sources: tuple[str, ...]
    standings: tuple[str, ...]
    walls: tuple[str, ...]
    when: str
    caution: str
    cavity: str
    stands_for: str
    otherwise: tuple[
        Mapping[str, str], ...
    ] = ()  # other words for ``build`` or ``caution``, each with its ``when``, some for one entry alone, their ``at``, or for a schedule without some rows, their ``lacks``

    @cached_property  # asked for every row of every rule
    def rule_key(self) -> str:
        """The key by which a local rule knows this row."""
        return self.stands_for or self.key

    @property
    def less_is_stricter(self) -> bool:
        """Whether a smaller figure is the stricter one."""
        return self.direction == "down" or self.key in LESS_IS_STRICTER

    def words_for(
        self, name: str, circumstances: Circumstances, value: float | str = "", *, rows: Collection[str] = ()
    ) -> str | None:
        """Other words for ``build`` or ``caution`` that these circumstances ask, at this value and among these rows; None where they ask none."""
        if not self.otherwise:  # as with most rows
            return None
        return next(
            (
                one[name]
                for one in self.otherwise
                if name in one
                and one.get("at", value) == value
                and not any(key in rows for key in one.get("lacks", "").split())
                and beside(one["when"], circumstances)
            ),
            None,
        )

    def build_for(
        self, value: float | str, level: int, circumstances: Circumstances, *, rows: Collection[str]
    ) -> str:
        """What to build at this value, among the ``rows`` of its schedule; ``{v}`` stands for the figure."""
        if self.direction == "ordered":
            step = int(rank(self, value))
        elif value == self.values[level - 1]:
            step = level - 1
        else:
            reached = (i for i, entry in enumerate(self.values) if rank(self, entry) >= rank(self, value))
            step = next(reached, len(self.values) - 1)
        own = self.build[min(step, len(self.build) - 1)]
        return self.words_for("build", circumstances, value, rows=rows) or own

    def source_at(self, step: int) -> str:
        """Who gives the figure of step 0 to 3."""
        return self.sources[min(step, len(self.sources) - 1)]


@cache
def ladder_rows() -> tuple[Row, ...]:
    """Every row of the ladder, in order of work."""
    return tuple(_row(row) for row in load_table(TABLE)["row"])


def _row(entry: dict[str, Any]) -> Row:
    cells: dict[str, Any] = {
        name: tuple(cell) if isinstance(cell, list) else cell for name, cell in entry.items()
    }
    return Row(**cells)


def dam_height(
    row_value: float, *, pressure: float, gust_pressure: float | None = None, splash: float = SPLASH
) -> float:
    """Height of an upstand: the ladder's, or the head of water with some for splash if that is more. [mm]

    Parameters
    ----------
    row_value
        What the ladder asks. [mm]
    pressure
        Hourly mean; its head is taken as a tenth, the rounding of the Ontario code. [Pa]
    gust_pressure
        Gust pressure when the upstand has to hold a gust's head too. [Pa]

    Examples
    --------
    >>> [dam_height(15, pressure=p) for p in (100, 150, 200, 250, 300, 400, 450)]
    [15, 20, 25, 30, 35, 45, 50]
    >>> dam_height(15, pressure=138, gust_pressure=320)
    40
    """
    need = pressure / 10 + splash
    if gust_pressure is not None:
        need = max(need, float(head_of_water(gust_pressure)) + splash, head_told(gust_pressure) + splash)
    return max(row_value, 5 * ceil(round(need / 5, 6)))


def dam_floor(row: Row, found: Levels) -> float:
    """Height of an upstand before any head of water: the ladder's, and what a backing rod needs where one is asked. [mm]"""
    asked = float(row.values[found.on(row.axis) - 1])
    return max(asked, ROD_BACK) if found.harder >= MEASURED_FROM else asked


def applies(row: Row, circumstances: Circumstances) -> bool:
    """Whether an elevation has the part ``row`` speaks of."""
    return (not row.walls or circumstances.wall_type in row.walls) and beside(row.when, circumstances)


def row_values(
    found: Levels, pressure: WallPressure, circumstances: Circumstances, *, asked: Collection[str] = ()
) -> dict[str, tuple[Row, float | str]]:
    """Every row that applies, with its value: the ladder's, the dams' by head of water, the maker's bare limit.

    A cavity of no depth takes its openings and battens away with it, and a row that asks nothing, or stands for rules alone, is left out,
    unless a rule has ``asked`` for it. Openings that a rule has checked are sprayed.
    """
    values: dict[str, tuple[Row, float | str]] = {}
    for row in ladder_rows():
        if applies(row, circumstances):
            values[row.key] = (row, _value(row, found, pressure, circumstances))
    dropped = {
        key for key in NOTHING_ASKED if key in values and values[key][1] in (0, "none") and key not in asked
    }
    dropped |= set(ONLY_BY_A_RULE).difference(asked)
    if {"base_tray"} & values.keys() - dropped and not beside("door", circumstances):
        dropped.add("cav_base")  # the cavity is filled up to the tray; below the sill of a door it is not
    if "chk_min" in asked and found.harder < MEASURED_FROM:
        sprayed = values["chk_type"][0]
        values["chk_type"] = (sprayed, sprayed.values[MEASURED_FROM - 1])
    elif found.harder < MEASURED_FROM:
        dropped.add("chk_rate")
    if "cav_depth" in values and values["cav_depth"][1] == 0 and "cav_depth" not in asked:
        dropped.update(CAVITY_ROWS)
    return kept_apart({key: cell for key, cell in values.items() if key not in dropped})


def kept_apart(values: Mapping[str, tuple[Row, float | str]]) -> dict[str, tuple[Row, float | str]]:
    """The rows with room for one another: a deck below the whole front of a threshold's tray, saddle and deck's membrane up behind the cladding, a sheet past a corner by its lap and more."""
    found = dict(values)
    if DECK_STEP in found and "tray_down" in found:
        _raise_to(found, DECK_STEP, float(found["tray_down"][1]) + UNDER_FLOOR)
    if SADDLE in found and "roof_gap" in found:
        _raise_to(found, SADDLE, float(found["roof_gap"][1]) + SADDLE_LAP)
    if DECK_UP in found and "roof_gap" in found:
        _raise_to(found, DECK_UP, float(found["roof_gap"][1]) + BEHIND_FOOT + float(found["lap_h"][1]))
    for key in CORNERS:
        if key in found:
            _raise_to(found, key, float(found[UPRIGHT_LAP][1]) + TO_THE_BEND)
    return found


def _raise_to(values: dict[str, tuple[Row, float | str]], key: str, least: float) -> None:
    row, value = values[key]
    values[key] = row, max(float(value), least)


def _value(row: Row, found: Levels, pressure: WallPressure, circumstances: Circumstances) -> float | str:
    value = row.values[found.on(row.axis) - 1]
    if row.key in DAMS:
        gust = None if circumstances.air_seal_tested else found.pressure_for_details * pressure.gust_factor
        return dam_height(dam_floor(row, found), pressure=found.pressure_for_details, gust_pressure=gust)
    if row.key == "smoke" and circumstances.air_seal_tested:
        return row.values[max(found.on(row.axis) - 1, LEAST_SMOKE)]
    if row.key == "bare_max" and circumstances.bare_limit is not None:
        return min(float(value), circumstances.bare_limit)
    if row.key in SNOW_ROWS and circumstances.snow_depth:
        return max(float(value), circumstances.snow_depth + CLEAR)
    if row.key == "cav_depth" and circumstances.window_position == "over the cavity":
        return max(float(value), LEAST_CAVITY)
    return value


def setback_of(entry: float | str) -> float:
    """How far a frame stands at least behind the face of the cladding by an entry of the row reveal. [mm]

    Examples
    --------
    >>> setback_of("50 mm back, or a rebate")
    50.0
    """
    row = next(one for one in ladder_rows() if one.key == "reveal")
    return SETBACK[max(place for place, word in enumerate(row.values) if word == entry)]


def stands_on_framing(values: Mapping[str, tuple[Row, float | str]]) -> bool:
    """Whether light cladding and its cavity are so thin that a frame set back behind them stands on the framing, before which nothing carries it."""
    cavity = next((values[key][1] for key in LIGHT_CAVITIES if key in values), None)
    return (
        "reveal" in values
        and cavity is not None
        and setback_of(values["reveal"][1]) >= float(cavity) + CLADDING
    )


def cavity_for_flange(
    values: Mapping[str, tuple[Row, float | str]], circumstances: Circumstances
) -> dict[str, tuple[Row, float | str]]:
    """The cavity as deep as a frame needs whose flange lies on the boards and whose face stands back: the least step of its row; empty where it reaches them already."""
    if not (beside("flange at the boards", circumstances) and stands_on_framing(values)):
        return {}
    key = next(key for key in LIGHT_CAVITIES if key in values)
    row, back = values[key][0], setback_of(values["reveal"][1])
    return {key: (row, next(step for step in row.values if float(step) + CLADDING > back))}


def for_flange(row: Row, value: float | str, found: Levels, circumstances: Circumstances) -> bool:
    """Whether ``value``, which no rule asks, is that of :func:`cavity_for_flange` and not the level's own."""
    own = row.values[found.on(row.axis) - 1]
    return row.key in LIGHT_CAVITIES and value != own and beside("flange at the boards", circumstances)


def rank(row: Row, value: float | str) -> float:
    """How strong ``value`` is on ``row``: larger is stronger.

    Examples
    --------
    >>> row = next(row for row in ladder_rows() if row.key == "mem_class")
    >>> rank(row, "W2") < rank(row, "W1")
    True
    """
    if row.direction == "ordered":
        return float(max(i for i, entry in enumerate(row.values) if entry == value))
    if isinstance(value, str):
        return 0.0
    return -float(value) if row.less_is_stricter else float(value)


def stricter(row: Row, value: float | str, *, way: str, asked: float) -> float | str:
    """``value`` or what a rule asks, whichever is stricter; a rule never lowers.

    Parameters
    ----------
    way
        ``at least`` or ``at most``.
    asked
        The rule's figure, or a level from 1 to 4 on an ordered row.
    """
    if row.direction == "ordered":
        return max(value, row.values[int(asked) - 1], key=lambda entry: rank(row, entry))
    if isinstance(value, str):
        return value
    if row.unit == "mm":  # whole millimetres, rounded to the safe side
        asked = floor(asked) if way == "at most" else ceil(round(asked, 6))
    return min(value, asked) if way == "at most" else max(value, asked)
