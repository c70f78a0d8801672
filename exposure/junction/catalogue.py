"""Which junctions are drawn for an elevation, with the numbers they are drawn from and what is left out."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from exposure.detail import Step
from exposure.doubts import Doubt, doubt
from exposure.junction.base import base_at_paving, base_at_soil
from exposure.junction.corners import NO_CAVITY, has_cavity, inside_corner, outside_corner
from exposure.junction.deck import deck_at_wall, flat_roof_at_wall
from exposure.junction.deck_door import deck_at_door
from exposure.junction.deck_jamb import deck_jamb
from exposure.junction.door_jamb import deck_door_jamb, door_jamb
from exposure.junction.door_side import door_side
from exposure.junction.floor_line import (
    barrier_at_window,
    floor_line,
    floor_line_direct,
    floor_line_in_leaf,
    floor_line_open,
)
from exposure.junction.head import head
from exposure.junction.jamb import jamb
from exposure.junction.laps import level_lap, upright_lap
from exposure.junction.numbers import NumberMissingError, Numbers
from exposure.junction.on_the_wall import block, meter_box
from exposure.junction.one_piece import in_one_piece
from exposure.junction.opening import opening
from exposure.junction.parapet import cap, saddle
from exposure.junction.pipe import pipe
from exposure.junction.roofs import kick_out, roof_at_wall
from exposure.junction.scene import Conflict, Section
from exposure.junction.sill import sill
from exposure.junction.slatted_deck import slats_at_door, slatted_deck
from exposure.junction.threshold import threshold
from exposure.junction.wall_top import wall_at_gable, wall_under_eaves
from exposure.junction.window import NotDrawnError
from exposure.junction.work_scene import Frame as WorkFrame
from exposure.junction.work_scene import frames_of
from exposure.wall.building import EAVES, GABLE


@dataclass(frozen=True)
class Junction:
    """One junction: how it is made, and the row whose standing in a schedule says that an elevation has it."""

    key: str
    title: str
    make: Callable[[Numbers], Section]
    row: str = ""  # empty: every elevation has it
    instead: str = ""  # the row of what stands in its place, where an elevation has that
    top: str = ""  # the end of a wall under its roof that it is; empty where it is none
    beside: str = ""  # one more row that must stand with the first
    everywhere: float | None = (
        None  # value of the row of ``instead`` at which that stands in its place; at any, where none is given
    )

    def asked(self, numbers: Numbers) -> bool:
        """Whether the schedule has this junction."""
        return self.among(numbers.values, numbers.tops)

    def among(self, rows: Mapping[str, float | str], tops: Sequence[str]) -> bool:
        """Whether a wall with these rows and their values, ending so under its roof, has this junction."""
        replaced = self.instead in rows and self.everywhere in (None, rows[self.instead])
        if replaced or (self.top and self.top not in tops):
            return False
        return all(row in rows for row in (self.row, self.beside) if row)


JUNCTIONS: tuple[Junction, ...] = (
    Junction("sill", "Window sill", sill),
    Junction("head", "Window head", head),
    Junction("jamb", "Window jamb", jamb),
    Junction("threshold", "Door threshold", threshold, "door_sill"),
    Junction("door-jamb", "Door jamb", door_jamb, "reveal_door"),
    Junction("door-side", "Side of a level door", door_side, "door_side", beside="paved"),
    Junction("opening", "Window opening from outside", opening),
    Junction(
        "cavity-barrier", "Cavity barrier at a window", barrier_at_window, "cav_fire", beside="batten_sp"
    ),
    Junction("base-soil", "Base of wall at soil", base_at_soil),
    Junction("base-paving", "Base of wall at paving", base_at_paving, "paved"),
    Junction("lap-level", "Level lap of the membrane", level_lap, "lap_h"),
    Junction("lap-upright", "Upright lap of the membrane", upright_lap, "lap_v"),
    Junction("corner-inside", "Inside corner", inside_corner, "icorner"),
    Junction("corner-outside", "Outside corner", outside_corner, "ocorner"),
    Junction("pipe", "Pipe through the wall", pipe, "pen_slope"),
    Junction("meter-box", "Meter box in the wall", meter_box, "box_flash"),
    Junction("block", "Light or bracket on its block", block, "block_fix"),
    Junction("wall-top-eaves", "Top of wall under eaves", wall_under_eaves, "", "cap_slope", EAVES),
    Junction("wall-top-gable", "Top of wall at a gable", wall_at_gable, "", "cap_slope", GABLE),
    Junction("floor-line", "Floor line", floor_line, "cav_run"),
    Junction(
        "floor-open",
        "Floor line, cavity left open",
        floor_line_open,
        "floor_gap",
        "cav_run",
        everywhere=1,
        beside="batten_sp",
    ),
    Junction(
        "floor-direct",
        "Floor line, no cavity",
        floor_line_direct,
        "floor_gap",
        "batten_sp",
    ),
    Junction("floor-leaf", "Floor line in a leaf", floor_line_in_leaf, "cav_run_leaf"),
    Junction("roof-at-wall", "Roof against the wall", roof_at_wall, "step_h"),
    Junction("flat-roof", "Flat roof against the wall", flat_roof_at_wall, "step_flat"),
    Junction("kick-out", "Kick-out where an eave ends", kick_out, "kick_h"),
    Junction("parapet-cap", "Parapet cap", cap, "cap_slope"),
    Junction("saddle", "Saddle where a parapet or rail meets the wall", saddle, "saddle_up"),
    Junction("deck", "Deck or balcony at the wall", deck_at_wall, "deck_up"),
    Junction("deck-door", "Deck at a door", deck_at_door, "deck_step"),
    Junction("deck-door-jamb", "Door jamb at a closed deck", deck_door_jamb, "deck_frame"),
    Junction("deck-jamb", "Door jamb at a deck in snow", deck_jamb, "deck_tray", beside="snow_roof"),
    Junction("deck-slats", "Slatted deck at the wall", slatted_deck, "deck_slats"),
    Junction("slats-door", "Slatted deck at a door", slats_at_door, "deck_slats_down"),
)


# what all have, and looked at first; laps say themselves how many layers one film is
IN_LAYERS = ("sill", "head", "jamb")


@dataclass(frozen=True)
class LeftOut:
    """A junction that an elevation has and no drawing shows, and why."""

    junction: str
    title: str
    elevations: tuple[str, ...]
    why: str

    def in_words(self, on: str = "") -> str:
        """That it is not drawn, in a sentence; ``on`` names the elevations where it is not all that are spoken of.

        Examples
        --------
        >>> LeftOut("sill", "Window sill", ("north",), "no number is given").in_words("N")
        'Window sill on N: not drawn, no number is given.'
        """
        return f"{self.title}{f' on {on}' if on else ''}: not drawn, {self.why}."


@dataclass(frozen=True)
class Drawing:
    """One junction at one level, and the elevations it stands for."""

    section: Section
    level: int
    level_name: str
    elevations: tuple[str, ...]
    words: tuple[tuple[str, str], ...]  # the schedule's sentence of each row shown
    stem: str = ""  # of its files
    numbers: Numbers | None = field(default=None, compare=False, repr=False)  # it is drawn from

    @property
    def doubts(self) -> tuple[Doubt, ...]:
        """Its clashes, for each elevation."""
        return tuple(
            _doubt_of(one, name, self.section.title)
            for name in self.elevations
            for one in self.section.conflicts
        )


def _doubt_of(conflict: Conflict, elevation: str, title: str) -> Doubt:
    place = title.split(",")[0].lower()
    return doubt(
        "junction.clash", elevation, junction=place, rows=", ".join(conflict.rows), words=conflict.words
    )


def clashes(elevation: str, numbers: Numbers) -> tuple[Doubt, ...]:
    """Numbers of an elevation's schedule that cannot be built together, each told once.

    Examples
    --------
    >>> clashes("north", Numbers({}, level=1))
    ()
    """
    found: dict[Conflict, Doubt] = {}
    if numbers.stop:
        return ()
    for junction in JUNCTIONS:
        if junction.asked(numbers):
            try:
                section = section_of(junction, numbers)
            except (NumberMissingError, NotDrawnError):
                continue
            for one in section.conflicts:
                found.setdefault(one, _doubt_of(one, elevation, section.title))
    return tuple(found.values())


def section_of(junction: Junction, numbers: Numbers) -> Section:
    """The section of a junction, with the clash named where pushed water would top a turned-up back.

    Raises
    ------
    LookupError
        When a number is missing, or the junction is not drawn for this wall.
    """
    section = in_one_piece(_of_layers(junction.make(numbers), numbers))
    low = [
        Conflict(
            (one.row,),
            f"It stands {one.top[1] - one.low[1]:.0f} mm, and the wind pushes water {one.head:.0f} mm high: "
            f"turn it up {one.head + 5:.0f} mm.",
        )
        for one in section.held
        if one.top[1] - one.low[1] < one.head
    ]
    return replace(section, conflicts=(*section.conflicts, *low)) if low else section


def _of_layers(section: Section, numbers: Numbers) -> Section:
    """A window's section whose membrane is named with its layers, where one film stands for several over open studs."""
    layers = 1.0 if numbers.boards else numbers.length("stud_layers", 1.0)
    if layers <= 1 or section.key not in IN_LAYERS:
        return section
    classed = {one.key for one in section.layers if "mem_class" in one.rows} or {
        one.key for one in section.layers if one.name.startswith("Membrane")
    }
    named = [
        replace(one, name=one.name.replace("embrane", f"embrane, {layers:g} layers", 1)) if one.key in classed else one
        for one in section.layers
    ]  # fmt: skip
    return replace(section, layers=tuple(named))


def drawings_of(
    elevations: Sequence[tuple[str, Numbers]], junctions: Sequence[Junction] = JUNCTIONS
) -> tuple[tuple[Drawing, ...], tuple[LeftOut, ...]]:
    """Every junction at every level in use, each drawn once, and what could not be drawn.

    Parameters
    ----------
    elevations
        Name and numbers of each elevation, in the order to show them.
    junctions
        Those wanted, by default all.

    Examples
    --------
    >>> drawings, left_out = drawings_of([("north", Numbers({}, level=1))])
    >>> len(drawings), left_out[0].title, left_out[0].why
    (0, 'Window sill', 'the schedule holds no number for cav_depth')
    """
    found: dict[tuple, tuple[Section, Numbers, list[str]]] = {}
    missing: dict[tuple[str, str, str], list[str]] = {}
    for name, numbers in elevations:
        if numbers.stop:
            missing.setdefault(("every", "Every junction", numbers.stop), []).append(name)
    for junction in junctions:
        for name, numbers in elevations:
            if numbers.stop or not junction.asked(numbers):
                continue
            try:
                section = section_of(junction, numbers)
            except (NumberMissingError, NotDrawnError) as error:
                missing.setdefault((junction.key, junction.title, str(error)), []).append(name)
                continue
            words = tuple((row, numbers.words[row]) for row in section.rows if row in numbers.words)
            look = (replace(section, held=()), numbers.level, numbers.level_name, words)
            found.setdefault(look, (section, numbers, []))[2].append(name)
    drawings = [
        Drawing(section, level, level_name, tuple(names), words, numbers=numbers)
        for (_, level, level_name, words), (section, numbers, names) in found.items()
    ]
    corners = [one.section for one in drawings if one.section.key == "corner-outside"]
    if len(elevations) > 1 and all(map(has_cavity, corners)):
        drawings = [_without(one, NO_CAVITY) for one in drawings]
    left_out = tuple(LeftOut(*key[:2], tuple(names), key[2]) for key, names in missing.items())
    return _named(drawings), left_out


def _without(drawing: Drawing, note: str) -> Drawing:
    notes = tuple(one for one in drawing.section.notes if one != note)
    return replace(drawing, section=replace(drawing.section, notes=notes))


def door_floor(elevations: Iterable[Numbers]) -> float:
    """The highest floor that a door of these elevations asks, above ground or paving; none where no door asks one. [mm]

    Examples
    --------
    >>> door_floor([Numbers({}, level=1)])
    0.0
    """
    threshold = next(one for one in JUNCTIONS if one.key == "threshold")
    asked = [0.0]
    for numbers in elevations:
        if threshold.asked(numbers) and not numbers.stop:
            try:
                asked.append(threshold.make(numbers).asked_floor)
            except (NumberMissingError, NotDrawnError):
                continue
    return max(asked)


WINDOW = JUNCTIONS[:3]


def window_cannot(elevation: str, numbers: Numbers, junctions: Sequence[Junction] = WINDOW) -> str:
    """What of a window, or of a door, cannot be built as ordered, or is not drawn, and why: to be read before its first step.

    Examples
    --------
    >>> window_cannot("north", Numbers({}, level=1))
    'Window sill, window head and window jamb are not drawn: the schedule holds no number for cav_depth.'
    """
    if numbers.stop:
        return ""
    drawings, left_out = drawings_of([(elevation, numbers)], junctions)
    words = list(dict.fromkeys(one.words for drawing in drawings for one in drawing.section.conflicts))
    why: dict[str, list[str]] = {}
    for left in left_out:
        why.setdefault(left.why, []).append(left.title.lower())
    for reason, titles in why.items():
        *first, last = titles
        what = f"{', '.join(first)} and {last} are" if first else f"{last} is"
        words.append(f"{what[:1].upper()}{what[1:]} not drawn: {reason}.")
    return " ".join(words)


def _named(drawings: Sequence[Drawing]) -> tuple[Drawing, ...]:
    """The drawings with names for their files: junction and level, numbered where one level has several."""
    plain = [f"{one.section.key}-level-{one.level}" for one in drawings]
    given = []
    for place, (one, stem) in enumerate(zip(drawings, plain, strict=True)):
        before = plain[:place].count(stem)
        given.append(replace(one, stem=f"{stem}-{before + 1}" if plain.count(stem) > 1 else stem))
    return tuple(given)


@dataclass(frozen=True)
class Run:
    """An order of work in frames, at one level, and the elevations it stands for."""

    frames: tuple[WorkFrame, ...]
    numbers: Numbers
    elevations: tuple[str, ...]
    stem: str
    title: str = "Order of work at a window"


def runs_of(elevations: Sequence[tuple[str, Numbers, Sequence[Step]]]) -> tuple[Run, ...]:
    """The order of work of each elevation in frames, those that look the same once.

    Parameters
    ----------
    elevations
        Name, numbers and steps of each.
    """
    found: dict[tuple, tuple[Numbers, list[str]]] = {}
    for name, numbers, steps in elevations:
        try:
            frames = () if numbers.stop else frames_of(steps, numbers)
        except NumberMissingError:
            continue  # the junctions name what is missing
        if frames:
            found.setdefault((frames, numbers.level), (numbers, []))[1].append(name)
    return named_runs(found, title="Order of work at a window", stem="window-order")


def named_runs(found: Mapping[tuple, tuple[Numbers, list[str]]], *, title: str, stem: str) -> tuple[Run, ...]:
    """Runs by frames and level, with names for their files, numbered where one level has several."""
    plain = [f"{stem}-level-{level}" for _, level in found]
    return tuple(
        Run(
            frames,
            numbers,
            tuple(names),
            name if plain.count(name) == 1 else f"{name}-{plain[:place].count(name) + 1}",
            title,
        )
        for place, (name, ((frames, _), (numbers, names))) in enumerate(
            zip(plain, found.items(), strict=True)
        )
    )
