"""Doubts as data: a key, what it concerns and the numbers; the words stand once, in one TOML a room beside this file.

A doubt reads as its sentence wherever text is wanted, and is told from others by its ``key`` alone: nothing may
match or split the sentence.
"""

import json
from collections.abc import Iterable, Mapping
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import xarray as xr

ROOMS = ("climate", "rain", "site", "wall", "detail", "junction", "assess", "region", "district", "paper")


class Doubt(str):
    """One doubt about a result: a sentence that knows its key, its subject and its numbers.

    Attributes
    ----------
    key
        Room and name, e.g. ``rain.few_years``.
    subject
        What it is about: the name of a wall, a place or a file; empty for the record or answer as a whole.
    numbers
        The figures and names the sentence was made from.
    """

    key: str
    subject: str
    numbers: dict[str, Any]

    def __new__(
        cls, sentence: str, key: str = "", subject: str = "", numbers: Mapping[str, Any] | None = None
    ):
        """Make the sentence and keep what it was made from."""
        one = super().__new__(cls, sentence)
        one.key, one.subject, one.numbers = key, subject, dict(numbers or {})
        return one

    def __reduce__(self) -> tuple:
        """Keep all parts when the doubt travels between processes."""
        return type(self), (str(self), self.key, self.subject, self.numbers)

    def __str__(self) -> str:
        """Give the sentence as plain text."""
        return "".join(self)


@cache
def sentences(room: str) -> dict[str, str]:
    """Key and sentence of every doubt of ``room``, without the room's name."""
    return dict(_load(room))


def _load(room: str) -> dict[str, str]:
    import tomllib

    return tomllib.loads(files("exposure.doubts").joinpath(f"{room}.toml").read_text("utf-8"))


def doubt(key: str, subject: str = "", **numbers: Any) -> Doubt:
    """Make the doubt ``key`` (room and name, joined by a dot) from its numbers.

    Raises
    ------
    LookupError
        For a key that no table holds; KeyError when a number its sentence needs is not given.

    Examples
    --------
    >>> doubt("rain.calendar_360").key
    'rain.calendar_360'
    >>> print(doubt("rain.calendar_360"))
    The record uses a calendar of 360 days: years are 5 days short.
    """
    room, _, name = key.partition(".")
    if room not in ROOMS or name not in sentences(room):
        message = f"no doubt {key!r}; add it to exposure/doubts/{room}.toml"
        raise LookupError(message)
    return Doubt(sentences(room)[name].format(subject=subject, **numbers), key, subject, numbers)


def has_doubt(doubts: Iterable[str], key: str) -> bool:
    """Whether ``doubts`` holds one of this ``key``.

    Examples
    --------
    >>> has_doubt([doubt("rain.calendar_360"), "a sentence from a file"], "rain.calendar_360")
    True
    """
    return any(isinstance(one, Doubt) and one.key == key for one in doubts)


def likeness(one: str) -> str:
    """What doubts that say the same of different subjects have in common; a plain sentence is like itself alone."""
    return repr((one.key, one.numbers)) if isinstance(one, Doubt) and one.key else one


def alike(doubts: Iterable[str]) -> list[tuple[str, list[str]]]:
    """Each doubt once: the first of those with one key and the same numbers, and the subjects of the others.

    Examples
    --------
    >>> told = [doubt("detail.no_openings_here", wall) for wall in ("south", "west")]
    >>> [(str(one), others) for one, others in alike([*told, *told, "From a file."])]
    [('No openings were listed for the south elevation.', ['west']), ('From a file.', [])]
    """
    found: dict[str, tuple[str, list[str]]] = {}
    for one in dict.fromkeys(doubts):
        kind = likeness(one)
        if kind in found:
            found[kind][1].append(getattr(one, "subject", ""))
        else:
            found[kind] = (one, [])
    return list(found.values())


def flags_of(attrs: Mapping[Any, Any]) -> list[str]:
    """Read the doubts a Dataset carries, also after a file gave them back as one text or a plain array.

    Examples
    --------
    >>> flags_of({"flags": "Only 3 years count."})
    ['Only 3 years count.']
    >>> flags_of({"flags": as_attribute([doubt("rain.calendar_360")])})[0].key
    'rain.calendar_360'
    """
    given = attrs.get("flags", [])
    if isinstance(given, str) and not isinstance(given, Doubt):
        given = _from_text(given)
    elif isinstance(given, str):
        given = [given]
    told = [one if isinstance(one, Doubt) else str(one) for one in given]
    if "doubts" not in attrs or all(isinstance(one, Doubt) for one in told):
        return told
    whole = {str(one): one for one in _from_text(str(attrs["doubts"])) if isinstance(one, Doubt)}
    return [whole.get(one, one) for one in told]


def with_flags(dataset: "xr.Dataset", flags: Iterable[str]) -> "xr.Dataset":
    """Put ``flags`` on a Dataset so that a file keeps them: sentences as ``flags``, keys and numbers as ``doubts``.

    Each sentence once. :func:`flags_of` reads both together.

    Examples
    --------
    >>> import xarray as xr
    >>> kept = with_flags(xr.Dataset(), [doubt("rain.calendar_360")])
    >>> written = {name: [str(one) for one in value] if name == "flags" else value for name, value in kept.attrs.items()}
    >>> flags_of(written)[0].key
    'rain.calendar_360'
    """
    told = list(dict.fromkeys(flags))
    return dataset.assign_attrs(
        flags=told, doubts=as_attribute(one for one in told if isinstance(one, Doubt))
    )


def as_attribute(doubts: Iterable[str]) -> str:
    """Write doubts as one text a file can hold, keys and numbers included; :func:`flags_of` reads it back."""
    return json.dumps(
        [
            [str(one), one.key, one.subject, one.numbers] if isinstance(one, Doubt) else [str(one)]
            for one in doubts
        ],
        default=str,
    )


def _from_text(text: str) -> list[str]:
    if text.strip() in ("", "[]"):  # none, also as :func:`as_attribute` writes it
        return []
    if text.startswith("[["):
        try:
            parts = json.loads(text)
        except ValueError:
            return [text]
        if isinstance(parts, list) and all(isinstance(one, list) and one for one in parts):
            return [Doubt(str(one[0]), *one[1:4]) if len(one) > 1 else str(one[0]) for one in parts]
    return [text]
