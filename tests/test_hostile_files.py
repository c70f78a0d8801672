"""Files made to read others, to call out or to take for ever: told by content, refused, and quickly."""

import json
import sqlite3
import time

import geopandas
import numpy as np
import pytest
import rasterio
import shapely
import xarray as xr
from site_world import PLANE, block
from test_site_footprint import geojson, in_degrees

from exposure.checks import RefusalError, sound_toml
from exposure.climate.grid.heaps import COLLECTION, HEAD, stuck_heap
from exposure.climate.grid.store import open_netcdf
from exposure.detail.rule_file import read_rule_text
from exposure.page.choices.house_file import words_of_upload
from exposure.site.footprint import metres, read_footprint, read_neighbours
from exposure.site.height_raster import heights_from_raster
from exposure.site.raster import read_cover, read_ground
from exposure.site.site_list import read_site_list
from exposure.wall.building_words import building_from_words

QUICK = 5.0  # s; the old forms took from half a minute to minutes


@pytest.fixture
def secret(tmp_path):
    """A file of the server with positions in it, that only a description of another file can reach."""
    path = tmp_path / "secret.csv"
    path.write_text('name,WKT\nhidden words,"POLYGON ((8 50, 8.0002 50, 8.0002 50.0001, 8 50.0001, 8 50))"\n')
    return path


def description(secret):
    """A GDAL description of a vector file that names another file."""
    return (
        f'<OGRVRTDataSource><OGRVRTLayer name="secret"><SrcDataSource>CSV:{secret}</SrcDataSource>'
        "<GeometryType>wkbPolygon</GeometryType><LayerSRS>EPSG:4326</LayerSRS>"
        '<GeometryField encoding="WKT" field="WKT"/></OGRVRTLayer></OGRVRTDataSource>'
    )


@pytest.mark.parametrize("ending", ["geojson", "gpkg", "json", "vrt"])
def test_a_description_of_another_file_is_never_followed(tmp_path, secret, ending):
    path = tmp_path / f"house.{ending}"
    path.write_text(description(secret))
    for read in (read_footprint, lambda one: read_neighbours(one, PLANE, own=block(-6, -4, 6, 4))):
        with pytest.raises(RefusalError, match="cannot be read as footprints") as refused:
            read(path)
        assert "hidden" not in str(refused.value)


def test_the_page_reads_no_file_of_the_server_through_an_upload(secret):
    with pytest.raises(RefusalError, match="cannot be read as footprints"):
        words_of_upload(description(secret).encode(), "house.geojson")


@pytest.mark.parametrize("ending", ["csv", "shp", "gml"])
def test_other_vector_formats_are_refused_whatever_their_name(tmp_path, secret, ending):
    path = tmp_path / f"house.{ending}"
    path.write_bytes(secret.read_bytes())
    with pytest.raises(RefusalError, match="cannot be read as footprints"):
        read_footprint(path)


def test_a_database_that_is_no_geopackage_is_refused(tmp_path):
    path = tmp_path / "house.gpkg"
    with sqlite3.connect(path) as base:
        base.execute("create table layer (name text)")
    with pytest.raises(RefusalError, match="no GeoPackage"):
        read_footprint(path)


def test_a_raster_description_is_never_followed(tmp_path):
    real = tmp_path / "real.tif"
    with rasterio.open(
        real, "w", driver="GTiff", width=40, height=40, count=1, dtype="uint8", crs=PLANE.definition,
        transform=rasterio.transform.from_origin(-2000, 2000, 100, 100),
    ) as raster:  # fmt: skip
        raster.write(np.full((40, 40), 30, dtype="uint8"), 1)
    assert read_cover(real, plane=PLANE, reach=500).values.size
    path = tmp_path / "ground.tif"
    path.write_text(
        f'<VRTDataset rasterXSize="40" rasterYSize="40"><SRS>{PLANE.definition}</SRS>'
        "<GeoTransform>-2000, 100, 0, 2000, 0, -100</GeoTransform>"
        '<VRTRasterBand dataType="Byte" band="1"><SimpleSource>'
        f"<SourceFilename>{real}</SourceFilename><SourceBand>1</SourceBand>"
        "</SimpleSource></VRTRasterBand></VRTDataset>"
    )
    for read in (read_ground, read_cover):
        with pytest.raises(RefusalError, match="cannot be opened as a raster"):
            read(path, plane=PLANE, reach=500)


def test_a_raster_damaged_behind_its_head_is_refused(tmp_path):
    path = tmp_path / "ground.tif"
    with rasterio.open(
        path, "w", driver="GTiff", width=40, height=40, count=1, dtype="float32", crs=PLANE.definition,
        compress="deflate", transform=rasterio.transform.from_origin(-2000, 2000, 100, 100),
    ) as raster:  # fmt: skip
        raster.write(np.random.default_rng(1).random((40, 40), dtype="float32"), 1)
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2])
    for read in (read_ground, read_cover):
        with pytest.raises(RefusalError, match="is damaged"):
            read(path, plane=PLANE, reach=500)
    outline = np.array([shapely.box(7.999, 49.999, 8.001, 50.001)])
    with pytest.raises(RefusalError, match="is damaged") as caught:
        heights_from_raster(path, outline, [0], crs="EPSG:4326")
    assert caught.value.parameter == "heights"


@pytest.mark.timeout(60)
def test_a_heap_at_which_the_library_never_goes_on_is_refused(tmp_path):
    """The first object of a heap is wiped: the library below would look at it for ever, and no key stops it."""
    path = tmp_path / "sound.nc"
    xr.Dataset({"tp": (("time", "x"), np.ones((3, 2)))}, {"time": [0, 1, 2], "x": [0, 1]}).to_netcdf(
        path, engine="h5netcdf"
    )
    content = path.read_bytes()
    assert not stuck_heap(path)
    open_netcdf(path, "sound.nc").close()
    first = content.index(COLLECTION) + HEAD
    harmed = tmp_path / "harmed.nc"
    harmed.write_bytes(content[:first] + bytes(HEAD) + content[first + HEAD :])
    with pytest.raises(RefusalError, match=r"harmed\.nc is damaged inside"):
        open_netcdf(harmed, "harmed.nc")


def test_a_drawing_in_coordinates_of_its_own_is_refused(tmp_path):
    """As a program for drawings exports it: metres from a peg on the site, anywhere on the earth."""
    path = tmp_path / "house.gpkg"
    own = 'LOCAL_CS["Peg",UNIT["metre",1]]'
    geopandas.GeoDataFrame({"name": ["House"]}, geometry=[shapely.box(0, 0, 12, 8)], crs=own).to_file(path)
    with pytest.raises(RefusalError, match="system of its own, 'Peg'"):
        read_footprint(path)


def test_a_rule_of_keys_joined_without_end_is_refused_at_once():
    began = time.perf_counter()
    for key in ("a." * 49_000 + "a", '"a,".' * 19_000 + '"a"', "1." * 49_000 + "1", '"a" . ' * 16_000 + "b"):
        with pytest.raises(RefusalError, match="joins more than"):
            read_rule_text(f"{key}=1")
    assert time.perf_counter() - began < QUICK


def test_long_lines_of_plain_toml_are_still_read():
    corners = ", ".join(f"[8.{i:06d}, 50.{i:06d}]" for i in range(500))
    assert len(sound_toml(f"corners = [{corners}]")["corners"]) == 500
    assert sound_toml(f'says = "{"A sentence. " * 40}"')


def test_a_site_list_with_a_monstrous_key_costs_no_time():
    point = {"type": "Point", "coordinates": [8.0, 50.0]}
    monster = {"type": "Feature", "properties": {"[" * 60_000: 1, "name": "A"}, "geometry": point}
    began = time.perf_counter()
    found = read_site_list(
        json.dumps({"type": "FeatureCollection", "features": [monster] * 5}).encode(), shapes=[]
    )
    assert [one.name for one in found.sites][:1] == ["A (row 1)"]
    head = "name,lat,lon," + "ground height " + "[" * 60_000
    read_site_list(f"{head}\nA,50,8,1\n".encode(), shapes=[])
    assert metres(" " * 60_000 + "6") == 6.0
    assert metres("6" + " " * 60_000 + "x") is None
    assert time.perf_counter() - began < QUICK


def test_names_that_are_no_text_and_numbers_as_text_are_no_fault_of_the_program(tmp_path):
    path = geojson(tmp_path / "h.geojson", in_degrees(block(-6, -4, 6, 4)), properties=[{"name": "House"}])
    path.write_bytes(path.read_bytes().replace(b'"name"', b'"na\xe9me"'))
    with pytest.raises(RefusalError, match="not UTF-8"):
        read_footprint(path)
    place = {"name": "Field", "latitude": 50.0, "longitude": 8.0}
    table = {
        "name": "House", "height": 6, "storeys": 2, "place": place,
        "elevation": [{"name": "south", "orientation": "180", "length": "12"}],
    }  # fmt: skip
    (wall,) = building_from_words(table).building.walls
    assert (wall.orientation, wall.length) == (180.0, 12.0)
    table["elevation"][0]["length"] = "long"
    with pytest.raises(RefusalError, match="length of south is 'long'"):
        building_from_words(table)


def test_a_file_that_may_not_be_read_is_refused(tmp_path, monkeypatch):
    path = geojson(tmp_path / "h.geojson", in_degrees(block(-6, -4, 6, 4)))

    def forbidden(*_, **__):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("pathlib.Path.open", forbidden)
    with pytest.raises(RefusalError, match="Permission denied"):
        read_footprint(path)
