"""What the user tells about a source that the source does not tell itself."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from exposure.checks import RefusalError, check_between

KINDS = ("gauge", "reanalysis", "model", "typical year", "invented")
SHORT_KINDS = {"typical": "typical year"}  # accepted besides
SPREAD_RULES = ("evenly",)
STAMPS = ("end", "start")
RAIN_RULES = ("hour", "since 00 UTC", "rate")  # how the rain of a grid adds up


@dataclass(frozen=True)
class Request:
    """What was asked besides the source; every field may stay at its default.

    Attributes
    ----------
    at
        Latitude and longitude of the point wanted from a grid. [degree]
    kind
        One of :data:`KINDS`, where the user knows better than the format.
    columns
        Term -> column of the file, ``"name"`` or ``"name [unit]"``; several joined by ``+`` for ``time``.
    where
        Column -> text that its rows must hold, to pick one station of several.
    missing
        Numbers that stand for "missing" in this file.
    stamp
        Whether a stamp is the ``"end"`` or the ``"start"`` of its interval.
    time_zone
        Hours that local standard time is ahead of UTC, for stamps without a zone. [h]
    spread_rain
        ``"evenly"`` to share rain over several hours among them; None refuses it.
    rain_rule
        For grids: one of :data:`RAIN_RULES`.
    mast_height
        Height of the anemometer above ground. [m]
    mast_roughness
        Roughness length of the ground around the mast. [m]
    """

    at: tuple[float, float] | None = None
    kind: str | None = None
    columns: Mapping[str, str] = field(default_factory=dict)
    where: Mapping[str, str] = field(default_factory=dict)
    missing: tuple[float, ...] = ()
    stamp: str | None = None
    time_zone: float | None = None
    spread_rain: str | None = None
    rain_rule: str | None = None
    mast_height: float | None = None
    mast_roughness: float | None = None

    def __post_init__(self) -> None:
        if self.at is not None:
            latitude, longitude = self.at
            check_between(latitude, "latitude", -90, 90, "degrees (latitude comes first)")
            check_between(longitude, "longitude", -180, 360, "degrees")
        _one_of(self.kind, "the kind of record", KINDS)
        _one_of(self.stamp, "the stamp", STAMPS)
        _one_of(self.rain_rule, "the rain rule", RAIN_RULES)
        _one_of(self.spread_rain, "the rule that shares rain", SPREAD_RULES)
        if self.time_zone is not None:
            check_between(self.time_zone, "the time zone", -14, 14, "hours ahead of UTC")
        if self.mast_height is not None:
            check_between(self.mast_height, "the mast height", 1, 200, "m")
        if self.mast_roughness is not None:
            check_between(self.mast_roughness, "the roughness length", 0.0001, 3, "m")


def kind_of(text: str) -> str:
    """The kind of record that ``text`` names, in any case and in short too; ``text`` itself when it names none.

    Examples
    --------
    >>> kind_of("typical"), kind_of(" Typical Year "), kind_of("guess")
    ('typical year', 'typical year', 'guess')
    """
    plain = " ".join(text.split()).lower()
    kind = SHORT_KINDS.get(plain, plain)
    return kind if kind in KINDS else text


def _one_of(value: str | None, name: str, allowed: tuple[str, ...]) -> None:
    if value is not None and value not in allowed:
        raise RefusalError(f"{name} is {value!r}", f"one of {', '.join(allowed)}", "Correct it.")


def pairs_of(text: str | Mapping[str, str] | None, name: str) -> dict[str, str]:
    """Read ``"a=b,c=d"`` as a mapping; a mapping is given back as it is.

    Examples
    --------
    >>> pairs_of("time=time_hour,wind_speed=wind_speed [mph]", "columns")
    {'time': 'time_hour', 'wind_speed': 'wind_speed [mph]'}
    """
    if text is None:
        return {}
    if not isinstance(text, str):
        return {str(key): str(value) for key, value in text.items()}
    pairs = {}
    for part in text.split(","):
        key, equals, value = part.partition("=")
        if not equals or not key.strip() or not value.strip():
            raise RefusalError(
                f"{name} holds {part[:60]!r}", "name=value, several joined by commas", f"Correct {name}."
            )
        pairs[key.strip()] = value.strip()
    return pairs
