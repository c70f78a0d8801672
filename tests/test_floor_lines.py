"""Floor lines behind light cladding: stopped at every one, at every second one, or at none."""

import re

import pytest
from test_detail_ladder import exposure_of, pressure_of
from test_junction import ladder_numbers

from exposure.detail import Circumstances, detail_schedule
from exposure.detail.materials import not_counted
from exposure.junction.build_up import cladding, wall_of
from exposure.junction.catalogue import drawings_of
from exposure.junction.numbers import numbers_of


def told_as_drawn(words):
    """12 mm under the front leg, where its drip bends out, with the mesh behind them, 5 mm over the flashing: the sizes of the drawings, "gap below" and "gap"."""
    return re.search(
        r"12\smm in the cladding, mesh behind it, under the front leg of .*, and 5\smm over that flashing, neither sealed",
        words,
    )


@pytest.mark.parametrize("wall", ["timber frame with cladding", "rendered board"])
@pytest.mark.parametrize(
    ("spell", "storeys", "stopped", "runs_past"),
    [(140.0, 3, 1, False), (45.0, 3, 2, True), (45.0, 2, None, True), (140.0, 2, 1, False)],
)
def test_a_floor_line_where_the_cavity_runs_past_is_drawn_and_told_where_there_is_one(
    wall, spell, storeys, stopped, runs_past
):
    """Three storeys stopped at every second floor have one floor line that is not; at every floor none."""
    mine = Circumstances(wall_type=wall, storeys=storeys, cavity_break=True)
    pressure = pressure_of(100.0)
    schedule = detail_schedule(exposure_of(spell), pressure, mine)
    assert next((line.value for line in schedule.lines if line.key == "cav_run"), None) == stopped
    drawings, _ = drawings_of([("south", numbers_of(schedule, mine, pressure))])
    drawn = {one.section.key for one in drawings}
    assert ("floor-line" in drawn) is (stopped is not None)
    assert ("floor-open" in drawn) is runs_past
    [step] = [step for step in schedule.steps if step.text.startswith("At each floor line leave a gap")]
    assert ("on the battens" in step.text) is runs_past
    assert "{" not in step.text
    assert told_as_drawn(step.text)
    stop = [step.text for step in schedule.steps if "cavity is stopped at a floor set" in step.text]
    assert len(stop) == (stopped is not None)
    assert all("its drip hangs below the foot of any barrier under it" in words for words in stop)
    assert {one for one in step.drawn if one in drawn} == {one for one in drawn if one.startswith("floor")}


@pytest.mark.parametrize(("push", "leg"), [(50.0, 50), (400.0, 100)])
def test_boards_straight_on_the_membrane_have_a_flashing_at_floors_as_over_a_head(push, leg):
    """Its leg and its fall are those of the head flashing: 50 mm at the lowest pressure, 100 mm at the highest, 6 % at the lowest wetness."""
    here = Circumstances(storeys=2, frame_type="box frame with straps")  # a flange may ask a cavity
    schedule = detail_schedule(exposure_of(10.0), pressure_of(push), here)
    lines = {line.key: line for line in schedule.lines}
    assert lines["cav_depth"].value == 0
    [step] = [step for step in schedule.steps if step.text.startswith("At each floor line leave a gap")]
    words = step.text.replace("\xa0", " ")
    assert (
        "12 mm in the cladding under the front leg of a flashing, and 5 mm over that, neither sealed" in words
    )
    assert f"falling 6 %, its leg {leg} mm up behind the membrane" in words
    assert {"head_slope", "head_up"} <= set(step.sets)
    assert "flashing's front leg at each floor line" in lines["floor_gap"].build
    assert "over a head and at a floor line" in lines["clad_gap"].build


def test_a_wall_without_a_cavity_has_none_of_its_barriers():
    """In no row, step, frame or list; what used to come before them still comes before the boards."""
    pressure = pressure_of(50.0)
    for sheathing in ("sheathed", "open studs"):
        for spell, depth in ((10.0, 0), (45.0, 10)):
            mine = Circumstances(sheathing=sheathing, parapet=True)
            schedule = detail_schedule(exposure_of(spell), pressure, mine)
            lines = {line.key: line.value for line in schedule.lines}
            assert lines["cav_depth"] == depth
            steps = [step.text for step in schedule.steps]
            said = " ".join(steps)
            for found in (
                "cav_fire" in lines,
                bool(re.search("avity barrier|barrier's tray", said)),
                "cavity barriers and their trays" in not_counted(lines),
            ):
                assert found is (depth > 0)
            boards = next(place for place, words in enumerate(steps) if words.startswith("Fix the cladding"))
            for before in ("pipes and cables through", "membrane under the cap over the top"):
                assert any(before in words for words in steps[:boards])


def test_one_flashing_at_a_floor_is_bought_once():
    """Where the cavity is stopped at each floor line the stop's flashing is that of the gap; stopped at each second there are both kinds."""
    for spell, storeys, across, at_floors in (
        (140.0, 3, True, False),
        (45.0, 3, True, True),
        (45.0, 2, False, True),
    ):
        mine = Circumstances(storeys=storeys, cavity_break=True)
        schedule = detail_schedule(exposure_of(spell), pressure_of(100.0), mine)
        bought = not_counted({line.key: line.value for line in schedule.lines})
        assert ("flashings across the cavity" in bought) is across
        assert ("flashings at floor lines" in bought) is at_floors


@pytest.mark.parametrize("spell", [45.0, 140.0])
def test_the_gap_at_a_stop_vents_the_cavity_under_its_barrier(spell):
    """It lies below the barrier's foot, which the flashing hangs past; battens end there too."""
    mine = Circumstances(storeys=3, cavity_break=True)
    pressure = pressure_of(100.0)
    drawings, _ = drawings_of(
        [("south", numbers_of(detail_schedule(exposure_of(spell), pressure, mine), mine, pressure))]
    )
    [made] = [one.section for one in drawings if one.section.key == "floor-line"]
    foot = min(y for _, y in made.layer("barrier").outline)
    top, drip = (
        pick(y for _, y in made.layer(key).outline)
        for pick, key in ((max, "cladding below"), (min, "flashing"))
    )
    [gap] = [one for one in made.dimensions if one.key == "floor_gap"]
    assert gap.value == 12
    assert top + 12 == pytest.approx(max(gap.start[1], gap.end[1]))
    assert top + 12 <= foot
    assert top + 12 == pytest.approx(drip)  # clear under the lowest of the metal
    assert drip < foot
    assert max(y for _, y in made.layer("battens below").outline) <= top


@pytest.mark.parametrize("high", [149.0, 150.0, 151.5, 161.0, 163.0, 300.0, 305.0])
def test_boards_have_no_sliver_of_a_next_one_at_their_top(high):
    """Boards of 150 mm, each lapped by the next: one of a millimetre or two would look like a lip of metal on the board below."""
    numbers = ladder_numbers(4, "timber frame with cladding")
    outline = cladding(wall_of(numbers), 0.0, high).outline
    face = [y for x, y in outline if x == wall_of(numbers).face]  # the foot of each board
    assert high - max(face) >= 12
    assert max(y for _, y in outline) == high
    assert len(face) == max(1, round((high - 12) / 150 + 0.5))  # by hand: 1, 1, 1, 1, 2, 2, 2
