"""The figures a second way: plain Python loops over rows of (hour, year, rain, wind speed, direction).

Nothing here comes from the package; constants are typed again from ISO 15927-3, EN 1991-1-4 and hydrostatics
(from memory), so that a slip in one typing shows.
"""

import math
from itertools import pairwise

TERRAIN = {"I": (0.17, 0.01, 2), "II": (0.19, 0.05, 4), "III": (0.22, 0.3, 8), "IV": (0.24, 1.0, 16)}
SHELTER = ((120, 1.0), (100, 0.9), (80, 0.8), (60, 0.7), (40, 0.6), (25, 0.5), (15, 0.4), (8, 0.3), (4, 0.2))


def head_on(r, v):
    return 2 / 9 * v * r ** (8 / 9)


def annual_and_spells(rows, theta, hours_in_year):
    """Annual sum of each year, scaled for missing hours and wind, and the largest spell that ends in it."""
    annual, largest = {}, {}
    for year, hours in hours_in_year.items():
        mine = [row for row in rows if row[1] == year and not math.isnan(row[2])]
        total = 0.0
        for _, _, r, v, d in mine:
            if r <= 0 or math.isnan(v) or head_on(r, v) < 0.001:
                continue
            if math.isnan(d):
                total += head_on(r, v) / math.pi
            else:
                total += head_on(r, v) * max(0.0, math.cos(math.radians(d - theta)))
        rain = sum(row[2] for row in mine)
        with_wind = sum(row[2] for row in mine if not math.isnan(row[3]))
        annual[year] = total * hours / len(mine) * rain / with_wind
        largest[year] = 0.0
    spell, last = 0.0, None
    for hour, year, r, v, d in rows:
        if any(math.isnan(x) for x in (r, v, d)) or r <= 0 or head_on(r, v) < 0.001:
            continue
        cosine = math.cos(math.radians(d - theta))
        if cosine <= 1e-5:
            continue
        spell = head_on(r, v) * cosine + (0.0 if last is None or hour - last - 1 >= 96 else spell)
        largest[year], last = max(largest[year], spell), hour
    return annual, largest


def percentile_67(values):
    ordered = sorted(values)
    at = 0.67 * (len(ordered) - 1)
    low = int(at)
    return ordered[low] + (at - low) * (ordered[min(low + 1, len(ordered) - 1)] - ordered[low])


def gumbel(values, years):
    """Method of moments, n - 1."""
    mean = sum(values) / len(values)
    spread = math.sqrt(sum((x - mean) ** 2 for x in values) / (len(values) - 1))
    reduced = -math.log(-math.log(1 - 1 / years))
    return mean + math.sqrt(6) / math.pi * (reduced - 0.5772156649) * spread


def ground_factor(category, height):
    k, z0, least = TERRAIN[category]
    return k * math.log(max(height, least) / z0)


def shelter_factor(distance):
    return next(factor for edge, factor in SHELTER if distance >= edge)


def tail(hours, years, often):
    """Pressure passed once in ``often`` years, from (hour, pressure) of a record too short for yearly maxima.

    Days' largest; the upper half above its start is exponential, its strongest tenth cut to the largest of the rest.
    """
    days = {}
    for hour, pressure in hours:
        if pressure > 0:
            days[hour // 24] = max(days.get(hour // 24, 0.0), pressure)
    peaks = sorted(days.values())
    assert len(peaks) >= 20
    upper = peaks[len(peaks) - math.ceil(len(peaks) / 2) :]
    start = peaks[len(peaks) - len(upper) - 1]
    cut = math.ceil(len(peaks) / 10)
    top = upper[-cut - 1]
    scale = sum(min(peak, top) - start for peak in upper) / (len(upper) - cut)
    return start + scale * math.log(len(upper) / years * often)


def pressures(rows, theta, *, category, height, hill):
    """Once-in-five-years wind pressure in heavy rain at the wall, facing it and from anywhere; mean and gust."""
    facing, anywhere, years = [], [], len({row[1] for row in rows})
    assert years < 10
    for hour, _, r, v, d in rows:
        if math.isnan(r) or math.isnan(v) or r < 1.8:
            continue
        anywhere.append((hour, 0.5 * 1.225 * v**2))
        cosine = math.nan if math.isnan(d) else math.cos(math.radians(d - theta))
        if cosine > 1e-5:
            facing.append((hour, 0.5 * 1.225 * (v * cosine) ** 2))
    _, z0, least = TERRAIN[category]
    gust = 1 + 7 / math.log(max(height, least) / z0)
    at_wall = (ground_factor(category, height) * hill) ** 2
    any_direction = tail(anywhere, years, 5)
    found = {}
    for name, airfield in (
        ("facing", min(tail(facing, years, 5), any_direction)),
        ("any_direction", any_direction),
    ):
        mean = airfield * at_wall
        found |= {name: mean, f"{name}_gust": mean * gust}
    return found | {f"{name}_head": value / 9.80665 for name, value in found.items()}


def hours_by_year(rows):
    """Hours of each calendar year of whole years, counted from the rows themselves."""
    assert all(after[0] - before[0] == 1 for before, after in pairwise(rows))
    counted = {}
    for row in rows:
        counted[row[1]] = counted.get(row[1], 0) + 1
    return counted
