"""Doubts of single places as notes with a letter, so that a long ranking stays a plain table."""

from collections.abc import Sequence
from dataclasses import dataclass
from string import ascii_lowercase

from exposure.assess.ranking import RankedSite
from exposure.doubts import Doubt


@dataclass(frozen=True)
class PlaceNote:
    """One kind of doubt, and the places it holds for, hardest hit first."""

    letter: str
    sentence: str  # with the figures of the first place
    places: tuple[str, ...]
    differs: bool  # other places have figures of their own in it

    @property
    def words(self) -> str:
        """The doubt and whom it concerns, in a sentence or two."""
        first, others = self.places[0], len(self.places) - 1
        if not others:
            return f"{first}: {self.sentence}"
        beside = f"{first} and {others:,} other {'place' if others == 1 else 'places'}"
        return f"{beside}: {self.sentence}" + (f" (Figures of {first}.)" if self.differs else "")


def place_notes(ranked: Sequence[RankedSite], common: Sequence[str]) -> tuple[list[PlaceNote], list[str]]:
    """The doubts of single places as notes, and each place's letters.

    Doubts of one kind share a note, told with the figures of the place hit hardest.

    Parameters
    ----------
    common
        Doubts of every place, which are told once elsewhere.

    Examples
    --------
    >>> place_notes([], [])
    ([], [])
    """
    known = frozenset(common)
    sentences: dict[str, list[str]] = {}
    places: dict[str, list[str]] = {}
    keys_of_places = []
    for one in ranked:
        keys = []
        for flag in one.site.flags:
            if flag in known:
                continue
            key = flag.key if isinstance(flag, Doubt) and flag.key else str(flag)
            keys.append(key)
            sentences.setdefault(key, []).append(str(flag))
            places.setdefault(key, []).append(one.name)
        keys_of_places.append(list(dict.fromkeys(keys)))
    letters = {key: note_letter(place) for place, key in enumerate(sentences)}
    notes = [
        PlaceNote(
            letters[key], told[0], tuple(dict.fromkeys(places[key])), any(one != told[0] for one in told)
        )
        for key, told in sentences.items()
    ]
    return notes, [" ".join(letters[key] for key in keys) for keys in keys_of_places]


def note_letter(place: int) -> str:
    """The letter of the note at ``place``, counted from 0: a to z, then aa, ab and on.

    Examples
    --------
    >>> note_letter(0), note_letter(25), note_letter(26), note_letter(701), note_letter(702)
    ('a', 'z', 'aa', 'zz', 'aaa')
    """
    letters = ""
    place += 1
    while place:
        place, left = divmod(place - 1, len(ascii_lowercase))
        letters = ascii_lowercase[left] + letters
    return letters
