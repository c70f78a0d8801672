"""What nobody told about a building or its place: what was taken, and what each other answer would make of the figures.

Every figure here is computed from the same record as the assessment. The harder side is always taken, hills
alone excepted: ground that nobody told is flat, and the answers say what a hill would add.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import xarray as xr

from exposure.doubts import Doubt, doubt
from exposure.figures import litres_figure
from exposure.site.place import Site
from exposure.tables import find_row
from exposure.wall.building import Wall
from exposure.wall.eaves import with_overhang
from exposure.wall.index import WallExposure, wall_exposure
from exposure.wall.name_list import names_listed

GROUNDS = {"II": "farmland", "III": "a suburb or woods"}  # answers to try where the ground is not told
CREST = 1.2  # topography coefficient on the crest of a slope of 1 in 10
EAVES_WALL, GABLE = "eaves wall", "gable"  # in the names of wall shapes
NEIGHBOUR = 20.0  # m; the neighbour tried where none were told
WHOLE_SITE = ("ground", "hills", "neighbours")  # the same for all elevations: said once, of the worst
SAID_WITH_NUMBERS = (
    "site.ground_not_told",
    "site.hills_not_told",
    "site.neighbours_not_told",
)  # doubts of the site these replace


@dataclass(frozen=True)
class Answer:
    """One answer that could be given, and what it makes of the elevation.

    Parameters
    ----------
    words
        E.g. ``350 mm of eaves``.
    wall_spell_index
        Of the elevation, with this answer and all else as it is. [L m-2]
    exposure_class
        Its class.
    """

    words: str
    wall_spell_index: float
    exposure_class: str


@dataclass(frozen=True)
class Assumption:
    """Something that was not told of one elevation.

    Parameters
    ----------
    what
        ``eaves``, ``roof``, ``ridges``, ``ridge height``, ``shape``, ``ground``, ``hills`` or ``neighbours``.
    elevation
        Its name.
    taken
        What was taken instead, in a few words.
    wall_spell_index, exposure_class
        Of the elevation with what was taken: the figures of the assessment. [L m-2]
    would_be
        The other answers, each with its figures; empty where they are no longer known (a result read back).
    """

    what: str
    elevation: str
    taken: str
    wall_spell_index: float
    exposure_class: str
    would_be: tuple[Answer, ...]

    @property
    def matters(self) -> bool:
        """Whether an answer would move the figure a reader sees, or the class."""
        shown = litres_figure(self.wall_spell_index)
        return any(
            litres_figure(one.wall_spell_index) != shown or one.exposure_class != self.exposure_class
            for one in self.would_be
        )

    @property
    def doubt(self) -> Doubt:
        """The assumption as a doubt about its elevation alone."""
        return self.doubt_with()

    def doubt_with(self, also: Sequence[str] = ()) -> Doubt:
        """The assumption as a doubt about its elevation, with its numbers.

        Parameters
        ----------
        also
            Other elevations of which the same was not told, to be named in the sentence.
        """
        others = f"; nor is it told of {names_listed(also)}" if also else ""
        if not self.would_be:
            return doubt("wall.read_back", self.elevation, what=self.what, also=others)
        return doubt(
            f"assess.{self.what.replace(' ', '_')}_not_told",
            self.elevation,
            assumed=self.taken,
            answers="; ".join(self._in_words(one) for one in self.would_be),
            also=others,
            wall_spell_index=self.wall_spell_index,
            exposure_class=self.exposure_class,
            would_be=[[one.words, one.wall_spell_index, one.exposure_class] for one in self.would_be],
        )

    def _in_words(self, one: Answer) -> str:
        """What the answer would make, e.g. ``350 mm of eaves would make it 124 instead of 207 L/m2``."""
        then, now = litres_figure(one.wall_spell_index), litres_figure(self.wall_spell_index)
        if then == now:
            return f"{one.words} would change nothing"
        told = "" if one.exposure_class == self.exposure_class else f", {one.exposure_class}"
        return f"{one.words} would make it {then} instead of {now} L/m2{told}"


def assumptions_of(
    index: xr.Dataset, site: Site, elevations: Sequence[WallExposure]
) -> tuple[Assumption, ...]:
    """Everything that was not told, elevation by elevation, each answer computed.

    Parameters
    ----------
    index
        Result of :func:`exposure.rain.index.airfield_index` that holds the walls' orientations.
    site, elevations
        As they were assessed.
    """
    found: list[Assumption] = []

    def note(what: str, one: WallExposure, taken: str, would_be: Sequence[tuple[str, Site, Wall]]) -> None:
        answers = []
        for words, ground, wall in would_be:
            then = wall_exposure(index, ground, wall)
            answers.append(Answer(words, then.wall_spell_index, then.exposure_class))
        found.append(
            Assumption(what, one.wall.name, taken, one.wall_spell_index, one.exposure_class, tuple(answers))
        )

    open_ground, flat = site.untold.get("terrain", ()), site.untold.get("hills", ())
    for one in elevations:
        for untold in one.wall.untold:
            note(untold.what, one, untold.taken, [(words, site, wall) for words, wall in untold.answers])
        if open_ground:
            answers = [
                (words, _on_ground(site, open_ground, key), one.wall) for key, words in GROUNDS.items()
            ]
            note(
                "ground",
                one,
                find_row("terrain", "category", site.categories[open_ground[0]])["in_short"],
                answers,
            )
        if flat:
            note("hills", one, "flat ground", [("a crest of 1 in 10", _on_crest(site, flat), one.wall)])
        if one.wall.view is None and one.wall.obstacle_distance is None:
            near = replace(one.wall, obstacle_distance=NEIGHBOUR)
            note("neighbours", one, "none", [(f"a building as tall at {NEIGHBOUR:g} m", site, near)])
    return tuple(found)


def other_answers(index: xr.Dataset, site: Site, one: WallExposure) -> dict[str, Answer]:
    """What another answer would make of an elevation, also where everything was told: one for each thing.

    Parameters
    ----------
    index
        As for :func:`assumptions_of`.

    Returns
    -------
    dict
        Under ``eaves``, ``roof``, ``ground`` and ``neighbours``, as far as they mean something for this wall.
    """
    wall = one.wall
    now = set(site.categories)
    key, words = next((key, words) for key, words in reversed(GROUNDS.items()) if now != {key})
    found: dict[str, tuple[str, Site, Wall]] = {
        "ground": (f"{words} all round", _on_ground(site, range(len(site.categories)), key), wall),
        "neighbours": (
            f"a building as tall at {NEIGHBOUR:g} m",
            site,
            replace(wall, obstacle_distance=NEIGHBOUR),
        ),
    }
    if EAVES_WALL in wall.shape:
        found["eaves"] = ("none", site, with_overhang(wall, 0.0))
        found["roof"] = ("a gable", site, replace(wall, shape=wall.shape.replace(EAVES_WALL, GABLE)))
    elif GABLE in wall.shape:
        found["roof"] = ("eaves", site, replace(wall, shape=wall.shape.replace(GABLE, EAVES_WALL)))
    answers = {}
    for what, (said, ground, other) in found.items():
        then = wall_exposure(index, ground, other)
        answers[what] = Answer(said, then.wall_spell_index, then.exposure_class)
    return answers


def assumption_doubts(assumptions: Sequence[Assumption]) -> list[Doubt]:
    """Doubts about the building: each thing once, of the elevation it matters to first, the others named."""
    found: dict[str, list[Assumption]] = {}
    for one in assumptions:
        if one.matters or not one.would_be:
            found.setdefault(one.what, []).append(one)
    return [
        first.doubt_with([] if first.what in WHOLE_SITE else [one.elevation for one in others])
        for first, *others in found.values()
    ]


def own_doubts(assumptions: Sequence[Assumption], elevation: str) -> list[Doubt]:
    """Doubts about one elevation; what is the same all round the site is left to the building."""
    return [
        one.doubt
        for one in assumptions
        if one.elevation == elevation and one.what not in WHOLE_SITE and (one.matters or not one.would_be)
    ]


def _on_ground(site: Site, sectors: Sequence[int], category: str) -> Site:
    terrain = tuple(category if k in sectors else old for k, old in enumerate(site.categories))
    return replace(site, terrain=terrain)


def _on_crest(site: Site, sectors: Sequence[int]) -> Site:
    hills = tuple(CREST if k in sectors else old for k, old in enumerate(site.hill_coefficients))
    return replace(site, topography=hills)
