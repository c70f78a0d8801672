"""Ensembles: each member's index is that of its own grid, the spread lies between them, and a change hides in it.

The expected figures come from each member written to a grid of its own, or from members put together by hand.
"""

import json

import numpy as np
import pandas as pd
import pytest
import shapely
import xarray as xr
from test_region_index import invented_grid

from exposure.assess.from_files import assess_file
from exposure.assess.site_weather import GridWeather
from exposure.checks import RefusalError
from exposure.cli import main
from exposure.climate.grid_cells import GridCells
from exposure.climate.opening import open_climate
from exposure.climate.request import Request
from exposure.district import assess_district
from exposure.district.shares import shares_of, squares_over
from exposure.doubts import has_doubt
from exposure.map.change_map import draw_change_map
from exposure.region.change import index_change
from exposure.region.region_index import index_region
from exposure.site.plane import LocalPlane
from exposure.wall.classes import class_names, class_numbers

CELL = {"latitude": slice(1, 3), "longitude": slice(2, 4)}
AT = (51.5, 0.5)


@pytest.fixture(scope="module")
def runs():
    """Three runs of a year on four cells; the third twice as wet."""
    made = [invented_grid(end="2010-12-31T23", seed=seed).isel(CELL).drop_encoding() for seed in (1, 2, 3)]
    made[2]["tp"] = (2 * made[2]["tp"]).assign_attrs(units="m")
    return made


@pytest.fixture(scope="module")
def ensemble(runs, tmp_path_factory):
    path = tmp_path_factory.mktemp("ensemble") / "all.zarr"
    joined = xr.concat(runs, dim="number", join="exact").assign_coords(number=[0, 5, 9])
    joined.chunk({"time": 4000, "number": 2}).to_zarr(path, zarr_format=2)
    return path


@pytest.fixture(scope="module")
def alone(runs, tmp_path_factory):
    """The same runs indexed as grids of their own."""
    found = []
    for k, run in enumerate(runs):
        folder = tmp_path_factory.mktemp(f"alone{k}")
        store = index_region(run, folder, orientations=8, progress=False)
        with xr.open_zarr(store, chunks=None) as index:
            found.append(index.load())
    return found


@pytest.fixture(scope="module")
def mapped(ensemble, tmp_path_factory):
    folder = tmp_path_factory.mktemp("mapped")
    assert main(["map", str(ensemble), "--out", str(folder), "--orientations", "8"]) == 0
    return folder


def test_each_member_is_its_own_grid_and_the_spread_lies_between(mapped, alone):
    with xr.open_zarr(mapped / "index.zarr", chunks=None) as index:
        index.load()
    assert index["member"].values.tolist() == ["0", "5", "9"]
    for own, base, spread in (
        ("member_annual_index", "airfield_annual_index", "annual_member_spread"),
        ("member_spell_index", "airfield_spell_index", "spell_member_spread"),
    ):
        each = np.stack([one[base].values for one in alone])
        np.testing.assert_array_equal(index[own].transpose("member", ...).values, each)
        np.testing.assert_allclose(
            index[base].values, np.sort(each, axis=0)[1], rtol=1e-6
        )  # of three the middle one
        np.testing.assert_allclose(index[spread].values, each.max(0) - each.min(0), rtol=1e-5)
    page = (mapped / "map.html").read_text()
    assert "between members" in page
    assert "median of 3 members" in page
    assert (mapped / "worst_spell_index.tif").is_file()


def test_one_member_is_taken_by_name_everywhere(ensemble, runs, alone, tmp_path):
    one = open_climate(ensemble, at=AT, where={"number": "9"})
    own = GridCells(_stored(runs[2], tmp_path), Request())
    np.testing.assert_array_equal(one["rain"].values, own.read(own.find(AT))["rain"].values)
    cells = GridCells(ensemble, GridWeather(ensemble, Request(where={"number": "9"})).request)
    np.testing.assert_array_equal(cells.read(cells.find(AT))["rain"].values, one["rain"].values)
    folder = tmp_path / "one"
    asked = ["map", str(ensemble), "--where", "number=9", "--out", str(folder), "--orientations", "8"]
    assert main(asked) == 0
    with xr.open_zarr(folder / "index.zarr", chunks=None) as index:
        np.testing.assert_array_equal(
            index["airfield_spell_index"].values, alone[2]["airfield_spell_index"].values
        )
    assert main([*asked[:3], "number=5", *asked[4:]]) == 2  # another member is not the work kept there


def _stored(run, folder):
    run.to_zarr(folder / "own.zarr", zarr_format=2)
    return folder / "own.zarr"


@pytest.mark.parametrize(
    ("where", "came"),
    [
        ({"number": "7"}, "no member '7'"),
        ({"station": "A"}, "holds an ensemble along number"),
        ({}, "an ensemble of 3"),
    ],
)
def test_a_member_that_is_not_there_is_refused(ensemble, where, came):
    with pytest.raises(RefusalError, match=came) as refused:
        open_climate(ensemble, at=AT, where=where)
    assert refused.value.parameter == "where"


def test_where_is_not_passed_over_on_a_plain_grid(runs, tmp_path):
    with pytest.raises(RefusalError, match="holds no ensemble"):
        open_climate(_stored(runs[0], tmp_path), at=AT, where={"number": "0"})


def members(*figures, names=None):
    """Members of one cell and facing, their indices as told."""
    dims = ("orientation", "latitude", "longitude")
    each = np.array(figures, dtype=float).reshape(-1, 1, 1, 1)
    found = {}
    for name in ("annual", "spell"):
        found[f"airfield_{name}_index"] = (dims, np.median(each, axis=0))
        found[f"member_{name}_index"] = (("member", *dims), each)
    coords = {"orientation": [0.0], "latitude": [50.0], "longitude": [8.0]}
    return xr.Dataset(
        found, {**coords, "member": names or [str(k) for k in range(len(figures))]}, {"kind": "model"}
    )


def told(change):
    return [
        float(change[f"spell_{one}"].squeeze()) for one in ("change", "change_low", "change_high", "clear")
    ]


def test_a_change_is_clear_where_every_member_goes_one_way():
    before = members(10, 20, 30, 40, 50)
    assert told(index_change(before, members(12, 21, 33, 44, 51))) == [2, 1, 4, 1]  # rises of 2, 1, 3, 4, 1
    assert told(index_change(before, members(8, 19, 27, 36, 49))) == [-2, -4, -1, -1]
    assert told(index_change(before, members(12, 21, 33, 44, 49))) == [2, -1, 4, 0]  # one falls: hidden


def test_fewer_than_five_members_show_nothing():
    found = index_change(members(10, 20, 30, 40), members(20, 30, 40, 50))
    assert told(found) == [10, 10, 10, 0]
    assert has_doubt(found.attrs["flags"], "region.few_members")


def test_other_members_are_set_against_all_of_both():
    other = ["a", "b", "c", "d", "e"]
    found = index_change(members(10, 11, 12, 13, 14), members(15, 16, 17, 18, 19, names=other))
    assert told(found) == [5, 1, 9, 1]  # 17 less 12; 15 less 14; 19 less 10
    assert has_doubt(found.attrs["flags"], "region.members_apart")
    with pytest.raises(RefusalError, match="both of one kind"):
        index_change(members(1, 2, 3, 4, 5), members(1, 2, 3, 4, 5).drop_dims("member"))


def test_the_command_writes_a_map_of_the_change(mapped, alone, tmp_path, capsys):
    assert main(["change", str(mapped), str(mapped), "--out", str(tmp_path)]) == 0
    assert "With 3 members none of the changes" in capsys.readouterr().out
    page = (tmp_path / "change.html").read_text()
    assert "hidden in 4." in page
    assert "src=" not in page.partition("<script")[0]


def test_the_map_of_a_change_keeps_hidden_cells_grey_and_names_as_text():
    import base64
    import json
    import re

    dims = ("orientation", "latitude", "longitude")
    values, clear = [[[5.0, -3.0], [0.4, np.nan]]], [[[1, -1], [0, 0]]]
    found = {f"{name}_change": (dims, values) for name in ("annual", "spell")}
    found |= {f"{name}_clear": (dims, np.array(clear, dtype=np.int8)) for name in ("annual", "spell")}
    made = xr.Dataset(found, {"orientation": [90.0], "latitude": [50.0, 51.0], "longitude": [8.0, 9.0]})
    page = draw_change_map(
        made.assign_attrs(first="<script>alert(1)</script>", second="b", licence="c", flags=[]), title="<b>x"
    )
    assert "<script>alert" not in page
    data = json.loads(re.search(r'id="data">(.*?)</script>', page, re.S)[1])
    layer = data["layers"]["spell/90"]
    assert "more in 1 of 3 cells, less in 1, hidden in 1." in layer["sentence"]
    figures = layer["figures"]
    packed = np.frombuffer(base64.b64decode(figures["packed"]), "<u2")
    assert (packed[:3].astype(int) + figures["least"]).tolist() == [5, -3, 0]
    assert packed[3] == 65_535
    ways = np.frombuffer(base64.b64decode(figures["ways"]), np.uint8)
    assert [figures["way_words"][one] for one in ways[:3]] == [
        "a clear rise",
        "a clear fall",
        "hidden by the spread",
    ]


@pytest.fixture(scope="module")
def village(tmp_path_factory):
    """A house in each of two cells of the ensemble, turned otherwise."""
    features = []
    for name, latitude, longitude, turn in (("Mill", 51.4, 0.45, 0), ("Quay", 51.05, 0.05, 30)):
        box = shapely.get_coordinates(shapely.affinity.rotate(shapely.box(-6, -4, 6, 4), turn, origin=(0, 0)))
        plane = LocalPlane(latitude=latitude, longitude=longitude)
        ring = np.column_stack(plane.to_crs(*box.T, crs="EPSG:4326")).tolist()
        told = {"name": name, "height": 5.5, "storeys": 2, "roof": "hip", "eaves": 300, "terrain": "II"}
        shape = {"type": "Polygon", "coordinates": [ring]}
        features.append({"type": "Feature", "geometry": shape, "properties": told})
    path = tmp_path_factory.mktemp("village") / "village.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    return path


@pytest.fixture(scope="module")
def town(village, ensemble):
    return assess_district(village, GridWeather(ensemble))


def test_each_member_gives_every_wall_what_it_gives_one_building(town, village, ensemble):
    assert town.members.names == ("0", "5", "9")
    for name in ("Mill", "Quay"):
        house = town.buildings.set_index("name").loc[name]
        mine = (town.walls["building"] == house["building"]).to_numpy()
        walls = town.walls[mine].reset_index(drop=True)
        at = (house["latitude"], house["longitude"])
        told = []
        for k, member in enumerate(town.members.names):
            climate = open_climate(ensemble, at=at, where={"number": member})
            alone, _ = assess_file(village, climate, name=name, neighbours=village)
            each = {one.wall.name: one for one in alone.elevations}
            assert sorted(each) == sorted(walls["wall"])
            told.append([each[wall] for wall in walls["wall"]])
            for found, index in (
                (town.members.spell, "wall_spell_index"),
                (town.members.annual, "wall_annual_index"),
            ):
                np.testing.assert_allclose(
                    found[k, mine], [getattr(one, index) for one in told[k]], rtol=1e-9
                )
        # of three the middle one, and what lies between the ends, by sorting what each building alone was told
        spells = np.sort([[one.wall_spell_index for one in each] for each in told], axis=0)
        np.testing.assert_allclose(walls["wall_spell_index"], spells[1], rtol=1e-9)
        np.testing.assert_allclose(walls["spell_member_spread"], spells[2] - spells[0], rtol=1e-9)
        np.testing.assert_allclose(walls["spell_low"], spells[0], rtol=1e-9)  # one year: no band of its own
        np.testing.assert_allclose(walls["spell_high"], spells[2], rtol=1e-9)
        for place, wall in enumerate(walls.itertuples()):
            levels = [class_names().index(each[place].class_for_details) for each in told]
            assert wall.class_for_details == class_names()[max(levels)]
    assert has_doubt(town.flags, "district.members")


def test_areas_tell_how_far_the_members_lie_apart(town):
    table = shares_of(town, squares_over(town.walls, 1000.0)).table
    length = town.walls["length"].to_numpy()
    hard = [
        length[class_numbers(one) >= 2].sum() / length.sum() for one in town.members.spell
    ]  # severe is the third
    assert table["hard_least_member"].iloc[0] == pytest.approx(min(hard))
    assert table["hard_most_member"].iloc[0] == pytest.approx(max(hard))
    assert len(table) == 3  # the whole and a square for each house


def test_a_town_of_members_is_written_and_compared(village, ensemble, tmp_path, capsys):
    for name in ("a", "b"):
        asked = [
            "district",
            str(village),
            "--climate",
            str(ensemble),
            "--out",
            str(tmp_path / name),
            "--workers",
            "0",
        ]
        assert main([*asked, "--squares", "1000"]) == 0
    told = capsys.readouterr().out
    assert "Under one member or another it is" in told
    assert "median of 3 members" in told
    table = pd.read_csv(tmp_path / "a/members.csv")
    assert len(table) == 3 * len(pd.read_csv(tmp_path / "a/walls.csv"))
    assert "Least of the members" in (tmp_path / "a/shares.html").read_text()
    compared = [
        "change",
        str(tmp_path / "a"),
        str(tmp_path / "b"),
        "--out",
        str(tmp_path / "out"),
        "--squares",
        "1000",
    ]
    assert main(compared) == 0
    assert "the spread of the members hides any change" in capsys.readouterr().out
    by_area = pd.read_csv(tmp_path / "out/change_by_area.csv")
    assert by_area["area"].iloc[0] == "all walls"
    assert len(by_area) == 3
    assert (by_area["spell_change"] == 0).all()
    (tmp_path / "b/members.csv").unlink()
    assert main(compared) == 2
