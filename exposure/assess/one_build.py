"""One build for the house: of every row the stricter value over its elevations, what that takes more, which corners it joins."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from exposure.assess.corners import walls_meet
from exposure.detail.ladder import CAVITY_ROWS, NOTHING_ASKED, ON_FILM, RIGID_BOARDS, ladder_rows, rank
from exposure.detail.materials import ACROSS, ITEMS, NAMED, SUPPORTS
from exposure.detail.openings import Opening
from exposure.detail.schedule_parts import Schedule, ScheduleLine
from exposure.detail.take_off import TakeOff, amount_words, take_off, take_off_total
from exposure.detail.take_off_kinds import kinds
from exposure.detail.take_off_wall import Corners
from exposure.figures import NO_BREAK, amount, listed
from exposure.tables import load_table
from exposure.wall import Wall

STRAPS = "film_straps"
CAVITIES = ("cav_depth", "cav_render", "cav_mas")
AT_CORNERS = (
    *CAVITIES,
    "mem_class",
    "lap_h",
    "seam_tape",
    "batten_sp",
    "cav_run",
    "cav_top",
    "cav_top_cap",
    "gnd",
    "paved",
)  # what runs round a corner, or ends at one height on both its walls; our choice
TOLD = {  # told in brief, in these words
    **dict.fromkeys(CAVITIES, "cavity"),
    "mem_class": "membrane",
    "back_dam": "sill tray up at the back",
    "seam_tape": "tape:",
}
BUILT_THROUGHOUT = (
    *CAVITY_ROWS,
    *NOTHING_ASKED,
    "chk_rate",
    "open_tape",
    "seam_tape",
)  # a wall without gets them
SAME = 0.01  # m or m2, from which a difference of material is told; our choice
HARDER_KINDS = {
    "mem_class": "membrane {}",
    "cav_depth": "battens for a cavity of {}",
    "cav_render": "battens for a cavity of {}",
    "sill_form": "sill trays of a harder kind",
    "air_seal": "inner seal {}",
    **dict.fromkeys(("tape_w", "tape_bond"), "wider tape"),
}
MEMBRANE_ALONE = {RIGID_BOARDS: "W1"}  # its boards are counted by themselves


@dataclass(frozen=True)
class ToBuild:
    """An elevation as it came out by itself."""

    wall: Wall
    wall_type: str
    schedule: Schedule
    boarded: bool = False  # boards stand on its studs already
    corners: Corners | None = None  # what is counted with it at its own

    @property
    def lines(self) -> tuple[ScheduleLine, ...]:
        """Its lines; those of the floor where it needs a design of its own."""
        return self.schedule.floor or self.schedule.lines


@dataclass(frozen=True)
class OneLine:
    """One row of the build."""

    line: ScheduleLine  # of the elevation that asks most
    asked_by: tuple[str, ...]  # elevations that ask as much by themselves
    more_for: tuple[str, ...]  # elevations that would ask less
    apart: bool  # values that cannot be compared: each elevation keeps its own
    less: tuple[float | str, ...] = ()  # what those that ask less ask


@dataclass(frozen=True)
class Corner:
    """Two elevations that meet, and what would differ there when each is built for itself."""

    elevations: tuple[str, str]
    differ: tuple[str, ...]  # as words, e.g. "Cavity 20 mm against 50 mm"


@dataclass(frozen=True)
class OneBuild:
    """One build for all elevations of one wall type, against each built for itself."""

    wall_type: str
    elevations: tuple[str, ...]
    lines: tuple[OneLine, ...]
    alone: TakeOff  # each elevation built for itself
    together: TakeOff
    corners: tuple[Corner, ...]  # where the elevations differ when each is built for itself
    to_design: tuple[
        str, ...
    ]  # elevations that need a design of their own: the build holds their floor alone
    to_board: tuple[
        str, ...
    ] = ()  # those that get rigid boards, where others have theirs on the studs already
    all_boarded: bool = False  # every elevation has boards on its studs already, whatever is asked
    asks_too: tuple[
        str, ...
    ] = ()  # what is not counted, and some elevation gets that does not ask it by itself

    def lines_of(self, own: Sequence[ScheduleLine]) -> list[ScheduleLine]:
        """The lines of one of its elevations, from those it has when built for itself."""
        return _with(own, {one.line.key: one.line for one in self.lines if not one.apart})

    @property
    def harder_kinds(self) -> tuple[str, ...]:
        """Materials of which some elevation gets a harder, so dearer, kind than it asks by itself."""
        found = (
            HARDER_KINDS[one.line.key].format(amount(_kind(one.line.key, one.line.value), one.line.unit))
            for one in self.lines
            if one.line.key in HARDER_KINDS
            and one.more_for
            and not one.apart
            # a membrane that gets boards alone is of no other kind, nor a seal that is looked over
            and {_kind(one.line.key, one.line.value)} != {_kind(one.line.key, own) for own in one.less}
        )
        return tuple(dict.fromkeys(found))

    @property
    def is_needed(self) -> bool:
        """Whether the elevations differ at all."""
        return any(one.more_for for one in self.lines)

    @property
    def in_words(self) -> tuple[str, ...]:
        """The build, what it takes more, and each corner it joins, a sentence each."""
        return self._words(corners=True)

    @property
    def in_brief(self) -> tuple[str, ...]:
        """The same with its corners counted, not named."""
        return self._words(corners=False)

    def _words(self, *, corners: bool) -> tuple[str, ...]:
        if not self.is_needed:
            return (f"One build for {self.wall_type}: every elevation asks the same.",)
        told = [self._told(one) for one in self.lines if one.line.key in TOLD and not one.apart]
        said = [
            f"One build for all {len(self.elevations)} elevations, {self.wall_type}: {'; '.join(told)}; the rest as the hardest."
        ]
        kinds = f"; {listed(list(self.harder_kinds))} where less would do" if self.harder_kinds else ""
        beside = f"; not counted: more {listed(list(self.asks_too))}" if self.asks_too else ""
        said.append(f"Against wall by wall it takes {self.more_words}, waste included{kinds}{beside}.")
        if self.corners:
            met = "; ".join(f"{' and '.join(one.elevations)}: {one.differ[0]}" for one in self.corners)
            many = len(self.corners)
            named = f" ({met})" if corners else ""
            said.append(
                f"It does away with {many} corner{'' if many == 1 else 's'} where builds differ{named}."
            )
        if self.to_design:
            said.append(
                f"{listed(list(self.to_design))}: a design of its own is needed; the build holds only its floor."
            )
        return tuple(said)

    def _told(self, one: OneLine) -> str:
        """A row in brief, who asks it and, of rigid boards, where none stand yet."""
        asked = f" (as {listed(list(one.asked_by))})" if len(one.asked_by) < len(self.elevations) else ""
        boards = one.line.key == "mem_class" and self.to_board
        value = _alone(one.line.value) if self.all_boarded else one.line.value
        return f"{TOLD[one.line.key]} {amount(value, one.line.unit)}{asked}" + (
            f", the boards fixed first on {listed(list(self.to_board))}, where none stand" if boards else ""
        )

    @property
    def more_words(self) -> str:
        """What it takes more than wall by wall, or less."""
        parts = [
            _difference(
                getattr(self.alone, one.field),
                getattr(self.together, one.field),
                {"m2": "m²", "piece": ""}.get(one.unit, one.unit),
                one.name if one.unit != "piece" else one.head,
            )
            for one in ITEMS
        ]
        told = [part for part in parts if part]
        told = [part for part in told if part[0] >= 1] or told  # beside metres no part of one
        return listed([words for _, words in told]) if told else "no more material"


def _difference(before: float | None, after: float | None, unit: str, what: str) -> tuple[float, str] | None:
    """How much more or less of a material, and that in words; None where it is as much, or not known."""
    if before is None or after is None or abs(after - before) < SAME:
        return None
    much = abs(after - before)
    shown = amount_words(much) if much >= 1 else "under 1"
    unit = f"{NO_BREAK}{unit}" if unit else ""
    return much, f"{shown}{unit} {'more' if after > before else 'less' if unit else 'fewer'} {what}"


def one_build(
    elevations: Sequence[ToBuild],
    openings: Sequence[Opening] = (),
    *,
    waste: Mapping[str, float] | None = None,
) -> tuple[OneBuild, ...]:
    """The fewest builds that serve every elevation: one for each type of wall, hardest elevation first.

    Parameters
    ----------
    openings
        The building's whole list; empty means that nobody listed them.
    waste
        As in :func:`exposure.detail.take_off.take_off`.
    """
    types = tuple(dict.fromkeys(one.wall_type for one in elevations))
    return tuple(
        _build(kind, [one for one in elevations if one.wall_type == kind], openings, waste) for kind in types
    )


def _build(
    kind: str,
    elevations: Sequence[ToBuild],
    openings: Sequence[Opening],
    waste: Mapping[str, float] | None,
) -> OneBuild:
    keys = dict.fromkeys(line.key for one in elevations for line in one.lines)
    lines = tuple(_line(key, elevations) for key in keys)
    alone = [
        take_off(one.wall, one.schedule, openings, boarded=one.boarded, corners=one.corners, waste=waste)
        for one in elevations
    ]
    shared = {one.line.key: one.line for one in lines if not one.apart}
    together = [
        take_off(
            one.wall,
            as_scheduled(one.schedule, _with(one.lines, shared)),
            openings,
            boarded=one.boarded,
            waste=waste,
        )
        for one in elevations
    ]
    return OneBuild(
        wall_type=kind,
        elevations=tuple(one.wall.name for one in elevations),
        lines=lines,
        alone=take_off_total(alone),
        together=take_off_total(together),
        corners=_corners(elevations),
        all_boarded=all(one.boarded for one in elevations),
        asks_too=_asks_too(alone, together, lines),
        to_design=tuple(one.wall.name for one in elevations if one.schedule.specific_design),
        to_board=_to_board(elevations, shared),
    )


def _asks_too(
    alone: Sequence[TakeOff], together: Sequence[TakeOff], lines: Sequence[OneLine]
) -> tuple[str, ...]:
    """What is not counted and some elevation gets that it does not ask by itself, or, across the cavity, at more floors."""
    more = {
        item
        for mine, shared in zip(alone, together, strict=True)
        for item in set(shared.not_counted).difference(mine.not_counted)
    }
    if any(one.line.key == "cav_run" and one.more_for for one in lines):
        more.add(ACROSS)
    if any(one.line.key in CAVITIES and one.more_for for one in lines):
        # a window over a deeper cavity needs what carries those that stand over such a one already
        there = [one for each in alone for one in SUPPORTS if one in each.not_counted]
        more |= {one for one in SUPPORTS if 0 < there.count(one) < len(alone)}
    return tuple(item for item in NAMED if item in more)


def _to_board(elevations: Sequence[ToBuild], shared: Mapping[str, ScheduleLine]) -> tuple[str, ...]:
    """Elevations without boards, where the build has the membrane on them and others have theirs already."""
    bare = tuple(one.wall.name for one in elevations if not one.boarded)
    asked = "mem_class" in shared and shared["mem_class"].value == RIGID_BOARDS
    return bare if asked and len(bare) < len(elevations) else ()


def as_scheduled(schedule: Schedule, lines: Sequence[ScheduleLine]) -> Schedule:
    """``schedule`` with other lines, to take amounts off."""
    return replace(schedule, lines=tuple(lines), floor=())


def _with(own: Sequence[ScheduleLine], shared: Mapping[str, ScheduleLine]) -> list[ScheduleLine]:
    """An elevation's lines in the house's build: the house's, and its own where they cannot be compared."""
    keys = {line.key for line in own}
    boards = "mem_class" in shared and shared["mem_class"].value == RIGID_BOARDS
    if boards or keys.isdisjoint(ON_FILM):  # no film to hold back
        shared = {key: line for key, line in shared.items() if key != STRAPS}
        own = [line for line in own if line.key != STRAPS]
    house = [line for key, line in shared.items() if key in keys or key in BUILT_THROUGHOUT]
    return [*house, *(line for line in own if line.key not in shared)]


def strictness(line: ScheduleLine) -> float | None:
    """How strict a line is within its row, larger is stricter; None where lines of the row cannot be compared."""
    if line.key == "metal":
        return float(
            next(row["strength"] for row in load_table("corrosion")["row"] if row["zone"] == line.value)
        )
    row = next((one for one in ladder_rows() if one.key == line.key), None)
    if row is None or (row.direction != "ordered" and isinstance(line.value, str)):
        return None
    return rank(row, line.value)


def _line(key: str, elevations: Sequence[ToBuild]) -> OneLine:
    mine = [(one, line, strictness(line)) for one in elevations for line in one.lines if line.key == key]
    missing = tuple(one.wall.name for one in elevations if all(line.key != key for line in one.lines))
    if any(strict is None for *_, strict in mine):
        apart = len({line.value for _, line, _ in mine}) > 1
        names = tuple(one.wall.name for one, *_ in mine)
        return OneLine(mine[0][1], names[:1] if apart else names, (), apart)
    _, line, _ = max(mine, key=lambda it: it[2] or 0.0)
    asked: list[str] = []
    less: dict[str, float | str] = {}
    for one, own, _ in mine:
        if (strictness(_as_built(one, own)) or 0.0) < (strictness(_as_built(one, line)) or 0.0):
            less[one.wall.name] = own.value
        else:
            asked.append(one.wall.name)
    line = _ordered_for(line, elevations)
    more_for = (*less, *(missing if key in BUILT_THROUGHOUT else ()))
    return OneLine(line, tuple(asked), more_for, apart=False, less=tuple(less.values()))


def _ordered_for(line: ScheduleLine, elevations: Sequence[ToBuild]) -> ScheduleLine:
    """A line in the words of a wall that has no boards yet, where it asks them and one has none."""
    if line.value != RIGID_BOARDS or len({one.boarded for one in elevations}) == 1:
        return line
    return replace(line, build=next(row for row in ladder_rows() if row.key == line.key).build[-1])


def _as_built(one: ToBuild, line: ScheduleLine) -> ScheduleLine:
    """A line as it is built: of a membrane on rigid boards the membrane alone, where boards are there already."""
    return replace(line, value=_alone(line.value)) if one.boarded and line.value in MEMBRANE_ALONE else line


def _alone(value: float | str) -> float | str:
    """A membrane without the boards it is asked on."""
    return MEMBRANE_ALONE.get(str(value), value)


def _kind(key: str, value: float | str) -> float | str:
    """What the take-off keeps apart of a row's values."""
    return kinds({key: value})["inner seal"] if key == "air_seal" else _alone(value)


def _value(one: ToBuild, key: str) -> float | str | None:
    return next((_as_built(one, line).value for line in one.lines if line.key == key), None)


def _corners(elevations: Sequence[ToBuild]) -> tuple[Corner, ...]:
    """Corners at which something that runs round them differs; none where positions are not known."""
    found = []
    for one, other in combinations(elevations, 2):
        if not walls_meet(one.wall, other.wall):
            continue
        lines = {line.key: line for line in (*other.lines, *one.lines)}
        differ = [
            f"{lines[key].where.lower()} {_shown(one, key, lines)} against {_shown(other, key, lines)}"
            for key in AT_CORNERS
            if key in lines and _value(one, key) != _value(other, key)
        ]
        if differ:
            found.append(Corner((one.wall.name, other.wall.name), tuple(differ)))
    return tuple(found)


def _shown(one: ToBuild, key: str, lines: Mapping[str, ScheduleLine]) -> str:
    value = _value(one, key)
    return "none" if value is None else amount(value, lines[key].unit)
