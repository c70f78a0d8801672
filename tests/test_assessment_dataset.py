"""An assessed building as a Dataset and as a GeoDataFrame: the figures of its elevations, and a file in between."""

import numpy as np
import pytest
import xarray as xr
from invented_record import invented_weather, station_csv

import exposure
from exposure import RefusalError
from exposure.doubts import flags_of
from exposure.export.building_files import assessment_summary
from exposure.rain.variables import HISTORY

FACTORS = ["terrain_roughness_coefficient", "topography_coefficient", "obstruction_factor", "wall_factor"]
HOUSE = {
    "name": "House", "height": 5.6, "storeys": 2, "roof": "gable",
    "place": {"name": "Field", "latitude": 48.435, "longitude": -29.68, "terrain": "II"},
    "footprint": {"length": 15.0, "width": 7.5, "bearing": 142.0},
}  # fmt: skip


@pytest.fixture(scope="module")
def assessed():
    climate = exposure.open_climate(station_csv(invented_weather(hours=6 * 8766)))
    surveyed = exposure.survey_building(HOUSE)
    return exposure.assess_building(climate, surveyed.building, surveyed.site), surveyed


def test_the_figures_of_a_building_as_a_dataset(assessed):
    assessment, _ = assessed
    found = assessment.to_dataset()
    assert found.sizes == {"elevation": 4, "bound": 2, "month": 12}
    for one in assessment.elevations:
        here = found.sel(elevation=one.wall.name)
        assert float(here["wall_spell_index"]) == one.wall_spell_index
        assert str(here["exposure_class"].values) == one.exposure_class
        assert tuple(here["spell_band"].values) == one.spell_band
        assert [one.key for one in flags_of({"flags": str(here["doubts"].values)}) if hasattr(one, "key")]
    product = np.prod([found[name] for name in FACTORS], axis=0)  # by the standard's own equation
    np.testing.assert_allclose(
        found["airfield_annual_index"] * product, found["wall_annual_index"], rtol=1e-12
    )
    np.testing.assert_allclose(found["monthly_share"].sum("month"), 1.0)
    assert found["wall_spell_index"].values.tolist() == sorted(found["wall_spell_index"].values, reverse=True)


def test_every_figure_of_the_dataset_stands_under_its_name_with_its_unit(assessed):
    assessment, _ = assessed
    found = assessment.to_dataset()
    units = {
        "orientation": "degree", "length": "m", "height": "m", "airfield_annual_index": "L m-2 year-1", "airfield_spell_index": "L m-2",
        "airfield_spell_index_percentile": "L m-2", "airfield_spell_index_gumbel": "L m-2", "wall_annual_index": "L m-2 year-1",
        "wall_spell_index": "L m-2", "wall_spell_index_in_the_open": "L m-2", "sector_annual_index": "L m-2 year-1",
        "sector_spell_index": "L m-2", "annual_band": "L m-2 year-1", "spell_band": "L m-2", "monthly_share": "1",
        "worst_share": "1", "indicative": "1", **dict.fromkeys(FACTORS, "1"),
    }  # fmt: skip
    assert {name: one.attrs["units"] for name, one in found.items() if "units" in one.attrs} == units
    words = {
        "shape",
        "exposure_class",
        "class_in_the_open",
        "class_any_rain",
        "class_for_details",
        "in_words",
        "doubts",
    }
    assert set(found) == set(units) | words
    assert {name: one.dims for name, one in found.items() if len(one.dims) > 1} == {
        "annual_band": ("elevation", "bound"), "spell_band": ("elevation", "bound"), "monthly_share": ("elevation", "month"),
    }  # fmt: skip
    for at, one in enumerate(assessment.elevations):
        here = found.isel(elevation=at)
        assert str(here["elevation"].values) == one.wall.name
        for name in ("orientation", "length", "height", "shape"):
            assert here[name].values == getattr(one.wall, name), name
        for name in set(units) - {"orientation", "length", "height", *FACTORS} | words - {"shape", "doubts"}:
            assert np.array_equal(here[name].values, getattr(one, name)), name
        assert [float(here[name]) for name in FACTORS] == [factor.value for factor in one.factors]
        told = flags_of({"flags": str(here["doubts"].values)})
        assert told == [*one.flags, *(mine.sentence for mine in one.doubts)]
    assert found["month"].values.tolist() == list(range(1, 13))
    assert found["bound"].values.tolist() == ["low", "high"]
    index = assessment.index.attrs
    assert {name: found.attrs[name] for name in found.attrs if name not in ("flags", "doubts", "Conventions")} == {
        "title": "Driving rain on the elevations of a building", "history": HISTORY,
            "building": "House", "place": "Field", "latitude": 48.435, "longitude": -29.68, "kind": index["kind"],
        "source": index["source"], "licence": index["licence"], "wet_hour_mm": index["wet_hour_mm"],
        "years": [int(year) for year in assessment.index["year"]], "band_statement": assessment.band_statement,
    }  # fmt: skip
    assert found["sector_spell_index"].attrs["long_name"].endswith(", each wind over its own ground")
    assert found["spell_band"].attrs["long_name"].startswith("band of 90 %, whole years drawn again: ")


def test_a_building_s_dataset_survives_a_file(assessed, tmp_path):
    assessment, _ = assessed
    found = assessment.to_dataset()
    found.to_netcdf(tmp_path / "house.nc")
    with xr.open_dataset(tmp_path / "house.nc") as back:
        xr.testing.assert_equal(back.load(), found)
        assert all(value.attrs["long_name"] for value in back.data_vars.values())
        again = flags_of(back.attrs)
    assert [(one, one.key) for one in again] == [(one, one.key) for one in assessment.flags]
    assert len(again) > 1


def test_a_short_record_has_no_bands_in_its_dataset():
    climate = exposure.open_climate(station_csv(invented_weather(hours=8760)))
    surveyed = exposure.survey_building(HOUSE)
    found = exposure.assess_building(climate, surveyed.building, surveyed.site).to_dataset()
    assert found["spell_band"].isnull().all()
    assert found["worst_share"].isnull().all()
    assert found["indicative"].all()


def test_the_elevations_as_lines_on_the_map(assessed):
    pyproj = pytest.importorskip("pyproj")
    pytest.importorskip("geopandas")
    assessment, surveyed = assessed
    frame = exposure.elevations_frame(assessment, surveyed)
    assert frame.crs.to_epsg() == 4326
    assert frame["name"].tolist() == [one.wall.name for one in assessment.elevations]
    assert frame["wall_spell_index"].tolist() == [one.wall_spell_index for one in assessment.elevations]
    measured = [pyproj.Geod(ellps="WGS84").geometry_length(line) for line in frame.geometry]  # on the earth
    np.testing.assert_allclose(measured, frame["length"], rtol=2e-3)
    assert {round(length, 1) for length in measured} == {15.0, 7.5}
    middle = frame.union_all().centroid
    assert (middle.y, middle.x) == pytest.approx((48.435, -29.68), abs=1e-4)


def test_a_building_without_an_outline_has_no_lines(assessed):
    pytest.importorskip("geopandas")
    climate = exposure.open_climate(station_csv(invented_weather(hours=8760)))
    wall = exposure.Wall(name="south", orientation=180, length=9, height=6, shape="two-storey gable")
    bare = exposure.assess_building(
        climate, exposure.Building("Bare", (wall,)), exposure.Site("Field", 48.4, -29.7)
    )
    assert bare.to_dataset().sizes["elevation"] == 1  # one wall alone is a building too
    # one year: no file of it speaks of a spell in three
    assert (
        assessment_summary(bare)["units"]["spell"] == "L/m2 in the worst spell of the one year of this record"
    )
    with pytest.raises(RefusalError, match="no outline"):
        exposure.elevations_frame(bare, assessed[1])
