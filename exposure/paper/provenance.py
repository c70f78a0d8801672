"""Where a sheet's figures come from: sources with their marks, version, date, and a mark of the inputs."""

import hashlib
import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import date

from exposure import __version__
from exposure.assess import Assessment
from exposure.assess.details_parts import BuildingDetails
from exposure.draw.factor_chain import FACTOR_NAMES
from exposure.tables import load_table, table_standing

INVENTED = "invented"
DO_NOT_BUILD = "Invented demo: do not build from it"
MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


@dataclass(frozen=True)
class Source:
    """One source, what it gives, and how its figures stand (:mod:`exposure.tables.standing`)."""

    what: str
    source: str
    standing: str  # "" for a weather record, which is no table to compare


def is_invented(assessment: Assessment) -> bool:
    """Whether the weather, and so everything worked out from it, is made up."""
    attributes = assessment.index.attrs
    return attributes.get("kind") == INVENTED or INVENTED in str(attributes.get("source", "")).lower()


def record_words(assessment: Assessment) -> str:
    """The weather record in one line: the file as its owner named it, source, kind, years counted, what rain counts."""
    index = assessment.index
    years = index["year"].values
    if index.attrs.get("kind") == "typical year":
        span = "one typical year"
    elif len(years) == 1:
        span = f"{int(years[0])}"
    else:
        span = f"{int(years.min())} to {int(years.max())}, {len(years)} years count"
    threshold = index.attrs.get("wet_hour_mm", 0)
    counted = f"rain counted from {threshold:g} mm in the hour" if threshold else "every measured rain counts"
    source, file = str(index.attrs.get("source", "not named")), str(index.attrs.get("file", ""))
    named = source if not file else f"file {file}" if source == file else f"file {file}: {source}"
    return f"{named} ({index.attrs.get('kind', 'kind not known')}), {span}, {counted}"


def sources_of(assessment: Assessment) -> list[Source]:
    """Sources of the exposure figures, each once; those of details stand beside their lines."""
    found = {
        (
            "weather",
            str(assessment.index.attrs.get("source", "not named")),
            INVENTED if is_invented(assessment) else "",
        ): None,
        (
            "airfield index",
            "ISO 15927-3:2009, clause 3 (constants second hand, percentile from memory)",
            "from memory",
        ): None,
    }
    for one in assessment.elevations:
        for factor in one.factors:
            found[(FACTOR_NAMES.get(factor.name, factor.name), factor.source, factor.standing)] = None
    table = load_table("exposure_class")["source"]
    found[("classes", f"{table['document']}, {table['place']}", table_standing("exposure_class"))] = None
    return [Source(*key) for key in found]


def input_mark(details: BuildingDetails) -> str:
    """Eight letters that change when any input changes, so that two sheets can be told apart."""
    assessment = details.assessment
    return mark_of(
        {
            "building": asdict(assessment.building),
            "site": asdict(assessment.site),
            "weather": {key: assessment.index.attrs.get(key) for key in ("source", "kind", "wet_hour_mm")},
            "years": assessment.index["year"].values.tolist(),
            "annual": [one.airfield_annual_index for one in assessment.elevations],
            "schedules": [
                [(line.key, line.build) for line in one.schedule.lines] for one in details.elevations
            ],
        }
    )


def mark_of(inputs: object) -> str:
    """Eight hexadecimal letters of plain data, in two groups.

    Examples
    --------
    >>> mark_of({"height": 5.6}) == mark_of({"height": 5.6}), mark_of({"height": 5.6}) == mark_of({"height": 5.7})
    (True, False)
    """
    words = json.dumps(inputs, sort_keys=True, default=str)
    digest = hashlib.sha256(words.encode("utf-8", "replace")).hexdigest()
    return f"{digest[:4]}-{digest[4:8]}"


def made_words(made: date) -> str:
    """A date as written on a drawing.

    Examples
    --------
    >>> made_words(date(2026, 11, 25))
    '25 November 2026'
    """
    return f"{made.day} {MONTHS[made.month - 1]} {made.year}"


def version_words() -> str:
    """Version of the program."""
    return f"version {__version__}"


def in_order(sentences: Iterable[str]) -> list[str]:
    """Sentences each once, in the order they came."""
    return list(dict.fromkeys(sentence for sentence in sentences if sentence))
