"""The order of places and how sure it is: by hand on made-up trios, resample shares by a plain loop, files read back."""

import csv
import io
import json
import re
import sqlite3
import subprocess
from dataclasses import replace
from itertools import pairwise
from math import log

import numpy as np
import pytest
import rasterio
import shapely
import xarray as xr
from affine import Affine
from builders import climate_of, place_of
from site_world import PLANE

from exposure.assess import assess_building, site_group
from exposure.assess.compare_sites import Comparison, compare_sites, notes_on
from exposure.assess.from_files import survey_building
from exposure.assess.ranking import (
    bands_meet,
    class_counts,
    rank_ranges,
    rank_sites,
    ranks_of,
    shared_flags,
    what_decides,
)
from exposure.assess.reference_wall import (
    distances_seen,
    of_assessment,
    put_on_site,
    reference_building,
    reference_wall,
)
from exposure.assess.site_weather import GridWeather, OneRecord
from exposure.checks import RefusalError
from exposure.doubts import doubt, has_doubt
from exposure.draw.comparison_bars import comparison_bars, narrow_bars, push_apart
from exposure.draw.comparison_words import comparison_sentence, list_sentence, wall_sentence
from exposure.draw.drawing import tally_width
from exposure.draw.lettering import text_width
from exposure.export.ranked_files import left_out_csv, ranked_csv, ranked_json
from exposure.paper.pdf import sheet_pdf
from exposure.paper.place_doubts import place_notes
from exposure.paper.ranked_folder import write_ranked_folder
from exposure.paper.ranked_page import ranked_html
from exposure.rain.index import airfield_index, compass_orientations
from exposure.rain.uncertainty import SEED
from exposure.site.footprint import read_neighbours
from exposure.site.plane import DEGREES, LocalPlane
from exposure.site.site_list import ListedSite, read_site_list
from exposure.wall import Site
from exposure.wall.building import wall_shapes
from exposure.wall.classes import class_limits

WALL = reference_wall("two-storey gable")
YEARS = 12


def weather(seed: int = 1, *, first: int = 2001, years: int = YEARS, kind: str = "gauge") -> xr.Dataset:
    """Made-up hours: showers from the west and south, so that years differ."""
    rng = np.random.default_rng(seed)
    time = np.arange(f"{first}-01-01T01", f"{first + years}-01-01T01", dtype="datetime64[h]")
    wet = rng.random(time.size) < 0.02
    rain = np.where(wet, rng.gamma(1.0, 1.5, time.size), 0.0)
    speed = rng.gamma(4.0, 1.6, time.size)
    direction = (240 + 50 * rng.standard_normal(time.size)) % 360
    return climate_of(
        time.astype("datetime64[ns]"),
        rain=rain,
        wind_speed=speed,
        wind_from_direction=direction,
        kind=kind,
        flags=[],
        source="made up",
        licence="none",
        latitude=48.0,
        longitude=-29.0,
    )


@pytest.fixture(scope="module")
def index():
    return airfield_index(weather(), orientation=compass_orientations(12))


def put(index, name, terrain="II", hill=1.0):
    site = Site(name=name, latitude=48.0, longitude=-29.0, terrain=terrain, topography=hill)
    return put_on_site(name, index, site, WALL)


@pytest.fixture(scope="module")
def trio(index):
    return [put(index, "Town", "IV"), put(index, "Shore", "I"), put(index, "Field", "II")]


def test_order_and_figures_of_a_trio_by_hand(trio, index):
    # C_R at 5.6 m, by hand: I 0.17 ln(5.6/0.01), II 0.19 ln(5.6/0.05), IV held at z_min 16 m: 0.24 ln(16/1)
    rough = {"Shore": 0.17 * log(560), "Field": 0.19 * log(112), "Town": 0.24 * log(16)}
    open_field = np.fmax(
        index["airfield_spell_index"].values, index["airfield_spell_index_gumbel"].values
    ).max()
    ranked = rank_sites(trio)
    assert [one.name for one in ranked] == ["Shore", "Field", "Town"]
    assert [one.rank for one in ranked] == [1, 2, 3]
    for one in ranked:
        assert one.site.value == pytest.approx(open_field * rough[one.name] * 0.5, rel=1e-9)


def test_one_weather_and_other_grounds_never_change_places(trio):
    # every draw scales all three alike, so the order holds in each of them though the bands meet
    for one in rank_sites(trio):
        assert one.kept == 1.0
        clear = [
            other for other in trio if other is not one.site and not bands_meet(one.site.band, other.band)
        ]
        harder = sum(other.value > one.site.value for other in clear)
        assert one.ranks == (1 + harder, 3 - (len(clear) - harder))
        assert len(one.close_to) == sum(
            bands_meet(one.site.band, other.band) for other in trio if other is not one.site
        )


def test_shares_of_resamples_by_a_plain_loop():
    records = [weather(seed) for seed in (1, 2, 3)]
    sites = [
        put(airfield_index(record, orientation=compass_orientations(12)), name)
        for record, name in zip(records, "ABC", strict=True)
    ]
    ranked = {one.name: one for one in rank_sites(sites)}
    draws = np.random.default_rng(SEED).integers(0, YEARS, (YEARS, 1000))

    def spell(maxima):  # the larger of the 67 % percentile and a Gumbel by moments at three years
        at = 0.67 * (len(maxima) - 1)
        low = sorted(maxima)[int(at)]
        percentile = low + (at - int(at)) * (sorted(maxima)[int(at) + 1] - low)
        gumbel = np.mean(maxima) + 0.2538 * np.std(maxima, ddof=1)
        return max(percentile, gumbel)

    kept = dict.fromkeys("ABC", 0)
    for draw in draws.T[:1000]:
        value = {
            one.name: max(
                spell(one.yearly_spell[draw, way]) * one.product[way] for way in range(one.product.size)
            )
            for one in sites
        }
        for name in value:
            rank = 1 + sum(other > value[name] for other in value.values())
            kept[name] += rank == ranked[name].rank
    for name, one in ranked.items():
        assert one.kept == pytest.approx(kept[name] / 1000, abs=0.003)  # 0.2538 is rounded
    assert any(one.kept < 0.999 for one in ranked.values())


def test_ranks_of_equals_are_shared():
    values = np.array([[3.0, 1.0, 3.0, 2.0], [1.0, 1.0, 1.0, 1.0]])
    assert ranks_of(values).tolist() == [[1, 4, 1, 3], [1, 1, 1, 1]]
    again = [[1 + sum(other > one for other in row) for one in row] for row in values]
    assert ranks_of(values).tolist() == again


def test_records_of_other_years_are_drawn_by_themselves():
    late = airfield_index(weather(5, first=2005), orientation=compass_orientations(12))
    early = airfield_index(weather(5, first=2001), orientation=compass_orientations(12))
    twins = [put(early, "early"), put(early, "early too"), put(late, "late")]
    found = {one.name: one for one in rank_sites(twins)}
    assert found["early"].rank == found["early too"].rank  # equal places share a rank
    assert found["late"].kept < 0.999  # the same figures, but drawn apart


@pytest.mark.parametrize("years", [1, 2, 4])
def test_few_years_give_no_share_and_every_band_meets(years):
    alone = airfield_index(weather(years=years), orientation=compass_orientations(12))
    for one in rank_sites([put(alone, "A"), put(alone, "B", "IV")]):
        assert one.kept is None
        assert one.site.band is None
        assert one.ranks == (1, 2)
        assert len(one.close_to) == 1
    assert rank_sites([]) == ()


def test_the_short_way_and_the_whole_assessment_agree(index):
    site = Site(name="Ridge", latitude=48.0, longitude=-29.0, terrain="III", topography=1.2)
    whole = assess_building(weather(), reference_building(WALL), site)
    one, other = put_on_site("Ridge", index, site, WALL), of_assessment("Ridge", whole, WALL)
    assert one.value == other.value == whole.worst.wall_spell_index
    assert one.band == pytest.approx(whole.worst.spell_band)
    assert one.worst.annual_band == pytest.approx(whole.worst.annual_band)
    assert one.worst.class_band == whole.worst.class_band
    np.testing.assert_allclose(one.drawn, other.drawn)


def test_a_place_keeps_what_its_record_is(index):
    told = {"kind": "model", "source": "cell 7", "licence": "free", "wet_hour_mm": 0.3}
    one = put(index.assign_attrs(told), "A")
    assert (one.kind, one.source, one.licence, one.wet_hour) == tuple(told.values())
    assert one.weather == "cell 7"


def test_what_decides_stands_beside_each(trio):
    decides = {one.name: one.decides for one in rank_sites(trio)}
    assert decides["Shore"].startswith(f"ground {0.17 * log(560) / (0.19 * log(112)):.2f}")
    assert decides["Field"] == "near the middle of the list in all"
    assert sum(class_counts(rank_sites(trio)).values()) == 3
    assert shared_flags([]) == ()


@pytest.mark.parametrize(
    ("one", "other", "meet"),
    [
        ((10, 20), (20, 30), True),
        ((10, 20), (21, 30), False),
        ((5, 40), (10, 20), True),
        (None, (1, 2), True),
    ],
)
def test_bands_meet_whichever_way_they_are_asked(one, other, meet):
    assert bands_meet(one, other) is bands_meet(other, one) is meet


def test_ranks_open_to_each_place_by_hand():
    # 90 stands clear of all; 70 and 60 meet; 30 knows no band, so it meets all, and 20 is clear of the first three
    values, bands = [90, 70, 60, 30, 20], [(80, 99), (58, 79), (50, 65), None, (10, 25)]
    assert rank_ranges(values, bands) == [(1, 2), (2, 4), (2, 4), (1, 5), (4, 5)]
    for short in (bands[:4], [*bands, None]):
        with pytest.raises(ValueError, match="zip"):
            rank_ranges(values, short)
    # two alike whose bands do not meet them: neither stands before the other
    assert rank_ranges([50, 50], [(40, 45), (55, 60)]) == [(1, 1), (1, 1)]


def test_what_decides_by_hand(index):
    # hills 1, 1 and 1.06 or 1.04: the middle is 1, and up to a twentieth is middling, twice over as well as half
    def words(*hills, ground="II"):
        return what_decides([put(index, "A"), put(index, "B"), put(index, "C", ground, hills[0])])

    assert words(1.06)[2] == "hill 1.06 times the middle of the list"
    assert words(1.04) == ["near the middle of the list in all"] * 3
    rough = 0.17 * log(560) / (0.19 * log(112))  # I against II at 5.6 m: 1.20, less than the hill
    assert words(1.5, ground="I")[2] == f"hill 1.50, ground {rough:.2f} times the middle of the list"
    assert words(1.1, ground="I")[2] == f"ground {rough:.2f}, hill 1.10 times the middle of the list"


def test_classes_are_counted_hardest_first(trio):
    def of_class(one, name):
        return replace(one, site=replace(one.site, worst=replace(one.site.worst, exposure_class=name)))

    names = ("severe", "sheltered", "severe")
    ranked = [of_class(one, name) for one, name in zip(rank_sites(trio), names, strict=True)]
    assert list(class_counts(ranked).items()) == [("severe", 2), ("sheltered", 1)]


def test_notes_on_a_list_are_told_when_places_differ_in_more_than_place(trio, index):
    def keys(sites):
        return [one.key for one in notes_on(sites)]

    assert keys(trio) == []
    assert keys(trio[:1]) == []  # one place is equal to itself
    assert keys([trio[0], put(index, "Other", "IV")]) == ["assess.all_equal"]
    flat = put_on_site("Flat", index, trio[0].site, reference_wall("two-storey, flat roof"))
    assert keys([*trio, flat]) == ["assess.walls_differ"]
    assert keys([trio[0], replace(trio[1], years=(1999,))]) == ["assess.years_differ"]
    for other, equal in (
        (50.0000004, True),
        (50.00001, False),
        (50.3, False),
    ):  # equal to a millionth of a litre
        assert keys([place_of("A", 50.0), place_of("B", other)]) == ["assess.all_equal"] * equal


def test_doubts_of_every_place_are_shared_and_others_are_not(trio):
    sites = [
        replace(one, flags=flags)
        for one, flags in zip(trio, (("a", "b", "c"), ("c", "a"), ("a", "c", "d")), strict=True)
    ]
    assert shared_flags(sites) == ("a", "c")


def test_jobs_are_cut_where_their_cells_no_longer_fit_on_the_disk(monkeypatch):
    class Grid:
        cell_bytes = 40

    monkeypatch.setattr(site_group, "opened_grid", lambda _weather: Grid)
    monkeypatch.setattr(site_group, "MOST_GATHERED", 100)  # two cells of 40 bytes, not three
    job = site_group.SiteGroup((), GridWeather("g"), None, None, WALL, None, None, None, None, ("", ""))
    jobs = [job._replace(cell=cell) for cell in "aabbbccd"]
    assert ["".join(one.cell for one in batch) for batch in site_group.batches_of(jobs)] == ["aabbb", "ccd"]
    monkeypatch.setattr(site_group, "MOST_GATHERED", 39)  # less than one cell: one at a time
    assert ["".join(one.cell for one in batch) for batch in site_group.batches_of(jobs)] == [
        "aa",
        "bbb",
        "cc",
        "d",
    ]
    alone = [job._replace(weather=None)] * 3
    assert site_group.batches_of(alone) == [alone]
    assert site_group.batches_of([]) == [[]]


@pytest.fixture
def own_record(tmp_path, monkeypatch):
    """Two sites with a record of their own, the second under a wall nobody knows; and what was opened for them."""
    path = tmp_path / "own.csv"
    path.write_text("as it is")
    opened = []
    made = weather(years=1)
    monkeypatch.setattr(
        site_group, "open_climate", lambda source, **told: (opened.append((source, told)), made)[1]
    )
    sites = (
        ListedSite(7, "Good", 48.0, -29.0, terrain=("II",) * 12),
        ListedSite(9, "Bad", 48.0, -29.0, terrain=("II",) * 12, wall="castle"),
    )
    job = site_group.SiteGroup(
        sites, None, None, None, WALL, None, None, None, str(tmp_path / "kept"), ("", ""), record=str(path)
    )
    return job, path, opened


def test_the_index_of_a_record_is_kept_by_all_that_it_depends_on(own_record):
    job, path, opened = own_record
    first, second = site_group.assess_group(job), site_group.assess_group(job)
    assert opened == [(str(path), {})]  # the second time it is kept
    assert (first.sites[0].value, first.sites[0].flags) == (second.sites[0].value, second.sites[0].flags)
    site_group.assess_group(job._replace(keep=None))
    assert len(opened) == 2  # without a folder it is read again
    site_group.assess_group(job._replace(told={"kind": "model"}))
    assert opened[2:] == [(str(path), {"kind": "model"})]
    strict = site_group.assess_group(job._replace(wet_hour=2.0))
    assert len(opened) == 4
    assert strict.sites[0].wet_hour == 2.0
    path.write_text("something else")
    site_group.assess_group(job)
    assert len(opened) == 5


def test_a_site_that_cannot_be_used_is_told_by_its_row(own_record, monkeypatch):
    job, _, _ = own_record
    found = site_group.assess_group(job)
    assert [(one.row, one.name) for one in found.sites] == [(7, "Good")]
    assert [(one.row, one.name) for one in found.left_out] == [(9, "Bad")]
    assert "castle" in str(found.left_out[0].reason)

    def broken(*_, **__):
        raise RefusalError("nothing", "a record", "Give one.")

    monkeypatch.setattr(site_group, "open_climate", broken)
    none = site_group.assess_group(job._replace(keep=None))
    assert none.sites == []
    assert [(one.row, one.name) for one in none.left_out] == [(7, "Good"), (9, "Bad")]


def test_corners_of_the_reference_wall_by_hand():
    # 10 m long, its face 4 m before the position; from outside its start is on the right hand
    def corners(way):
        wall = next(one for one in reference_building(WALL).walls if one.orientation == way)
        return [*wall.start, *wall.end]

    assert corners(0.0) == pytest.approx([-5, 4, 5, 4])
    assert corners(90.0) == pytest.approx([4, 5, 4, -5])
    assert corners(180.0) == pytest.approx([5, -4, -5, -4])
    half, high = 0.5, 3**0.5 / 2  # facing 30 degrees: out is (1/2, high), along it to the right (high, -1/2)
    assert corners(30.0) == pytest.approx(
        [4 * half - 5 * high, 4 * high + 5 * half, 4 * half + 5 * high, 4 * high - 5 * half]
    )


# ------------------------------------------------------------------ a list from rows to files


def listed(text):
    return read_site_list(text.encode(), shapes=wall_shapes())


LIST = (
    "name,lat,lon,terrain,wall\nShore,48.1,-29.0,I,\nTown,48.0,-29.1,IV,\nBad,99,1,,\n=1+1,48.2,-29.2,III,\n"
)


@pytest.fixture(scope="module")
def comparison():
    return compare_sites(listed(LIST), OneRecord(weather()), wall=WALL)


def test_a_list_on_one_record(comparison):
    # by hand, C_R at 5.6 m: I 1.076; III and IV below z_min, III 0.22 ln(8/0.3) = 0.722, IV 0.24 ln 16 = 0.665
    assert [one.name for one in comparison.ranked] == ["Shore", "=1+1", "Town"]
    values = [one.site.value for one in comparison.ranked]
    assert values[1] / values[0] == pytest.approx(0.22 * log(8 / 0.3) / (0.17 * log(560)))
    assert [one.row for one in comparison.left_out] == [4]
    assert any("flat" in flag for flag in comparison.flags)


def grid(path, records, *, latitudes=(47.5, 48.5), longitudes=(-29.5, -28.5)):
    u = np.stack([-r["wind_speed"] * np.sin(np.deg2rad(r["wind_from_direction"])) for r in records])
    v = np.stack([-r["wind_speed"] * np.cos(np.deg2rad(r["wind_from_direction"])) for r in records])
    rain = np.stack([r["rain"].values for r in records])
    shape = (2, 2, rain.shape[1])
    axes = ("latitude", "longitude", "time")
    names = {"u10": (u, "m s-1", "10m_u"), "v10": (v, "m s-1", "10m_v"), "tp": (rain, "mm", "tp")}
    table = xr.Dataset(
        {
            name: (axes, np.reshape(values, shape), {"units": unit})
            for name, (values, unit, _) in names.items()
        },
        {"latitude": list(latitudes), "longitude": list(longitudes), "time": records[0]["time"].values},
        {"kind": "gauge", "source": "made up"},
    ).transpose("time", "latitude", "longitude")
    table["latitude"].attrs = {"standard_name": "latitude", "units": "degrees_north"}
    table["longitude"].attrs = {"standard_name": "longitude", "units": "degrees_east"}
    table.to_netcdf(path, engine="h5netcdf")
    return path


def test_each_site_takes_its_own_cell_and_each_cell_is_read_once(tmp_path, monkeypatch):
    from exposure.climate.grid_cells import GridCells

    records = [weather(seed, years=3) for seed in (1, 2, 3, 4)]
    path = grid(tmp_path / "grid.nc", records)
    read = []
    plain = GridCells.read
    monkeypatch.setattr(GridCells, "read", lambda self, cell: (read.append(cell), plain(self, cell))[1])
    passes = []
    gather = GridCells.gather
    monkeypatch.setattr(
        GridCells,
        "gather",
        lambda self, cells, *more: (passes.append(len(cells)), gather(self, cells, *more))[1],
    )
    rows = "name,lat,lon,terrain\nA,47.6,-29.4,II\nB,48.6,-28.4,II\nC,47.4,-29.6,II\nFar,10,10,II\nSwap,-29,48,II\n"
    keep = tmp_path / "kept"
    found = compare_sites(listed(rows), GridWeather(path), wall=WALL, keep=keep)
    assert len(read) == 2  # A and C share a cell
    assert passes == [2]  # both read in one pass
    value = {one.name: one.site.value for one in found.ranked}
    rough = 0.19 * log(112) * 0.5
    for name, record in (("A", records[0]), ("C", records[0]), ("B", records[3])):
        alone = airfield_index(record, orientation=compass_orientations(12))
        hardest = np.fmax(alone["airfield_spell_index"], alone["airfield_spell_index_gumbel"]).max()
        assert value[name] == pytest.approx(float(hardest) * rough, rel=1e-4)  # through u and v
    assert [one.name for one in found.left_out] == ["Far", "Swap"]
    assert "swapped" in str(found.left_out[1].reason)
    again = compare_sites(listed(rows), GridWeather(path), wall=WALL, keep=keep)
    assert (len(read), passes) == (2, [2])  # kept by content: no pass over the grid
    assert [one.site.value for one in again.ranked] == [one.site.value for one in found.ranked]
    grid(path, records[::-1])
    other = compare_sites(listed(rows), GridWeather(path), wall=WALL, keep=keep)
    assert len(read) == 4  # the file holds something else now
    assert {one.name: one.site.value for one in other.ranked}["A"] == pytest.approx(value["B"])


def test_sites_across_the_date_line(tmp_path):
    path = grid(tmp_path / "line.nc", [weather(s, years=2) for s in (1, 2, 3, 4)], longitudes=(179.5, 180.5))
    rows = "name,lat,lon\nWest,48.4,-179.6\nEast,48.4,179.6\nRound,48.4,180.4\n"
    found = compare_sites(listed(rows), GridWeather(path), wall=WALL)
    value = {one.name: one.site.value for one in found.ranked}
    assert value["West"] == value["Round"] != value["East"]


def test_the_share_done_goes_from_nothing_to_all():
    told = []
    compare_sites(listed(LIST), OneRecord(weather(years=2)), wall=WALL, tell=lambda *one: told.append(one))
    shares = [share for share, _ in told]
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    assert shares == sorted(shares)
    assert told[-1][1] == "3 of 3 sites."


def test_the_least_rain_that_counts_is_asked_for_every_site():
    record = weather(years=2)
    by_itself = put(airfield_index(record, orientation=compass_orientations(12), wet_hour=2.0), "A")
    (one,) = compare_sites(
        listed("name,lat,lon,terrain\nA,48,-29,II\n"), OneRecord(record), wall=WALL, wet_hour=2.0
    ).sites
    assert (one.value, one.wet_hour) == (pytest.approx(by_itself.value), 2.0)


def test_the_lists_ground_height_stands_before_the_rasters(tmp_path, monkeypatch):
    # a raster 100 m high: 130 m in the list pass, 131 do not; without a list the raster's stands
    monkeypatch.setattr(site_group, "survey_site", lambda place, **_: replace(surveyed, name=place.name))
    surveyed = Site("", 48.0, -29.0, terrain=("II",) * 12, topography=(1.0,) * 12, ground_height=100.0)
    for height, told in ((130.0, False), (70.0, False), (131.0, True), (69.0, True), (None, False)):
        text = f"name,lat,lon,ground_height\nA,48,-29,{'' if height is None else height}\n"
        (one,) = compare_sites(listed(text), OneRecord(weather(years=1)), wall=WALL).sites
        assert one.site.ground_height == (100.0 if height is None else height)
        assert has_doubt(one.flags, "assess.listed_height") == told


def test_ground_and_cover_of_a_list_are_read_as_far_as_the_survey_looks(tmp_path):
    # by hand: a table of 100 m under a wood on all sides, so category III all round and no hill
    for name, value, reach, kind in (("ground", 100.0, 6000, "float32"), ("cover", 10, 16_000, "uint8")):
        pixel = reach // 20
        with rasterio.open(
            tmp_path / name,
            "w",
            "GTiff",
            40,
            40,
            1,
            PLANE.definition,
            Affine(pixel, 0, -reach, 0, -pixel, reach),
            kind,
        ) as file:
            file.write(np.full((40, 40), value, kind), 1)
    (one,) = compare_sites(
        listed(f"name,lat,lon\nWood,{PLANE.latitude},{PLANE.longitude}\n"),
        OneRecord(weather(years=1)), wall=WALL, ground=tmp_path / "ground", cover=tmp_path / "cover",
    ).sites  # fmt: skip
    assert (one.site.ground_height, set(one.site.categories)) == (100.0, {"III"})
    assert set(one.site.hill_coefficients) == {1.0}
    assert not {flag.key for flag in one.flags if hasattr(flag, "key")} & {
        "site.ground_not_told", "site.hills_not_told", "site.cover_ends", "site.ground_ends",
    }  # fmt: skip


@pytest.mark.parametrize("shape", ["two-storey, flat roof", "multi-storey, flat roof"])
def test_the_hill_of_a_listed_site_is_that_of_a_house_as_tall(tmp_path, shape):
    # a second way: a house surveyed from its own words on the same raster, 60 m above the sea behind a cliff 60 m off
    wall, path = reference_wall(shape), tmp_path / "ground"
    profile = {"driver": "GTiff", "width": 600, "height": 600, "count": 1, "dtype": "float32"}
    with rasterio.open(
        path, "w", crs=PLANE.definition, transform=Affine(20, 0, -6000, 0, -20, 6000), **profile
    ) as file:
        row = np.where(np.arange(-5990, 6000, 20) > -60, 60.0, 0.0)
        file.write(np.tile(row, (600, 1)).astype("float32"), 1)
    (one,) = compare_sites(
        listed(f"name,lat,lon,terrain\nCliff,{PLANE.latitude},{PLANE.longitude},II\n"),
        OneRecord(weather(years=1)), wall=wall, ground=path,
    ).sites  # fmt: skip
    words = {
        "name": "House", "height": wall.height, "storeys": wall.storeys, "roof": "flat",
        "place": {"latitude": PLANE.latitude, "longitude": PLANE.longitude, "terrain": "II"},
        "footprint": {"length": 10, "width": 8, "bearing": 90},
    }  # fmt: skip
    house = survey_building(words, ground=path).site
    assert one.site.hill_coefficients == house.hill_coefficients
    assert max(house.hill_coefficients) > 1.2
    assert one.site.name == "Cliff"


def test_a_stop_reaches_the_work_and_nothing_usable_is_refused():
    class Stop(Exception):
        pass

    def tell(share, _words):
        if share > 0:
            raise Stop

    with pytest.raises(Stop):
        compare_sites(listed(LIST), OneRecord(weather(years=2)), wall=WALL, tell=tell)
    with pytest.raises(
        RefusalError, match="none of the 2 sites can be used; row 2: "
    ):  # the first, after the heads
        compare_sites(listed("lat,lon\n99,1\n98,1\n"), OneRecord(weather(years=2)), wall=WALL)


def test_files_read_back_and_no_cell_is_a_formula(comparison, tmp_path):
    rows = list(csv.DictReader(io.StringIO(ranked_csv(comparison))))
    assert [row["rank"] for row in rows] == ["1", "2", "3"]
    assert rows[1]["place"] == "'=1+1"
    for row, one in zip(rows, comparison.ranked, strict=True):  # figures a program can sort by
        assert float(row["keeps_rank"]) == pytest.approx(one.kept, abs=5e-4)
        assert (row["years"], row["first_year"], row["last_year"]) == ("12", "2001", "2012")
        assert float(row["wet_hour_mm"]) == 0  # a gauge counts every measured rain
    told = json.loads(ranked_json(comparison))
    assert told["places"][1]["place"] == "=1+1"
    assert told["left_out"][0]["row"] == 4
    for row, one in zip(told["places"], comparison.ranked, strict=True):
        # open field x ground x hill x wall shape is the wall's figure, from the printed numbers alone
        product = row["open_field_spell"] * row["ground"] * row["hill"] * row["wall_shape"]
        assert product == pytest.approx(row["spell"], abs=0.2)
        assert row["spell_low"] <= row["spell"] <= row["spell_high"]
        assert one.name == row["place"]
    written = write_ranked_folder(tmp_path / "new" / "out", comparison)
    assert sorted(path.name for path in written) == sorted(
        path.name for path in (tmp_path / "new/out").iterdir()
    )
    with sqlite3.connect(tmp_path / "new/out/comparison.gpkg") as tables:
        assert tables.execute("select place, rank from comparison order by rank").fetchall() == [
            ("Shore", 1),
            ("=1+1", 2),
            ("Town", 3),
        ]
    assert left_out_csv(comparison).splitlines()[1].startswith("4,Bad,")
    (tmp_path / "file").write_text("")
    with pytest.raises(RefusalError):
        write_ranked_folder(tmp_path / "file", comparison)


def test_the_page_of_its_own_holds_no_script_and_asks_for_nothing(comparison):
    from dataclasses import replace

    nasty = '<script>alert(1)</script>"\u202e'
    first = replace(
        comparison.ranked[0], site=replace(comparison.ranked[0].site, name=nasty, kind="invented")
    )
    page = ranked_html(replace(comparison, ranked=(first, *comparison.ranked[1:])))
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    for outside in ('src="http', "@import", "url("):
        assert outside not in page
    assert "\u202e" not in page
    assert "do not build from it" in page
    assert "Row 4, Bad" in page


def many(comparison, count=200):
    """The places over and over under long names, each with a doubt of its own; every third with another besides."""
    ranked = []
    for number in range(count):
        one = comparison.ranked[number % 3]
        flags = [*one.site.flags, doubt("rain.few_years", years=f"{2 + number % 7} years count", needed=10)]
        if number % 3 == 0:
            flags.append(f"A sentence of its own for place {number}.")
        name = f"Upper Wrackham upon Wath Bridge {number}"
        site = replace(one.site, name=name, flags=tuple(flags))
        ranked.append(
            replace(
                one,
                rank=number + 1,
                ranks=(100, 200),
                site=site,
                close_to=tuple(f"Montauk Harbour {n}" for n in range(90)),
            )
        )
    return replace(comparison, ranked=tuple(ranked))


def test_doubts_of_one_kind_share_a_note_and_say_whose_figures_they_are(comparison):
    told, letters = place_notes(many(comparison, 6).ranked, comparison.flags)
    few = next(note for note in told if "of its own" not in note.sentence)
    assert few.letter in "abc"
    assert few.places[0] == "Upper Wrackham upon Wath Bridge 0"
    assert few.words.startswith("Upper Wrackham upon Wath Bridge 0 and 5 other places: ")
    assert few.words.endswith("(Figures of Upper Wrackham upon Wath Bridge 0.)")
    assert all(few.letter in mine.split() for mine in letters)
    own = [note for note in told if "of its own" in note.sentence]
    assert [note.places for note in own] == [
        ("Upper Wrackham upon Wath Bridge 0",),
        ("Upper Wrackham upon Wath Bridge 3",),
    ]


def test_the_page_tells_source_years_and_the_rain_that_counts(comparison):
    page = ranked_html(comparison)
    assert "made up (gauge): 2001 to 2012, 12 years count; every measured rain counts; licence: none" in page


def printed_in_the_browser(path, browser):
    page = browser.new_page()
    page.goto(path.as_uri())
    page.pdf(path=str(path.with_suffix(".pdf")), prefer_css_page_size=True)
    page.close()


def check_ten_sheets(pdf):
    """At most ten sheets, landscape, the heads on each of the table, every place on one line, sources at the end."""
    words = subprocess.run(
        ["pdftotext", "-layout", str(pdf), "-"], capture_output=True, text=True, check=True
    ).stdout.split("\f")[:-1]
    assert len(words) <= 10
    told = subprocess.run(["pdfinfo", str(pdf)], capture_output=True, text=True, check=True).stdout
    wide, high = map(float, re.search(r"Page size: +([\d.]+) x ([\d.]+)", told).groups())
    assert wide > high
    tables = [
        sheet
        for sheet in words
        if re.search(r"Upper Wrackham upon Wath Bridge \d+ +(very|severe|mod|shel)", sheet)
    ]
    assert len(tables) >= 4
    assert all("Keeps its rank" in sheet for sheet in tables)
    for number in range(200):  # every place stands on one line
        assert any(f"Upper Wrackham upon Wath Bridge {number} " in sheet for sheet in tables), number
    said = " ".join(" ".join(words).split())
    assert f"made up (gauge): 2001 to 2012, {YEARS} years count; every measured rain counts" in said


@pytest.mark.browser
def test_two_hundred_places_print_on_ten_sheets_with_the_heads_on_each(comparison, browser, tmp_path):
    path = tmp_path / "comparison.html"
    path.write_text(ranked_html(many(comparison)), "utf-8")
    printed_in_the_browser(path, browser)
    check_ten_sheets(path.with_suffix(".pdf"))


@pytest.mark.slow
def test_two_hundred_places_are_ten_sheets_as_pdf_too(comparison, tmp_path):
    pytest.importorskip("weasyprint")
    path = tmp_path / "comparison.pdf"
    path.write_bytes(sheet_pdf(ranked_html(many(comparison))))
    check_ten_sheets(path)


@pytest.mark.browser
@pytest.mark.parametrize("width", [900, 1280, 1440])
def test_no_word_of_the_table_is_broken(comparison, browser, width, tmp_path):
    path = tmp_path / "comparison.html"
    path.write_text(ranked_html(many(comparison, 30)), "utf-8")
    page = browser.new_page(viewport={"width": width, "height": 900})
    page.goto(path.as_uri())
    broken = page.evaluate(
        """() => {
          const found = [], walk = document.createTreeWalker(document.querySelector('table'), NodeFilter.SHOW_TEXT);
          for (let node; (node = walk.nextNode()); )
            for (const word of node.data.matchAll(/[^\\s-]+/g)) {
              const range = document.createRange();
              range.setStart(node, word.index); range.setEnd(node, word.index + word[0].length);
              if (new Set([...range.getClientRects()].map(one => Math.round(one.top))).size > 1) found.push(word[0]);
            }
          return found;
        }"""
    )
    assert broken == []


# ------------------------------------------------------------------ words and bars


def test_the_sentence_names_no_order_where_bands_meet():
    ranked = rank_sites(
        [
            place_of("D", 20, (15, 25)),
            place_of("A", 118, (99, 141)),
            place_of("B", 70, (58, 84)),
            place_of("C", 57, (47, 69)),
        ]
    )
    assert comparison_sentence(ranked) == (
        "Hardest hit is A; then come B and C, which lie close; then comes D. A gets 5.9 times what D gets."
    )
    wide = rank_sites([place_of(name, 70 - i, (10, 100)) for i, name in enumerate("ABCDEF")])
    assert comparison_sentence(wide) == (
        "All six lie close, from A down to F: neighbours in this order may change places."
    )


@pytest.mark.parametrize("draw", [comparison_bars, narrow_bars])
def test_bars_never_give_a_bare_rank_where_bands_meet(draw):
    def labels(*places):
        return re.findall(r">([^<]+)</text>", draw(rank_sites(places)))

    first = place_of("A", 118, (99, 141))
    found = labels(first, place_of("B", 70, (58, 84)), place_of("C", 57, (47, 69)))
    assert {"1", "2 (2 to 3)", "3 (2 to 3)", "in brackets: ranks it may have"} <= set(found)
    clear = labels(first, place_of("D", 20, (15, 25)))
    assert {"1", "2"} <= set(clear)
    assert not any(re.match(r"\d \(", words) or "brackets" in words for words in clear)
    # a band that nobody knows meets every other
    assert "1 (1 to 2)" in labels(first, place_of("E", 20))
    # one shown may meet one that is not
    cut = draw([replace(rank_sites([first])[0], ranks=(1, 3)), rank_sites([place_of("D", 20, (15, 25))])[0]])
    assert ">1 (1 to 3)<" in cut
    # equal places share a rank; by hand: 1, 2, 2, 4
    even = labels(*(place_of(name, value) for name, value in zip("ABCD", (9, 5, 5, 1), strict=True)))
    assert [words for words in even if words.endswith(" (1 to 4)")] == [
        "1 (1 to 4)", "2 (1 to 4)", "2 (1 to 4)", "4 (1 to 4)",
    ]  # fmt: skip


def test_equal_places_share_the_first_rank_and_none_is_called_harder(index):
    six = rank_sites([put(index, name) for name in ("Montauk", "B", "C", "D", "E", "F")])
    assert {one.rank for one in six} == {1}
    assert list_sentence(six).startswith("All six sites get the same: none comes out harder hit.")
    assert "Montauk" not in list_sentence(six)
    two = rank_sites([put(index, "Shore", "I"), put(index, "Point", "I"), put(index, "Town", "IV")])
    assert [one.rank for one in two] == [1, 1, 3]
    words = list_sentence(two)
    assert words.startswith(
        "Hardest hit of 3 are both Shore and Point, which get the same, in 100 of 100 resamples"
    )
    assert comparison_sentence(six[:2]) == "Both get the same: none is hit harder."


def test_the_wall_on_all_places_is_told_beside_the_ranking(comparison):
    words = wall_sentence(comparison)
    assert words.startswith(f"The same wall stands on every place: {WALL.shape}, {WALL.height:g} m high")
    assert words in ranked_html(comparison)
    assert "in how many of 100 resamples" in ranked_html(comparison)
    other = reference_wall("multi-storey, flat roof")
    mixed = replace(comparison, wall=other)
    assert "every place whose row names no other" in wall_sentence(mixed)


def test_a_long_lists_sentence_tells_how_sure_the_first_is(trio):
    words = list_sentence(rank_sites(trio))
    assert words.startswith("Shore comes out hardest hit of 3, in 100 of 100 resamples of the years")
    assert "By class: " in words


@pytest.mark.parametrize("top", [40, 100, 290, 800, 2400, 30_000])
@pytest.mark.parametrize("draw", [comparison_bars, narrow_bars])
def test_class_labels_and_limits_never_touch(top, draw):
    svg = draw(rank_sites([place_of("Big", top * 0.8, (top * 0.7, top)), place_of("Small", 5, (3, 8))]))
    found = [
        (float(x), float(y), float(size), words)
        for x, y, size, words in re.findall(
            r'<text x="([\d.]+)" y="([\d.]+)" font-size="([\d.]+)"[^>]*text-anchor="middle"[^>]*>([^<]+)</text>',
            svg,
        )
    ]
    names = [name for _, name in class_limits()]
    if draw is comparison_bars:
        assert [words for *_, words in found if words in names] == names
    for one in found:
        assert one[2] >= 12
        for other in found:
            if one < other and one[1] == other[1]:
                half = (text_width(one[3], size=one[2]) + text_width(other[3], size=other[2])) / 2
                assert abs(one[0] - other[0]) >= half
    signs = [
        float(x)
        for x in re.findall(r'<path d="M([\d.]+) [\d.]+ H[\d.]+ L[^"]+" fill="(?:#1B2228|none)" stroke', svg)
    ]
    starts = signs[::4]
    assert len(starts) == 4
    assert all(b - a >= tally_width() for a, b in pairwise(starts))


def test_labels_pushed_apart_keep_their_order_and_room():
    placed = push_apart([5, 6, 7, 300], [40, 40, 40, 40], low=0, high=320, gap=8)
    assert placed == [20, 68, 116, 300]
    crowded = push_apart([50, 50, 50], [60, 60, 60], low=0, high=100, gap=5)
    assert crowded == [30, 95, 160]  # too many: shoulder to shoulder, none on another


def test_an_empty_comparison_has_no_files():
    assert Comparison((), (), (), (), WALL).sites == ()


def test_a_name_is_not_cut_while_there_is_room_for_it():
    name = "Old school at the harbour, north range"
    mill = place_of("Mill", 70, (58, 84))
    svg = comparison_bars(rank_sites([place_of(name, 118, (99, 141)), mill]))
    assert f">{name}<" in svg  # the letters as drawn, not the description
    long = place_of("Long " * 30, 118, (99, 141))
    assert "…" in comparison_bars(rank_sites([long, mill]))  # the bars keep their room


@pytest.mark.parametrize("draw", [comparison_bars, narrow_bars])
def test_the_title_of_the_bars_says_what_the_records_carry(draw):
    short = "in the worst spell of the one year of this record"

    def title_of(*places):
        return re.search("<title[^>]*>(.*?)</title>", draw(rank_sites(places)))[1]

    first = place_of("A", 118, spell_label=short)
    title = title_of(first, place_of("B", 70, spell_label=short))
    assert short in title
    assert "three years" not in title
    mixed = title_of(first, place_of("C", 60))
    assert short in mixed
    assert "in the worst spell in three years" in mixed


def test_a_listed_site_takes_the_words_its_record_can_carry():
    found = compare_sites(
        listed("name,lat,lon,terrain\nA,48,-29,II\n"), OneRecord(weather(years=1)), wall=WALL
    )
    assert found.sites[0].worst.spell_label == "in the worst spell of the one year of this record"
    for told in (ranked_csv(found), ranked_json(found)):
        assert "spell: L/m2 in the worst spell of the one year of this record" in told
        assert "in three years" not in told


@pytest.fixture(scope="module")
def street(tmp_path_factory):
    """Buildings round a position: a tall row to the south-west, a low shed to the north, and the house itself."""
    plane = LocalPlane(latitude=48.0, longitude=-29.0)

    def outline(east, north):
        longitude, latitude = plane.to_crs(
            np.array([east[0], east[1], east[1], east[0]]),
            np.array([north[0], north[0], north[1], north[1]]),
            crs=DEGREES,
        )
        ring = np.column_stack([longitude, latitude]).tolist()
        return {"type": "Polygon", "coordinates": [[*ring, ring[0]]]}

    told = [((-60, 60), (-44, -34), 12.0), ((-20, 20), (14, 20), 3.0), ((-5, 5), (-4, 4), 9.0)]
    features = [
        {"type": "Feature", "properties": {"height": high}, "geometry": outline(east, north)}
        for east, north, high in told
    ]
    path = tmp_path_factory.mktemp("street") / "street.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    return path


def test_neighbours_count_in_a_comparison_as_they_do_for_a_house(street):
    plane = LocalPlane(latitude=48.0, longitude=-29.0)
    around = read_neighbours(street, plane, own=shapely.Polygon())
    seen = distances_seen(WALL, around, plane=plane, ground=None)
    words = {
        "name": "House", "height": WALL.height, "storeys": 2, "roof": "flat",
        "place": {"latitude": 48.0, "longitude": -29.0, "terrain": "II"},
        "footprint": {"length": 10, "width": 8, "bearing": 90},
    }  # fmt: skip
    house = {
        round(wall.orientation): wall.obstacle_distance
        for wall in survey_building(words, neighbours=street).building.walls
    }
    # a second way: the same house read from its own words, the shed too low, the house itself not its neighbour
    assert (seen[0], seen[6]) == (house[0], pytest.approx(house[180]))
    assert (seen[0], seen[6]) == (None, pytest.approx(30, abs=0.5))  # by hand: 34 m less half the depth


def test_a_comparison_with_neighbours_is_never_harder_and_says_so(street):
    record = weather()
    sites = read_site_list(
        b"name,latitude,longitude,terrain\nStreet,48.0,-29.0,II\nAway,48.1,-29.0,II\n", shapes=wall_shapes()
    )
    bare = {one.name: one for one in compare_sites(sites, OneRecord(record), wall=WALL).sites}
    found = compare_sites(sites, OneRecord(record), wall=WALL, neighbours=street)
    with_them = {one.name: one for one in found.sites}
    assert has_doubt(found.notes, "assess.neighbours_in_comparison")
    assert "among the buildings around" in wall_sentence(found)
    south = 6
    shelter = with_them["Street"].product[south] / bare["Street"].product[south]
    assert shelter == pytest.approx(0.5)  # the table of obstructions: 25 to 40 m
    assert np.delete(with_them["Street"].product / bare["Street"].product, [5, 6, 7]) == pytest.approx(1.0)
    assert with_them["Away"].product == pytest.approx(bare["Away"].product)
    assert any("no building within" in flag for flag in with_them["Away"].flags)
