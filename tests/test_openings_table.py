"""Openings that a model tells, set on the elevations by hand, and the table of what to order."""

import pytest
from site_world import PLANE

from exposure.assess.openings import CSV_COLUMNS, OpeningOrder, openings_csv, openings_of_model
from exposure.checks import RefusalError
from exposure.detail.openings import Opening
from exposure.detail.take_off import OpeningTakeOff
from exposure.detail.window_class import groove_words, grooved, house_order, window_order
from exposure.site.plane import DEGREES
from exposure.wall.building import box_building

HOUSE = box_building(name="House", length=12, width=8, bearing=90, height=6)  # its south face lies 4 m south


def at(east, north, **more):
    longitude, latitude = PLANE.to_crs(east, north, crs=DEGREES)
    return {"at": [float(longitude), float(latitude)], "width": 900, "height": 1200} | more


def found(*openings):
    return openings_of_model({"openings": list(openings)}, HOUSE.walls, PLANE)


def test_an_opening_of_a_model_stands_on_the_elevation_nearest_to_it(monkeypatch):
    told = (
        at(2, -3.8, name="  W 1\n", door=True), at(-5.9, 1, width=100, height=20_000), at(0, 5.9, door=1),
        at(5, 3.9, name="N" * 61, width=20_000, height=100),
    )  # fmt: skip
    assert found(*told) == (
        Opening("south", 900, 1200, door=True, name="W 1"), Opening("west", 100, 20_000), Opening("north", 900, 1200),
        Opening("north", 20_000, 100, name="N" * 60),
    )  # fmt: skip
    assert found() == openings_of_model({}, HOUSE.walls, PLANE) == openings_of_model({"openings": None}, HOUSE.walls, PLANE) == ()  # fmt: skip
    monkeypatch.setattr("exposure.assess.openings.MOST_OPENINGS", 3)
    assert len(found(*told)) == 3


@pytest.mark.parametrize(
    ("opening", "came"),
    [
        (at(0, 6.1, name="far"), "the opening 'far' stands 2.1 m from every elevation"),
        (at(0, -4, width=99), "width of an opening is 99"),
        (at(0, -4, height=20_001), "height of an opening is 20001"),
        (at(0, -4) | {"at": [361, 50]}, "place of an opening is 361"),
        (at(0, -4) | {"at": [-181, 50]}, "place of an opening is -181"),
        (at(0, -4) | {"at": 3}, "cannot be read"),
        (at(0, -4) | {"at": [8]}, "cannot be read"),
        ({"at": [8, 50]}, "cannot be read"),
        ("window", "cannot be read"),
    ],
)
def test_an_opening_that_cannot_be_is_refused(opening, came):
    with pytest.raises(RefusalError, match=came):
        found(opening)


def test_each_cell_of_the_table_by_hand():
    amounts = OpeningTakeOff(12.34, 1.26, 2.04, 2, 0.55, 4.2, 0.0, 0.31)
    one = OpeningOrder(Opening("south", 900.5, 1200, 3, name="W1"), "8", "4", 402.6, 171.4, 450.0, amounts)
    two = OpeningOrder(
        Opening("north", 1000, 2100, 1, door=True), "8", None, 402.6, 171.4, None, amounts, groove=True
    )
    head, first, second = openings_csv([one, two]).splitlines()
    assert head.split(",")[:5] == ["elevation", "opening", "width mm", "height mm", "count"]
    assert len(CSV_COLUMNS) == len(first.split(","))
    assert first == "south,window W1,900.5,1200,3,8,4,403,171,450,does,no,12.3,1.3,2.0,2,0.6,4.2,0.0,0.3"
    assert second == "north,door,1000,2100,1,8,,403,171,,rating not known,yes,12.3,1.3,2.0,2,0.6,4.2,0.0,0.3"


def test_frames_behind_a_leaf_are_ordered_with_the_groove_that_takes_the_cover():
    on_boards, off_boards, deck = (
        {"sill_cover": "turned up into a groove of the frame"},
        {"sill_cover": "turned up into a groove of the threshold"},
        {"deck_sill": "one metal sill"},
    )
    assert [grooved(on_boards, door=door) for door in (False, True)] == [True, True]
    assert [grooved(off_boards, door=door) for door in (False, True)] == [False, True]
    assert [grooved(deck, door=door) for door in (False, True)] == [False, True]
    assert groove_words({"south": {}, "north": {}}) == ""
    assert groove_words({"south": on_boards}).startswith("Have windows and doors made with a groove")
    assert groove_words({"south": deck, "north": {}}).startswith(
        "Have doors to a closed deck on south made with a groove"
    )
    order = house_order({"south": window_order(mean=180.0, gust=414.0)}, frames=groove_words({"south": deck}))
    assert order.in_words.endswith("for the metal sill over the cavity.")
