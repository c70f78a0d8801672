"""Take-off: how much membrane, tape, tray, flashing and batten an elevation needs."""

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import ceil

from exposure.checks import RefusalError, check_between
from exposure.detail.schedule_parts import Schedule
from exposure.wall import Wall

COLUMNS = ("elevation", "width", "height", "count")
LARGEST_LIST = 2_000_000  # characters of an openings list
MOST_OPENINGS = 10_000
ROLL_WIDTH = 1500.0  # mm, of membrane; our choice, the user sets it
ROLL_LENGTH = 50.0  # m; the same
WASTE = {  # shares on top, to be set by the user; our choice
    "membrane": 0.10,
    "tape": 0.10,
    "sill tray": 0.05,
    "head flashing": 0.05,
    "batten": 0.10,
}


@dataclass(frozen=True)
class Opening:
    """Openings of one size on one elevation. Width and height in mm."""

    elevation: str
    width: float
    height: float
    count: int = 1
    door: bool = False


@dataclass(frozen=True)
class TakeOff:
    """Amounts of one elevation, or of all; waste is in them."""

    elevation: str
    wall_area: float  # m2, length times height
    opening_area: float  # m2
    membrane: float  # m2
    tape: float  # m
    sill_tray: float  # m
    head_flashing: float  # m
    batten: float  # m
    corner_pieces: int
    openings: int
    waste: Mapping[str, float] = field(default_factory=lambda: dict(WASTE))
    flags: tuple[str, ...] = ()


def read_openings(text: str) -> tuple[Opening, ...]:
    r"""Openings from the text of a CSV file: elevation, width and height in mm, count, and door if there are any.

    Raises
    ------
    RefusalError
        For a missing column, a line that cannot be read, or more than 10,000 openings.

    Examples
    --------
    >>> read_openings("elevation,width,height,count\nnorth,900,1200,2")[0].count
    2
    """
    if len(text) > LARGEST_LIST:
        raise RefusalError(
            f"the openings list holds {len(text):,} characters", f"at most {LARGEST_LIST:,}", "Shorten it."
        )
    reader = csv.DictReader(io.StringIO(text.lstrip("\ufeff")), skipinitialspace=True)
    try:
        header = [str(name).strip().lower() for name in reader.fieldnames or ()]
        missing = [name for name in COLUMNS[:3] if name not in header]
        if missing:
            raise RefusalError(
                f"the openings list has the columns {', '.join(header[:10]) or 'none'}",
                f"{', '.join(COLUMNS)} ({missing[0]} is missing)",
                "Name the columns in the first line.",
            )
        reader.fieldnames = header
        found: list[Opening] = []
        for row in reader:
            if not any((value or "").strip() for value in row.values() if isinstance(value, str)):
                continue
            found.append(_opening(row, reader.line_num))
            if sum(one.count for one in found) > MOST_OPENINGS:
                raise RefusalError(
                    f"more than {MOST_OPENINGS:,} openings", "a building's openings", "Correct the counts."
                )
    except csv.Error as error:
        raise RefusalError(
            f"the openings list cannot be read ({error})", "a CSV file", "Save it as CSV."
        ) from None
    return tuple(found)


def _opening(row: Mapping[str | None, object], line: int) -> Opening:
    where = f"on line {line} of the openings list"
    if None in row:
        raise RefusalError(
            f"line {line} of the openings list has more cells than the first line",
            "one cell for each column",
            "Mend it.",
        )
    words = {str(key): str(value or "").strip() for key, value in row.items()}
    door = words.get("door", "").lower()
    if door not in ("", "yes", "no", "true", "false", "0", "1"):
        raise RefusalError(f"door is {door[:20]!r} {where}", "yes or no", "Correct it.")
    count = _number(words.get("count") or "1", f"count {where}", 1, MOST_OPENINGS, "")
    if count != int(count):
        raise RefusalError(f"count is {count} {where}", "a whole number", "Correct it.")
    if not words["elevation"]:
        raise RefusalError(f"no elevation {where}", "the name of an elevation", "Fill it in.")
    return Opening(
        words["elevation"],
        _number(words["width"], f"width {where}", 100, 20_000, "mm"),
        _number(words["height"], f"height {where}", 100, 20_000, "mm"),
        int(count),
        door in ("yes", "true", "1"),
    )


def _number(text: str, name: str, low: float, high: float, unit: str) -> float:
    try:
        value = float(text)
    except ValueError:
        raise RefusalError(
            f"{name} is {text[:40]!r}", f"a number from {low:g} to {high:g} {unit}", "Correct it."
        ) from None
    return check_between(value, name, low, high, unit)


def take_off(
    wall: Wall,
    schedule: Schedule,
    openings: Sequence[Opening] = (),
    *,
    waste: Mapping[str, float] | None = None,
    roll_width: float = ROLL_WIDTH,
    roll_length: float = ROLL_LENGTH,
) -> TakeOff:
    """Amounts for one elevation by its schedule.

    Membrane by courses with their laps; openings are not taken off, since it runs across and is cut. Tape:
    four sides of each opening, two layers at the sill, and the laps that the level tapes. Trays and flashings:
    width of each opening with its ends. Battens: one for each spacing, and one each side of an opening.

    Parameters
    ----------
    waste
        Shares to add, by name as in :data:`WASTE`. [1]
    roll_width, roll_length
        Of the membrane. [mm], [m]

    Raises
    ------
    RefusalError
        For an unknown waste or one outside 0 to 1, and for openings larger than the wall.
    """
    shares = {**WASTE, **(waste or {})}
    for name, share in shares.items():
        if name not in WASTE:
            raise RefusalError(f"waste of {name!r}", f"one of {', '.join(WASTE)}", "Correct the waste.")
        check_between(share, f"waste of {name}", 0, 1, "")
    check_between(roll_width, "width of the roll", 500, 6000, "mm")
    check_between(roll_length, "length of the roll", 5, 500, "m")
    lines = {line.key: line for line in (*schedule.lines, *schedule.floor)}
    mine = [one for one in openings if one.elevation == wall.name]
    area = wall.length * wall.height
    holes = sum(one.width * one.height * one.count for one in mine) / 1e6
    if holes > area:
        raise RefusalError(
            f"{holes:.0f} m2 of openings on the {wall.name} elevation of {area:.0f} m2",
            "openings smaller than their wall",
            "Correct the openings list; its sizes are in millimetres.",
        )
    membrane, seams, uprights = _membrane(wall, lines, roll_width, roll_length)
    number = sum(one.count for one in mine)
    tape = _tape(mine, lines) + _seam_tape(lines, seams, uprights)
    trays = sum(one.count * (one.width + 2 * _value(lines, "end_dam")) for one in mine) / 1000
    heads = sum(one.count * (one.width + 2 * _value(lines, "head_past", 150.0)) for one in mine) / 1000
    battens = _battens(wall, lines, mine)
    flags = []
    if "gable" in wall.shape:
        flags.append(f"The {wall.name} elevation is a gable: length times height counts its full rectangle.")
    if not mine:
        flags.append(f"No openings were listed for the {wall.name} elevation.")
    if schedule.specific_design:
        flags.append(
            f"Specific design is needed for the {wall.name} elevation: the take-off is only the least."
        )
    return TakeOff(
        wall.name,
        area,
        holes,
        membrane * (1 + shares["membrane"]),
        tape * (1 + shares["tape"]),
        trays * (1 + shares["sill tray"]),
        heads * (1 + shares["head flashing"]),
        battens * (1 + shares["batten"]),
        2 * number,
        number,
        shares,
        tuple(flags),
    )


def take_off_total(parts: Sequence[TakeOff]) -> TakeOff:
    """Sum over elevations."""
    amounts = (
        "wall_area",
        "opening_area",
        "membrane",
        "tape",
        "sill_tray",
        "head_flashing",
        "batten",
        "corner_pieces",
        "openings",
    )
    flags = tuple(dict.fromkeys(flag for part in parts for flag in part.flags))
    waste = parts[0].waste if parts else dict(WASTE)
    return TakeOff(
        "all",
        **{name: sum(getattr(part, name) for part in parts) for name in amounts},
        waste=waste,
        flags=flags,
    )


def _value(lines: Mapping, key: str, default: float = 0.0) -> float:
    return float(lines[key].value) if key in lines else default


def _membrane(
    wall: Wall, lines: Mapping, roll_width: float, roll_length: float
) -> tuple[float, float, float]:
    """Membrane [m2], level laps [m], upright laps [m]; none on a wall without membrane."""
    if "lap_h" not in lines:
        return 0.0, 0.0, 0.0
    lap_h, lap_v = _value(lines, "lap_h"), _value(lines, "lap_v")
    height = wall.height * 1000
    courses = 1 if height <= roll_width else 1 + ceil(round((height - roll_width) / (roll_width - lap_h), 9))
    joints = max(ceil(round(wall.length / roll_length, 9)) - 1, 0)
    course_length = wall.length + joints * lap_v / 1000
    area = course_length * (height + (courses - 1) * lap_h) / 1000
    return area, (courses - 1) * wall.length, joints * wall.height


def _tape(openings: Sequence[Opening], lines: Mapping) -> float:
    """Tape round openings [m]; none where nothing is taped."""
    if "open_tape" not in lines:
        return 0.0
    jamb_up = _value(lines, "jamb_up")
    return sum(one.count * (3 * one.width + 2 * one.height + 4 * jamb_up) for one in openings) / 1000


def _seam_tape(lines: Mapping, seams: float, uprights: float) -> float:
    asked = lines["seam_tape"].value if "seam_tape" in lines else "openings"
    if asked == "openings":
        return 0.0
    return uprights if asked == "openings and upright laps" else uprights + seams


def _battens(wall: Wall, lines: Mapping, openings: Sequence[Opening]) -> float:
    if "batten_sp" not in lines:
        return 0.0
    rows = ceil(round(1000 * wall.length / _value(lines, "batten_sp"), 9)) + 1
    return rows * wall.height + sum(2 * one.count * one.height for one in openings) / 1000
