"""Two results side by side: walls of a town and cells of a grid, their bands by hand and by drawing years again."""

import re

import numpy as np
import pandas as pd
import pytest
import xarray as xr

from exposure.checks import RefusalError
from exposure.cli import main
from exposure.cli.change_command import _summary
from exposure.district.change import change_by_area, change_in_words, change_of_walls
from exposure.district.members import Members, members_in
from exposure.district.pieces import Pieces
from exposure.district.shares import Areas
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


LATER = {
    "wall_spell_index": [52.0, 60.0, 50.0], "spell_low": [42.0, 55.0, 47.0], "spell_high": [70.0, 66.0, 53.0],
    "class": ["moderate", "severe", "moderate"],
}  # fmt: skip


def two_areas():
    """Both walls of the first building in one; half its north wall and the second building in the other."""
    pieces = Pieces(
        np.array([0, 1, 1, 2]), np.array([0, 0, 1, 1]), np.array([0, 0, 0, 0.0]), np.array([1, 1, 0.5, 1])
    )
    return Areas(("mill", "=quay"), np.array([None, None]), "areas.gpkg", pieces=pieces)


def test_the_change_of_an_area_is_that_of_its_walls_by_their_length():
    found = change_by_area(change_of_walls(walls(), walls(**LATER)), two_areas()).set_index("area")
    mill, quay = found.loc["mill"], found.loc["=quay"]
    # by hand, 10 m each: 40 (30 to 50) becomes 56 (48.5 to 68)
    assert [mill[f"spell_{when}"] for when in ("before", "after", "change")] == pytest.approx([40, 56, 16])
    assert mill["spell_change_low"] == pytest.approx(16 - (7.5**2 + 10**2) ** 0.5)
    assert mill["spell_change_high"] == pytest.approx(16 + (12**2 + 10**2) ** 0.5)
    # 5 m and 20 m: 56 (51.6 to 61.2) becomes 52 (48.6 to 55.6)
    assert quay["spell_change"] == pytest.approx(-4)
    assert quay["spell_change_high"] == pytest.approx(-4 + (3.6**2 + 4.4**2) ** 0.5)
    assert [mill["spell_clear"], quay["spell_clear"]] == ["more", "not clear"]
    assert [quay[f"length_{way}"] for way in ("more", "less", "not_clear")] == [5, 20, 0]
    assert [mill["hard_before"], mill["hard_after"]] == [0, 0.5]
    assert [quay["hard_before"], quay["hard_after"]] == pytest.approx([0.8, 0.2])
    assert found.loc["all walls", "length"] == 40
    page = change_html(change_of_walls(walls(), walls(**LATER)), SUMMARY, SUMMARY, table=found.reset_index())
    assert "+16 (+4 to +32), clear" in page  # 3.5 and 31.6
    assert "−4 (−10 to +2), not clear" in page


def ensemble(*changes):
    """Members whose spells are 10, 20 ... at every wall, each ``changes`` more."""
    figures = np.array([[10.0 * (k + 1) + more] * 3 for k, more in enumerate(changes)])
    return Members(tuple(f"m{k}" for k in range(len(changes))), 5 * figures, figures)


def test_a_change_of_members_is_clear_where_all_go_one_way():
    five = (0, 0, 0, 0, 0)
    before, more, mixed = ensemble(*five), ensemble(2, 1, 3, 4, 1), ensemble(2, 1, 3, 4, -1)
    found = change_of_walls(walls(), walls(), members=(before, more))
    row = found.walls.iloc[2]
    assert [row[f"spell_change{end}"] for end in ("", "_low", "_high")] == [2, 1, 4]  # of 2, 1, 3, 4, 1
    assert set(found.walls["spell_clear"]) == set(found.walls["annual_clear"]) == {"more"}
    assert "the spread of the members hides" in change_in_words(found)[0]
    assert has_doubt(found.flags, "region.members_compared")
    hidden = change_of_walls(walls(), walls(), members=(before, mixed))
    assert set(hidden.walls["spell_clear"]) == {"not clear"}
    assert set(change_by_area(hidden, two_areas())["spell_clear"]) == {"not clear"}
    few = change_of_walls(walls(), walls(), members=(ensemble(0, 0, 0, 0), ensemble(9, 9, 9, 9)))
    assert set(few.walls["spell_clear"]) == {"not clear"}
    assert has_doubt(few.flags, "region.few_members")
    with pytest.raises(RefusalError, match="both of one kind"):
        change_of_walls(walls(), walls(), members=(before, None))


def test_an_area_counts_each_member_by_itself():
    # by hand: wall 0 rises by 9 and wall 1 falls by 1 in every member: 4 more over both, which no wall alone shows
    before, after = ensemble(0, 0, 0, 0, 0), ensemble(0, 0, 0, 0, 0)
    after.spell[:] += [9, -1, 0]
    table = change_by_area(change_of_walls(walls(), walls(), members=(before, after)), two_areas())
    mill = table.set_index("area").loc["mill"]
    assert [mill["spell_change"], mill["spell_change_low"], mill["spell_clear"]] == [4, 4, "more"]


def test_members_come_back_from_their_table_whatever_its_order():
    told = ensemble(1, 2, 3)
    told.spell[:, 1] = [7, 8, 9]
    table = told.table(walls())
    assert table["class"].iloc[1] == "sheltered"  # 7, below the table's 33
    again = members_in(table.sample(frac=1, random_state=1).sort_values("member"), walls())
    np.testing.assert_array_equal(again.spell, told.spell)
    np.testing.assert_array_equal(again.annual, told.annual)
    with pytest.raises(RefusalError, match="not every wall once"):
        members_in(table.iloc[1:], walls())


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
