"""The catalogue of open climate sources."""

import tomllib
from dataclasses import dataclass, fields
from functools import cache
from importlib.resources import files

from exposure.checks import RefusalError


@dataclass(frozen=True)
class OpenSource:
    """One open source of hourly wind and rain; every text is for a reader."""

    name: str
    title: str
    what: str
    period: str
    resolution: str
    variables: str
    units: str
    accumulation: str
    licence: str
    attribution: str
    how: str
    bias: str
    suits: str
    format: str
    verified: bool
    address: str = ""  # of a point service that `exposure fetch` knows
    dataset: str = ""  # name in the store that needs a key
    first_year: int = 0


@cache
def open_sources() -> tuple[OpenSource, ...]:
    """All sources of the catalogue, those that can be fetched first.

    Examples
    --------
    >>> [source.name for source in open_sources()][:3]
    ['nasa-power', 'open-meteo', 'era5']
    """
    text = files("exposure.climate.services").joinpath("sources.toml").read_text("utf-8")
    known = {field.name for field in fields(OpenSource)}
    return tuple(
        OpenSource(**{key: value for key, value in entry.items() if key in known})
        for entry in tomllib.loads(text)["source"]
    )


def find_source(name: str) -> OpenSource:
    """The source called ``name``.

    Raises
    ------
    RefusalError
        When there is none, listing those that exist.
    """
    for source in open_sources():
        if source.name == name:
            return source
    raise RefusalError(
        f"the source is {name[:40]!r}",
        f"one of {', '.join(s.name for s in open_sources())}",
        "Correct the name.",
    )
