"""The invented place as files: whole or not at all, used again, and geography that agrees with itself."""

import json
import math
import threading

import numpy as np
import pytest
import rasterio
import shapely
import xarray as xr

from exposure.checks import RefusalError
from exposure.invented import climate_at, invented_place
from exposure.invented import making as making_module
from exposure.invented import place as place_module
from exposure.invented.geography import cell_latitudes, cell_longitudes, places
from exposure.wall.building_file import read_building

WORLD_COVER = {10, 20, 30, 40, 50, 60, 70, 80, 90, 95, 100}  # the eleven classes of ESA WorldCover 2021


@pytest.fixture(scope="module")
def invented():
    return invented_place(progress=False)


@pytest.fixture(scope="module")
def coast(invented):
    feature = json.loads(invented.coast.read_text("utf-8"))["features"][0]
    return shapely.from_geojson(json.dumps(feature["geometry"]))


@pytest.fixture(scope="module")
def houses(invented):
    return json.loads(invented.houses.read_text("utf-8"))["features"]


class TestMaking:
    @pytest.fixture
    def quick(self, monkeypatch):
        """The making replaced by one small file, to try what lies around it."""
        made = []

        def write(place, *, progress):
            made.append(place.folder)
            (place.folder / "made.json").write_text("{}")

        monkeypatch.setattr(making_module, "make_place", write)
        return made

    def test_made_once_and_used_again(self, quick, tmp_path):
        first, again = (invented_place(tmp_path, progress=False) for _ in range(2))
        assert first.folder == again.folder
        assert len(quick) == 1
        assert [path.name for path in tmp_path.iterdir()] == [f"invented-{place_module.RECIPE}"]

    def test_who_asks_is_told_how_far_it_is(self, tmp_path, monkeypatch):
        """Hills count three, cover, houses with coast, and twelve years one each; the hills and the weather left out."""
        for left_out in ("large_scale_weather", "weather_from", "weather_block"):
            monkeypatch.setattr(making_module, left_out, lambda *_, **__: None)
        flat = np.zeros((60, 60))
        monkeypatch.setattr(making_module, "relief", lambda *_: flat)
        monkeypatch.setattr(making_module, "land_cover", lambda height: height.astype(np.uint8))
        monkeypatch.setattr(making_module, "cell_means", lambda height: height)
        monkeypatch.setattr(making_module, "_empty_climate", lambda _path: {})
        shares = []
        invented_place(tmp_path, progress=shares.append)
        assert shares == pytest.approx([step / 17 for step in range(3, 18)])

    def test_the_cache_variable_names_the_folder(self, quick, tmp_path, monkeypatch):
        monkeypatch.setenv("EXPOSURE_CACHE", str(tmp_path / "mine"))
        assert invented_place(progress=False).folder.parent == tmp_path / "mine"

    def test_another_recipe_is_another_folder(self, quick, tmp_path, monkeypatch):
        before = invented_place(tmp_path, progress=False)
        monkeypatch.setattr(place_module, "RECIPE", place_module.RECIPE + 1)
        assert invented_place(tmp_path, progress=False).folder != before.folder
        assert len(quick) == 2

    def test_a_failure_half_way_leaves_nothing(self, tmp_path, monkeypatch):
        def fail(place, *, progress):
            (place.folder / "climate.zarr").mkdir()
            raise OSError(28, "No space left on device")

        monkeypatch.setattr(making_module, "make_place", fail)
        with pytest.raises(OSError, match="No space"):
            invented_place(tmp_path, progress=False)
        assert list(tmp_path.iterdir()) == []

    def test_half_a_place_left_behind_is_made_anew(self, quick, tmp_path):
        half = tmp_path / f"invented-{place_module.RECIPE}"
        (half / "climate.zarr").mkdir(parents=True)
        assert (invented_place(tmp_path, progress=False).folder / "made.json").is_file()
        assert not (half / "climate.zarr").exists()

    def test_two_at_once_end_with_one_place(self, tmp_path, monkeypatch):
        meet = threading.Barrier(2)

        def write(place, *, progress):
            meet.wait(timeout=20)
            (place.folder / "made.json").write_text("{}")

        monkeypatch.setattr(making_module, "make_place", write)
        found = []
        threads = [
            threading.Thread(target=lambda: found.append(invented_place(tmp_path, progress=False)))
            for _ in range(2)
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join(30)
        assert len(found) == 2
        assert [path.name for path in tmp_path.iterdir()] == [f"invented-{place_module.RECIPE}"]

    def test_a_folder_that_cannot_be_written_is_refused_with_the_cure(self, tmp_path):
        (tmp_path / "file").write_text("")
        with pytest.raises(RefusalError, match="EXPOSURE_CACHE"):
            invented_place(tmp_path / "file" / "below", progress=False)


class TestGeography:
    def test_every_named_place_lies_on_land_at_the_height_it_is_given(self, invented, coast):
        with rasterio.open(invented.height) as raster:
            for place in places():
                assert coast.contains(shapely.Point(place.longitude, place.latitude)), place.name
                (height,) = next(raster.sample([(place.longitude, place.latitude)]))
                assert height == pytest.approx(place.ground, abs=2), place.name

    def test_names_are_unique_and_places_lie_apart(self):
        names = [place.name for place in places()]
        assert len(set(names)) == len(names) == 8
        spots = shapely.points([[place.east, place.north] for place in places()])
        apart = [one.distance(other) for i, one in enumerate(spots) for other in spots[:i]]
        assert min(apart) > 5000

    def test_rasters_cover_the_climate_grid_edge_to_edge(self, invented):
        west, east = cell_longitudes()[0] - 0.03, cell_longitudes()[-1] + 0.03
        south, north = cell_latitudes()[0] - 0.02, cell_latitudes()[-1] + 0.02
        for path in (invented.height, invented.cover):
            with rasterio.open(path) as raster:
                assert raster.crs.to_epsg() == 4326
                np.testing.assert_allclose(raster.bounds, (west, south, east, north), atol=1e-9)

    def test_sea_in_all_three_is_the_same_sea(self, invented, coast):
        # the coast's polygon by shapely, the two rasters by their own values; pixels on the line may differ
        with rasterio.open(invented.height) as raster, rasterio.open(invented.cover) as other:
            heights, codes = raster.read(1), other.read(1)
            rows, columns = np.mgrid[7 : raster.height : 40, 5 : raster.width : 40]
            x, y = rasterio.transform.xy(raster.transform, rows.ravel(), columns.ravel())
        land = shapely.contains_xy(coast, x, y)
        height, code = heights[rows, columns].ravel(), codes[rows, columns].ravel()
        assert np.mean(land == (height > 0)) > 0.998
        np.testing.assert_array_equal(height > 0, code != 80)
        assert 0.2 < land.mean() < 0.4

    def test_cover_holds_published_codes_and_a_mixed_country(self, invented):
        with rasterio.open(invented.cover) as raster:
            codes, counts = np.unique(raster.read(1), return_counts=True)
        assert set(codes.tolist()) <= WORLD_COVER
        shares = dict(zip(codes.tolist(), counts / counts[codes != 80].sum(), strict=True))
        for code in (10, 20, 30, 40, 60):
            assert shares[code] > 0.05
        assert 0.001 < shares[50] < 0.01

    def test_relief_has_a_ridge_a_cliff_and_a_beach(self, invented):
        with rasterio.open(invented.height) as raster:
            height = raster.read(1)
        assert 700 < height.max() < 1300
        assert np.all(np.isfinite(height))
        assert 0.02 < np.mean(height[height > 0] < 10) < 0.2

    def test_the_coast_is_one_simple_ring_inside_the_grid(self, coast):
        assert coast.is_valid
        west, south, east, north = coast.bounds
        assert cell_longitudes()[0] < west < east < cell_longitudes()[-1]
        assert cell_latitudes()[0] < south < north < cell_latitudes()[-1]


class TestHouses:
    def test_names_heights_and_sizes(self, houses):
        names = [house["properties"]["name"] for house in houses]
        assert len(names) == len(set(names)) == 81
        for house in houses:
            told = house["properties"]
            assert told["invented"] is True
            assert 2.5 <= told["height"] / told["storeys"] <= 3.2
            assert {"name", "height", "storeys", "roof", "place"} <= set(told)

    def test_footprints_are_sound_on_land_and_counter_clockwise(self, houses, coast):
        for house in houses:
            shape = shapely.from_geojson(json.dumps(house["geometry"]))
            assert shape.is_valid
            assert shape.exterior.is_ccw
            assert coast.contains(shape), house["properties"]["name"]
            across = 111_195 * math.cos(math.radians(48.6))
            area = shape.area * 111_195 * across
            assert 40 < area < 300, house["properties"]["name"]

    def test_every_corner_is_square(self, houses):
        for house in houses:
            ring = np.array(house["geometry"]["coordinates"][0][:-1])
            ring = (ring - ring.mean(0)) * [math.cos(math.radians(ring[0, 1])), 1] * 111_195
            sides = np.roll(ring, -1, axis=0) - ring
            long = np.hypot(*sides.T)
            square = np.sum(sides * np.roll(sides, -1, axis=0), axis=1) / (long * np.roll(long, -1))
            assert np.abs(square).max() < 0.01, house["properties"]["name"]

    def test_only_the_terrace_touches(self, houses):
        shapes = [shapely.from_geojson(json.dumps(house["geometry"])) for house in houses]
        near = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=2e-6)
        touching = {houses[one]["properties"]["kind"] for one, other in near.T.tolist() if one != other}
        assert touching == {"terrace"}

    def test_wrack_house_has_one_inside_corner(self, houses):
        (house,) = [one for one in houses if one["properties"]["name"] == "Wrack House"]
        ring = np.array(house["geometry"]["coordinates"][0][:-1]) * [math.cos(math.radians(48.4)), 1]
        before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
        turns = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
        assert (turns < 0).sum() == 1

    def test_building_files_stand_where_the_footprints_do(self, invented, houses):
        middles = {}
        for house in houses:
            x, y = np.mean(house["geometry"]["coordinates"][0][:-1], axis=0)
            middles[house["properties"]["name"]] = (y, x, house["properties"]["height"])
        assert len(invented.buildings) == 3
        for path in invented.buildings:
            words = path.read_text("utf-8")
            assert "Invented" in words.splitlines()[0]
            found = read_building(path)
            latitude, longitude, height = middles[found.building.name]
            assert found.place.plane.latitude == pytest.approx(latitude, abs=2e-5)
            assert found.place.plane.longitude == pytest.approx(longitude, abs=2e-5)
            around = np.array(found.place.footprint.centroid.coords[0])
            assert np.hypot(*around) < 2  # metres; the footprint stands round its own spot
            assert {wall.eaves_height or wall.height for wall in found.building.walls} == {height}


class TestOnePoint:
    def test_everything_says_that_it_is_invented(self, invented):
        climate = climate_at(invented, 48.6, -29.4)
        assert climate.attrs["kind"] == "invented"
        assert "invented" in climate.attrs["source"]
        assert any("Invented" in flag for flag in climate.attrs["flags"])
        with xr.open_zarr(invented.climate, consolidated=False) as grid:
            assert grid.attrs["kind"] == "invented"
            assert "do not build" in grid.attrs["comment"]
        for path in (invented.height, invented.cover):
            with rasterio.open(path) as raster:
                assert "invented" in raster.tags()["source"]

    @pytest.mark.parametrize("longitude", [-29.371, -29.371 + 360])
    def test_the_nearest_cell_either_way_of_counting_longitude(self, invented, longitude):
        climate = climate_at(invented, 48.611, longitude)
        assert climate.attrs["latitude"] == pytest.approx(48.62)
        assert climate.attrs["longitude"] == pytest.approx(-29.37)
        # by pyproj: from 48.611 N 29.371 W to 48.62 N 29.37 W on the ellipsoid is 1004 m
        assert climate.attrs["distance"] == pytest.approx(1004, abs=8)

    @pytest.mark.parametrize("point", [(48.0, -29.4), (48.6, -27.0), (-29.4, 48.6), (float("nan"), -29.4)])
    def test_a_point_off_the_grid_is_refused(self, invented, point):
        with pytest.raises(RefusalError, match="invented island"):
            climate_at(invented, *point)

    def test_an_unknown_place_is_refused_with_the_names(self, invented):
        with pytest.raises(RefusalError, match="Quern Bay"):
            invented.place("Nowhere")
