"""Order of work at a window, with what to record before each part is covered."""

import re
from collections.abc import Mapping
from functools import cache
from math import ceil
from string import Formatter
from typing import Any

from exposure.detail.beside import FLANGE, beside
from exposure.detail.circumstances import Circumstances
from exposure.detail.materials import REVEAL_LININGS, orders
from exposure.detail.schedule_parts import Step
from exposure.figures import amount
from exposure.tables import load_table

TABLE = "order_of_work"
HOOD_ORDERED = re.compile(r"hood (\d+) mm clear")  # as the row reveal_face words it
OPENINGS = "openings"  # what seam_tape names besides laps: other steps tape them
STANDING_WALL = "standing wall"
EVERY_WALL = "every wall"  # steps of every order but that of a standing wall, each ahead of a part
THROUGH_A_CUT = (
    "over a cavity",
    "masonry cavity",
)  # orders in which a leg goes behind the membrane through a level cut, with no head flap; behind a leaf it always does


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


def cut_over_head(circumstances: Circumstances, *, boards: bool = False) -> bool:
    """Whether a leg at the head of a window goes up behind the membrane through a level cut, and there is no head flap."""
    leaf = circumstances.wall_type == "masonry veneer"  # its tray rises higher than a flap reaches
    return leaf or window_sequence(circumstances, boards=boards) in THROUGH_A_CUT


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
    boarded = boards or circumstances.sheathing == "sheathed"
    back = orders(REVEAL_LININGS, shown.get("reveal", ""))
    clear = hood_clear(shown.get("reveal_face", ""))
    facts = {  # what clauses need that is no row
        "boarded": boarded,
        "on_film": circumstances.wall_type != "cavity masonry" and not boarded,
        "stands_back": back,
        "slot_beside_frame": circumstances.frame == FLANGE
        and (back or {"reveal", "batten_sp"} <= shown.keys()),
        "cavity_past_a_floor": shown.get("cav_run") != amount(1, "storeys"),
        "hood_clear": clear and amount(clear, "mm"),
        "pipe_hood_ordered": "hood" in shown.get("pen_form", ""),
        "flap_height": amount(_flap_height(circumstances, shown), "mm"),
        "beside_boards": circumstances.frame == FLANGE and not back and "batten_sp" not in shown,
        "laps": shown.get("seam_tape", OPENINGS).removeprefix(OPENINGS).removeprefix(" and "),
    }
    known = {**shown, **{name: fact for name, fact in facts.items() if fact}}
    return _steps(
        window_sequence(circumstances, boards=boards),
        circumstances,
        level,
        with_clauses(circumstances, known),
    )


def _flap_height(circumstances: Circumstances, shown: Mapping[str, str]) -> float:
    """The same by the rows of a schedule with their units."""

    def length(row: str) -> float:
        return float(shown.get(row, "0").split("\u00a0")[0].replace(",", ""))

    return flap_height(
        box=circumstances.frame != FLANGE, tape=length("tape_w"), leg=length("head_up"),
    )  # fmt: skip


def with_clauses(circumstances: Circumstances, known: Mapping[str, Any]) -> dict[str, Any]:
    """Rows and facts with the clauses of steps in words: of one that is not for this wall what stands in its place."""
    told = dict(known)
    for clause in load_table(TABLE)["clause"]:
        stands = beside(clause.get("when", ""), circumstances) and _concerns(clause, circumstances, known)
        told[clause["key"]] = (clause["text"] if stands else clause.get("otherwise", "")).format_map(told)
    return told


OFF_THE_WALL = {
    "box": 45.0,
    "flange": 5.0,
}  # mm of the head tape's width that lie on the frame; ours, as it is drawn
PAST_LEG, FOLD = 25.0, 8.0  # mm, the flap past the leg behind it, and its fold; our choice


def flap_height(*, box: bool, tape: float, leg: float) -> float:
    """How high over an opening the 45 degree cuts of its head flap go, past tape and leg that come behind it. [mm]

    Parameters
    ----------
    tape
        Width of the tape at jambs and head.
    leg
        Of the head flashing.

    Examples
    --------
    >>> flap_height(box=True, tape=225, leg=100)  # by hand: 225 - 45 and room to fold
    190.0
    """
    behind = tape - OFF_THE_WALL["box" if box else "flange"]
    return 10.0 * ceil((max(behind, leg + PAST_LEG) + FOLD) / 10)


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
    taken = [row for row in _asked(sequence) if takes_row(row, circumstances, level, shown)]
    waiting = [row for row in taken if row["sequence"] == EVERY_WALL and sequence != STANDING_WALL]
    rows = []
    for row in taken:
        if row["sequence"] == sequence:
            ahead, behind = (
                [one for one in waiting if not adds.isdisjoint(one.get(place, ()))]
                for adds in (frozenset(row.get("adds", ())),)
                for place in ("ahead_of", "behind")
            )
            if ahead or behind:
                waiting = [one for one in waiting if one not in (*ahead, *behind)]
            rows += [*ahead, row, *behind]
    return tuple(step_of(row, shown, smoked="smoke" in shown) for row in (*rows, *waiting))


@cache
def _asked(sequence: str) -> tuple[Mapping[str, Any], ...]:
    """Rows of this order of work and of every one."""
    return tuple(row for row in load_table(TABLE)["row"] if row["sequence"] in (sequence, EVERY_WALL))


def takes_row(
    row: Mapping[str, Any], circumstances: Circumstances, level: int, shown: Mapping[str, str]
) -> bool:
    """Whether a row of a table of steps is for this wall, this level and these rows of the schedule."""
    return (
        row["least"] <= level <= row["most"]
        and row.get("frame", circumstances.frame) == circumstances.frame
        and _concerns(row, circumstances, shown)
    )


def _concerns(row: Mapping[str, Any], circumstances: Circumstances, shown: Mapping[str, Any]) -> bool:
    """Whether a step or a clause of one is for this wall and these rows of the schedule."""
    return (
        circumstances.wall_type in (row.get("walls") or (circumstances.wall_type,))
        and shown.keys() >= _keys(row.get("needs", ""))
        and shown.keys().isdisjoint(_keys(row.get("lacks", "")))
    )


@cache
def _named(text: str) -> tuple[str, ...]:
    """What a step's text leaves to be filled in."""
    return tuple(name for _, name, _, _ in Formatter().parse(text) if name)


@cache
def _clauses() -> dict[str, Mapping[str, Any]]:
    """The clauses of steps by key."""
    return {one["key"]: one for one in load_table(TABLE)["clause"]}


@cache
def _keys(words: str) -> frozenset[str]:
    """Keys of rows that a table names in one text."""
    return frozenset(words.split())


def step_of(row: Mapping[str, Any], shown: Mapping[str, str], *, smoked: bool = False) -> Step:
    """A row of a table of steps as a step, its figures filled in; ``smoked`` where smoke is run along the inner seals."""
    hold = row.get("hold", "")
    named, clauses = _named(row["text"]), _clauses()
    return Step(
        row["text"].format_map(shown),
        (row.get("hold_smoked", hold) if smoked else hold).format_map(shown),
        row.get("caution", ""),
        tuple(row.get("adds", ())),
        tuple(name for name in named if name not in clauses),
        tuple(row.get("drawn", ())),
        door=row.get("door", False),
        at_doors=tuple(shown[name] for name in named if clauses.get(name, {}).get("doors") and shown[name]),
    )
