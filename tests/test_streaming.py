"""The streaming form held to the plain form, which shares none of its steps, and to numbers by hand."""

import cftime
import numpy as np
import pandas as pd
import pytest
from builders import climate_of
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from exposure.checks import RefusalError
from exposure.rain.extremes import SPELL_RETURN, gumbel_value, mean_of_years, percentile_value
from exposure.rain.hour import is_driving
from exposure.rain.index import airfield_index, compass_orientations
from exposure.rain.streaming import Streaming, check_orientations, first_hour, least_wet_rain, year_of_hour
from exposure.rain.streaming_years import account_of

WALLS = (4, 8, 12, 36, 72)
YEAR = 2011  # then 2012, a leap year
HOURS = (365 + 366) * 24
KINDS = ("random", "snapped", "calm", "dry", "wet", "gappy", "drizzly", "showers", "along edges")


def record(kind: str, seed: int, cells: int, hours: int = HOURS) -> dict[str, np.ndarray]:
    """Invented hours of one kind, float32, shape (hour, cell)."""
    rng = np.random.default_rng(seed)
    shape = (hours, cells)
    share_wet = {"dry": 0.0, "wet": 1.0, "drizzly": 0.35, "showers": 0.004}.get(kind, 0.08)
    spell = np.repeat(rng.random((hours // 24 + 1, cells)), 24, axis=0)[:hours]
    wet = (rng.random(shape) < share_wet * 2 * spell) if share_wet < 1 else np.ones(shape, bool)
    rain = np.where(wet, rng.gamma(0.6, 0.15 if kind == "drizzly" else 1.5, shape), 0.0)
    if kind in ("snapped", "along edges"):
        rain = np.round(rain / 0.1) * 0.1
    speed = rng.gamma(2.0, 2.0, shape) * (rng.random(shape) > (0.7 if kind == "calm" else 0.02))
    turn = np.cumsum(rng.normal(0, 12, shape), axis=0)
    direction = (rng.uniform(0, 360) + turn) % 360
    if kind == "snapped":
        direction = np.round(direction / 10) * 10
    if kind == "along edges":  # within and just beyond the tolerance, on both sides, at any K
        direction = np.round(direction / 5) * 5 + np.degrees(rng.choice([0, 4e-6, 2e-5, -2e-5], shape))
    angle = np.deg2rad(direction)
    if kind == "gappy":
        for c in range(cells):
            for _ in range(12):
                start, length = rng.integers(0, hours), rng.integers(1, 150)
                which = rng.integers(0, 3)
                if which != 1:
                    rain[start : start + length, c] = np.nan
                if which != 0:
                    speed[start : start + length, c] = np.nan
        speed[(rng.random(shape) < 0.02) & (rain > 0)] = np.nan
    east, north = -speed * np.sin(angle), -speed * np.cos(angle)
    return {
        "rain": rain.astype(np.float32),
        "eastward_wind": east.astype(np.float32),
        "northward_wind": north.astype(np.float32),
    }


def stamps(hours: np.ndarray) -> pd.DatetimeIndex:
    return pd.to_datetime(hours.astype("datetime64[h]").astype("datetime64[ns]"))


def plain(data: dict[str, np.ndarray], hours: np.ndarray, cell: int, *, walls: int, wet_hour: float, **more):
    """The plain form of one cell, fed the same float32 values."""
    east = data["eastward_wind"][:, cell].astype(float)
    north = data["northward_wind"][:, cell].astype(float)
    speed = np.hypot(east, north)
    direction = np.degrees(np.arctan2(-east, -north)) % 360
    if "wind_speed" in data:
        speed = data["wind_speed"][:, cell].astype(float)
    climate = climate_of(
        stamps(hours),
        rain=data["rain"][:, cell].astype(float),
        wind_speed=speed,
        wind_from_direction=direction,
        kind="reanalysis",
    )
    return airfield_index(climate, orientation=compass_orientations(walls), wet_hour=wet_hour, **more)


def stream(data, hours, *, walls, wet_hour, cuts=(), sector_weight=None):
    """All years of the streaming form, fed in blocks that end at ``cuts``."""
    form = Streaming(
        cells=data["rain"].shape[1],
        orientations=walls,
        wet_hour=wet_hour,
        calendar="standard",
        sector_weight=sector_weight,
    )
    years = []
    for start, end in zip([0, *cuts], [*cuts, hours.size], strict=True):
        form.add_hours(hours[start:end], **{name: value[start:end] for name, value in data.items()})
        years += form.take_finished()
    return [*years, *form.years_so_far()]


def assert_same(got: np.ndarray, expected: np.ndarray) -> None:
    """Equal to 1e-5 relative or 1e-6 of the largest orientation, whichever is larger."""
    largest = np.max(np.abs(expected), axis=-1, keepdims=True)
    slack = np.maximum(1e-5 * np.abs(expected), 1e-6 * largest)
    assert np.all(np.abs(got - expected) <= slack + 1e-12), np.max(np.abs(got - expected) / (slack + 1e-12))


def compare(data, hours, *, walls, wet_hour, cuts=(), sector_weight=None) -> int:
    """Hold every cell's annual sums and yearly maxima to the plain form; return how many years were compared."""
    years = stream(data, hours, walls=walls, wet_hour=wet_hour, cuts=cuts, sector_weight=sector_weight)
    account = account_of(years, "standard")
    compared = 0
    for cell in range(data["rain"].shape[1]):
        more = {} if sector_weight is None else {"sector_weight": sector_weight[cell].astype(float)}
        try:
            expected = plain(data, hours, cell, walls=walls, wet_hour=wet_hour, **more)
        except RefusalError:
            assert not account.counts[:, cell].any()
            continue
        np.testing.assert_array_equal([y.year for y in years], expected["record_year"])
        np.testing.assert_allclose(account.coverage[:, cell], expected["coverage"], rtol=1e-12)
        counted = [i for i in range(len(years)) if account.counts[i, cell]]
        np.testing.assert_array_equal([years[i].year for i in counted], expected["year"])
        scale = account.hours_scaling * account.rain_scaling
        np.testing.assert_allclose(account.rain_scaling[counted, cell], expected["rain_scaling"], rtol=1e-9)
        for row, i in enumerate(counted):
            assert_same(years[i].annual[cell] * scale[i, cell], expected["yearly_annual_index"][row].values)
            assert_same(years[i].spell[cell].astype(float), expected["yearly_spell_maximum"][row].values)
            compared += 1
        annual = np.stack([y.annual[cell] * s for y, s in zip(years, scale[:, cell], strict=True)])
        spell = np.stack([y.spell[cell].astype(float) for y in years])
        counts = np.repeat(account.counts[:, [cell]], walls, axis=1)
        assert_same(mean_of_years(annual, counts), expected["airfield_annual_index"].values)
        assert_same(percentile_value(spell, counts), expected["airfield_spell_index_percentile"].values)
        if len(counted) > 1:
            assert_same(
                gumbel_value(spell, SPELL_RETURN, counts), expected["airfield_spell_index_gumbel"].values
            )
    return compared


@pytest.mark.parametrize("walls", WALLS)
@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_record_agrees_with_the_plain_form(kind, walls):
    data = record(kind, seed=walls, cells=2)
    hours = np.arange(HOURS) + first_hour(YEAR, "standard")
    compared = compare(data, hours, walls=walls, wet_hour=0.1, cuts=[5000, 5001, 9000])
    assert compared >= (1 if kind == "gappy" else 4)


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    kind=st.sampled_from(KINDS),
    walls=st.sampled_from(WALLS),
    wet_hour=st.sampled_from([0.0, 0.1, 0.2, 1.0]),
    seed=st.integers(0, 2**32 - 1),
    cuts=st.lists(st.integers(1, HOURS - 1), unique=True, max_size=4).map(sorted),
    lead=st.integers(0, 8000),
)
def test_any_record_and_any_split_agree_with_the_plain_form(kind, walls, wet_hour, seed, cuts, lead):
    data = record(kind, seed, cells=1)
    hours = np.arange(HOURS) + first_hour(YEAR, "standard") - lead
    compare(data, hours, walls=walls, wet_hour=wet_hour, cuts=cuts)


@settings(max_examples=10, deadline=None)
@given(
    walls=st.sampled_from(WALLS),
    kind=st.sampled_from(["random", "snapped", "gappy"]),
    seed=st.integers(0, 2**32 - 1),
)
def test_absent_hours_are_missing_hours(walls, kind, seed):
    rng = np.random.default_rng(seed)
    hours = np.arange(HOURS) + first_hour(YEAR, "standard")
    keep = np.ones(HOURS, bool)
    for start in rng.integers(0, HOURS, 6):
        keep[start : start + rng.integers(1, 200)] = False
    data = {name: value[keep] for name, value in record(kind, seed, cells=1).items()}
    compare(data, hours[keep], walls=walls, wet_hour=0.1, cuts=[3000])


@settings(max_examples=10, deadline=None)
@given(walls=st.sampled_from(WALLS), kind=st.sampled_from(KINDS), seed=st.integers(0, 2**32 - 1))
def test_sector_weights_agree_with_the_plain_form(walls, kind, seed):
    data = record(kind, seed, cells=2)
    weight = np.random.default_rng(seed).uniform(0.5, 1.5, (2, 12)).astype(np.float32)
    hours = np.arange(HOURS) + first_hour(YEAR, "standard")
    compare(data, hours, walls=walls, wet_hour=0.1, sector_weight=weight)


def test_equal_sector_weights_are_the_plain_product():
    data = record("random", 5, cells=3)
    hours = np.arange(HOURS) + first_hour(YEAR, "standard")
    once = stream(data, hours, walls=12, wet_hour=0.1)
    weighted = stream(data, hours, walls=12, wet_hour=0.1, sector_weight=np.full((3, 12), 0.75, np.float32))
    for a, b in zip(once, weighted, strict=True):
        np.testing.assert_allclose(b.annual, 0.75 * a.annual, rtol=1e-6)
        np.testing.assert_allclose(b.spell, 0.75 * a.spell, rtol=1e-6)


@settings(max_examples=8, deadline=None)
@given(walls=st.sampled_from(WALLS), seed=st.integers(0, 2**32 - 1), weighted=st.booleans())
def test_variable_wind_agrees_with_the_plain_form(walls, seed, weighted):
    data = record("gappy", seed, cells=2)
    rng = np.random.default_rng(seed)
    data["wind_speed"] = np.hypot(data["eastward_wind"], data["northward_wind"])
    variable = rng.random(data["rain"].shape) < 0.1
    for name in ("eastward_wind", "northward_wind"):
        data[name] = np.where(variable, np.float32(np.nan), data[name])
    weight = rng.uniform(0.5, 1.5, (2, 12)).astype(np.float32) if weighted else None
    hours = np.arange(HOURS) + first_hour(YEAR, "standard")
    compare(data, hours, walls=walls, wet_hour=0.1, sector_weight=weight)
    years = stream(data, hours, walls=walls, wet_hour=0.1)
    speechless = variable & np.isfinite(data["wind_speed"]) & (data["rain"] > 0)
    expected = np.where(speechless, data["rain"], 0).astype(float).sum(0)
    np.testing.assert_allclose(sum(y.unassigned for y in years), expected, rtol=1e-9)


@pytest.mark.parametrize(
    ("second_hour", "spells"),
    [(95, (0.0, 3.1686)), (96, (1.1111, 2.0575))],  # checks.toml, new-year-joined and new-year-parted
)
@pytest.mark.parametrize("cut", [None, 8700, 8760, 8855, 8856])
def test_new_year_by_hand(second_hour, spells, cut):
    # r = 1 at 31 December 23:00; r = 2 at 4 January 23:00 (joined) or 5 January 00:00 (parted); v = 5, square on
    hours = np.arange(HOURS) + first_hour(YEAR, "standard")
    rain = np.zeros((HOURS, 1), np.float32)
    rain[8759], rain[8760 + second_hour] = 1.0, 2.0
    west = np.full((HOURS, 1), 5.0, np.float32)
    data = {"rain": rain, "eastward_wind": west, "northward_wind": 0 * west}
    years = stream(data, hours, walls=4, wet_hour=0.0, cuts=[cut] if cut else [])
    assert [y.year for y in years] == [2011, 2012]
    np.testing.assert_allclose([y.spell[0, 3] for y in years], spells, atol=1e-3)
    np.testing.assert_allclose([y.annual[0, 3] for y in years], (1.1111, 2.0575), atol=1e-3)


@pytest.mark.parametrize(("dry_hours", "largest"), [(95, 3.1686), (96, 2.0575)])  # the 96 h rule, by hand
def test_dry_gap_by_hand(dry_hours, largest):
    hours = np.arange(8760) + first_hour(YEAR, "standard")
    rain = np.zeros((8760, 1), np.float32)
    rain[4000], rain[4001 + dry_hours] = 1.0, 2.0
    west = np.full((8760, 1), 5.0, np.float32)
    data = {"rain": rain, "eastward_wind": west, "northward_wind": 0 * west}
    (year,) = stream(data, hours, walls=4, wet_hour=0.0)
    np.testing.assert_allclose(year.spell[0, 3], largest, atol=1e-3)


def test_an_hour_along_the_wall_does_not_bridge_a_gap():
    # west-facing wall: rain from the west, 60 h later from the north (along it), 60 h later from the west again:
    # 119 hours without a hit part the two spells of 1.1111, by hand
    rain = np.zeros((8760, 1), np.float32)
    rain[[1000, 1060, 1120]] = 1.0
    east = np.full((8760, 1), 5.0, np.float32)
    north = np.zeros((8760, 1), np.float32)
    east[1060], north[1060] = 0.0, -5.0
    data = {"rain": rain, "eastward_wind": east, "northward_wind": north}
    (year,) = stream(data, np.arange(8760) + first_hour(YEAR, "standard"), walls=36, wet_hour=0.0)
    assert year.spell[0, 27] == pytest.approx(10 / 9)
    assert year.annual[0, 27] == pytest.approx(20 / 9)
    assert year.spell[0, 28] == pytest.approx(
        10 / 9 * (2 * np.cos(np.pi / 18) + np.sin(np.pi / 18)), rel=1e-6
    )


@given(wet_hour=st.floats(0, 5), near=st.integers(-3, 3))
def test_threshold_is_exact_for_float32(wet_hour, near):
    rain = np.float32(max(wet_hour - 1e-4, 1e-3))
    for _ in range(abs(near)):
        rain = np.nextafter(rain, np.float32(np.inf if near > 0 else 0))
    assert (rain >= least_wet_rain(wet_hour)) == bool(is_driving(float(rain), 20.0, wet_hour=wet_hour))


@pytest.mark.parametrize("near", [-2, -1, 0, 1, 2])
def test_least_head_on_rain_is_decided_as_the_plain_form_does(near):
    # the float32 speed at which 2/9 v r^(8/9) crosses 0.001 for many rains, and its neighbours
    rain = np.linspace(0.0002, 0.3, 8760).astype(np.float32)
    speed = (0.001 / (2 / 9 * rain.astype(float) ** (8 / 9))).astype(np.float32)
    for _ in range(abs(near)):
        speed = np.nextafter(speed, np.float32(np.inf if near > 0 else 0))
    counted = is_driving(rain.astype(float), speed.astype(float), wet_hour=0.0)
    expected = (2 / 9 * speed.astype(float) * rain.astype(float) ** (8 / 9))[counted].sum()
    data = {"rain": rain[:, None], "eastward_wind": speed[:, None], "northward_wind": 0 * speed[:, None]}
    (year,) = stream(data, np.arange(8760) + first_hour(YEAR, "standard"), walls=4, wet_hour=0.0)
    assert {-1: counted.sum() == 0, 0: 0 < counted.sum() < counted.size, 1: counted.all()}[np.sign(near)]
    assert year.annual[0, 3] == pytest.approx(expected, rel=1e-6, abs=1e-5)


@pytest.mark.parametrize("walls", [0, -4, 2, 6, 10, 30, 364, 4.5])
def test_other_numbers_of_walls_are_refused_with_the_reason(walls):
    with pytest.raises(RefusalError, match="a multiple of 4"):
        check_orientations(walls)


def test_blocks_in_any_split_give_the_same_bits():
    data = record("gappy", 11, cells=3)
    hours = np.arange(HOURS) + first_hour(YEAR, "standard")
    once = stream(data, hours, walls=36, wet_hour=0.1)
    often = stream(data, hours, walls=36, wet_hour=0.1, cuts=list(range(7, HOURS, 97)))
    for a, b in zip(once, often, strict=True):
        for one, other in zip(a[1:], b[1:], strict=True):
            np.testing.assert_array_equal(one, other)


def test_years_so_far_leave_the_state_as_it_is():
    data = record("random", 3, cells=2)
    hours = np.arange(HOURS) + first_hour(YEAR, "standard")
    form = Streaming(cells=2, orientations=8, wet_hour=0.1, calendar="standard")
    form.add_hours(hours[:9000], **{name: value[:9000] for name, value in data.items()})
    before = [part.copy() for part in form.state]
    form.years_so_far()
    for part, kept in zip(form.state, before, strict=True):
        np.testing.assert_array_equal(part, kept)


def test_longest_run_in_which_a_hit_goes_unseen_by_hand():
    # dry hours without wind are seen (no rain, no hit); 100 h of unknown rain, then 20 h absent, then 5 h of rain
    # without wind make a run of 125
    hours = np.delete(np.arange(8760), np.arange(600, 620)) + first_hour(YEAR, "standard")
    rain = np.zeros((8740, 1), np.float32)
    wind = np.full((8740, 1), 5.0, np.float32)
    rain[500:600] = np.nan
    rain[600:605] = 1.0
    wind[600:605] = np.nan
    wind[2000:3000] = np.nan
    (year,) = stream(
        {"rain": rain, "eastward_wind": wind, "northward_wind": wind}, hours, walls=4, wet_hour=0.0
    )
    assert year.longest_unseen.tolist() == [125]


def test_impossible_values_count_as_missing():
    data = record("random", 8, cells=1)
    spoilt = {name: value.copy() for name, value in data.items()}
    clean = {name: value.copy() for name, value in data.items()}
    spoilt["rain"][100:120], clean["rain"][100:120] = 500.0, np.nan
    spoilt["rain"][200:220], clean["rain"][200:220] = -5.0, np.nan
    spoilt["eastward_wind"][300:340], clean["eastward_wind"][300:340] = 80.0, np.nan
    spoilt["rain"][400], clean["rain"][400] = -1e-3, 0.0
    hours = np.arange(HOURS) + first_hour(YEAR, "standard")
    for a, b in zip(
        stream(spoilt, hours, walls=8, wet_hour=0.1), stream(clean, hours, walls=8, wet_hour=0.1), strict=True
    ):
        for one, other in zip(a[1:], b[1:], strict=True):
            np.testing.assert_array_equal(one, other)


@pytest.mark.parametrize("calendar", ["standard", "noleap", "360_day", "proleptic_gregorian"])
def test_first_hour_by_cftime(calendar):
    for year in (1970, 1999, 2000, 2012, 2100):
        hour = first_hour(year, calendar)
        assert cftime.num2date(hour, "hours since 1970-01-01", calendar) == cftime.datetime(
            year, 1, 1, calendar=calendar
        )
        assert year_of_hour(hour, calendar) == year
        assert year_of_hour(hour - 1, calendar) == year - 1


def test_hours_out_of_order_are_refused():
    data = record("random", 1, cells=1, hours=48)
    form = Streaming(cells=1, orientations=4, wet_hour=0.1, calendar="standard")
    hours = np.arange(48) + first_hour(YEAR, "standard")
    form.add_hours(hours, **data)
    with pytest.raises(RefusalError, match="twice or out of order"):
        form.add_hours(hours, **data)


@pytest.mark.parametrize("orientations", [4, 8, 12, 36, 60, 72, 180, 360])
def test_latest_hit_and_sum_of_each_half_plane_by_plain_loops(orientations):
    """Second way: each class told by its direction, each wall asked which lie less than a quarter turn from it."""
    from exposure.rain.streaming_kernel import gathered_by_walls, latest_of_walls
    from exposure.rain.streaming_state import make_scratch, make_state

    random = np.random.default_rng(orientations)
    state, scratch = make_state(2, orientations), make_scratch(1, 1, orientations)
    state.last_hit[:] = random.integers(-1000, 1000, state.last_hit.shape)
    state.sums[:] = random.integers(0, 1000, state.sums.shape)  # whole numbers: exact in any order
    latest_of_walls(1, state.last_hit, scratch.hits, scratch.wall_hit)
    gathered_by_walls(1, state.sums, scratch.runs, scratch.gathered)
    width = 360 / orientations
    direction = [(j + 0.5) * width for j in range(orientations)] + [
        (j + 1) * width for j in range(orientations)
    ]
    for k in range(orientations):
        facing = k * width + 90  # walls stand in the order of the edge at which their half-plane starts
        off = [abs((d - facing + 180) % 360 - 180) for d in direction]
        inside = [j for j, angle in enumerate(off) if angle < 90 - 1e-9]
        assert len(inside) == orientations - 1
        assert scratch.wall_hit[k] == max(state.last_hit[1, j] for j in inside)
        assert scratch.gathered[2 * k] == sum(state.sums[1, 2 * j] for j in inside)
        assert scratch.gathered[2 * k + 1] == sum(state.sums[1, 2 * j + 1] for j in inside)
