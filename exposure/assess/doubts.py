"""Each doubt about an elevation's figure, gathered from record, place, ground, neighbours and method."""

from collections.abc import Iterable
from math import ceil, floor

import numpy as np
import xarray as xr

from exposure.doubts import doubt
from exposure.figures import litres_figure
from exposure.rain.coverage import FEW_YEARS
from exposure.wall import Site, WallExposure
from exposure.wall.classes import exposure_class
from exposure.wall.doubts import Doubt, class_words

EARTH_RADIUS = 6371.0  # km
FAR = 25.0  # km from cell or station worth a sentence; our choice
MUCH_HIGHER = 100.0  # m of ground height between record and site worth a sentence; our choice
LEAST_CHANGE = 0.02  # of the index; a smaller doubt is left out; our choice
BUILD_NOT = frozenset(  # not to be built from as it is
    {
        "climate.invented", "detail.may_need_design", "detail.check_needs_design", "detail.take_off_needs_design",
        "detail.inside_wet", "junction.clash", "site.mountains", "site.sheer_cliffs", "site.high_ground",
    }
)  # fmt: skip
MAY_MOVE_CLASS = frozenset(  # another answer may be another class or level
    {
        "climate.kind_guessed", "climate.kind_contradicted", "climate.rain_unlikely_total", "climate.wind_unlikely_mean", "climate.wind_in_other_unit", "climate.warm_from_the_pole", "climate.hours_to_come", "climate.rain_like_inches",
        "climate.rain_dropped", "climate.rain_missing", "climate.rain_stops", "climate.wind_stops", "climate.wind_dead", "climate.sentinels",
        "climate.rain_all_zero", "climate.running_total_as_told", "climate.far_from_point", "climate.directions_off",
        "rain.few_years", "rain.typical_year", "rain.light_rain", "rain.no_direction", "rain.pressure_few_years",
        "rain.pressure_few_days", "rain.pressure_no_rain", "site.ground_not_told", "site.hills_not_told",
        "site.steep_valley", "site.cover_ends", "site.ground_ends", "site.scattered_heights", "wall.outside_table",
        "wall.without_neighbours", "wall.read_back", "wall.storeys_taken", "detail.class_by_band",
        "detail.light_rain_class", "detail.short_lowest", "detail.raised_one_level", "assess.eaves_not_told",
        "assess.roof_not_told", "assess.ridges_not_told", "assess.shape_not_told", "assess.ridge_height_not_told",
        "assess.ground_not_told", "assess.hills_not_told", "assess.neighbours_not_told", "assess.record_far",
        "assess.record_height", "assess.sea_twice", "assess.light_rain", "assess.neighbours_gone",
    }
)  # fmt: skip


def by_weight(flags: Iterable[str]) -> list[str]:
    """Doubts with the heaviest first: what forbids building, then what may move a class, then the others in their order.

    Examples
    --------
    >>> light, heavy = doubt("climate.stamps_without_zone"), doubt("climate.invented")
    >>> [one.key for one in by_weight([light, heavy])]
    ['climate.invented', 'climate.stamps_without_zone']
    """

    def weight(flag: str) -> tuple[bool, bool]:
        key = getattr(flag, "key", "")
        return key not in BUILD_NOT, key not in MAY_MOVE_CLASS

    return sorted(dict.fromkeys(flags), key=weight)


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
    sentences: list[str] = []
    if distance is None:
        sentences.append(doubt("assess.record_place_unknown"))
    elif distance > FAR:
        sentences.append(doubt("assess.record_far", distance=distance))
    for way, higher in () if rise is None else (("above", rise), ("below", -rise)):
        if higher > MUCH_HIGHER:
            sentences.append(doubt("assess.record_height", rise=higher, way=way))
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
        key = "assess.record_band" if years >= FEW_YEARS else "assess.record_band_short"
        found.append(
            Doubt(
                "record",
                low,
                high,
                doubt(key, years=years, span=_span(low, high), words=words),
            )
        )
    else:
        found.append(
            Doubt(
                "record",
                None,
                None,
                doubt("assess.no_band", years="1 year" if years == 1 else f"{years} years"),
            )
        )
    if _differs(any_rain, spell):
        found.append(
            Doubt(
                "threshold",
                min(spell, any_rain),
                max(spell, any_rain),
                doubt("assess.light_rain", figure=litres_figure(any_rain), words=exposure_class(any_rain)),
            )
        )
    if _differs(one.wall_spell_index_in_the_open, spell):
        found.append(
            Doubt(
                "neighbours",
                spell,
                one.wall_spell_index_in_the_open,
                doubt(
                    "assess.neighbours_gone",
                    figure=litres_figure(one.wall_spell_index_in_the_open),
                    words=one.class_in_the_open,
                ),
            )
        )
    if one.sector_spell_index is not None and _differs(one.sector_spell_index, spell):
        other = one.sector_spell_index
        found.append(
            Doubt(
                "sectors",
                min(spell, other),
                max(spell, other),
                doubt("assess.ground_by_sector", figure=litres_figure(other)),
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
                doubt("assess.other_models", span=_span(low, high)),
            )
        )
    if nearby is not None:
        low, high = spell * min(1, nearby[0]), spell * max(1, nearby[1])
        found.append(Doubt("place", low, high, doubt("assess.records_around", span=_span(low, high))))
    found.extend(Doubt("place", None, None, sentence) for sentence in place)
    return tuple(sorted(found, key=_width, reverse=True))


def _span(low: float, high: float) -> str:
    """A band in words, rounded outward."""
    return f"{litres_figure(low + 1e-9, floor)} to {litres_figure(high - 1e-9, ceil)}"


def _differs(value: float, from_value: float) -> bool:
    return bool(np.isfinite(value)) and abs(value - from_value) > LEAST_CHANGE * from_value


def _width(doubt: Doubt) -> float:
    return 0.0 if doubt.low is None or doubt.high is None else doubt.high - doubt.low
