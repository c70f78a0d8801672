"""Two results side by side: walls of a town and cells of a grid, their bands by hand and by drawing years again."""

import re

import numpy as np
import pandas as pd
import pytest
import xarray as xr

from exposure.checks import RefusalError
from exposure.cli import main
from exposure.cli.change_command import _summary
from exposure.district.change import change_in_words, change_of_walls
from exposure.doubts import has_doubt
from exposure.paper.change_page import change_html
from exposure.rain.uncertainty import band_of_difference, resample_years
from exposure.region.change import index_change


def walls(**more):
    base = {
        "building": [1, 1, 2], "wall": ["south", "north", "south"], "facing": [180.0, 0.0, 181.0],
        "length": [10.0, 10.0, 20.0], "class": ["moderate", "moderate", "severe"],
        "wall_annual_index": [200.0] * 3, "annual_low": [190.0] * 3, "annual_high": [210.0] * 3,
        "wall_spell_index": [40.0, 40.0, 60.0], "spell_low": [30.0, 30.0, 57.0], "spell_high": [50.0, 50.0, 64.0],
    }  # fmt: skip
    return pd.DataFrame(base | more)


def test_a_change_is_clear_only_where_the_bands_leave_no_other_way():
    later = walls(
        wall_spell_index=[52.0, 60.0, 50.0], spell_low=[42.0, 55.0, 47.0], spell_high=[70.0, 66.0, 53.0],
        **{"class": ["moderate", "severe", "moderate"]},
    )  # fmt: skip
    found = change_of_walls(walls(), later)
    # by hand: 12 less the root of 10 and 10 squared = -2.1; 20 less the root of 5 and 10 squared = 8.8;
    # -10 and the root of 3 and 3 squared = -5.8
    assert found.walls["spell_change_low"].iloc[:2].tolist() == pytest.approx([12 - 200**0.5, 20 - 125**0.5])
    assert found.walls["spell_change_high"].iloc[2] == pytest.approx(-10 + 18**0.5)
    assert found.walls["spell_clear"].tolist() == ["not clear", "more", "less"]
    said = " ".join(change_in_words(found))
    assert "rise clearly on 25% of 40 m of wall and fall clearly on 50%; on 25%" in said
    assert "30 m change their class, 0 m of it" in said


SUMMARY = {
    "footprints": "<b>town</b>.gpkg",
    "doubts_of_all": ["No ground raster was given."],
    "records": [{"source": "made up", "kind": "gauge", "years": [1991, 1992], "wet_hour_mm": 0.0, "licence": "none"}],
}  # fmt: skip


def test_the_page_of_a_change_adds_up_and_says_what_is_clear():
    later = walls(
        wall_spell_index=[52.0, 60.0, 50.0], spell_low=[42.0, 55.0, 47.0], spell_high=[70.0, 66.0, 53.0],
        **{"class": ["moderate", "severe", "moderate"]},
    )  # fmt: skip
    page = change_html(change_of_walls(walls(), later), SUMMARY, SUMMARY)
    rows = [
        [re.sub(r"<[^>]*>", "", cell) for cell in re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row)]
        for row in re.findall(r"<tr>.*?</tr>", page)
    ]
    table = {row[0]: row[1:] for row in rows}
    # by hand: of 20 m moderate 10 m stay and 10 m become severe; the severe 20 m become moderate
    assert table["moderate"] == ["0", "10", "10", "0"]
    assert table["severe"] == ["0", "20", "0", "0"]
    assert "2, south" in table  # clear, as the one north wall; the first south wall is not
    assert "1, north" in table
    assert "1, south" not in table
    assert table["1, north"][2:4] == ["40", "60"]
    assert re.fullmatch(
        r"\+20 \(\+9 to \+\d+\)", table["1, north"][4]
    )  # 20 less the root of 5 and 10 squared: 8.8
    assert table["2, south"][4].startswith("−10 (")
    assert page.count("1991 to 1992, 2 years count") == 2
    assert "<b>town</b>" not in page
    assert "&lt;b&gt;town" in page


def test_a_change_without_its_sources_is_refused(tmp_path):
    for name in ("one", "other"):
        (tmp_path / name).mkdir()
    with pytest.raises(RefusalError, match="does not tell the sources"):
        _summary(tmp_path / "one" / "district.gpkg")
    (tmp_path / "one" / "district.json").write_text("[" * 100_000)
    with pytest.raises(RefusalError, match="does not tell the sources"):
        _summary(tmp_path / "one" / "district.gpkg")


def test_walls_of_another_town_are_refused_and_odd_ones_told():
    with pytest.raises(RefusalError, match="one file of footprints"):
        change_of_walls(walls(), walls(building=[7, 7, 8]))
    turned = change_of_walls(walls(), walls(facing=[180.0, 0.0, 240.0]))
    assert len(turned.walls) == 2
    assert has_doubt(turned.flags, "district.walls_in_one_alone")


def test_the_band_of_a_difference_is_near_that_of_years_drawn_again():
    # the second method: both records drawn again and again, and the 90 % of their differences
    chance = np.random.default_rng(4)
    one, other = chance.gamma(9, 30, (30, 1)), chance.gamma(9, 36, (30, 1))
    drawn = [resample_years(each, each, resamples=4000, seed=k).annual for k, each in enumerate((one, other))]
    bands = [tuple(np.quantile(each, [0.05, 0.95], axis=0)) for each in drawn]
    low, high = band_of_difference(one.mean(0), bands[0], other.mean(0), bands[1])
    expected = np.quantile(drawn[1] - drawn[0], [0.05, 0.95])
    assert [low[0], high[0]] == pytest.approx(expected, abs=0.06 * (expected[1] - expected[0]))


def grid(years, *, times=1.0, seed=1, east=0.0):
    chance = np.random.default_rng(seed)
    yearly = chance.gamma(20, 10, (years, 4, 2, 3)) * times
    yearly[:2, :, 0, 0] = np.nan  # a cell whose first years do not count
    yearly[:, :, 1, 2] = np.nan  # the sea
    dims = ("orientation", "latitude", "longitude")
    mean = np.nanmean(np.where(np.isnan(yearly).all(0), 0.0, yearly), axis=0)
    mean = np.where(np.isnan(yearly).all(0), np.nan, mean)
    found = {name: (dims, mean) for name in ("airfield_annual_index", "airfield_spell_index")}
    found |= {name: (("year", *dims), yearly) for name in ("yearly_annual_index", "yearly_spell_maximum")}
    return xr.Dataset(
        found,
        {
            "orientation": [0.0, 90.0, 180.0, 270.0], "latitude": [50.0, 51.0], "longitude": [8.0 + east, 9.0 + east, 10.0 + east],
            "year": 1991 + np.arange(years),
        },
        {"source": f"run {seed}", "licence": "none", "kind": "model", "wet_hour_mm": 0.1, "flags": []},
    )  # fmt: skip


def test_cells_of_one_climate_hide_and_of_a_wetter_one_show():
    first = grid(20)
    same, wetter = index_change(first, grid(20, seed=2)), index_change(first, grid(20, seed=2, times=1.5))
    known = first["airfield_annual_index"].notnull()
    assert float((same["annual_clear"] != 0).where(known).mean()) < 0.3  # nominal a tenth; 20 cells
    assert bool((wetter["annual_clear"] == 1).where(known, True).all())
    assert bool(wetter["annual_change"].isel(latitude=1, longitude=2).isnull().all())  # the sea
    assert bool((wetter["annual_clear"].isel(latitude=1, longitude=2) == 0).all())
    expected = grid(20, seed=2, times=1.5)["airfield_annual_index"] - first["airfield_annual_index"]
    np.testing.assert_allclose(wetter["annual_change"], expected)
    few = index_change(grid(4), grid(4, seed=2, times=3.0))
    assert not few["annual_clear"].any()  # four years give no band: nothing is clear
    with pytest.raises(RefusalError, match="longitude"):
        index_change(first, grid(20, east=0.25))


def test_the_command_compares_two_regions(tmp_path, capsys):
    for name, made in (("a", grid(12)), ("b", grid(12, seed=2, times=1.5).assign_attrs(kind="reanalysis"))):
        made.to_zarr(tmp_path / name / "index.zarr")
    assert main(["change", str(tmp_path / "a"), str(tmp_path / "b"), "--out", str(tmp_path / "out")]) == 0
    told = capsys.readouterr().out
    assert "rise clearly in 100% of 20 cells and facings" in told
    assert "One record is model, the other reanalysis" in told
    with xr.open_dataset(tmp_path / "out/change.nc") as change:
        assert change["annual_clear"].dtype == np.int8
        assert change["spell_change"].attrs["units"] == "L m-2"
    assert main(["change", str(tmp_path / "a"), str(tmp_path), "--out", str(tmp_path / "out")]) == 2
