"""Order of work at a window, with what to record before each part is covered."""

import re
from collections.abc import Mapping
from string import Formatter
from typing import Any

from exposure.detail.beside import ALL_LEVEL, CLAD, FLANGE, NO_DOOR
from exposure.detail.circumstances import Circumstances
from exposure.detail.materials import REVEAL_LININGS, orders
from exposure.detail.schedule_parts import Step
from exposure.figures import amount
from exposure.tables import load_table

TABLE = "order_of_work"
CORNERS = "corners"  # word of a step's text, and no row: those that take stretch tape
HOOD = "hood"  # another: a hood over the window, where one is ordered
AT_A_DOOR = "at_a_door"  # what takes the place of the tray's back at a door, on a wall that has one
OVER_A_ROOF = "over_a_roof"  # another: closers of a cavity that ends there, on a wall where one does
IN_SNOW = "in_snow"  # how high a lowest course lies besides, on a wall where snow was told
HOOD_ORDERED = re.compile(r"hood (\d+) mm clear")  # as the row reveal_face words it
REVEAL_LINING = "reveal_lining"  # what covers the edge of the cavity beside a flange that stands back from the cladding's face
TRIM_IN_REVEAL = "trim_in_reveal"  # what the trim of a box frame covers besides, where that stands back
PAST_A_FLOOR = "past_a_floor"  # how a floor line is flashed where the cavity is not stopped at every floor
AT_FLOORS = "at_floors"  # where battens end, on a wall with a gap in its cladding at each floor
INTO_CHANNEL = "into_channel"  # where the strip under the tray of a level door ends
BESIDE_DOORS = "beside_doors"  # what ends and what stands beside a door at the base of a framed wall
ON_THE_FLOOR = "on_the_floor"  # what carries the sill support of a door
BOARDS_FIXED = "boards_fixed"  # when the boards on the studs are fixed, on a wall that has them
SMOKE_RUN = "smoke_run"  # what the inside waits for where smoke is run along the inner seals
CHANNEL_ON = "channel_on"  # what carries the channel of a level door at a slatted deck
OR_SLATS = "or_slats"  # what lies there in place of paving
LEDGER_ENDS = "ledger_ends"  # where the ledger of such a deck ends
CAV_AT_DOOR = "cav_at_door"  # how deep the cavity goes before a level door
DOOR_FLOOR = "door_floor"  # what carries a door's frame between two leaves
DOOR_CUT = "door_cut"  # what becomes of the membrane's flap at the foot of a door
DOOR_COVER = (
    "door_cover"  # what covers the strip on the edge of the floor below the outer sill of a door with a step
)
TOP_EDGE = "top_edge"  # what the top edge of the membrane is taped over
PRIMED_FIRST = "primed_first"  # what comes before the sheet behind a closed deck, at a door
OTHER_DOORS = "other_doors"  # which doors have no strip on the edge of their floor
SILL_MESH = "sill_mesh"  # what closes the gap over the cladding below a window, before a cavity
BARRIER_TRAYS = "barrier_trays"  # what the cladding stays clear of besides, before a cavity
DOOR_TAPED = "door_taped"  # what of a door's opening is taped before its floor is primed
STOP_AT_DOOR = "stop_at_door"  # where the tray over a stop in a leaf ends besides
HEAD_COURSE = "head_course"  # what lies under the lintel over a door to a closed deck
AT_DOORS = (
    AT_A_DOOR, BESIDE_DOORS, INTO_CHANNEL, ON_THE_FLOOR, CHANNEL_ON, OR_SLATS, LEDGER_ENDS, CAV_AT_DOOR, DOOR_FLOOR,
    DOOR_CUT, DOOR_TAPED, PRIMED_FIRST, OTHER_DOORS, STOP_AT_DOOR, HEAD_COURSE, DOOR_COVER,
)  # fmt: skip
FILLED_IN = (  # words that are no rows
    CORNERS, HOOD, *AT_DOORS, PAST_A_FLOOR, AT_FLOORS, OVER_A_ROOF, IN_SNOW, REVEAL_LINING, TRIM_IN_REVEAL,
    BOARDS_FIXED, SMOKE_RUN, SILL_MESH, BARRIER_TRAYS, TOP_EDGE,
)  # fmt: skip
OPEN_FLOOR = "; where the cavity runs past a floor the flashing stands on the battens, its leg up behind the cladding, and leaves it open"
STANDING_WALL = "standing wall"
EVERY_WALL = "every wall"  # steps of every order but that of a standing wall, each ahead of a part
THROUGH_A_CUT = (
    "over a cavity",
    "masonry cavity",
)  # orders in which a leg goes behind the membrane through a level cut, with no head flap


def window_sequence(circumstances: Circumstances, *, boards: bool = False) -> str:
    """Which order of work the wall follows.

    Parameters
    ----------
    boards
        True when the schedule asks rigid boards, whatever stands now.

    Examples
    --------
    >>> window_sequence(Circumstances(sheathing="open studs"))
    'open studs'
    """
    if (
        circumstances.wall_type == "cavity masonry"
        or circumstances.window_position == "in the masonry cavity"
    ):
        return "masonry cavity"
    if circumstances.window_position == "over the cavity":
        return "over a cavity"
    return "sheathed" if boards else circumstances.sheathing


def window_steps(
    circumstances: Circumstances, level: int, shown: Mapping[str, str], *, boards: bool = False
) -> tuple[Step, ...]:
    """Steps at each window of an elevation, its own figures filled in.

    Parameters
    ----------
    level
        The elevation's level, 1 to 4.
    shown
        Values of the schedule with their units, by key.
    """
    framed, boarded = (
        circumstances.wall_type != "cavity masonry",
        boards or circumstances.sheathing == "sheathed",
    )
    on_film = framed and not boarded
    corners = "all four corners" if on_film else "the lower corners"
    clear = hood_clear(shown.get("reveal_face", ""))
    sequence = window_sequence(circumstances, boards=boards)
    hood = (
        f" Last, the hood on the cladding over the window, {clear:g}\u00a0mm clear of the frame's face, open below."
        if clear
        else ""
    )
    snow = f", where snow lies at least {shown['snow_open']}" if "snow_open" in shown else ""
    closers = (
        ", the same closers where a cavity ends over a roof, deck or rail"
        if {"roof_gap", "slot"} <= shown.keys()
        else ""
    )
    back = orders(REVEAL_LININGS, shown.get("reveal", ""))
    covered = "over battens and cut edges"
    lining = (
        f" Line the reveal at both jambs, from the cladding in to the frame {covered}, its top up under the head flashing, its foot open."
        if circumstances.frame == FLANGE and (back or {"reveal", "batten_sp"} <= shown.keys())
        else ""
    )
    floors = ", the battens ended at the gap of each floor line" if "floor_gap" in shown else ""
    trim = f" and lines the reveal {covered}" if back else ""
    words = {
        AT_FLOORS: floors,
        OVER_A_ROOF: closers,
        CORNERS: corners,
        HOOD: hood,
        IN_SNOW: snow,
        REVEAL_LINING: lining,
        TRIM_IN_REVEAL: trim,
        SMOKE_RUN: " and smoke has been run" if "smoke" in shown else "",
        BOARDS_FIXED: " Fix the boards on the studs, down over the plate." if boarded else "",
        SILL_MESH: f", mesh first where the gap there is wider than {amount(5, 'mm')}"
        if "mesh" in shown
        else "",
        BARRIER_TRAYS: " and of each barrier's tray" if "batten_sp" in shown else "",
        TOP_EDGE: "the sloped top of the parapet, which stands before it"
        if "cap_slope" in shown and circumstances.wall_type in CLAD
        else "the plate",
        PAST_A_FLOOR: "" if shown.get("cav_run") == amount(1, "storeys") else OPEN_FLOOR,
        **_at_doors(circumstances, shown),
    }
    return _steps(sequence, circumstances, level, {**shown, **words})


def _at_doors(circumstances: Circumstances, shown: Mapping[str, str]) -> dict[str, str]:
    """What the steps say of doors, on a wall that has any."""
    door, clad = circumstances.threshold != NO_DOOR, circumstances.wall_type in CLAD
    beside = []
    if door and "slot" in shown:
        beside.append(" At both sides of a door the flashing ends, turned up.")
    elif door and clad:
        beside.append(" At both sides of a door the course ends, turned up there too.")
    if "door_side" in shown:
        beside.append(
            " Beside a level door the plate stands on an upstand of concrete or masonry, as high over the paving there."
        )
        cover = ", a metal sheet over it before cladding is fixed" if clad else ""
        beside.append(f" The tape of the door's jamb is stuck to it on primer{cover}.")
    slats = {"deck_slats", "door_level"} <= shown.keys()
    of_channel = ", at a level one of its channel too" if slats else ""
    deck = ", but for one to a closed deck," if "deck_step" in shown else ""
    on_a_deck = door and clad and "deck_step" in shown
    told = {
        AT_A_DOOR: (door, " (at a door within the floor instead)"),
        BESIDE_DOORS: (True, "".join(beside)),
        PRIMED_FIRST: (
            on_a_deck,
            " At a door the edge of the floor, its recess too, is primed before that: no strip hangs there.",
        ),
        DOOR_COVER: (
            "door_edge" in shown and clad and circumstances.threshold != ALL_LEVEL,
            f"; at a door{' with a step' * ('door_level' in shown)}{deck} a metal cover below that sill, open at its foot",
        ),
        OTHER_DOORS: (on_a_deck, "; not so at one to a closed deck"),
        # behind a leaf the strip ends in the cavity
        INTO_CHANNEL: (clad and "door_level" in shown, ", at a level one down into the channel"),
        ON_THE_FLOOR: (door, f", at a door{deck} to the edge of the floor"),
        CHANNEL_ON: (slats, ", on a kerb or bearer of concrete at a slatted deck"),
        OR_SLATS: (slats, ", or slats where the deck is slatted"),
        LEDGER_ENDS: (
            door and "deck_slats" in shown,
            f" At a door the ledger stops at both sides of the jambs{of_channel}, the deck there on posts of its own.",
        ),
        CAV_AT_DOOR: ("door_level" in shown, ", at a level door as far below the course under its sill"),
        DOOR_FLOOR: (
            door,
            " At a door bring the floor out over inner leaf and insulation to the cavity: it bears the frame, where no bracket stands.",
        ),
        HEAD_COURSE: (
            "reveal_door" in shown,
            "; at a door to a closed deck a damp-proof course under the lintel, left long enough to turn in along the barrier to its frame",
        ),
        STOP_AT_DOOR: (door, ", ended at both sides of a door on that floor"),
        DOOR_CUT: ("door_edge" in shown, " (at a door cut the lower flap off)"),
        DOOR_TAPED: (
            "door_edge" in shown,
            " At a door jambs and head alone, sill and lower corners once the floor is primed.",
        ),
    }
    return {word: words if asked else "" for word, (asked, words) in told.items()}


def hood_clear(ordered: str) -> float | None:
    """How far the hood over a window stands clear of its frame, in mm, by the words of the row reveal_face; None without a hood.

    Examples
    --------
    >>> hood_clear("sealed at the jambs, a hood 25 mm clear")
    25.0
    """
    found = HOOD_ORDERED.search(ordered)
    return float(found[1]) if found else None


def look_first_steps(circumstances: Circumstances, level: int, shown: Mapping[str, str]) -> tuple[Step, ...]:
    """What to look at, open and mend on a wall that stands already, in order, with its own figures.

    Parameters
    ----------
    shown
        As in :func:`window_steps`, and ``spell``, ``push``, ``head``: driving rain, pressure and its water.
    """
    return _steps(STANDING_WALL, circumstances, level, shown)


def _steps(
    sequence: str, circumstances: Circumstances, level: int, shown: Mapping[str, str]
) -> tuple[Step, ...]:
    taken = [row for row in load_table(TABLE)["row"] if takes_row(row, circumstances, level, shown)]
    waiting = [row for row in taken if row["sequence"] == EVERY_WALL and sequence != STANDING_WALL]
    rows = []
    for row in taken:
        if row["sequence"] == sequence:
            ahead, behind = (
                [one for one in waiting if not set(one.get(place, ())).isdisjoint(row.get("adds", ()))]
                for place in ("ahead_of", "behind")
            )
            waiting = [one for one in waiting if one not in (*ahead, *behind)]
            rows += [*ahead, row, *behind]
    return tuple(step_of(row, shown, smoked="smoke" in shown) for row in (*rows, *waiting))


def takes_row(
    row: Mapping[str, Any], circumstances: Circumstances, level: int, shown: Mapping[str, str]
) -> bool:
    """Whether a row of a table of steps is for this wall, this level and these rows of the schedule."""
    return (
        row["least"] <= level <= row["most"]
        and (not row["walls"] or circumstances.wall_type in row["walls"])
        and row.get("frame", circumstances.frame) == circumstances.frame
        and shown.keys() >= set(row.get("needs", "").split())
        and shown.keys().isdisjoint(row.get("lacks", "").split())
    )


def step_of(row: Mapping[str, Any], shown: Mapping[str, str], *, smoked: bool = False) -> Step:
    """A row of a table of steps as a step, its figures filled in; ``smoked`` where smoke is run along the inner seals."""
    hold = row.get("hold", "")
    named = [name for _, name, _, _ in Formatter().parse(row["text"]) if name]
    return Step(
        row["text"].format_map(shown),
        row.get("hold_smoked", hold) if smoked else hold,
        row.get("caution", ""),
        tuple(row.get("adds", ())),
        tuple(name for name in named if name not in FILLED_IN),
        tuple(row.get("drawn", ())),
        door=row.get("door", False),
        at_doors=tuple(shown[name] for name in named if name in AT_DOORS and shown[name]),
    )
