"""Each doubt about an elevation's figure, gathered from record, place, ground, neighbours and method."""

from math import ceil, floor

import numpy as np
import xarray as xr

from exposure.figures import litres_figure
from exposure.rain.index import FEW_YEARS
from exposure.wall import Site, WallExposure
from exposure.wall.doubts import Doubt, class_words

EARTH_RADIUS = 6371.0  # km
FAR = 25.0  # km from cell or station worth a sentence; our choice
MUCH_HIGHER = 100.0  # m of ground height between record and site worth a sentence; our choice
LEAST_CHANGE = 0.02  # of the index; a smaller doubt is left out; our choice


def great_circle(*, latitude: float, longitude: float, to_latitude: float, to_longitude: float) -> float:
    """Distance over a round earth. [km]

    Examples
    --------
    >>> round(great_circle(latitude=0, longitude=0, to_latitude=0, to_longitude=1), 1)
    111.2
    """
    a, b = np.deg2rad([latitude, to_latitude])
    turn = np.deg2rad(to_longitude - longitude)
    half = np.sin((b - a) / 2) ** 2 + np.cos(a) * np.cos(b) * np.sin(turn / 2) ** 2
    return float(2 * EARTH_RADIUS * np.arcsin(np.sqrt(half)))


def place_of_record(climate: xr.Dataset, site: Site) -> tuple[float | None, float | None]:
    """Distance [km] and ground height [m] of the record above the site; None where not known."""
    have = climate.attrs
    distance = rise = None
    if have.get("latitude") is not None and have.get("longitude") is not None:
        distance = great_circle(
            latitude=site.latitude,
            longitude=site.longitude,
            to_latitude=float(have["latitude"]),
            to_longitude=float(have["longitude"]),
        )
    if have.get("ground_height") is not None and site.ground_height is not None:
        rise = float(have["ground_height"]) - site.ground_height
    return distance, rise


def place_sentences(climate: xr.Dataset, site: Site) -> list[str]:
    """What the record's distance and ground height leave open; empty when it stands close enough."""
    distance, rise = place_of_record(climate, site)
    sentences = []
    if distance is None:
        sentences.append(
            "Where the weather record was taken is not known: its distance from the site is not checked."
        )
    elif distance > FAR:
        sentences.append(
            f"The weather record was taken {distance:.0f} km from the site; nearer ground may be wetter or drier."
        )
    if rise is not None and abs(rise) > MUCH_HIGHER:
        way = "above" if rise > 0 else "below"
        sentences.append(
            f"The weather record was taken {abs(rise):.0f} m {way} the site; rain and wind change with height."
        )
    return sentences


def doubts_of(
    one: WallExposure,
    *,
    years: int,
    any_rain: float,
    place: list[str],
    nearby: tuple[float, float] | None,
) -> tuple[Doubt, ...]:
    """Every doubt about ``one``, the widest first.

    Parameters
    ----------
    years
        Years the record counts.
    any_rain
        Wall spell index counting every trace of rain. [L m-2]
    place
        Sentences on distance and height of the record.
    nearby
        Least and largest ratio of other records around to the one used, where such were given.
    """
    found, spell = [], one.wall_spell_index
    if one.spell_band is not None:
        low, high = one.spell_band
        words = class_words(*one.class_band) if one.class_band else ""
        short = "" if years >= FEW_YEARS else " Fewer than ten years: indicative."
        found.append(
            Doubt(
                "record",
                low,
                high,
                f"{years} years of record, drawn again: {_span(low, high)} L/m2, {words}.{short}",
            )
        )
    else:
        found.append(
            Doubt(
                "record", None, None, "One year of record: how much another year would differ is not known."
            )
        )
    if _differs(any_rain, spell):
        found.append(
            Doubt(
                "threshold",
                min(spell, any_rain),
                max(spell, any_rain),
                f"Counting every trace of rain: {litres_figure(any_rain)} L/m2.",
            )
        )
    if _differs(one.wall_spell_index_in_the_open, spell):
        found.append(
            Doubt(
                "neighbours",
                spell,
                one.wall_spell_index_in_the_open,
                f"With the neighbours gone: {litres_figure(one.wall_spell_index_in_the_open)} L/m2, {one.class_in_the_open}.",
            )
        )
    if one.sector_spell_index is not None and _differs(one.sector_spell_index, spell):
        other = one.sector_spell_index
        found.append(
            Doubt(
                "sectors",
                min(spell, other),
                max(spell, other),
                f"With the ground of each wind's own direction: {litres_figure(other)} L/m2.",
            )
        )
    if one.other_models and one.wall_annual_index > 0:
        ratios = [value / one.wall_annual_index for value in one.other_models.values()]
        low, high = spell * min(1, *ratios), spell * max(1, *ratios)
        found.append(
            Doubt(
                "models",
                low,
                high,
                f"Other models, by their yearly sums: {_span(low, high)} L/m2; methods differ by two times and more.",
            )
        )
    if nearby is not None:
        low, high = spell * min(1, nearby[0]), spell * max(1, nearby[1])
        found.append(Doubt("place", low, high, f"Records around the site give {_span(low, high)} L/m2."))
    found.extend(Doubt("place", None, None, sentence) for sentence in place)
    return tuple(sorted(found, key=_width, reverse=True))


def _span(low: float, high: float) -> str:
    """A band in words, rounded outward."""
    return f"{litres_figure(low + 1e-9, floor)} to {litres_figure(high - 1e-9, ceil)}"


def _differs(value: float, from_value: float) -> bool:
    return bool(np.isfinite(value)) and abs(value - from_value) > LEAST_CHANGE * from_value


def _width(doubt: Doubt) -> float:
    return 0.0 if doubt.low is None or doubt.high is None else doubt.high - doubt.low
