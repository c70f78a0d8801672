"""A window that stands back from the face of light cladding: where its flange lies, and what closes the reveal."""

import re
from importlib import resources

import pytest
from jinja2 import Environment, StrictUndefined
from shapely import Polygon
from test_detail_ladder import exposure_of, pressure_of
from test_junction import WALLS, ladder_numbers

from exposure.detail import Circumstances, detail_schedule
from exposure.detail.materials import not_counted
from exposure.junction.catalogue import JUNCTIONS, clashes, section_of
from exposure.junction.numbers import numbers_of
from exposure.junction.proofs import failures
from exposure.junction.window import NotDrawnError
from exposure.junction.work_faces import X0, X1
from exposure.junction.work_scene import PARTS

BACK, HOODED = "50 mm back, or a rebate", "25 mm back, or a hood"
FLANGE, BOX = "nailing flange", "box frame with straps"
CLAD = (WALLS[0], WALLS[3])


def section(key, numbers):
    return section_of(next(one for one in JUNCTIONS if one.key == key), numbers)


def window(depth, reveal, frame=FLANGE, wall=WALLS[0], level=2, **told):
    return ladder_numbers(
        level, wall, frame=frame, cav_depth=float(depth), cav_render=float(depth), reveal=reveal, **told
    )


@pytest.mark.parametrize("wall", CLAD)
@pytest.mark.parametrize(("depth", "reveal", "more"), [(20, BACK, 30), (30, BACK, 30), (0, HOODED, 5)])
def test_a_flange_that_does_not_reach_the_boards_is_not_drawn_and_its_way_out_is_told(
    wall, depth, reveal, more
):
    """By hand: 50 or 25 back less 20 of cladding. Straps need no boards before them."""
    for key in ("sill", "jamb", "head"):
        with pytest.raises(NotDrawnError, match=f"more than {more} mm on the whole wall"):
            section(key, window(depth, reveal, wall=wall))
    assert not failures(section("jamb", window(20, BACK, BOX, wall=wall)))


@pytest.mark.parametrize("depth", [35, 50])
def test_a_flange_that_reaches_the_boards_is_drawn_with_its_own_cavity(depth):
    made = section("jamb", window(depth, BACK))
    assert not made.conflicts
    assert [one.value for one in made.dimensions if one.key == "cav_depth"] == [depth]


@pytest.mark.parametrize(
    ("frame", "position", "key"),
    [(FLANGE, "at the sheathing", "reveal lining"), (BOX, "at the sheathing", "trim"), (BOX, "over the cavity", "trim")],
)  # fmt: skip
@pytest.mark.parametrize("wall", CLAD)
def test_battens_and_cut_edges_in_a_reveal_are_covered_from_the_cladding_to_the_frame(
    frame, position, key, wall
):
    made = section("jamb", window(50, BACK, frame, wall, position=position))
    cover = made.layer(key)
    shape, face = Polygon(cover.outline), min(x for x, _ in made.layer("cladding").outline)
    edge = min(x for x, _ in made.layer("frame").outline)
    left, _, right, top = shape.bounds
    assert left < face < edge == pytest.approx(right)
    assert top == 20  # 10 over the frame, which stands 10 from the opening's edge
    assert shape.distance(Polygon(made.layer("cladding").outline)) == 0
    assert shape.distance(Polygon(made.layer("frame").outline)) == 0
    assert "over battens and cut edges" in cover.name
    assert not failures(made)


@pytest.mark.parametrize(
    ("frame", "position", "key"),
    [(FLANGE, "at the sheathing", "reveal lining"), (BOX, "at the sheathing", "trim"), (BOX, "over the cavity", "trim")],
)  # fmt: skip
@pytest.mark.parametrize("reveal", [BACK, "as drawn"])
@pytest.mark.parametrize("level", [1, 2, 3, 4])
def test_what_covers_the_joint_ends_within_the_flashing_over_it(frame, position, key, reveal, level):
    """So that its top is up under the flashing, which goes 20, 30, 50, 50 mm past the edge of the opening at y 0 by the row head_past."""
    numbers = window(50, reveal, frame, position=position, level=level)
    past = (20, 30, 50, 50)[level - 1]
    outline = section("jamb", numbers).layer(key).outline
    assert 10 <= -min(y for _, y in outline) < past
    faces, _ = PARTS[key](numbers)
    across = [x for face in faces for x, *_ in face.points]
    assert 10 <= X0 - min(across) < past
    assert 10 <= max(across) - X1 < past


def test_a_window_that_no_row_sets_back_has_its_slot_lined_where_there_is_a_cavity():
    for reveal in ("as drawn", "not proud of the cladding"):
        for cavity in (20, 0):
            made = section("jamb", window(cavity, reveal))
            assert ("reveal lining" in {one.key for one in made.layers}) is bool(cavity)
            assert not failures(made)
        assert [one.name for one in PARTS["reveal lining"](window(20, reveal))[1] if one.name] == [
            "reveal lining",
            "foot clear 5",  # by the words of its step
        ]


@pytest.mark.parametrize("wall", CLAD)
def test_the_frames_show_the_linings_at_both_jambs_before_the_cladding(wall):
    faces, names = PARTS["reveal lining"](window(50, BACK, wall=wall))
    assert [one.name for one in names] == ["reveal lining", "foot clear 5"]  # by the words of the step
    fronts = [face.points for face in faces if len({d for *_, d in face.points}) == 1]
    assert len(fronts) == 2
    assert PARTS["reveal lining"](window(50, BACK, BOX, wall)) == ([], [])


@pytest.mark.parametrize(
    ("frame", "position", "item"),
    [
        (FLANGE, "at the sheathing", "reveal linings"),
        (BOX, "at the sheathing", "trims at the jambs"),
        (BOX, "over the cavity", "trims at jambs and head"),
    ],
)
def test_what_lines_a_reveal_is_named_once_and_its_step_says_what_it_covers(frame, position, item):
    mine = Circumstances(frame_type=frame, window_position=position)
    schedule = detail_schedule(exposure_of(140.0), pressure_of(400.0), mine)
    named = not_counted({line.key: line.value for line in schedule.lines})
    assert [one for one in named if one == "reveal linings" or one.startswith("trims")] == [item]
    said = " ".join(step.text for step in schedule.steps)
    assert said.count("over battens and cut edges") == 1


def test_a_trim_in_a_reveal_covers_battens_where_there_are_some():
    """Straight on the membrane there are none beside the window."""
    trim = section("jamb", window(0, BACK, BOX)).layer("trim")
    assert "in over cut edges to the frame" in trim.name
    seen = set()
    for spell, push in ((10.0, 50.0), (140.0, 400.0)):
        mine = Circumstances(frame_type=BOX)
        schedule = detail_schedule(exposure_of(spell), pressure_of(push), mine)
        battened = "batten_sp" in {line.key for line in schedule.lines}
        [cover] = [step.text for step in schedule.steps if "lines the reveal over" in step.text]
        assert ("over battens and cut edges" in cover) is battened
        seen.add(battened)
    assert seen == {True, False}


def test_a_slot_beside_a_flange_that_opens_into_a_cavity_is_lined():
    """Also where the frame need not stand back: battens keep the cladding off the flange. Straight on the membrane there is no cavity."""
    for spell, push, lined in ((45.0, 150.0, True), (10.0, 50.0, False)):
        schedule = detail_schedule(exposure_of(spell), pressure_of(push), Circumstances(frame_type=FLANGE))
        values = {line.key: line.value for line in schedule.lines}
        assert "back" not in values["reveal"]
        assert ("reveal linings" in not_counted(values)) is lined
        assert ("Line the reveal at both jambs" in " ".join(step.text for step in schedule.steps)) is lined


def test_a_flange_lies_no_farther_behind_its_frames_face_than_the_wall_leaves():
    for spell, push, told in ((45.0, 150.0, False), (70.0, 250.0, True), (140.0, 400.0, True)):
        for frame, there in ((FLANGE, told), (BOX, False)):
            schedule = detail_schedule(exposure_of(spell), pressure_of(push), Circumstances(frame_type=frame))
            caution = next(line.caution for line in schedule.lines if line.key == "reveal")
            assert ("no farther behind the frame's face" in caution) is there


def test_one_clash_of_several_drawings_is_told_once_on_a_sheet_with_their_titles():
    source = resources.files("exposure.paper").joinpath("templates/sheet.jinja").read_text("utf-8")
    start = source.index("{%- macro clashes(")
    macro = source[start : source.index("{%- endmacro %}", start)] + "{%- endmacro %}"
    drawings = [
        {"title": "Window sill", "clashes": ["Too far.", "Too high."]},
        {"title": "Base of wall", "clashes": []},
        {"title": "Window head", "clashes": ["Too far."]},
    ]
    made = Environment(undefined=StrictUndefined).from_string(macro + "{{ clashes(drawings) }}")
    told = re.findall(r'<p class="clash">(.*?)</p>', made.render(drawings=drawings))
    assert told == ["Clash, Window sill, Window head: Too far.", "Clash, Window sill: Too high."]


def test_the_words_of_a_part_are_one_piece_on_a_sheet():
    """Without a span of their own the maker of the printed file ends a line after the first word of some."""
    source = resources.files("exposure.paper").joinpath("templates/sheet.jinja").read_text("utf-8")
    start = source.index('<p class="parts">')
    line = source[start : source.index("</p>", start)]
    one = {"parts": ["Membrane", "Frame"], "notes": ["For the drawing only."]}
    made = Environment(undefined=StrictUndefined).from_string(line).render(one=one)
    parts = '<p class="parts"><b>1</b> <span>Membrane</span> <b>2</b> <span>Frame</span>'
    assert made == f"{parts}. For the drawing only."


@pytest.mark.parametrize(
    ("spell", "push", "wall", "deep", "own"),
    [
        (10.0, 400.0, WALLS[0], 50, "no cavity"),  # 50 back, 20 of cladding: a step over 30 mm
        (70.0, 400.0, WALLS[0], 50, "20 mm"),
        (45.0, 400.0, WALLS[3], 50, "25 mm"),
        (10.0, 250.0, WALLS[0], 10, "no cavity"),  # 25 back: a step over 5 mm
        (70.0, 250.0, WALLS[0], 20, ""),
        (140.0, 400.0, WALLS[3], 50, ""),
    ],
)
def test_a_wall_takes_the_cavity_that_lets_its_flanges_lie_on_the_membrane(spell, push, wall, deep, own):
    """So base, corners, cap and take-off have one cavity with the windows, of a step of the row; a frame with straps needs none of it."""
    mine = Circumstances(frame_type=FLANGE, wall_type=wall)
    schedule = detail_schedule(exposure_of(spell), pressure_of(push), mine)
    values = {line.key: line for line in schedule.lines}
    cavity = values.get("cav_depth") or values["cav_render"]
    assert cavity.value == deep
    assert {"cav_vent", "slot", "batten_sp"} <= values.keys()
    clashing = clashes("south", numbers_of(schedule, mine, pressure_of(push)))
    assert not [one for one in clashing if "reveal" in one.numbers["rows"]]
    told = [one for one in schedule.flags if getattr(one, "key", "") == "detail.cavity_for_flange"]
    assert [f"which takes {own} here" in one.replace("\u00a0", " ") for one in told] == [True] * bool(own)
    assert (cavity.decided_by == "this wall") is bool(own)
    why = f"a frame whose flange lies on the boards stands back only so; with straps this wall takes {own}"
    assert (why in cavity.why.replace("\u00a0", " ")) is bool(own)
    strapped = detail_schedule(exposure_of(spell), pressure_of(push), mine.changed(frame_type=BOX))
    assert not [one for one in strapped.flags if getattr(one, "key", "") == "detail.cavity_for_flange"]


def test_with_straps_a_wall_takes_no_less_than_its_local_rule_asks():
    """In extra high wind New Zealand asks a drained cavity behind every cladding, drawn for 20 mm."""
    rule = "new zealand"
    answers = {"wind_zone": "extra high", "part_storeys": False, "pitched_roof": False}
    mine = Circumstances(frame_type=FLANGE, local_rules=(rule,), rule_answers={rule: answers})
    schedule = detail_schedule(exposure_of(45.0), pressure_of(400.0), mine)
    [cavity] = [line for line in schedule.lines if line.key == "cav_depth"]
    [told] = [one for one in schedule.flags if getattr(one, "key", "") == "detail.cavity_for_flange"]
    assert schedule.wetness_level == 2  # whose own step is 10 mm
    assert cavity.why.replace("\u00a0", " ").endswith("with straps this wall takes 20 mm.")
    assert "which takes 20 mm here" in told.replace("\u00a0", " ")


def test_one_level_lower_a_cavity_that_its_flanges_need_stays_as_deep():
    """Pressure sets these frames 50 mm back whatever the wetness: the next wall with straps alone is thinner."""
    for frame, said in (
        (FLANGE, "25 mm by its own step; at this pressure the flanges decide."),
        (BOX, "25 mm."),
    ):
        mine = Circumstances(frame_type=frame, wall_type=WALLS[3])
        schedule = detail_schedule(exposure_of(140.0), pressure_of(400.0), mine)
        [cavity] = [line for line in schedule.lines if line.key == "cav_render"]
        assert cavity.lower.replace("\u00a0", " ") == said


def test_a_rule_that_sets_frames_back_brings_the_cavity_they_need():
    """The cavity's own rows come with it where the level asks none."""
    rule = "united kingdom"
    mine = Circumstances(frame_type=FLANGE, local_rules=(rule,), rule_answers={rule: {"north_or_west": True}})
    values = {
        line.key: line.value for line in detail_schedule(exposure_of(10.0), pressure_of(20.0), mine).lines
    }
    assert values["reveal"] == BACK
    assert values["cav_depth"] == 50
    assert {"cav_vent", "batten_sp"} <= values.keys()
