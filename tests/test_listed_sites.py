"""The site, the weather and the progress of the rows of a list: each against a second way or sums by hand."""

import json
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
import rasterio
import shapely
import shapely.affinity
from affine import Affine
from builders import factors_of, place_of
from site_world import PLANE
from test_many_sites import WALL, grid, listed, weather
from test_site_footprint import geojson, in_degrees

from exposure.assess import compare_sites as comparing
from exposure.assess import site_group, site_weather
from exposure.assess.building import assess_building
from exposure.assess.compare_sites import compare_sites
from exposure.assess.from_files import survey_building
from exposure.assess.ranking import rank_sites, what_decides
from exposure.assess.reference_wall import (
    distances_seen,
    of_assessment,
    put_on_site,
    reference_building,
    reference_wall,
)
from exposure.assess.site_weather import GridWeather, OneRecord, close_grid, opened_grid, plain, whole
from exposure.checks import RefusalError
from exposure.climate.grid_cells import Cell
from exposure.climate.request import Request
from exposure.doubts import doubt, has_doubt
from exposure.rain.index import airfield_index, compass_orientations
from exposure.site.footprint import read_neighbours
from exposure.site.site_list import LeftOut, ListedSite, SiteList
from exposure.wall import Site

HERE = f"{PLANE.latitude},{PLANE.longitude}"


@pytest.fixture(scope="module")
def year():
    return weather(years=1)


def tiff(path, function, *, pixel, reach, kind):
    axis = np.arange(-reach + pixel / 2, reach, pixel)
    east, north = np.meshgrid(axis, -axis)
    with rasterio.open(
        path, "w", driver="GTiff", width=axis.size, height=axis.size, count=1, dtype=kind, crs=PLANE.definition,
        transform=Affine(pixel, 0, -reach, 0, -pixel, reach),
    ) as file:  # fmt: skip
        file.write(np.asarray(function(east, north), kind), 1)
    return path


@pytest.fixture(scope="module")
def maps(tmp_path_factory):
    """A cliff over the sea to the west, houses without heights near by, a town of tall blocks to the east."""
    folder = tmp_path_factory.mktemp("maps")
    blocks = [shapely.box(x, y, x + 90, y + 90) for x in range(300, 900, 100) for y in range(-300, 300, 100)]
    low = [shapely.box(-3, -30, 3, -24), shapely.box(-40, 15, 40, 25)]
    told = [{"height": 20.0}] * len(blocks) + [{}, {"height": 9.0}]
    return {
        "ground": tiff(
            folder / "ground.tif", lambda x, y: np.where(x > -60, 60.0, 0.0), pixel=20, reach=6000, kind="float32"
        ),
        "cover": tiff(
            folder / "cover.tif", lambda x, y: np.where(x < -60, 80, np.where(x > 250, 50, 30)),
            pixel=50, reach=15_500, kind="uint8",
        ),
        "neighbours": geojson(
            folder / "around.geojson", *(in_degrees(one) for one in (*blocks, *low)), properties=told
        ),
    }  # fmt: skip


def test_a_listed_site_is_surveyed_as_a_house_there_is(maps, year):
    # a second way: a house of the wall's height surveyed from its own words with the same maps
    (one,) = compare_sites(listed(f"name,lat,lon\nBay,{HERE}\n"), OneRecord(year), wall=WALL, **maps).sites
    words = {
        "name": "House", "height": WALL.height, "storeys": 2, "roof": "flat",
        "place": {"latitude": PLANE.latitude, "longitude": PLANE.longitude},
        "footprint": {"length": 10, "width": 8, "bearing": 90},
    }  # fmt: skip
    house = survey_building(words, **maps)
    for name in ("latitude", "longitude", "categories", "hill_coefficients", "ground_height", "sea_distance"):
        assert getattr(one.site, name) == getattr(house.site, name), name
    assert {"I", "IV"} <= set(one.site.categories)  # the sea, and a town that heights prove
    assert max(one.site.hill_coefficients) > 1.1
    assert set(one.site.flags) == set(house.flags) - set(house.place.notes)
    assert one.site.flags[: len(house.neighbours.flags)] == house.neighbours.flags
    # 15 m to the row in the north less half the depth; to the south a house of no known height, too low to count
    around = read_neighbours(maps["neighbours"], PLANE, own=shapely.Polygon())
    seen = distances_seen(WALL, around, plane=PLANE, ground=None)
    assert seen[0] == pytest.approx(11.0, abs=0.1)
    assert seen[6] is None
    assert one.product[0] / one.product[6] < 0.6  # and the list's wall takes it


@pytest.mark.parametrize("way", [0, 3, 6, 9])
def test_what_stands_within_seven_metres_of_the_position_is_the_house_itself(tmp_path, way):
    def seen(away):
        row = shapely.affinity.rotate(shapely.box(-30, away, 30, away + 6), -30 * way, origin=(0, 0))
        path = geojson(tmp_path / "a.geojson", in_degrees(row), properties=[{"height": 9.0}])
        around = read_neighbours(path, PLANE, own=shapely.Polygon())
        return distances_seen(WALL, around, plane=PLANE, ground=None)[way]

    assert seen(6.9) is None
    assert seen(7.1) == pytest.approx(3.1, abs=0.06)  # from the face, 4 m before the position


def test_what_a_site_was_surveyed_to_is_kept_by_all_that_it_depends_on(tmp_path, monkeypatch, year):
    made = []

    def surveyed(place, *, height, **_):
        made.append((place.plane.latitude, place.plane.longitude, place.terrain, height))
        return Site(
            "", 48.0, -29.0, terrain=("II",) * 12, topography=(1.0,) * 12, ground_height=float(len(made))
        )

    monkeypatch.setattr(site_group, "survey_site", surveyed)
    monkeypatch.setattr(site_group, "read_ground", lambda *_, **__: None)
    monkeypatch.setattr(site_group, "read_cover", lambda *_, **__: None)
    monkeypatch.setattr(site_group, "read_neighbours", lambda *_, **__: None)
    rows = listed(
        "name,lat,lon,terrain,wall\nA,48,-29,II,\nB,48.1,-29,II,\nC,48,-29.1,II,\nD,48,-29,III,\n"
        "E,48,-29,II,three-storey gable\nF,48,-29,II,\n"
    )
    paths = {name: tmp_path / name for name in ("ground", "cover", "neighbours")}
    for path in paths.values():
        path.write_text("as it is")
    keep = tmp_path / "kept"

    def heights(**more):
        found = compare_sites(rows, OneRecord(year), wall=WALL, **more).sites
        return [one.site.ground_height for one in sorted(found, key=lambda one: one.row)]

    assert heights(ground=paths["ground"], keep=keep) == [1, 2, 3, 4, 5, 1]
    assert made[4] == (48.0, -29.0, {str(30 * k): "II" for k in range(12)}, 8.4)
    assert heights(ground=paths["ground"], keep=keep) == [1, 2, 3, 4, 5, 1]  # kept
    for name, path in paths.items():
        before = len(made)
        heights(**{name: path}, keep=keep)
        path.write_text("something else")
        heights(**{name: path}, keep=keep)
        assert len(made) == before + (5 if name == "ground" else 10)
    files = len(list(keep.iterdir()))
    before = len(made)
    heights(keep=keep)  # without maps there is nothing worth keeping
    assert (len(made), len(list(keep.iterdir()))) == (before + 6, files)


def test_heights_a_list_tells_are_held_against_the_map_and_the_limit_of_the_method(monkeypatch, year):
    there = Site("", 48.0, -29.0, terrain=("II",) * 12, topography=(1.0,) * 12, ground_height=100.0)
    monkeypatch.setattr(site_group, "survey_site", lambda *_, **__: there)
    found = compare_sites(
        listed("name,lat,lon,ground_height\nLow,48,-29,20\nHigh,48,-29,2000\n"), OneRecord(year), wall=WALL
    )
    low, high = sorted(found.sites, key=lambda one: one.row)
    (told,) = [one for one in low.flags if getattr(one, "key", "") == "assess.listed_height"]
    assert (told.subject, told.numbers) == ("Low", {"listed": 20.0, "raster": 100.0})
    assert has_doubt(high.flags, "site.high_ground")
    assert not has_doubt(low.flags, "site.high_ground")


def test_a_place_says_where_its_weather_comes_from(tmp_path):
    # a tenth of a degree is 11.12 km to the north and, at 47.55 degrees, 0.675 of it to the east: 13.4 km
    path = grid(tmp_path / "grid.nc", [weather(seed, years=1) for seed in (1, 2, 3, 4)])
    rows = listed("name,lat,lon,terrain\nA,47.6,-29.4,II\nFar,10,10,II\n")
    told = []
    found = compare_sites(rows, GridWeather(path), wall=WALL, tell=lambda *one: told.append(one))
    assert found.sites[0].weather == "made up (grid.nc), cell 47.5, -29.5, 13.4 km away"
    assert [share for share, _ in told] == sorted(share for share, _ in told)
    assert told[-1] == (1.0, "1 of 2 sites.")
    assert (0.0, "Reading the grid.") in told


def test_the_index_of_a_cell_is_kept_by_all_that_it_depends_on(tmp_path, monkeypatch, year):
    path, read = tmp_path / "grid", []
    path.write_text("as it is")

    def opened(given):
        def one(cell):
            read.append(cell)
            return year.assign_attrs(kind=given.request.kind or "gauge", flags=["Of the cell."])

        names = SimpleNamespace(grid_kind="turned")
        return SimpleNamespace(find=lambda at: Cell(3, 4, *at), read=one, cell_bytes=1, names=names)

    for room in (site_group, comparing):
        monkeypatch.setattr(room, "opened_grid", opened)
    rows = listed("name,lat,lon,terrain\nA,47.6,-29.4,II\n")

    def once(*, wet_hour=None, **told):
        given = {"wall": WALL, "keep": tmp_path / "kept", "wet_hour": wet_hour}
        return compare_sites(rows, GridWeather(path, **told), **given).sites[0]

    first, again = once(), once()
    assert read == [(3, 4, 47.6, -29.4)]
    assert (first.flags, first.weather, first.value) == (again.flags, again.weather, again.value)
    assert once(wet_hour=2.0).wet_hour == 2.0
    said = once(flags=("Of all cells.",)).flags
    assert said.index("Of all cells.") < said.index("Of the cell.")
    assert "Of all cells." not in first.flags
    assert once(request=Request(kind="model")).kind == "model"
    path.write_text("something else")
    once()
    assert len(read) == 5


def test_twenty_sites_are_worked_out_eight_by_eight(year):
    # a stop waits for no more than eight; more than eight may go to processes of their own
    rows = "".join(f"S{n},48,{-29 - n / 100},II\n" for n in range(20))
    told = []
    found = compare_sites(
        listed("name,lat,lon,terrain\n" + rows),
        OneRecord(year),
        wall=WALL,
        tell=lambda *one: told.append(one),
    )
    eight, sixteen, all_ = (0.4, "8 of 20 sites."), (0.8, "16 of 20 sites."), (1.0, "20 of 20 sites.")
    assert told == [
        (0.0, "Finding the weather of each site."), (0.0, "20 sites."), eight, eight, sixteen, sixteen, all_,
    ]  # fmt: skip
    assert sorted(one.name for one in found.sites) == sorted(f"S{n}" for n in range(20))
    assert [one.row for one in found.sites] == list(
        range(2, 22)
    )  # equal places stand in the order of the list


def test_sites_with_and_without_a_record_of_their_own_come_back_in_the_order_of_the_list(
    tmp_path, monkeypatch, year
):
    opened = []
    monkeypatch.setattr(
        site_group, "open_climate", lambda source, **told: (opened.append((source, told)), year)[1]
    )
    ground = {"latitude": 48.0, "longitude": -29.0, "terrain": ("II",) * 12}
    one, two = (str(tmp_path / name) for name in ("one.csv", "two.csv"))
    sites = (
        ListedSite(2, "A", **ground, record=one), ListedSite(4, "B", **ground), ListedSite(5, "C", **ground, record=two),
        ListedSite(6, "D", **ground, wall="castle"), ListedSite(7, "E", **ground, record=one),
        ListedSite(8, "F", **ground, record=two, wall="two-storey, flat roof"),
    )  # fmt: skip
    rows = SiteList(sites, (LeftOut(9, "Z", RefusalError("a", "b", "c")), LeftOut(3, "Y", RefusalError("a", "b", "c"))), ("Read.",))  # fmt: skip
    found = compare_sites(rows, OneRecord(year), wall=WALL, told={"stamp": "end"})
    assert [one.row for one in found.sites] == [
        2,
        4,
        5,
        7,
        8,
    ]  # alike, so in the order of the list; the flat roof last
    assert [(one.row, one.name) for one in found.left_out] == [(3, "Y"), (6, "D"), (9, "Z")]
    assert opened == [(one, {"stamp": "end"}), (two, {"stamp": "end"})]
    assert found.notes[0] == "Read."
    assert found.sites[-1].wall.shape == "two-storey, flat roof"
    assert found.wall is WALL
    alone = compare_sites(SiteList((sites[0], sites[1]), (), ()), None, wall=WALL)
    assert [one.name for one in alone.sites] == ["A"]
    assert "row 4 names no record" in alone.left_out[0].reason.came
    assert alone.left_out[0].reason.parameter == "climate"
    with pytest.raises(
        RefusalError, match="none of the 1 sites can be used; row 4: row 4 names no record"
    ) as told:
        compare_sites(SiteList(sites[1:2], (), ()), None, wall=WALL)
    assert told.value.parameter == "climate"


@pytest.mark.parametrize(("sites", "used"), [(8, 0), (9, 3)])
def test_few_sites_are_worked_out_here(monkeypatch, year, sites, used):
    asked = []

    def here(function, jobs, *, workers, look):
        asked.append(workers)
        return map(function, jobs)

    monkeypatch.setattr(comparing, "results_of", here)
    rows = "".join(f"S{n},48,-29,II\n" for n in range(sites))
    compare_sites(listed("name,lat,lon,terrain\n" + rows), OneRecord(year), wall=WALL, workers=3)
    assert asked == [used]


def test_what_is_told_of_the_house_a_wall_belongs_to(maps, year):
    found = compare_sites(
        listed(f"name,lat,lon,terrain\nBay,{HERE},II\n"),
        OneRecord(year),
        wall=WALL,
        neighbours=maps["neighbours"],
    )
    (told,) = [one for one in found.notes if getattr(one, "key", "") == "assess.neighbours_in_comparison"]
    assert (told.subject, told.numbers) == ("around.geojson", {"length": 10.0, "depth": 8.0, "itself": 7.0})


class Grid:
    """Stands in for a grid: what it was opened with, what was gathered, and whether it was let go."""

    names = SimpleNamespace(grid_kind="regular")

    def __init__(self, *given):
        self.given, self.closed, self.gathered, self.used = given, 0, [], []

    def use(self, room):
        self.used.append(str(room))

    def gather(self, cells, room, tell):
        self.gathered.append((cells, room, tell))

    def close(self):
        self.closed += 1


def test_a_grid_is_opened_once_and_let_go_for_another(monkeypatch):
    close_grid()
    monkeypatch.setattr(site_weather, "GridCells", Grid)
    one = GridWeather("a")
    first = opened_grid(one)
    assert opened_grid(one) is first
    assert (first.given, first.closed) == (("a", Request()), 0)
    for room in ("room", "room", "other room"):  # cells that were gathered are taken without opening it again
        assert opened_grid(GridWeather("a", gathered=room)) is first
    assert first.used == ["room", "other room"]
    for other in (GridWeather("b"), GridWeather("a", Request(kind="model"))):
        before = opened_grid(one)
        after = opened_grid(other)
        assert after is not before
        assert (before.closed, after.closed) == (1, 0)
        assert after.given == (other.source, other.request)
    close_grid()
    close_grid()  # nothing is open: nothing to close
    assert after.closed == 1
    assert opened_grid(one) is not before
    close_grid()


def test_cells_whose_index_is_not_kept_are_read_in_one_pass(monkeypatch, tmp_path):
    grid_ = Grid()
    monkeypatch.setattr(site_group, "opened_grid", lambda _: grid_)
    cells = [Cell(row, 0, 48.0, -29.0) for row in range(3)]
    job = site_group.SiteGroup(
        (), one := GridWeather("g"), None, None, WALL, None, None, None, "kept", ("m", "")
    )
    jobs = [job._replace(cell=cells[k]) for k in (1, 0, 1, 2)]
    monkeypatch.setattr(
        site_group, "is_kept", lambda keep, key: (keep, key) == ("kept", ("index", "m", 2, 0))
    )

    def tell(_share):
        return None

    ready = site_group.with_weather(jobs, tmp_path, tell)
    assert grid_.gathered == [([cells[1], cells[0]], tmp_path, tell)]
    assert ready == [mine._replace(weather=one._replace(gathered=str(tmp_path))) for mine in jobs]
    assert site_group.with_weather(jobs[3:], tmp_path, tell) == jobs[3:]  # all kept
    grid_.names = SimpleNamespace(grid_kind="turned")  # read cell by cell
    assert site_group.with_weather(jobs, tmp_path, tell) == jobs
    bare = [job._replace(weather=None)]
    assert site_group.with_weather(bare, tmp_path, tell) == bare
    assert site_group.with_weather([], tmp_path, tell) == []
    assert len(grid_.gathered) == 1


def test_attributes_travel_as_plain_words_and_their_doubts_come_back():
    told = {"kind": "model", 7: np.float32(1.5), "flags": [doubt("rain.few_years", years="3 years count", needed=10), "Plain."]}  # fmt: skip
    sent = plain(told)
    assert json.loads(json.dumps(sent)) == sent
    back = whole(sent)
    assert (back["kind"], back["7"], back["flags"]) == ("model", 1.5, told["flags"])
    assert (back["flags"][0].key, back["flags"][0].numbers["needed"]) == ("rain.few_years", 10)
    assert plain({"a": 1}) == whole({"a": 1}) == {"a": 1}


# ------------------------------------------------------------------ the reference wall


def test_the_short_way_keeps_all_that_the_whole_assessment_does(year):
    record = weather(kind="reanalysis").assign_attrs(
        latitude=48.5, ground_height=300.0, flags=[doubt("climate.invented")]
    )
    index = airfield_index(record, orientation=compass_orientations(12))
    site = Site("Bay", 48.0, -29.0, terrain="I", ground_height=20.0, flags=("Told of the site.",))
    whole = of_assessment("Bay", assess_building(record, reference_building(WALL), site), WALL)
    short = put_on_site("Bay", index, site, WALL, record=record.attrs)
    for name in ("name", "site", "wall", "years", "weather", "licence", "kind", "row", "source", "wet_hour"):
        assert getattr(short, name) == getattr(whole, name), name
    for name in ("yearly_spell", "product", "drawn"):
        np.testing.assert_allclose(getattr(short, name), getattr(whole, name), err_msg=name)
    assert set(short.flags) <= set(whole.flags)
    for key in ("climate.invented", "assess.record_far", "assess.record_height", "assess.sea_twice"):
        assert has_doubt(short.flags, key), key
        assert has_doubt(whole.flags, key), key
    assert "Told of the site." in short.flags
    assert not has_doubt(whole.flags, "assess.neighbours_not_told")
    assert len(short.flags) == len(set(short.flags))
    # without the record's own attributes those of the index are asked, which tell no place
    assert has_doubt(put_on_site("Bay", index, site, WALL).flags, "assess.record_far") == (
        "latitude" in index.attrs
    )
    assert "array" not in repr(short)


@pytest.mark.parametrize(
    ("shape", "height", "storeys"),
    # 2.8 m a storey; the multi-storey wall by itself
    [("two-storey eaves wall", 5.6, 2), ("three-storey gable", 8.4, 3), ("multi-storey, flat roof", 20.0, 6)],
)
def test_the_wall_of_each_shape_by_hand(shape, height, storeys):
    wall = reference_wall(shape)
    assert (wall.shape, wall.height, wall.storeys) == (shape, height, storeys)
    house = reference_building(wall)
    assert house.storeys == storeys
    assert {(one.shape, one.height, one.length) for one in house.walls} == {(shape, height, 10.0)}
    assert [one.orientation for one in house.walls] == [30.0 * way for way in range(12)]


def test_each_face_has_its_own_neighbours_or_none_is_placed(year):
    index = airfield_index(year, orientation=compass_orientations(12))
    with pytest.raises(ValueError, match="zip"):
        put_on_site("P", index, Site("P", 48.0, -29.0), WALL, obstacles=[None] * 11)


def test_neighbours_before_each_face_shelter_that_face_alone(year):
    index = airfield_index(year, orientation=compass_orientations(12))
    site = Site("P", 48.0, -29.0, terrain="II")
    seen = [20.0 if way == 7 else None for way in range(12)]
    bare, near = put_on_site("P", index, site, WALL), put_on_site("P", index, site, WALL, obstacles=seen)
    assert (near.product / bare.product).tolist() == pytest.approx(
        [0.4 if way == 7 else 1.0 for way in range(12)]
    )


# ------------------------------------------------------------------ the order


def place(name, value, drawn, band, years=tuple(range(2001, 2013))):
    return replace(place_of(name, value, band), years=years, drawn=np.array(drawn, dtype=float))


def test_ranks_and_how_sure_they_are_by_hand():
    # of 31 draws 27 in the order A B C, three B A C, one B C A; nine in ten of 31 leave out one at each end
    draws = [(30, 20, 10)] * 27 + [(20, 30, 10)] * 3 + [(10, 30, 20)]
    a, b, c = zip(*draws, strict=True)
    bands = [(28, 32), (18, 22), (8, 12)]
    sites = [place("C", 10, c, bands[2]), place("A", 30, a, bands[0]), place("B", 20, b, bands[1])]
    found = rank_sites(sites)
    assert [(one.name, one.rank, one.ranks, one.close_to) for one in found] == [
        ("A", 1, (1, 2), ()), ("B", 2, (1, 2), ()), ("C", 3, (3, 3), ()),
    ]  # fmt: skip
    assert [one.kept for one in found] == pytest.approx([27 / 31, 27 / 31, 30 / 31])
    assert [one.rank_in_words for one in found] == ["1 (1 to 2)", "2 (1 to 2)", "3"]
    # bands that meet leave more open than the draws do, and the draws more than bands that do not
    wide = [place("C", 10, c, (8, 19)), place("A", 30, a, bands[0]), place("B", 20, b, bands[1])]
    found = rank_sites(wide)
    assert [(one.name, one.ranks, one.close_to) for one in found] == [
        ("A", (1, 2), ()), ("B", (1, 3), ("C",)), ("C", (2, 3), ("B",)),
    ]  # fmt: skip


def test_a_place_of_other_years_is_drawn_from_its_own_years():
    # every year of it alike: 7 from the hardest facing, twice as much on the wall, so 14 in each of 1,000 draws
    alike = place("alike", 14, [], (14, 14), years=tuple(range(1990, 2000)))
    yearly, product = np.zeros((10, 12)), np.zeros(12)
    yearly[:, 3], yearly[:, 5] = 7.0, 10.0
    product[3], product[5] = 2.0, 1.0
    alike = replace(alike, yearly_spell=yearly, product=product)
    drawn = [13.0] * 400 + [15.0] * 600
    first, second = rank_sites([place("drawn", 13.5, drawn, (13, 15)), alike])
    assert (first.name, first.kept, second.kept) == ("alike", pytest.approx(0.4), pytest.approx(0.4))
    # years that differ are drawn alike each time the list is ranked
    uneven = replace(alike, yearly_spell=yearly * np.linspace(0.5, 1.5, 10)[:, None])
    once, again = (rank_sites([place("drawn", 13.5, drawn, (13, 15)), uneven]) for _ in range(2))
    assert [one.kept for one in once] == [one.kept for one in again]


def test_two_parts_at_most_are_told_of_what_decides():
    # three places with the middle at 1: half and twice lie equally far, the first of them stands first
    def words(*parts):
        low, middle, odd = (
            replace(one := place_of(name, 50), worst=replace(one.worst, factors=factors_of(*values)))
            for name, values in (("low", (1, 1, 1, 1)), ("middle", (1, 1, 1, 1)), ("odd", parts))
        )
        return what_decides([low, middle, odd])[2]

    assert words(0.5, 2.0, 1, 1) == "ground 0.50, hill 2.00 times the middle of the list"
    assert words(0.5, 2.0, 0.1, 0.25) == "wall shape 0.25, ground 0.50 times the middle of the list"
    assert words(1, 1, 0.1, 1) == "near the middle of the list in all"  # neighbours are no part of it
    # where the middle has no rain nothing can be so many times it
    for spells in ((0.0, 0.0, 0.0), (0.0, 0.0, 50.0)):
        bare = [place_of(name, spell) for name, spell in zip("ABC", spells, strict=True)]
        assert what_decides(bare) == ["near the middle of the list in all"] * 3
    assert words(1, 1, 1, 0) == "wall shape 0.00 times the middle of the list"
