"""What changes in a drawn junction one level lower: in words, in parts, and true to the ladder."""

import xml.etree.ElementTree as ET

import pytest
from test_detail_ladder import exposure_of, pressure_of
from test_junction import WALLS, ladder_numbers

from exposure.detail import Circumstances, detail_schedule
from exposure.detail.ladder import ladder_rows
from exposure.draw.junction_svg import one_lower_picture
from exposure.export.drawing_files import drawing_list
from exposure.junction.catalogue import drawings_of
from exposure.junction.numbers import numbers_of
from exposure.junction.one_lower import numbers_below, one_lower
from exposure.junction.proofs import failures


def drawn(junction, numbers):
    drawings, _ = drawings_of([("north", numbers)])
    return next(one for one in drawings if one.section.key == junction)


def test_the_sill_of_level_three_beside_that_of_level_two():
    """By hand from the ladder: back and ends 35 and 25, tray down 75 and 50, cavity 20 and 10; the fall stays 6 %."""
    found = one_lower(drawn("sill", ladder_numbers(3, WALLS[0])))
    sizes = {one.row: (one.here, one.lower) for one in found.changes}
    assert sizes["back_dam"] == sizes["end_dam"] == (35, 25)
    assert sizes["tray_down"] == (75, 50)
    assert sizes["cav_depth"] == (20, 10)
    assert "sill_slope" not in sizes
    assert (
        "At windows fold up the back of the tray at least 25\xa0mm, one of film against a strip as high, fixed behind it first; here 35\xa0mm."
        in found.sentences
    )
    back = next(one for one in found.section.dimensions if one.key == "back_dam")
    assert back.drawn == pytest.approx(25)
    assert "tray" in found.changed
    assert "window board" not in found.changed


def test_parts_that_go_and_come_are_named():
    """Without a cavity there is neither batten nor base flashing: the membrane itself comes down."""
    found = one_lower(drawn("base-soil", ladder_numbers(2, WALLS[0])))
    assert {
        "Batten, seen beyond",
        "Base flashing, its drip below cladding and closer",
        "Base closer with slots, fixed under the feet of the battens",
    } <= set(found.less)
    assert "Membrane, over the upstand of the course" in found.more
    bare = next(one for one in found.changes if one.row == "cav_depth")
    assert bare.words.startswith(
        "Fix lapped boards straight to the wall if you like; any other cladding needs a cavity"
    )
    assert bare.words.endswith("; here 10\xa0mm.")
    gone = one_lower(drawn("floor-line", ladder_numbers(2, WALLS[0])))
    assert gone.section is None
    assert gone.sentences[0] == "One level lower it is not drawn: the schedule does not ask it."


def below_of(circumstances, spell=70.0, push=150.0):
    """A schedule's numbers, and those one level lower."""
    exposure, pressure = exposure_of(spell), pressure_of(push)
    numbers = numbers_of(detail_schedule(exposure, pressure, circumstances), circumstances, pressure)
    return numbers, numbers_below(numbers)


def test_what_the_level_does_not_settle_stays():
    """By hand: 280 Pa need 28 mm and 5 of splash, in steps of 5: 35, with level 2 as with level 3; a tray goes 75 down, then 50."""
    here, below = below_of(Circumstances(air_seal_tested=True), push=280.0)
    assert (here.pressure, below.pressure) == (3, 2)
    assert here.values["back_dam"] == below.values["back_dam"] == 35
    assert (here.values["tray_down"], below.values["tray_down"]) == (75, 50)


def test_one_level_lower_is_never_under_the_chosen_rule_or_in_the_snow():
    """Canada's 200 mm above soil and paving, its end dams of 25 mm, and snow of 600 mm hold at every level."""
    canada = Circumstances(local_rules=("canada",))
    here, below = below_of(canada)
    assert below.level < here.level
    assert (below.values["gnd"], below.values["paved"]) == (200, 200)
    assert below.values["end_dam"] >= 25
    _, below = below_of(Circumstances(snow_depth=600.0))
    assert below.values["gnd"] == 700


def test_each_axis_goes_down_by_itself():
    """Wetness 2 and pressure 1, each one up for the roof's end: one lower the kick-out has 105, what follows pressure its first value."""
    rows = {row.key: row for row in ladder_rows()}
    roof = Circumstances(roof_meets_wall="roof or gutter ends inside the wall")
    here, below = below_of(roof, spell=45.0, push=40.0)
    assert (here.wetness, here.pressure) == (3, 2)
    assert (rows["kick_h"].axis, rows["head_lap"].axis) == ("W", "P")
    assert below.values["kick_h"] == 105
    assert below.values["head_lap"] == rows["head_lap"].values[0]
    assert (below.wetness, below.pressure, below.level) == (2, 1, 2)


@pytest.mark.parametrize("wall", WALLS)
def test_every_junction_one_level_lower_is_sound_and_its_picture_can_be_read(wall):
    for level in (1, 2, 3, 4):
        for drawing in drawings_of([("north", ladder_numbers(level, wall))])[0]:
            found = one_lower(drawing)
            if level == 1:
                assert found is None
            if found is None:
                continue
            if found.section:
                assert not failures(found.section), (drawing.stem, failures(found.section))
                assert found.changed <= {layer.key for layer in found.section.layers}
            if level == 3:
                svg = one_lower_picture(drawing.section, found, elevations=["<b>"], width=360, prefix="low")
                assert len(svg.encode()) < 40_000
                sizes = [
                    float(one.get("font-size"))
                    for one in ET.fromstring(svg).iter()
                    if one.tag.endswith("}text")
                ]
                assert min(sizes) >= 12


@pytest.mark.parametrize("wall", WALLS)
def test_a_junction_whose_rows_differ_one_level_lower_says_so(wall):
    """By the ladder's own table: no drawing at level 3 of which a row has another value at 2 is without its lower one."""
    rows = {row.key: row for row in ladder_rows()}
    told = set()
    for drawing in drawings_of([("north", ladder_numbers(3, wall))])[0]:
        differ = [
            key for key in drawing.section.rows if key in rows and rows[key].values[2] != rows[key].values[1]
        ]
        found = one_lower(drawing)
        assert (found is not None) is bool(differ), (drawing.stem, differ)
        if found:
            told.add(drawing.section.key)
            assert found.sentences
    assert {"sill", "head", "kick-out"} <= told


def test_the_list_says_what_changes_whether_it_is_drawn_or_not():
    drawings, left_out = drawings_of([("north", ladder_numbers(3, WALLS[0]))])
    for lower in (False, True):
        sill = drawing_list(drawings, left_out, lower=lower)["drawings"][0]
        assert sill["one_lower"]["level"] == 2
        assert (sill["one_lower"]["picture"] == "sill-level-3-one-lower.svg") is lower
        change = next(one for one in sill["one_lower"]["changes"] if one["row"] == "back_dam")
        assert (change["here"], change["lower"]) == (35, 25)


@pytest.mark.parametrize("rooms", ["heated through cold winters", "not said"])
def test_the_layer_on_the_room_side_is_the_same_one_level_lower(rooms):
    """The climate of the rooms asks it, not rain or wind: the lining stays as it is told."""
    numbers, _ = below_of(Circumstances(rooms=rooms))
    assert numbers.has("inside_layer")
    for junction in ("sill", "head", "jamb", "base-soil"):
        found = one_lower(drawn(junction, numbers))
        assert not any("lining" in name for name in (*found.less, *found.more)), junction
