"""A comparison for other programs: figures by second way, no formula, missing stays empty."""

import csv
import io
from dataclasses import replace

import pytest

from exposure.assess import assess_building
from exposure.checks import RefusalError
from exposure.show.exports import comparison_csv, comparison_rows, write_comparison_geopackage
from exposure.wall import Site
from exposure.wall.building import box_building
from tests.test_show_sheet import weather

HOSTILE = ["=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(A1)", "\t=1", "\uff1d1+1", 'quote " and, comma\nline']


@pytest.fixture(scope="module")
def places():
    house = box_building(name="Reference wall", length=10, width=10, bearing=45, height=6)
    climate = weather(years=2)
    found = {}
    for ground, name in zip(("I", "II", "III"), ("Open", "=Farm", "Suburb"), strict=True):
        site = Site(name=name, latitude=50.0, longitude=1.0 + len(found), terrain=ground)
        found[name] = assess_building(climate, house, site)
    return found


def test_rows_are_ordered_and_carry_what_decides(places):
    rows = comparison_rows(places)
    assert [row["place"] for row in rows] == ["Open", "=Farm", "Suburb"]  # rougher ground, less rain
    assert [row["rank"] for row in rows] == [1, 2, 3]
    for row in rows:
        product = row["ground"] * row["hill"] * row["neighbours"] * row["wall shape"]
        assert row["airfield_annual"] * product == pytest.approx(row["annual"], rel=2e-3)
        assert row["spell_low"] <= row["spell"] <= row["spell_high"]


def test_csv_reads_back_and_starts_no_formula(places):
    nasty = {name: one for name, one in zip(HOSTILE, list(places.values()) * 3, strict=False)}
    rows = list(csv.reader(io.StringIO(comparison_csv(nasty))))
    assert len(rows) == len(HOSTILE) + 1
    assert all(len(row) == len(rows[0]) for row in rows)
    for row in rows:
        for cell in row:
            number = cell.replace(".", "", 1).lstrip("-").isdigit()
            assert number or not cell.lstrip().startswith(("=", "+", "-", "@", "\uff1d")), cell


def test_missing_bands_are_empty_not_nan(places):
    one = places["Open"]
    bare = replace(one.elevations[0], spell_band=None, annual_band=None)
    alone = {"Open": replace(one, elevations=(bare,))}
    text = comparison_csv(alone)
    assert "nan" not in text.lower()
    row = next(csv.DictReader(io.StringIO(text)))
    assert row["spell_low"] == row["annual_high"] == ""


def test_geopackage_reads_back(places, tmp_path):
    geopandas = pytest.importorskip("geopandas")
    path = write_comparison_geopackage(tmp_path / "places.gpkg", places)
    back = geopandas.read_file(path)
    assert list(back["place"]) == ["Open", "=Farm", "Suburb"]
    assert [(point.x, point.y) for point in back.geometry] == [(1.0, 50.0), (2.0, 50.0), (3.0, 50.0)]
    assert back.crs.to_epsg() == 4326
    assert [entry.name for entry in tmp_path.iterdir()] == ["places.gpkg"]


def test_nothing_to_compare_and_no_folder_are_refused(places, tmp_path):
    with pytest.raises(RefusalError, match="no place"):
        comparison_csv({})
    with pytest.raises(RefusalError, match="cannot be written"):
        write_comparison_geopackage(tmp_path / "nowhere" / "x.gpkg", places)
