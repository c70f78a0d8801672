"""The invented weather: what the files hold, whether it is believable, and whether systems move."""

import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import rasterio
import xarray as xr

import exposure.invented
from exposure.climate.opening import open_climate
from exposure.invented import climate_at, invented_place
from exposure.invented.geography import cell_latitudes, cell_longitudes, places
from exposure.invented.ground import cell_means
from exposure.invented.storms import large_scale_weather
from exposure.invented.weather import weather_block, weather_from
from exposure.region.invented_index import index_invented_place

CARD = Path(exposure.invented.__file__).with_name("CARD.md")


@pytest.fixture(scope="module")
def invented():
    return invented_place(progress=False)


@pytest.fixture(scope="module")
def grid(invented):
    with xr.open_zarr(invented.climate, consolidated=False, chunks=None) as grid:
        yield grid


@pytest.fixture(scope="module")
def columns(grid):
    """Each named place's cell as a table with the grid's own columns."""
    found = {}
    for place in places():
        cell = grid.sel(latitude=place.latitude, longitude=place.longitude, method="nearest").load()
        found[place.name] = cell[["u10", "v10", "tp", "sf", "t2m", "d2m"]].to_dataframe()
    return found


class TestFiles:
    def test_twelve_whole_years_of_hours(self, grid):
        time = pd.DatetimeIndex(grid["time"].values)
        expected = pd.date_range("2011-01-01", "2022-12-31T23:00", freq="h")
        assert time.equals(expected)
        assert grid.sizes["latitude"] >= 24
        assert grid.sizes["longitude"] >= 24

    def test_units_and_standard_names_are_declared(self, grid):
        # names of the CF standard name table
        assert {name: (grid[name].attrs["standard_name"], grid[name].attrs["units"]) for name in grid} == {
            "u10": ("eastward_wind", "m s-1"),
            "v10": ("northward_wind", "m s-1"),
            "tp": ("lwe_thickness_of_precipitation_amount", "mm"),
            "sf": ("lwe_thickness_of_snowfall_amount", "mm"),
            "t2m": ("air_temperature", "K"),
            "d2m": ("dew_point_temperature", "K"),
        }
        assert all(grid[name].dtype == np.float32 for name in grid)

    def test_no_value_is_missing_or_impossible(self, grid):
        for year in ("2011", "2020"):
            part = grid.sel(time=year).load()
            assert all(np.isfinite(part[name].values).all() for name in part)
            assert float(part["tp"].min()) == 0.0
            assert float(part["tp"].max()) < 60
            assert bool((part["sf"] <= part["tp"]).all())
            assert bool((part["d2m"] < part["t2m"]).all())
            assert float(np.hypot(part["u10"], part["v10"]).max()) < 40

    def test_snow_falls_in_the_cold_alone(self, columns):
        # rain above 1.5 degrees, snow below 0: where weather stations see the change
        for table in columns.values():
            warm, cold = table["t2m"] > 274.7, table["t2m"] < 273.1
            assert (table["sf"][warm] == 0).all()
            np.testing.assert_allclose(table["sf"][cold], table["tp"][cold], atol=1 / 64)
        share = {name: table["sf"].sum() / table["tp"].sum() for name, table in columns.items()}
        assert share["Ashlar Top"] == max(share.values())
        assert share["Quern Bay"] < 0.002 < share["Ashlar Top"] < 0.05

    def test_one_point_agrees_with_the_grid_read_another_way(self, invented, columns):
        import metpy.calc
        from metpy.units import units

        place = places()[0]
        climate = climate_at(invented, place.latitude, place.longitude)
        table = columns[place.name]
        u, v = table["u10"].to_numpy() * units("m/s"), table["v10"].to_numpy() * units("m/s")
        np.testing.assert_allclose(climate["wind_speed"], metpy.calc.wind_speed(u, v).magnitude, rtol=1e-6)
        direction = metpy.calc.wind_direction(u, v).to("degree").magnitude
        known = climate["wind_speed"].values > 0
        off = (climate["wind_from_direction"].values - direction + 180) % 360 - 180
        assert np.abs(off[known]).max() < 1e-3
        np.testing.assert_allclose(climate["rain"], table["tp"] - table["sf"], atol=1e-6)
        humidity = metpy.calc.relative_humidity_from_dewpoint(
            table["t2m"].to_numpy() * units.kelvin, table["d2m"].to_numpy() * units.kelvin
        )
        np.testing.assert_allclose(climate["relative_humidity"], 100 * humidity.magnitude, atol=1.0)

    def test_one_point_agrees_with_the_reader_of_any_grid(self, invented):
        place = places()[3]
        ours = climate_at(invented, place.latitude, place.longitude)
        read = open_climate(invented.climate, at=(place.latitude, place.longitude))
        assert read.attrs["kind"] == "invented"
        for name in ("rain", "wind_speed", "wind_from_direction"):
            np.testing.assert_allclose(read[name].values, ours[name].values, rtol=1e-5, atol=1e-4)


def figures(table):
    """Rain, wind, wet hours, concentration, direction, indices: with pandas, sharing no code with the package."""
    rain = table["tp"] - table["sf"]
    speed = np.hypot(table["u10"], table["v10"])
    wet = rain >= 0.1 - 1e-4
    driving = (2 / 9 * speed * rain.clip(lower=0) ** (8 / 9)).where(wet, 0.0)
    east = -(rain * table["u10"] / speed).sum() / rain.sum()
    north = -(rain * table["v10"] / speed).sum() / rain.sum()
    annual, spell = {}, {}
    for facing in range(0, 360, 30):
        angle = np.radians(facing)
        share = -(table["u10"] * np.sin(angle) + table["v10"] * np.cos(angle)) / speed
        hits = (driving * share)[(share > 1e-5) & (driving >= 0.001)]
        annual[facing] = hits.sum() / 12
        number = (hits.index.to_series().diff() > pd.Timedelta(hours=96)).cumsum()
        totals = hits.groupby(number.to_numpy()).sum()
        last = hits.index.to_series().groupby(number.to_numpy()).max()
        yearly = totals.groupby(last.dt.year.to_numpy()).max().reindex(range(2011, 2023), fill_value=0.0)
        spell[facing] = float(max(np.percentile(yearly, 67), yearly.mean() + 0.2538 * yearly.std(ddof=1)))
    return {
        "rain": table["tp"].sum() / 12,
        "wind": speed.mean(),
        "wet": 100 * (table["tp"] >= 0.1).mean(),
        "concentration": np.hypot(east, north),
        "direction": np.degrees(np.arctan2(east, north)) % 360,
        "annual": pd.Series(annual),
        "spell": pd.Series(spell),
    }


@pytest.fixture(scope="module")
def achieved(columns):
    return {name: figures(table) for name, table in columns.items()}


class TestBelievable:
    @pytest.mark.parametrize("name", ["Quern Bay", "Pellin Ness", "Tavisk Strand"])
    def test_the_windward_coast_lies_in_the_published_ranges(self, achieved, name):
        # "a windy, wet ocean coast": 6 to 9 m/s, 1,200 to 2,500 mm, 15 to 25 % wet, concentration 0.5 to 0.7
        found = achieved[name]
        assert 6 <= found["wind"] <= 9
        assert 1200 <= found["rain"] <= 2500
        assert 15 <= found["wet"] <= 25
        assert 0.5 <= found["concentration"] <= 0.7

    @pytest.mark.parametrize("name", [place.name for place in places()])
    def test_the_indices_are_of_a_real_size(self, achieved, name):
        # real records: annual 271 to 674 facing the worst way, spell 0.21 to 0.34 of it; an ocean coast lies above
        found = achieved[name]
        assert 700 < found["annual"].max() < 3000
        assert 0.18 < found["spell"].max() / found["annual"].max() < 0.36
        assert 5 < found["annual"].max() / found["annual"].min() < 30

    def test_the_card_tells_what_is_in_the_files(self, achieved):
        rows = re.findall(r"^\| ([A-Z][A-Za-z ]+), [^|]*\|(.+)\|$", CARD.read_text("utf-8"), flags=re.M)
        assert {name for name, _ in rows} == set(achieved)
        for name, cells in rows:
            rain, wind, wet, concentration, direction, annual, spell = (
                part.strip() for part in cells.split("|")
            )
            found = achieved[name]
            worst, least = (float(figure.replace(",", "")) for figure in annual.split(" and "))
            assert found["rain"] == pytest.approx(float(rain.replace(",", "")), abs=1)
            assert found["wind"] == pytest.approx(float(wind), abs=0.051)
            assert found["wet"] == pytest.approx(float(wet), abs=0.051)
            assert found["concentration"] == pytest.approx(float(concentration), abs=0.0051)
            assert found["direction"] == pytest.approx(float(direction.split()[0]), abs=0.51)
            assert found["annual"].max() == pytest.approx(worst, abs=1)
            assert found["annual"].min() == pytest.approx(least, abs=1)
            assert found["spell"].max() == pytest.approx(float(spell), abs=1)

    def test_behind_the_ridge_is_milder(self, achieved):
        assert achieved["Ullin Fold"]["annual"].max() < 0.7 * achieved["Quern Bay"]["annual"].max()
        assert achieved["Purlin Haven"]["spell"].max() < 0.7 * achieved["Tavisk Strand"]["spell"].max()
        assert achieved["Ashlar Top"]["rain"] > 1.4 * achieved["Ullin Fold"]["rain"]

    def test_winter_is_wetter_and_windier_than_summer(self, columns):
        table = columns["Quern Bay"]
        winter, summer = table.index.month.isin([11, 12, 1, 2]), table.index.month.isin([5, 6, 7, 8])
        speed = np.hypot(table["u10"], table["v10"])
        assert table["tp"][winter].sum() > 1.3 * table["tp"][summer].sum()
        assert speed[winter].mean() > 1.15 * speed[summer].mean()
        warmest = table["t2m"].groupby(table.index.month).mean().idxmax()
        assert warmest in (7, 8)

    def test_dry_spells_part_the_wet_ones(self, columns):
        wet = columns["Quern Bay"]["tp"] >= 0.1
        gaps = wet[wet].index.to_series().diff() / pd.Timedelta(hours=1)
        assert 10 < (gaps > 96).sum() / 12 < 26
        assert gaps.max() < 40 * 24

    def test_years_differ(self, columns):
        yearly = columns["Quern Bay"]["tp"].groupby(columns["Quern Bay"].index.year).sum()
        assert 0.08 < yearly.std() / yearly.mean() < 0.25

    def test_mountains_are_colder_by_the_lapse_rate(self, columns, invented):
        # 6.5 K a kilometre, the standard atmosphere's; cell means from the raster
        with rasterio.open(invented.height) as raster:
            pixels = raster.read(1)
        cells = pixels.reshape(24, 80, 24, 80).mean((1, 3))[::-1]
        by_name = {place.name: place for place in places()}

        def height(name):
            place = by_name[name]
            return cells[
                abs(cell_latitudes() - place.latitude).argmin(),
                abs(cell_longitudes() - place.longitude).argmin(),
            ]

        rise = height("Ashlar Top") - height("Quern Bay")
        colder = columns["Quern Bay"]["t2m"].mean() - columns["Ashlar Top"]["t2m"].mean()
        assert colder == pytest.approx(0.0065 * rise, abs=0.25)


@pytest.fixture(scope="module")
def year(grid):
    return grid[["tp", "u10", "v10"]].sel(time="2015").load()


class TestSystems:
    def test_neighbouring_cells_are_alike_and_far_ones_less_so(self, year):
        rain = year["tp"].values
        near, far = [], []
        for row in range(2, 22, 4):
            near.append(np.corrcoef(rain[:, row, 11], rain[:, row, 12])[0, 1])
            far.append(np.corrcoef(rain[:, row, 1], rain[:, row, 22])[0, 1])
        assert np.mean(near) > 0.75
        assert np.mean(far) < np.mean(near) - 0.15

    def test_rain_that_comes_with_a_west_wind_reaches_the_west_first(self, year):
        # correlation of west and east edge at lags of some hours, in hours of wind from the west
        rain = year["tp"].values
        west, east = rain[:, 6:18, :3].mean((1, 2)), rain[:, 6:18, -3:].mean((1, 2))
        blows = year["u10"].values.mean((1, 2)) > 6
        lags = range(-4, 5)
        alike = [
            np.corrcoef(west[4:-4][blows[4:-4]], np.roll(east, -lag)[4:-4][blows[4:-4]])[0, 1] for lag in lags
        ]
        assert 1 <= lags[int(np.argmax(alike))] <= 3

    def test_hour_follows_hour(self, year):
        speed = np.hypot(year["u10"], year["v10"]).values[:, 12, 3]
        assert np.corrcoef(speed[:-1], speed[1:])[0, 1] > 0.97
        assert np.abs(np.diff(speed)).max() < 12

    def test_the_recipe_is_fixed(self, grid, invented):
        # the first year made again; a machine's own rounding may turn a few values to the next step
        with rasterio.open(invented.height) as raster:
            height = raster.read(1)
        weather = weather_from(
            large_scale_weather(),
            cell_height=cell_means(height),
            cell_land=cell_means((height > 0) * 1.0),
        )
        again = weather_block(weather, 0)
        for name in ("u10", "v10", "tp", "sf", "t2m", "d2m"):
            stored = grid[name][: again.tp.shape[0]].values
            assert np.mean(stored == getattr(again, name)) > 0.999


def test_the_kept_index_is_that_of_the_plain_second_way(invented, achieved):
    index = index_invented_place(invented)
    for place in places():
        cell = index.sel(latitude=place.latitude, longitude=place.longitude, method="nearest")
        for facing in (60, 240):
            here = cell.sel(orientation=facing)
            assert 0 < float(cell["land_share"]) <= 1
            assert float(here["airfield_annual_index"]) == pytest.approx(
                achieved[place.name]["annual"][facing], rel=2e-3
            )
            assert float(here["airfield_spell_index"]) == pytest.approx(
                achieved[place.name]["spell"][facing], rel=2e-3
            )
