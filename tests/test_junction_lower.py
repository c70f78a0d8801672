"""What changes in a drawn junction one level lower: in words, in parts, and true to the ladder."""

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
from test_junction import WALLS, ladder_numbers

from exposure.detail.ladder import ladder_rows
from exposure.draw.junction_svg import one_lower_picture
from exposure.export.drawing_files import drawing_list
from exposure.junction.catalogue import drawings_of
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
    assert "At windows fold up the back of the tray at least 25\xa0mm; here 35\xa0mm." in found.sentences
    back = next(one for one in found.section.dimensions if one.key == "back_dam")
    assert back.drawn == pytest.approx(25)
    assert "tray" in found.changed
    assert "window board" not in found.changed


def test_parts_that_go_and_come_are_named():
    """Without a cavity there is neither batten nor base flashing: the membrane itself comes down."""
    found = one_lower(drawn("base-soil", ladder_numbers(2, WALLS[0])))
    assert {"Batten, seen beyond", "Base flashing with its drip", "Base closer with slots"} <= set(found.less)
    assert "Membrane" in found.more
    assert "No cavity, lapped boards only; here 10\xa0mm." in found.sentences
    gone = one_lower(drawn("floor-line", ladder_numbers(2, WALLS[0])))
    assert gone.section is None
    assert gone.sentences[0] == "One level lower it is not drawn: the schedule does not ask it."


def test_what_the_level_does_not_settle_stays():
    """A back that the wind's water asks, or a rule, is no figure of the ladder's: 40 mm stay, 35 go to 25."""
    for back, below in ((35.0, 25), (40.0, 40.0)):
        assert numbers_below(ladder_numbers(3, WALLS[0], back_dam=back)).values["back_dam"] == below
    over = ladder_numbers(2, WALLS[0], position="over the cavity")
    assert numbers_below(over).values["cav_depth"] == 10  # a window over a cavity keeps one


def test_each_axis_goes_down_by_itself():
    """Wetness 3 and pressure 1: the kick-out, which follows wetness, goes to 105; what follows pressure stays."""
    rows = {row.key: row for row in ladder_rows()}
    numbers = replace(ladder_numbers(3, WALLS[0], head_lap=rows["head_lap"].values[0]), wetness=3, pressure=1)
    below = numbers_below(numbers)
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
