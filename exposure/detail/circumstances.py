"""What the detail schedule needs to know of an elevation beyond its exposure, and how it is asked."""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from functools import cache, cached_property
from typing import Any

from exposure.checks import RefusalError
from exposure.detail.question import Question
from exposure.tables import load_table

TABLE = "detail_questions"
_BOARDS, _LEAF = ("timber frame with cladding",), ("masonry veneer", "cavity masonry")
FIXED_BY = {  # what holds the cladding, with the walls it goes with; of each wall the first is taken where none is told
    "boards nailed through the face": _BOARDS,
    "boards screwed through the face": _BOARDS,
    "boards on hidden nails or clips": _BOARDS,
    "render board screwed to battens": ("rendered board",),
    "leaf on ties": _LEAF,
}


# names that files of before may hold, and what stands for them
GONE = {"junctions": "undrawn_junction, true or false,"}


@cache
def questions() -> tuple[Question, ...]:
    """Every question of the schedule, in the order to ask them.

    Examples
    --------
    >>> questions()[0].question
    'How is the wall built?'
    """
    return tuple(
        Question(
            row["field"],
            row["question"],
            row["kind"],
            tuple(row.get("choices", ())),
            row.get("unit", ""),
            float(row.get("low", 0)),
            float(row.get("high", 0)),
            default=row.get("default"),
            empty=row.get("empty", ""),
            why=row["why"],
            part=row["part"],
        )
        for row in load_table(TABLE)["row"]
    )


@dataclass(frozen=True)
class Circumstances:
    """An elevation's circumstances: what the schedule must know beside exposure. Also the keys of ``[details]`` in a file.

    Parameters
    ----------
    wall_type
        ``timber frame with cladding``, ``masonry veneer``, ``cavity masonry`` or ``rendered board``.
    sheathing
        ``sheathed`` or ``open studs``.
    window_position
        ``at the sheathing``, ``over the cavity`` or ``in the masonry cavity``; the last with a masonry leaf only.
    frame_type
        ``not said``, ``nailing flange``, ``box frame with straps`` or ``set back in masonry``; see :attr:`frame`.
    threshold
        Of doors: ``not said``, ``a step at every door``, ``level at one door at least``, ``level at every door`` or
        ``no door on this wall``.
    cladding_fixing
        ``not said``, ``boards nailed through the face``, ``boards screwed through the face``,
        ``boards on hidden nails or clips``, ``render board screwed to battens`` or ``leaf on ties``; see :attr:`fixing`.
    storeys
        Full storeys, 1 to 60.
    eaves
        How far the roof reaches over the wall; None is not told, and none are counted. [mm]
    roof_meets_wall
        ``covers the wall all along``, ``covers part of it``, ``leaves it bare`` or
        ``roof or gutter ends inside the wall``.
    roof_below
        ``none``, ``pitched at 10 degrees or more`` or ``flatter than 10 degrees``.
    undrawn_junction, run_off_from_above, parapet
        True or False.
    deck
        ``none``, ``open slats near the ground``, ``slatted or roofed over, above the ground``,
        ``enclosed at the first floor`` or ``enclosed at the second floor or above``.
    sea_distance
        To the sea; None is not known. [m]
    later_access
        ``from the ground or a ladder`` or ``scaffold or lift needed``.
    air_seal_tested, frame_wet, bare_limit_passed, cavity_break
        True or False.
    bare_limit
        How long the membrane may stay bare; None is not asked yet. [day]
    drying
        ``as the record says``, ``well`` or ``slowly``.
    snow_depth
        As it usually lies against the wall; None is not told. [mm]
    rooms
        ``not said``, ``heated through cold winters``, ``cooled through hot, damp summers``,
        ``heated in winter and cooled in damp summers`` or ``neither, a mild climate``.
    humidity
        ``not said``, ``a dry store``, ``an office, or a well aired home``, ``a home of unknown habits``,
        ``a kitchen, a sports hall, a crowded home`` or ``a laundry, a pool``.
    work
        ``new`` or ``standing wall``.
    opened
        What opening a standing wall showed: ``not opened yet``, ``dry and sound``, ``damp, but sound`` or
        ``soft wood, or wet over more than one storey``.
    local_rules, rule_answers
        Names of local rules to compare with, and the answers to their questions under each name.

    Raises
    ------
    RefusalError
        For a word, a length or a rule's name that :func:`questions` does not hold.

    Examples
    --------
    >>> allowed = {one.key: one.choices for one in questions() if one.kind == "choice"}
    >>> allowed["sheathing"]
    ('sheathed', 'open studs')
    >>> Circumstances(storeys=3).wall_type
    'timber frame with cladding'
    """

    wall_type: str = "timber frame with cladding"
    sheathing: str = "sheathed"
    window_position: str = "at the sheathing"
    frame_type: str = "not said"
    threshold: str = "not said"
    cladding_fixing: str = "not said"
    storeys: int = 2
    eaves: float | None = None
    undrawn_junction: bool = False
    roof_meets_wall: str = "covers part of it"
    roof_below: str = "none"
    run_off_from_above: bool = False
    deck: str = "none"
    parapet: bool = False
    sea_distance: float | None = None
    later_access: str = "from the ground or a ladder"
    air_seal_tested: bool = False
    frame_wet: bool = False
    bare_limit_passed: bool = False
    bare_limit: float | None = None
    cavity_break: bool = False
    drying: str = "as the record says"
    snow_depth: float | None = None
    rooms: str = "not said"
    humidity: str = "not said"
    work: str = "new"
    opened: str = "not opened yet"
    local_rules: tuple[str, ...] = ()
    rule_answers: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for question in questions():
            name = question.key.replace("_", " ")
            value = question.checked(getattr(self, question.key), name, cure=f"Correct the {name}.")
            if question.key == "storeys" and value != int(value):
                raise RefusalError(f"{name} is {value!r}", "a whole number", f"Correct the {name}.")
            object.__setattr__(self, question.key, value)
        object.__setattr__(self, "storeys", int(self.storeys))
        if not isinstance(self.local_rules, list | tuple) or not all(
            isinstance(key, str) for key in self.local_rules
        ):
            raise RefusalError(
                f"local_rules is {self.local_rules!r}", "a list of names of rules", "Write a list."
            )
        object.__setattr__(self, "local_rules", tuple(dict.fromkeys(self.local_rules)))
        answers = self.rule_answers
        if not isinstance(answers, Mapping) or not all(isinstance(a, Mapping) for a in answers.values()):
            raise RefusalError(
                f"rule_answers is {answers!r}", "answers under the name of their rule", "Group them by rule."
            )
        if self.wall_type not in FIXED_BY[self.fixing]:
            raise RefusalError(
                f"cladding_fixing {self.cladding_fixing!r} with wall_type {self.wall_type!r}",
                f"one of: {'; '.join(how for how, walls in FIXED_BY.items() if self.wall_type in walls)}; not said",
                "Correct the circumstances of this elevation.",
            )
        for words, allowed in _CLASHES:
            if all(getattr(self, name) == word for name, word in words.items()):
                raise RefusalError(
                    " with ".join(f"{name} {word!r}" for name, word in words.items()),
                    allowed,
                    "Correct the circumstances of this elevation.",
                )

    @classmethod
    def from_mapping(cls, given: Mapping[str, Any], *, elevation: str | None = None) -> "Circumstances":
        """Circumstances from a building's file, with what is said of one elevation laid over it.

        Parameters
        ----------
        given
            Fields of this class; the entry ``elevations`` may hold, by name of the elevation, fields that
            differ there.
        elevation
            Whose differences to lay over.

        Raises
        ------
        RefusalError
            For a field or a word that is not known.

        Examples
        --------
        >>> house = {"storeys": 2, "elevations": {"north": {"parapet": True}}}
        >>> Circumstances.from_mapping(house, elevation="north").parapet
        True
        """
        whole = dict(given)
        by_elevation = whole.pop("elevations", {})
        if not isinstance(by_elevation, Mapping) or not all(
            isinstance(own, Mapping) for own in by_elevation.values()
        ):
            raise RefusalError(
                f"elevations is {by_elevation!r}", "fields grouped by elevation", "Group them by name."
            )
        for own in by_elevation.values():
            _check_names(own)
        if elevation is not None:
            whole.update(by_elevation.get(elevation, {}))
        _check_names(whole)
        return cls(**whole)

    @cached_property
    def stands(self) -> dict[str, bool]:
        """Which conditions of :func:`exposure.detail.beside.beside` have been looked up, and whether each stands."""
        return {}

    @cached_property  # asked for every step
    def frame(self) -> str:
        """The kind of frame the schedule is written for: as told, else a nailing flange, in a masonry cavity set back.

        Over the cavity of a veneer a box frame, for a flange finds nothing to be nailed to.

        Examples
        --------
        >>> Circumstances().frame, Circumstances(wall_type="cavity masonry").frame
        ('nailing flange', 'set back in masonry')
        """
        if self.frame_type != "not said":
            return self.frame_type
        masonry = self.wall_type == "cavity masonry" or self.window_position == "in the masonry cavity"
        if masonry:
            return "set back in masonry"
        over = self.wall_type == "masonry veneer" and self.window_position == "over the cavity"
        return "box frame with straps" if over else "nailing flange"

    @property
    def fixing(self) -> str:
        """What holds the cladding: as told, else what goes with the wall, boards nailed through the face.

        Examples
        --------
        >>> Circumstances().fixing, Circumstances(wall_type="masonry veneer").fixing
        ('boards nailed through the face', 'leaf on ties')
        """
        if self.cladding_fixing != "not said":
            return self.cladding_fixing
        return next(fixing for fixing, walls in FIXED_BY.items() if self.wall_type in walls)

    def changed(self, **fields_: Any) -> "Circumstances":
        """The same circumstances with some fields changed."""
        return replace(self, **fields_)


_CLASHES: tuple[tuple[dict[str, str], str], ...] = (
    (
        {"wall_type": "timber frame with cladding", "window_position": "in the masonry cavity"},
        "a wall with a masonry leaf",
    ),
    (
        {"wall_type": "rendered board", "window_position": "in the masonry cavity"},
        "a wall with a masonry leaf",
    ),
    (
        {"wall_type": "timber frame with cladding", "frame_type": "set back in masonry"},
        "a wall with a masonry leaf",
    ),
    ({"wall_type": "rendered board", "frame_type": "set back in masonry"}, "a wall with a masonry leaf"),
    (
        {
            "wall_type": "masonry veneer",
            "window_position": "at the sheathing",
            "frame_type": "set back in masonry",
        },
        "window_position 'in the masonry cavity'",
    ),
    (
        {
            "wall_type": "masonry veneer",
            "window_position": "over the cavity",
            "frame_type": "set back in masonry",
        },
        "window_position 'in the masonry cavity'",
    ),
    (
        {
            "wall_type": "masonry veneer",
            "window_position": "over the cavity",
            "frame_type": "nailing flange",
        },
        "a box frame, or window_position 'at the sheathing', for a flange finds nothing to be nailed to on a leaf",
    ),
    (
        {"window_position": "in the masonry cavity", "frame_type": "nailing flange"},
        "a box frame or one set back, for a flange needs boards",
    ),
    (
        {"wall_type": "cavity masonry", "frame_type": "nailing flange"},
        "a box frame or one set back, for a flange needs boards",
    ),
)


def _check_names(given: Mapping[str, Any]) -> None:
    known = [one.name for one in fields(Circumstances)]
    for name in given:
        if name not in known:
            instead = GONE.get(name)
            raise RefusalError(
                f"a detail called {str(name)!r}",
                f"{instead} in its place" if instead else f"one of {', '.join(known)}",
                "Correct the building's file.",
            )
