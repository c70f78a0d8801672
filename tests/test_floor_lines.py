"""Floor lines behind light cladding: stopped at every one, at every second one, or at none."""

import pytest
from test_detail_ladder import exposure_of, pressure_of

from exposure.detail import Circumstances, detail_schedule
from exposure.junction.catalogue import drawings_of
from exposure.junction.numbers import numbers_of


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
    assert {one for one in step.drawn if one in drawn} == {one for one in drawn if one.startswith("floor")}
