"""Every wall of a town against each building assessed alone, the files it is written to, and bad outlines."""

import dataclasses
import json
import re

import geopandas
import numpy as np
import pandas as pd
import pytest
import shapely
import xarray as xr
from site_world import weather

import exposure
from exposure.assess import assess_building
from exposure.assess.from_files import survey_building
from exposure.assess.schedules import elevation_pressures
from exposure.assess.site_weather import GridWeather
from exposure.checks import RefusalError
from exposure.cli import main
from exposure.detail.circumstances import Circumstances
from exposure.detail.levels import find_levels
from exposure.district import assess_district, run
from exposure.district.shares import Areas, shares_of, squares_over
from exposure.district.town import read_town
from exposure.doubts import has_doubt
from exposure.invented.houses import house_footprints
from exposure.paper.district_page import shares_html
from exposure.site.plane import LocalPlane

PAIRS = {  # column of the walls: what one building's assessment calls it
    "wall_annual_index": lambda one: one.wall_annual_index,
    "wall_spell_index": lambda one: one.wall_spell_index,
    "wall_spell_index_in_the_open": lambda one: one.wall_spell_index_in_the_open,
    "annual_low": lambda one: one.annual_band[0],
    "annual_high": lambda one: one.annual_band[1],
    "spell_low": lambda one: one.spell_band[0],
    "spell_high": lambda one: one.spell_band[1],
    "length": lambda one: one.wall.length,
    "height": lambda one: one.wall.height,
    "facing": lambda one: one.wall.orientation,
}
WORDS = {
    "class": lambda one: one.exposure_class,
    "class_in_words": lambda one: one.in_words,
    "class_in_the_open": lambda one: one.class_in_the_open,
    "class_any_rain": lambda one: one.class_any_rain,
    "class_for_details": lambda one: one.class_for_details,
    "shape": lambda one: one.wall.shape,
}


@pytest.fixture(scope="session")
def six_years():
    return weather(years=6)


@pytest.fixture(scope="session")
def houses(tmp_path_factory):
    """The invented island's houses in one file, some with ground of their own, and a low house behind a long block."""
    table = house_footprints()
    plane = LocalPlane(latitude=48.5, longitude=-29.5)
    for name, box, told in (
        ("Low House", (-6, -4, 6, 4), {"height": 4, "storeys": 1, "roof": "flat"}),
        ("Long Block", (-100, -40, 100, -24), {"height": 9, "storeys": 3, "roof": "flat"}),
    ):
        shape = {"type": "Polygon", "coordinates": [ring(plane, *box)]}
        table["features"].append({"type": "Feature", "geometry": shape, "properties": {"name": name, **told}})
    for number, one in enumerate(table["features"]):
        if number % 3 == 0:
            one["properties"]["terrain"] = "III"
    path = tmp_path_factory.mktemp("town") / "houses.geojson"
    path.write_text(json.dumps(table))
    return path


@pytest.fixture(scope="session")
def few(houses, tmp_path_factory):
    """A few of them, far apart."""
    table = json.loads(houses.read_text())
    table["features"] = [one for one in table["features"] if one["properties"]["name"] in FEW]
    path = tmp_path_factory.mktemp("few") / "few.geojson"
    path.write_text(json.dumps(table))
    return path


FEW = ("Wrack House", "Fold Farm", "1 Salt Row", "3 Bay Lane", "4 Bay Lane", "Low House", "Long Block")


@pytest.fixture(scope="session")
def town(houses, six_years, tmp_path_factory):
    return assess_district(houses, six_years, keep=tmp_path_factory.mktemp("kept"))


def ring(plane, west, south, east, north):
    box = shapely.get_coordinates(shapely.box(west, south, east, north))
    return np.column_stack(plane.to_crs(box[:, 0], box[:, 1], crs="EPSG:4326")).tolist()


def agrees(district, path, name, climate, **around):
    """Every figure of one building of the town against the same building assessed alone."""
    surveyed = survey_building(path, name=name, neighbours=path, **around)
    alone = assess_building(climate, surveyed.building, surveyed.site)
    house = district.buildings[district.buildings["name"] == name].iloc[0]
    mine = district.walls[district.walls["building"] == house["building"]].set_index("wall")
    assert sorted(mine.index) == sorted(one.wall.name for one in alone.elevations)
    told = elevation_pressures(climate, alone)
    pressures = {one.wall.name: each for one, each in zip(alone.elevations, told, strict=True)}
    for one in alone.elevations:
        row = mine.loc[one.wall.name]
        for column, of in PAIRS.items():
            if one.spell_band is None and column.endswith(("_low", "_high")):
                assert np.isnan(row[column])
                continue
            assert row[column] == pytest.approx(of(one), rel=1e-9, abs=1e-9), (name, one.wall.name, column)
        assert {key: row[key] for key in WORDS} == {key: of(one) for key, of in WORDS.items()}
        pressure = pressures[one.wall.name]
        levels = find_levels(one.class_for_details, pressure, Circumstances())
        assert not levels.raised  # what a schedule adds for reasons of its own is not in a town's figures
        assert [row["level"], row["pressure_level"]] == [levels.wetness, levels.pressure]
        assert row["beyond_the_ladder"] == levels.beyond
        found = [row[f"pressure_{what}"] for what in ("any_direction", "facing", "for_details")]
        expected = [pressure.any_direction, pressure.facing, levels.pressure_for_details]
        assert found == pytest.approx(expected, rel=1e-9)
        factors = [row[factor.name] for factor in one.factors]
        assert factors == pytest.approx([factor.value for factor in one.factors], rel=1e-12)
    assert house["worst"] == alone.worst.wall.name
    return alone


@pytest.mark.parametrize(
    "name", ["Wrack House", "3 Bay Lane", "14 Salt Row", "2 Quay Terrace", "Boat Store", "Low House"]
)
def test_each_building_of_a_town_has_the_figures_it_has_alone(town, houses, six_years, name):
    agrees(town, houses, name, six_years)


def test_neighbours_of_the_file_shelter_and_party_walls_are_left_out(town):
    low = town.buildings.set_index("name").loc["Low House", "building"]
    walls = town.walls[town.walls["building"] == low].set_index("wall")
    # by hand: the block fills the south wall's whole view at 20 m, of the table's 15 to 25 m; nothing stands elsewhere
    assert walls["obstruction_factor"].to_dict() == {"south": 0.4, "east": 1, "north": 1, "west": 1}
    terrace = town.buildings.set_index("name").loc["4 Quay Terrace"]
    assert terrace["walls"] == 2  # front and back: by the recipe its sides stand against the next
    ends = town.buildings.set_index("name").loc["1 Quay Terrace"]
    assert ends["walls"] == 3


def test_each_building_takes_its_own_cell_of_a_grid(few, tmp_path):
    hours = pd.date_range("2001-01-01T01", "2002-01-01T00", freq="h")
    chance = np.random.default_rng(2)
    axes = {"time": hours, "latitude": [48.35, 48.45, 48.55], "longitude": [-29.9, -29.7, -29.5, -29.3]}
    size = (hours.size, 3, 4)
    dims = ("time", "latitude", "longitude")
    grid = xr.Dataset(
        {
            "u10": (dims, chance.normal(4, 4, size), {"units": "m s**-1"}),
            "v10": (dims, chance.normal(3, 4, size), {"units": "m s**-1"}),
            "tp": (
                dims,
                np.where(chance.random(size) < 0.1, chance.gamma(1, 1e-3, size), 0.0),
                {"units": "m"},
            ),
        },
        axes,
        {"kind": "model", "source": "made in a test", "licence": "none"},
    )
    path = tmp_path / "grid.nc"
    grid.to_netcdf(path)
    found = assess_district(few, GridWeather(str(path)))
    assert len(found.records) == 3
    for name in ("Wrack House", "Fold Farm", "Low House"):
        house = found.buildings.set_index("name").loc[name]
        climate = exposure.open_climate(str(path), at=(house["latitude"], house["longitude"]))
        agrees(found, few, name, climate)
    near = xr.open_dataset(path).isel(latitude=slice(0, 2)).drop_encoding()
    near.to_netcdf(tmp_path / "near.nc")
    fewer = assess_district(few, GridWeather(str(tmp_path / "near.nc")))
    assert "1 Salt Row" in {one.name for one in fewer.left_out if "outside the grid" in str(one.reason)}
    mine = fewer.walls[
        fewer.walls["building"] == found.buildings.set_index("name").loc["Fold Farm", "building"]
    ]
    assert mine["wall_spell_index"].tolist() == pytest.approx(
        found.walls.loc[found.walls["building"].isin(mine["building"]), "wall_spell_index"].tolist()
    )


def test_the_worst_wall_of_a_building_is_its_largest(town):
    largest = town.walls.groupby("building")["wall_spell_index"].max()
    assert town.buildings["wall_spell_index"].to_numpy() == pytest.approx(largest.to_numpy())


def test_what_holds_for_all_is_said_once_and_the_rest_by_building(town):
    assert has_doubt(town.flags, "site.hills_not_told")
    assert not any(has_doubt(one, "site.hills_not_told") for one in town.doubts)
    names = town.buildings["name"].tolist()
    assert has_doubt(town.doubts[names.index("3 Bay Lane")], "site.ground_not_told") != has_doubt(
        town.doubts[names.index("4 Bay Lane")], "site.ground_not_told"
    ) or not has_doubt(town.flags, "site.ground_not_told")


def test_a_second_run_takes_what_is_kept_and_a_changed_house_costs_its_tile_alone(
    few, six_years, tmp_path, monkeypatch
):
    first = assess_district(few, six_years, keep=tmp_path)
    worked = []
    real = run.tile_of
    monkeypatch.setattr(run, "tile_of", lambda *given: worked.append(given[1].size) or real(*given))
    again = assess_district(few, six_years, keep=tmp_path)
    assert worked == []
    assert again.walls.equals(first.walls)
    table = json.loads(few.read_text())
    table["features"][0]["properties"]["storeys"] = 3  # Wrack House; the others of its tile are near it
    other = tmp_path / "other.geojson"
    other.write_text(json.dumps(table))
    assess_district(other, six_years, keep=tmp_path)
    assert len(worked) >= 1
    assert sum(worked) < len(table["features"])
    for path in tmp_path.glob("tile-*.npz"):
        path.write_bytes(path.read_bytes()[:200])  # damaged: worked out again, and the same
    assert assess_district(few, six_years, keep=tmp_path).walls.equals(first.walls)


BAD = {  # outlines that are no building, and what is said of them
    "bow tie": ({"type": "Polygon", "coordinates": [[[8, 50], [8.0002, 50.0001], [8.0002, 50], [8, 50.0001], [8, 50]]]}, "not sound"),
    "empty": ({"type": "Polygon", "coordinates": []}, "empty"),
    "none": (None, "empty"),
    "line": ({"type": "LineString", "coordinates": [[8, 50], [8.001, 50]]}, "LineString"),
    "country": ({"type": "Polygon", "coordinates": [[[7, 49], [9, 49], [9, 51], [7, 51], [7, 49]]]}, "covers"),
    "metres": ({"type": "Polygon", "coordinates": [[[450000, 5540000], [450010, 5540000], [450010, 5540008], [450000, 5540000]]]}, "degrees"),
}  # fmt: skip


def test_bad_outlines_are_told_of_one_by_one_and_the_rest_goes_on(six_years, tmp_path):
    plane = LocalPlane(latitude=50.0, longitude=8.0)
    spots = {
        "good": ((0, 0, 12, 8), {"height": 6}),
        "two parts": (None, {"height": 6}),
        "tall": ((40, 0, 52, 8), {"height": "20 ft", "storeys": 2, "roof": "flat"}),
        "feet": ((80, 0, 92, 8), {"height": 20, "storeys": 2}),
        "below": ((120, 0, 132, 8), {"height": -6}),
        "unknown": ((160, 0, 172, 8), {}),
        "<script>alert(1)</script>": ((200, 0, 212, 8), {"height": 6}),
        "=1+1": ((240, 0, 252, 8), {"height": 6}),
        "again": ((0, 0, 12, 8.1), {"height": 6}),
        "inside": ((241, 1, 245, 5), {"height": 6}),
        "flat": ((280, 0, 292, 8), {"height": 6}),
    }
    features = []
    for name, (box, told) in spots.items():
        if box is None:
            shape = {
                "type": "MultiPolygon",
                "coordinates": [[ring(plane, -40, 0, -28, 8)], [ring(plane, -80, 0, -70, 8)]],
            }
        else:
            shape = {"type": "Polygon", "coordinates": [ring(plane, *box)]}
        if name == "flat":
            shape["coordinates"] = [[[*corner, 230.0] for corner in shape["coordinates"][0]]]  # 3D
        features.append({"type": "Feature", "geometry": shape, "properties": {"name": name, **told}})
    features += [
        {"type": "Feature", "geometry": shape, "properties": {"name": name, "height": 6}}
        for name, (shape, _) in BAD.items()
    ]
    path = tmp_path / "bad.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    found = assess_district(path, six_years)
    assert set(found.buildings["name"]) == {"good", "tall", "<script>alert(1)</script>", "=1+1", "flat"}
    why = {one.name: str(one.reason) for one in found.left_out}
    for name, (_, words) in BAD.items():
        assert words in why[name], name
    assert "2 parts" in why["two parts"]
    assert "m a storey" in why["feet"]
    assert "no height" in why["below"]
    assert "no height" in why["unknown"]
    assert "lies on building 1" in why["again"]
    assert "inside another" in why["inside"]
    assert len(found.buildings) + len(found.left_out) == len(features)
    assert [one.row for one in found.left_out] == sorted(one.row for one in found.left_out)
    tall = found.buildings.set_index("name").loc["tall"]
    assert tall["worst_height"] == pytest.approx(6.096)  # 20 feet
    filled = assess_district(path, six_years, default_height=6.0)
    assert {"below", "unknown"} <= set(filled.buildings["name"])
    at = filled.buildings["name"].tolist().index("unknown")
    assert has_doubt(filled.doubts[at], "district.height_assumed")
    with pytest.raises(RefusalError, match="no property 'hoehe'"):
        assess_district(path, six_years, height_column="hoehe")


def test_a_row_without_an_outline_is_left_out_of_a_geopackage_too(tmp_path):
    path = tmp_path / "town.gpkg"
    shapes = [None, shapely.box(8, 50, 8.0002, 50.0001)]
    geopandas.GeoDataFrame({"height": [6.0, 6.0]}, geometry=shapes, crs=4326).to_file(path)
    town = read_town(path)
    assert list(town.refused) == [0]
    assert "the footprint is empty" in str(town.refused[0])
    assert town.sound.tolist() == [1]
    assert np.isnan(town.middles[0]).all()
    assert town.middles[1] == pytest.approx([8.0001, 50.00005])  # the middle of the box


@pytest.mark.parametrize("delay", [0, 2])  # seconds: the line of progress was shown, or not yet
def test_a_refusal_stands_on_a_line_of_its_own(houses, six_years, tmp_path, capsys, monkeypatch, delay):
    monkeypatch.setattr(
        "exposure.cli.district_command.weather_of_places", lambda *_, **__: (six_years, None, None)
    )
    monkeypatch.setattr("exposure.cli.many_places.DELAY", delay)
    town = json.loads(houses.read_text("utf-8"))
    for one in town["features"]:
        one["properties"] = {"name": "tells no height"}
    flat = tmp_path / "flat.geojson"
    flat.write_text(json.dumps(town), "utf-8")
    given = ["district", str(flat), "--climate", "any", "--out", str(tmp_path / "out"), "--workers", "0"]
    assert main([*given, "--afresh"]) == 2
    lines = capsys.readouterr().err.splitlines()  # parted where the terminal begins a line anew, too
    assert lines[-1].startswith("Refused: ")
    assert any("district" in one for one in lines[:-1]) is (delay == 0)


def test_the_command_writes_layers_that_other_programs_read(houses, six_years, tmp_path, capsys, monkeypatch):
    import geopandas

    monkeypatch.setattr(
        "exposure.cli.district_command.weather_of_places", lambda *_, **__: (six_years, None, None)
    )
    monkeypatch.setenv("EXPOSURE_CACHE", str(tmp_path / "cache"))
    given = [
        "district",
        str(houses),
        "--climate",
        "any",
        "--out",
        str(tmp_path / "out"),
        "--workers",
        "0",
        "--squares",
        "1000",
    ]
    assert main(given) == 0
    told = capsys.readouterr().out
    assert "very severe" in told
    assert "Left out" not in told
    walls = geopandas.read_file(tmp_path / "out/district.gpkg", layer="walls")
    buildings = geopandas.read_file(tmp_path / "out/district.gpkg", layer="buildings")
    assert walls.crs.to_epsg() == buildings.crs.to_epsg() == 4326
    assert set(walls.geom_type) == {"LineString"}
    length = walls.to_crs(walls.estimate_utm_crs()).length  # by another projection: UTM, good to 4 in 10,000
    np.testing.assert_allclose(length, walls["length"], rtol=1e-3, atol=0.02)
    assert buildings["wall_spell_index"].max() == pytest.approx(walls["wall_spell_index"].max())
    parquet = geopandas.read_parquet(tmp_path / "out/walls.parquet")
    assert len(parquet) == len(walls)
    areas = geopandas.read_file(tmp_path / "out/district.gpkg", layer="areas")
    assert areas["walls"].sum() == len(walls)
    assert "of wall is severe or very severe" in (tmp_path / "out/shares.html").read_text()
    given = [str(tmp_path / "out"), str(tmp_path / "out"), "--out", str(tmp_path / "same")]
    assert main(["change", *given]) == 0
    assert "rise clearly on 0%" in capsys.readouterr().out
    same = geopandas.read_file(tmp_path / "same/change.gpkg", layer="change")
    assert same["spell_change"].abs().max() == 0
    assert same.geometry.iloc[0].equals(walls.geometry.iloc[0])
    text = (tmp_path / "out/walls.csv").read_text()
    assert text.count("\n") == len(walls) + 1


def test_shares_by_hand(town):
    # two walls of known class and length put into two areas, one empty: by hand
    walls = town.walls.iloc[:3].assign(
        building=[1, 1, 2], length=[6.0, 2.0, 12.0], area=[30.0, 10.0, 60.0],
    ).assign(**{"class": ["sheltered", "severe", "very severe"], "class_low": ["sheltered", "moderate", "severe"],
                "class_high": ["severe", "severe", "very severe"]})  # fmt: skip
    walls[["start_longitude", "start_latitude", "end_longitude", "end_latitude"]] = [
        [at, at, at + 1e-4, at] for at in (10.0, 10.1, 20.0)
    ]
    shapes = np.array([shapely.box(9, 9, 11, 11), shapely.box(30, 30, 31, 31)])
    found = shares_of(dataclasses.replace(town, walls=walls), Areas(("west", "nowhere"), shapes, "made up"))
    whole, west, nowhere = (row for _, row in found.table.iterrows())
    assert (whole["walls"], whole["length"], whole["hard"]) == (3, 20.0, 14 / 20)
    assert (whole["hard_low"], whole["hard_high"]) == (12 / 20, 20 / 20)
    assert (west["buildings"], west["walls"], west["length_severe"], west["share_sheltered"]) == (
        1,
        2,
        2.0,
        6 / 8,
    )
    assert (west["wall_area"], west["area_severe"]) == (40.0, 10.0)
    assert nowhere["walls"] == 0
    assert np.isnan(nowhere["hard"])
    assert has_doubt(found.flags, "district.walls_outside")
    page = shares_html(town, found, title="<i>Shares</i>")
    assert "&lt;i&gt;Shares" in page
    assert "70% of 20 m of wall is severe or very severe" in page
    twice = Areas(("a", "b"), np.array([shapes[0], shapes[0]]), "made up")
    assert has_doubt(shares_of(dataclasses.replace(town, walls=walls), twice).flags, "district.areas_overlap")


def test_squares_hold_every_wall_once(town):
    squares = squares_over(town.walls, 400.0)
    table = shares_of(town, squares).table
    assert table["walls"].iloc[1:].sum() == table["walls"].iloc[0] == len(town.walls)
    assert (table["length"] > 0).all()
    with pytest.raises(RefusalError, match="side of the squares"):
        squares_over(town.walls, 5.0)


@pytest.mark.slow
def test_the_bars_stand_under_the_answer_on_the_first_sheet(town):
    import pypdfium2

    from exposure.paper.pdf import sheet_pdf

    squares = squares_over(town.walls, 60.0)
    assert len(squares.names) >= 23  # as many bars as are drawn
    sheets = pypdfium2.PdfDocument(sheet_pdf(shares_html(town, shares_of(town, squares), title="Town")))
    first = sheets[0].get_textpage().get_text_bounded()
    assert "is severe or very severe" in first
    assert "100 %" in first  # at the foot of the bars


def test_no_area_is_called_the_hardest_where_none_is_hard(town):
    from exposure.paper.district_page import answer

    mild = {name: "sheltered" for name in ("class", "class_low", "class_high")}
    shares = shares_of(
        dataclasses.replace(town, walls=town.walls.assign(**mild)), squares_over(town.walls, 400.0)
    )
    assert answer(shares).startswith("0% of ")
    assert "The largest share" not in answer(shares)
    assert "The largest share" in answer(shares_of(town, squares_over(town.walls, 400.0)))


def test_the_map_holds_every_wall_asks_nothing_and_keeps_names_as_text(town):
    from exposure.map.district_map import draw_district_map, map_data

    nasty = "</script><img src=x onerror=alert(1)>{{7*7}}"
    houses = town.buildings.assign(name=[nasty, *town.buildings["name"][1:]])
    page = draw_district_map(dataclasses.replace(town, buildings=houses), title=nasty)
    assert nasty not in page
    assert "onerror=alert(1)>" not in page
    held = json.loads(re.search(r'id="data">(.*?)</script>', page)[1])
    assert held["houses"]["name"][0].startswith(
        "</script><img src=x"
    )  # as text in data, which the script never runs
    assert len(held["walls"]["class"]) == len(town.walls) == sum(held["houses"]["walls"])
    assert not re.findall(r"(?:src|href)=[\"']?(?:https?:)?//", page.split("<script>")[0])
    data = map_data(town)
    first = np.array(data["walls"]["at"][:2]) * data["grain"] + data["middle"]
    start = town.walls[["start_longitude", "start_latitude"]].iloc[0]
    np.testing.assert_allclose(first, start, atol=1e-6)


@pytest.mark.browser
def test_a_click_on_a_wall_tells_its_building(town, tmp_path, browser):
    from exposure.map.district_map import draw_district_map

    path = tmp_path / "town.html"
    path.write_text(draw_district_map(town, title="Town"), encoding="utf-8")
    page = browser.new_page()
    asked, errors = [], []
    page.on("request", lambda one: asked.append(one.url))
    page.on("pageerror", lambda one: errors.append(str(one)))
    page.goto(path.as_uri())
    house = int(town.buildings["wall_spell_index"].argmax())
    page.click("#worst button")
    assert page.text_content("#house h2") == town.buildings["name"].iloc[house]
    wall = int(np.flatnonzero(town.walls["building"] == town.buildings["building"].iloc[house])[0])
    spot = page.evaluate(
        "(w) => { const d = JSON.parse(document.getElementById('data').textContent), a = d.walls.at;"
        "const p = exposureTown.map.latLngToContainerPoint([d.middle[1] + (a[4*w+1] + a[4*w+3]) / 2 * d.grain,"
        " d.middle[0] + (a[4*w] + a[4*w+2]) / 2 * d.grain]); return [p.x, p.y]; }",
        wall,
    )
    page.click("#told button >> nth=-1")
    box = page.locator("#map").bounding_box()
    page.mouse.click(box["x"] + spot[0], box["y"] + spot[1])
    assert page.text_content("#house h2") == town.buildings["name"].iloc[house]
    assert town.walls["wall"].iloc[wall] in page.text_content("#told tbody")
    assert not errors
    assert all(one.startswith("file:") or one.startswith("data:") for one in asked)
    page.close()


@pytest.mark.slow
def test_fifty_real_buildings_have_the_figures_they_have_alone(shared_data, six_years, tmp_path):
    # footprints: OpenStreetMap contributors, ODbL; heights, which they do not tell, drawn here
    geopandas = pytest.importorskip("geopandas")
    source = shared_data / "bubenec_buildings.gpkg"
    if not source.is_file():  # not free to keep here; the invented town is tested above, always
        pytest.skip(f"{source.name} is not among the extra data")
    frame = geopandas.read_file(source)
    chance = np.random.default_rng(7)
    storeys = chance.integers(2, 8, len(frame))
    frame = frame.assign(
        name=[f"house {number}" for number in range(len(frame))],
        storeys=storeys,
        height=np.round(3.1 * storeys, 1),
        roof=chance.choice(["flat", "gable", "hip"], len(frame)),
        terrain="III",
    )
    path = tmp_path / "real.gpkg"
    frame.to_file(path, layer="building", driver="GPKG")
    found = assess_district(path, six_years)
    assert len(found.buildings) + len(found.left_out) == len(frame) == 144
    assert (found.walls["obstruction_factor"] < 1).any()
    for name in chance.choice(found.buildings["name"], 50, replace=False):
        agrees(found, path, name, six_years)


def test_ground_and_cover_are_taken_as_one_building_takes_them(few, six_years, tmp_path):
    """A tile reads its rasters once; each building's factors are those of its own cut."""
    rasterio = pytest.importorskip("rasterio")
    chance = np.random.default_rng(5)
    west, south, east, north = -30.2, 48.0, -28.9, 48.9
    x, y = np.meshgrid(np.linspace(0, 9, 1300), np.linspace(0, 9, 900))
    hills = (60 * np.sin(40 * x) * np.cos(33 * y) + 80).astype("float32")
    land = chance.choice([10, 30, 50, 80], (90, 130)).repeat(10, 0).repeat(10, 1).astype("uint8")
    paths = {}
    for name, values in (("ground", hills), ("cover", land)):
        paths[name] = tmp_path / f"{name}.tif"
        told = rasterio.transform.from_bounds(west, south, east, north, 1300, 900)
        with rasterio.open(
            paths[name], "w", driver="GTiff", width=1300, height=900, count=1, dtype=values.dtype, crs="EPSG:4326",
            transform=told,
        ) as file:  # fmt: skip
            file.write(values, 1)
    found = assess_district(few, six_years, **paths)
    assert (found.walls["topography_coefficient"] > 1.02).any()
    assert found.buildings["ground_height"].between(19, 141).all()
    for name in ("3 Bay Lane", "Low House"):
        agrees(found, few, name, six_years, **paths)


def test_heights_come_from_a_raster_where_nobody_tells_them(few, six_years, tmp_path):
    rasterio = pytest.importorskip("rasterio")
    table = json.loads(few.read_text())
    for one in table["features"]:
        if one["properties"]["name"] in ("Low House", "Long Block"):
            del one["properties"]["height"], one["properties"]["storeys"]
    path = tmp_path / "untold.geojson"
    path.write_text(json.dumps(table))
    plane = LocalPlane(latitude=48.5, longitude=-29.5)  # the low house stands round its middle
    x, y = np.meshgrid(np.arange(-149.5, 150), np.arange(149.5, -150, -1))  # pixels of a metre
    tall = np.where((np.abs(x) < 6) & (np.abs(y) < 4), 5.0, 0.0)
    tall[(np.abs(x) < 0.6) & (np.abs(y) < 0.6)] = 30.0  # a chimney
    raster = tmp_path / "heights.tif"
    with rasterio.open(
        raster, "w", driver="GTiff", width=300, height=300, count=1, dtype="float32", crs=plane.definition,
        transform=rasterio.transform.from_origin(-150, 150, 1, 1),
    ) as file:  # fmt: skip
        file.write(tall.astype("float32"), 1)
    found = assess_district(path, six_years, heights=raster)
    # by hand: flat and 5 m tall, its chimney left aside; nothing stands over the block, so its height stays untold
    assert found.buildings.set_index("name").loc["Low House", "worst_height"] == 5.0
    assert "Long Block" in {one.name for one in found.left_out}
    assert has_doubt(found.flags, "district.heights_measured")


def test_a_run_that_is_stopped_keeps_its_tiles(few, six_years, tmp_path, monkeypatch):
    def stop(_share, words):
        if words.startswith("1 of"):
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        assess_district(few, six_years, keep=tmp_path, tell=stop)
    assert len(list(tmp_path.glob("tile-*.npz"))) == 1
    assert not list(tmp_path.glob(".*"))
    worked = []
    real = run.tile_of
    monkeypatch.setattr(run, "tile_of", lambda *given: worked.append(1) or real(*given))
    found = assess_district(few, six_years, keep=tmp_path)
    assert len(worked) == len(list(tmp_path.glob("tile-*.npz"))) - 1
    assert len(found.buildings) == len(FEW)


def test_a_cluster_gives_the_same_bits_and_a_lost_one_keeps_what_is_finished(
    few, six_years, tmp_path, monkeypatch
):
    distributed = pytest.importorskip("distributed")
    here = assess_district(few, six_years)
    with (
        distributed.LocalCluster(
            n_workers=1, threads_per_worker=1, processes=False, dashboard_address=None, silence_logs=50
        ) as running,
        distributed.Client(running) as client,
    ):
        there = assess_district(few, six_years, dask=client)
        pd.testing.assert_frame_equal(there.walls, here.walls, check_exact=True)
        pd.testing.assert_frame_equal(there.buildings, here.buildings, check_exact=True)
        plain, done = run.tile_of, []

        def out_of_room_after_one(*given):
            if done:
                raise MemoryError("no room on this worker")
            done.append(plain(*given))
            return done[0]

        monkeypatch.setattr(run, "tile_of", out_of_room_after_one)
        with pytest.raises(RefusalError, match="the cluster failed") as refused:
            assess_district(few, six_years, dask=client, keep=tmp_path)
        assert "what was finished is kept" in refused.value.cure
    assert len(list(tmp_path.glob("tile-*"))) == 1
    monkeypatch.undo()
    pd.testing.assert_frame_equal(assess_district(few, six_years, keep=tmp_path).walls, here.walls)


def test_outlines_that_overlap_in_part_are_told_and_a_file_without_a_system_is_refused(six_years, tmp_path):
    import geopandas

    plane = LocalPlane(latitude=50.0, longitude=8.0)
    boxes = [(0, 0, 12, 8), (9, 2, 21, 10), (60, 0, 72, 8)]  # the first two share 3 m by 6 m
    shapes = [shapely.Polygon(ring(plane, *box)) for box in boxes]
    told = {"name": ["one", "two", "apart"], "height": 6.0, "storeys": 2}
    frame = geopandas.GeoDataFrame(told, geometry=shapes, crs="EPSG:4326")
    frame.to_file(tmp_path / "town.gpkg")
    found = assess_district(tmp_path / "town.gpkg", six_years)
    overlapped = [has_doubt(each, "district.overlapped") for each in found.doubts]
    assert dict(zip(found.buildings["name"], overlapped, strict=True)) == {
        "one": True,
        "two": True,
        "apart": False,
    }
    with pytest.warns(UserWarning, match="crs"):
        frame.set_crs(None, allow_override=True).to_file(tmp_path / "nowhere.gpkg")
    with pytest.raises(RefusalError, match="coordinate system"):
        assess_district(tmp_path / "nowhere.gpkg", six_years)


def weighed(town):
    """Two buildings of a town: the first with 8 m of wall in two parts, the second 12 m and no usable weight."""
    walls = town.walls.iloc[:4].assign(building=[1, 1, 2, 3], length=[6.0, 2.0, 12.0, 10.0]).assign(
        **{"class": ["sheltered", "severe", "very severe", "moderate"],
           "class_low": ["sheltered", "moderate", "severe", "sheltered"],
           "class_high": ["severe", "severe", "very severe", "severe"]})  # fmt: skip
    for k, at in enumerate((10.0, 20.0, 10.2, 10.3)):
        corners = ["start_longitude", "end_longitude", "start_latitude", "end_latitude"]
        walls.loc[walls.index[k], corners] = [at, at + 1e-4, at, at]
    houses = town.buildings.iloc[:3].assign(building=[1, 2, 3], weight=[40.0, np.nan, 10.0])
    return dataclasses.replace(town, walls=walls, buildings=houses, weight_column="<i>homes</i>")


def test_buildings_are_summed_by_a_weight_and_their_worst_wall_by_hand(town):
    shapes = np.array([shapely.box(9, 9, 11, 11), shapely.box(19, 19, 21, 21), shapely.box(0, 0, 1, 1)])
    mine = weighed(town)
    found = shares_of(mine, Areas(("west", "east", "nowhere"), shapes, "made up"))
    whole, west, east, nowhere = (row for _, row in found.table.iterrows())
    # by hand: 40 homes behind a severe wall, 10 behind a moderate one; the second building tells none
    assert (whole["weight"], whole["weight_severe"], whole["weight_moderate"]) == (50, 40, 10)
    assert (whole["weight_sheltered"], whole["weight_very_severe"], whole["weight_missing"]) == (0, 0, 1)
    # at the milder end its worst wall is moderate, at the harder end the third building's is severe too
    assert (whole["weight_hard"], whole["weight_hard_low"], whole["weight_hard_high"]) == (40 / 50, 0, 1)
    # the first building has 6 of its 8 m in the west: 30 of its homes count there, the other 10 in the east
    assert (west["weight"], west["weight_severe"], west["weight_missing"]) == pytest.approx((40, 30, 1))
    assert (east["weight"], east["weight_severe"], east["weight_missing"]) == pytest.approx((10, 10, 0))
    assert nowhere["weight"] == 0
    assert np.isnan(nowhere["weight_hard"])
    page = shares_html(mine, found, title="Shares")
    assert "<i>homes" not in page
    assert (
        "Of 50 &lt;i&gt;homes&lt;/i&gt;, 80% are in buildings whose worst wall is severe or very severe (0% to 100%); "
        "buildings left out because they tell none: 1." in page
    )
    assert "Each building counts whole in the class of its worst wall" in page


def test_weights_come_from_the_file_and_odd_ones_are_told_by_building(few, six_years, tmp_path):
    import geopandas

    from exposure.export.district_files import write_district

    table = json.loads(few.read_text())
    odd = [3, -2, None, "many", True, 1e300, "4.5"]
    for one, homes in zip(table["features"], odd, strict=True):
        one["properties"]["homes"] = homes
    path = tmp_path / "homes.geojson"
    path.write_text(json.dumps(table))
    found = assess_district(path, six_years, weight_column="homes")
    names = [one["properties"]["name"] for one in table["features"]]
    told = found.buildings.set_index("name")["weight"].loc[names].tolist()
    assert told[0] == 3
    assert told[6] == 4.5
    assert np.isnan(told[1:6]).all()
    of_name = dict(zip(found.buildings["name"], found.doubts, strict=True))
    assert [has_doubt(of_name[name], "district.no_weight") for name in names] == [False, *[True] * 5, False]
    assert has_doubt(found.flags, "district.weights_missing")
    assert not any("homes" in flag and "not used" in flag for flag in found.flags)
    write_district(tmp_path / "out", found, shares_of(found, squares_over(found.walls, 2000.0)))
    summed = pd.read_csv(tmp_path / "out/shares.csv")
    assert summed["weight"].iloc[0] == pytest.approx(7.5)  # by hand: 3 and 4.5
    assert summed["weight"].iloc[1:].sum() == pytest.approx(7.5, abs=1e-9)
    areas = geopandas.read_file(tmp_path / "out/district.gpkg", layer="areas")
    assert areas["weight"].sum() == pytest.approx(7.5, abs=1e-9)
    shares = json.loads((tmp_path / "out/district.json").read_text())["shares"]
    assert shares["weight"] == "homes"
    assert "worst wall" in shares["how_weighed"]
    assert (shares["areas"][0]["weight"], shares["areas"][0]["weight_missing"]) == (7.5, 5)
    with pytest.raises(RefusalError, match="no property 'flats'"):
        assess_district(path, six_years, weight_column="flats")
    with pytest.raises(RefusalError, match=r"no building of homes\.geojson tells a number"):
        assess_district(path, six_years, weight_column="name")


def drawn(town, walls):
    """The town with walls (start longitude and latitude, end, facing, length) of a building each, all severe."""
    made = pd.concat([town.walls.iloc[:1]] * len(walls), ignore_index=True)
    columns = ["start_longitude", "start_latitude", "end_longitude", "end_latitude", "facing", "length"]
    made[columns] = np.array(walls, dtype=float)
    made = made.assign(building=np.arange(1, len(walls) + 1), area=made["length"] * 5, **{"class": "severe"})
    return dataclasses.replace(town, walls=made)


def test_a_wall_over_an_edge_counts_by_its_length_on_each_side(town):
    west, east = shapely.box(9, 49, 10, 51), shapely.box(10, 49, 11, 51)
    walls = [
        (9.9999, 50.0, 10.0003, 50.0, 0, 8.0),  # a quarter of it west: 2 m, and its middle in the east
        (10.0, 50.1, 10.0, 50.2, 90, 5.0),  # along the edge, its building to the west
        (10.0, 50.3, 10.0, 50.4, 270, 7.0),  # and one to the east
        (10.9999, 50.5, 11.0001, 50.5, 0, 4.0),  # half of it in no area
    ]
    mine = drawn(town, walls)
    found = shares_of(mine, Areas(("west", "east"), np.array([west, east]), "made up"))
    table = found.table.set_index("area")
    assert table["length"].tolist() == pytest.approx([24, 2 + 5, 6 + 7 + 2], abs=1e-6)
    assert table["wall_area"].tolist() == pytest.approx([120, 35, 75], abs=1e-5)
    assert table["length_severe"].tolist() == pytest.approx(table["length"].tolist())
    assert table["walls"].tolist()[:2] == [4, 1]
    assert table["buildings"].tolist() == [4, 2, 3]
    assert [one.key for one in found.flags] == ["district.walls_outside"]
    assert found.flags[0].startswith("2 m of 1 walls")
    # a third area over the last metres of the east: 3 of the first wall's 8 m, and the 2 m of the last one, count twice
    over = shapely.union(shapely.box(10.00015, 49, 10.1, 50.05), shapely.box(10.5, 50.45, 12, 50.6))
    found = shares_of(mine, Areas(("west", "east", "over"), np.array([west, east, over]), "made up"))
    assert found.table["length"].iloc[3] == pytest.approx(3 + 4, abs=1e-6)
    assert [one.key for one in found.flags] == ["district.areas_overlap"]
    assert found.flags[0].startswith("Areas of made up overlap: 5 m of 2 walls")


def test_squares_add_up_to_the_whole_and_agree_with_the_same_squares_as_districts(town):
    squares = squares_over(town.walls, 25.0)
    table = shares_of(town, squares).table
    of_polygons = shares_of(town, dataclasses.replace(squares, pieces=None)).table
    sums = [name for name in table if name.startswith(("length", "area_", "wall_area", "walls"))]
    assert len(sums) > 10
    np.testing.assert_allclose(table[sums].iloc[1:].sum(), table[sums].iloc[0], rtol=1e-9, atol=1e-9)
    # second method: lines cut by polygons, whose edges run straight in degrees, by some tenths of a millimetre beside
    np.testing.assert_allclose(table["length"], of_polygons["length"], atol=2e-3)
    assert len(table) > 50


def test_walls_on_the_lines_and_corners_of_a_net_count_once():
    from exposure.district.pieces import cut_by_squares

    chance = np.random.default_rng(3)
    ends = chance.integers(-6, 7, (500, 2, 2)) / chance.choice([1, 2, 3], (500, 1, 1))
    ends = ends[np.any(ends[:, 0] != ends[:, 1], axis=1)]
    pieces, corners = cut_by_squares(ends)
    np.testing.assert_allclose(np.bincount(pieces.wall, pieces.part), 1, atol=1e-12)
    assert (np.bincount(pieces.wall, pieces.middle) == 1).all()
    spots = ends[pieces.wall, 0] + (ends[pieces.wall, 1] - ends[pieces.wall, 0]) * pieces.start[:, None]
    stops = ends[pieces.wall, 0] + (ends[pieces.wall, 1] - ends[pieces.wall, 0]) * pieces.end[:, None]
    inside = corners[pieces.area]
    for each in (spots, stops):  # every piece lies in its square
        assert (each >= inside - 1e-9).all()
        assert (each <= inside + 1 + 1e-9).all()
