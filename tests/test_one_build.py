"""One build for the house, and what levels cost by an office's own prices."""

import csv
import io
import json
import sys
from dataclasses import replace
from types import SimpleNamespace

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from test_detail_ladder import circumstances, exposure_of, pressure_of
from test_detail_rules import OFFICE

from exposure.assess.costs import (
    BuildCost,
    ElevationCost,
    LevelCost,
    build_cost,
    elevation_cost,
    level_cost,
    not_in_it,
)
from exposure.assess.one_build import Corner, OneBuild, OneLine, ToBuild, one_build, strictness
from exposure.assess.one_ring import one_ring
from exposure.assess.prices import Prices, read_prices
from exposure.checks import RefusalError
from exposure.cli import main
from exposure.cli.example_command import example_text
from exposure.detail import Circumstances, detail_schedule
from exposure.detail.openings import Opening
from exposure.detail.rule_file import read_rule_text
from exposure.detail.take_off import TakeOff
from exposure.paper.sheet_building import _clashing
from exposure.wall import Wall

CORNERS = {
    "south": ((0, 0), (10, 0)),
    "east": ((10, 0), (10, 8)),
    "north": ((10, 8), (0, 8)),
    "west": ((0, 8), (0, 0)),
}


def built(name, spell, push, mine=None):
    mine = mine or Circumstances()
    start, end = CORNERS[name]
    length = abs(end[0] - start[0]) + abs(end[1] - start[1])
    wall = Wall(name=name, orientation=0, length=length, height=5, start=start, end=end)
    return ToBuild(wall, mine.wall_type, detail_schedule(exposure_of(spell), pressure_of(push), mine))


def values(lines):
    return {line.key: line for line in lines}


# One build


@settings(max_examples=150, deadline=None)
@given(
    walls=st.lists(st.tuples(st.floats(0, 250), st.floats(0, 600), circumstances), min_size=1, max_size=4),
)
def test_the_build_is_never_laxer_than_any_elevation(walls):
    houses = [built(name, *one) for name, one in zip(CORNERS, walls, strict=False)]
    for build in one_build(houses):
        shared = {one.line.key: one for one in build.lines}
        for house in houses:
            if house.wall_type != build.wall_type:
                continue
            for line in house.lines:
                one = shared[line.key]
                if one.apart:
                    assert strictness(line) is None
                elif strictness(line) is None:
                    assert one.line.value == line.value
                else:
                    assert strictness(one.line) >= strictness(line), line.key
        names = {name for one in build.lines for name in one.asked_by}
        assert names <= set(build.elevations)


@settings(max_examples=60, deadline=None)
@given(spell=st.floats(0, 250), push=st.floats(0, 600), mine=circumstances)
def test_one_elevation_gives_itself(spell, push, mine):
    house = built("south", spell, push, mine)
    (build,) = one_build([house])
    assert [one.line for one in build.lines] == list(house.lines)
    assert not build.is_needed
    assert build.alone == build.together
    assert build.corners == ()


def test_the_stricter_of_each_axis_comes_from_its_own_elevation():
    wet, windy = built("south", 150.0, 50.0), built("east", 10.0, 290.0)
    (build,) = one_build([wet, windy])
    found = {one.line.key: one for one in build.lines}
    assert found["cav_depth"].asked_by == ("south",)  # wetness alone decides it
    assert found["head_up"].asked_by == ("east",)  # pressure alone
    assert found["cav_depth"].more_for == ("east",)
    own = values(windy.lines)
    assert found["back_dam"].line.value == own["back_dam"].value


def test_walls_of_two_types_take_two_builds():
    veneer = Circumstances(wall_type="masonry veneer")
    builds = one_build(
        [built("south", 60.0, 90.0), built("east", 60.0, 90.0, veneer), built("north", 5.0, 20.0)]
    )
    assert [one.elevations for one in builds] == [("south", "north"), ("east",)]
    assert [one.wall_type for one in builds] == [Circumstances().wall_type, "masonry veneer"]


def test_corners_and_material_by_hand():
    hard, easy = built("south", 150.0, 90.0), built("east", 10.0, 20.0)
    far = built("north", 10.0, 20.0)
    (build,) = one_build([hard, easy, far])
    # south meets east alone; east and north are built alike
    (corner,) = build.corners
    assert corner.elevations == ("south", "east")
    assert corner.differ[0].replace("\u00a0", " ") == "cavity 50 mm against 0 mm"
    # level 4 keeps the cladding 150 mm above paving, so 4.85 of 5 m are clad
    # rigid boards: level 4 asks them, on 10 x 4.85 m alone, on all of 10, 8 and 10 x 4.85 m together, a tenth of waste
    assert (build.alone.rigid_board, build.together.rigid_board) == pytest.approx((53.35, 149.38))
    # battens at 450 mm, a tenth of waste: 10 m take 24 rows (22.2 up, and one), 8 m 19, of each the last a wide one at a corner, each 4.85 m; alone the south only
    assert build.alone.batten == pytest.approx(24 * 4.85 * 1.1)
    # a wall that had no cavity gets what a cavity needs
    vent = next(one for one in build.lines if one.line.key == "cav_vent")
    assert vent.more_for == ("east", "north")
    assert build.together.batten == pytest.approx((24 + 19 + 24) * 4.85 * 1.1)
    said = " ".join(build.in_words)
    assert "96 m² more rigid board" in said.replace("\u00a0", " ")
    assert (
        "waste included; membrane W1, wider tape, sill trays of a harder kind, inner seal of rod and sealant and battens for a cavity of 50 mm where less would do; "
        in said.replace("\u00a0", " ")
    )
    assert "1 corner where" in said
    assert "(south and east: cavity 50 mm against 0 mm)" in said.replace("\u00a0", " ")
    # in brief the corner is counted and not named; all else reads the same
    assert build.in_brief[:2] == build.in_words[:2]
    assert build.in_brief[2] == "It does away with 1 corner where builds differ."


def test_corners_count_where_stops_of_the_cavity_alone_differ():
    """What differs is put in by hand: at one corner a cavity stopped at every floor against every second one."""
    hard, other = built("south", 150.0, 90.0), built("east", 150.0, 90.0)
    lines = tuple(
        replace(line, value=2.0) if line.key == "cav_run" else line for line in other.schedule.lines
    )
    assert lines != other.schedule.lines
    assert one_build([hard, other])[0].corners == ()
    (build,) = one_build([hard, replace(other, schedule=replace(other.schedule, lines=lines))])
    assert [one.differ for one in build.corners] == [("cavity 1\u00a0storey against 2\u00a0storeys",)]


def test_one_build_in_words_by_hand():
    def row(key, value, unit, *asked, apart=False, less=()):
        return OneLine(SimpleNamespace(key=key, value=value, unit=unit), asked, less, apart)

    names = ("south", "east", "north")
    taken = TakeOff("all", 50.0, 4.0, 60.0, 100.0, 4.0, 5.0, 120.0, 8, 4)
    build = OneBuild(
        "brick", names,
        (
            row("cav_depth", 50.0, "mm", "south", less=("east", "north")), row("mem_class", "W1", "", *names),
            row("back_dam", 30.0, "mm", "south", "east", less=("north",)), row("lap_h", 150.0, "mm", *names),
            row("seam_tape", "all seams", "", "south", apart=True),
        ),
        taken, replace(taken, membrane=70.0),
        (
            Corner(("south", "east"), ("cavity 50 mm against 0 mm", "tape none against all")),
            Corner(("east", "north"), ("membrane W1 against W2",)),
        ),
        ("south", "east"),
    )  # fmt: skip
    said = [words.replace("\u00a0", " ") for words in build.in_words]
    assert said == [
        "One build for all 3 elevations, brick: cavity 50 mm (as south); membrane W1; sill tray up at the back 30 mm "
        "(as south and east); the rest as the hardest.",
        "Against wall by wall it takes 10 m² more membrane, waste included; battens for a cavity of 50 mm where less would "
        "do.",
        "It does away with 2 corners where builds differ (south and east: cavity 50 mm against 0 mm; east and north: "
        "membrane W1 against W2).",
        "south and east: a design of its own is needed; the build holds only its floor.",
    ]
    assert build.in_brief[2] == "It does away with 2 corners where builds differ."
    assert replace(build, corners=(), to_design=()).in_words == build.in_words[:2]
    named = replace(build, asks_too=("primer", "saddles")).in_words[1]
    assert named.endswith("would do; not counted: more primer and saddles.")
    alike = replace(build, lines=tuple(replace(one, more_for=()) for one in build.lines))
    assert alike.in_words == ("One build for brick: every elevation asks the same.",)


def test_how_strict_a_line_is_by_its_row():
    def strict(key, value):
        return strictness(SimpleNamespace(key=key, value=value))

    assert strict("cav_depth", 20.0) < strict("cav_depth", 50.0)
    assert strict("metal", "inland") < strict("metal", "sea front")
    assert strict("no such row", 1.0) is None
    assert strict("mem_class", "W2") < strict("mem_class", "W1 on rigid boards")


def test_an_elevation_beyond_the_ladder_is_named():
    beyond = built("south", 150.0, 600.0)
    assert beyond.schedule.specific_design
    (build,) = one_build([beyond, built("east", 10.0, 20.0)])
    assert build.to_design == ("south",)
    assert any("design of its own" in words for words in build.in_words)


@pytest.mark.parametrize(
    ("more", "said"),
    # what is taken off more or less, by hand; nothing that costs is called nothing
    [
        ({}, "no more material"),
        ({"membrane": 60.005}, "no more material"),
        ({"membrane": 60.5}, "under 1 m² more membrane"),
        ({"sill_tray": 4.1}, "under 1 m more sill tray"),
        ({"sill_tray": 4.1, "head_flashing": 8.0}, "3 m more head flashing"),  # beside metres no part of one
        ({"tape": 103.0, "batten": 150.0}, "3 m more tape and 30 m more batten"),
        ({"sill_tray": 6.0, "head_flashing": 8.0}, "2 m more sill tray and 3 m more head flashing"),
        ({"tape": 90.0, "membrane": 62.0}, "2 m² more membrane and 10 m less tape"),
    ],
)
def test_what_one_build_takes_more_in_words(more, said):
    alone = TakeOff("all", 50.0, 4.0, 60.0, 100.0, 4.0, 5.0, 120.0, 8, 4)
    build = OneBuild("w", ("a", "b"), (), alone, replace(alone, **more), (), ())
    assert build.more_words.replace("\u00a0", " ") == said
    boards = replace(build, together=replace(build.together, rigid_board=20.0))
    assert boards.more_words.replace("\u00a0", " ").endswith("20 m² more rigid board")
    nobody = replace(build, alone=replace(alone, tape=None), together=replace(alone, tape=None))
    assert nobody.more_words == "no more material"


def test_walls_meet_where_an_end_and_a_start_lie_within_five_centimetres():
    hard, easy = built("south", 150.0, 90.0), built("east", 10.0, 20.0)

    def corners(dx, dy, *, wall=easy, other=hard):
        moved = replace(wall.wall, start=(10 + dx, dy), end=(30, 30))
        (build,) = one_build([other, replace(wall, wall=moved)])
        return len(build.corners)

    assert corners(0.049, 0) == corners(0, -0.049) == corners(-0.049, 0.049) == 1
    assert corners(0.051, 0) == corners(0, 0.051) == corners(0, -0.051) == corners(-0.051, 0) == 0
    assert corners(0, 0, wall=built("east", 150.0, 90.0)) == 0  # built alike: nothing differs
    before = replace(easy, wall=replace(easy.wall, start=(30, 30), end=(0, 0)))  # it ends where south begins
    assert len(one_build([hard, before])[0].corners) == 1
    unknown = replace(easy, wall=replace(easy.wall, start=None, end=None))
    assert one_build([hard, unknown])[0].corners == ()


def test_walls_that_are_boarded_already_do_not_differ_by_their_boards():
    """W1 on rigid boards is W1 where boards are there; where none are, the corner and the harder wall are told."""
    hard, easy = built("south", 150.0, 150.0), built("east", 70.0, 150.0)  # wetness 4 and 3
    assert [values(one.lines)["mem_class"].value for one in (hard, easy)] == ["W1 on rigid boards", "W1"]

    def told(*, boarded):
        (build,) = one_build([replace(one, boarded=boarded) for one in (hard, easy)])
        asked = next(one for one in build.lines if one.line.key == "mem_class")
        return asked.more_for, any("rigid boards" in words for one in build.corners for words in one.differ)

    assert told(boarded=True) == ((), False)
    assert told(boarded=False) == (("east",), True)


def test_one_build_of_walls_with_and_without_boards_names_those_that_get_them():
    """South has boards and asks W1 on them, east has open studs: east gets boards, south nothing that it does not ask."""
    film = Circumstances(sheathing="open studs")
    on_boards = replace(built("south", 150.0, 150.0), boarded=True)  # wetness 4
    assert "on the rigid boards of the frame" in values(on_boards.lines)["mem_class"].build

    def told(*walls):
        (build,) = one_build(walls)
        asked = next(one for one in build.lines if one.line.key == "mem_class")
        return asked.asked_by, asked.more_for, asked.line.build.partition(", on ")[2], build.in_words[0]

    for spell in (10.0, 45.0):  # wetness 1 and 2: a basic membrane, and W2
        asked, more, ordered, said = told(on_boards, built("east", spell, 150.0, film))
        assert (asked, more) == (("south",), ("east",))
        assert ordered == "rigid boards fixed to the studs."
        assert (
            "membrane W1 on rigid boards (as south), the boards fixed first on east, where none stand;"
            in said
        )
    hard = built("east", 150.0, 150.0, film)  # it asks boards by itself; south, wetness 3, gets none
    asked, more, _, said = told(replace(built("south", 70.0, 150.0), boarded=True), hard)
    assert (asked, more) == (("south", "east"), ())
    assert "membrane W1 on rigid boards, the boards fixed first on east, where none stand;" in said
    for walls in ((on_boards, replace(hard, boarded=True)), (replace(on_boards, boarded=False), hard)):
        assert "where none stand" not in told(*walls)[3]  # all have boards, or all have none


def test_boards_alone_make_no_harder_membrane():
    """Wetness 4 and 3 ask W1, the first on boards; wetness 2 asks W2, for which W1 is the harder."""
    hard = built("south", 150.0, 150.0)
    for spell, own, harder in ((70.0, "W1", False), (45.0, "W2", True)):
        easy = built("east", spell, 150.0)
        assert values(easy.lines)["mem_class"].value == own
        assert ("membrane W1" in one_build([hard, easy])[0].harder_kinds) is harder


def test_a_seal_that_is_joined_or_looked_over_is_of_no_other_kind():
    """Pressure classes 1, 2 and 3 ask sealant or foam, rod and sealant, and the same joined; tape of 100, 150 and 150 mm at openings."""
    hard = built("south", 70.0, 150.0)
    for spell, own, harder in (
        (10.0, "sealant, or foam and sealant", True),
        (45.0, "rod and sealant", False),
    ):
        easy = built("east", spell, 20.0)
        assert values(easy.lines)["air_seal"].value == own
        assert values(hard.lines)["air_seal"].value == "rod and sealant, joined"
        assert ("inner seal of rod and sealant" in one_build([hard, easy])[0].harder_kinds) is harder
        assert one_build([hard, easy])[0].harder_kinds.count("wider tape") == harder


def test_a_cavity_stopped_at_more_floors_is_told():
    """Three storeys: south stops its cavity at every floor, east at every second one."""
    tall = Circumstances(storeys=3, cavity_break=True)
    hard, easy = built("south", 150.0, 90.0, tall), built("east", 45.0, 90.0, tall)
    assert [values(one.lines)["cav_run"].value for one in (hard, easy)] == [1, 2]
    across = "flashings across the cavity"
    assert across in one_build([hard, easy])[0].asks_too
    assert across not in one_build([hard, replace(hard, wall=easy.wall)])[0].asks_too


def test_a_row_that_only_one_elevation_has_is_asked_by_it_alone():
    bare, parapet = built("south", 60.0, 90.0), built("east", 60.0, 90.0, Circumstances(parapet=True))
    (build,) = one_build([bare, parapet])
    cap = next(one for one in build.lines if one.line.key == "cap_slope")
    assert (cap.asked_by, cap.more_for, cap.apart) == (("east",), (), False)  # a wall without one gets none
    lap = next(one for one in build.lines if one.line.key == "lap_h")
    assert (lap.asked_by, lap.more_for) == (("south", "east"), ())
    metal = one_build([built("south", 60.0, 90.0, Circumstances(sea_distance=100.0)), bare])[0].lines[0]
    assert (metal.line.key, metal.line.value, metal.asked_by[0]) == ("metal", "sea front", "south")


def test_two_walls_alike_hold_the_fall_of_one_anothers_cap_and_one_build_is_lowered_whole():
    """Both at wetness 3, 18 %: lowered alone, one would fall 9 % beside 18; built as one, both are lowered."""
    mine = Circumstances(parapet=True)
    north, south = (
        replace(detail_schedule(exposure_of(70.0), pressure_of(90.0), mine), elevation=name)
        for name in ("north", "south")
    )
    for as_one, said in (
        (False, ["The fall is that of south, at every level.", "The fall is that of north, at every level."]),
        (True, ["One level lower (wetness 2): 9\u00a0%."] * 2),
    ):
        found = one_ring([north, south], as_one=as_one)
        assert [values(one.lines)["cap_slope"].one_lower for one in found] == said
        assert [one.below["cap_slope"] for one in found] == ([9, 9] if as_one else [18, 18])
        assert {values(one.lines)["cap_slope"].decided_by for one in found} == {"wetness"}


def test_the_wall_whose_fall_all_caps_take_takes_them_along_one_level_lower():
    """By hand: wetness 3 asks 18 %, wetness 2 asks 9; lowered, the caps of the house fall as the steepest then asks, and a lone parapet by itself."""
    mine = Circumstances(parapet=True)
    north, south = (
        replace(detail_schedule(exposure_of(spell), pressure_of(90.0), mine), elevation=name)
        for name, spell in (("north", 70.0), ("south", 45.0))
    )
    assert [one.wetness_level for one in (north, south)] == [3, 2]
    first, last = one_ring([north, south])
    cap = values(first.lines)["cap_slope"]
    assert (cap.value, cap.lower) == (18, "9\u00a0% on every cap of the house.")
    assert cap.one_lower == "One level lower (wetness 2): 9\u00a0% on every cap of the house."
    assert values(last.lines)["cap_slope"].one_lower == "The fall is that of north, at every level."
    (steep,) = [replace(line, value=13.0) for line in south.lines if line.key == "cap_slope"]
    rest = tuple(steep if line.key == "cap_slope" else line for line in south.lines)
    first, _ = one_ring([north, replace(south, lines=rest)])
    assert values(first.lines)["cap_slope"].lower == "13\u00a0% on every cap of the house."
    assert first.below["cap_slope"] == 13
    bare = detail_schedule(exposure_of(45.0), pressure_of(90.0), Circumstances())
    assert one_ring([north, bare]) == (north, bare)


# Prices

GOOD = "item,unit,price,currency\nmembrane,m2,2,XTS\n"


@pytest.mark.parametrize(
    ("line", "came"),
    [
        ("gold leaf,m2,1,XTS", "gold leaf"),
        ("tape,m2,1,XTS", "tape priced by"),
        ("tape,m,-1,XTS", "price '-1'"),
        ("tape,m,nan,XTS", "price 'nan'"),
        ("tape,m,inf,XTS", "price 'inf'"),
        ('tape,m,"1,50",XTS', "price '1,50'"),
        ("tape,m,,XTS", "price ''"),
        ("tape,m,=1+1,XTS", "formula"),
        ("=cmd|x,m,1,XTS", "formula"),
        ("@tape,m,1,XTS", "formula"),
        ("\u200b=tape,m,1,XTS", "formula"),
        ("tape,m,1,xts", "currency"),
        ("tape,m,1,XXX", "XTS and XXX"),
        ("membrane,m2,3,XTS", "two prices"),
        ("tape,m,1", "3 cells"),
    ],
)
def test_a_price_file_that_would_mislead_is_refused(line, came):
    with pytest.raises(RefusalError, match=came.replace("|", r"\|")):
        read_prices(GOOD + line + "\n")


@pytest.mark.parametrize("text", ["", "item,price\ntape,1", "item,unit,price,currency\n"])
def test_a_price_file_without_prices_is_refused(text):
    with pytest.raises(RefusalError):
        read_prices(text)


@pytest.mark.parametrize(
    ("line", "item", "price"),
    [("tape,m,0,XTS", "tape", 0.0), ("tape,m,1000000,XTS", "tape", 1e6), ("rigid board,m²,+2,XTS", "rigid board", 2.0),
     (" Batten  50 ,M, 1.5 ,XTS", "batten 50", 1.5), (",,,\ntape,m,1,XTS", "tape", 1.0)],
)  # fmt: skip
def test_prices_up_to_a_million_are_read(line, item, price):
    found = read_prices(GOOD + line + "\n")
    assert found.by_item == {"membrane": 2.0, item: price}


@pytest.mark.parametrize(
    "text",
    [
        GOOD + "tape,m,1000000.1,XTS\n",
        GOOD + "tape,m,1,XTSX\n",
        GOOD + "tape,m,1,X1S\n",
        GOOD + "tape,m,1,ÄÖÜ\n",
        GOOD + "tape,m,1,XTS,\n",
        GOOD + 'tape,m,1,"XTS\n',
        GOOD.replace("\n", "\r\n" + " " * 100_000, 1),
    ],
)
def test_prices_beyond_what_a_file_may_hold_are_refused(text):
    with pytest.raises(RefusalError):
        read_prices(text)


def test_a_price_file_of_exactly_the_largest_length_is_read():
    assert read_prices(GOOD + "\n" * (100_000 - len(GOOD))).of("membrane") == 2.0
    with pytest.raises(RefusalError, match="100,001 characters"):
        read_prices(GOOD + "\n" * (100_001 - len(GOOD)))


def test_costs_in_words_by_hand():
    levels = tuple(LevelCost(level, 100.0 * level, (), False) for level in (1, 2, 3, 4))
    cost = ElevationCost("south", "XTS", 2, LevelCost(0, 210.0, ("tape",), True), levels, 90.0, 80.0, None)
    assert cost.in_words == (
        "south: material XTS 210 as scheduled (level 2); levels 1 to 4: 100, 200, 300, 400; one level more adds 90, "
        "wetness alone 80, pressure is at the top."
    )
    assert (
        not_in_it([cost.scheduled])
        == "Not in it: labour; what openings take, which are not listed; without a price: tape."
    )
    top = replace(cost, scheduled=LevelCost(0, 210.0, (), False), next_step=None)
    assert top.in_words.endswith("; no level is above, wetness alone 80, pressure is at the top.")
    assert not_in_it([top.scheduled]) == "Not in it: labour."
    named = replace(top.scheduled, not_counted=("cladding", "fixings"))
    assert not_in_it([named, top.scheduled]) == "Not in it: labour; not counted: cladding and fixings."


def test_spreadsheets_with_semicolons_are_read():
    found = read_prices("\ufeffItem;Unit;Price;Currency\nSill  Tray;m;4.5;XTS\n")
    assert (found.currency, found.of("sill tray")) == ("XTS", 4.5)


def test_cost_is_amount_times_price_by_hand():
    amounts = TakeOff(
        "south",
        55.0,
        4.0,
        60.0,
        100.0,
        4.0,
        5.0,
        120.0,
        8,
        4,
        rigid_board=50.0,
        inner_seal=9.0,
        not_counted=("cladding",),
    )
    prices = Prices(
        "XTS",
        {
            "membrane": 1.0,
            "membrane w1": 2.0,
            "tape": 0.5,
            "batten": 1.0,
            "batten 50": 3.0,
            "rigid board": 10.0,
        },
    )
    values_of = {"mem_class": "W1 on rigid boards", "cav_depth": 50}
    found = level_cost(4, amounts, values_of, prices)
    # 60 x 2 + 100 x 0.5 + 120 x 3 + 50 x 10; trays, flashings and corner pieces have no price
    assert found.cost == pytest.approx(1030.0)
    assert found.unpriced == ("sill tray", "head flashing", "corner piece", "inner seal")
    assert found.not_counted == ("cladding",)
    plain = level_cost(2, replace(amounts, rigid_board=0.0), {"mem_class": "W2", "cav_depth": 10}, prices)
    assert plain.cost == pytest.approx(60 * 1 + 50 + 120 * 1)
    unlisted = TakeOff("south", 50.0, None, 60.0, 0.0, None, None, 120.0, None, None)
    assert level_cost(2, unlisted, {}, prices).unlisted


@settings(max_examples=40, deadline=None)
@given(spell=st.floats(0, 250), push=st.floats(0, 440), mine=circumstances)
@example(  # a level that asks no cavity of its own has the one its flanges need, and so has the next
    spell=0.0,
    push=201.0,
    mine=Circumstances(
        wall_type="timber frame with cladding", sheathing="sheathed", frame_type="nailing flange"
    ),
)
def test_a_higher_level_never_costs_less_and_the_next_step_is_the_difference(spell, push, mine):
    prices = read_prices(example_text("prices.csv"))
    # a film in one piece has no corner pieces, so it takes fewer of them than the level below: they have no price here
    prices = replace(prices, by_item={k: price for k, price in prices.by_item.items() if k != "corner piece"})
    exposure, pressure = exposure_of(spell), pressure_of(push)
    wall = exposure.wall
    house = ToBuild(wall, mine.wall_type, detail_schedule(exposure, pressure, mine))
    found = elevation_cost(exposure, pressure, mine, house, [Opening(wall.name, 900, 1200, 2)], prices)
    costs = [one.cost for one in found.by_level]
    assert costs == sorted(costs)
    for more, level in (
        (found.next_step, min(house.schedule.wetness_level, house.schedule.pressure_level)),
        (found.next_wetness, house.schedule.wetness_level),
        (found.next_pressure, house.schedule.pressure_level),
    ):
        assert (more is None) == (level == 4)
        assert more is None or more >= -1e-9
    # a step of both takes at least what a step of one axis alone takes
    for alone in (found.next_wetness, found.next_pressure):
        assert alone is None or found.next_step >= alone - 1e-9
    if found.next_step is not None and house.schedule.wetness_level == house.schedule.pressure_level:
        assert found.scheduled.cost + found.next_step == pytest.approx(costs[found.level])


def test_the_steps_of_each_axis_by_hand():
    """Rigid boards and a deeper cavity follow wetness, laps the harder of both; upstands cost nothing here."""
    prices = Prices("XTS", {"membrane": 0.0, "rigid board": 10.0})
    house = built("south", 70.0, 150.0)  # wetness 3, pressure 2; 10 by 5 m
    exposure = exposure_of(70.0)
    exposure = replace(exposure, wall=house.wall)
    found = elevation_cost(exposure, pressure_of(150.0), Circumstances(), house, [], prices)
    # wetness 4 asks boards on 10 by 4.85 m and a tenth of waste, from the lowest cladding 150 mm above paving, pressure 3 asks none
    assert (found.scheduled.cost, found.next_wetness, found.next_pressure) == pytest.approx((0, 533.5, 0))
    assert [one.cost for one in found.by_level] == pytest.approx([0, 0, 0, 533.5])


def test_one_level_more_of_both_axes_is_one_of_each_by_hand():
    """Wetness 2 and pressure 3: one more of both is wetness 3 and pressure 4, where no boards are asked; level 4 of both asks 48.5 m2 and a tenth of waste."""
    prices = Prices("XTS", {"membrane": 0.0, "rigid board": 10.0})
    house = built("south", 45.0, 290.0)
    assert (house.schedule.wetness_level, house.schedule.pressure_level) == (2, 3)
    exposure = replace(exposure_of(45.0), wall=house.wall)
    found = elevation_cost(exposure, pressure_of(290.0), Circumstances(), house, [], prices)
    assert found.by_level[3].cost == pytest.approx(533.5)
    assert (found.next_step, found.next_wetness, found.next_pressure) == (0.0, 0.0, 0.0)


def test_no_level_is_priced_below_the_wetness_that_a_rule_asks():
    """By hand: where a rule asks wetness 4, boards of 48.5 m2 and a tenth of waste at 10 stand at every level; without one at the highest alone."""
    prices = Prices("XTS", {"membrane": 0.0, "rigid board": 10.0})
    house = built("south", 70.0, 150.0)
    exposure = replace(exposure_of(70.0), wall=house.wall)
    ruled = replace(house, schedule=replace(house.schedule, least_wetness=4))
    found = elevation_cost(exposure, pressure_of(150.0), Circumstances(), ruled, [], prices)
    assert [one.cost for one in found.by_level] == pytest.approx([533.5] * 4)
    assert [one.level for one in found.by_level] == [1, 2, 3, 4]  # each under its own name


def test_a_level_more_that_saves_is_told_as_that():
    """By hand: two openings of ready-formed corners, two pieces each at 5; a welded tray at the highest level needs none."""
    prices = Prices("XTS", {"corner piece": 5.0})
    house = built("south", 70.0, 150.0)
    exposure = replace(exposure_of(70.0), wall=house.wall)
    openings = [Opening("south", 900, 1200, 2)]
    found = elevation_cost(exposure, pressure_of(150.0), Circumstances(), house, openings, prices)
    assert (found.scheduled.cost, found.next_wetness) == (20.0, -20.0)
    assert "; one level more saves 20, wetness alone \u221220" in found.in_words


@pytest.mark.parametrize(("asked", "deep"), [(50, (2, 2, 2, 2)), (20, (1, 1, 1, 2))])
def test_what_a_local_rule_asks_is_in_the_cost_of_every_level(asked, deep):
    # 10 m by 5 m, clad from 0.1 m up, at the highest level 0.15 m: 18 battens 600 mm apart, there 24, 450 mm apart, the wide one of a corner among them; a tenth of waste; deep ones cost
    # twice as much. Where the rule asks 50 mm every level takes it, where it asks 20 mm the highest keeps its own 50
    battens = (18 * 4.9 * 1.1,) * 3 + (24 * 4.85 * 1.1,)
    text = OFFICE.replace(
        'row = "cav_vent", way = "at least", value = 3000',
        f'row = "cav_depth", way = "at least", value = {asked}',
    )
    mine = Circumstances(rule_answers={"our office": {"open_joints": False}})
    wall = Wall(name="south", orientation=0, length=10, height=5)
    exposure, pressure = replace(exposure_of(45.0), wall=wall), pressure_of(150.0)
    schedule = detail_schedule(exposure, pressure, mine, office_rules=[read_rule_text(text)])
    prices = Prices("XTS", {"membrane": 0.0, "tape": 0.0, "batten": 1.0, "batten 50": 2.0})
    house = ToBuild(wall, mine.wall_type, schedule)
    found = elevation_cost(exposure, pressure, mine, house, [], prices)
    assert [one.cost for one in found.by_level] == pytest.approx(
        [metres * price for metres, price in zip(battens, deep, strict=True)]
    )


def test_one_build_costs_what_its_material_costs_by_hand():
    hard, easy = built("south", 140.0, 150.0), built("east", 10.0, 50.0)
    (build,) = one_build([hard, easy])
    prices = Prices("XTS", {"membrane": 0.0, "rigid board": 10.0})
    costs = [
        elevation_cost(
            replace(exposure_of(spell), wall=one.wall), pressure_of(push), Circumstances(), one, [], prices
        )
        for one, spell, push in ((hard, 140.0, 150.0), (easy, 10.0, 50.0))
    ]
    found = build_cost(build, costs, prices)
    # boards on the south's 10 by 4.85 m alone, on both walls (8 by 4.85 m more) together, a tenth of waste
    assert (*found.alone, found.together.cost) == pytest.approx((533.5, 0, 960.3))
    assert "XTS 960, 426 more than the 534 of wall by wall" in found.in_words


@pytest.mark.parametrize(
    ("alone", "together", "said"),
    # both sums and their difference as printed: 26.4, 163.3, 141.6 and 0 are 331.3
    [
        ((26.4, 163.3, 141.6, 0.0), 332.0, "XTS 332, 1 more than the 331 of wall by wall."),
        ((10.4, 10.4), 20.8, "XTS 21, as much as wall by wall."),
        ((10.2, 10.2), 20.9, "XTS 21, 1 more than the 20 of wall by wall."),
        ((432.6, 68.9, 68.9, 290.4), 868.56, "XTS 869, 8 more than the 861 of wall by wall."),
        ((432.9, 69.3, 69.3, 290.34), 868.56, "XTS 869, 7 more than the 862 of wall by wall."),
        ((10.6, 10.6), 21.3, "XTS 21, more than wall by wall by what rounding hides."),
        ((100.0, 50.0), 120.0, "XTS 120, 30 less than the 150 of wall by wall."),
    ],
)
def test_the_cost_of_one_build_agrees_with_the_printed_prices(alone, together, said):
    assert BuildCost("w", "XTS", alone, LevelCost(0, together, (), False)).in_words.endswith(said)


@pytest.mark.slow
@pytest.mark.usefixtures("quick_rings")
def test_commands_take_prices_and_have_none_of_their_own(tmp_path, capsys, monkeypatch):
    assert main(["example", "--out", str(tmp_path)]) == 0
    given_ = [
        str(tmp_path / "house.toml"),
        "--openings",
        str(tmp_path / "openings.csv"),
        "--climate",
        "invented",
    ]
    prices = ["--prices", str(tmp_path / "prices.csv")]
    capsys.readouterr()
    assert main(["details", *given_]) == 0
    plain = capsys.readouterr().out
    assert "One build for all 4 elevations" in plain
    assert "material" not in plain.replace("more material", "")
    out = tmp_path / "details.json"
    assert main(["details", *given_, *prices, "--json", str(out)]) == 0
    said = capsys.readouterr().out
    assert said.count(": material XTS") == 4 + 1  # each elevation, and one build
    found = json.loads(out.read_text("utf-8"))
    (build,) = found["one_build"]
    assert len(build["elevations"]) == 4
    worst = max(found["elevations"], key=lambda one: one["window"]["own_pressure"])
    assert found["windows_of_the_house"]["class"] == worst["window"]["own_class"]
    assert {row["key"] for row in build["rows"]} >= {"cav_depth", "back_dam", "seam_tape", "mem_class"}
    assert found["costs"][0]["currency"] == "XTS"
    folder = tmp_path / "sheets"
    monkeypatch.setitem(sys.modules, "weasyprint", None)  # the same sheets as a PDF have tests of their own
    assert main(["sheets", *given_, *prices, "--out", str(folder)]) == 0
    sheets = (folder / "sheets.html").read_text("utf-8")
    first = sheets.split('id="sheet-2"')[0]
    assert "One build for all 4 elevations" in first
    assert "material XTS" in first
    assert "Material by your prices, XTS" in sheets
    rows = list(csv.DictReader(io.StringIO((folder / "invented_costs.csv").read_text("utf-8-sig"))))
    assert len(rows) == 4
    by_json = {one["elevation"]: one["scheduled"]["cost"] for one in found["costs"]}
    for row in rows:
        assert float(row["as scheduled"]) == pytest.approx(by_json[row["elevation"]], abs=0.01)


def test_boards_that_stand_already_are_not_bought_again():
    """By hand, a tenth of waste on 48.5 m2 alone and 87.3 together (10 and 8 m, 4.85 m clad); boarded walls none; one of each its own."""
    hard, easy = built("south", 150.0, 90.0), built("east", 10.0, 20.0)
    prices = Prices("XTS", {"membrane": 0.0, "rigid board": 10.0})
    for south, east, alone, together in (
        (False, False, 53.35, 96.03), (True, True, 0.0, 0.0), (True, False, 0.0, 42.68), (False, True, 53.35, 53.35),
    ):  # fmt: skip
        walls = [replace(hard, boarded=south), replace(easy, boarded=east)]
        (build,) = one_build(walls)
        assert (build.alone.rigid_board, build.together.rigid_board) == pytest.approx((alone, together))
        costs = [
            elevation_cost(
                replace(exposure_of(spell), wall=one.wall),
                pressure_of(push),
                Circumstances(),
                one,
                [],
                prices,
            )
            for one, spell, push in zip(walls, (150.0, 10.0), (90.0, 20.0), strict=True)
        ]
        found = build_cost(build, costs, prices)
        assert (sum(found.alone), found.together.cost) == pytest.approx((10 * alone, 10 * together))
        told = " ".join(build.in_words[1:])
        assert ("more rigid board" in told) == (together > alone)


def test_one_build_on_boards_turns_stretch_tape_round_two_corners():
    """By hand, a window and a tenth of waste: on film four corners of 2 x 100 mm, 0.88 m; on boards two of 2 x 150 mm, 0.66 m."""
    film = Circumstances(sheathing="open studs")
    walls = [built("south", 150.0, 90.0, film), built("east", 10.0, 20.0, film)]
    (build,) = one_build(walls, [Opening("east", 900, 1200)])
    assert (build.alone.stretch_tape, build.together.stretch_tape) == pytest.approx((0.88, 0.66))


def test_a_film_is_strapped_in_one_build_where_it_gets_a_cavity_and_no_boards():
    film = Circumstances(sheathing="open studs")
    cavity, none, boards = (
        built("north", 45.0, 90.0, film), built("east", 10.0, 20.0, film), built("south", 150.0, 90.0, film),
    )  # fmt: skip
    for walls, told in (([cavity, none], True), ([cavity, none, boards], False)):
        (build,) = one_build(walls)
        assert ("straps over the film" in build.asks_too) is told
        assert ("straps over the film" in build.together.not_counted) is told


def clashing(*walls, mine=None, openings=()):
    """What the first sheet says of one build of walls with an L/m2 and a Pa each, and circumstances of all or of each."""
    mine = mine or Circumstances(window_position="at the sheathing", frame_type="box frame with straps")
    own = mine if isinstance(mine, tuple) else (mine,) * len(walls)
    houses = [built(name, *told, each) for name, told, each in zip(CORNERS, walls, own, strict=False)]
    elevations = [
        SimpleNamespace(
            name=one.wall.name, schedule=one.schedule, circumstances=each, pressure=pressure_of(told[1])
        )
        for one, told, each in zip(houses, walls, own, strict=True)
    ]
    details = SimpleNamespace(elevations=elevations, one_build=one_build(houses), openings=openings)
    return _clashing(SimpleNamespace(details=details, codes={"south": "S", "east": "E"}))


def test_a_clash_of_one_build_is_asked_of_its_own_sizes():
    """At 300 Pa, 73 mm of water in a gust by hand, no sill holds it: in one build on the easy wall too, and said once."""
    [told] = clashing((150.0, 300.0), (30.0, 90.0))
    assert told == "Built so, these cannot be built together: window sill on S and E."
    # by a list of openings no wall clashes at a window sill that has none there, nor has a door one
    listed = [Opening("south", 900, 1200), Opening("east", 900, 2100, door=True)]
    [here] = clashing((150.0, 300.0), (30.0, 90.0), openings=listed)
    assert here == "Built so, these cannot be built together: window sill on S."
    assert clashing((150.0, 300.0), (30.0, 90.0), openings=listed[1:]) == []
    assert clashing((150.0, 90.0), (30.0, 20.0)) == []  # neither alone nor together
    assert clashing((150.0, 300.0), (150.0, 300.0)) == []  # no build is made of walls that are alike
    # a face 40 mm before the boards, which a flange lies on, cannot be stood 50 back from, as the other wall's straps let it
    flange, straps = (
        Circumstances(frame_type=one, air_seal_tested=True)
        for one in ("nailing flange", "box frame with straps")
    )
    assert clashing((70.0, 90.0), (70.0, 400.0), mine=(flange, flange)) == []
    [told] = clashing((70.0, 90.0), (70.0, 400.0), mine=(flange, straps))
    assert told.startswith(
        "Built so, these are not drawn: window sill on S; window head on S; window jamb on S"
    )


def test_one_build_of_a_boarded_house_names_the_membrane_alone():
    """The boards stand there already, and no elevation orders them: W1 is asked by both, whichever level asks boards for it."""
    sheathed = Circumstances(sheathing="sheathed")
    hard, easy = (
        ToBuild(one.wall, one.wall_type, one.schedule, boarded=True)
        for one in (built("south", 140.0, 400.0, sheathed), built("east", 70.0, 250.0, sheathed))
    )
    (build,) = one_build([hard, easy])
    assert "; membrane W1; " in f"; {build.in_words[0].partition(': ')[2]}"
    assert "rigid boards" not in build.in_words[0]


def test_one_build_holds_the_water_of_its_hardest_wall_everywhere():
    """300 Pa push 31 mm, a seal that is tested holds that; 73 mm in a gust where it is not, on the easy wall of the same build."""
    tested = Circumstances(
        window_position="at the sheathing", frame_type="box frame with straps", air_seal_tested=True
    )
    [told] = clashing((150.0, 300.0), (150.0, 20.0), mine=(tested, tested.changed(air_seal_tested=False)))
    assert told == "Built so, these cannot be built together: window sill on E."
    assert clashing((150.0, 300.0), (150.0, 20.0), mine=tested) == []


def test_pipes_have_an_order_where_no_wall_is_less_exposed():
    """One build asks the row of its easiest wall too: what to do there stands in it."""
    hard, easy = built("south", 150.0, 290.0), built("east", 10.0, 20.0)
    for walls, less in (([hard, easy], ("east",)), ([hard], ())):
        (build,) = one_build(walls)
        (pipes,) = [one for one in build.lines if one.line.key == "pen_form"]
        assert pipes.more_for == less
        assert "less exposed wall, if there is one." in pipes.line.build
        assert "use a sleeve with a flange and a hood" in pipes.line.build


def test_a_difference_that_rounds_to_nothing_has_no_minus():
    """By hand: 0.3 less is 0 in whole units of the currency, and not a minus nought."""
    levels = tuple(LevelCost(level, 100.0, (), False) for level in (1, 2, 3, 4))
    cost = ElevationCost("south", "XTS", 2, LevelCost(0, 100.0, (), False), levels, 0.2, -0.3, 0.2)
    assert "wetness alone 0, pressure alone 0" in cost.in_words
