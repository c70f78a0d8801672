"""Membrane at a corner: the sheet goes past it by the lap of the next one and more, as ordered so drawn, by every rule."""

import pytest
from shapely import Polygon
from test_detail_ladder import exposure_of, pressure_of

from exposure.detail import Circumstances, detail_schedule
from exposure.detail.rule_file import read_rule_text
from exposure.junction.corners import inside_corner, outside_corner
from exposure.junction.laps import level_lap, upright_lap
from exposure.junction.numbers import numbers_of
from exposure.junction.pipe import pipe
from exposure.junction.proofs import failures

FLAT = (
    100  # mm from the bend to the edge of the next sheet: more than the widest tape of the ladder reaches, 75
)
FRAMED = ("timber frame with cladding", "masonry veneer", "rendered board")
OFFICE = """
[rule]
key = "wide laps"
name = "Wide laps"
[source]
document = "Office handbook"
place = "page 3"
[[outcome]]
when = []
says = "Upright laps are at least 450 mm."
standing = "ours"
asks = [{row = "lap_v", way = "at least", value = 450}]
"""


def corner(spell, push, wall, office=(), **told):
    mine = Circumstances(wall_type=wall, **told)
    schedule = detail_schedule(exposure_of(spell), pressure_of(push), mine, office_rules=office)
    numbers = numbers_of(schedule, mine, pressure_of(push))
    return {line.key: line for line in schedule.lines}, inside_corner(numbers), outside_corner(numbers)


@pytest.mark.parametrize("office", [(), (read_rule_text(OFFICE, name="wide.toml"),)], ids=["ladder", "rule"])
@pytest.mark.parametrize("wall", FRAMED)
@pytest.mark.parametrize(("spell", "push"), [(10.0, 50.0), (45.0, 100.0), (10.0, 400.0), (140.0, 400.0)])
def test_a_lap_at_a_corner_is_as_long_as_ordered_and_clear_of_the_bend(spell, push, wall, office):
    """Measured on the outlines, the bend being at 0."""
    lines, inside, outside = corner(spell, push, wall, office)
    lap = lines["lap_v"].value
    assert lap >= (450 if office else 155)
    for section, key, axis in ((inside, "icorner", 0), (outside, "ocorner", 1)):
        shapes = {one.key: Polygon(one.outline).bounds for one in section.layers}
        first, over = shapes["membrane"], shapes["next sheet"]
        assert over[axis + 2] - first[axis] == pytest.approx(lap)
        assert -over[axis + 2] >= FLAT
        assert -first[axis] == pytest.approx(lines[key].value)
        assert {one.value for one in section.dimensions if one.key == "lap_v"} == {lap}
        assert not section.conflicts
        taped = "upright" in lines["seam_tape"].value or "all laps" in lines["seam_tape"].value
        assert ("lap tape" in shapes) is taped
        if taped:  # over the edge, on both sheets, and not round the bend
            tape = shapes["lap tape"]
            assert tape[axis] < over[axis + 2] < tape[axis + 2] < -10
            assert lines["tape_bond"].value == pytest.approx(tape[axis + 2] - over[axis + 2])


@pytest.mark.parametrize("wall", FRAMED)
@pytest.mark.parametrize(("spell", "push"), [(10.0, 50.0), (45.0, 100.0), (45.0, 250.0)])
def test_over_open_studs_the_next_sheet_reaches_the_corner_stud_under_the_one_that_turns(spell, push, wall):
    """As the rows stud_layers and lap_v have it: under the sheet round the corner as far as the stud, the edge of that over blocking."""
    lines, inside, outside = corner(spell, push, wall, sheathing="open studs")
    for section, key, axis in ((inside, "icorner", 0), (outside, "ocorner", 1)):
        shapes = {one.key: Polygon(one.outline) for one in section.layers}
        first, under = shapes["membrane"].bounds, shapes["next sheet"].bounds
        stud, block = shapes["corner stud"].bounds, shapes["blocking"].bounds
        assert stud[axis] < under[axis + 2] < stud[axis + 2]
        assert -first[axis] == pytest.approx(lines[key].value)
        assert block[axis] < first[axis] < block[axis + 2]
        out = 1 - axis  # less is further out
        assert first[out] < under[out]
        assert not failures(section)
        taped = "upright" in lines["seam_tape"].value or "all laps" in lines["seam_tape"].value
        assert ("lap tape" in shapes) is taped
        if taped:
            tape = shapes["lap tape"].bounds
            assert tape[axis] < first[axis] < tape[axis + 2]


def test_sheets_too_short_for_their_lap_are_named():
    numbers = numbers_of(
        detail_schedule(exposure_of(45.0), pressure_of(100.0), Circumstances()),
        Circumstances(),
        pressure_of(100.0),
    )
    numbers.values["ocorner"] = numbers.values["icorner"] = 200.0
    for drawn, key in ((inside_corner, "icorner"), (outside_corner, "ocorner")):
        assert [one.rows for one in drawn(numbers).conflicts] == [(key, "lap_v")]


def test_laps_of_two_layers_say_that_they_are_drawn_as_one():
    """The Canadian rules ask two layers over open studs, none but one over boards."""
    pressure = pressure_of(100.0)
    for sheathing, told in (("open studs", True), ("sheathed", False)):
        mine = Circumstances(sheathing=sheathing, local_rules=("canada",))
        numbers = numbers_of(detail_schedule(exposure_of(45.0), pressure, mine), mine, pressure)
        for section in (level_lap(numbers), upright_lap(numbers)):
            assert ("The 2 layers asked are drawn as one." in section.notes) == told


@pytest.mark.parametrize("wall", FRAMED)
@pytest.mark.parametrize(("spell", "push", "taped"), [(10.0, 50.0, 0), (45.0, 100.0, 2), (45.0, 400.0, 3)])
def test_over_open_studs_blocking_backs_every_taped_edge(spell, push, taped, wall):
    """As the order of work has it, "behind every edge that tape will meet": straight behind the membrane, the edge before its middle.

    By the table: at the mildest level no edge is taped, at the next an upright lap and the flange of a pipe, then a level lap too.
    """
    backed = 0
    for sheathing in ("open studs", "sheathed"):
        mine = Circumstances(wall_type=wall, sheathing=sheathing)
        schedule = detail_schedule(exposure_of(spell), pressure_of(push), mine)
        numbers = numbers_of(schedule, mine, pressure_of(push))
        for draw, tape, edge in (
            (level_lap, "lap tape", "upper sheet"),
            (upright_lap, "lap tape", "upper sheet"),
            (pipe, "flange tape", "seal under"),
        ):
            section = draw(numbers)
            shapes = {one.key: Polygon(one.outline).bounds for one in section.layers}
            asked = tape in shapes and not numbers.boards
            alone = draw is pipe and tape not in shapes  # the cut edge round a pipe sealed by tape alone
            assert ("blocking" in shapes) is (asked or (alone and not numbers.boards))
            assert not failures(section)
            if asked:
                block, (_, low, _, _) = shapes["blocking"], shapes[edge]
                assert (block[1] + block[3]) / 2 == pytest.approx(low)
                assert block[0] == pytest.approx(shapes["membrane"][2])
                assert shapes[tape][1] < block[1]
                assert block[3] < shapes[tape][3]
                backed += 1
    assert backed == taped
