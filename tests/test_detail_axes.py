"""Wetness and pressure told apart by name, on every line and surface; the lowest level by a short record."""

import dataclasses

import numpy as np
import pandas as pd
import pytest
from builders import climate_of
from hypothesis import given, settings
from hypothesis import strategies as st
from test_detail_ladder import circumstances, exposure_of, pressure_of, values_of, weaker

from exposure.detail import Circumstances, detail_schedule
from exposure.detail.axes import axes_meaning, axis_steps
from exposure.doubts import has_doubt
from exposure.paper.sheet_words import level_words
from exposure.rain.index import airfield_index
from exposure.rain.pressure import wall_pressures
from exposure.wall import Site, Wall
from exposure.wall.index import wall_exposure


def schedule_of(spell, push, mine=None, **short):
    return detail_schedule(exposure_of(spell), pressure_of(push, **short), mine or Circumstances())


def test_a_windy_dry_wall_is_not_called_drained_and_vented():
    # 10 L/m2 is the lowest class, 400 Pa the highest step: lapped boards straight to the wall, high upstands
    schedule = schedule_of(10.0, 400.0, Circumstances(frame_type="box frame with straps"))
    assert values_of(schedule)["cav_depth"] == 0  # a flange on the boards, set back, would need one
    assert schedule.axes == "wetness 1 of 4, pressure 4 of 4"
    assert level_words(schedule) == "Build to wetness 1 of 4, pressure 4 of 4."
    said = [words for words, _ in axis_steps(schedule)]
    assert said == ["1 lap: wetness", "2 tape", "3 drain", "4: pressure"]
    assert "vented cavity" not in axes_meaning(schedule)
    assert "drain" not in schedule.level_name


def test_both_axes_on_one_step():
    steps = axis_steps(schedule_of(140.0, 400.0))
    assert [on for _, on in steps] == [False, False, False, True]
    assert steps[3][0] == "4 drain and vent: wetness, pressure"


@pytest.mark.parametrize(
    ("spell", "push", "key", "decided"),
    [  # by the axes of the rows: the fall of the tray is wetness', the leg of the flashing pressure's, laps the harder's
        (10.0, 400.0, "sill_slope", "wetness"),
        (10.0, 400.0, "head_up", "pressure"),
        (10.0, 400.0, "lap_h", "pressure"),
        (140.0, 60.0, "lap_h", "wetness"),
        (70.0, 250.0, "lap_h", "wetness and pressure"),
        (10.0, 400.0, "low_timber", ""),
    ],
)
def test_each_line_says_what_decides_it(spell, push, key, decided):
    line = next(line for line in schedule_of(spell, push).lines if line.key == key)
    assert line.decided_by == decided
    if decided:
        assert decided.split()[0] in line.why


def test_what_neither_axis_decides_is_said():
    mine = Circumstances(window_position="over the cavity", bare_limit=7.0, local_rules=("canada",))
    lines = {line.key: line for line in schedule_of(10.0, 60.0, mine).lines}
    assert lines["bare_max"].decided_by == "this wall"  # the maker's own limit
    assert lines["gnd"].decided_by == "a local rule"  # 200 mm in Canada, 155 by the ladder


@settings(max_examples=100, deadline=None)
@given(mine=circumstances, spell=st.floats(0, 250), push=st.floats(0, 450))
def test_every_line_names_what_decides_it(mine, spell, push):
    schedule = detail_schedule(exposure_of(spell), pressure_of(push), mine)
    for line in schedule.floor or schedule.lines:
        assert line.decided_by in (
            ("wetness", "pressure", "wetness and pressure", "this wall", "a local rule")
            if line.axis != "-"
            else ("", "this wall")
        ), line.key


@settings(max_examples=80, deadline=None)
@given(
    mine=circumstances,
    spell=st.floats(0, 250),
    pushes=st.tuples(st.floats(0, 600), st.floats(0, 600)),
    short=st.booleans(),
)
def test_more_pressure_never_gives_a_lesser_detail_by_a_short_record_either(mine, spell, pushes, short):
    low, high = (
        detail_schedule(exposure_of(spell), pressure_of(push, indicative=short), mine)
        for push in sorted(pushes)
    )
    assert not weaker(values_of(low), values_of(high))
    sure = detail_schedule(exposure_of(spell), pressure_of(min(pushes)), mine)
    assert not weaker(values_of(sure), values_of(low))  # a short record never makes it milder


def invented_year(*, wind):
    """A typical year, invented: an hour of 2 mm every fourth day, out of the west."""
    time = pd.date_range("2001-01-01", "2001-12-31T23:00", freq="h")
    rain = np.where(np.arange(time.size) % 97 == 0, 2.0, 0.0)
    return climate_of(
        time,
        rain=rain,
        wind_speed=np.full(time.size, wind),
        wind_from_direction=270.0,
        kind="typical year",
        source="Invented",
        licence="none",
        flags=[],
    )


@pytest.mark.parametrize(
    ("wind", "levels", "told"),
    [
        # by hand, wall factor 0.3 under deep eaves, C_R of suburbs 0.22 ln(8 / 0.3) = 0.72: a spell is one hour,
        # 2/9 x 5 x 2^(8/9) x 0.72 x 0.3 = 0.45 L/m2; pressure 0.6125 x 25 x 0.72^2 = 8 Pa, lowest twice over
        (5.0, (1, 1), True),
        # 0.6125 x 15^2 x 0.72^2 = 72 Pa: within level 1 (100 Pa) once, but not twice
        (15.0, (1, 2), True),
    ],
)
def test_an_invented_sheltered_cottage_under_deep_eaves(wind, levels, told):
    climate = invented_year(wind=wind)
    wall = Wall(name="west", orientation=270, length=8, height=5, shape="two-storey eaves wall")
    site = Site("Nowhere", 50, 0, terrain="III")
    exposure = wall_exposure(airfield_index(climate, orientation=[270.0]), site, wall)
    factor = exposure.factors[0].value * exposure.factors[1].value
    (pressure,) = wall_pressures(climate, orientation=[270.0], speed_factor=factor)
    schedule = detail_schedule(exposure, pressure, Circumstances(eaves=900.0))
    assert exposure.indicative
    assert pressure.short
    assert (schedule.wetness_level, schedule.pressure_level) == levels
    assert has_doubt(schedule.flags, "detail.short_lowest") == told
    assert not has_doubt(
        detail_schedule(exposure_of(10.0), pressure_of(10.0), Circumstances()).flags, "detail.short_lowest"
    )


def test_a_short_record_near_the_limit_of_wetness_is_lifted():
    # the lowest class ends at 33 L/m2, so half of it by a short record; the hourly wind sets the spell
    climate = invented_year(wind=5.0)
    wall = Wall(name="west", orientation=270, length=8, height=5, shape="two-storey gable")
    site = Site("Nowhere", 50, 0, terrain="II")
    index = airfield_index(climate, orientation=[270.0])
    one = wall_exposure(index, site, wall).wall_spell_index
    found = {}
    for spell in (16.0, 17.0, 34.0):
        scaled = index.assign(
            airfield_spell_index=index["airfield_spell_index"] * spell / one,
            airfield_spell_index_any_rain=index["airfield_spell_index_any_rain"] * spell / one,
        )
        found[spell] = wall_exposure(scaled, site, wall).class_for_details
    assert found == {16.0: "sheltered", 17.0: "moderate", 34.0: "moderate"}


def test_surfaces_name_both_axes(tmp_path):
    schedule = dataclasses.replace(schedule_of(10.0, 400.0), specific_design=None)
    from exposure.junction.numbers import numbers_of

    assert (
        numbers_of(schedule, Circumstances(), pressure_of(400.0)).level_name
        == "wetness 1 of 4, pressure 4 of 4"
    )
