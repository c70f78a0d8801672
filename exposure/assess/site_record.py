"""The record a phone brings back from the site: read, checked against its house, refused where it cannot be trusted.

A checksum tells a record that was damaged or edited after it was exported. It is no signature: who works it out anew
is not found out.
"""

import base64
import binascii
import hashlib
import json
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, NoReturn

from exposure.assess.site_photo import photo_type
from exposure.checks import RefusalError

REGISTER, RECORD = "register", "record"
FORMATS = {REGISTER: "exposure-opening-register", RECORD: "exposure-site-record"}
VERSION = 2  # from 2 on a step has the number of the house's order of work; before, that of its own wall's
# What a phone may keep, and the desk takes; our choice.
MOST_PHOTOS = 150
LARGEST_PHOTO = 1_500_000  # bytes, after the phone scaled it
MOST_PHOTO_BYTES = 60_000_000
LARGEST_FILE = 100_000_000
MOST_OPENINGS = 2_000
MOST_PLACES = 2_000
MOST_STEPS = 60
MOST_PARTS = 400_000  # lists and tables in one file
MOST_SIDE = 100_000  # mm, of an opening
RESULTS = ("as drawn", "to mend")
LENGTHS = {"note": 600, "size": 40, "what": 200}  # characters of what is typed on site; of all else 80
_MOISTURE = re.compile(r"\d{1,2}(?:[.,]\d)?|100")
_CURES = {
    RECORD: (
        "a record as the phone exported it",
        "Export it again on the phone and open that file, unchanged.",
    ),
    REGISTER: (
        "a register as it was written with the sheets",
        "Write the house's folder anew, or name its file.",
    ),
}


@dataclass(frozen=True)
class StepRecord:
    """What was recorded at one step of the order of work; what was not is empty."""

    step: int
    done: str = ""  # when it was ticked
    result: str = ""  # one of RESULTS
    by: str = ""
    at: str = ""  # when the result was set
    moisture: str = ""  # of the wood, percent
    note: str = ""
    changed: str = ""


@dataclass(frozen=True)
class OpeningRecord:
    """What was recorded at one opening."""

    mark: str
    elevation: str
    kind: str
    size: str
    added: bool  # on site, by hand
    signed_by: str
    signed_at: str
    holds: tuple[int, ...]  # steps that ask for a record
    steps: tuple[StepRecord, ...]


@dataclass(frozen=True)
class PlaceRecord:
    """One place of an elevation's list, with when it was ticked."""

    elevation: str
    what: str
    done: str


@dataclass(frozen=True)
class Photo:
    """One photo, checked to be one."""

    number: int
    mark: str
    step: int
    taken: str
    sha256: str
    type: str
    content: bytes


@dataclass(frozen=True)
class SiteRecord:
    """One phone's record of one house."""

    file: str
    key: str
    inputs: str  # of the site file it was made with
    house: str
    phone: str
    exported: str
    openings: tuple[OpeningRecord, ...]
    places: tuple[PlaceRecord, ...]
    photos: tuple[Photo, ...]


def house_key(*, house: str, place: str, latitude: float, longitude: float) -> str:
    """Twelve letters of a house by its name and place: they stay while anything else told of it changes.

    Parameters
    ----------
    house, place
        Their names.
    latitude, longitude
        Of the building. [degree]

    Examples
    --------
    >>> house_key(house="House", place="Field", latitude=48.4, longitude=-29.7)
    '239201240614'
    """
    words = json.dumps([house, place, round(latitude, 4), round(longitude, 4)])
    return hashlib.sha256(words.encode("ascii")).hexdigest()[:12]


def read_record(path: str | Path, *, key: str) -> SiteRecord:
    """One record, checked.

    Parameters
    ----------
    key
        Of the house it has to be of (:func:`house_key`).

    Raises
    ------
    RefusalError
        For a file that is no record, of another version or house, changed after its export, too large, or with a
        photo that is none.
    """
    name, told = _table(path, RECORD)
    refuse = _refuser(name, RECORD)
    _only(told, ("format", "version", "sha256", RECORD), refuse)
    record = _mapping(told[RECORD], refuse, "its record")
    photos = _sequence(record.get("photos"), MOST_PHOTOS, "photos", refuse)
    bare = [
        {word: value for word, value in _mapping(one, refuse, "a photo").items() if word != "picture"}
        for one in photos
    ]
    if told["sha256"] != _digest({**record, "photos": bare}):
        refuse("is not what the phone wrote: it was changed or damaged after its export")
    if record.get("key") != key:
        house = str(record.get("house", ""))[:60]
        raise RefusalError(
            f"{name} is the record of another house ({house!r})",
            "a record made with this house's file for the site",
            "Name the house or the folder it belongs to.",
        )
    _only(
        record,
        ("key", "inputs", "house", "phone", "exported", "openings", "places", "photos"),
        refuse,
    )
    openings = tuple(
        _opening(_mapping(one, refuse, "an opening"), refuse)
        for one in _sequence(record["openings"], MOST_OPENINGS, "openings", refuse)
    )
    marks = {one.mark for one in openings}
    if len(marks) < len(openings):
        refuse("has one opening twice")
    taken = tuple(_photo(_mapping(one, refuse, "a photo"), refuse) for one in photos)
    if sum(len(one.content) for one in taken) > MOST_PHOTO_BYTES:
        refuse(f"has more than {MOST_PHOTO_BYTES / 1e6:.0f} MB of photos")
    lost = next((one for one in taken if one.mark not in marks), None)
    if lost is not None:
        refuse(f"has photo {lost.number} of an opening it does not hold")
    return SiteRecord(
        name, key, _text(record, "inputs", refuse), _text(record, "house", refuse, most=200),
        _text(record, "phone", refuse), _time(record, "exported", refuse), openings,
        tuple(
            _place(_mapping(one, refuse, "a place"), refuse)
            for one in _sequence(record["places"], MOST_PLACES, "places", refuse)
        ),
        taken,
    )  # fmt: skip


def read_register(path: str | Path) -> dict[str, Any]:
    """The register of openings that a building's folder holds, as its table.

    Raises
    ------
    RefusalError
        When it is no register, or of another version.
    """
    name, told = _table(path, REGISTER)
    refuse = _refuser(name, REGISTER)
    for word in ("key", "inputs", "house", "place"):
        _text(told, word, refuse, most=200)
    for word, keys in (
        ("openings", ("mark", "elevation", "kind", "asked")),
        ("walls", ("name", "code", "asked")),
    ):
        for one in _sequence(told.get(word), 20_000, word, refuse):
            table = _mapping(one, refuse, word)
            for each in keys:
                _text(table, each, refuse, most=200)
    for one in told["openings"]:
        size = [one.get("width"), one.get("height")]
        if size != [None, None] and not all(
            isinstance(side, int | float) and not isinstance(side, bool) and 0 < side < MOST_SIDE
            for side in size
        ):
            refuse(f"has a width and height of {str(size)[:40]} mm for {one['mark'][:40]!r}")
    if len({one["mark"] for one in told["openings"]}) < len(told["openings"]):
        refuse("has one opening twice")
    for wall in told["walls"]:
        for point in _sequence(wall.get("points"), MOST_STEPS, "hold points", refuse):
            table = _mapping(point, refuse, "a hold point")
            _whole(table, "step", MOST_STEPS, refuse)
            _text(table, "words", refuse, most=2000)
    return told


def _table(path: str | Path, what: str) -> tuple[str, dict[str, Any]]:
    """A JSON file as a table, of the format and version that are asked."""
    file = Path(path)
    name = file.name or str(path)
    refuse = _refuser(name, what)
    try:
        if not file.is_file():
            raise RefusalError(f"{path} is no file", _CURES[what][0], "Check its name.")
        with file.open("rb") as opened:
            raw = opened.read(LARGEST_FILE + 1)
    except OSError as error:
        raise RefusalError(
            f"{name} cannot be opened ({error.strerror})", "a file you may read", "Check its name."
        ) from error
    if len(raw) > LARGEST_FILE:
        refuse(f"is larger than {LARGEST_FILE / 1e6:.0f} MB")
    if raw.count(b"{") + raw.count(b"[") > MOST_PARTS:
        refuse("holds lists without end")
    try:
        told = json.loads(
            raw.decode("utf-8-sig"),
            object_pairs_hook=_once,
            parse_float=_no_number if what == RECORD else float,
            parse_constant=_no_number,
        )
    except (
        ValueError,
        RecursionError,
    ):  # text that is no UTF-8, numbers without end, lists in lists in lists
        refuse(f"cannot be read: it is cut short, or was never a {what}")
    if not isinstance(told, dict) or told.get("format") != FORMATS[what]:
        refuse(f"is no {what} of this program")
    version = told.get("version")
    if version != VERSION or isinstance(version, bool):
        raise RefusalError(
            f"{name} is a {what} of version {str(version)[:20]}",
            f"version {VERSION}, with the numbers of the house's order of work",
            "Make the file for the site anew with this program, or open the record with the one that made it.",
        )
    return name, told


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        message = "a name stands twice"
        raise ValueError(message)
    return found


def _no_number(words: str) -> NoReturn:
    message = f"{words[:20]} is no whole number"
    raise ValueError(message)


def _digest(record: Mapping[str, Any]) -> str:
    """Checksum of a record without its pictures, over the very letters the phone worked it out from."""
    words = json.dumps(record, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(words.encode("utf-8", "replace")).hexdigest()


_Refuse = Callable[[str], NoReturn]


def _refuser(name: str, what: str) -> _Refuse:
    def refuse(came: str) -> NoReturn:
        raise RefusalError(f"{name} {came}", *_CURES[what])

    return refuse


def _only(given: Mapping[str, Any], words: Sequence[str], refuse: _Refuse) -> None:
    if set(given) != set(words):
        wrong = sorted(set(given) ^ set(words))[0]
        refuse(f"{'has no' if wrong in words else 'has an unknown'} {wrong[:40]!r}")


def _mapping(value: object, refuse: _Refuse, what: str) -> dict[str, Any]:
    return value if isinstance(value, dict) else refuse(f"has no table for {what}")


def _sequence(value: object, most: int, what: str, refuse: _Refuse) -> list[Any]:
    if not isinstance(value, list):
        refuse(f"has no list of {what}")
    if len(value) > most:
        refuse(f"has {len(value):,} {what}, more than {most:,}")
    return value


def _text(given: Mapping[str, Any], word: str, refuse: _Refuse, *, most: int = 80) -> str:
    value = given.get(word)
    if not isinstance(value, str):
        refuse(f"has no text for {word!r}")
    if len(value) > most:
        refuse(f"has {len(value):,} characters for {word!r}, more than {most}")
    return value


def _time(given: Mapping[str, Any], word: str, refuse: _Refuse) -> str:
    value = _text(given, word, refuse)
    try:
        return value and datetime.fromisoformat(value).isoformat(timespec="seconds")
    except ValueError:
        refuse(f"has {value[:30]!r} for the time {word!r}")


def _whole(given: Mapping[str, Any], word: str, most: int, refuse: _Refuse) -> int:
    value = given.get(word)
    if not isinstance(value, int) or isinstance(value, bool) or not 0 <= value <= most:
        refuse(f"has {str(value)[:20]!r} for {word!r}, which is a whole number up to {most}")
    return value


def _opening(given: dict[str, Any], refuse: _Refuse) -> OpeningRecord:
    words = ("mark", "elevation", "kind", "size", "added", "signed_by", "signed_at", "holds", "steps")
    _only(given, words, refuse)
    if not isinstance(given["added"], bool):
        refuse("does not say of an opening whether it was added on site")
    steps = tuple(
        _step(_mapping(one, refuse, "a step"), refuse)
        for one in _sequence(given["steps"], MOST_STEPS, "steps", refuse)
    )
    if len({one.step for one in steps}) < len(steps):
        refuse("has a step of an opening twice")
    return OpeningRecord(
        _text(given, "mark", refuse), _text(given, "elevation", refuse), _text(given, "kind", refuse),
        _text(given, "size", refuse, most=LENGTHS["size"]), given["added"], _text(given, "signed_by", refuse),
        _time(given, "signed_at", refuse),
        tuple(
            _whole({"holds": one}, "holds", MOST_STEPS, refuse)
            for one in _sequence(given["holds"], MOST_STEPS, "hold points", refuse)
        ),
        steps,
    )  # fmt: skip


def _step(given: dict[str, Any], refuse: _Refuse) -> StepRecord:
    _only(given, ("step", "done", "result", "by", "at", "moisture", "note", "changed"), refuse)
    result, moisture = _text(given, "result", refuse), _text(given, "moisture", refuse)
    if result and result not in RESULTS:
        refuse(f"has the result {result[:30]!r}")
    if moisture and not _MOISTURE.fullmatch(moisture):
        refuse(f"has a moisture of {moisture[:20]!r} %")
    return StepRecord(
        _whole(given, "step", MOST_STEPS, refuse), _time(given, "done", refuse), result, _text(given, "by", refuse),
        _time(given, "at", refuse), moisture.replace(",", "."), _text(given, "note", refuse, most=LENGTHS["note"]),
        _time(given, "changed", refuse),
    )  # fmt: skip


def _place(given: dict[str, Any], refuse: _Refuse) -> PlaceRecord:
    _only(given, ("elevation", "what", "done"), refuse)
    return PlaceRecord(
        _text(given, "elevation", refuse),
        _text(given, "what", refuse, most=LENGTHS["what"]),
        _time(given, "done", refuse),
    )


def _photo(given: dict[str, Any], refuse: _Refuse) -> Photo:
    _only(given, ("number", "mark", "step", "taken", "sha256", "picture"), refuse)
    number = _whole(given, "number", 100_000, refuse)
    packed = given["picture"]
    if not isinstance(packed, str) or len(packed) > LARGEST_PHOTO * 4 // 3:
        refuse(f"has a photo {number} larger than {LARGEST_PHOTO / 1e6:g} MB")
    try:
        content = base64.b64decode(packed, validate=True)
        kind = photo_type(content)
    except (binascii.Error, ValueError) as error:
        why = "it is no base64" if isinstance(error, binascii.Error) else error
        refuse(f"has a photo {number} that is none: {why}")
    told = _text(given, "sha256", refuse)
    if hashlib.sha256(content).hexdigest() != told:
        refuse(f"has another photo {number} than the phone took")
    return Photo(
        number, _text(given, "mark", refuse), _whole(given, "step", MOST_STEPS, refuse), _time(given, "taken", refuse),
        told, kind, content,
    )  # fmt: skip
