"""What makes a record from the site doubtful: times to come, one picture at several places, what a register has otherwise."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

from exposure.assess.site_record import OpeningRecord, SiteRecord

NO_ZONE = timedelta(hours=26)  # phones write local time, and two of them may stand that far apart


def lost_since(earlier: SiteRecord, later: SiteRecord) -> list[str]:
    """What the earlier export of a phone holds and the later lacks: it was cleared, or its clock was set back."""
    lost = []
    photos = {one.sha256 for one in earlier.photos} - {one.sha256 for one in later.photos}
    if photos:
        lost.append(f"{len(photos)} photo{'' if len(photos) == 1 else 's'}")
    for words, has in (
        ("signature of", lambda one: bool(one.signed_by)),
        ("results at", lambda one: any(step.result for step in one.steps)),
    ):
        kept = {one.mark for one in later.openings if has(one)}
        marks = [one.mark for one in earlier.openings if has(one) and one.mark not in kept]
        if marks:
            lost.append(f"{words} {', '.join(marks)}")
    return lost


def _times(record: SiteRecord) -> list[str]:
    """Every time that a phone wrote."""
    steps = [step for one in record.openings for step in one.steps]
    return [
        record.exported,
        *(one.signed_at for one in record.openings),
        *(time for step in steps for time in (step.done, step.at, step.changed)),
        *(one.done for one in record.places),
        *(one.taken for one in record.photos),
    ]


def times_to_come(records: Sequence[SiteRecord], now: datetime) -> list[str]:
    """Which phones wrote times that are still to come, whatever zones they stand in."""
    ahead = (now + NO_ZONE).isoformat(timespec="seconds")
    return [
        f"Phone {one.phone} has the time {last[:16].replace('T', ' ')}, which is still to come: its clock was wrong, so no time it wrote is sure."
        for one in records
        if (last := max(_times(one))) > ahead
    ]


def shared_photos(records: Sequence[SiteRecord]) -> list[str]:
    """One and the same picture at several openings or steps, which it cannot all show."""
    found: dict[str, set[tuple[str, int]]] = {}
    for record in records:
        for photo in record.photos:
            found.setdefault(photo.sha256, set()).add((photo.mark, photo.step))
    return [
        f"One and the same picture stands at {', '.join(f'{mark} step {step}' for mark, step in sorted(places))}: it cannot show them all."
        for places in found.values()
        if len(places) > 1
    ]


def listed_openings(register: Mapping[str, Any]) -> dict[str, dict[str, str]]:
    """Mark -> elevation (its code), kind and size as the register has them."""
    codes = {wall["name"]: wall["code"] for wall in register["walls"]}
    return {
        one["mark"]: {
            "elevation": codes.get(one["elevation"], one["elevation"]),
            "kind": one["kind"],
            "size": "" if one.get("width") is None else f"{one['width']:g} × {one['height']:g}",
        }
        for one in register["openings"]
    }


def told_otherwise(
    mark: str, mine: Sequence[OpeningRecord], listed: Mapping[str, Mapping[str, str]] | None
) -> Iterable[str]:
    """What phones say of an opening otherwise than the register, in words."""
    if listed is None:
        return
    if mark not in listed:
        if not all(one.added for one in mine):
            yield "not in the register"
        return
    for word, value in listed[mark].items():
        others = sorted({getattr(one, word) for one in mine} - {"", value})
        if value and others:
            yield f"{word} {', '.join(others)}, in the register {value}"
