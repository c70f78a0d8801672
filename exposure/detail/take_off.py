"""Take-off: how much membrane, tape, tray, flashing and batten an elevation needs."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from exposure.checks import RefusalError, check_between
from exposure.detail.materials import (
    AT_STEPS,
    AT_WINDOWS,
    FLOOR_TRAYS,
    ITEMS,
    NAMED,
    Item,
    not_counted,
)
from exposure.detail.openings import Opening
from exposure.detail.order import flap_height
from exposure.detail.schedule_parts import Schedule
from exposure.detail.take_off_kinds import (
    COURSE,
    ON_THE_FRAME,
    by_kind,
    over_the_frame,
    sums_by_kind,
    tapes_round,
)
from exposure.detail.take_off_wall import (
    Corners,
    base_parts,
    battens,
    courses,
    floor_trays,
    largest,
    lowest_cladding,
    membrane_and_tape,
    on_boards,
    on_open_studs,
    value_of,
)
from exposure.doubts import doubt
from exposure.wall import Wall

ROLL_WIDTH = 1500.0  # mm, of membrane; our choice, the user sets it
ROLL_LENGTH = 50.0  # m; the same
WASTE = {  # shares on top, to be set by the user; our choice
    "membrane": 0.10,
    "tape": 0.10,
    "sill tray": 0.05,
    "head flashing": 0.05,
    "batten": 0.10,
    "stretch tape": 0.10,
    "inner seal": 0.10,
    "base flashing": 0.05,
    "base closer": 0.05,
    "damp-proof course": 0.05,
    "cavity tray": 0.05,
    "rigid board": 0.10,
}
# bought for each tray, by its form; others have none
CORNER_PIECES = {"film with corner pieces": 2, "formed corners": 2}
CUT = 250.0  # mm of tape at least at each end of the cut over a head; our choice, for a flap of 150 mm
SILL_END = 150.0  # mm of damp-proof course for the piece up either end of a sill; our choice
COUNTED_FROM = "from the foot of each layer up, at soil or paving, whichever takes more"
NOT_LISTED = "not listed"  # what hangs on openings that nobody listed, in words
SEVERAL = "by kind"  # in place of a sum of unlike kinds


@dataclass(frozen=True)
class TakeOff:
    """Amounts of one elevation, or of all; waste is in them.

    Membrane, battens and boards are counted from ``counted_from`` up: below stand masonry or concrete.

    What openings take is None where no openings were listed at all: it is not known, and never nothing.
    """

    elevation: str
    wall_area: float  # m2; a gable as a triangle on a rectangle, where its eaves are known
    opening_area: float | None  # m2
    membrane: float  # m2
    tape: float  # m, of all widths; without a list, of laps and top edge alone
    sill_tray: float | None  # m
    head_flashing: float | None  # m
    batten: float  # m; without a list, none beside openings
    corner_pieces: int | None
    openings: int | None
    clad_area: float = 0.0  # m2, of ``wall_area`` what stands above the lowest cladding
    stretch_tape: float | None = None  # m
    inner_seal: float | None = None  # m of joint
    base_flashing: float = 0.0  # m
    base_closer: float = 0.0  # m
    damp_proof_course: float = 0.0  # m, of all widths; without a list, of the base alone
    cavity_tray: float | None = None  # m, over openings and stops in a leaf; without a list, of stops alone
    rigid_board: float = 0.0  # m2, where none stand on the studs
    not_counted: tuple[str, ...] = ()  # what the schedule orders beside
    counted_from: float = 0.0  # m above the ground, the lowest cladding; of several elevations the lowest
    waste: Mapping[str, float] = field(default_factory=lambda: dict(WASTE))
    flags: tuple[str, ...] = ()
    by_kind: Mapping[str, Mapping[str, float]] = field(
        default_factory=dict
    )  # by item, each kind's share of it

    @property
    def kinds_in_words(self) -> str:
        """How much of each kind, of what comes in kinds.

        Examples
        --------
        >>> TakeOff("x", 9, None, 60, 0, None, None, 0, None, None, by_kind={"membrane": {"W1": 40.0, "W2": 20.0}}).kinds_in_words
        'membrane W1 40.0 m2, membrane W2 20.0 m2'
        """
        return ", ".join(
            f"{one.name} {kind} {much:.1f} {one.unit}"
            for one in ITEMS
            for kind, much in self.by_kind.get(one.name, {}).items()
        )


def shown(found: TakeOff, one: Item) -> str:
    """An amount without its unit as a table has it, each kind by itself where there are several.

    Examples
    --------
    >>> found = TakeOff("x", 9, None, 60, 12, None, None, 0, None, None, by_kind={"membrane": {"W1": 40.0, "W2": 20.0}})
    >>> [shown(found, one) for one in ITEMS[:2]]
    ['40 W1, 20 W2', '12']
    """
    parts = found.by_kind.get(one.name, {})
    if len(parts) > 1:
        return ", ".join(f"{much:,.{one.decimals}f} {kind}" for kind, much in parts.items())
    return amount_words(getattr(found, one.field), decimals=one.decimals)


def amount_words(amount: float | None, *, decimals: int = 0) -> str:
    """An amount of the take-off without its unit, and what is not known in words.

    Examples
    --------
    >>> amount_words(59.4), amount_words(2.0, decimals=1), amount_words(None)
    ('59', '2.0', 'not listed')
    """
    return NOT_LISTED if amount is None else f"{amount:,.{decimals}f}"


class OpeningTakeOff(NamedTuple):
    """What openings of one size need; waste is in it, what the wall takes itself is not."""

    tape: float  # m
    sill_tray: float  # m
    head_flashing: float  # m
    corner_pieces: int
    stretch_tape: float  # m
    inner_seal: float  # m
    damp_proof_course: float  # m
    cavity_tray: float  # m


def take_off(
    wall: Wall,
    schedule: Schedule,
    openings: Sequence[Opening] = (),
    *,
    boarded: bool = False,
    corners: Corners | None = None,
    waste: Mapping[str, float] | None = None,
    roll: tuple[float, float] = (ROLL_WIDTH, ROLL_LENGTH),
) -> TakeOff:
    """Amounts for one elevation by its schedule.

    Membrane by courses with their laps, in as many layers as open studs ask, on boards in one; openings are not taken off,
    since it runs across and is cut; rigid boards alike over the whole wall, where the membrane asks them. Its sheets go round a corner, or end before one, as ``corners`` say.
    Laps are taped on the outer layer alone. Tape: four sides of each opening, at the boards jambs
    and head once more over the frame and past its corners, the ends of the cut over the head, the laps that the level tapes, at a corner where either wall tapes them,
    and the top edge at the plate, of a gable along both rakes; stretch tape round two corners of an opening (over film on open studs four). Trays and flashings, over openings in a leaf
    cavity trays: width of each opening with its ends, turned up ones too, corner pieces as its form asks them; in a leaf a tray over each stop of the
    cavity at a floor, ended beside doors. Battens: one for each spacing, one each side of an opening, a wide one in place of the last at a corner of two cavities. Inner seal: round each opening. Over a cavity
    behind cladding a base flashing, turned up at doors, and a closer along the wall but for its doors. Damp-proof course: one along the base, under the plate but for doors, two where a leaf stands
    before it, and in a leaf those of jambs and sill, of doors behind it the head's too.

    Parameters
    ----------
    openings
        The building's whole list; empty means that nobody listed them.
    boarded
        Whether boards stand on its studs already, so that none are bought.
    corners
        What is counted with it of the sheets and laps at its corners, from :func:`exposure.assess.corners.corner_sheets`; by
        default half of either lap.
    waste
        Shares to add, by name as in :data:`WASTE`. [1]
    roll
        Width and length of a roll of the membrane. [mm], [m]

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
    check_between(roll[0], "width of the roll", 500, 6000, "mm")
    check_between(roll[1], "length of the roll", 5, 500, "m")
    lines = {line.key: line for line in (*schedule.lines, *schedule.floor)}
    values = {key: line.value for key, line in lines.items()}
    mine = [one for one in openings if one.elevation == wall.name]
    wall = largest(wall)
    area = wall.area
    holes = sum(one.width * one.height * one.count for one in mine) / 1e6
    if holes > area:
        raise RefusalError(
            f"{holes:.0f} m2 of openings on the {wall.name} elevation of {area:.0f} m2",
            "openings smaller than their wall",
            "Correct the openings list; its sizes are in millimetres.",
        )
    low = lowest_cladding(values, schedule.door_floor if openings else 0.0) / 1000
    tall = max(area / wall.length - low, 0.0)  # of a gable, its mean
    membrane, seam_tape = membrane_and_tape(wall, lines, tall, low, corners, roll)
    flashing, closer = base_parts(wall, lines, mine)
    spaced, at_corners = battens(wall, lines, tall, low, corners, mine)
    flags = []
    if "gable" in wall.shape and wall.eaves_height is None:
        flags.append(doubt("detail.gable_as_rectangle", wall.name))
    milder = [other.area for one in wall.untold if one.what in ("roof", "ridges") for _, other in one.answers]
    if milder and area - min(milder) >= 1:
        flags.append(doubt("detail.gable_not_told", wall.name, top=wall.height, less=area - min(milder)))
    if not mine:
        flags.append(
            doubt("detail.no_openings_here", wall.name) if openings else doubt("detail.no_openings_listed")
        )
    if schedule.specific_design:
        flags.append(doubt("detail.take_off_needs_design", wall.name))
    along = courses(wall, lines, mine)
    trays = floor_trays(wall, lines, schedule.storeys, mine, corners)
    wide, deep = tapes_round(mine, values)
    of_openings = _of_openings(mine, lines)._asdict()
    of_wall = {
        "membrane": membrane,
        "rigid_board": tall * wall.length if on_boards(lines) and not boarded else 0.0,
        "tape": seam_tape,
        "batten": spaced + at_corners,
        "base_flashing": flashing,
        "base_closer": closer,
        "damp_proof_course": sum(along.values()),
        **({"cavity_tray": trays} if trays else {}),
    }
    amounts: dict[str, Any] = {
        one.field: (of_openings.get(one.field, 0) + of_wall.get(one.field, 0)) * (1 + shares.get(one.name, 0))
        if openings or one.field in of_wall
        else None
        for one in ITEMS
    }
    return TakeOff(
        elevation=wall.name,
        wall_area=area,
        opening_area=holes if openings else None,
        openings=sum(one.count for one in mine) if openings else None,
        clad_area=tall * wall.length,
        counted_from=low,
        not_counted=not_counted(values, boarded=boarded, absent=_absent(mine, trays)),
        waste=shares,
        flags=tuple(flags),
        by_kind=by_kind(
            values,
            amounts,
            wide=wide * (1 + shares["tape"]),
            deep=deep * (1 + shares["tape"]),
            at_corners=at_corners * (1 + shares["batten"]),
            courses={kind: much * (1 + shares[COURSE]) for kind, much in along.items()},
        ),
        **amounts,
    )


def _absent(openings: Sequence[Opening], trays: float) -> set[str]:
    """What a wall does not take besides, by its own openings and the cavity trays counted at its floors."""
    doors = [one for one in openings if one.door]
    return {
        *((FLOOR_TRAYS,) if trays else ()),
        *(AT_WINDOWS if doors and len(doors) == len(openings) else ()),
        *(AT_STEPS if doors and all(one.level for one in doors) else ()),
    }


def opening_take_off(
    one: Opening, schedule: Schedule, *, waste: Mapping[str, float] | None = None
) -> OpeningTakeOff:
    """What one line of the openings list adds to the take-off of its elevation.

    Parameters
    ----------
    waste
        As in :func:`take_off`.
    """
    shares = {**WASTE, **(waste or {})}
    lines = {line.key: line for line in (*schedule.lines, *schedule.floor)}
    found = _of_openings([one], lines)
    return found._replace(
        **{
            item.field: getattr(found, item.field) * (1 + shares[item.name])
            for item in ITEMS
            if item.field in found._fields and item.name in shares
        }
    )


def _of_openings(openings: Sequence[Opening], lines: Mapping) -> OpeningTakeOff:
    """What openings take, without waste."""

    def metres(of_one: Callable[[Opening], float]) -> float:
        return sum(one.count * of_one(one) for one in openings) / 1000

    in_leaf = "head_tray_mas" in lines
    end, past = value_of(lines, "end_dam"), value_of(lines, "head_past", 150.0)
    corners = 4 if on_open_studs(lines) else 2
    flap = flap_height(box=False, tape=value_of(lines, "tape_w"), leg=value_of(lines, "head_up"))
    level_cut = in_leaf or not ON_THE_FRAME & lines.keys()
    cut = CUT if level_cut else max(CUT, 1.5 * flap)  # along 45 degrees and past both ends
    values = {key: line.value for key, line in lines.items()}
    tape = metres(lambda one: 2 * (one.width + one.height) + over_the_frame(one, values) + 2 * cut)
    form = lines["sill_form"].value if "sill_form" in lines else ""
    return OpeningTakeOff(
        tape if "open_tape" in lines else 0.0,
        metres(lambda one: one.width + 2 * end),
        0.0 if in_leaf else metres(lambda one: one.width + 2 * past + 2 * value_of(lines, "head_stop")),
        CORNER_PIECES.get(form, 0) * sum(one.count for one in openings),
        metres(lambda _: corners * 2 * value_of(lines, "corner_tape")),
        metres(lambda one: 2 * (one.width + one.height)),
        metres(
            lambda one: (
                2 * one.height
                + one.width * (2 if one.door and "reveal_door" in lines else 1)  # its head too
                + 2 * (value_of(lines, "sill_past") + SILL_END)
            )
        )
        if "dpc_jamb" in lines
        else 0.0,
        metres(lambda one: one.width + 2 * past + 2 * value_of(lines, "tray_stop")) if in_leaf else 0.0,
    )


def take_off_total(parts: Sequence[TakeOff]) -> TakeOff:
    """Sum over elevations."""
    amounts = ("wall_area", "opening_area", "openings", "clad_area", *(one.field for one in ITEMS))
    named = tuple(item for item in NAMED if any(item in part.not_counted for part in parts))
    flags = tuple(dict.fromkeys(flag for part in parts for flag in part.flags))
    waste = parts[0].waste if parts else dict(WASTE)
    return TakeOff(
        "all",
        **{name: _sum_known([getattr(part, name) for part in parts]) for name in amounts},
        not_counted=named,
        counted_from=min((part.counted_from for part in parts), default=0.0),
        waste=waste,
        flags=flags,
        by_kind=sums_by_kind([part.by_kind for part in parts]),
    )


def _sum_known(amounts: Sequence[float | None]) -> Any:
    """Sum of what is known; None when nothing is."""
    known = [one for one in amounts if one is not None]
    return sum(known) if known or not amounts else None
