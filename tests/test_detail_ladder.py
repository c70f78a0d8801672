"""The ladder and the schedule: one schedule for every input, more exposure never a lesser detail, guards."""

import itertools
import re
from dataclasses import replace

import pytest
from builders import elevation_of
from hypothesis import given, settings
from hypothesis import strategies as st

from exposure.checks import RefusalError
from exposure.detail import Circumstances, detail_schedule, questions
from exposure.detail.cautions import caution_text, cautions
from exposure.detail.circumstances import FIXED_BY
from exposure.detail.corrosion import metal_line
from exposure.detail.ladder import ON_FILM, dam_height, ladder_rows, rank
from exposure.detail.levels import find_levels, levels, pressure_for_details, pressure_step, wetness_level
from exposure.detail.rule_file import local_rules
from exposure.detail.schedule_parts import Ask
from exposure.junction.numbers import numbers_of
from exposure.junction.one_lower import numbers_below
from exposure.rain.pressure import WallPressure
from exposure.rain.wind_pressure import head_of_water
from exposure.tables import load_table
from exposure.tables.standing import STANDING_WORDS, STANDINGS
from exposure.wall.classes import class_names, exposure_class

SPELLS = (10.0, 45.0, 70.0, 140.0)  # one in each class
PRESSURES = (60.0, 150.0, 250.0, 400.0, 500.0)  # one in each step, and one above the ladder
ROWS = {row.key: row for row in ladder_rows()}
CHOICES = {one.key: one.choices for one in questions() if one.kind == "choice"}
WALLS = [
    (wall, sheathing, window)
    for wall, sheathing, window in itertools.product(
        CHOICES["wall_type"], CHOICES["sheathing"], CHOICES["window_position"]
    )
    if not (window == "in the masonry cavity" and wall in ("timber frame with cladding", "rendered board"))
]


def frames_of(wall, window):
    """Kinds of frame such a wall can have, written by hand."""
    if wall == "cavity masonry":
        return ["not said", "box frame with straps", "set back in masonry"]
    if window == "in the masonry cavity":
        return ["not said", "box frame with straps", "set back in masonry"]
    if (wall, window) == ("masonry veneer", "over the cavity"):  # nothing to nail a flange to
        return ["not said", "box frame with straps"]
    return ["not said", "nailing flange", "box frame with straps"]


FRAMED_WALLS = [(*wall, frame) for wall in WALLS for frame in frames_of(wall[0], wall[2])]


def exposure_of(spell, *, for_details=None):
    return elevation_of(spell=spell, class_for_details=for_details or exposure_class(spell))


def pressure_of(facing, any_direction=None, *, indicative=False, gust=2.3):
    whole = facing if any_direction is None else any_direction
    return WallPressure(
        225.0,
        whole,
        facing,
        (whole, whole),
        1.0,
        gust,
        1.0,
        gust,
        20,
        0,
        20,
        indicative=indicative,
        short=indicative,
    )


def values_of(schedule):
    return {line.key: line.value for line in schedule.floor or schedule.lines}


def strength(key, value):
    if key == "metal":
        return {row["zone"]: row["strength"] for row in load_table("corrosion")["row"]}[value]
    if key == "inside_layer":
        return 1.0  # follows the climate, not the exposure
    return rank(ROWS[key], value)


def weaker(lower, higher):
    """Rows of ``higher`` that are missing or weaker than in ``lower``; boards take the place of layers and straps over open studs.

    A frame set back onto the framing needs no support over the cavity; a tray across that at its base needs no depth below it.
    """
    instead = set(ON_FILM) if higher.get("mem_class") == "W1 on rigid boards" else set()
    instead |= {"cav_base"} if "base_tray" in higher else set()
    cavity, back = (
        higher.get("cav_depth", higher.get("cav_render")),
        re.match(r"\d+", higher.get("reveal", "")),
    )
    if cavity is not None and back and float(back[0]) >= cavity + 20:  # mm, of cladding
        instead.add("sill_support")
    return [
        key
        for key, value in lower.items()
        if key not in instead
        if key not in higher or strength(key, higher[key]) < strength(key, value)
    ]


circumstances = st.builds(
    lambda wall, fixing, **others: Circumstances(
        wall_type=wall[0],
        sheathing=wall[1],
        window_position=wall[2],
        frame_type=wall[3],
        cladding_fixing=fixing if wall[0] in FIXED_BY.get(fixing, ()) else "not said",
        **others,
    ),
    fixing=st.sampled_from(CHOICES["cladding_fixing"]),
    wall=st.sampled_from(FRAMED_WALLS),
    storeys=st.integers(1, 4),
    eaves=st.sampled_from([0.0, 350.0, 900.0]),
    undrawn_junction=st.booleans(),
    roof_meets_wall=st.sampled_from(CHOICES["roof_meets_wall"]),
    run_off_from_above=st.booleans(),
    roof_below=st.sampled_from(CHOICES["roof_below"]),
    rooms=st.sampled_from(CHOICES["rooms"]),
    deck=st.sampled_from(CHOICES["deck"]),
    threshold=st.sampled_from(CHOICES["threshold"]),
    parapet=st.booleans(),
    sea_distance=st.none() | st.floats(0, 1e5),
    later_access=st.sampled_from(CHOICES["later_access"]),
    air_seal_tested=st.booleans(),
    frame_wet=st.booleans(),
    bare_limit_passed=st.booleans(),
    bare_limit=st.none() | st.floats(5, 400),
    cavity_break=st.booleans(),
    drying=st.sampled_from(CHOICES["drying"]),
    snow_depth=st.none() | st.floats(0, 900),
    work=st.sampled_from(CHOICES["work"]),
)


@pytest.mark.parametrize("beside", [False, pytest.param(True, marks=pytest.mark.slow)])
def test_each_combination_has_exactly_one_schedule(beside):
    count = 0
    for wall, spell, pressure, storeys, work in itertools.product(
        WALLS, SPELLS, PRESSURES, (2, 3), CHOICES["work"]
    ):
        mine = Circumstances(
            wall_type=wall[0],
            sheathing=wall[1],
            window_position=wall[2],
            storeys=storeys,
            parapet=beside,
            deck="enclosed at the first floor" if beside else "none",
            roof_meets_wall="roof or gutter ends inside the wall" if beside else "covers part of it",
            work=work,
        )
        schedule = detail_schedule(exposure_of(spell), pressure_of(pressure), mine)
        assert schedule.level in (1, 2, 3, 4)
        assert schedule.level == max(schedule.wetness_level, schedule.pressure_level)
        keys = [line.key for line in schedule.lines]
        assert keys
        assert len(keys) == len(set(keys))
        if schedule.specific_design:
            assert keys == ["specific_design"]
            assert schedule.floor
            assert not schedule.steps
        else:
            assert schedule.steps
            assert not schedule.floor
        assert (pressure > 450 or (storeys > 2 and wall[0] != "cavity masonry")) == bool(
            schedule.specific_design
        )
        assert bool(schedule.look_first) == (work == "standing wall")
        count += 1
    assert count == len(WALLS) * 4 * 5 * 2 * 2


def test_each_class_and_pressure_has_its_level():
    # by the limits of both axes as printed in the table of levels
    for place, name in enumerate(class_names(), 1):
        assert wetness_level(name) == place
    for pressure, step in [
        (0, 1),
        (100, 1),
        (100.01, 2),
        (200, 2),
        (300, 3),
        (300.01, 4),
        (450, 4),
        (450.01, 5),
    ]:
        assert pressure_step(pressure) == step
    for wet, push in itertools.product(range(4), range(4)):
        found = find_levels(class_names()[wet], pressure_of(PRESSURES[push]), Circumstances())
        assert (found.wetness, found.pressure, found.raised) == (wet + 1, push + 1, ())


@settings(max_examples=300, deadline=None)
@given(
    mine=circumstances,
    rule=st.sampled_from(["", *sorted(local_rules())]),
    spells=st.tuples(st.floats(0, 250), st.floats(0, 250)),
    facing=st.tuples(st.floats(0, 600), st.floats(0, 600)),
    extra=st.tuples(st.floats(0, 300), st.floats(0, 300)),
)
def test_more_exposure_never_gives_a_lesser_detail(mine, rule, spells, facing, extra):
    mine = mine.changed(local_rules=(rule,)) if rule else mine
    low_facing, high_facing = sorted(facing)
    low_any, high_any = sorted([low_facing + extra[0], high_facing + extra[1]])
    low = detail_schedule(exposure_of(min(spells)), pressure_of(low_facing, max(low_any, low_facing)), mine)
    high = detail_schedule(
        exposure_of(max(spells)), pressure_of(high_facing, max(high_any, high_facing)), mine
    )
    assert low.wetness_level <= high.wetness_level
    assert low.pressure_level <= high.pressure_level
    assert not weaker(values_of(low), values_of(high))
    assert not (low.specific_design and not high.specific_design)


WORSE = {
    "run_off_from_above": True,
    "later_access": "scaffold or lift needed",
    "frame_wet": True,
    "bare_limit_passed": True,
    "undrawn_junction": True,
    "roof_meets_wall": "roof or gutter ends inside the wall",
    "sheathing": "open studs",
    "sea_distance": 10.0,
    "drying": "slowly",
    "parapet": True,
    "bare_limit": 1.0,
    "snow_depth": 900.0,
}


@settings(max_examples=100, deadline=None)
@given(
    mine=circumstances, spell=st.floats(0, 250), push=st.floats(0, 600), field=st.sampled_from(sorted(WORSE))
)
def test_worse_circumstances_never_give_a_lesser_detail(mine, spell, push, field):
    worse = mine.changed(**{field: WORSE[field]})
    one = detail_schedule(exposure_of(spell), pressure_of(push), mine)
    other = detail_schedule(exposure_of(spell), pressure_of(push), worse)
    before, after = values_of(one), values_of(other)
    # snow told is not asked any more; under a parapet the cavity's top is told of the cap, as strictly, and the barrier under the eaves of
    # cavity masonry with its photo is not there
    told_else = {"snow_depth": {"snow_ask"}, "parapet": {"cav_top", "photo"}}.get(field, set())
    lost = set(weaker(before, after)) - told_else
    assert lost == set()
    if "photo" in weaker(before, after):
        assert (mine.wall_type, before["photo"] - after["photo"]) == ("cavity masonry", 1)
    if field == "parapet" and "cav_top" in before:
        assert after.get("cav_top_cap", after.get("cav_top")) == before["cav_top"]


@settings(max_examples=60, deadline=None)
@given(mine=circumstances, spell=st.floats(0, 250), push=st.floats(0, 600))
def test_a_tested_inner_seal_only_lowers_the_dams_and_is_searched_with_smoke(mine, spell, push):
    tested = values_of(
        detail_schedule(exposure_of(spell), pressure_of(push), mine.changed(air_seal_tested=True))
    )
    plain = values_of(
        detail_schedule(exposure_of(spell), pressure_of(push), mine.changed(air_seal_tested=False))
    )
    assert set(weaker(tested, plain)) <= {"smoke"}
    assert {key for key in tested if tested[key] != plain.get(key)} <= {"back_dam", "end_dam", "smoke"}
    assert set(plain) <= set(tested)
    assert tested["smoke"] in ("smoke at the seals", "smoke and a moisture log")


@settings(max_examples=100, deadline=None)
@given(mine=circumstances, spell=st.floats(0, 250), push=st.floats(0, 450), gust=st.floats(1, 4))
def test_dams_hold_the_head_of_water(mine, spell, push, gust):
    values = values_of(detail_schedule(exposure_of(spell), pressure_of(push, gust=gust), mine))
    least = push / 10 + 5  # 200 Pa is 20 mm, with 5 mm for splash
    if not mine.air_seal_tested:
        least = max(least, float(head_of_water(push * gust)) + 5)
    assert values["back_dam"] >= least - 1e-6
    assert values["end_dam"] >= values["back_dam"]
    assert values["back_dam"] % 5 == 0


@pytest.mark.parametrize(
    ("pressure", "height"), [(100, 15), (150, 20), (200, 25), (300, 35), (400, 45), (450, 50)]
)
def test_dam_by_head_of_water_by_hand(pressure, height):
    # a tenth of the pressure in mm plus 5 mm, up to the next 5: 100 Pa is 10 + 5 = 15
    assert dam_height(0, pressure=pressure) == height


def test_direction_buys_one_level_and_no_more():
    for any_direction, facing in itertools.product(range(0, 600, 25), range(0, 600, 25)):
        if facing > any_direction:
            continue
        used = pressure_for_details(facing=facing, any_direction=any_direction)
        assert facing <= used <= max(any_direction, facing)
        found = find_levels("sheltered", pressure_of(facing, any_direction), Circumstances())
        assert found.pressure >= min(pressure_step(any_direction) - 1, 4)


def test_the_ladder_is_the_floor_of_a_dam():
    # 110 Pa with a tested seal: 11 + 5 = 16, up to 20 mm, but level 2 asks 25
    schedule = detail_schedule(exposure_of(10.0), pressure_of(110.0), Circumstances(air_seal_tested=True))
    values = values_of(schedule)
    assert schedule.pressure_level == 2
    assert (values["back_dam"], values["end_dam"]) == (25, 25)


@pytest.mark.parametrize(
    ("facing", "any_direction", "used"),
    # one level bought, so the limit two steps below that of any direction stands in
    [(60, 90, 60), (60, 180, 60), (60, 250, 100), (60, 350, 200), (60, 500, 300), (280, 350, 280)],
)
def test_pressure_for_details_by_hand(facing, any_direction, used):
    assert pressure_for_details(facing=facing, any_direction=any_direction) == used


@pytest.mark.parametrize(("push", "level"), [(10, 1), (50, 1), (50.5, 2), (99, 2), (150, 2), (250, 3)])
def test_a_short_record_takes_the_lowest_level_where_twice_its_figure_stays_there(push, level):
    # the limit of level 1 is 100 Pa, so half of it by a short record
    assert find_levels("sheltered", pressure_of(push, indicative=True), Circumstances()).pressure == level
    if push <= 100:
        assert find_levels("sheltered", pressure_of(push), Circumstances()).pressure == 1


def test_the_class_for_details_decides_not_the_class():
    # a neighbour may buy one class only: sheltered by its neighbours, severe without, so the details take moderate
    schedule = detail_schedule(exposure_of(20.0, for_details="moderate"), pressure_of(50), Circumstances())
    assert schedule.wetness_level == 2
    assert any("counted as moderate" in line.why for line in schedule.lines)


@pytest.mark.parametrize("wall", WALLS, ids=lambda wall: ", ".join(wall))
def test_the_lowest_level_still_has_tape_tray_flashing_and_seal(wall):
    mine = Circumstances(wall_type=wall[0], sheathing=wall[1], window_position=wall[2])
    schedule = detail_schedule(exposure_of(SPELLS[0]), pressure_of(PRESSURES[0]), mine)
    keys = {line.key for line in schedule.lines}
    assert schedule.level == 1
    assert "open_tape" in keys or "dpc_jamb" in keys
    assert {"sill_form", "back_dam", "end_dam", "bottom_open", "air_seal"} <= keys
    assert "head_form" in keys or "head_tray_mas" in keys
    sides = next(line.build for line in schedule.lines if line.key == "air_seal")
    assert "all four sides" in sides


@settings(max_examples=80, deadline=None)
@given(mine=circumstances, spell=st.floats(0, 250), push=st.floats(0, 450))
def test_no_cavity_is_allowed_at_the_lowest_wetness_only(mine, spell, push):
    schedule = detail_schedule(exposure_of(spell), pressure_of(push), mine)
    values = values_of(schedule)
    if values.get("cav_depth") == 0:
        assert schedule.wetness_level == 1
        assert "cav_vent" not in values
    elif any(key in values for key in ("cav_depth", "cav_render", "cav_mas")):
        assert {"cav_vent", "cav_vent_mas"} & values.keys()
        assert "cav_fire" in values


CUTS = re.compile(r"\b(cut|notch|open|bridge|remove|leave out|through)\b[^.;]*\bbarrier", re.IGNORECASE)


def test_no_line_opens_or_bridges_a_cavity_barrier():
    for row in ladder_rows():
        for build in row.build:
            if row.key == "cav_fire":
                assert "no batten, strap, vent, flashing or pipe may open, cut or bridge one" in build
            else:
                assert not CUTS.search(build), row.key
        if row.cavity in ("opens", "crosses") or row.stage == 8:
            told = caution_text(row.caution) + " ".join(row.build)
            assert row.key == "slot" or "barrier" in told or row.cavity == "closes", row.key
    for row in load_table("order_of_work")["row"]:
        found = CUTS.search(row["text"])
        assert not found or "never a barrier" in row["text"], row["text"]
    assert any("cavity barrier" in caution for caution in cautions("every"))


def test_rows_keep_their_direction():
    for row in ladder_rows():
        assert len(row.values) == len(row.standings) == 4, row.key
        assert len(row.sources) in (1, 4), row.key
        assert all(source.strip() for source in row.sources), row.key
        assert len(row.build) in (1, 4), row.key
        assert set(row.standings) <= set(STANDINGS), row.key
        assert row.axis in ("W", "P", "M", "-"), row.key
        assert row.reason.endswith("."), row.key
        strengths = [rank(row, value) for value in row.values]
        assert strengths == sorted(strengths), row.key
        if row.direction == "same" or row.axis == "-":
            assert len(set(row.values)) == 1, row.key
        assert (row.direction == "same") == (row.axis == "-"), row.key
    assert sorted(ladder_rows(), key=lambda row: row.stage) == list(ladder_rows())
    assert [level.exposure_class for level in levels()] == class_names()


@settings(max_examples=80, deadline=None)
@given(mine=circumstances, spell=st.floats(0, 250), push=st.floats(0, 450))
def test_each_line_says_axis_reason_standing_and_asks_to_confirm(mine, spell, push):
    schedule = detail_schedule(exposure_of(spell), pressure_of(push), mine)
    for line in schedule.floor or schedule.lines:
        assert line.axis in ("W", "P", "M", "-")
        assert line.standing in STANDING_WORDS
        assert line.verified == (line.standing == "read")
        assert line.why
        assert line.one_lower
        assert "{" not in line.build + line.why
        if line.standing in ("second hand", "from memory", "ours"):
            assert line.source.endswith(f"({STANDING_WORDS[line.standing].words}, confirm)")
        if (
            line.axis == "-"
            and line.key in ROWS
            and "snow lies" not in line.why
            and line.decided_by != "this wall"
        ):
            assert (
                line.reason == ROWS[line.key].reason
            )  # its figures say no more than the reason of the ladder
        if line.axis in ("W", "P", "M"):
            assert " Here " in line.why
            by_itself = ("snow lies", "hold points", "whose flange lies on the boards")
            told = line.decided_by == "this wall" and any(one in line.why for one in by_itself)
            assert told or "L/m²" in line.why or "Pa" in line.why
    for step in schedule.steps:
        assert "{" not in step.text


def test_figures_of_this_elevation_stand_in_its_reasons():
    schedule = detail_schedule(exposure_of(70.0), pressure_of(138.0), Circumstances())
    lines = {line.key: line for line in schedule.lines}
    assert "70\u00a0L/m² in the worst spell in three years, severe" in lines["cav_depth"].why
    assert (
        "140\u00a0Pa in heavy rain once in five years, 15\u00a0mm of water" in lines["head_up"].why
    )  # by hand 140 / 9.807 = 14.3
    # by hand: 138 Pa x 2.3 = 317 Pa = 32.4 mm of water, 5 mm for splash, up to the next 5
    assert lines["back_dam"].value == 40
    assert lines["back_dam"].standing == "worked out"
    # tested, the gust is not counted: 138 / 10 + 5 = 18.8, up to 20, and level 2 asks 25
    assert "with one, 25\u00a0mm would do" in lines["back_dam"].why
    assert lines["cav_depth"].one_lower == "One level lower (wetness 2): 10\u00a0mm."


def test_one_level_lower_is_never_below_what_slow_drying_asks():
    """Wetness 1 by its class, 2 by air that dries slowly: lower is refused, as a rule's level is; pressure may go."""
    slow = Circumstances(drying="slowly")
    schedule = detail_schedule(exposure_of(5.0), pressure_of(20.0), slow)
    assert (schedule.wetness_level, schedule.pressure_level) == (2, 1)
    for line in schedule.lines:
        if line.axis in ("W", "M") and len(set(ROWS[line.key].values)) > 1 and line.key != "photo":
            assert line.one_lower == "No level is lower here: air that dries slowly asks wetness 2.", line.key
            assert schedule.below.get(line.key, line.value) == line.value
    below = numbers_below(numbers_of(schedule, slow, pressure_of(20.0)))
    assert (below.level, below.wetness, below.pressure) == (2, 2, 1)


ALL_TOLD = {
    "frame_type": "nailing flange", "bare_limit": 90.0, "sea_distance": 20_000.0, "local_rules": ("ireland",),
    "rooms": "neither, a mild climate", "cladding_fixing": "boards nailed through the face",
}  # fmt: skip


@pytest.mark.parametrize(
    ("key", "mine", "wall", "push"),
    [
        ("bare_limit_unknown", {"bare_limit": None}, {}, {}),
        ("frame_not_said", {"frame_type": "not said"}, {}, {}),
        ("fixing_not_said", {"cladding_fixing": "not said"}, {}, {}),
        ("seal_to_be_tested", {"air_seal_tested": True}, {}, {}),
        (None, {"cladding_fixing": "not said", "wall_type": "rendered board"}, {}, {}),  # no other is on offer there
        ("sea_distance_unknown", {"sea_distance": None}, {}, {}),
        ("no_local_rules", {"local_rules": ()}, {}, {}),
        ("raised_one_level", {"run_off_from_above": True}, {}, {}),
        ("light_rain_class", {}, {"class_any_rain": "severe"}, {}),
        ("class_by_band", {}, {"class_band": ("moderate", "severe")}, {}),
        (None, {}, {"class_band": ("sheltered", "moderate")}, {}),
        (None, {"drying": "slowly"}, {"exposure_class": "sheltered", "class_for_details": "sheltered",
                                      "class_any_rain": "sheltered", "class_band": ("sheltered", "moderate")},
         {}),  # slow drying asks level 2 already
        ("wind_seldom_square", {}, {}, {"facing": 60.0, "any_direction": 250.0}),
        (None, {}, {}, {"facing": 99.6, "any_direction": 250.0}),
        ("short_lowest", {}, {"indicative": True, "exposure_class": "sheltered", "class_for_details": "sheltered",
                              "class_any_rain": "sheltered"}, {}),
        ("short_lowest", {}, {}, {"facing": 20.0, "indicative": True}),
        (None, {}, {"indicative": True}, {"facing": 150.0, "indicative": True}),
    ],
)  # fmt: skip
def test_each_doubt_of_a_schedule_comes_by_its_own_cause(key, mine, wall, push):
    exposure = replace(exposure_of(45.0), **wall)  # moderate
    pressure = pressure_of(**{"facing": 150.0, **push})
    flags = detail_schedule(exposure, pressure, Circumstances(**{**ALL_TOLD, **mine})).flags
    own = {getattr(one, "key", "") for one in flags}
    own -= {
        "detail.rule_read",
        "detail.rule_not_read",
        "detail.open_answer",
        "detail.open_number",
        "rain.pressure_few_years",
    }
    told = {one.removeprefix("detail.") for one in own if not one.startswith("junction.")}
    assert told == ({key} if key else set())


@pytest.mark.parametrize(("raised", "level"), [(False, 3), (True, 4)])
def test_a_class_by_band_says_the_level_it_would_ask(raised, level):
    exposure = replace(exposure_of(45.0), class_band=("moderate", "severe"))  # severe is level 3
    mine = Circumstances(run_off_from_above=raised)
    flags = detail_schedule(exposure, pressure_of(150.0), mine).flags
    (told,) = [one for one in flags if getattr(one, "key", "") == "detail.class_by_band"]
    assert told.numbers["level"] == level


def test_several_causes_raise_once_and_are_all_told():
    mine = Circumstances(frame_wet=True, run_off_from_above=True)
    schedule = detail_schedule(exposure_of(45.0), pressure_of(150.0), mine)
    assert (schedule.wetness_level, schedule.pressure_level) == (3, 3)
    assert len(schedule.raised) == 2
    assert any("water from above" in flag and "20 % moisture" in flag for flag in schedule.flags)


def test_open_studs_get_boards_where_the_ladder_asks_them():
    mine = Circumstances(sheathing="open studs")
    low = detail_schedule(exposure_of(10.0), pressure_of(50.0), mine)
    hard = detail_schedule(exposure_of(70.0), pressure_of(50.0), mine)
    assert any("blocking" in step.text for step in low.steps)
    assert not any("blocking" in step.text for step in hard.steps)
    assert any("rigid boards" in flag for flag in hard.flags)


def test_one_level_lower_no_count_is_told_of_nothing_and_no_number_of_photos():
    """Level 1 asks no count; photos are as many as the hold points that ask for one, at any level."""
    schedule = detail_schedule(exposure_of(45.0), pressure_of(150.0), Circumstances())
    lines = {line.key: line for line in schedule.lines}
    for key in ("chk_first", "chk_min"):
        assert lines[key].one_lower.endswith(": no count is asked."), key
    assert lines["photo"].one_lower == "At any level each hold point for a photo has one."
    assert lines["photo"].lower == ""


def test_order_of_work_tray_before_window_tape_before_head():
    for wall in WALLS:
        mine = Circumstances(wall_type=wall[0], sheathing=wall[1], window_position=wall[2])
        steps = [step.text for step in detail_schedule(exposure_of(70.0), pressure_of(150.0), mine).steps]

        def first(*words, steps=steps):
            return next(i for i, text in enumerate(steps) if all(word in text.lower() for word in words))

        tray = first("sill tray", "back upstand")
        window = next(
            i for i, text in enumerate(steps) if text.startswith(("Set the window", "Fix the window"))
        )
        check = first("check with water")
        seal = first("inside:", "seal")
        assert tray < window < seal < check
    holds = [
        step
        for step in detail_schedule(exposure_of(70.0), pressure_of(150.0), Circumstances()).steps
        if step.hold
    ]
    assert len(holds) >= 4


def test_unknown_words_are_refused():
    with pytest.raises(RefusalError, match="a detail called 'colour'"):
        Circumstances.from_mapping({"colour": "red"})
    with pytest.raises(
        RefusalError, match="'junctions'; expected undrawn_junction, true or false, in its place"
    ):
        Circumstances.from_mapping({"junctions": "simple, one cladding"})
    with pytest.raises(RefusalError, match="wall type is 'straw'"):
        Circumstances.from_mapping({"wall_type": "straw"})
    with pytest.raises(RefusalError, match="parapet is 'yes'"):
        Circumstances.from_mapping({"parapet": "yes"})
    with pytest.raises(RefusalError, match=r"storeys is 1\.5"):
        Circumstances.from_mapping({"storeys": 1.5})
    with pytest.raises(RefusalError, match="a wall with a masonry leaf"):
        Circumstances(window_position="in the masonry cavity")
    with pytest.raises(RefusalError, match="a detail called 'hight'"):
        Circumstances.from_mapping({"elevations": {"north": {"hight": 2}}})
    with pytest.raises(RefusalError, match="elevations is"):
        Circumstances.from_mapping({"elevations": [1]})


def test_each_field_is_asked_and_defaults_agree():
    asked = {one.key: one.default for one in questions()}
    plain = Circumstances()
    assert set(asked) == set(Circumstances.__dataclass_fields__) - {"local_rules", "rule_answers"}
    for field, default in asked.items():
        assert getattr(plain, field) == default
    for one in questions():
        assert one.question.rstrip().endswith(("?", "."))


def test_nearer_the_sea_never_a_lesser_metal():
    strengths = [strength("metal", metal_line(metres).value) for metres in (0, 999, 1000, 9999, 10000, 1e6)]
    assert strengths == sorted(strengths, reverse=True)
    assert metal_line(None).value == metal_line(1000.0).value
    asked = Ask("metal", "at least", 3, "A rule", "ours")
    said = [metal_line(20_000.0, asks).one_lower for asks in ((), (asked,))]
    assert said == [f"{who} decides, not the level." for who in ("The distance to the sea", "A local rule")]


words = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8)
nested = st.recursive(
    words,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)


@settings(max_examples=300, deadline=None)
@given(
    given_words=st.dictionaries(
        st.sampled_from([*Circumstances.__dataclass_fields__, "elevations", "colour"]), nested, max_size=4
    )
)
def test_whatever_a_file_says_gives_circumstances_or_a_refusal(given_words):
    try:
        mine = Circumstances.from_mapping(given_words, elevation="north")
        detail_schedule(exposure_of(45.0), pressure_of(150.0), mine)
    except RefusalError:
        return
    assert mine.wall_type in CHOICES["wall_type"]


def test_a_stop_that_rests_on_a_lifted_grid_says_so():
    # 500 Pa is above the ladder's 450; unlifted it is 217 Pa, and a gauge's own 500 Pa has no such way out
    lifted = replace(pressure_of(500.0), grid_factor=2.3)
    for pressure, told in (
        (lifted, True),
        (pressure_of(500.0), False),
        (replace(pressure_of(1200.0), grid_factor=2.3), False),
    ):
        stop = detail_schedule(exposure_of(70.0), pressure, Circumstances()).specific_design
        assert ("a local gauge may bring it below" in stop) == told


def test_a_short_records_level_says_why_it_is_not_the_lowest():
    schedule = detail_schedule(exposure_of(20.0), pressure_of(60.0, indicative=True), Circumstances())
    why = next(line.why for line in schedule.lines if line.key == "head_up")
    assert schedule.pressure_level == 2
    assert "counted as level 2, since the record is short" in why
    # 10 Pa, twice 20: the lowest level though the record is short, and no line may claim another
    schedule = detail_schedule(exposure_of(20.0), pressure_of(10.0, indicative=True), Circumstances())
    assert schedule.pressure_level == 1
    assert not any("counted as level 2" in line.why for line in schedule.lines)


def test_the_inner_seal_is_joined_to_the_layer_that_the_drawings_name():
    """The sections draw an airtight inner lining: the order and every step join the seal to that, by that name."""
    told = next(row.build for row in ladder_rows() if row.key == "air_seal")
    steps = [row["text"] for row in load_table("order_of_work")["row"] if "{air_seal}" in row["text"]]
    assert ["airtight lining" in words for words in told] == [False, False, True, True]
    assert all("lining" in words for words in steps)
    assert len(steps) == 4
