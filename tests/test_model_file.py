"""A building model becomes the words of a house file: outline, north, place, heights, openings, and what it does not tell.

The models are made here, wall by wall; what is expected of them is reckoned by hand beside each test.
"""

import re
import sys
from importlib import import_module
from math import atan, cos, degrees, radians, sin, tan

import numpy as np
import pytest
from pyproj import Transformer

from exposure.assess.openings import check_openings, openings_of_model
from exposure.checks import RefusalError
from exposure.doubts import has_doubt
from exposure.wall import model_parts
from exposure.wall.building_file import read_building, read_words
from exposure.wall.building_words import building_from_words

api = pytest.importorskip("ifcopenshell.api", reason="the extra `model` is not installed")
for room in (
    "aggregate",
    "context",
    "feature",
    "geometry",
    "georeference",
    "project",
    "pset",
    "root",
    "spatial",
    "unit",
):
    import_module(f"ifcopenshell.api.{room}")

BOX = [(0, 0), (12, 0), (12, 8), (0, 8)]
ELL = [(0, 0), (12, 0), (12, 5), (6, 5), (6, 9), (0, 9)]
FOOT = 0.3048


class House:
    """A model with one wall for each side of a ring (counter-clockwise, metres) on each storey."""

    def __init__(
        self,
        ring=BOX,
        *,
        tops=(3.0,),
        unit="MILLIMETERS",
        told=True,
        name="House",
        place=True,
        version="IFC4",
    ):
        metric = unit != "FEET"
        self.unit = {"MILLIMETERS": 0.001, "METERS": 1.0, "FEET": FOOT}[unit]
        self.ifc = api.project.create_file(version=version)
        if version == "IFC2X3":  # which wants an owner of everything
            group = self.ifc.createIfcOrganization(None, "Nobody")
            self.ifc.createIfcPersonAndOrganization(self.ifc.createIfcPerson("nobody"), group)
            self.ifc.createIfcApplication(group, "1", "Test", "test")
        self.new("IfcProject", "Project")
        api.unit.assign_unit(self.ifc, length={"is_metric": metric, "raw": unit})
        self.context = api.context.add_context(self.ifc, context_type="Model")
        self.body = api.context.add_context(
            self.ifc, context_type="Model", context_identifier="Body", target_view="MODEL_VIEW", parent=self.context
        )  # fmt: skip
        self.site, self.building = self.new("IfcSite", "Site"), self.new("IfcBuilding", name)
        if place:
            self.site.RefLatitude, self.site.RefLongitude = (50, 30, 0), (-3, -15, 0)
        project = self.ifc.by_type("IfcProject")[0]
        api.aggregate.assign_object(self.ifc, products=[self.site], relating_object=project)
        api.aggregate.assign_object(self.ifc, products=[self.building], relating_object=self.site)
        self.walls, below = {}, 0.0
        for storey, top in enumerate(tops):
            floor = self.new("IfcBuildingStorey", f"Storey {storey}")
            api.aggregate.assign_object(self.ifc, products=[floor], relating_object=self.building)
            for side, (start, end) in enumerate(zip(ring, [*ring[1:], ring[0]], strict=True)):
                self.walls[storey, side] = self.wall(floor, start, end, below, top, external=told or None)
            below = top

    def new(self, kind, name):
        return api.root.create_entity(self.ifc, ifc_class=kind, name=name)

    def put(self, part, start, end, bottom):
        along = np.subtract(end, start) / np.hypot(*np.subtract(end, start))
        matrix = np.eye(4)
        matrix[:2, 0], matrix[:2, 1] = along, (-along[1], along[0])
        matrix[:3, 3] = (*start, bottom)
        api.geometry.edit_object_placement(self.ifc, product=part, matrix=matrix)

    def wall(self, floor, start, end, bottom, top, *, external):
        wall = self.new("IfcWall", "Wall")
        shape = api.geometry.add_wall_representation(
            self.ifc, context=self.body, length=float(np.hypot(*np.subtract(end, start))), height=top - bottom, thickness=0.3
        )  # fmt: skip
        api.geometry.assign_representation(self.ifc, product=wall, representation=shape)
        self.put(wall, start, end, bottom)
        api.spatial.assign_container(self.ifc, products=[wall], relating_structure=floor)
        if external is not None:
            told = api.pset.add_pset(self.ifc, product=wall, name="Pset_WallCommon")
            api.pset.edit_pset(self.ifc, pset=told, properties={"IsExternal": external})
        return wall

    def opening(self, kind, name, wall, start, toward, size):
        """A window or door whose lower corner is ``start``, in ``wall``, with no shape of its own."""
        hole, part = self.new("IfcOpeningElement", "Hole"), self.new(kind, name)
        api.feature.add_feature(self.ifc, feature=hole, element=wall)
        api.feature.add_filling(self.ifc, opening=hole, element=part)
        api.spatial.assign_container(
            self.ifc, products=[part], relating_structure=self.ifc.by_type("IfcBuildingStorey")[0]
        )
        part.OverallWidth, part.OverallHeight = (value / self.unit for value in size)
        self.put(part, start, toward, 1.0)
        return part

    def north(self, x, y):
        self.context.TrueNorth = self.ifc.createIfcDirection((float(x), float(y)))
        return self

    def saved(self, folder):
        path = folder / "model.ifc"
        path.write_text(self.ifc.to_string(), "utf-8")
        return path


def sides(found):
    return sorted(
        (round(one.orientation, 1), round(one.length, 2), one.height) for one in found.building.walls
    )


def test_a_box_turned_thirty_degrees_is_the_same_house_told_in_words(tmp_path):
    # true north lies 30 degrees clockwise of the drawing's top, so its x axis points to 90 - 30 = 60 degrees
    path = House().north(sin(radians(30)), cos(radians(30))).saved(tmp_path)
    found = read_building(path)
    told = building_from_words(
        {
            "name": "House", "height": 3.0, "storeys": 1, "place": {"latitude": 50.5, "longitude": -3.25},
            "footprint": {"length": 12, "width": 8, "bearing": 60},
        }
    )  # fmt: skip
    assert [one[:2] for one in sides(found)] == [(60.0, 8.0), (150.0, 12.0), (240.0, 8.0), (330.0, 12.0)]
    assert sides(found) == sides(told)
    assert (found.place.plane.latitude, found.place.plane.longitude) == (50.5, -3.25)
    assert found.building.name == "House"
    assert not has_doubt(found.place.notes, "wall.model_north_untold")


def test_an_ell_of_two_storeys_has_six_walls_and_two_storeys(tmp_path):
    found = read_building(House(ELL, tops=(2.8, 5.6)).north(0, 1).saved(tmp_path))
    # the drawing's top is north: sides of ELL by hand, a wall looking outwards from each
    assert [one[:2] for one in sides(found)] == [
        (0.0, 6.0), (0.0, 6.0), (90.0, 4.0), (90.0, 5.0), (180.0, 12.0), (270.0, 9.0)
    ]  # fmt: skip
    assert found.words["storeys"] == 2
    assert found.words["height"] == 5.6
    assert not has_doubt(found.place.notes, "wall.model_storeys_differ")


@pytest.mark.parametrize("unit", ["FEET", "METERS"])
def test_the_unit_of_length_is_the_models_own(tmp_path, unit):
    house = House(unit=unit).north(0, 1)
    house.opening("IfcWindow", "W1", house.walls[0, 0], (2, 0), (12, 0), (0.9, 1.2))
    path = house.saved(tmp_path)
    assert ("foot" in path.read_text().lower()) == (unit == "FEET")
    words = read_words(path)
    assert [one[:2] for one in sides(building_from_words(words))] == [
        (0.0, 12.0),
        (90.0, 8.0),
        (180.0, 12.0),
        (270.0, 8.0),
    ]
    assert words["height"] == 3.0
    assert [(one["width"], one["height"]) for one in words["openings"]] == [(900, 1200)]


def test_an_older_schema_reads_the_same(tmp_path):
    found = read_building(House(version="IFC2X3").north(0, 1).saved(tmp_path))
    assert [one[:2] for one in sides(found)] == [(0.0, 12.0), (90.0, 8.0), (180.0, 12.0), (270.0, 8.0)]


def test_a_map_grid_gives_place_and_true_north(tmp_path):
    # east of its middle meridian a grid's north lies east of true north: tan(turn) = tan(2.5 deg) sin(latitude)
    latitude, longitude = 50.0, 17.5
    turn = degrees(atan(tan(radians(longitude - 15.0)) * sin(radians(latitude))))
    east, north = Transformer.from_crs("EPSG:4326", "EPSG:32633", always_xy=True).transform(
        longitude, latitude
    )
    house = House(unit="METERS", place=False)
    api.georeference.add_georeferencing(house.ifc)
    api.georeference.edit_georeferencing(
        house.ifc, projected_crs={"Name": "EPSG:32633"},
        coordinate_operation={"Eastings": east, "Northings": north, "XAxisAbscissa": 1.0, "XAxisOrdinate": 0.0},
    )  # fmt: skip
    found = read_building(house.saved(tmp_path))
    assert found.place.plane.latitude == pytest.approx(latitude, abs=1e-3)
    assert found.place.plane.longitude == pytest.approx(longitude, abs=1e-3)
    facing = [one.orientation for one in found.building.walls]
    assert sorted(facing) == pytest.approx([turn, 90 + turn, 180 + turn, 270 + turn], abs=0.02)
    assert turn > 1.5


def test_a_turned_map_grid_without_a_name_is_a_doubt(tmp_path):
    house = House(unit="METERS")
    api.georeference.add_georeferencing(house.ifc)
    api.georeference.edit_georeferencing(
        house.ifc, coordinate_operation={"XAxisAbscissa": cos(radians(20)), "XAxisOrdinate": sin(radians(20))}
    )
    found = read_building(house.saved(tmp_path))
    # the drawing's x axis points 20 degrees counter-clockwise of east: bearing 70
    assert [one[:2] for one in sides(found)] == [(70.0, 8.0), (160.0, 12.0), (250.0, 8.0), (340.0, 12.0)]
    assert has_doubt(found.place.notes, "wall.model_grid_north")


def test_without_outer_walls_told_all_are_taken_and_it_is_a_doubt(tmp_path):
    house = House(told=False)
    house.wall(house.ifc.by_type("IfcBuildingStorey")[0], (6, 0.3), (6, 7.7), 0, 3.0, external=None)
    found = read_building(house.saved(tmp_path))
    assert [one[:2] for one in sides(found)] == [(0.0, 12.0), (90.0, 8.0), (180.0, 12.0), (270.0, 8.0)]
    assert has_doubt(found.place.notes, "wall.model_outer_untold")
    assert has_doubt(found.place.notes, "wall.model_north_untold")


def test_a_garden_wall_told_to_be_no_outer_wall_is_left_out(tmp_path):
    house = House().north(0, 1)
    house.wall(house.ifc.by_type("IfcBuildingStorey")[0], (12, 0), (30, 0), 0, 2.0, external=False)
    assert max(one.length for one in read_building(house.saved(tmp_path)).building.walls) == 12.0


def test_windows_and_doors_stand_on_their_elevation_with_name_and_size(tmp_path):
    house = House().north(0, 1)
    house.opening("IfcWindow", "Kitchen", house.walls[0, 0], (2, 0), (12, 0), (1.2, 1.05))
    house.opening("IfcDoor", "Back door", house.walls[0, 1], (12, 3), (12, 8), (0.9, 2.1))
    inner = house.wall(house.ifc.by_type("IfcBuildingStorey")[0], (6, 0.3), (6, 7.7), 0, 3.0, external=False)
    house.opening("IfcDoor", "Inner door", inner, (6, 0.35), (6, 7.7), (0.8, 2.0))
    found = read_building(house.saved(tmp_path))
    openings = openings_of_model(found.words, found.building.walls, found.place.plane)
    assert [(one.elevation, one.width, one.height, one.door, one.name) for one in openings] == [
        ("south", 1200, 1050, False, "Kitchen"), ("east", 900, 2100, True, "Back door")
    ]  # fmt: skip
    check_openings(openings, found.building.walls)
    with pytest.raises(RefusalError, match="every elevation"):  # its wall is left out as a party wall
        openings_of_model(
            found.words, [one for one in found.building.walls if one.name != "east"], found.place.plane
        )


def test_a_window_without_a_size_is_counted_and_left_out(tmp_path):
    house = House()
    house.opening("IfcWindow", "A", house.walls[0, 0], (2, 0), (12, 0), (1.2, 1.05)).OverallHeight = None
    found = read_building(house.saved(tmp_path))
    assert found.words["openings"] == []
    assert has_doubt(found.place.notes, "wall.model_openings_unsized")


def test_gables_are_the_walls_that_rise_above_the_eaves(tmp_path):
    house = House(tops=(3.0,)).north(0, 1)
    floor = house.ifc.by_type("IfcBuildingStorey")[0]
    for start, end in (((12, 0), (12, 8)), ((0, 8), (0, 0))):  # the short ends, up to a ridge of 6 m
        house.wall(floor, start, end, 0, 6.0, external=True)
    roof = house.new("IfcRoof", "Roof")
    roof.PredefinedType = "GABLE_ROOF"
    api.spatial.assign_container(house.ifc, products=[roof], relating_structure=floor)
    found = read_building(house.saved(tmp_path))
    assert {one.name: one.height for one in found.building.walls} == {
        "south": 3.0,
        "east": 6.0,
        "north": 3.0,
        "west": 6.0,
    }
    assert {one.name: "gable" in one.shape for one in found.building.walls}["east"]
    roof.PredefinedType = "NOTDEFINED"  # then nothing says which tops are gables
    blunt = read_building(house.saved(tmp_path))
    assert blunt.words["height"] == 6.0
    assert has_doubt(blunt.place.notes, "wall.model_tops_differ")
    assert "roof" not in blunt.words


def test_a_basement_is_not_height(tmp_path):
    house = House(tops=(3.0,))
    cellar = house.new("IfcBuildingStorey", "Cellar")
    api.aggregate.assign_object(house.ifc, products=[cellar], relating_object=house.building)
    for start, end in zip(BOX, [*BOX[1:], BOX[0]], strict=True):
        house.wall(cellar, start, end, -2.5, 0.0, external=True)
    found = read_building(house.saved(tmp_path))
    assert (found.words["height"], found.building.storeys) == (3.0, 1)
    assert has_doubt(found.place.notes, "wall.model_basement")


def test_a_name_is_data(tmp_path):
    hostile = "<script>alert(1)</script>\x07\u202e{subject}" + "x" * 500
    house = House(name=hostile)
    house.opening("IfcWindow", hostile, house.walls[0, 0], (2, 0), (12, 0), (1.2, 1.05))
    found = read_building(house.saved(tmp_path))
    for name in (found.building.name, found.words["openings"][0]["name"]):
        assert name.startswith("<script>alert(1)</script>{subject}x")
        assert name.isprintable()
        assert len(name) == 60


def test_the_doubts_of_a_model_stay_with_a_result_read_back(tmp_path):
    found = read_building(House().saved(tmp_path))
    again = building_from_words(found.words)
    assert has_doubt(again.place.notes, "wall.model_north_untold")
    with pytest.raises(RefusalError, match="doubts"):
        building_from_words({**found.words, "doubts": '[["a", "b", "c", [1]]]'})
    with pytest.raises(RefusalError, match="openings"):
        openings_of_model({"openings": [{"at": 3}]}, found.building.walls, found.place.plane)


DAMAGE = {
    "cut": lambda text: text[: len(text) // 2],
    "cut at its last line": lambda text: text.replace("END-ISO-10303-21;", ""),
    "no model": lambda text: "hello",
    "strange schema": lambda text: text.replace("'IFC4'", "'IFC9'"),
    "no unit": lambda text: text.replace(".LENGTHUNIT.", ".MASSUNIT."),
}


@pytest.mark.parametrize(
    ("kind", "words"),
    [("cut", "ends in the middle"), ("cut at its last line", "ends in the middle"), ("no model", "no IFC text"),
     ("strange schema", "cannot be read"), ("no unit", "no unit of length")],
)  # fmt: skip
def test_a_damaged_model_is_refused(tmp_path, kind, words):
    path = House().saved(tmp_path)
    path.write_text(DAMAGE[kind](path.read_text("utf-8")), "utf-8")
    with pytest.raises(RefusalError, match=words):
        read_words(path)


def test_faults_inside_a_model_are_a_doubt(tmp_path):
    house = House(unit="METERS")
    house.wall(house.ifc.by_type("IfcBuildingStorey")[0], (6, 0.3), (6, 7.7), 0, 3.0, external=True)
    path = house.saved(tmp_path)
    assert not has_doubt(read_building(path).place.notes, "wall.model_faults")
    lines = path.read_text("utf-8").splitlines()
    lines.remove([line for line in lines if "IFCPROPERTYSINGLEVALUE" in line].pop())  # of the wall inside
    path.write_text("\n".join(lines), "utf-8")
    assert has_doubt(read_building(path).place.notes, "wall.model_faults")


def test_a_model_that_refers_to_nothing_is_refused_in_words(tmp_path):
    house = House()
    house.opening("IfcWindow", "A", house.walls[0, 0], (2, 0), (12, 0), (1.2, 1.05))
    path = house.saved(tmp_path)
    lines = path.read_text("utf-8").splitlines()
    path.write_text("\n".join(line for line in lines if "=IFCOPENINGELEMENT" not in line), "utf-8")
    with pytest.raises(RefusalError, match="cannot be read through"):
        read_building(path)


def test_a_model_that_refers_to_itself_is_refused_before_the_library_follows_it(tmp_path):
    numbers = " ".join(f"#{number}" for number in range(1, 40))  # its own among them
    path = House(name=numbers).saved(tmp_path)
    text = path.read_text("utf-8")
    assert read_building(path).building.name.startswith("#1 #2 ")  # a number in a name refers to nothing
    path.write_text(re.sub(r"(#\d+)=IFCLOCALPLACEMENT\([^,]*,", r"\1=IFCLOCALPLACEMENT(\1,", text), "utf-8")
    with pytest.raises(RefusalError, match="refers to itself"):
        read_words(path)
    chain = "".join(f"#{9000 + i}=IFCLOCALPLACEMENT(#{9001 + i},#1);\n" for i in range(600))
    path.write_text(text.replace("ENDSEC;\nEND-ISO", f"{chain}ENDSEC;\nEND-ISO"), "utf-8")
    with pytest.raises(RefusalError, match="deep"):
        read_words(path)


def test_what_cannot_be_a_house_is_refused(tmp_path, monkeypatch):
    with pytest.raises(RefusalError, match="where the house stands"):
        read_words(House(place=False).saved(tmp_path))
    house = House()
    for side in (2, 3):
        api.root.remove_product(house.ifc, product=house.walls[0, side])
    with pytest.raises(RefusalError, match="close no ring"):
        read_words(house.saved(tmp_path))
    path = House().saved(tmp_path)
    with pytest.raises(RefusalError, match="1 buildings with walls, 0 of them 'Barn'"):
        read_words(path, name="Barn")
    assert read_words(path, name="House")["name"] == "House"
    monkeypatch.setattr(model_parts, "LARGEST", 1000)
    with pytest.raises(RefusalError, match="MB"):
        read_words(path)


def test_without_the_library_the_extra_is_named(tmp_path, monkeypatch):
    path = House().saved(tmp_path)
    monkeypatch.setitem(sys.modules, "ifcopenshell", None)
    with pytest.raises(RefusalError, match="not installed") as refused:
        read_words(path)
    assert "driving-rain-exposure[model]" in refused.value.cure
