"""Footprints and rasters from files: what is read, and what is refused with a cure."""

import json

import geopandas
import numpy as np
import pytest
import rasterio
import shapely
from pyproj import Transformer
from rasterio.transform import from_origin
from site_world import PLANE, block

from exposure.checks import RefusalError
from exposure.site.footprint import check_height, read_footprint, read_neighbours, told_height
from exposure.site.footprint import metres as metres_of
from exposure.site.plane import DEGREES, LocalPlane
from exposure.site.raster import read_cover, read_ground

UTM = "EPSG:32632"  # the zone of 8 degrees east


def geojson(path, *shapes, properties=None, crs=None):
    features = [
        {
            "type": "Feature",
            "properties": (properties or [{}] * len(shapes))[i],
            "geometry": shapely.geometry.mapping(shape),
        }
        for i, shape in enumerate(shapes)
    ]
    text = {"type": "FeatureCollection", "features": features}
    if crs:
        text["crs"] = {"type": "name", "properties": {"name": crs}}
    path.write_text(json.dumps(text))
    return path


def in_degrees(shape, plane=PLANE):
    return shapely.transform(shape, lambda xy: np.column_stack(plane.go(xy[:, 0], xy[:, 1], crs=DEGREES)))


def test_a_footprint_comes_back_in_true_metres(tmp_path):
    house = block(-6, -4, 6, 4)
    found = read_footprint(
        geojson(tmp_path / "house.geojson", in_degrees(house), properties=[{"name": "House"}])
    )
    assert found.polygon.area == pytest.approx(96.0, rel=1e-6)
    assert found.plane.latitude == pytest.approx(50.0, abs=1e-6)
    assert found.properties["name"] == "House"


def test_a_grid_and_degrees_give_the_same_walls(tmp_path):
    # 3 degrees off the grid's middle the grid's north is off by about 2.3 degrees: it must not show
    plane = LocalPlane(latitude=50.0, longitude=12.0)
    house = block(-6, -4, 6, 4)
    degrees = in_degrees(house, plane)
    into = Transformer.from_crs(DEGREES, UTM, always_xy=True)
    grid = shapely.transform(degrees, lambda xy: np.column_stack(into.transform(xy[:, 0], xy[:, 1])))
    tilt = np.rad2deg(np.arctan2(*np.diff(np.asarray(grid.exterior.coords)[:2], axis=0)[0]))
    assert abs(tilt % 90 - 90) > 1 and abs(tilt % 90) > 1  # the convergence is really there  # noqa: PT018
    geopandas.GeoDataFrame({"name": ["House"]}, geometry=[grid], crs=UTM).to_file(tmp_path / "grid.gpkg")
    found = read_footprint(tmp_path / "grid.gpkg")
    corners = np.asarray(found.polygon.exterior.coords)
    runs = np.diff(corners, axis=0)
    bearings = np.rad2deg(np.arctan2(runs[:, 0], runs[:, 1])) % 90
    np.testing.assert_allclose(np.minimum(bearings, 90 - bearings), 0, atol=0.01)
    assert found.polygon.area == pytest.approx(96.0, rel=1e-4)


@pytest.mark.parametrize(
    ("shape", "words"),
    [
        (shapely.Polygon([(8, 50), (8.001, 50.001), (8.001, 50), (8, 50.001)]), "cross or touch"),
        (shapely.Polygon(), "empty"),
        (shapely.Point(8, 50), "is a Point"),
        (shapely.MultiPolygon([block(8, 50, 8.0001, 50.0001), block(8.1, 50, 8.1001, 50.0001)]), "2 parts"),
        (block(8, 50, 8.000001, 50.000001), "covers"),
        (block(8, 50, 8.1, 50.1), "covers"),
        (block(4_100_000, 3_000_000, 4_100_010, 3_000_010), "look like metres"),
    ],
    ids=["self-crossing", "empty", "point", "multi", "tiny", "huge", "metres given as degrees"],
)
def test_footprints_that_cannot_be_are_refused_with_a_cure(tmp_path, shape, words):
    with pytest.raises(RefusalError, match=words):
        read_footprint(geojson(tmp_path / "bad.geojson", shape))


def test_degrees_given_as_metres_are_refused(tmp_path):
    geopandas.GeoDataFrame(geometry=[block(8, 50, 8.0001, 50.0001)], crs=UTM).to_file(tmp_path / "bad.gpkg")
    with pytest.raises(RefusalError, match="look like degrees"):
        read_footprint(tmp_path / "bad.gpkg")


def test_a_file_without_crs_is_refused(tmp_path):
    with pytest.warns(UserWarning, match="crs"):
        geopandas.GeoDataFrame(geometry=[block(0, 0, 9, 9)]).to_file(tmp_path / "bad.gpkg")
    with pytest.raises(RefusalError, match="coordinate system"):
        read_footprint(tmp_path / "bad.gpkg")


def test_three_dimensional_and_single_part_multi_are_flattened(tmp_path):
    degrees = in_degrees(block(-6, -4, 6, 4))
    high = shapely.MultiPolygon([shapely.force_3d(degrees, 12.0)])
    assert read_footprint(geojson(tmp_path / "high.geojson", high)).polygon.area == pytest.approx(
        96.0, rel=1e-6
    )


def test_several_buildings_need_a_name(tmp_path):
    two = geojson(
        tmp_path / "two.geojson",
        in_degrees(block(-6, -4, 6, 4)),
        in_degrees(block(20, -4, 32, 4)),
        properties=[{"name": "One"}, {"name": "Two"}],
    )
    with pytest.raises(RefusalError, match="'One', 'Two'"):
        read_footprint(two)
    with pytest.raises(RefusalError, match="named 'Three'"):
        read_footprint(two, name="Three")
    assert read_footprint(two, name="Two").properties["name"] == "Two"


@pytest.mark.parametrize("content", ["", "not json", "{}"])
def test_files_that_hold_no_footprint_are_refused(tmp_path, content):
    (tmp_path / "bad.geojson").write_text(content)
    with pytest.raises(RefusalError):
        read_footprint(tmp_path / "bad.geojson")
    with pytest.raises(RefusalError, match="not there"):
        read_footprint(tmp_path / "none.geojson")


def test_heights_by_attribute_storeys_or_default(tmp_path):
    own = block(-6, -4, 6, 4)
    shapes = [own, block(20, 0, 30, 8), block(40, 0, 50, 8), block(60, 0, 70, 8), block(80, 0, 90, 8)]
    rows = [{"height": 6}, {"height": "30 ft"}, {"building:levels": "3"}, {}, {"height": 40, "storeys": 2}]
    path = geojson(tmp_path / "n.geojson", *map(in_degrees, shapes), properties=rows)
    around = read_neighbours(path, PLANE, own=own)
    np.testing.assert_allclose(
        around.heights, [9.144, 9.0, 5.0, 6.0]
    )  # 30 ft; 3 x 3 m; default; 2 storeys, as 40 is absurd
    assert around.told_by.tolist() == ["height", "storeys", "default", "storeys"]
    assert any("1 of 4 neighbours have no height" in flag for flag in around.flags)
    assert any("do not go with their storeys" in flag for flag in around.flags)


def test_a_building_inside_another_is_refused_and_itself_is_not_its_neighbour(tmp_path):
    own = block(-6, -4, 6, 4)
    hall = geojson(tmp_path / "hall.geojson", in_degrees(block(-30, -30, 30, 30)), properties=[{"height": 9}])
    with pytest.raises(RefusalError, match="stands inside another building"):
        read_neighbours(hall, PLANE, own=own)
    same = geojson(tmp_path / "same.geojson", in_degrees(block(-6.2, -4.1, 6, 4)), properties=[{"height": 9}])
    assert read_neighbours(same, PLANE, own=own).polygons.size == 0


def test_only_buildings_near_are_read_and_none_is_doubted(tmp_path):
    own = block(-6, -4, 6, 4)
    boxes = [
        block(40, 0, 50, 8),
        block(1400, 0, 1410, 8),
        block(1600, 0, 1610, 8),
        block(0, 30_000, 9, 30_008),
    ]
    path = geojson(tmp_path / "n.geojson", *map(in_degrees, boxes), properties=[{"height": 6}] * 4)
    assert read_neighbours(path, PLANE, own=own).polygons.size == 2
    away = LocalPlane(latitude=10.0, longitude=8.0)
    lone = read_neighbours(path, away, own=own)
    assert lone.polygons.size == 0
    assert any("of another place" in flag for flag in lone.flags)


def test_unsound_neighbours_are_left_out_and_counted(tmp_path):
    bow = shapely.Polygon([(20, 0), (30, 8), (30, 0), (20, 8)])
    path = geojson(
        tmp_path / "n.geojson",
        in_degrees(bow),
        in_degrees(block(40, 0, 50, 8)),
        properties=[{"height": 6}] * 2,
    )
    around = read_neighbours(path, PLANE, own=block(-6, -4, 6, 4))
    assert around.polygons.size == 1
    assert any("not sound" in flag for flag in around.flags)


def test_feet_without_a_unit_are_refused():
    assert told_height({"height": "18 ft", "storeys": 2}) == (pytest.approx(5.4864), 2)
    with pytest.raises(RefusalError, match="write '18 ft'"):
        check_height(18, 2)


def tiff(
    path, values, *, crs="EPSG:4326", pixel=0.001, west=7.9, north=50.1, nodata=None, unit=None, bands=1
):
    values = np.asarray(values)
    with rasterio.open(
        path, "w", driver="GTiff", height=values.shape[0], width=values.shape[1], count=bands, dtype=values.dtype,
        crs=crs, transform=from_origin(west, north, pixel, pixel), nodata=nodata,
    ) as out:  # fmt: skip
        for band in range(1, bands + 1):
            out.write(values, band)
        if unit:
            out.units = (unit,) * bands
    return path


def test_ground_is_read_with_its_gaps_and_feet(tmp_path):
    values = np.full((200, 200), 100.0, dtype="float32")
    values[:, :50] = -9999
    ground = read_ground(tiff(tmp_path / "g.tif", values, nodata=-9999), plane=PLANE, reach=2000)
    assert ground.sample(PLANE, np.zeros(1), np.zeros(1))[0] == pytest.approx(100.0)
    feet = read_ground(tiff(tmp_path / "f.tif", values, nodata=-9999, unit="ft"), plane=PLANE, reach=2000)
    assert feet.sample(PLANE, np.zeros(1), np.zeros(1))[0] == pytest.approx(30.48)
    assert any("feet" in flag for flag in feet.flags)
    two = read_ground(tiff(tmp_path / "b.tif", values, nodata=-9999, bands=2), plane=PLANE, reach=2000)
    assert any("2 bands" in flag for flag in two.flags)


def test_undeclared_nodata_is_refused(tmp_path):
    values = np.full((200, 200), 100.0, dtype="float32")
    values[90:110, 90:95] = -32768
    with pytest.raises(RefusalError, match="nodata"):
        read_ground(tiff(tmp_path / "g.tif", values), plane=PLANE, reach=2000)


def test_a_raster_that_does_not_reach_the_site_says_how_far_short_it_is(tmp_path):
    values = np.zeros((200, 200), dtype="float32")
    far = tiff(tmp_path / "g.tif", values, west=8.1)  # 0.1 degree of longitude at 50 north is 7.16 km
    with pytest.raises(RefusalError, match=r"7\.2 km from its nearest edge"):
        read_ground(far, plane=PLANE, reach=2000)


def test_a_raster_without_crs_and_a_file_that_is_none_are_refused(tmp_path):
    values = np.zeros((20, 20), dtype="float32")
    with pytest.raises(RefusalError, match="coordinate system"):
        read_ground(tiff(tmp_path / "g.tif", values, crs=None), plane=PLANE, reach=2000)
    (tmp_path / "no.tif").write_text("no raster")
    with pytest.raises(RefusalError, match="cannot be opened"):
        read_cover(tmp_path / "no.tif", plane=PLANE, reach=2000)


def test_a_raster_in_a_national_grid_gives_the_same_heights(tmp_path):
    east, north = np.meshgrid(
        np.arange(400_000, 460_000, 500.0) + 250, np.arange(5_570_000, 5_510_000, -500.0) - 250
    )
    tiff(
        tmp_path / "u.tif",
        (north / 1000).astype("float32"),
        crs=UTM,
        pixel=500.0,
        west=400_000,
        north=5_570_000,
    )
    plane = LocalPlane(latitude=50.0, longitude=8.0)
    ground = read_ground(tmp_path / "u.tif", plane=plane, reach=3000)
    into = Transformer.from_crs(DEGREES, UTM, always_xy=True)
    for metres in (0.0, 1500.0):
        longitude, latitude = plane.go(metres, metres, crs=DEGREES)
        expected = into.transform(longitude, latitude)[1] / 1000
        assert ground.sample(plane, np.array([metres]), np.array([metres]))[0] == pytest.approx(
            expected, abs=1e-3
        )
    assert east.shape == north.shape


@pytest.mark.parametrize(
    ("site", "west"), [(-124.0, 235.0), (236.0, -125.0), (179.95, 179.0), (-179.95, 179.0)]
)
def test_longitudes_are_met_however_they_are_counted(tmp_path, site, west):
    # height = pixel column, so the answer tells where the site was found: 0.01 degree a column
    columns = np.arange(200, dtype="float32") * np.ones((200, 1), dtype="float32")
    path = tiff(tmp_path / "g.tif", columns, pixel=0.01, west=west, north=1.0)
    plane = LocalPlane(latitude=0.0, longitude=site)
    ground = read_ground(path, plane=plane, reach=3000)
    expected = ((site - west) % 360) / 0.01 - 0.5
    assert ground.sample(plane, np.zeros(1), np.zeros(1))[0] == pytest.approx(expected, abs=0.01)


def test_a_very_fine_raster_is_thinned_quietly_and_a_coarsened_one_says_so(tmp_path):
    import time

    # 10 m land cover as published: 1/12000 degree, here 0.45 by 0.3 degree round the site
    fine = np.where(np.arange(3600)[:, None] // 40 % 2 == 0, 30, 10).astype("uint8") * np.ones(
        (1, 5400), "uint8"
    )
    path = tiff(tmp_path / "c.tif", fine, pixel=1 / 12000, west=7.775, north=50.15)
    start = time.process_time()
    land = read_cover(path, plane=PLANE, reach=15_300)
    assert time.process_time() - start < 5
    assert max(land.values.shape) <= 4096
    assert land.flags == ()
    assert set(np.unique(land.values)) == {10, 30}


def test_a_height_that_is_no_figure_tells_nothing():
    for value in (True, False, None, [6], {"m": 6}, "", "6 6", "-3"):
        assert metres_of(value) is None


def test_neighbours_that_overlap_are_counted_and_a_missing_file_is_named(tmp_path):
    path = geojson(tmp_path / "n.geojson", *map(in_degrees, (block(4, -4, 9, 4), block(-9, -4, -4, 4))))
    around = read_neighbours(path, PLANE, own=block(-6, -4, 6, 4))
    assert any("2 neighbours overlap the footprint" in flag for flag in around.flags)
    with pytest.raises(
        RefusalError, match=r"none\.geojson is not there; expected a file of footprints\. Check"
    ):
        read_neighbours(tmp_path / "none.geojson", PLANE, own=None)
