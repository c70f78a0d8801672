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
from exposure.site import raster as raster_module
from exposure.site import vector_file
from exposure.site.footprint import (
    check_coordinates,
    check_height,
    check_size,
    one_polygon,
    read_footprint,
    read_neighbours,
    sound_outlines,
    told_height,
)
from exposure.site.footprint import metres as metres_of
from exposure.site.plane import DEGREES, LocalPlane
from exposure.site.raster import Raster, grid_raster, read_cover, read_ground
from exposure.site.vector_file import read_shapes

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
    return shapely.transform(shape, lambda xy: np.column_stack(plane.to_crs(xy[:, 0], xy[:, 1], crs=DEGREES)))


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
        longitude, latitude = plane.to_crs(metres, metres, crs=DEGREES)
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


OWN = block(-6, -4, 6, 4)  # 96 m2


def said(call, *given, **more):
    """What a refusal says in full."""
    with pytest.raises(RefusalError) as refused:
        call(*given, **more)
    return str(refused.value)


@pytest.mark.parametrize(
    ("shape", "words"),
    [
        (None, "the footprint is empty; expected a polygon. Draw the outline of the building."),
        (shapely.Polygon(), "the footprint is empty; expected a polygon. Draw the outline of the building."),
        (shapely.MultiPolygon([block(0, 0, 2, 2), block(3, 0, 5, 2)]), "the footprint has 2 parts; expected one polygon a building. Give each part a name and a row of its own."),
        (shapely.LineString([(0, 0), (5, 5)]), "the footprint is a LineString; expected a polygon. Close the outline of the building."),
        (shapely.Polygon([(0, 0), (np.inf, 0), (1, 1)]), "the footprint has a corner that is no number; expected numbers. Draw it again."),
        (shapely.Polygon([(0, 0), (2, 2), (2, 0), (0, 2)]), "the footprint is not sound (Self-intersection[1 1]); expected an outline that does not cross or touch itself. Draw it again without crossing lines."),
    ],
)  # fmt: skip
def test_what_is_no_outline_is_said_in_full(shape, words):
    assert said(one_polygon, shape) == words


def test_the_size_of_a_building_has_limits_that_belong_to_it():
    for area in (4.0, 200_000.0):
        assert check_size(block(0, 0, area, 1)).area == area
    assert said(check_size, block(0, 0, 3.99, 1)) == (
        "the footprint covers 3.99 m2; expected a building of 4 to 200,000 m2. "
        "Check its coordinates: are they degrees given as metres, or the reverse?"
    )
    assert "covers 2e+05 m2" in said(check_size, block(0, 0, 200_001, 1))


def test_degrees_and_metres_are_told_apart_by_what_can_be():
    for bounds in ((-180, -90, -179.9, -89.9), (359.9, 89.9, 360, 90)):
        check_coordinates(bounds, DEGREES, "f")
    for bounds in ((-181, 0, 0, 1), (0, 0, 361, 1), (0, -91, 1, 0), (0, 0, 1, 91)):
        assert said(check_coordinates, bounds, DEGREES, "f") == (
            f"f says degrees, but a corner lies at {bounds[0]}, {bounds[1]}; expected longitudes from -180 to 180 "
            "and latitudes from -90 to 90. These look like metres: name their grid as the file's CRS."
        )
    for bounds in ((179.95, 89.9, 180, 90), (-180, -90, -179.95, -89.9)):
        assert said(check_coordinates, bounds, UTM, "f") == (
            f"f says metres, but the footprint is 0.05 wide at {bounds[0]}, {bounds[1]}; expected metres of a grid. "
            "These look like degrees: set the file's CRS to EPSG:4326."
        )
    for bounds in ((0, 0, 0.1, 0.1), (180.1, 0, 180.15, 1), (-180.1, 0, -180.05, 1), (0, 89, 0.05, 91), (0, -91, 0.05, 0)):  # fmt: skip
        check_coordinates(bounds, UTM, "f")


@pytest.mark.parametrize(
    ("value", "metres"),
    [("6 m", 6), ("6,5metres", 6.5), (" 7 meters ", 7), ("10 ft", 3.048), ("10 feet", 3.048), ("10foot", 3.048), ("10'", 3.048), (6.25, 6.25), ("6 M", None), ("6.", None), ("m", None), ("0" * 59 + "4", 4), ("0" * 60 + "4", None)],
)  # fmt: skip
def test_heights_as_files_write_them(value, metres):
    assert metres_of(value) == (None if metres is None else pytest.approx(metres))


@pytest.mark.parametrize(
    ("properties", "told"),
    [
        ({}, (None, None)),
        ({"height": 0, "height_m": "tall", "building:height": "9 m", "measured_height": 3}, (9.0, None)),
        ({"measured_height": 3, "storeys": 0, "levels": "x", "building:levels": "2", "floors": 9}, (3.0, 2)),
        ({"num_floors": 0.3}, (None, 1)),  # a ground floor at least
        ({"height": 6, "floors": 2.6}, (6.0, 3)),
    ],
)
def test_the_first_figure_that_tells_anything_counts(properties, told):
    assert told_height(properties) == told


def test_heights_of_a_building_have_limits_that_belong_to_it():
    assert [check_height(height, storeys) for height, storeys in ((2, None), (200, None), (16, 2), (99, 0))] == [2, 200, 16, 99]  # fmt: skip
    assert said(check_height, 16.1, 2) == (
        "the building is 16.1 m tall with 2 storeys; expected at most 8 m a storey. "
        "If these are feet, write '16.1 ft'; else correct the storeys."
    )
    for height in (1.9, 200.1):
        assert said(check_height, height, None) == (
            f"height of the building is {height}; expected a number from 2 to 200 m. Correct height of the building."
        )


def test_tops_of_neighbours_by_ridge_pitch_or_eaves(tmp_path):
    rows = {  # each 10 by 8 m: half its span is 4 m
        6.0: {"height": 6},
        9.0: {"height": 6, "ridge_height": 9},
        21.9: {"height": 6, "ridge_height": 21.9, "pitch": 45},
        10.0: {"height": 6, "ridge_height": 22, "pitch": 45},  # a ridge 16 m above the eaves is no ridge
        20.9282: {"height": 6, "pitch": 75},  # 6 + 4 tan 75
        6.1: {"height": 6.1, "pitch": 75.1},
        6.2: {"height": 6.2, "ridge_height": 5},
        900.0: {"height": 900},
        5.0: {"height": 901},
        16.0: {"height": 16, "storeys": 2},
        12.0: {"height": 33, "storeys": 4},
    }
    boxes = [in_degrees(block(20 * i, 20, 20 * i + 10, 28)) for i in range(len(rows))]
    path = geojson(tmp_path / "n.geojson", *boxes, properties=list(rows.values()))
    around = read_neighbours(path, PLANE, own=OWN)
    np.testing.assert_allclose(around.heights, list(rows), rtol=1e-4)
    assert [(one.key, one.subject, one.numbers) for one in around.flags] == [
        ("site.neighbours_without_height", "n.geojson", {"count": 1, "of": 11, "assumed": 5.0}),
        ("site.heights_against_storeys", "n.geojson", {"count": 2}),
    ]
    gone = around.without(np.arange(11) != 3)
    assert (gone.polygons.size, gone.heights.tolist(), gone.told_by.tolist()) == (1, [pytest.approx(10.0, rel=1e-4)], ["height"])  # fmt: skip
    assert (gone.source, gone.flags) == ("n.geojson", around.flags)


def test_which_outline_is_the_building_itself_and_which_stands_in_its_way(tmp_path):
    def read(*boxes):
        return read_neighbours(geojson(tmp_path / "n.geojson", *map(in_degrees, boxes), properties=[{"height": 6}] * len(boxes)), PLANE, own=OWN)  # fmt: skip

    assert read(block(-6, -4, 6, 11.9)).polygons.size == 0  # 96 of 190.8 m2 are common: itself
    wrong = (
        "the footprint stands inside another building of n.geojson; expected a footprint of its own. "
        "Remove the larger outline from the neighbours, or assess that building."
    )
    assert said(read, block(-6, -4, 6, 12.1)) == wrong
    assert said(read, block(-5, -4, 30, 30)) == wrong  # eleven twelfths of it, and much more
    beside = read(block(-4.7, -4, 30, 30))  # 10.7 twelfths, 89 %
    assert [(one.key, one.subject, one.numbers) for one in beside.flags] == [
        ("site.overlapping_neighbours", "n.geojson", {"count": 1})
    ]
    assert read(block(-5, 3.91, 5, 20)).flags == ()  # 0.9 m2: two drawings of one boundary
    assert len(read(block(-5, 3.88, 5, 20)).flags) == 1
    none = read_neighbours(tmp_path / "n.geojson", LocalPlane(latitude=10, longitude=8), own=OWN, reach=700)
    assert (none.heights.size, none.told_by.size, none.source) == (0, 0, "n.geojson")
    assert [(one.key, one.subject, one.numbers) for one in none.flags] == [("site.no_building_near", "n.geojson", {"reach": 0.7})]  # fmt: skip


def test_points_lines_and_empty_shapes_are_no_neighbours(tmp_path):
    house = in_degrees(block(20, 0, 30, 8))
    bow = in_degrees(shapely.Polygon([(20, 20), (30, 28), (30, 20), (20, 28)]))
    shapes = (
        house,
        bow,
        shapely.LineString(house.exterior.coords),
        house.centroid,
        shapely.MultiPolygon([in_degrees(block(0, 20, 9, 28))]),
    )
    around = read_neighbours(geojson(tmp_path / "n.geojson", *shapes, properties=[{"height": h} for h in (6, 7, 8, 9, 10)]), PLANE, own=OWN)  # fmt: skip
    assert around.heights.tolist() == [6, 10]
    assert [(one.key, one.subject, one.numbers) for one in around.flags] == [("site.unsound_footprints", "n.geojson", {"count": 3})]  # fmt: skip


def test_a_sound_outline_is_a_polygon_of_some_size_that_does_not_cross_itself():
    bow = shapely.Polygon([(0, 0), (2, 2), (2, 0), (0, 2)])
    shapes = [
        OWN,
        shapely.MultiPolygon([OWN]),
        bow,
        shapely.Polygon(),
        OWN.exterior,
        OWN.centroid,
        shapely.MultiPolygon(),
    ]
    assert sound_outlines(np.array(shapes, dtype=object)).tolist() == [True, True, *[False] * 5]


def test_an_outline_larger_than_any_building_is_no_neighbour(tmp_path):
    # 500 by 400 m are 200,000 m2, the most; projections blur the last metre
    boxes = [in_degrees(block(20, 20, 519.8, 420)), in_degrees(block(-600, 20, -99.8, 420.2))]
    around = read_neighbours(
        geojson(tmp_path / "n.geojson", *boxes, properties=[{"height": 6}] * 2), PLANE, own=OWN
    )
    assert around.polygons.size == 1
    assert [(one.key, one.subject, one.numbers["count"]) for one in around.flags] == [("site.too_large_outlines", "n.geojson", 1)]  # fmt: skip


def test_which_building_of_several_is_meant_is_asked_in_full(tmp_path):
    ten = [in_degrees(block(20 * i, 0, 20 * i + 9, 8)) for i in range(10)]
    names = [{"name": f"N{i}"} for i in range(9)]
    path = geojson(tmp_path / "f.geojson", *ten, properties=[*names, {"name": "N3"}])
    eight = "'N0', 'N1', 'N2', 'N3', 'N4', 'N5', 'N6', 'N7'"
    assert said(read_footprint, path) == f"f.geojson holds 10 buildings; expected one, or a name. Name one of {eight}."  # fmt: skip
    assert said(read_footprint, path, name="N3") == f"f.geojson holds 2 buildings named 'N3'; expected one. It holds {eight}."  # fmt: skip
    assert read_footprint(path, name="N8").properties == {"name": "N8"}
    bare = geojson(tmp_path / "b.geojson", *ten[:2])
    assert said(read_footprint, bare) == "b.geojson holds 2 buildings; expected one, or a name. Name one of no names."  # fmt: skip
    assert said(read_footprint, bare, name="A") == "b.geojson holds 0 buildings named 'A'; expected one. It holds no names."  # fmt: skip


def test_a_geopackage_is_read_by_its_layer_and_lies_in_its_grid(tmp_path):
    path = tmp_path / "two.gpkg"
    for layer, name, box in (("barn", "Barn", block(20, 0, 30, 8)), ("building", "House", OWN)):
        frame = geopandas.GeoDataFrame({"name": [name]}, geometry=[in_degrees(box)], crs=DEGREES)
        frame.to_file(path, layer=layer)
    assert read_footprint(path).properties == {"name": "House"}
    assert read_shapes(path).rows == [{"name": "Barn"}]  # the first, where none is asked for
    assert read_shapes(path, layer="none").rows == [{"name": "Barn"}]
    far = geojson(tmp_path / "far.geojson", block(1e9, 1e9, 1e9 + 9, 1e9 + 9), crs=UTM)
    assert said(read_footprint, far) == "the footprint at 1e+09, 1e+09; expected a place inside its coordinate system. Correct its CRS."  # fmt: skip


@pytest.mark.parametrize("kind", ["geojson", "gpkg"])
def test_shapes_that_touch_the_square_are_read_and_no_others(tmp_path, kind):
    # a square of 100 m either way: on each side one shape that reaches into it and one that does not
    inside = [block(90, 0, 120, 8), block(-120, 0, -90, 8), block(0, 90, 8, 120), block(0, -120, 8, -90)]
    outside = [block(110, 0, 120, 8), block(-120, 0, -110, 8), block(0, 110, 8, 120), block(0, -120, 8, -110)]
    shapes = [in_degrees(one) for pair in zip(inside, outside, strict=True) for one in pair]
    path = tmp_path / f"n.{kind}"
    if kind == "geojson":
        geojson(path, *shapes, properties=[{"at": i} for i in range(8)])
    else:
        geopandas.GeoDataFrame({"at": range(8)}, geometry=shapes, crs=DEGREES).to_file(path)
    found = read_shapes(path, around=(PLANE, 100.0))
    assert [row["at"] for row in found.rows] == [0, 2, 4, 6]
    for shape, box in zip(found.shapes, inside, strict=True):
        assert shape.equals(in_degrees(box))
    assert len(read_shapes(path, around=(LocalPlane(latitude=0, longitude=0), 100.0)).shapes) == 0


def test_a_file_asked_for_place_after_place_is_read_once_and_anew_when_it_changes(tmp_path, monkeypatch):
    path = geojson(tmp_path / "n.geojson", in_degrees(OWN), in_degrees(block(20, 0, 30, 8)))
    read = []
    opened = vector_file._geojson
    monkeypatch.setattr(vector_file, "_geojson", lambda file: read.append(file) or opened(file))
    for _ in range(3):
        assert len(read_shapes(path, around=(PLANE, 100.0)).shapes) == 2
    assert len(read) == 1
    geojson(path, in_degrees(OWN))
    assert len(read_shapes(path, around=(PLANE, 100.0)).shapes) == 1
    assert len(read) == 2


def test_every_kind_of_geojson_is_read(tmp_path):
    shape = shapely.geometry.mapping(in_degrees(OWN))
    path = tmp_path / "f.geojson"
    for table, rows in (
        (shape, [{}]),
        ({"type": "Feature", "geometry": shape, "properties": {"name": "A"}}, [{"name": "A"}]),
        ({"type": "FeatureCollection", "features": ["x", {"geometry": shape, "properties": 7}, {"geometry": None}]}, [{}, {}]),
    ):  # fmt: skip
        path.write_bytes(b"\xef\xbb\xbf" + json.dumps(table).encode())
        found = read_shapes(path)
        assert (found.rows, found.crs, found.shapes[0].equals(in_degrees(OWN))) == (rows, DEGREES, True)
    assert found.shapes[1].is_empty


UNREAD = "; expected GeoJSON or GeoPackage with polygons. Check the file, or export it so."
SQUARE = b'"coordinates": [[[0, 0], [1, 0], [1, 1], [0, 0]]], "type": "Polygon"'
STRANGE_CRS = "; expected a name such as EPSG:4326. Export it so."


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", f"f.geojson cannot be read as footprints{UNREAD}"),
        (b"\xe9", f"f.geojson cannot be read as footprints (its text is not UTF-8){UNREAD}"),
        (b"[]", f"f.geojson cannot be read as footprints (no GeoJSON features){UNREAD}"),
        (b"{}", f"f.geojson cannot be read as footprints (no GeoJSON features){UNREAD}"),
        (b'{"type": "FeatureCollection", "features": {}}', f"f.geojson cannot be read as footprints (no GeoJSON features){UNREAD}"),
        (b'{"type": "FeatureCollection", "features": []}', "f.geojson holds no footprint; expected one polygon or more. Check the file."),
        (b'{"type": "Polygon", "coordinates": [[[0, 0], [1, 0]]]}', f"f.geojson cannot be read as footprints (a shape in it is damaged){UNREAD}"),
        (b'{"type": "Point", "coordinates": [NaN, 0]}', f"f.geojson cannot be read as footprints (a shape in it is damaged){UNREAD}"),
        (b'{"crs": 7, ' + SQUARE + b"}", "f.geojson names its coordinate system in a way nobody reads" + STRANGE_CRS),
        (b'{"crs": {"properties": 7}, ' + SQUARE + b"}", "f.geojson names its coordinate system in a way nobody reads" + STRANGE_CRS),
        (b'{"crs": {"properties": {"name": "' + b"z" * 201 + b'"}}, ' + SQUARE + b"}", "f.geojson names its coordinate system in a way nobody reads" + STRANGE_CRS),
        (b'{"crs": {"properties": {"name": "' + b"z" * 200 + b'"}}, ' + SQUARE + b"}", f"the coordinate system {'z' * 60!r}; expected one that PROJ knows. Correct the file's CRS."),
        (b"SQLite format 3\0" + b"\0" * 84, f"f.geojson cannot be read as footprints (a database that is no GeoPackage){UNREAD}"),
        (b"SQLite format 3\0" + b"\0" * 52 + b"GPKG" + b"\0" * 28, f"f.geojson cannot be read as footprints{UNREAD}"),
        (None, "f.geojson is not there; expected a file of footprints. Check the name."),
    ],
)  # fmt: skip
def test_why_a_file_of_footprints_is_refused_is_said_in_full(tmp_path, content, words):
    if content is not None:
        (tmp_path / "f.geojson").write_bytes(content)
    assert said(read_shapes, tmp_path / "f.geojson") == words


def test_a_file_of_footprints_too_large_or_without_shapes_is_refused(tmp_path, monkeypatch):
    path = geojson(tmp_path / "f.geojson", in_degrees(OWN))
    size = path.stat().st_size
    monkeypatch.setattr(vector_file, "LARGEST", size)
    assert len(read_shapes(path).shapes) == 1
    monkeypatch.setattr(vector_file, "LARGEST", size - 1)
    assert said(read_shapes, path) == f"f.geojson holds {size:,} bytes; expected at most {size - 1:,}. Cut it to the place."  # fmt: skip
    import pyogrio

    table = geopandas.GeoDataFrame({"a": [1], "geometry": [None]}).drop(columns="geometry")
    pyogrio.write_dataframe(table, tmp_path / "t.gpkg")
    assert said(read_shapes, tmp_path / "t.gpkg") == "t.gpkg holds no footprint; expected one polygon or more. Check the file."  # fmt: skip


def slope(longitude, latitude):
    """Heights that rise evenly with both degrees: read between pixels they come out exact."""
    return 2000 * (longitude - 7.9) + 3000 * (50.1 - latitude)


def sloped(path, *, pixel=0.001, columns=300, rows=200, **more):
    x, y = 7.9 + pixel * (np.arange(columns) + 0.5), 50.1 - pixel * (np.arange(rows) + 0.5)
    return tiff(path, slope(x[None, :], y[:, None]).astype("float32"), pixel=pixel, **more)


@pytest.mark.parametrize("most", [4096, 60])
def test_the_cut_holds_every_point_within_reach_and_little_more(tmp_path, monkeypatch, most):
    # 3 km either way at 50 degrees are 84 columns of 71.7 m and 54 rows of 111.2 m
    monkeypatch.setattr(raster_module, "MOST_PIXELS", most)
    plane = LocalPlane(latitude=50.0, longitude=8.05)
    ground = read_ground(sloped(tmp_path / "g.tif", bands=2), plane=plane, reach=3000.0)
    coarser = 1 if most == 4096 else 2
    assert 84 // coarser <= ground.values.shape[1] <= 90 // coarser
    assert 54 // coarser <= ground.values.shape[0] <= 60 // coarser
    east, north = (side.ravel() for side in np.meshgrid(*[np.linspace(-2900, 2900, 9)] * 2))
    expected = slope(*plane.to_crs(east, north, crs=DEGREES))
    np.testing.assert_allclose(ground.sample(plane, east, north), expected, atol=0.05 * coarser)
    told = [(one.key, one.subject) for one in ground.flags]
    assert told[0] == ("site.several_bands", "g.tif")
    assert ground.flags[0].numbers == {"count": 2}
    assert (ground.source, len(told)) == ("g.tif", coarser)
    if coarser == 2:
        assert told[1] == ("site.thinned_raster", "g.tif")
        assert ground.flags[1].numbers == {"times": 2, "pixel": pytest.approx(222.5, rel=0.03)}
        codes = read_cover(sloped(tmp_path / "c.tif"), plane=plane, reach=3000.0)
        x, y = 7.9 + 0.001 * (np.arange(300) + 0.5), 50.1 - 0.001 * (np.arange(200) + 0.5)
        assert np.isin(
            codes.values, slope(x[None, :], y[:, None]).astype("float32")
        ).all()  # a code is never a mean


def test_scale_offset_and_unit_of_a_raster_are_heeded(tmp_path):
    values = np.full((200, 200), 100, dtype="int16")
    for unit, factor in (
        ("m", 1),
        ("FEET", 0.3048),
        ("foot", 0.3048),
        ("US survey foot", 0.3048),
        ("ftUS", 0.3048),
    ):
        path = tiff(tmp_path / "g.tif", values, unit=unit)
        with rasterio.open(path, "r+") as file:
            file.scales, file.offsets = (0.5,), (7.0,)
        ground = read_ground(path, plane=PLANE, reach=500)
        assert ground.sample(PLANE, np.zeros(1), np.zeros(1))[0] == pytest.approx(57 * factor)
        assert [(one.key, one.subject) for one in ground.flags] == [("site.heights_in_feet", "g.tif")] * (
            factor < 1
        )


@pytest.mark.parametrize("height", [-12_000, 9_000, -12_001, 9_001])
def test_heights_no_ground_has_are_refused(tmp_path, height):
    values = np.zeros((200, 200), dtype="float32")
    values[100, 100] = height
    path = tiff(tmp_path / "g.tif", values)
    if height in (-12_000, 9_000):
        assert read_ground(path, plane=PLANE, reach=500).flags == ()
        return
    assert said(read_ground, path, plane=PLANE, reach=500) == (
        f"g.tif holds a ground height of {height} m; expected heights from -12000 to 9000 m, and gaps marked as nodata. "
        "Declare that value as nodata in the raster."
    )


@pytest.mark.parametrize(
    ("west", "north", "away"),  # 0.2 degree square; at 50 degrees 0.1 degree is 7.17 km across and 11.12 km up
    [(8.1, 50.1, 7.2), (7.7, 50.1, 7.2), (7.9, 49.9, 11.1), (7.9, 50.3, 11.1), (8.1, 49.9, 13.2)],
)  # fmt: skip
def test_how_far_short_a_raster_is_on_every_side(tmp_path, west, north, away):
    path = tiff(tmp_path / "g.tif", np.zeros((200, 200), dtype="float32"), west=west, north=north)
    words = said(read_cover, path, plane=PLANE, reach=500)
    assert words == (
        f"g.tif does not reach the site, {away} km from its nearest edge; expected a raster that covers latitude "
        "50.0000, longitude 8.0000. Use the tile of this place, or check the site's position."
    )


@pytest.mark.parametrize("west", [8.0, 7.8])
def test_a_site_on_the_edge_of_a_raster_is_covered(tmp_path, west):
    path = tiff(tmp_path / "g.tif", np.full((200, 200), 30, dtype="uint8"), west=west)
    with rasterio.open(path) as file:
        edge = min(max(8.0, file.bounds.left), file.bounds.right)
    assert read_cover(path, plane=LocalPlane(latitude=50.0, longitude=edge), reach=500).values.size > 1


def test_a_file_that_is_no_raster_is_refused_in_full(tmp_path):
    (tmp_path / "no.tif").write_text("no raster")
    assert said(read_ground, tmp_path / "no.tif", plane=PLANE, reach=500) == (
        "no.tif cannot be opened as a raster; expected a GeoTIFF. Check the file, or export it so."
    )


@pytest.mark.parametrize(
    ("transform", "size"),
    [((30.0, 0.0, 0.0, 0.0, -20.0, 0.0), 30), ((20.0, 0.0, 0.0, 0.0, -30.0, 0.0), 30), ((30.0, 4.0, 0.0, 40.0, 3.0, 0.0), 50), ((3.0, 40.0, 0.0, 4.0, 30.0, 0.0), 50)],
)  # fmt: skip
def test_the_size_of_a_pixel_is_its_longer_side(transform, size):
    assert Raster(np.zeros((2, 2)), transform, PLANE.definition, "t").pixel(PLANE) == pytest.approx(size)


def test_a_turned_and_sheared_raster_is_read_by_its_transform():
    # x = 30 column + 4 row, y = 40 column - 3 row; a plane in columns and rows is one in x and y too
    transform = (30.0, 4.0, -700.0, 40.0, -3.0, -500.0)
    row, column = np.mgrid[0:40, 0:40] + 0.5
    turned = Raster(2 * column + 5 * row, transform, PLANE.definition, "t")
    column, row = np.array([3.0, 20.25, 38.0]), np.array([30.0, 7.5, 11.0])
    x, y = 30 * column + 4 * row - 700, 40 * column - 3 * row - 500
    np.testing.assert_allclose(turned.sample(PLANE, x, y), 2 * column + 5 * row, atol=1e-6)
    at = np.array([3.25, 20.75]), np.array([30.75, 7.25])  # inside pixels (30, 3) and (7, 20)
    x, y = 30 * at[0] + 4 * at[1] - 700, 40 * at[0] - 3 * at[1] - 500
    assert turned.sample(PLANE, x, y, nearest=True).tolist() == [2 * 3.5 + 5 * 30.5, 2 * 20.5 + 5 * 7.5]


@pytest.mark.parametrize("turn", [1, -1])
def test_a_grid_of_degrees_is_met_at_the_middles_of_its_pixels(turn):
    latitude, longitude = np.array([50.1, 50.0, 49.9])[::turn], np.array([7.8, 8.0, 8.2, 8.4])
    values = np.arange(12.0).reshape(3, 4)
    ground = grid_raster(values, latitude=latitude, longitude=longitude, source="grid")
    plane = LocalPlane(latitude=50.0, longitude=8.1)
    east, north = plane.to_metres(*(side.ravel() for side in np.meshgrid(longitude, latitude)), crs=DEGREES)
    np.testing.assert_allclose(ground.sample(plane, east, north), values.ravel(), atol=1e-6)
    assert (ground.source, ground.crs) == ("grid", DEGREES)


@pytest.mark.parametrize("latitude", [-79.0, 0.0, 55.0])
@pytest.mark.parametrize("longitude", [-179.99, 8.0, 359.9])
def test_many_points_of_a_plane_come_out_as_each_alone(latitude, longitude):
    # the second method: PROJ's own azimuthal equidistant projection, and the geodesic of each point
    plane = LocalPlane(latitude=latitude, longitude=longitude)
    chance = np.random.default_rng(3)
    east, north = chance.uniform(-15_600, 15_600, (2, 3000))
    x, y = plane.to_crs(east, north, crs=DEGREES)
    one_x, one_y = plane.to_crs(east[:1000], north[:1000], crs=DEGREES)  # few: each by itself
    off = np.abs((x[:1000] - one_x + 180) % 360 - 180)
    np.testing.assert_allclose(
        off, 0, atol=2e-11 / np.cos(np.deg2rad(latitude))
    )  # degrees: two thousandths of a mm
    np.testing.assert_allclose(y[:1000], one_y, atol=2e-11)
    by_proj = Transformer.from_crs(plane.definition, DEGREES, always_xy=True).transform(east, north)
    np.testing.assert_allclose(y, by_proj[1], atol=1e-9)
    np.testing.assert_allclose(np.abs((x - by_proj[0] + 180) % 360 - 180), 0, atol=1e-8)
