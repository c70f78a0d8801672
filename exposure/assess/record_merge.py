"""The records of several phones as one record of the house: by opening, what differs side by side, what is missing named."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from exposure.assess.record_doubts import (
    listed_openings,
    lost_since,
    shared_photos,
    times_to_come,
    told_otherwise,
)
from exposure.assess.site_record import OpeningRecord, Photo, SiteRecord, StepRecord
from exposure.checks import RefusalError

MEND = "to mend"


@dataclass(frozen=True)
class Said:
    """One value, and the phones that hold it."""

    value: str
    phones: tuple[str, ...]


@dataclass(frozen=True)
class MergedStep:
    """One step of the order of work at one opening."""

    step: int
    hold: bool
    words: str  # what is to be recorded, as the register says it; empty where it is not at hand
    done: str  # when it was first ticked
    told: tuple[tuple[tuple[str, ...], StepRecord], ...]  # each record with the phones that hold the same
    photos: tuple[tuple[str, Photo], ...]  # with the phone that took each

    @property
    def conflict(self) -> bool:
        """Whether two phones hold different results or readings: neither is taken for the right one."""
        results, readings = (
            {getattr(one, word) for _, one in self.told} - {""} for word in ("result", "moisture")
        )
        return len(results) > 1 or len(readings) > 1


@dataclass(frozen=True)
class MergedOpening:
    """One opening as all phones have it."""

    mark: str
    elevation: str  # code
    kind: tuple[Said, ...]
    size: tuple[Said, ...]
    added: bool
    signed: tuple[Said, ...]
    steps: tuple[MergedStep, ...]
    missing: tuple[str, ...]

    @property
    def conflict(self) -> bool:
        """Whether anything of it is held in two ways."""
        return len(self.kind) > 1 or len(self.size) > 1 or any(one.conflict for one in self.steps)

    @property
    def begun(self) -> bool:
        """Whether anything was recorded at it."""
        return bool(self.signed or any(one.told or one.done or one.photos for one in self.steps))


@dataclass(frozen=True)
class MergedRecord:
    """The record of a house."""

    house: str
    key: str
    records: tuple[SiteRecord, ...]  # in use, one a phone
    openings: tuple[MergedOpening, ...]
    places: tuple[tuple[str, str, bool], ...]  # code of the elevation, place of its list, whether ticked
    notes: tuple[str, ...]
    walls: Mapping[str, str]  # code -> name, where a register is at hand


def merge_records(
    records: Sequence[SiteRecord],
    *,
    register: Mapping[str, Any] | None = None,
    now: datetime | None = None,
) -> MergedRecord:
    """One record of a house out of those of its phones.

    Parameters
    ----------
    records
        Of one house (:func:`exposure.assess.site_record.read_record`).
    register
        The house's register of openings (:func:`exposure.assess.site_record.read_register`): what it holds and no
        phone has is missing, its hold points hold whatever a phone says of them, and what it lists otherwise is told.
        Without it only what the phones hold can be told.
    now
        The time it is, by which a later time on a record is told; by default that of this machine.

    Raises
    ------
    RefusalError
        When the records are of different houses, or there is none.
    """
    if not records:
        raise RefusalError("no record", "one record or more", "Name the files the phones exported.")
    if len({one.key for one in records}) > 1:
        houses = ", ".join(sorted({one.house[:60] for one in records}))
        raise RefusalError(
            f"records of different houses ({houses})",
            "records of one house",
            "Open each house's by themselves.",
        )
    used, notes = _latest(records)
    notes += [*times_to_come(used, now or datetime.now()), *shared_photos(used)]
    listed = None if register is None else listed_openings(register)
    points = {
        (wall["code"], point["step"], door): point["words"]
        for wall in (register or {}).get("walls", ())
        for point in wall["points"]
        for door in ((True,) if point.get("door") else (True, False))
    }
    held: dict[str, list[tuple[str, OpeningRecord]]] = {}
    for one in used:
        for opening in one.openings:
            held.setdefault(opening.mark, []).append((one.phone, opening))
    openings = [_merged(mark, mine, used, points, listed) for mark, mine in held.items()]
    if register is not None and listed is not None:
        openings += _unseen(listed, set(held))
        if any(one.inputs != register["inputs"] for one in used):
            notes.append(
                "The record was made with another issue of the site file than the register at hand: compare sizes before "
                "you rely on it."
            )
    walls = list(dict.fromkeys(one.elevation for one in openings))
    openings.sort(key=lambda one: walls.index(one.elevation))
    places: Counter[tuple[str, str]] = Counter()
    for record in used:
        for place in record.places:
            places[place.elevation, place.what] += bool(place.done)
    house = used[0].house if register is None else f"{register['house']}, {register['place']}"
    return MergedRecord(
        house, used[0].key, used, tuple(openings),
        tuple((*place, done > 0) for place, done in places.items()),
        tuple(notes), {wall["code"]: wall["name"] for wall in (register or {}).get("walls", ())},
    )  # fmt: skip


def _latest(records: Sequence[SiteRecord]) -> tuple[tuple[SiteRecord, ...], list[str]]:
    """Of each phone its latest export, which holds the earlier ones."""
    found: dict[str, SiteRecord] = {}
    notes = []
    for one in sorted(records, key=lambda one: one.exported):
        if (before := found.get(one.phone)) is not None:
            notes.append(f"Of phone {one.phone} the later export is used, {one.file}; not {before.file}.")
            if lost := lost_since(before, one):
                notes.append(f"{one.file} lacks what {before.file} holds: {', '.join(lost)}. Look at both.")
        found[one.phone] = one
    return tuple(found.values()), notes


def _said(pairs: Iterable[tuple[str, str]]) -> tuple[Said, ...]:
    """Values each once with the phones that hold them; what was not recorded says nothing."""
    found: dict[str, list[str]] = {}
    for phone, value in pairs:
        if value:
            found.setdefault(value, []).append(phone)
    return tuple(Said(value, tuple(phones)) for value, phones in found.items())


def _merged(
    mark: str,
    mine: Sequence[tuple[str, OpeningRecord]],
    used: Sequence[SiteRecord],
    points: Mapping[tuple[str, int, bool], str],
    listed: Mapping[str, Mapping[str, str]] | None,
) -> MergedOpening:
    first = mine[0][1]
    known = (listed or {}).get(mark, {})
    wall, door = known.get("elevation", first.elevation), known.get("kind", first.kind).startswith("door")
    asked = {
        step: words for (code, step, at_door), words in points.items() if (code, at_door) == (wall, door)
    }
    holds = {step for _, one in mine for step in one.holds} | set(asked)
    photos = [(one.phone, photo) for one in used for photo in one.photos if photo.mark == mark]
    numbers = (
        holds | {step.step for _, one in mine for step in one.steps} | {photo.step for _, photo in photos}
    )
    steps = []
    for number in sorted(numbers):
        same: dict[StepRecord, list[str]] = {}
        for phone, one in mine:
            for step in one.steps:
                if step.step == number:
                    same.setdefault(replace(step, done="", changed=""), []).append(phone)
        taken = {photo.sha256: (phone, photo) for phone, photo in reversed(photos) if photo.step == number}
        steps.append(
            MergedStep(
                number,
                number in holds,
                asked.get(number, ""),
                min(
                    (step.done for _, one in mine for step in one.steps if step.step == number and step.done),
                    default="",
                ),
                tuple((tuple(phones), step) for step, phones in same.items() if step != StepRecord(number)),
                tuple(sorted(taken.values(), key=lambda one: (one[1].taken, one[0], one[1].number))),
            )
        )
    signed = _said(
        (phone, f"{one.signed_by}, {_clock(one.signed_at) or 'no date'}")
        for phone, one in mine
        if one.signed_by.strip()
    )
    last = max((one.signed_at for _, one in mine), default="")
    later = any(
        time > (one.signed_at or last)
        for _, one in mine
        for step in one.steps
        for time in (step.done, step.at, step.changed)
    )
    undated = any(one.signed_by.strip() and not one.signed_at for _, one in mine)
    strange = told_otherwise(mark, [one for _, one in mine], listed)
    return MergedOpening(
        mark, wall, _said((phone, one.kind) for phone, one in mine),
        _said((phone, one.size) for phone, one in mine), first.added, signed, tuple(steps),
        (*strange, *_missing(steps, signed=bool(signed), later=later, undated=undated)),
    )  # fmt: skip


def _missing(steps: Sequence[MergedStep], *, signed: bool, later: bool, undated: bool) -> Iterable[str]:
    """What an opening still lacks, in words."""
    holds = [one for one in steps if one.hold]
    told = {
        "no result": [one.step for one in holds if not _results(one)],
        "no name": [
            one.step for one in holds if any(told.result and not told.by.strip() for _, told in one.told)
        ],
        "no photo": [one.step for one in holds if not one.photos],
        MEND: [one.step for one in steps if MEND in _results(one)],
        "two records differ": [one.step for one in steps if one.conflict],
    }
    for words, numbers in told.items():
        if numbers:
            yield f"{words} at step {', '.join(map(str, numbers))}"
    if not signed:
        yield "not signed"
    elif undated:
        yield "signed without a date"
    elif later:
        yield "changed after it was signed"


def _results(step: MergedStep) -> set[str]:
    return {one.result for _, one in step.told} - {""}


def _unseen(listed: Mapping[str, Mapping[str, str]], held: set[str]) -> list[MergedOpening]:
    """Openings of the register that no phone has."""
    return [
        MergedOpening(
            mark,
            one["elevation"],
            _said([("", one["kind"])]),
            _said([("", one["size"])]),
            False,
            (),
            (),
            ("on no phone's record",),
        )
        for mark, one in listed.items()
        if mark not in held
    ]


def _clock(time: str) -> str:
    return time[:16].replace("T", " ")
