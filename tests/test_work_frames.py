"""The order of work at a window in frames: each step seen, each size it sets written in, nothing lost on the way."""

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise, product
from math import dist, hypot

import numpy as np
import pytest
from shapely import LineString, Point, Polygon, intersects, unary_union
from shapely import box as shapely_box
from test_junction import EVERY_FRAME, WALLS, ladder_numbers

from exposure.detail.beside import beside
from exposure.detail.ladder import ladder_rows
from exposure.detail.order import window_steps
from exposure.draw.drawing import is_free
from exposure.draw.palette import SOFT
from exposure.draw.work_depth import painting_order
from exposure.draw.work_frames import (
    CELL,
    LETTERS,
    LINES,
    MARKS,
    SCALE,
    SPARE,
    TOP,
    _at,
    _measured,
    placed_labels,
    work_picture,
)
from exposure.figures import amount
from exposure.junction.catalogue import JUNCTIONS, runs_of, section_of
from exposure.junction.head import head
from exposure.junction.short_runs import TITLES, short_runs_of, short_steps
from exposure.junction.sill import sill
from exposure.junction.window import BOX, NotDrawnError
from exposure.junction.work_faces import (
    CAVITY_SET,
    CLAD_FACE,
    DEPTH,
    HIGH,
    INNER_SET,
    LEAF_FACE,
    LEAN,
    LIP,
    WIDE,
    X0,
    X1,
    Z0,
    Z1,
    ground,
    leg_at_head,
)
from exposure.junction.work_leaf import depth_behind
from exposure.junction.work_round_leaf import leaf_lap
from exposure.junction.work_scene import PARTS, PASSING, frames_of
from exposure.junction.work_short import GROUNDS
from exposure.paper.sheet_work import FRAME_LETTERS
from exposure.paper.site_drawings import LETTERS as ON_PHONE
from exposure.tables import load_table

UNITS = {row.key: row.unit for row in ladder_rows()}
HIDDEN = {
    "cav_mas",
    "stud_layers",
    "weep_sp",
    "tray_fall",
    "tray_out",
}  # what a view from outside cannot show, or that lies below it


def steps_of(numbers):
    shown = {key: amount(value, UNITS[key]) for key, value in numbers.values.items()}
    return window_steps(numbers.circumstances, numbers.level, shown, boards=numbers.boards)


@pytest.fixture(scope="module")
def runs():
    found = []
    for level, wall, position, sheathing, frame in EVERY_FRAME:
        numbers = ladder_numbers(level, wall, position=position, sheathing=sheathing, frame=frame)
        steps = steps_of(numbers)
        found.append((numbers, steps, frames_of(steps, numbers)))
    return found


def adding(runs, part):
    """The frames in which a part is new, each with the numbers and the steps of its run."""
    for numbers, steps, frames in runs:
        for frame in frames:
            if part in steps[frame.number - 1].adds:
                yield numbers, steps, frame


def test_below_a_window_whose_flange_lies_on_it_the_cladding_goes_up_behind_the_flange(runs):
    """As in its section: the leg of the flange hangs before the edge of the cladding, and below the frame it stays open."""
    seen = 0
    for numbers, _, frame in adding(runs, "window"):
        mine = numbers.circumstances
        if mine.wall_type not in (WALLS[0], WALLS[3]) or mine.window_position != "over the cavity":
            continue
        cladding = unary_union(
            [flat_of(one) for one in frame.before if one.material in ("cladding", "render") and not one.line]
        )
        flat = [
            one for one in frame.added if one.material == "frame" and len({d for *_, d in one.points}) == 1
        ]
        if cladding.is_empty or len(flat) < 2:
            continue
        flange, pane = map(flat_of, flat)
        middle, foot = (flange.bounds[0] + flange.bounds[2]) / 2, flange.bounds[1]
        below = cladding.intersection(shapely_box(middle - 1, 0, middle + 1, pane.bounds[3]))
        assert foot < below.bounds[3] < pane.bounds[1]
        seen += 1
    assert seen


def test_cladding_beside_an_opening_over_the_cavity_ends_under_the_flashing_to_come(runs):
    """Its plate lies on no board, so none is cut later; what closes the head begins there, and the opening below is not drawn again."""
    seen = 0
    for _, steps, frames in runs:
        parts = {part: frame.added for frame in frames for part in steps[frame.number - 1].adds}
        if not {"cladding to the head", "head flashing", "cladding"} <= parts.keys():
            continue
        clad = [
            [
                flat_of(one).bounds
                for one in parts[key]
                if one.material in ("cladding", "render") and not one.line
            ]
            for key in ("cladding to the head", "cladding")
        ]
        top = max(high for *_, high in clad[0])
        plate = next(
            one
            for one in parts["head flashing"]
            if one.material == "tray" and len({d for *_, d in one.points}) == 2
        )
        (low, high), (inner, outer) = (
            pick(way)
            for way, pick in (
                ({z for _, z, _ in plate.points}, sorted),
                ({d for *_, d in plate.points}, lambda ds: sorted(ds, reverse=True)),
            )
        )
        at_face = low + (high - low) * (CLAD_FACE - outer) / (inner - outer)
        assert 0 < at_face - top < 3
        assert min(low for _, low, _, _ in clad[1]) == top
        seen += 1
    assert seen > 10


def test_cladding_under_a_window_ends_as_far_over_the_trays_edge_as_in_its_section(runs):
    """Read off both drawings; the frame of a window over it and the lip of its outer sill then stand as there."""
    seen = 0
    for numbers, steps, frames in runs:
        parts = {part: frame.added for frame in frames for part in steps[frame.number - 1].adds}
        key = next((one for one in ("cladding to the head", "cladding") if one in parts), "")
        if not key or "masonry" in numbers.circumstances.wall_type:
            continue
        try:
            layers = {one.key: Polygon(one.outline).bounds for one in sill(numbers).layers}
        except NotDrawnError:
            continue
        boards = unary_union(
            [flat_of(one) for one in parts[key] if one.material in ("cladding", "render") and not one.line]
        )
        top = boards.intersection(shapely_box(500, 0, 520, Z1 - 50)).bounds[3]
        edge = max(z for one in parts["tray"] if one.material == "tray" for _, z, d in one.points if d == 0)
        section = layers["cladding"][3] - (layers["tray"][1] + numbers.length("tray_down"))
        assert top - edge == pytest.approx(section)
        seen += 1
    assert seen > 20


def test_a_trays_leg_over_a_barrier_ends_below_the_screws_of_the_sill_supports(runs):
    """Of a support no screw goes through it: its slit and as much membrane over that as the leg is high lie below their feet."""
    seen = 0
    for numbers, steps, frames in runs:
        parts = {part: frame.added for frame in frames for part in steps[frame.number - 1].adds}
        if not {"battens", "barriers", "support"} <= parts.keys() or numbers.length("head_up") > 50:
            continue
        slit = min(
            z for one in parts["barriers"] if one.line and one.material == "edge" for _, z, _ in one.points
        )
        foot = min(z for one in parts["support"] if one.material == "metal" for _, z, _ in one.points)
        assert slit + numbers.length("head_up") < foot
        seen += 1
    assert seen > 5


def test_a_cut_over_a_head_has_its_ends_taped_clear_of_the_barriers_beside_it(runs):
    """They stand since the step before: past the flashing's end by the bond of the tape at least."""
    seen = 0
    for numbers, steps, frames in runs:
        parts = {part: frame.added for frame in frames for part in steps[frame.number - 1].adds}
        if not {"battens", "barriers", "head flashing", "cut over leg"} <= parts.keys():
            continue
        tapes = [flat_of(one).bounds for one in PARTS["cut over leg"](numbers)[0] if one.material == "tape"]
        upright = [
            flat_of(one).bounds for one in parts["barriers"] if one.material == "barrier" and not one.line
        ]
        upright = [one for one in upright if one[3] - one[1] > 100]
        assert max(x1 for _, _, x1, _ in upright if x1 < X0) < min(x0 for x0, *_ in tapes)
        assert min(x0 for x0, *_ in upright if x0 > X1) > max(x1 for _, _, x1, _ in tapes)
        seen += 1
    assert seen > 5


def test_a_barriers_tray_comes_out_at_a_joint_of_the_boards(runs):
    seen = 0
    for key in ("cladding to the head", "cladding"):
        for _, _, frame in adding(runs, key):
            boards = [flat_of(one).bounds for one in frame.added if one.material == "cladding"]
            gaps = [
                flat_of(one).bounds[1]
                for one in frame.added
                if one.material == "room" and one.points[0][2] == CLAD_FACE - 1
            ]
            for gap in gaps if boards else ():
                assert any(abs(low - gap) < 1e-6 for _, low, _, _ in boards), gap
                seen += 1
    assert seen > 20


def test_the_sheet_that_lies_over_at_an_upright_lap_has_its_edge_whole_and_the_tape_on_it():
    """What is new lies over what stands: its own edge is drawn whole, that of the sheet below is broken, so far in as the lap."""
    numbers = ladder_numbers(3, WALLS[0])
    (run,) = short_runs_of([("n", numbers)], ["lap and tape"])
    side, tape = run.frames[2], run.frames[3]
    sheet = next(flat_of(one).bounds for one in side.added if one.material == "film")
    [whole] = [one.points[0][0] for one in side.added if one.material == "edge"]
    [broken] = [one.points[0][0] for one in side.added if one.material == "hidden edge"]
    assert sheet[0] == whole
    assert sheet[0] < broken == whole + numbers.length("lap_v") < sheet[2]
    upright = next(
        flat_of(one).bounds for one in tape.added if flat_of(one).bounds[2] - flat_of(one).bounds[0] < 500
    )
    assert (upright[0] + upright[2]) / 2 == whole


def test_over_the_cavity_battens_beside_the_head_wait_for_its_flashing(runs):
    """The cut, the leg and the tape at the cut's ends lie where those battens stand, which is beside the opening, over its head."""
    seen = 0
    for numbers, _, frame in adding(runs, "battens at the head"):
        at_head = [shapely_box(x - 1, Z1 + 1, x + 46, leg_at_head(numbers)) for x in (X0 - 60, X1 + 15)]
        for place in at_head:
            before, new = (
                [
                    one
                    for one in faces
                    if one.material == "timber" and one.points[0][2] == -20 and flat_of(one).intersects(place)
                ]
                for faces in (frame.before, frame.added)
            )
            assert (before, len(new)) == ([], 1)
        seen += 1
    assert seen


def test_the_sheet_over_a_kick_out_goes_on_over_the_wall_beside_it():
    """No upright joint at the very end of the eave: from edge to edge of the wall shown, its lower edge stepped round the kick-out."""
    for wall in (WALLS[0], WALLS[3]):
        run = next(one for one in short_runs_of([("n", ladder_numbers(3, wall))]) if "eave" in one.title)
        [frame] = [one for one in run.frames if one.words.startswith("Bring the membrane down")]
        [sheet] = [flat_of(one) for one in frame.added]
        kick = unary_union([flat_of(one) for one in run.frames[0].added if one.material == "metal"])
        assert (sheet.bounds[0], sheet.bounds[2]) == (0, WIDE)
        mouth = kick.bounds[0]
        assert sheet.intersection(shapely_box(0, 0, mouth - 40, HIGH)).bounds[1] < kick.bounds[1]
        assert sheet.intersection(shapely_box(mouth, 0, mouth + 50, HIGH)).bounds[1] > kick.bounds[1]


@pytest.mark.parametrize("snow", [0.0, 800.0])
@pytest.mark.parametrize("wall", [WALLS[0], WALLS[3]])
def test_cladding_goes_on_under_a_kick_out_as_far_as_the_end_of_its_roof(wall, snow):
    """As its section has it, cut before the roof's end: cladding close under the metal; only the mouth itself is free."""
    numbers = ladder_numbers(3, wall, **({"snow_roof": snow} if snow else {}))
    run = next(one for one in short_runs_of([("n", numbers)]) if "eave" in one.title)
    kick = next(flat_of(one) for one in run.frames[0].added + run.frames[1].added if one.material == "metal")
    [roof] = [one for one in run.frames[0].before if one.material == "stone"]
    end, (_, foot, _, _) = roof.points[0][0], kick.bounds
    [boards] = [flat_of(one) for one in run.frames[-1].added if one.material in ("cladding", "render")]
    assert boards.covers(shapely_box(0, 0, end, foot - 30))
    below = boards.intersection(shapely_box(kick.bounds[0], 0, end, foot + 30))
    assert below.distance(kick) > 5


def test_the_tray_over_an_opening_in_a_leaf_is_as_long_as_the_course_under_its_sill(runs):
    """By the opening's drawing: past each side as the sill's course, which its row sizes from the edge of the opening in the leaf."""
    seen = 0
    for _, steps, frames in runs:
        parts = {part: frame for frame in frames for part in steps[frame.number - 1].adds}
        if not {"cavity tray", "sill"} <= parts.keys():
            continue
        courses = [flat_of(one) for one in parts["sill"].added if one.material == "course"]
        left, _, right, _ = max(courses, key=lambda one: one.bounds[2] - one.bounds[0]).bounds
        trays = [flat_of(one) for one in parts["cavity tray"].added if one.material == "tray"]
        assert all((one.bounds[0], one.bounds[2]) == pytest.approx((left, right)) for one in trays)
        seen += 1
    assert seen > 20


def test_in_a_leafs_cavity_the_barrier_at_a_jamb_goes_up_to_a_frame_behind_it(runs):
    """As in the section of the jamb: no way is left open between barrier and frame, and the barrier does not show past the leaf's edge."""
    seen = 0
    for numbers, steps, frames in runs:
        mine = numbers.circumstances
        if not beside("leaf before the boards", mine):
            continue
        parts = {part: frame for frame in frames for part in steps[frame.number - 1].adds}
        if not {"barriers", "window"} <= parts.keys():
            continue
        upright = [
            flat_of(one).bounds
            for one in parts["barriers"].added
            if one.material == "barrier"
            and not one.line
            and flat_of(one).bounds[3] - flat_of(one).bounds[1] > 200
        ]
        edges = sorted(x for x0, _, x1, _ in upright for x in (x0, x1))
        frame = max(
            (
                flat_of(one).bounds
                for one in parts["window"].added
                if one.material == "frame" and not one.line
            ),
            key=lambda one: one[3] - one[1],
        )
        assert len(edges) == 4
        if mine.frame_type == "box frame with straps":  # a flange reaches past its frame
            assert abs(edges[1] - frame[0]) <= 1 + 1e-6
            assert abs(edges[2] - frame[2]) <= 1 + 1e-6
        assert X0 < edges[1] < edges[2] < X1
        seen += 1
    assert seen


def test_every_part_the_table_adds_is_known():
    rows = [row for row in load_table("order_of_work")["row"] if row["sequence"] != "standing wall"]
    rows += load_table("short_order")["row"]
    named = {part for row in rows for part in row["adds"]}
    assert named == set(PARTS)


UNPICTURED = {
    "standing wall": "what is found on a standing wall is that wall's own; its steps are questions, not parts"
}
UNDRAWN = {  # by the row it needs
    "clad_carrier": "a coat on boards that the sections draw as one with it",
}


def test_every_step_has_a_picture_or_a_reason_for_none():
    """A step that adds nothing to the frames is drawn as a section, or there is a reason."""
    bare = [row for row in load_table("order_of_work")["row"] if not row.get("adds")]
    assert {row["sequence"] for row in bare if "drawn" not in row} == set(UNPICTURED)
    drawn = [row for row in bare if "drawn" in row]
    assert {row["needs"] for row in drawn if not row["drawn"]} == set(UNDRAWN)
    assert {key for row in drawn for key in row["drawn"]} <= {one.key for one in JUNCTIONS}
    assert all(row["adds"] for row in load_table("short_order")["row"])


def test_each_step_that_adds_something_has_its_frame(runs):
    for _, steps, frames in runs:
        assert [frame.number for frame in frames] == [n for n, step in enumerate(steps, 1) if step.adds]
        assert all(frame.words == steps[frame.number - 1].text for frame in frames)
        assert all(frame.added for frame in frames)


SAID = {  # part -> what a step says of it, where not every step with that part in its column says it
    "blocking": "Nail solid blocking behind every edge",
    "opening tape": "(tape|line) (the )?sill.*jambs and head",
    "lap tape": "Tape (all laps|upright laps)",
    "film straps": "straps drawn tight across the studs",
    "back strip": "fix a strip on the sill's tape",
    "sill mesh": "mesh first where|mesh or a soft strip in the gap under it",
    "held inside": "fix it to the studs through its liner|hold it (to the inner leaf )?by (its )?straps",
    "reveal lining": "Line the reveal at both jambs",
    "window hood": "Last, the hood",
    "head trim": "Then a trim along the head",
}
NOT_HERE = {  # part -> why a step may say it and its frame need not have it
    "back strip": "the step says it of a tray of film; this one is rigid",
    "sill mesh": "the step says it of a gap wider than 5 mm; here it is not, or the flange shuts it",
    "head trim": "a schedule says it of a box frame; the rows are taken from the table here, whatever the frame",
}

COVERED = {"turned in": "opening tape"}  # part -> what lies on all of it where one step sets both


def test_every_part_a_step_names_is_seen_in_its_frame(runs):
    """Drawn where the words say it and nowhere else, and not hidden by what is drawn after it."""
    whole = [*runs[::5]]
    for level, wall in product((1, 2, 3, 4), WALLS):
        numbers = ladder_numbers(level, wall)
        for name, snow in product(TITLES, (None, 800)):
            given = numbers if snow is None else ladder_numbers(level, wall, snow_roof=snow)
            for run in short_runs_of([("n", given)], [name]):
                whole.append((given, short_steps(name, given), run.frames))
    seen, left_out = set(), set()
    for numbers, steps, frames in whole:
        for frame in frames:
            step = steps[frame.number - 1]
            said = {part for part, words in SAID.items() if re.search(words, step.text)}
            assert said <= set(step.adds), step.text
            for part in step.adds:
                faces = PARTS[part](numbers)[0]
                if faces:
                    assert part in said or part not in SAID, (part, step.text)
                    under = COVERED.get(part) in step.adds
                    assert under or uncovered(faces, frame) > 25, (part, step.text)
                    seen.add(part)
                else:
                    assert part not in said or part in NOT_HERE, (part, step.text)
                    assert part in SAID, (part, step.text)
                    left_out |= {part} & said
    assert seen == set(PARTS)
    assert left_out == set(NOT_HERE)


@pytest.mark.parametrize("level", [1, 3])
def test_a_second_layer_of_the_membrane_is_told_and_has_its_edge(level):
    """Where two are ordered, dashed behind the other, below its edge and clear of any tape over that; one layer has no such edge."""
    edges = {}
    for layers in (1, 2):
        numbers = ladder_numbers(level, WALLS[0], sheathing="open studs", stud_layers=layers)
        frame = next(one for one in frames_of(steps_of(numbers), numbers) if "the membrane" in one.words)
        edges[layers] = [
            one
            for one in frame.added
            if one.material == "hidden edge" and one.line and len({z for _, z, _ in one.points}) == 1
        ]
        assert [one.name for one in frame.names if "layer" in one.name] == ["2 layers"] * (layers == 2)
        more = [one for one in edges[layers] if one not in edges[1]]
        assert len(more) == (layers == 2)
        for one in more:
            assert uncovered([one], frame) >= 0.9 * 10 * WIDE  # but for tape along an upright lap


def test_the_tape_that_lines_an_opening_is_seen_on_sill_and_jamb_to_their_full_depth(runs):
    """Only the stretch tape at the corners, and a strip on it, lie over some of it."""
    seen = 0
    for _, _, frame in adding(runs[::5], "opening tape"):
        deep = [
            one for one in frame.added if one.material == "tape" and {d for *_, d in one.points} == {0, DEPTH}
        ]
        sill, jamb = sorted(deep, key=lambda one: len({x for x, *_ in one.points}), reverse=True)
        assert {x for x, *_ in sill.points} == {X0, X1}
        assert {x for x, *_ in jamb.points} == {X0}
        assert uncovered([sill], frame) > 0.3 * as_seen(sill).area
        assert uncovered([jamb], frame) > 0.3 * as_seen(jamb).area
        seen += 1
    assert seen > 10


def test_straps_that_hold_a_film_back_are_no_farther_apart_than_ordered(runs):
    """300 as read in the table, from edge to edge of the wall but for the opening, whose frame and tape they leave free."""
    seen = 0
    for numbers, _, frame in adding(runs, "film straps"):
        straps = [flat_of(one).bounds for one in frame.added]
        heights = sorted({low for _, low, _, _ in straps})
        assert max(round(b - a, 6) for a, b in pairwise(heights)) == 300.0
        assert heights[0] < 300
        assert HIGH - heights[-1] < 300
        assert {x for left, _, right, _ in straps for x in (left, right)} >= {0, WIDE}
        opening = shapely_box(X0 - 30, Z0, X1 + 30, Z1)
        assert not any(shapely_box(*one).intersects(opening) for one in straps)
        timber = unary_union(
            [
                flat_of(one)
                for one in frame.before
                if one.material == "timber" and {d for *_, d in one.points} == {0}
            ]
        )
        inner = [
            (low, high, x, way)
            for left, low, right, high in straps
            for x, way in ((left, 1), (right, -1))
            if 0 < x < WIDE
        ]
        assert inner
        if numbers.boards:  # to which they are fixed anywhere
            continue
        for low, high, x, way in inner:  # far enough on a stud or blocking to be fixed to it
            assert timber.covers(shapely_box(min(x, x + 10 * way), low, max(x, x + 10 * way), high))
        seen += 1
    assert seen > 5


@pytest.mark.parametrize("taped", [2, 3])
@pytest.mark.parametrize("frame", ["nailing flange", BOX])
@pytest.mark.parametrize("wall", [WALLS[0], WALLS[1]])
def test_the_joint_of_an_inner_layer_lies_on_timber_from_side_to_side(wall, frame, taped):
    """Its row: every joint over framing; with the laps that its level has taped."""
    numbers = ladder_numbers(taped, wall, sheathing="open studs", stud_layers=2, frame=frame)
    [found] = [
        one
        for one in frames_of(steps_of(numbers), numbers)
        if any("layers" in name.name for name in one.names)
    ]
    timber = unary_union([flat_of(one) for one in found.before if one.material == "timber"])
    [z] = [name.ends[0][1] for name in found.names if "layers" in name.name]
    assert timber.buffer(0.5).covers(LineString([(0, z), (WIDE, z)]))


def test_no_barrier_is_set_on_a_strap(runs):
    """Over one a barrier would stand off the film by its thickness; nor is one on the tray over a barrier, the taped ends of its slit, or film still to be lifted."""
    seen, late = set(), []
    for numbers, steps, frames in runs:
        parts = {part: frame for frame in frames for part in steps[frame.number - 1].adds}
        if not {"film straps", "barriers"} <= parts.keys():
            continue
        said = "beside a barrier to come they end on studs or blocking, none lies behind it"
        assert said in parts["film straps"].words
        straps = unary_union([flat_of(one) for one in PARTS["film straps"](numbers)[0]])
        set_later = [one for one in PARTS["barriers"](numbers)[0] if not one.line]
        for one in set_later:
            if one.material in {"barrier", "tray", "tape"}:
                assert straps.distance(flat_of(one)) > 5, (one.material, flat_of(one).bounds)
                seen.add((one.material, numbers.circumstances.wall_type))
        leg = numbers.length("head_up")
        if numbers.circumstances.window_position == "over the cavity" and numbers.has("head_past"):
            lifted = shapely_box(X0, leg_at_head(numbers) - leg, X1, leg_at_head(numbers))
            assert straps.distance(lifted) > 5  # the leg of the head flashing goes up behind it later
            late.append(leg)
    assert len(late) > 3
    assert {material for material, _ in seen} == {"barrier", "tray", "tape"}
    assert len({wall for _, wall in seen}) > 1


def test_mesh_under_a_window_over_the_cavity_lies_between_its_frame_and_the_cladding(runs):
    """As the section of the sill has it: behind the flange that hangs before the gap, so dotted on that."""
    seen = 0
    for numbers, _, frame in adding(runs, "sill mesh"):
        mine = numbers.circumstances
        mesh = [one for one in frame.added if one.material == "mesh"]
        assert [one.name for one in frame.names if "mesh" in one.name] == ["mesh inside"] * len(mesh)
        if (
            not mesh
            or "masonry" in mine.wall_type
            or mine.frame == BOX
            or mine.window_position != "over the cavity"
        ):
            continue
        flange, pane = (
            flat_of(one).bounds
            for one in frame.added
            if one.material == "frame" and len({d for *_, d in one.points}) == 1
        )
        cladding = unary_union(
            [flat_of(one) for one in frame.before if one.material in ("cladding", "render") and not one.line]
        )
        if cladding.is_empty:
            continue
        below = cladding.intersection(shapely_box(509, 0, 511, pane[1])).bounds[3]
        [(low, high)] = {(min(z for _, z, _ in one.points), max(z for _, z, _ in one.points)) for one in mesh}
        assert flange[1] < below < low <= high < pane[1]
        seen += 1
    assert seen


@lru_cache(maxsize=8)
def painted(frame):
    """Faces of a frame in the order they are painted, each with whether it is new; and the outline of each, of a line none."""
    given = [(face, False) for face in frame.before] + [(face, True) for face in frame.added]
    drawn = [given[place] for place in painting_order([face for face, _ in given], on_top=MARKS)]
    return drawn, np.array([Polygon() if one.line else solid(one) for one, _ in drawn])


@lru_cache(maxsize=4096)
def solid(face):
    return as_seen(face).buffer(0)


def uncovered(faces, frame):
    """How much of a part's faces and lines is seen in its frame. [mm2, mm times 10]"""
    drawn, shapes = painted(frame)
    left = 0.0
    for place, (face, new) in enumerate(drawn):
        if not new or face not in faces:
            continue
        if face.line:
            mine = LineString([(x + LEAN[0] * d, z + LEAN[1] * d) for x, z, d in face.points])
        else:
            mine = shapes[place]
        later = shapes[place + 1 :]
        seen = mine.difference(unary_union(later[intersects(later, mine)]))
        left += 10 * seen.length if face.line else seen.area
    return left


def test_what_a_step_adds_stands_in_the_next_frame(runs):
    for _, steps, frames in runs:
        for one, after in pairwise(frames):
            lasting = [
                part for part in steps[one.number - 1].adds if part not in (*PASSING, "uncut", "flap up")
            ]
            if lasting:
                assert set(one.added) & set(after.before), (one.number, lasting)


def test_every_size_a_step_sets_is_written_into_its_frame(runs):
    """And none besides: the rows are those in braces in the table's sentence."""
    for numbers, steps, frames in runs:
        for frame in frames:
            step = steps[frame.number - 1]
            wanted = {row for row in step.sets if not isinstance(numbers.values[row], str)} - HIDDEN
            if "tray" in step.adds:
                wanted -= {"sill_slope"}  # written where the fall is formed
            if "corner tape" in step.adds and "membrane" not in step.adds:
                wanted -= {"tray_down"}  # written at the tray, whose figure it is
            written = {size.row for size in frame.sizes}
            assert wanted <= written <= set(step.sets), (step.text, wanted, written)


def test_a_step_knows_the_figures_it_gives():
    numbers = ladder_numbers(3, "timber frame with cladding")
    tray = next(step for step in steps_of(numbers) if "tray" in step.adds)
    assert tray.sets == ("back_dam", "end_dam", "jamb_up", "tray_down", "sill_form")  # as read in the table


def test_frames_can_be_read_and_each_is_small(runs):
    for numbers, _, frames in runs[::11]:
        tree = ET.fromstring(work_picture(frames, numbers))
        texts = [one for one in tree.iter() if one.tag.endswith("}text")]
        assert min(float(one.get("font-size")) for one in texts) >= 12
        for frame in frames:
            svg = work_picture([frame], numbers)
            assert len(svg.encode()) < 40_000
            drawn = " ".join(
                "".join(one.itertext()) for one in ET.fromstring(svg).iter() if one.tag.endswith("}text")
            )
            for size in frame.sizes:
                assert f"{numbers.length(size.row):,.10g}" in drawn


def test_a_size_points_at_what_it_measures(runs):
    """Its ends lie as far apart as its number; only what is too small for ticks, bent or a fall has one spot or none."""
    pointed = {"clad_gap", "tape_w", "sill_slope", "pen_slope", "drip"}
    pointed |= {
        "weep_top",
        "dpc_jamb",
    }  # the next joint is beyond the frame; a course turned in along its barrier is bent
    both = [(numbers, frames) for numbers, _, frames in runs]
    both += [(run.numbers, run.frames) for run in short_runs_of([("north", ladder_numbers(3, WALLS[0]))])]
    for numbers, frames in both:
        for size in (size for frame in frames for size in frame.sizes):
            if len(size.ends) == 2:
                assert dist(*size.ends) == pytest.approx(numbers.length(size.row))
            else:
                assert size.row in pointed, size


def test_short_runs_stand_for_the_rows_they_are_made_of():
    """At level 3 every lap is taped, at 2 the upright ones, at 1 none, as the row seam_tape says; a leaf has no base closer."""
    laps = {}
    for level in (1, 2, 3, 4):
        runs = short_runs_of([(name, ladder_numbers(level, WALLS[0])) for name in ("north", "east")])
        assert all(run.elevations == ("north", "east") for run in runs)
        laps[level] = [frame.words for run in runs if "laps" in run.title for frame in run.frames]
        for run in runs:
            assert len(run.frames) >= 3
            for frame in run.frames:
                assert len(work_picture([frame], run.numbers).encode()) < 40_000
                for size in frame.sizes:
                    assert f"{run.numbers.values[size.row]:,.10g}" in frame.words
    assert [len(laps[level]) for level in (1, 2, 3, 4)] == [3, 4, 4, 4]
    assert "the upright laps" in laps[2][-1]
    assert "every lap" in laps[3][-1]
    veneer = [run.title for run in short_runs_of([("north", ladder_numbers(3, WALLS[1]))])]
    tray = "Order of work at a leaf over a roof or deck"
    stepped = "Order of work at a leaf along a roof"
    assert veneer == ["Order of work at the membrane's laps", "Order of work at a pipe", tray, stepped]
    masonry = short_runs_of([("north", ladder_numbers(3, WALLS[2]))])  # no membrane, so no sheet over the leg
    assert [(run.title, len(run.frames)) for run in masonry] == [(tray, 3), (stepped, 4)]


def test_a_short_run_goes_from_below_upward():
    """Each sheet or tape reaches at least as high as the one before it: no reverse lap in the order itself."""
    runs = short_runs_of([("north", ladder_numbers(3, WALLS[0]))])
    for title, part in (("laps", "film"), ("pipe", "tape")):
        tops = [
            max(z for face in frame.added if face.material == part for _, z, _ in face.points)
            for run in runs
            if title in run.title
            for frame in run.frames
            if any(face.material == part for face in frame.added)
        ]
        assert tops == sorted(tops)
        assert len(set(tops)) > 1


def test_an_upright_tape_has_its_foot_over_the_level_one():
    """As tape goes on from below upward: its foot lies on the tape of the level lap, nearer to the reader, and ends with the lap."""
    for level in (3, 4):
        (run,) = (
            one for one in short_runs_of([("n", ladder_numbers(level, WALLS[0]))]) if "laps" in one.title
        )
        tapes = [face for face in run.frames[-1].added if face.material == "tape"]
        upright, along = sorted(tapes, key=lambda face: flat_of(face).bounds[2] - flat_of(face).bounds[0])
        _, low, _, high = flat_of(along).bounds
        assert flat_of(upright).bounds[1] == (low + high) / 2
        assert mean_depth(upright) < mean_depth(along)


def test_a_tape_at_the_head_that_a_tray_hides_in_its_own_step_is_dashed_and_named(runs):
    """On boards under a leaf; elsewhere tape and tray have a frame each, or its ends are seen past the flashing."""
    seen = {True: 0, False: 0}
    for _, steps, frame in adding(runs, "head tape"):
        hidden = "cavity tray" in steps[frame.number - 1].adds
        [tape] = [
            face
            for face in frame.added
            if face.material == "tape"
            and len({z for _, z, _ in face.points}) == 2
            and min(x for x, *_ in face.points) < X0 < X1 < max(x for x, *_ in face.points)
        ]
        dashed = [set(face.points) for face in frame.added if face.material == "cut away"]
        named = [name.ends[0] for name in frame.names if name.name == "head tape under tray"]
        assert dashed.count(set(tape.points)) == hidden
        assert len(named) == hidden
        assert all(flat_of(tape).contains(Point(x, z)) for x, z, _ in named)
        seen[hidden] += 1
    assert min(seen.values()) > 5


def test_a_tray_over_a_roof_is_laid_past_the_leaf_and_down_over_the_flashing_as_its_section_has_it():
    """30 mm down, by the section of a saddle; before the flashing and in sight to the last frame."""
    numbers = ladder_numbers(3, "masonry veneer")
    saddle = section_of(next(one for one in JUNCTIONS if one.key == "saddle"), numbers)
    tip = [y for _, y in saddle.layer("tray").outline[:] if y < numbers.length("saddle_up")]
    lap = numbers.length("saddle_up") - min(tip)
    for run in short_runs_of([("north", numbers)]):
        if "at a leaf" not in run.title:
            continue
        flashing = max(z for face in run.frames[0].added for _, z, _ in face.points)
        [lip] = [
            face for face in run.frames[1].added
            if face.material == "tray" and len({d for _, _, d in face.points}) == 1
        ]  # fmt: skip
        heights = [z for _, z, _ in lip.points]
        assert max(heights) >= flashing
        assert flashing - min(heights) == pytest.approx(lap, abs=6)
        assert (
            lip.points[0][2]
            < min(
                face.points[0][2]
                for face in run.frames[0].added
                if face.material == "metal" and len({d for *_, d in face.points}) == 1
            )
            + 1e-9
        )
        assert "lapped down over what is let in" in run.frames[1].words
        assert "to the face of the leaf" not in run.frames[1].words


def test_a_tray_of_a_leaf_has_a_stop_end_at_each_end_and_no_size_leaves_its_frame():
    """Ends by the words "at each end"; a wall kept 1,000 mm above soil is more than a frame of 1,040 has room for."""
    tray, _ = short_runs_of([("north", ladder_numbers(3, WALLS[2]))])
    level = next(face for face in tray.frames[1].added if face.material == "tray")
    ends = {face.points[0][0] for face in tray.frames[1].added if len({x for x, _, _ in face.points}) == 1}
    assert ends == {pick(x for x, _, _ in level.points) for pick in (min, max)}
    weeps = [face for face in tray.frames[-1].added if face.material == "fixing"]
    assert all(min(ends) < x < max(ends) for face in weeps for x, _, _ in face.points)  # over the tray
    numbers = ladder_numbers(3, WALLS[0])
    high = replace(numbers, values={**numbers.values, "gnd": 1000.0})
    (run,) = (one for one in short_runs_of([("north", high)]) if "base" in one.title)
    [size] = [one for one in run.frames[-1].sizes if one.row == "gnd"]
    assert all(0 <= z <= HIGH for _, z, _ in (size.at, *size.ends))


@pytest.mark.parametrize("letters", [LETTERS, FRAME_LETTERS, ON_PHONE])
def test_the_lowest_board_is_sized_down_to_the_edge_of_the_soil_before_it(letters):
    """Also where a wall is kept higher than the frame has room for: then its foundation is broken, and no label hides the break."""
    numbers = ladder_numbers(3, WALLS[0])
    for above in (150, 225, 900):
        given = replace(numbers, values={**numbers.values, "gnd": above})
        (run,) = (one for one in short_runs_of([("north", given)]) if "base" in one.title)
        frame = run.frames[-1]
        [size] = [one for one in frame.sizes if one.row == "gnd"]
        low, high = size.ends
        soil = [one for one in frame.before if one.material == "soil"]
        near = next(
            one for one in soil if {d for *_, d in one.points} == {low[2]}
        )  # in the plane of the size
        assert low[1] == max(z for _, z, _ in near.points)
        boards = [one for one in frame.added if one.material == "cladding"]
        assert high[1] == min(z for one in boards for _, z, _ in one.points)
        breaks = [one for one in frame.before if one.material == "arris"]
        assert len(breaks) == (2 if above == 900 else 0)
        assert dist(low, high) == pytest.approx(above) or breaks
        jags = [LineString([_at(spot) for spot in one.points[1:-1]]) for one in breaks]
        for words, box in placed_labels(frame, given, letters):
            assert not any(shapely_box(*box).intersects(jag) for jag in jags), words


@pytest.mark.parametrize("letters", [LETTERS, FRAME_LETTERS, ON_PHONE])
def test_no_label_hides_the_break_of_what_stands_in_snow(letters):
    numbers = ladder_numbers(3, WALLS[0], snow_roof=900)
    (run,) = (one for one in short_runs_of([("n", numbers)]) if "eave" in one.title)
    seen = 0
    for frame in run.frames:
        breaks = [one for one in frame.added if one.material == "hatching"]
        jags = [LineString([_at(spot) for spot in one.points[1:-1]]) for one in breaks]
        for words, box in placed_labels(frame, numbers, letters):
            assert not any(shapely_box(*box).intersects(jag) for jag in jags), words
        seen += bool(jags)
    assert seen == 2  # the roof's membrane, and the sheet that snow may lie against


@pytest.mark.parametrize("part", ["roof membrane up the wall", "cladding over the roof"])
def test_snow_higher_than_a_frame_has_room_for_is_sized_from_the_roof_over_a_break(part):
    """Both ends on what they measure: the roof under it, and the edge, which a frame has 320 mm higher."""
    numbers = ladder_numbers(3, WALLS[0], snow_roof=900)
    [size] = [one for one in PARTS[part](numbers)[1] if one.row == "snow_roof"]
    (x, foot, _), (above, edge, _) = size.ends
    roof = next(one for one in GROUNDS["kick-out"](numbers) if one.material == "stone").points
    (x0, z0, _), (x1, z1, _) = roof[:2]
    assert foot == pytest.approx(z0 + (x - x0) * (z1 - z0) / (x1 - x0))
    assert (above, edge - foot) == (x, pytest.approx(320))


def test_the_cut_over_the_leg_of_a_tray_in_a_leaf_is_as_long_as_the_tray_and_taped_at_both_ends():
    """By the words "tape the ends of the cut, never its lower edge": each end within the picture, whatever the cavity."""
    for cavity in (50, 75):
        for run in short_runs_of([("n", ladder_numbers(4, "masonry veneer", cav_mas=cavity))]):
            if "at a leaf" not in run.title:
                continue
            leg = [face for face in run.frames[1].added if face.material == "metal"][-1]
            ends = sorted({x for x, _, _ in leg.points})
            frame = run.frames[2]
            assert "tape the ends of the cut" in frame.words
            [sheet] = [face for face in frame.added if face.material == "flap"]
            tapes = [face for face in frame.added if face.material == "tape"]
            assert sorted({x for x, _, _ in sheet.points}) == ends
            assert sorted(flat_of(face).centroid.x for face in tapes) == ends
            low, high = (pick(z for _, z, _ in sheet.points) for pick in (min, max))
            for face in tapes:
                assert min(z for _, z, _ in face.points) < low < high < max(z for _, z, _ in face.points)
                assert face.points[0][2] < sheet.points[0][2]
            [wall] = [face for face in frame.before if face.material == "film"]
            assert all(flat_of(wall).covers(flat_of(face)) for face in tapes)


def test_a_tray_over_a_roof_covers_the_flashing_from_end_to_end_and_the_leaf_covers_the_tray():
    """By the words "level all along ... with stop-ends": at both ends alike, by symmetry, where the leaf goes on."""
    for level, wall in product((1, 4), ("masonry veneer", "cavity masonry")):
        (run,) = (
            one for one in short_runs_of([("n", ladder_numbers(level, wall))]) if "over a roof" in one.title
        )
        ends = [
            [
                pick(x for face in frame.added if face.material == part for x, *_ in face.points)
                for pick in (min, max)
            ]
            for frame, part in (
                (run.frames[0], "metal"),
                (run.frames[1], "tray"),
                (run.frames[-1], "masonry"),
            )
        ]
        flashing, tray, leaf = ends
        assert leaf[0] < tray[0] < flashing[0] < flashing[1] < tray[1] < leaf[1]
        assert {left + right for left, right in ends} == {WIDE}


@pytest.mark.parametrize("letters", [LETTERS, FRAME_LETTERS, ON_PHONE])
def test_no_label_lies_on_a_tray_in_a_leaf_that_is_laid(letters):
    """Its ends are what its photograph and its words are about; the leader to one of them is long enough to be seen."""
    for level, wall in product((1, 2, 3, 4), ("masonry veneer", "cavity masonry")):
        for run in short_runs_of([("n", ladder_numbers(level, wall))]):
            if "at a leaf" not in run.title:
                continue
            frame = run.frames[1]
            parts = [
                LineString(map(_at, face.points)) if face.line else as_drawn(face) for face in frame.added
            ]
            for size, (words, box) in zip(
                (*frame.sizes, *frame.names), placed_labels(frame, run.numbers, letters), strict=True
            ):
                assert not any(shapely_box(*box).intersects(one) for one in parts), (level, words)
                for spot in size.ends if size.name else ():
                    assert shapely_box(*box).distance(Point(_at(spot))) > letters


def without(numbers, *rows):
    return replace(numbers, values={key: one for key, one in numbers.values.items() if key not in rows})


@pytest.mark.parametrize("kicks", [True, False])
@pytest.mark.parametrize("wall", ["masonry veneer", "cavity masonry"])
def test_trays_and_flashing_go_up_a_leaf_along_a_roof_step_by_step(wall, kicks):
    """Each tray past the upper end of the one below, the lowest past the roof's end; each flashing over the one below, as high as its row, a kick-out as high as its own."""
    for level in (1, 4):
        numbers = ladder_numbers(level, wall)
        numbers = numbers if kicks else without(numbers, "kick_h", "kick_proj")
        run = next(one for one in short_runs_of([("n", numbers)]) if "along a roof" in one.title)
        added = {frame.words.split()[0]: frame.added for frame in run.frames}
        [roof] = [one for one in run.frames[0].before if one.material == "stone"]
        (x0, z0, _), (x1, z1, _) = roof.points[:2]
        trays, pieces = [], []
        for frame in run.frames:
            tops = [
                one
                for one in frame.added
                if one.material == "tray"
                and len({z for _, z, _ in one.points}) == 1
                and max(d for *_, d in one.points) > 50  # not what is turned into the joint
            ]
            trays += [
                (min(x for x, *_ in one.points), max(x for x, *_ in one.points), one.points[0][1])
                for one in tops
            ]
            pieces += [
                one
                for one in frame.added
                if one.material == "metal"
                and len(one.points) == 4
                and len({d for *_, d in one.points}) == 1
                and one.points[0][2] < -6  # before the stop-ends in the leaf's face
            ]
        (lowest, higher), ends = (
            trays,
            {face.points[0][0] for face in added["Lay"] if face.material == "metal"},
        )
        assert {lowest[0], lowest[1]} <= ends  # a stop-end at each
        assert lowest[0] < min(
            x + LEAN[0] * d for x, _, d in roof.points
        )  # past the end of the roof, as it is seen too
        assert lowest[0] < higher[0] < lowest[1] < higher[1]
        assert lowest[2] < higher[2]
        assert len(pieces) >= 3
        for place, piece in enumerate(pieces):
            right = max(x for x, *_ in piece.points)
            top = max(z for _, z, _ in piece.points)
            on_roof = z0 + (right - x0) * (z1 - z0) / (x1 - x0)
            if kicks and not place:
                assert top - z0 == pytest.approx(numbers.length("kick_h"))
            elif right < WIDE:
                assert top - on_roof == pytest.approx(numbers.length("step_h"))
            assert place > 1 or 0 < (lowest, higher)[place][2] - top <= 5  # in the joint under its tray
        for below, above in pairwise(pieces):
            assert min(x for x, *_ in above.points) < max(x for x, *_ in below.points)
            assert above.points[0][2] < below.points[0][2]  # nearer to the reader
        fronts = [
            one
            for frame in run.frames
            for one in frame.added
            if one.material == "tray" and len({d for *_, d in one.points}) == 1
        ]
        assert len(fronts) == len(pieces)
        for front, piece, above in zip(fronts, pieces, [*pieces[1:], None], strict=True):
            assert front.points[0][2] < piece.points[0][2]  # over its flashing
            assert above is None or above.points[0][2] < front.points[0][2]
            low, high = (limit(z for _, z, _ in front.points) for limit in (min, max))
            assert low < max(z for _, z, _ in piece.points) <= high
        weeps = [one.points[0][0] for face in added.values() for one in face if one.material == "fixing"]
        assert all(any(left < x < left + 100 for x in weeps) for left, *_ in trays)
        assert ("Bring" in added) is (wall == "masonry veneer")
        for frame in run.frames:
            assert len(work_picture([frame], numbers).encode()) < 40_000
            for size in frame.sizes:
                assert dist(*size.ends) == pytest.approx(numbers.length(size.row))
        flat = replace(numbers, values={key: one for key, one in numbers.values.items() if key != "step_h"})
        assert not any("along a roof" in one.title for one in short_runs_of([("n", flat)]))
    assert not any("along a roof" in one.title for one in short_runs_of([("n", ladder_numbers(3, WALLS[0]))]))


def test_elevations_that_look_the_same_share_their_frames():
    one, other = ladder_numbers(3, "rendered board"), ladder_numbers(2, "rendered board")
    runs = runs_of(
        [("north", one, steps_of(one)), ("east", one, steps_of(one)), ("south", other, steps_of(other))]
    )
    assert [(run.stem, run.elevations) for run in runs] == [
        ("window-order-level-3", ("north", "east")),
        ("window-order-level-2", ("south",)),
    ]


def test_head_flashing_and_tray_go_behind_a_membrane_left_open_for_them(runs):
    # rain runs down the membrane's face: what sheds it at the head has to lie behind, whatever the sequence
    for numbers, steps, frames in runs:
        wall = numbers.circumstances.wall_type
        if wall == "cavity masonry":
            continue
        adds = [part for step in steps for part in step.adds]
        head = next(step for step in steps if {"head flashing", "cavity tray"} & set(step.adds))
        assert "head_up" in head.sets, (wall, head.text)
        if "flap up" in adds:
            assert adds.index("flap up") < adds.index("flap down")
            assert adds.index("head tape") < adds.index("flap down")
        else:
            assert "behind the membrane through a level cut" in head.text
            frame = next(one for one in frames if one.words == head.text)
            leg = next(face for face in frame.added if face.material == "metal")
            over = next(face for face in frame.added if face.material == "flap")
            foot, top = min(z for _, z, _ in leg.points), max(z for _, z, _ in leg.points)
            assert min(z for _, z, _ in over.points) < foot + 0.5 * (
                top - foot
            )  # most of the leg is out of sight
            assert max(z for _, z, _ in over.points) > top
            assert over.points[0][2] < leg.points[0][2]  # nearer to the reader


@pytest.mark.parametrize(
    ("frame", "level", "up"),
    [("box frame with straps", 4, 190), ("nailing flange", 4, 230), ("nailing flange", 2, 160)],
)  # by hand: tape 225 - 45 + 8; 225 - 5 + 8; 150 - 5 + 8, each to the next 10
def test_the_head_flap_is_cut_past_tape_and_leg_at_45_degrees_as_high_as_the_step_says(frame, level, up):
    numbers = ladder_numbers(level, WALLS[0], frame=frame)
    frames = frames_of(steps_of(numbers), numbers)
    cut = next(one for one in frames if "Cut the head flap" in one.words)
    assert f"at 45 degrees to {up}\u00a0mm over the opening" in cut.words
    [bare] = [face for face in cut.added if face.material == "board"]
    assert flat_of(bare).bounds == (X0 - up, Z1, X1 + up, Z1 + up)
    down = next(one for one in frames if "Bring the head flap down" in one.words)
    flap, *_ = (face for face in down.added if face.material == "flap")
    tapes = [
        face
        for one in frames
        for face in one.added
        if "Tape the head" in one.words and face.material == "tape"
    ]
    assert max(z for face in tapes for _, z, _ in face.points) < Z1 + up
    for (x0, z0, _), (x1, z1, _) in (flap.points[1:3], flap.points[:1] + flap.points[3:]):
        assert abs(x1 - x0) == pytest.approx(abs(z1 - z0))
    section = section_of(next(one for one in JUNCTIONS if one.key == "head"), numbers)
    high = Polygon(section.layer("head tape").outline).bounds[3] - 10  # over the edge of the opening
    assert max(z for face in tapes for _, z, _ in face.points) - Z1 == pytest.approx(high, abs=3)
    assert any(y == pytest.approx(10 + up, abs=8) for _, y in section.layer("membrane").outline)


def test_a_step_has_one_number_at_every_level(runs):
    # a table of sizes and a register are by step number: a wall of another level may not count otherwise
    counts = {}
    for numbers, steps, _ in runs:
        mine = numbers.circumstances
        if mine.sheathing == "open studs":
            continue  # boards at level 4 bring another order of work
        place = (mine.wall_type, mine.window_position, mine.sheathing, mine.frame_type)
        trays = [number for number, step in enumerate(steps, 1) if "tray" in step.adds]
        counts.setdefault(place, set()).add((tuple(trays), len(steps)))
    assert all(len(found) == 1 for found in counts.values()), counts


def test_ends_of_a_head_flashing_reach_the_face_of_the_cladding_and_no_farther(runs):
    """As the schedule orders them, and as high as its row says: by the drawn points of both."""
    seen = 0
    for numbers, steps, frames in runs:
        faces = [face for frame in frames for face in frame.added]
        boards = {
            deep for face in faces if face.material in ("cladding", "render") for _, _, deep in face.points
        }
        setting = [frame for frame in frames if "head flashing" in steps[frame.number - 1].adds]
        for frame in setting:
            ends = [
                face.points
                for face in frame.added
                if face.material == "metal" and len({x for x, _, _ in face.points}) == 1
            ]
            past = numbers.length("head_past")
            assert [end[0][0] for end in ends] == [X0 - past, X1 + past]
            for end in ends:
                out = min(deep for _, _, deep in end)
                assert {out} == boards
                low, high = sorted(z for _, z, deep in end if deep == out)
                assert high - low == pytest.approx(numbers.length("head_stop"))
            seen += 1
    assert seen > 20


def test_labels_say_what_they_stand_at(runs):
    """The bevel of the sill has a fall, before any tray is laid; the gap over the head flashing is written over it."""
    for numbers, steps, frames in runs:
        for frame in frames:
            if "fall" in steps[frame.number - 1].adds and any(one.row == "sill_slope" for one in frame.sizes):
                svg = work_picture([frame], numbers)
                assert "fall" in svg.split("</desc>")[1]
                assert "tray" not in svg.split("</desc>")[1].split("Form")[0]
            gaps = [one.at for one in frame.sizes if one.row == "clad_gap" and not one.word]
            assert all(z > Z1 + numbers.length("clad_gap") + 40 for _, z, _ in gaps)


def test_the_tape_at_the_head_is_seen_beside_the_flashing_that_covers_it(runs):
    """It goes over the tapes at the jambs to their outer edges, and past the ends of the flashing."""
    seen = 0
    for numbers, steps, frames in runs:
        for frame in frames:
            if {"head tape", "head flashing"} <= set(steps[frame.number - 1].adds):
                [tape] = [flat_of(face).bounds for face in frame.added if face.material == "tape"]
                plate = max(
                    (flat_of(face).bounds for face in frame.added if face.material == "metal"),
                    key=lambda one: one[2] - one[0],
                )
                jambs = [
                    flat_of(face).bounds
                    for face in PARTS["jamb tape"](numbers)[0]
                    if len({d for *_, d in face.points}) == 1
                ]
                assert tape[0] <= max(plate[0] - 40, 0)
                assert tape[2] >= min(plate[2] + 40, WIDE)
                assert tape[0] <= max(min(one[0] for one in jambs), 0) + 1e-6
                seen += 1
    assert seen


def mean_depth(face):
    """What has less is drawn after."""
    return sum(d for *_, d in face.points) / len(face.points)


def as_drawn(face):
    """In the picture's own pixels, as labels are."""
    return Polygon([_at(spot) for spot in face.points])


def as_seen(face):
    return Polygon([(x + LEAN[0] * d, z + LEAN[1] * d) for x, z, d in face.points])


def test_the_stop_end_of_a_tray_in_a_leaf_is_hidden_by_the_leaf_over_it():
    """Seen from the front, the leaf with its cut end covers the far stop-end to the back of the tray, and is drawn after it."""

    for cavity in (50, 75):
        run, _ = short_runs_of([("north", ladder_numbers(3, "cavity masonry", cav_mas=cavity))])
        last = run.frames[-1]
        leaf = [face for face in last.added if face.material == "masonry" and not face.line]
        stop = max(
            (
                face
                for face in last.before
                if face.material == "metal" and len({x for x, *_ in face.points}) == 1
            ),
            key=lambda face: face.points[0][0],
        )
        over = unary_union([as_seen(face) for face in leaf if mean_depth(face) < mean_depth(stop)])
        bed = min(z for face in leaf for _, z, _ in face.points)
        assert as_seen(stop).difference(over.buffer(0.1)).bounds[3:] in ((), (pytest.approx(bed, abs=60),))


def test_the_barrier_at_the_top_of_a_leaf_lies_in_the_cavity_over_the_open_joint(runs):
    """Between the back of the leaf and the wall; a joint beside it would open it."""
    seen = 0
    for *_, frame in adding(runs, "leaf top"):
        [barrier] = [face.points for face in frame.added if face.material == "barrier"]
        joints = [face.points for face in frame.added if face.material == "fixing"]
        assert {d for *_, d in barrier} == {CAVITY_SET, -2.0}
        assert max(z for points in joints for _, z, _ in points) < min(z for _, z, _ in barrier)
        seen += 1
    assert seen


def test_as_many_corners_are_taped_as_the_step_says(runs):
    """Four on open studs, two on boards: tape beside the opening at its lower and at its upper edge."""
    seen = set()
    for numbers, _, frame in adding(runs, "corner tape"):
        tapes = [face.points for face in stretch_tapes(numbers, frame)]
        upper = [points for points in tapes if max(z for _, z, _ in points) >= Z1]
        assert len(upper) == (2 if "all four corners" in frame.words else 0)
        seen.add("all four corners" in frame.words)
    assert seen == {True, False}


def stretch_tapes(numbers, frame):
    """Of the corners, what lies on the wall; in over the front of the sill it is a piece of four corners."""
    return [
        face
        for face in frame.added
        if face in PARTS["corner tape"](numbers)[0]
        and len({d for *_, d in face.points}) == 1
        and len(face.points) > 4
    ]


def test_on_open_studs_the_upper_corners_are_taped_round_as_the_lower_are(runs):
    """By the words "round all four corners, 100 mm each way": along the head on the framing as far as down the jamb."""
    seen = {True: 0, False: 0}
    for numbers, steps, frame in adding(runs, "corner tape"):
        if numbers.boards:
            continue
        level = stretch_tapes(numbers, frame)
        upper = [face for face in level if max(z for _, z, _ in face.points) > Z1]
        lower = [face for face in level if face not in upper]
        assert [{(x, Z0 + Z1 - z) for x, z, _ in face.points} for face in upper] == [
            {(x, z) for x, z, _ in face.points} for face in lower
        ]  # the lower ones turned over
        left, right = sorted(flat_of(face).bounds for face in upper)
        assert left[2] - X0 == X1 - right[0] == numbers.length("corner_tape")
        flap = any("flap up" in step.adds for step in steps)
        bare = [
            face
            for face in frame.before
            if flap
            and face.material == "timber"
            and flat_of(face).bounds[2] > X1 + 50 > X0 - 50 > face.points[3][0]
        ]
        assert len(bare) == flap
        assert all(painting_order([under, face]) == [0, 1] for face in upper for under in bare)
        assert uncovered(upper, frame) > 0  # on it, nearer to the reader
        seen[flap] += 1
    assert min(seen.values()) > 5


def test_the_strip_behind_a_tray_of_film_is_seen_in_the_frame_that_names_it(runs):
    """It stands behind where the tray's back comes, and is named; a rigid tray has none."""
    seen = {True: 0, False: 0}
    for numbers, steps, frames in runs:
        rigid = numbers.values["sill_form"].startswith("rigid")
        for frame in frames:
            if "back strip" not in steps[frame.number - 1].adds:
                continue
            high = numbers.length("back_dam")
            strips = [
                face
                for face in frame.added
                if max(z for _, z, _ in face.points) - min(z for _, z, _ in face.points) == high
            ]
            named = [one for one in frame.names if one.name == "strip"]
            assert "fix a strip on the sill's tape" in frame.words
            assert len(strips) == len(named) == (not rigid)
            assert all(d > DEPTH * 0.8 for face in strips for *_, d in face.points)
            seen[rigid] += 1
    assert min(seen.values()) > 5


def test_a_short_run_is_drawn_where_its_first_part_is_ordered():
    numbers = ladder_numbers(3, WALLS[0])
    over_a_deck = replace(
        numbers, values={k: v for k, v in numbers.values.items() if k not in ("kick_h", "kick_proj")}
    )
    titles = {run.title for run in short_runs_of([("north", numbers)])}
    assert titles - {run.title for run in short_runs_of([("north", over_a_deck)])} == {
        "Order of work where an eave ends"
    }


def test_a_pipe_is_taken_through_in_the_form_its_row_asks():
    """By the four words of pen_form: taped round; flange or sleeve lapped from above and taped on three sides; a hood at the last."""
    wanted = {1: "taped", 2: "flange", 3: "sleeve", 4: "hood"}
    for level, word in wanted.items():
        runs = short_runs_of([("north", ladder_numbers(level, WALLS[0]))])
        (run,) = (one for one in runs if "pipe" in one.title)
        said = " ".join(frame.words for frame in run.frames)
        assert ("Then tape over the pipe" in said) is (level == 1)
        assert ("sleeve over the pipe" in said) is (level >= 3)
        assert ("hood" in said) is (level == 4)
        assert len(run.frames) == (7 if level == 4 else 5 if level == 1 else 6), word
        if level > 1:
            flange = next(face for face in run.frames[1].added if face.material == "metal")
            low, high = (pick(z for _, z, _ in flange.points) for pick in (min, max))
            for frame in run.frames[1:5]:  # its top is behind the sheet above the cut from the first
                sheet = min(
                    (face for face in frame.before if face.material == "film"),
                    key=lambda face: face.points[0][2],
                )
                cut, top = (pick(z for _, z, _ in sheet.points) for pick in (min, max))
                assert low < cut < high < top == HIGH  # one sheet to the top, no strip
                tapes = [
                    face
                    for face in frame.added
                    if face.material == "tape" and "ends of the cut" not in frame.words
                ]
                for face in (flange, *tapes):
                    assert all(sheet.points[0][2] < d for _, _, d in face.points)  # nearer to the reader


@pytest.mark.parametrize("wall", [WALLS[0], "masonry veneer", "rendered board"])
def test_the_joint_round_a_pipe_is_sealed_at_top_and_sides_before_a_hood_hides_it(wall):
    """By the words of its row at every level: sealant from one side over the top to the other, the joint below left open."""
    for level in (1, 2, 3, 4):
        (run,) = (one for one in short_runs_of([("n", ladder_numbers(level, wall))]) if "pipe" in one.title)
        place = 5 if level == 4 else len(run.frames) - 1
        frame = run.frames[place]
        assert "at top and sides; its underside stays open" in frame.words
        assert any("hood" in one.words for one in run.frames[place + 1 :]) is (level == 4)
        [joint] = [flat_of(face) for face in frame.added if face.material == "fixing"]
        [seal] = [flat_of(face) for face in frame.added if face.material == "stone"]
        (left, _, right, high), middle = joint.bounds, joint.centroid.y
        assert seal.bounds == pytest.approx((left, middle, right, high))
        skin = next(face for face in frame.added if face.points[0][0] == 0 and not face.line)
        assert all(
            d < skin.points[0][2] for face in frame.added if face.material == "stone" for *_, d in face.points
        )
        names = {name.name: name.ends[0] for name in frame.names}
        assert seal.contains(shapely_box(*(names["sealed"][:2] * 2)).centroid)
        assert joint.difference(seal).contains(shapely_box(*(names["open"][:2] * 2)).centroid)


def test_the_end_of_a_pipe_hides_no_side_of_the_tape_under_it_nor_an_end_of_its_size():
    (run,) = (one for one in short_runs_of([("n", ladder_numbers(1, WALLS[0]))]) if "pipe" in one.title)
    frame = run.frames[1]
    pipe = unary_union([as_seen(face).buffer(0) for face in frame.before if face.material == "frame"])
    tape = unary_union(
        [as_seen(face) for face in frame.added if face.material == "tape" and face.points[0][2] > -10]
    )
    bare = tape.difference(pipe)
    assert bare.bounds == pytest.approx(tape.bounds)
    assert bare.bounds[0] + 10 < pipe.bounds[0] < pipe.bounds[2]
    for x, z, d in frame.sizes[0].ends:
        assert not pipe.contains(shapely_box(*((x + LEAN[0] * d, z + LEAN[1] * d) * 2)).centroid)


def test_each_tape_round_a_pipe_has_its_bond_on_the_pipe():
    """In each of the three frames one piece of tape stands 40 mm out before the wall, as tape_bond has it at level 1; the words say so."""
    (run,) = (one for one in short_runs_of([("north", ladder_numbers(1, WALLS[0]))]) if "pipe" in one.title)
    for frame in run.frames[1:4]:
        out = [
            face for face in frame.added if face.material == "tape" and min(d for *_, d in face.points) < -25
        ]
        assert min(d for face in out for *_, d in face.points) == pytest.approx(-40, abs=2.1)  # over the last
        collar = sum(as_seen(face).area for face in out)
        assert uncovered(out, frame) > 0.9 * collar  # but for what the pipe's end hides
        assert len(out) > 1  # snipped
        assert "40\u00a0mm" in frame.words
        assert "onto the pipe" in frame.words
    [name] = run.frames[1].names
    assert name.name == "40 onto pipe"
    x, z, d = name.ends[0]
    tapes = [as_seen(one) for one in run.frames[1].added if min(d for *_, d in one.points) < -25]
    assert any(one.contains(Point(x + LEAN[0] * d, z + LEAN[1] * d)) for one in tapes)


@pytest.mark.parametrize(("level", "bond"), [(2, 50), (3, 50), (4, 75)])  # tape_bond, as read in the table
def test_each_tape_at_a_flange_round_a_pipe_has_its_bond_on_the_flange(level, bond):
    (run,) = (
        one for one in short_runs_of([("north", ladder_numbers(level, WALLS[0]))]) if "pipe" in one.title
    )
    flange = next(face for face in run.frames[1].added if face.material == "metal")
    left, low = (min(spot[axis] for spot in flange.points) for axis in (0, 1))
    under, beside = run.frames[2:4]
    [tape] = [face for face in under.added if face.material == "tape"]
    assert max(z for _, z, _ in tape.points) == pytest.approx(low + bond)
    tape = min((face for face in beside.added if face.material == "tape"), key=lambda face: face.points[0][0])
    assert max(x for x, *_ in tape.points) == pytest.approx(left + bond)
    for frame in (under, beside):
        assert f"{bond}\u00a0mm onto the flange" in frame.words


def test_the_hood_of_a_pipe_hides_the_pipes_end_and_is_sealed_at_its_top():
    (run,) = (one for one in short_runs_of([("north", ladder_numbers(4, WALLS[0]))]) if "pipe" in one.title)
    pipe = [face for face in run.frames[0].added if len({d for *_, d in face.points}) == 1]
    front = next(face for face in run.frames[-1].added if face.material == "metal")
    assert min(z for _, z, _ in front.points) < min(z for face in pipe for _, z, _ in face.points) - 10
    assert "sealant" in {face.material for face in run.frames[-1].added}
    assert "top edge and sides sealed to the face" in run.frames[-1].words


@pytest.mark.parametrize("snow", [0, 250, 800])
def test_where_snow_lies_the_last_step_at_an_eave_stops_the_cladding_at_its_height(snow):
    numbers = ladder_numbers(3, WALLS[0], snow_roof=snow)
    (run,) = (one for one in short_runs_of([("north", numbers)]) if "eave" in one.title)
    first, last = run.frames[0], run.frames[-1]
    assert ("take the roof's membrane" in first.words) is (snow > 0)
    if snow:  # behind kick-out and flashing, which come after it
        sheet = next(face for face in first.added if face.material == "flap")
        assert max(z for _, z, _ in sheet.points) == pytest.approx(570 + min(snow, 320))  # over the roof
        metal = [face for frame in run.frames[1:3] for face in frame.added if face.material == "metal"]
        assert all(d < sheet.points[0][2] for face in metal for _, _, d in face.points)
    assert [size.row for size in last.sizes] == ["roof_gap", *(["snow_roof"] if snow else [])]
    assert (f"start the cladding {snow}\u00a0mm above" in last.words) is (snow > 0)
    boards = next(face for face in last.added if face.material == "cladding")
    over = (
        min(z for x, z, _ in boards.points if x == max(x for x, _, _ in boards.points)) - 570
    )  # the roof at the right edge
    assert over == pytest.approx({0: 50, 250: 250}.get(snow, over))
    assert over >= min(snow, 300)


def test_barriers_are_told_from_battens_and_stand_where_a_step_sets_them(runs):
    for _, _, frames in runs:
        for frame in frames:
            barriers = [face for face in frame.added if face.material == "barrier"]
            assert bool(barriers) is ("cavity barrier" in frame.words)
            if barriers:
                assert any(face.material == "hatching" for face in frame.added)
                for barrier in barriers:  # none lies on a batten
                    left, right = (pick(x for x, _, _ in barrier.points) for pick in (min, max))
                    for batten in (face for face in frame.added if face.material == "timber"):
                        if (
                            max(z for _, z, _ in barrier.points) - min(z for _, z, _ in barrier.points)
                            > right - left
                        ):
                            xs = [x for x, _, _ in batten.points]
                            assert right <= min(xs) or left >= max(xs)


def test_barriers_go_round_the_opening_and_battens_stop_at_them(runs):
    """Where light cladding has battens: at sill, head and both jambs, and no batten in the place of one."""
    seen = 0
    for numbers, _, frames in runs:
        for frame in frames:
            barriers, battens = (
                [flat_of(face) for face in frame.added if face.material == one]
                for one in ("barrier", "timber")
            )
            if not (barriers and battens) or "masonry" in numbers.circumstances.wall_type:
                continue
            assert len(barriers) == 4
            whole = unary_union(barriers)
            assert whole.geom_type == "Polygon"
            assert len(whole.interiors) == 1  # one ring
            assert Polygon(whole.interiors[0]).covers(shapely_box(X0, Z0, X1, Z1))
            assert max(whole.intersection(batten).area for batten in battens) == 0
            trays = [
                face for face in frame.added if face.material == "tray"
            ]  # each level one drains outward over its own
            level = [
                one.bounds[3]
                for one in barriers
                if one.bounds[2] - one.bounds[0] > one.bounds[3] - one.bounds[1]
            ]
            assert sorted(min(z for _, z, _ in face.points) for face in trays) == sorted(level)
            assert all(
                min(face.points, key=lambda one: one[1])[2] < -20 for face in trays
            )  # lowest at its outer edge
            assert "a tray, ends up, open in front, over each level one" in frame.words
            assert "fixing" not in {
                face.material for face in frame.added
            }  # no weep: water leaves over its length
            spots = [spot for name in frame.names if "tray" in name.name for spot in name.ends]
            for face in trays:  # each has its name, which points at it
                (x0, z0, _), (x1, z1, _) = (
                    tuple(pick(at) for at in zip(*face.points, strict=True)) for pick in (min, max)
                )
                assert [x0 < x < x1 and z0 < z < z1 for x, z, _ in spots].count(True) == 1
            seen += 1
    assert seen > 20


def flat_of(face):
    return Polygon([(x, z) for x, z, _ in face.points])


def in_sight(face, frame):
    """What of a face no other covers that lies nearer, by the middle of its depth."""
    mine, depth = as_seen(face), mean_depth(face)
    nearer = [
        as_seen(one) for one in (*frame.before, *frame.added) if not one.line and mean_depth(one) < depth
    ]
    return mine.difference(unary_union([one for one in nearer if one.intersects(mine)]))


def test_ticks_of_a_size_that_runs_out_of_the_wall_lie_across_its_line():
    """By hand: its line leans up to the right, as ticks do elsewhere; on one line two that are 8.5 apart would be one."""
    for ends, falls in (
        (((10, 50), (16, 44)), True),
        (((10, 50), (60, 50)), False),
        (((10, 50), (16, 56)), False),
    ):
        ticks = re.findall(
            r"M([\d.]+) ([\d.]+) L([\d.]+) ([\d.]+)", _measured(ends, (30, 20)).split("<path")[-1]
        )
        assert len(ticks) == 2
        for tick in ticks:
            ax, ay, bx, by = map(float, tick)
            assert (ax < bx, ay < by) == (True, falls)


def test_the_slit_behind_the_tray_of_each_level_barrier_has_taped_ends(runs):
    """By the words of the step: at each end of both trays, seen past barriers, battens and the head flap, within the picture."""
    seen = 0
    for numbers, _, frames in runs:
        for frame in frames:
            if "through a slit with taped ends" not in frame.words:
                continue
            trays = [face for face in frame.added if face.material == "tray"]
            tapes = [face for face in frame.added if face.material == "tape"]
            assert (len(trays), len(tapes)) == (2, 4)
            for tray in trays:
                left, right = (pick(x for x, _, _ in tray.points) for pick in (min, max))
                at = [
                    face
                    for face in tapes
                    if min(z for _, z, _ in face.points)
                    < tray.points[0][1]
                    < max(z for _, z, _ in face.points) + 20
                ]
                ends = sorted(flat_of(face).centroid.x for face in at)
                assert len(ends) == 2
                assert (left, right) == tuple(ends)
                for face in at:  # as far to either side as tape has to be bonded
                    x0, _, x1, _ = flat_of(face).bounds
                    assert x1 - x0 == 2 * numbers.length("tape_bond")
            for face in tapes:
                assert in_sight(face, frame).area > 500
                assert all(0 <= x <= WIDE and z < HIGH for x, z, _ in face.points)
            seen += 1
    assert seen > 5


def test_the_slit_over_a_barrier_at_a_head_lies_above_the_fold_of_its_flap(runs):
    """A slit below it would cut the flap off; by the words the flap is cut so high over the opening."""
    seen = set()
    for numbers, _, frame in adding(runs, "barriers"):
        if "masonry" in numbers.circumstances.wall_type or numbers.cut_over_head:
            continue
        slits = [one.points[0][1] for one in frame.added if one.line and one.material == "edge"]
        assert max(slits) > Z1 + numbers.flap_height
        assert "over a head above its flap's fold" in frame.words
        seen.add(numbers.level)
    assert seen == {1, 2, 3, 4}


def test_a_sill_tray_hangs_over_all_tape_and_stretch_tape_lies_over_the_lining(runs):
    """As they are laid: tape of the laps, lining, stretch tape, tray."""
    seen = {"tray": 0, "corner tape": 0}
    for part in seen:
        for numbers, _, frame in adding(runs, part):
            if "masonry" in numbers.circumstances.wall_type:
                continue
            upright = [one for one in PARTS[part](numbers)[0] if len({d for *_, d in one.points}) == 1]
            low = min(z for one in upright for _, z, _ in one.points)
            for one in upright:
                if min(z for _, z, _ in one.points) == low and one in frame.added:
                    assert uncovered([one], frame) == pytest.approx(flat_of(one).area)
                    seen[part] += 1
    assert min(seen.values()) > 20


def test_no_batten_or_cladding_stands_in_a_stop_end_of_a_head_flashing(runs):
    """A board over the head is notched round both, a batten beside it ends above the one that stands before it."""
    seen = {"board": 0, "batten": 0}
    for numbers, steps, frames in runs:
        parts = {part: frame.added for frame in frames for part in steps[frame.number - 1].adds}
        if "head flashing" not in parts or "cladding" not in parts:
            continue
        boards = [one for one in parts["cladding"] if one.material in ("cladding", "render")]
        for end in parts["head flashing"]:
            if end.material != "metal" or len({x for x, *_ in end.points}) > 1:
                continue
            x, low = end.points[0][0], min(z for _, z, _ in end.points)
            high = max(z for _, z, d in end.points if d == CLAD_FACE)
            at_face = shapely_box(x - 2, low, x + 2, high)
            assert not any(flat_of(one).buffer(0).intersects(at_face) for one in boards)
            seen["board"] += 1
            for batten in PARTS["battens at the head"](numbers)[0] if "battens at the head" in parts else ():
                x0, foot, x1, _ = flat_of(batten).bounds
                if x0 < x < x1:
                    assert foot > high
                    seen["batten"] += 1
    assert min(seen.values()) > 5


def test_the_ends_of_a_cut_over_a_pipe_are_taped_as_wide_as_tape_is_bonded():
    for level in (1, 4):
        numbers = ladder_numbers(level, WALLS[0])
        made = PARTS["sheet over the flange"](numbers)[0]
        [cut] = [one for one in made if one.material == "edge"]
        bond = numbers.length("tape_bond")
        tapes = [flat_of(one).bounds for one in made if one.material == "tape"]
        ends = [x for x, _, _ in cut.points]
        assert [(x0, x1) for x0, _, x1, _ in tapes] == [(x - bond, x + bond) for x in ends]


def test_on_open_studs_timber_stands_behind_the_whole_of_every_taped_lap(runs):
    """By the words of the step: "solid blocking behind every edge that tape will meet"."""
    seen = set()
    for numbers, _, frame in adding(runs, "blocking"):
        laps = [one for one in PARTS["lap tape"](numbers)[0] if not one.line]
        if numbers.boards or not laps:
            continue
        timber = unary_union(
            [
                flat_of(one)
                for one in (*frame.before, *frame.added)
                if one.material == "timber" and {d for *_, d in one.points} == {0}
            ]
        )
        for tape in laps:
            assert flat_of(tape).difference(timber).area < 1
        seen.add(numbers.level)
    assert seen == {2, 3}
    for level in (2, 3):
        wall = ladder_numbers(level, WALLS[0], sheathing="open studs")
        (run,) = short_runs_of([("n", wall)], ["lap and tape"])
        [edge] = [
            one.points[0][0]
            for one in run.frames[2].added
            if one.material == "edge" and one.points[0][0] == one.points[1][0]
        ]
        studs = [flat_of(one).bounds for one in run.frames[0].before if one.material == "timber"]
        assert any(x0 < edge < x1 for x0, _, x1, _ in studs)


def test_blocking_on_open_studs_leaves_the_bays_open_for_insulation(runs):
    """Single pieces behind edges of tape and ends of straps: of each bay beside the opening much stays open; no level piece ends between two studs."""
    seen = 0
    for numbers, _, _ in adding(runs, "blocking"):
        if numbers.boards:
            continue
        blocks = unary_union([flat_of(one) for one in PARTS["blocking"](numbers)[0]])
        for left, right in ((45, X0 - 45), (X1 + 45, WIDE - 45)):
            bay = shapely_box(left, 0, right, HIGH)
            assert 0 < blocks.intersection(bay).area < 0.6 * bay.area, numbers.circumstances
            ends = [
                one.bounds
                for face in PARTS["blocking"](numbers)[0]
                if bay.covers(one := flat_of(face)) and one.bounds[3] < HIGH
            ]
            assert all((x0, x1) == (left, right) for x0, low, x1, high in ends if high - low < 100)
        edge = shapely_box(X0, Z0 - 61, X1, Z0 - 59)  # of the stretch tape at the lower corners
        studs = [flat_of(one) for one in ground(numbers) if one.material == "timber" and not one.line]
        assert unary_union([blocks, *studs]).covers(edge)
        seen += 1
    assert seen > 5


@pytest.mark.parametrize("level", [1, 2, 3])
def test_studs_at_an_upright_lap_stand_in_its_frames_where_its_section_has_them(level):
    """On open studs one in the middle of the lap, dashed where the lap is laid, and blocking behind the edge where that is taped."""
    numbers = ladder_numbers(level, WALLS[0], sheathing="open studs")
    section = section_of(next(one for one in JUNCTIONS if one.key == "lap-upright"), numbers)
    drawn = {
        Polygon(one.outline).centroid.y: one.key for one in section.layers if one.key in ("stud", "blocking")
    }
    (run,) = short_runs_of([("n", numbers)], ["lap and tape"])
    [edge] = [
        one.points[0][0]
        for one in run.frames[2].added
        if one.material == "edge" and one.points[0][0] == one.points[1][0]
    ]
    studs = {flat_of(one).centroid.x - edge for one in run.frames[0].before if one.material == "timber"}
    assert all(any(abs(one - at) < 1e-6 for one in studs) for at in drawn)
    assert ("blocking" in drawn.values()) is (level > 1)
    assert [name.name for name in run.frames[0].names] == ["blocking"] * (level > 1)
    sides = sorted(one.points[0][0] - edge for one in run.frames[2].added if one.material == "cut away")
    assert sum(sides) / 2 == pytest.approx(numbers.length("lap_v") / 2)
    assert sides[1] - sides[0] == pytest.approx(45)  # a stud


def test_the_edge_of_a_sheet_is_dashed_through_the_tape_on_it():
    """So that a size of the tape ends on something: one over all of the upright lap, and one at each side of it over the level lap."""
    (run,) = short_runs_of([("n", ladder_numbers(4, WALLS[0]))], ["lap and tape"])
    frame = run.frames[-1]
    dashed = [one for one in frame.added if one.material == "cut away"]
    tapes = [flat_of(one) for one in frame.added if one.material == "tape"]
    assert sorted(len({x for x, *_ in one.points}) for one in dashed) == [1, 2, 2]
    [size] = [one for one in frame.sizes if one.row == "tape_bond"]
    assert size.ends[0][0] in {
        x for one in dashed for x, *_ in one.points if len({x for x, *_ in one.points}) == 1
    }
    upright = min(tapes, key=lambda tape: tape.bounds[2] - tape.bounds[0])
    for one in dashed:
        way = LineString([(x, z) for x, z, _ in one.points])
        assert any(way.difference(tape).length < 1e-6 for tape in tapes)
        level = len({x for x, *_ in one.points}) == 2
        assert not level or way.intersection(upright).length < 1e-6


def test_trims_go_up_behind_the_lip_of_the_head_flashing(runs):
    """As the head is drawn: up to the head of the opening, under the plate of the flashing, whose lip hides their tops and drips clear."""
    seen = 0
    for numbers, steps, frames in runs:
        if "masonry" in numbers.circumstances.wall_type:
            continue
        faces = [
            (part, face)
            for frame in frames
            for part in [steps[frame.number - 1].adds]
            for face in frame.added
        ]
        plates = [face for adds, face in faces if "head flashing" in adds and face.material == "tray"]
        trims = [face for adds, face in faces if "trim" in adds and face.material == "timber"]
        for plate, trim in product(plates, trims):
            inner, outer = (pick(d for _, _, d in plate.points) for pick in (max, min))
            (lip,) = (
                face
                for adds, face in faces
                if "head flashing" in adds and {d for *_, d in face.points} == {outer}
            )
            top = max(trim.points, key=lambda one: one[1])
            assert outer < top[2] < inner
            (low, high), share = sorted({z for _, z, _ in plate.points}), (top[2] - outer) / (inner - outer)
            assert Z1 - 5 < top[1] < low + share * (high - low)
            _, foot, _, edge = as_seen(lip).bounds
            assert foot < top[1] + LEAN[1] * top[2] < edge + 1
            seen += 1
    assert seen > 20


def test_a_tray_over_a_window_in_a_leaf_has_both_stop_ends_and_weep_holes_where_its_step_names_them(runs):
    seen = {True: 0, False: 0}
    for *_, frame in adding(runs, "cavity tray"):
        plates = [face for face in frame.added if face.material == "tray"]
        metal = [face.points for face in frame.added if face.material == "metal"]
        ends = {points[0][0] for points in metal if len({x for x, _, _ in points}) == 1}
        assert all(ends == {x for x, _, _ in plate.points} for plate in plates)
        weeps = "weep holes" in frame.words
        assert len([face for face in frame.added if face.material == "fixing"]) == 2 * weeps
        seen[weeps] += 1
    assert min(seen.values()) > 5


def test_no_bracket_under_a_window_stands_on_a_batten(runs):
    for numbers, steps, frames in runs:
        for frame in frames:
            if "support" in steps[frame.number - 1].adds and "masonry" not in numbers.circumstances.wall_type:
                feet = [flat_of(face) for face in frame.added if face.material == "metal"]
                battens = [
                    flat_of(face)
                    for face in frame.before
                    if face.material == "timber" and {d for *_, d in face.points} == {-20}
                ]
                assert len(feet) > 1
                assert not any(foot.intersects(batten) for foot in feet for batten in battens)


def test_boards_under_a_sill_have_a_batten_between_the_brackets_and_blocking_stops_at_its_stud(runs):
    """Between the battens beside the window lie more than 500 mm, and their greatest distance is 600 as read in the table."""
    seen = 0
    for numbers, _, frame in adding(runs, "support"):
        if not numbers.has("batten_sp") or "masonry" in numbers.circumstances.wall_type:
            continue
        blocking = [flat_of(face) for face in frame.added if face.material == "cut away"]
        low = max(one.bounds[3] for one in blocking)
        short = [
            one
            for one in (flat_of(face) for face in frame.before if face.material == "timber" and {d for *_, d in face.points} == {-20})
            if X0 + 50 < one.bounds[0] < one.bounds[2] < X1 - 50 and one.bounds[1] > 10 and one.bounds[3] < Z0
        ]  # fmt: skip
        [batten] = short
        assert batten.bounds[3] > low - 60
        assert len(blocking) == 2
        assert not any(one.buffer(-1).intersects(shapely_box(batten.bounds[0], 0, batten.bounds[2], Z0)) for one in blocking)  # fmt: skip
        seen += 1
    assert seen > 5


def test_an_outer_sill_is_set_after_the_window_over_the_edge_of_light_cladding(runs):
    seen = 0
    for numbers, steps, _ in runs:
        adds = [part for step in steps for part in step.adds]
        if "masonry" in numbers.circumstances.wall_type:
            assert "outer sill" not in adds
            continue
        clad = "cladding to the head" if "cladding to the head" in adds else "cladding"
        assert adds.index("window") < adds.index("outer sill")
        assert adds.index(clad) < adds.index("outer sill")
        seen += 1
    assert seen > 50


def test_trims_and_linings_stand_on_no_outer_sill_and_come_after_it(runs):
    """Their feet are seen over its face; nothing has to be notched round the other."""
    seen = 0
    for _, steps, frames in runs:
        adds = [part for step in steps for part in step.adds]
        for piece in {"trim", "reveal lining"}.intersection(adds):
            assert adds.index("outer sill") < adds.index(piece)
        sills = [face for frame in frames for face in frame.added if face.material == "tray" and "outer sill" in steps[frame.number - 1].adds]  # fmt: skip
        sill = next((one for one in sills if one.points[0][0] == X0 - 4), None)
        feet = [
            face
            for frame in frames
            if {"trim", "reveal lining"}.intersection(steps[frame.number - 1].adds)
            for face in frame.added
            if face.material == "timber"
        ]
        for foot in feet:
            (_, back, deep), (_, front, out) = sill.points[1], sill.points[2]
            for _, z, d in foot.points:
                assert z > front + (back - front) * (d - out) / (deep - out)
            seen += 1
    assert seen > 40


def test_the_gap_under_the_foot_of_a_trim_or_lining_is_seen_and_named(runs):
    """By the words "its foot open, 5 mm clear of the outer sill": a gap of two pixels or more, which its label points into."""
    seen = set()
    for numbers, steps, frame in (one for part in ("trim", "reveal lining") for one in adding(runs, part)):
        if "clear of the outer sill" not in frame.words:
            continue
        faces = [*frame.before, *frame.added]
        sill = next(face for face in faces if face.material == "tray" and face.points[0][0] == X0 - 4)
        (_, back, deep), (_, front, out) = sill.points[1], sill.points[2]
        feet = [
            (z - front - (back - front) * (d - out) / (deep - out), z, d)
            for face in frame.added
            if face.material == "timber" and min(z for _, z, _ in face.points) < Z0 + 60
            for _, z, d in face.points
            if z < Z0 + 60
        ]
        assert min(gap for gap, *_ in feet) * SCALE >= 2
        labels = [
            size.ends[0]
            for size in (*frame.sizes, *frame.names)
            if size.word == "foot clear" or size.name == f"foot clear {numbers.length('clad_gap'):g}"
        ]
        [(_, z, d)] = labels
        on_sill = front + (back - front) * (d - out) / (deep - out)
        assert on_sill < z < min(foot for _, foot, at in feet if at == d)
        seen.update({"trim", "reveal lining"} & set(steps[frame.number - 1].adds))
    assert seen == {"trim", "reveal lining"}


def test_a_cover_over_a_cavity_lies_on_the_sill_of_the_leaf_by_its_size(runs):
    """From the back of that sill out to the cover's edge, as its section has it."""
    seen = 0
    for *_, frame in adding(runs, "sill cover"):
        [size] = [one for one in frame.sizes if one.row == "sill_cover"]
        back, out = (d for *_, d in size.ends)
        stone = [
            d
            for face in frame.before
            if face.material == "stone" and face.points[0][1] < Z0 + 20
            for *_, d in face.points
        ]
        assert back == max(stone)
        assert out == min(d for face in frame.added if face.material == "tray" for *_, d in face.points)
        seen += 1
    assert seen > 5


@pytest.mark.parametrize("end", [(8, 0), (0, 8), (5.7, -5.7), (5.7, 5.7), (-5.7, 5.7)])
def test_the_ticks_of_a_short_size_stand_across_its_line(end):
    """Whichever way it leans: else a size along the depth of a frame has two ticks that fall into one stroke."""
    drawn = ET.fromstring(f"<g>{_measured([(0.0, 0.0), end], (40.0, 40.0))}</g>")
    way = [float(one) for one in re.findall(r"-?[\d.]+", list(drawn)[-1].get("d"))]
    (ax, ay, bx, by), length = way[:4], hypot(*end)
    assert abs((bx - ax) * end[1] - (by - ay) * end[0]) / (length * dist((ax, ay), (bx, by))) > 0.7


@pytest.mark.parametrize("end", [(5, 0), (0, 5), (3, -4), (4, 3), (-2, -2)])
def test_a_size_whose_ticks_would_run_together_has_arrows_from_outside(end):
    """As in the sections, where ends lie nearer than 7: each tip at its end, its foot beyond it on the line through both."""
    drawn = list(ET.fromstring(f"<g>{_measured([(0.0, 0.0), end], (40.0, 40.0))}</g>"))
    heads = [
        [float(one) for one in re.findall(r"-?[\d.]+", path.get("d", "") or path.get("points"))]
        for path in drawn[-2:]
    ]
    for (tip, other), arrow in zip((((0, 0), end), (end, (0, 0))), heads, strict=True):
        x, y, ax, ay, bx, by = arrow[:6]
        assert (x, y) == pytest.approx(tip, abs=0.1)
        foot = ((ax + bx) / 2, (ay + by) / 2)
        assert dist(foot, other) == pytest.approx(dist(foot, tip) + dist(tip, other), abs=0.1)
    far = _measured([(0.0, 0.0), (8.0, 0.0)], (40.0, 40.0))
    assert "fill=" not in far.replace('fill="none"', "")


def test_an_outer_sill_is_named_where_it_is_new(runs):
    """Its dot stands on its front, clear of that of the mesh under it: one is wider than 4 units of the picture, 18 mm."""
    seen, meshed = 0, 0
    for _, _, frame in adding(runs, "outer sill"):
        [name] = [one for one in frame.names if one.name == "outer sill"]
        x, z, d = name.ends[0]
        fronts = [
            flat_of(one)
            for one in frame.added
            if one.material == "metal" and {at for *_, at in one.points} == {d}
        ]
        assert any(one.contains(Point(x, z)) for one in fronts)
        for mesh in (one.ends[0] for one in frame.names if one.name == "mesh inside"):
            assert dist(_at(name.ends[0]), _at(mesh)) > 9
            meshed += 1
        seen += 1
    assert seen > 20
    assert meshed > 5


def test_the_dot_of_the_strip_behind_a_tray_stands_on_it(runs):
    """And on no tape at the jamb beside it."""
    seen = 0
    for _, _, frame in adding(runs, "back strip"):
        for name in (one for one in frame.names if one.name == "strip"):
            x, z, d = name.ends[0]
            dot = Point(x + LEAN[0] * d, z + LEAN[1] * d)
            on = [one for one in frame.added if not one.line and as_seen(one).buffer(0).contains(dot)]
            assert {one.material for one in on if len({d for *_, d in one.points}) == 1} == {"timber"}
            seen += 1
    assert seen > 5


def test_an_outer_sill_lies_under_the_feet_of_trims_and_linings(runs):
    """Water off a foot falls on the sill, as its section has it: the sill ends past their outer edges."""
    seen = set()
    for _, steps, frames in runs:
        added = {part: frame.added for frame in frames for part in steps[frame.number - 1].adds}
        closing = next((part for part in ("trim", "reveal lining") if part in added), "")
        fronts = [x for face in added.get(closing, ()) if face.material == "timber" for x, *_ in face.points]
        if not fronts:
            continue
        lips = [
            face for face in added["outer sill"] if face.material == "metal" and face.points[0][1] == Z0 - 22
        ]
        (sill,) = lips
        across = [x for x, *_ in sill.points]
        assert min(across) < min(fronts)
        assert max(across) > max(fronts)
        seen.add(closing)
    assert seen == {"trim", "reveal lining"}


@pytest.mark.parametrize("wall", [WALLS[0], WALLS[3]])
@pytest.mark.parametrize("level", [1, 2, 3, 4])
def test_the_leg_over_a_window_goes_on_above_the_cut_at_the_edge_of_the_tape(level, wall):
    """In the picture of its step as in its section: cut so far over the opening as tape is bonded, leg so far above that."""
    numbers = ladder_numbers(level, wall, position="over the cavity", frame="box frame with straps")
    frame = next(one for one in frames_of(steps_of(numbers), numbers) if "level cut" in one.words)
    sizes = {size.row: sorted(z for _, z, _ in size.ends) for size in frame.sizes if len(size.ends) == 2}
    assert sizes["tape_bond"][1] == sizes["head_up"][0]
    flap = next(face for face in frame.added if face.material == "flap")
    assert min(z for _, z, _ in flap.points) == sizes["tape_bond"][1]
    leg = max(z for face in frame.added if face.material == "metal" for _, z, _ in face.points)
    assert leg == sizes["head_up"][1]


@pytest.mark.parametrize("letters", [LETTERS, FRAME_LETTERS, ON_PHONE])
def test_no_leader_runs_behind_the_label_of_another(runs, letters):
    """It would come out below it and be read as that one's own; on paper a frame of more than four labels has not always room."""
    seen = 0
    for numbers, _, frames in runs:
        for frame in frames:
            placed = placed_labels(frame, numbers, letters)
            for (words, box), size in zip(placed, (*frame.sizes, *frame.names), strict=True):
                if not size.ends or (letters == FRAME_LETTERS and len(placed) > 4):
                    continue
                spots = [_at(spot) for spot in size.ends]
                end = [sum(each) / len(spots) for each in zip(*spots, strict=True)]
                way = LineString([((box[0] + box[2]) / 2, (box[1] + box[3]) / 2), end])
                behind = [
                    other for other, place in placed if place != box and way.intersects(shapely_box(*place))
                ]
                assert not behind, (words, behind, frame.number)
                seen += len(placed) > 1
    assert seen > 100


def test_two_sizes_of_a_frame_that_are_alike_have_their_words(runs):
    """Up the wall and off it are both 125 mm at level 3, as read in the table: each by the word of its section."""
    (run,) = (one for one in short_runs_of([("north", ladder_numbers(3, WALLS[0]))]) if "eave" in one.title)
    svg = ET.fromstring(work_picture(run.frames[:1], run.numbers))
    drawn = {"".join(one.itertext()) for one in svg.iter() if one.tag.endswith("}text")}
    assert {"up 125", "out 125"} <= drawn
    for numbers, _, frames in runs[::40]:
        for frame in frames:
            svg = ET.fromstring(work_picture([frame], numbers))
            sizes = [
                one for one in svg.iter() if one.tag.endswith("}text") and one.get("font-weight") == "700"
            ]
            told = [words for one in sizes if any(map(str.isdigit, words := "".join(one.itertext())))]
            assert len(set(told)) == len(told), (frame.words, told)


@pytest.mark.parametrize("letters", [LETTERS, FRAME_LETTERS, ON_PHONE])
def test_no_size_of_a_frame_is_lost_or_covers_another_or_an_end(runs, letters):
    """On the page and, in larger letters, on a printed sheet: all stand whole inside the picture."""
    whole = [(numbers, frames) for numbers, _, frames in runs[::9]]
    whole += [
        (run.numbers, run.frames)
        for level in (2, 4)
        for run in short_runs_of([("n", ladder_numbers(level, WALLS[0], snow_roof=800))])
    ]
    for numbers, frames in whole:
        for frame in frames:
            placed = [box for _, box in placed_labels(frame, numbers, letters)]
            assert len(placed) == len(frame.sizes) + len(frame.names)
            for place, box in enumerate(placed):
                assert is_free(box, placed[:place]), (frame.words, box)
                assert box[0] >= 0
                assert box[1] >= SPARE
                assert box[2] <= CELL
                assert box[3] <= TOP + HIGH * SCALE + 6
                for size in frame.sizes:
                    for x, y in map(_at, size.ends):
                        assert not (box[0] < x < box[2] and box[1] < y < box[3]), (frame.words, size.row)


def test_what_the_sheet_above_the_cut_covers_is_dashed_on_it():
    """Flange and side tapes, by the words "down over flange and side tapes": as wide and as high as the parts themselves."""
    for level in (2, 3):
        (run,) = (
            one for one in short_runs_of([("n", ladder_numbers(level, WALLS[0]))]) if "pipe" in one.title
        )
        last = next(frame for frame in run.frames if "Bring the membrane" in frame.words)
        sheet = next(face for face in last.added if face.material == "film")
        cut = min(z for _, z, _ in sheet.points)
        tops = [
            (min(x for x, _, _ in face.points), max(x for x, _, _ in face.points), max(z for _, z, _ in face.points))
            for face in last.before
            if face.material in ("tape", "metal") and max(z for _, z, _ in face.points) > cut
        ]  # fmt: skip
        dashed = [
            (min(x for x, _, _ in face.points), max(x for x, _, _ in face.points), max(z for _, z, _ in face.points))
            for face in last.added
            if face.material == "hidden edge"
        ]  # fmt: skip
        assert sorted(dashed) == sorted(tops)
        assert len(tops) == 3


def test_feet_of_battens_stand_clear_of_the_slope_of_the_base_flashing():
    """As they are seen, the foot above the edge where upstand and slope meet, on the upstand."""
    (run,) = (one for one in short_runs_of([("n", ladder_numbers(3, WALLS[0]))]) if "base" in one.title)
    flashing = next(face for face in run.frames[0].added if face.material == "metal")
    low, high = (_at((0.0, pick(z for _, z, _ in flashing.points), -3.0))[1] for pick in (min, max))
    for batten in (face for face in run.frames[1].added if face.material == "timber"):
        foot = max(_at(spot)[1] for spot in batten.points)
        assert high < foot < low - 5


def test_the_joint_that_the_lowest_board_laps_is_dashed_on_the_board():
    """Foundation and membrane meet there in the first frame, and the upper end of the size lies on it."""
    for wall in (WALLS[0], "rendered board"):
        (run,) = (one for one in short_runs_of([("n", ladder_numbers(3, wall))]) if "base" in one.title)
        stone = next(face for face in run.frames[0].before if face.material == "stone")
        joint = max(z for _, z, _ in stone.points)
        last = run.frames[-1]
        [dashed] = [face for face in last.added if face.material == "hidden edge"]
        [size] = [size for size in last.sizes if size.row == "plate_lap"]
        assert {z for _, z, _ in dashed.points} == {joint} == {max(z for _, z, _ in size.ends)}
        boards = [d for face in last.added if face is not dashed for *_, d in face.points]
        assert {d for *_, d in dashed.points} == {d for *_, d in size.ends}
        assert dashed.points[0][2] < min(boards)


def test_where_a_leaf_stands_up_both_jambs_its_course_is_dashed_behind_it_and_the_opening_stays_open(runs):
    """Course by its row, 150 wide as read in the table; nothing of the leaf before the opening under its head."""
    seen = 0
    for *_, frame in adding(runs, "leaf to the head"):
        courses = [flat_of(face) for face in frame.added if face.material == "course"]
        assert [one.bounds[2] - one.bounds[0] for one in courses] == [150, 150]
        assert "course 150" in [name.name for name in frame.names]
        leaf = unary_union([flat_of(face) for face in frame.added if face.material == "masonry"])
        assert leaf.intersection(shapely_box(X0 + 40, Z0 + 1, X1 - 40, HIGH)).area == 0
        seen += 1
        over = leaf.bounds[3]
        before = unary_union([as_seen(face) for face in frame.added if face.material == "masonry"])
        bare = unary_union([as_seen(face) for face in frame.added if face.material == "course"]).difference(
            before
        )
        assert bare.area < 1  # behind the leaf and its reveal, dashed there
        assert max(z for face in frame.added if face.material == "course" for _, z, _ in face.points) == over
        dashed = [flat_of(face).bounds for face in frame.added if face.material == "cut away"]
        assert sorted(dashed) == sorted(one.bounds for one in courses)
        [(start, end)] = [name.ends for name in frame.names if name.name == "course 150"]
        assert end[0] - start[0] == 150
    assert seen > 5


def test_in_a_leaf_the_trays_edge_lies_on_the_lintel_and_the_weep_holes_on_that(runs):
    """From below up: top of the opening, lintel, edge, open joints; the lintel past the opening, the tray past the lintel."""
    seen = 0
    for *_, frame in adding(runs, "leaf"):
        [lintel] = [
            flat_of(face).bounds
            for face in frame.added
            if face.material == "stone" and face.points[0][1] > Z1 - 50
        ]
        [edge] = [face for face in frame.added if face.material == "metal" and len({z for _, z, _ in face.points}) == 2 and face.points[1][0] - face.points[0][0] > 300]  # fmt: skip
        weeps = [flat_of(face).bounds for face in frame.added if face.material == "fixing"]
        left, low, right, high = flat_of(edge).bounds
        assert lintel[1] < Z1 < low < lintel[3] < high
        assert {one[1] for one in weeps} == {high}
        assert left < lintel[0] < X0 < X1 < lintel[2] < right
        assert edge.points[0][2] == LEAF_FACE - 5  # by the words "5 mm out past the leaf"
        spots = {name.name: name.ends[0] for name in frame.names}
        assert lintel[1] < spots["lintel"][1] < lintel[3]
        assert low < spots["tray's edge"][1] < high
        seen += 1
    assert seen > 20


def test_a_leaf_is_there_before_what_is_set_on_it(runs):
    """Under a sill when the leaf has come up to it, under the tray at its lintel: by the words, and touching in the picture."""
    seen = set()
    for numbers, _, frames in runs:
        for frame in frames:
            leaf = [
                flat_of(face)
                for face in frame.added
                if face.material == "masonry"
                and face not in PARTS["weep holes"](numbers)[0]
                and face.points[0][2] == LEAF_FACE
            ]
            if "outer leaf has come up to it" in frame.words:
                course = next(flat_of(face) for face in frame.added if face.material == "course")
                assert max(one.bounds[3] for one in leaf) == course.bounds[1]
                seen.add("sill")
            if "leaf has reached its lintel" in frame.words:
                lintel = next(flat_of(face) for face in frame.added if face.material == "stone")
                tray = next(face for face in frame.added if face.material == "tray")
                assert max(one.bounds[3] for one in leaf) == lintel.bounds[3]  # beside it
                assert lintel.bounds[3] == min(z for _, z, _ in tray.points)
                seen.add("lintel")
    assert seen == {"sill", "lintel"}


def test_the_lintel_of_a_leaf_is_as_high_as_its_section_has_it(runs):
    """And the tray in the frames starts at its top; the section's reaches up to 30 mm more, over tape and down before the frame."""
    seen = 0
    for numbers, _, frame in adding(runs, "leaf"):
        [lintel] = [flat_of(face) for face in frame.added if face.material == "stone" and face.points[0][1] > Z1 - 50]  # fmt: skip
        low, high = lintel.bounds[1], lintel.bounds[3]
        try:
            drawn = head(numbers)
        except NotDrawnError:
            continue
        bounds = next(Polygon(one.outline).bounds for one in drawn.layers if one.key == "leaf lintel")
        assert 0 <= (bounds[3] - bounds[1]) - (high - low) <= 30
        trays = [face for face in PARTS["cavity tray"](numbers)[0] if face.material == "tray"]
        assert min(z for tray in trays for _, z, _ in tray.points) == high
        seen += 1
    assert seen > 20


def test_the_barrier_at_the_head_of_a_leaf_is_seen_below_a_tray_that_is_there_before_it(runs):
    """It lies behind the lintel to come, on which the tray will lie."""
    seen = 0
    for numbers, steps, frame in adding(runs, "barriers"):
        before = {part for step in steps[: frame.number - 1] for part in step.adds}
        if any("Tuck the cavity tray" in step.text for step in steps[frame.number :]):
            assert "tray to come" in {name.name for name in frame.names}
        if "cavity tray" not in before:
            continue
        level = max(
            (face for face in frame.added if face.material == "barrier"), key=lambda one: one.points[0][1]
        )
        tray = unary_union([as_seen(one) for one in PARTS["cavity tray"](numbers)[0] if not one.line])
        assert as_seen(level).difference(tray).area > 0.8 * as_seen(level).area
        seen += 1
    assert seen > 5


def seen_in(frames):
    """The faces of the last frame, those before it too."""
    return [*frames[-1].before, *frames[-1].added]


def test_both_jambs_of_a_window_in_a_leaf_are_seen_past_it(runs):
    """On its right, too, some of the frame is seen between pane and leaf, though the reader stands to the right."""
    seen = 0
    for numbers, steps, frames in runs:
        if "masonry" not in numbers.circumstances.wall_type or any("trim" in step.adds for step in steps):
            continue
        faces = seen_in(frames)
        right = min(
            _at(spot)[0]
            for face in faces
            if face.material == "masonry"
            and {d for *_, d in face.points} == {LEAF_FACE}
            and min(x for x, _, _ in face.points) > (X0 + X1) / 2
            for spot in face.points
        )
        panes = max(_at(spot)[0] for face in faces if face.material == "glass" for spot in face.points)
        assert right - panes > 5
        seen += 1
    assert seen > 20


def test_a_flange_is_drawn_and_taped_over_to_the_side_of_the_frame(runs):
    """25 beside the opening, frame 10 within it, as the jamb is drawn: a tape of 150 leaves 115 past the flange."""
    seen = 0
    for numbers, steps, frames in runs:
        mine = numbers.circumstances
        if mine.window_position != "at the sheathing" or mine.frame != "nailing flange":
            continue
        faces = [
            (steps[frame.number - 1].adds, flat_of(face), face)
            for frame in frames
            for face in frame.added
            if face.material in ("frame", "tape", "cladding") and len({d for *_, d in face.points}) == 1
        ]
        flange, front = (one for adds, one, face in faces if "window" in adds and face.material == "frame")
        tape = min((one for adds, one, _ in faces if "jamb tape" in adds), key=lambda one: one.bounds[0])
        assert flange.bounds[0] == X0 - 25
        assert front.bounds[0] == X0 + 10
        assert front.bounds[0] - 2 < tape.bounds[2] < front.bounds[0]
        assert flange.bounds[0] - tape.bounds[0] == numbers.length("tape_w") - 34
        for _, board, face in faces:
            if face.material == "cladding":
                assert (
                    board.distance(front) in (0, pytest.approx(10))
                    or board.bounds[1]
                    < Z0
                    < board.bounds[3]  # the one that reaches up to the sill and past it
                    or board.bounds[3] > Z1 + 20  # its edge lies over the head flashing
                    or board.bounds[3] < Z0
                )
        seen += 1
    assert seen > 10


def test_render_is_drawn_without_boards(runs):
    both = [(numbers, frames) for numbers, _, frames in runs]
    both += [
        (run.numbers, run.frames) for run in short_runs_of([("n", ladder_numbers(4, WALLS[3], snow_roof=0))])
    ]
    seen = 0
    for numbers, frames in both:
        if numbers.circumstances.wall_type == "rendered board":
            found = {face.material for frame in frames for face in frame.added}
            assert not {"cladding", "joint"} & found
            seen += "render" in found
    assert seen > 20


@pytest.mark.parametrize(("level", "clear"), [(2, 0), (3, 25), (4, 50)])  # as the row's sentences say
def test_a_hood_is_drawn_in_the_last_step_where_one_is_ordered(level, clear):
    numbers = ladder_numbers(level, WALLS[0], position="over the cavity", frame="nailing flange")
    frame = frames_of(steps_of(numbers), numbers)[-1]
    hoods = [name for name in frame.names if "hood" in name.name]
    assert [name.name for name in hoods] == ([f"hood, {clear} clear"] if clear else [])
    assert (f"hood on the cladding over the window, {clear}\u00a0mm clear" in frame.words) is bool(clear)
    assert ("screwed through to the battens, its top edge sealed" in frame.words) is bool(clear)
    window = min(d for face in frame.before if face.material == "frame" for *_, d in face.points)
    lip = [
        face for face in frame.before if face.material == "metal" and {d for *_, d in face.points} == {LIP}
    ]
    assert len(lip) == 1
    for (
        name
    ) in hoods:  # it points at the hood's face, so far before the frame at least and before the flashing
        face = next(one for one in frame.added if {d for *_, d in one.points} == {name.ends[0][2]})
        assert name.ends[0][2] <= window - clear + 2
        assert name.ends[0][2] < LIP
        [bead] = [one for one in frame.added if one.material == "sealant"]
        leg = frame.added[frame.added.index(bead) - 3]
        assert {d for *_, d in leg.points} == {CLAD_FACE - 1}
        assert {(x, z) for x, z, _ in bead.points} == {(x, flat_of(leg).bounds[3]) for x, *_ in leg.points}
        assert flat_of(face).bounds[1] <= flat_of(lip[0]).bounds[1]  # and down to its foot
        assert uncovered([face], frame) == pytest.approx(flat_of(face).area)


def test_an_opening_is_checked_in_the_first_frame_alone(runs):
    """Its diagonals are as long as each other and run from corner to corner."""
    for _, _, frames in runs:
        first = frames[0]
        assert "Check the opening" in first.words
        lines = [face.points for face in first.added if face.material == "check"]
        assert {frozenset((x, z) for x, z, _ in one) for one in lines} == {
            frozenset({(X0, Z0), (X1, Z1)}), frozenset({(X0, Z1), (X1, Z0)}),
        }  # fmt: skip
        names = {name.name for name in first.names} - {"blocking"}
        assert names == {"diagonals equal", "level", "plumb", "square"}
        assert not any(face.material == "check" for frame in frames[1:] for face in frame.before)


def test_an_opening_in_a_wall_of_one_tint_is_outlined_and_what_checks_it_lies_within(runs):
    """Reveal and wall have one colour in masonry: without the line, diagonals and levels seem to stand outside the opening."""
    seen = 0
    for numbers, _, frame in adding(runs, "check"):
        if numbers.circumstances.wall_type != "cavity masonry":
            continue
        corners = {(x, z, INNER_SET) for x, z in product((X0, X1), (Z0, Z1))}
        [outline] = [face for face in frame.before if face.line and set(face.points) == corners]
        way = " ".join(f"{x:.1f}" for x in _at(outline.points[0]))
        drawn = [
            one
            for one in ET.fromstring(work_picture([frame], numbers)).iter()
            if way in one.get("d", "").replace(",", " ").replace("M", "")
        ]
        assert any(one.get("stroke") == SOFT for one in drawn)
        spots = [spot for face in frame.added for spot in face.points]
        left, low, right, high = as_seen(outline).buffer(1).bounds  # levels lie 1 mm before it
        assert all(left <= x + LEAN[0] * d <= right and low <= z + LEAN[1] * d <= high for x, z, d in spots)
        seen += 1
    assert seen > 5


def test_the_leaf_to_come_is_marked_over_both_sides_of_the_frames_face(runs):
    """By the words "lapped 25 mm to the frame", at either jamb; the leaf's back lies in the plane of the frame's face."""
    seen = 0
    for _, _, frame in adding(runs, "mark"):
        [leaf] = [face for face in frame.added if face.material == "hidden edge"]
        left, *_, right = sorted(_at(spot)[0] for spot in leaf.points)
        [face] = [
            one for one in frame.added if one.material == "mark" and len({z for _, z, _ in one.points}) == 2
        ]
        outline = sorted(_at(spot)[0] for spot in face.points)
        assert left - outline[0] == pytest.approx(25 * SCALE)
        assert outline[-1] - right == pytest.approx(25 * SCALE)
        assert {d for *_, d in leaf.points} == {d for *_, d in face.points} == {CAVITY_SET}
        seen += 1
    assert seen > 5


def test_a_leaf_laps_the_head_of_a_frame_behind_it_and_its_sill_goes_past_the_opening_as_in_the_sections(
    runs,
):
    """15 and 50 as drawn there, from the frame's top and from the edges of the opening in the leaf; the step says which course laps the other."""
    top, seen = Z1 - 10, []  # of the frame, 10 clear of the opening all round
    for numbers, _, frame in adding(runs, "mark"):
        [to_come] = [face for face in frame.added if face.material == "hidden edge"]
        assert top - max(z for _, z, _ in to_come.points) == 15
        for part in ("leaf", "leaf to the lintel"):
            faces = PARTS[part](numbers)[0]
            [foot] = [
                flat_of(one).bounds[1]
                for one in faces
                if one.material == "stone" and len({d for *_, d in one.points}) == 1
            ]
            assert top - foot == 15
        seen.append("mark")
    for numbers, steps, frame in adding(runs, "sill"):
        reveals = X0 + leaf_lap(numbers), X1 - leaf_lap(numbers)
        sides = [x for face in PARTS["sill"](numbers)[0] if face.material == "stone" for x, *_ in face.points]
        assert (reveals[0] - min(sides), max(sides) - reveals[1]) == (50, 50)
        if "at its back, a piece" in frame.words and "set the sill on the leaf alone" in frame.words:
            told = "behind the jambs' courses" in frame.words, "jambs' courses come down" in frame.words
            before = any("jamb course" in step.adds for step in steps[: frame.number - 1])
            assert told == (before, not before)
            seen.append(before)
    assert {"mark", True, False} <= set(seen)


def deepest(faces):
    return max(d for face in faces for *_, d in face.points)


def test_in_a_cavity_wall_window_mark_and_tray_stand_before_the_inner_leaf_as_in_its_sections(runs):
    """By the sill's section at a cavity of 50: frame 28.5 clear of the inner leaf, the tray's back 13 behind the frame."""
    numbers = ladder_numbers(4, WALLS[2], frame="set back in masonry", position="in the masonry cavity")
    drawn = {
        one.key: Polygon(one.outline).bounds
        for one in section_of(next(one for one in JUNCTIONS if one.key == "sill"), numbers).layers
    }
    clear = drawn["core"][0] - drawn["frame"][2]
    assert clear == pytest.approx(28.5)
    behind = drawn["tray"][2] - drawn["frame"][2]
    seen = 0
    for numbers, steps, frames in runs:
        if numbers.circumstances.wall_type != "cavity masonry":
            continue
        parts = {part: frame for frame in frames for part in steps[frame.number - 1].adds}
        [leaf] = {
            face.points[0][2] for face in frames[0].before if face.material == "masonry" and len({d for *_, d in face.points}) == 1
        }  # fmt: skip
        window = deepest(one for one in parts["window"].added if one.material == "frame")
        assert abs(leaf - window - clear) <= 1
        assert deepest(parts["mark"].added) == window
        assert abs(deepest(parts["tray"].added) - window - behind) <= 1
        for arm in (one for one in parts["support"].added if one.material == "tray"):
            depths = [d for *_, d in arm.points]
            assert (
                CAVITY_SET < min(depths) < (CAVITY_SET + window) / 2
            )  # out under its middle, clear of the leaf
            assert leaf - 10 < max(depths) < leaf  # from the inner leaf
        seen += 1
    assert seen > 20


def test_a_tray_on_brackets_is_closed_at_both_corners_and_its_ends_go_out_to_its_front(runs):
    """An end meets the turned-up back in one upright edge, and ends where the plate does; in the leaf to come it has no part."""
    seen = 0
    for numbers, _, frame in adding(runs, "tray"):
        if not numbers.has("sill_bracket"):
            continue
        metal = [face for face in frame.added if face.material == "metal"]
        plates = [face for face in frame.added if face.material == "tray"]
        [back] = [face for face in metal if {d for *_, d in face.points} == {deepest(frame.added)}]
        ends = [face for face in metal if len({x for x, *_ in face.points}) == 1]
        lap = leaf_lap(numbers)
        assert all(X0 + lap <= x <= X1 - lap for face in (*metal, *plates) for x, _, d in face.points if d < CAVITY_SET - 4)  # fmt: skip
        assert "its front no wider than between the jambs of the leaf" in frame.words
        assert {face.points[0][0] for face in ends} == {X0, X0 + lap, X1 - lap, X1}
        for side, jamb in ((X0, X0 + lap), (X1, X1 - lap)):
            pieces = [face for face in ends if face.points[0][0] in (side, jamb)]
            assert [{d for *_, d in face.points} for face in pieces] == [
                {d for *_, d in face.points} for face in plates
            ]
            behind, _ = pieces
            [notch] = [face for face in metal if {x for x, *_ in face.points} == {side, jamb}]
            for piece in pieces:  # it joins them along the back of the leaf
                edge = {(x, z) for x, z, d in piece.points if d == CAVITY_SET - 3}
                assert edge <= {(x, z) for x, z, _ in notch.points}
            corner = sorted(spot for spot in behind.points if spot[2] == deepest(frame.added))
            edge = sorted(spot for spot in back.points if spot[0] == side)
            assert corner[0] == edge[0]
            assert corner[1][1] - corner[0][1] == numbers.length("end_dam")
            assert edge[1][1] - edge[0][1] == numbers.length("back_dam")
        seen += 1
    assert seen > 20


def test_insulation_is_on_the_inner_leaf_before_the_tray_and_leaves_room_for_barriers_and_tray(runs):
    """By the words "close round brackets and up to each barrier" and "always ahead" of the outer leaf."""
    seen = 0
    for numbers, steps, frame in adding(runs, "insulation"):
        added = [part for step in steps[: frame.number] for part in step.adds]
        assert "support" in added
        assert "tray" not in added
        pieces = unary_union([flat_of(face) for face in frame.added if face.material == "insulation" and len({d for *_, d in face.points}) == 1])  # fmt: skip
        for part in ("barriers", "tray"):
            upright = [one for one in PARTS[part](numbers)[0] if one.material == "barrier" or (part == "tray" and one.material == "metal")]  # fmt: skip
            assert upright
            for one in upright:
                shape = flat_of(one)
                if part == "barriers":
                    assert pieces.intersection(shape).area == pytest.approx(0)
                elif shape.area:
                    inside = shape.intersection(shapely_box(0, Z0, WIDE, HIGH))
                    assert pieces.intersection(inside).area < 0.05 * shape.area + 1e-6
            if part == "barriers":  # no room is left under either upright one, nor beside it under the tray
                for left, foot, right, _ in sorted(flat_of(one).bounds for one in upright if not one.line)[
                    ::2
                ]:
                    under = shapely_box(left, 0, right, foot)
                    near = (right, right + 20) if left < X0 else (left - 20, left)
                    assert pieces.covers(under.union(shapely_box(near[0], 0, near[1], Z0 - 10)))
        seen += 1
    assert seen > 20


def test_a_course_under_a_sill_is_sized_from_the_edge_of_the_opening_in_its_leaf_and_goes_up_the_sills_end(
    runs,
):
    """Both ticks stand at something drawn: that edge, dashed before the leaf is up, and the end of the course."""
    seen = {True: 0, False: 0}
    for _, steps, frame in adding(runs, "sill"):
        [size] = [one for one in frame.sizes if one.row == "sill_past"]
        inner, outer = (x for x, *_ in size.ends)
        leaf = "leaf" in steps[frame.number - 1].adds
        edges = {
            x
            for face in frame.added
            if face.material == ("edge" if leaf else "cut away")
            for x, *_ in face.points
        }
        assert inner in edges
        courses = [
            flat_of(face).bounds
            for face in frame.added
            if face.material == "course" and len({d for *_, d in face.points}) == 1
        ]
        assert outer in {one[2] for one in courses}
        stone = [face for face in frame.added if face.material == "stone" and face.points[0][1] < Z1 - 50]
        sill = max(x for face in stone for x, *_ in face.points)
        sill_top = max(z for face in stone for _, z, _ in face.points)
        ends = [face.points for face in frame.added if face.material == "course" and len({x for x, *_ in face.points}) == 1 and min(z for _, z, _ in face.points) < Z0 - 50]  # fmt: skip
        assert {1 if one[0][0] > X1 else -1 for one in ends} == {1, -1}
        for one in ends:
            assert abs(one[0][0] - (sill if one[0][0] > X1 else X0 + X1 - sill)) <= 1
            assert max(z for _, z, _ in one) == sill_top
        assert leaf or "leaf to come" in {name.name for name in frame.names}
        seen[leaf] += 1
    assert min(seen.values()) > 5


def test_a_sill_on_a_leaf_is_one_body_and_its_course_is_turned_up_behind_it_from_end_to_end(runs):
    """By the words: past each side of the opening, turned up at its back; the section has that as high as the sill's top there."""
    seen = 0
    for numbers, _, frame in adding(runs, "sill"):
        stone = [face for face in frame.added if face.material == "stone" and face.points[0][1] < Z1 - 50]
        tops = [face for face in stone if len({d for *_, d in face.points}) == 2 and len({x for x, *_ in face.points}) == 2]  # fmt: skip
        fronts = [face for face in stone if len({d for *_, d in face.points}) == 1]
        assert len(tops) == len(fronts) == 1
        assert {x for x, *_ in tops[0].points} == {x for x, *_ in fronts[0].points}
        high = max(z for _, z, _ in tops[0].points)
        back = max(
            (face for face in frame.added if face.material == "course"), key=lambda face: flat_of(face).area
        )
        x0, low, x1, top = flat_of(back).bounds
        [(right, _, _), (end, _, _)] = next(one.ends for one in frame.sizes if one.row == "sill_past")
        assert (x0, x1) == (X0 + X1 - end, end)
        assert end - right == numbers.length("sill_past")
        assert top == high
        assert low < min(z for face in stone for _, z, _ in face.points)
        assert {d for *_, d in back.points} == {CAVITY_SET - 1}  # behind the sill
        jamb = [face for face in PARTS["jamb course"](numbers)[0] if face.material == "course"]
        if not beside("leaf before the boards", numbers.circumstances):
            foot = min(z for face in jamb for _, z, _ in face.points)
            assert low < foot < top - 50  # laps it, and covers the barrier to its foot
            assert foot == min(
                z
                for face in PARTS["barriers"](numbers)[0]
                if face.material == "barrier"
                for _, z, _ in face.points
            )
            assert max(d for face in jamb for *_, d in face.points) < CAVITY_SET - 1  # before it
        seen += 1
    assert seen > 20


def test_the_inner_seal_is_told_to_lie_inside(runs):
    """A dashed line over the view from outside: without the word one would seal there."""
    frames = [frame for *_, frame in adding(runs, "inner seal")]
    assert len(frames) == len(runs)
    assert all("inside, behind the frame" in {name.name for name in frame.names} for frame in frames)


def test_the_tray_in_a_cavity_wall_goes_up_to_the_inner_leaf_with_no_flap_on_it(runs):
    """As in the section of the head, where its back edge lies in a joint of that leaf; behind a membrane it has a leg."""
    seen = {True: 0, False: 0}
    for numbers, _, frame in adding(runs, "cavity tray"):
        cavity = numbers.circumstances.wall_type == "cavity masonry"
        plates = [face for face in frame.added if face.material == "tray"]
        legs = [face for face in frame.added if face.material == "metal" and len({d for *_, d in face.points}) == 1]  # fmt: skip
        assert len(legs) == (not cavity)
        assert max(d for plate in plates for *_, d in plate.points) == (INNER_SET if cavity else 0) - 4
        assert ("built in or held" in {name.name for name in frame.names}) is cavity
        seen[cavity] += 1
    assert min(seen.values()) > 5


def test_open_joints_over_an_opening_stand_in_the_course_that_lies_on_its_tray(runs):
    """An open joint is none before its bricks."""
    seen = 0
    for *_, frame in adding(runs, "weep holes"):
        weeps = [flat_of(face) for face in frame.added if face.material == "fixing"]
        course = [face for face in frame.added if face.material == "masonry" and {d for *_, d in face.points} == {LEAF_FACE}]  # fmt: skip
        for weep in weeps:
            assert any(flat_of(face).buffer(0.1).contains(weep) for face in course)
        seen += len(weeps) == 2
    assert seen > 20


def test_a_kick_out_stands_below_the_lowest_step_where_an_eave_ends_at_a_leaf():
    """By the words: its upper edge in the joint under the cavity tray, throwing the water off the wall; out past the roof's end."""
    for wall, up in product(("masonry veneer", "cavity masonry"), (100, None)):
        numbers = ladder_numbers(3, wall)
        if not up:
            numbers = without(numbers, "kick_h", "kick_proj")
        run = next(one for one in short_runs_of([("n", numbers)]) if "along a roof" in one.title)
        first = run.frames[0]
        assert ("set the kick-out" in first.words) is bool(up)
        x0 = min(x for one in first.before if one.material == "stone" for x, *_ in one.points)
        past = [one for one in first.added if min(x for x, *_ in one.points) < x0 - 20]
        assert bool(past) is bool(up)
        if up:
            joint = max(z for one in first.added if one.material == "metal" for _, z, _ in one.points)
            assert max(z for one in past for _, z, _ in one.points) == joint
            assert min(d for one in past for *_, d in one.points) == -numbers.length("kick_proj")


@pytest.mark.parametrize("level", [1, 2, 3, 4])
def test_a_kick_out_at_a_leaf_is_as_high_in_its_frame_as_in_its_section(level):
    """From the eave to the joint under the lowest tray; that both are as their row has it follows from the size."""
    numbers = ladder_numbers(level, "masonry veneer")
    section = section_of(next(one for one in JUNCTIONS if one.key == "kick-out"), numbers)
    [drawn] = [one for one in section.dimensions if one.key == "kick_h"]
    run = next(one for one in short_runs_of([("n", numbers)]) if "along a roof" in one.title)
    [size] = [one for one in run.frames[0].sizes if one.row == "kick_h"]
    assert dist(*size.ends) == pytest.approx(dist(drawn.start, drawn.end)) == numbers.length("kick_h")
    (_, foot, _), (_, head, _) = size.ends
    [leg] = [one for one in run.frames[0].added if one.material == "metal"]
    assert head == max(z for _, z, _ in leg.points)
    assert foot == min(z for one in run.frames[0].before if one.material == "stone" for _, z, _ in one.points)
    assert "kick_proj" in [one.row for one in run.frames[0].sizes]


def test_the_hidden_end_of_a_tray_is_dashed_where_the_next_one_laps_it():
    """From the lower end of the upper tray to the upper end of the lower one, which flashing and leaf hide; both ends of the lap are sized."""
    for level, kicks in product((1, 4), (True, False)):
        numbers = ladder_numbers(level, "cavity masonry")
        numbers = numbers if kicks else without(numbers, "kick_h", "kick_proj")
        run = next(one for one in short_runs_of([("n", numbers)]) if "along a roof" in one.title)
        frame = next(one for one in run.frames if "as far as its maker says" in one.words)
        floors = [
            sorted({x for x, *_ in face.points})
            for frames in (run.frames[1].added, frame.added)
            for face in frames
            if face.material == "tray" and max(d for *_, d in face.points) > 50 and len({z for _, z, _ in face.points}) == 1
        ]  # fmt: skip
        (_, end), (start, _) = floors
        [dashed] = [face for face in frame.added if face.material == "cut away"]
        assert (min(x for x, *_ in dashed.points), max(x for x, *_ in dashed.points)) == (start, end)
        [lap] = [one for one in frame.names if one.name == "overlap"]
        assert [x for x, *_ in lap.ends] == [start, end]
        assert start < end
        dashes = [one for made in run.frames for one in made.added if one.material == "hidden edge"]
        assert not dashes  # what stands in the joint is the tray's own edge, seen


@pytest.mark.parametrize("title", ["over a roof", "along a roof"])
@pytest.mark.parametrize("kicks", [True, False])
def test_what_is_let_into_a_joint_is_seen_turned_in_on_the_leaf(title, kicks):
    """As far as its section has it, 25 mm by hand, along the whole of the piece, on the top of the leaf as it stands."""
    numbers = ladder_numbers(3, "masonry veneer")
    numbers = numbers if kicks else without(numbers, "kick_h", "kick_proj")
    frame = next(one for one in short_runs_of([("n", numbers)]) if title in one.title).frames[0]
    top = max(
        z for one in frame.before if one.material == "masonry" and not one.line for _, z, _ in one.points
    )
    [strip] = [one for one in frame.added if {z for _, z, _ in one.points} == {top}]
    assert max(d for *_, d in strip.points) == 25
    [leg] = [one for one in frame.added if one.material == "metal"]
    assert {x for x, *_ in strip.points} == {x for x, *_ in leg.points}


@pytest.mark.parametrize("title", ["over a roof", "along a roof"])
def test_insulation_of_a_cavity_wall_goes_up_to_the_tray_of_a_leaf_and_on_over_it(title):
    """As the sections have it, "cut for the tray": to its underside, by its slope from the leaf to the wall, at most 5 mm off it; a wall with membrane has none there."""
    for wall, there in (("cavity masonry", True), ("masonry veneer", False)):
        run = next(one for one in short_runs_of([("n", ladder_numbers(3, wall))]) if title in one.title)

        def faces(among):
            return [
                one for one in among
                if one.material == "insulation" and len({d for *_, d in one.points}) == 1
            ]  # fmt: skip

        first, later = (
            faces(run.frames[0].before),
            [face for one in run.frames[1:] for face in faces(one.added)],
        )
        assert (len(first), bool(later)) == (int(there), there)
        if not there:
            continue
        slopes = [
            one for frame in run.frames for one in frame.added
            if one.material == "tray" and max(d for *_, d in one.points) > 150
        ]  # fmt: skip
        for tray, (below, over) in zip(slopes, pairwise((*first, *later)), strict=True):
            (_, low, near), (_, high, far) = tray.points[1:3]
            cut = low + (high - low) * (below.points[0][2] - near) / (far - near)
            top, foot = max(z for _, z, _ in below.points), min(z for _, z, _ in over.points)
            assert 0 < cut - top <= 5
            assert foot == pytest.approx(top)
        assert max(z + LEAN[1] * d for _, z, d in later[-1].points) == pytest.approx(HIGH)


@pytest.mark.parametrize("wall", ["masonry veneer", "cavity masonry"])
@pytest.mark.parametrize("title", ["over a roof", "along a roof"])
def test_in_the_leaf_over_a_roof_each_trays_stop_ends_are_seen_on_edge(wall, title):
    """As high as their row asks, before the face of the bricks, at both ends of each tray's front; the last one goes on past the picture."""
    numbers = ladder_numbers(3, wall)
    run = next(one for one in short_runs_of([("n", numbers)]) if title in one.title)
    fronts, seen = set(), set()
    for frame in run.frames:
        for face in frame.added:
            across, up, depth = zip(*face.points, strict=True)
            left, right, low, high, depths = min(across), max(across), min(up), max(up), set(depth)
            if face.material == "tray" and len(depths) == 1:
                fronts |= {(end, high) for end in (left, right) if end < WIDE}
            if face.material == "metal" and right - left < 10 and depths == {-6}:
                assert high - low == numbers.length("tray_stop")
                seen.add(((left + right) / 2, low))
    assert seen == fronts
    assert len(seen) == (2 if title == "over a roof" else 2 * 4 - 1)


def test_the_membrane_of_a_deck_is_let_into_the_leaf_where_no_flashing_is():
    """By its section: turned up into the joint, no metal before it."""
    roofs = "step_h", "step_flat", "saddle_up", "kick_h", "kick_proj"
    numbers = ladder_numbers(3, "masonry veneer")
    for given, material in ((numbers, "metal"), (without(numbers, *roofs), "flap")):
        run = next(one for one in short_runs_of([("n", given)]) if "roof or deck" in one.title)
        up = [one for one in run.frames[0].added if len({d for *_, d in one.points}) == 1]
        assert [one.material for one in up] == [material]
        assert not any("over the flashing" in one.words for one in run.frames)


@pytest.mark.parametrize("letters", [LETTERS, FRAME_LETTERS, ON_PHONE])
def test_no_size_lies_on_a_corner_tape_or_on_the_opening(runs, letters):
    seen = 0
    for numbers, _, frame in adding(runs, "corner tape"):
        along_laps = PARTS["lap tape"](numbers)[0]
        tapes = [as_drawn(face) for face in frame.added if face.material == "tape" and face not in along_laps]
        opening = shapely_box(*_at((X0, Z1, 0)), *_at((X1, Z0, 0)))
        for words, box in placed_labels(frame, numbers, letters):
            assert not any(shapely_box(*box).intersects(one) for one in (*tapes, opening)), words
        seen += 1
    assert seen > 50


@pytest.mark.parametrize("letters", [LETTERS, FRAME_LETTERS, ON_PHONE])
def test_no_label_lies_on_a_stop_end_or_on_the_end_of_a_film_up_a_jamb(runs, letters):
    """Slivers that a photograph at the hold point has to show; with a high back the film is the next place of "up jamb"."""
    numbers = ladder_numbers(1, "masonry veneer", back_dam=30, end_dam=30)
    whole = [
        (numbers, frames_of(steps_of(numbers), numbers)),
        *((numbers, frames) for numbers, _, frames in runs[::2]),
    ]
    for level, wall in product((1, 4), WALLS):
        whole += [(run.numbers, run.frames) for run in short_runs_of([("n", ladder_numbers(level, wall))])]
    seen = 0
    for numbers, frame in ((numbers, frame) for numbers, frames in whole for frame in frames):
        ends = [
            as_drawn(face)
            for face in frame.added
            if face.material in ("metal", "tape") and len({x for x, *_ in face.points}) == 1
        ]
        for words, box in placed_labels(frame, numbers, letters):
            assert not any(shapely_box(*box).intersects(one) for one in ends), (frame.words, words)
            seen += bool(ends)
    assert seen > 200


@pytest.mark.parametrize("letters", [LETTERS, FRAME_LETTERS, ON_PHONE])
def test_no_size_lies_on_the_tray_or_its_film(runs, letters):
    """Where they are low, a number would hide all of them."""
    seen = 0
    for numbers, _, frames in runs:
        for frame in frames:
            if "jamb_up" not in {size.row for size in frame.sizes}:
                continue
            laid = [as_drawn(face) for face in frame.added if face.material in ("tape", "metal", "tray")]
            for words, box in placed_labels(frame, numbers, letters):
                assert words.startswith(("back", "tray")) or not any(
                    shapely_box(*box).intersects(one) for one in laid
                ), (numbers.level, words)
            seen += 1
    assert seen > 20


def test_cladding_stays_clear_of_the_head_flashing_from_end_to_end(runs):
    """Seen from outside no board or render lies on its lip, 50 mm past each jamb, nor on the ends."""
    seen = 0
    for _, steps, frames in runs:
        lips, boards = [], []
        for frame in frames:
            adds = steps[frame.number - 1].adds
            if "head flashing" in adds:
                lips += [
                    face
                    for face in frame.added
                    if len({d for *_, d in face.points}) == 1 and face.points[0][2] < -60
                ]
            if "cladding" in adds:
                boards += [face for face in frame.added if face.material in ("cladding", "render")]
        for lip, board in product(lips, boards):
            meet = as_drawn(lip).intersection(as_drawn(board)).area > 1e-6
            assert not meet or painting_order([lip, board]) == [1, 0]
            seen += 1
    assert seen > 20


@pytest.mark.parametrize("wall", [WALLS[0], WALLS[3]])
def test_boards_beside_a_kick_out_in_snow_end_at_one_height(wall):
    """As its section has it, cut at the kick-out: none lower than the snow counts over the eave; their upright edge lies over the sheet."""
    numbers = ladder_numbers(3, wall, snow_roof=300)
    (run,) = (one for one in short_runs_of([("n", numbers)]) if one.stem.startswith("kick-out"))
    faces = [face for frame in run.frames for face in frame.added]
    clad = max(
        (face for face in faces if face.material in ("cladding", "render")), key=lambda one: flat_of(one).area
    )
    sheet = next(face for face in faces if face.material == "tray" and len({d for *_, d in face.points}) == 1)
    edge = max(x for x, z, _ in clad.points if z == 0)
    foot = min(z for x, z, _ in clad.points if x > edge)
    assert foot > 430 + 290  # over the eave at 430
    assert min(x for x, *_ in sheet.points) < edge


@pytest.mark.parametrize("wall", [WALLS[0], WALLS[3]])
def test_the_foot_of_the_sheet_along_a_roof_in_snow_is_parallel_to_it_and_sized(wall):
    numbers = ladder_numbers(3, wall, snow_roof=300)
    (run,) = (one for one in short_runs_of([("n", numbers)]) if "eave" in one.title)
    frame = run.frames[-1]
    assert "roof_gap" in [one.row for one in frame.sizes]
    [sheet] = [one for one in frame.added if one.material == "tray"]
    (x0, z0, _), (x1, z1, _) = sheet.points[:2]
    roof = next(one for one in frame.before if one.material == "stone").points
    pitch = (roof[1][1] - roof[0][1]) / (roof[1][0] - roof[0][0])
    assert (z1 - z0) / (x1 - x0) == pytest.approx(pitch)
    assert z1 - roof[1][1] == pytest.approx(numbers.length("roof_gap"))
    assert "above the roof" in frame.words


@pytest.mark.parametrize(
    ("title", "place", "wall"),
    [("eave", "Set the kick-out", WALLS[0]), ("eave", "Set the kick-out", WALLS[3]), ("along a roof", "set the kick-out", WALLS[1]), ("along a roof", "Build the leaf", WALLS[1]), ("along a roof", "Build the leaf", WALLS[2])],
)  # fmt: skip
@pytest.mark.parametrize("letters", [LETTERS, FRAME_LETTERS, ON_PHONE])
def test_no_label_hides_the_mouth_of_a_kick_out_or_the_lap_of_two_trays(title, place, wall, letters):
    for level in (1, 2, 3, 4):
        numbers = ladder_numbers(level, wall)
        (run,) = (one for one in short_runs_of([("n", numbers)]) if title in one.title)
        frame = next(one for one in run.frames if place in one.words)
        parts = [
            as_drawn(face) for face in frame.added if face.material in ("metal", "tray")
        ]  # fmt: skip
        for words, box in placed_labels(frame, numbers, letters):
            assert not any(shapely_box(*box).intersects(one) for one in parts), (level, words)


@pytest.mark.parametrize("level", [1, 2, 4])
@pytest.mark.parametrize("letters", [LETTERS, FRAME_LETTERS, ON_PHONE])
def test_no_size_lies_on_the_tape_round_a_pipe(level, letters):
    seen = 0
    for run in short_runs_of([("n", ladder_numbers(level, WALLS[0]))]):
        for frame in run.frames if "pipe" in run.title.lower() else ():
            tapes = [
                as_drawn(face) for face in frame.added if face.material == "tape" and len(face.points) == 4
            ]
            for words, box in placed_labels(frame, run.numbers, letters):
                assert not any(shapely_box(*box).intersects(one) for one in tapes), (frame.words, words)
                seen += bool(tapes)
    assert seen > 1


@pytest.mark.parametrize("on", [150, 200])
def test_flashing_beside_a_roof_lies_on_it_as_far_as_its_row_asks(on):
    """Measured level, as the row says: from the wall out over the roof; the kick-out has no plate before its tail."""
    numbers = ladder_numbers(2, WALLS[0], step_on=on)
    faces, sizes = PARTS["step flashing"](numbers)
    feet = [face for face in faces if face.material == "tray"]
    assert len(feet) == len(faces) / 2
    assert {max(d for _, _, d in face.points) - min(d for _, _, d in face.points) for face in feet} <= {
        on - place for place in range(4)
    }
    [size] = [one for one in sizes if one.row == "step_on"]
    assert size.ends[0][2] - size.ends[1][2] == on
    up, tail = PARTS["kick-out"](numbers)[0]
    assert (up.material, tail.material) == ("metal", "tray")
    assert min(z for _, z, _ in tail.points) < min(z for _, z, _ in up.points)


def test_in_a_cavity_wall_insulation_stands_over_the_tray_before_the_leaf_goes_on():
    """The head's section has it from the tray up; beside the end of the leaf it is seen."""
    for wall, there in (("cavity masonry", 1), ("masonry veneer", 0)):
        numbers = ladder_numbers(2, wall)
        pieces = [face for face in PARTS["leaf"](numbers)[0] if face.material == "insulation"]
        assert len(pieces) == there
        for piece in pieces:
            assert max(z for _, z, _ in piece.points) == HIGH
            assert {d for _, _, d in piece.points} == {0}


def test_the_reveal_of_a_leaf_is_brick_from_its_face_to_its_back(runs):
    """Of the two reveals the left is seen; the course behind the leaf stays behind it."""
    for numbers, _, frame in adding(runs, "leaf"):
        sides = [
            face
            for face in frame.added
            if face.material == "masonry" and {d for _, _, d in face.points} == {LEAF_FACE, CAVITY_SET}
        ]
        [left] = {x for face in sides for x, _, _ in face.points}
        assert 0 <= left - X0 < 40, numbers.circumstances


def test_the_jambs_course_stands_behind_the_front_of_a_tray_on_brackets_and_behind_the_sill(runs):
    """Tray and sill go on out past the course, which stands at the back of the leaf: they hide its foot."""
    seen = 0
    for _, _, frame in adding(runs, "sill"):
        faces = [*frame.before, *frame.added]
        if not any(face.material == "insulation" for face in faces):
            continue
        place = {face: at for at, face in enumerate(faces[at] for at in painting_order(faces, on_top=MARKS))}
        courses = [face for face in faces if face.material == "course" and len(face.points) == 6]
        [top] = [face for face in faces if face.material == "stone" and len({z for _, z, _ in face.points}) == 2 and len({d for *_, d in face.points}) == 2 and len({x for x, *_ in face.points}) == 2]  # fmt: skip
        front = [face for face in faces if face.material in ("tray", "metal") and max(d for *_, d in face.points) == CAVITY_SET - 3]  # fmt: skip
        assert len(courses) == 2
        assert len(front) == 3
        assert max(place[one] for one in courses) < min(place[one] for one in (top, *front))
        seen += 1
    assert seen > 5


def test_stretch_tape_goes_on_along_the_sill_and_lies_over_or_under_the_lining_as_the_words_have_it(runs):
    """Each way round the lower corners: up the jamb and along the sill; what the step says last lies on top."""
    seen = set()
    for numbers, _, frame in adding(runs[::3], "corner tape"):
        each, deep = numbers.length("corner_tape"), 0.7 * DEPTH
        on_sill = [
            one
            for one in frame.added
            if one.material == "tape"
            and {d for *_, d in one.points} == {0, deep}
            and len({x for x, *_ in one.points}) == 2
        ]
        assert [{x for x, *_ in one.points} for one in on_sill] == [{X0, X0 + each}, {X1 - each, X1}]
        said = frame.words.lower()
        lined = min(
            said.find(words) for words in ("line sill", "tape sill", "tape the sill") if words in said
        )
        first = said.find("stretch tape") < lined
        assert (uncovered(on_sill, frame) < 1) is first, frame.words
        seen.add(first)
    assert seen == {True, False}


def test_the_tray_over_a_level_barrier_comes_out_past_the_cladding_to_come(runs):
    """Its lip hangs before the face of the cladding, where the cladding's own frame shows it."""
    seen = 0
    for numbers, _, frame in adding(runs[::3], "barriers"):
        if "masonry" in numbers.circumstances.wall_type:
            continue
        lips = [
            one for one in frame.added if one.material == "metal" and len({x for x, *_ in one.points}) > 1
        ]
        assert len(lips) == 2
        assert all(d < CLAD_FACE for one in lips for *_, d in one.points)
        seen += 1
    assert seen > 5


def test_timber_stands_behind_the_tape_at_the_ends_of_every_slit(runs):
    """By the words "solid blocking behind every edge that tape will meet": on open studs, where a barrier's tray goes in."""
    seen = 0
    for numbers, _, frame in adding(runs, "barriers"):
        tapes = [flat_of(face) for face in frame.added if face.material == "tape"]
        if numbers.boards or not tapes:
            continue
        timber = unary_union(
            [flat_of(face).buffer(0.01) for part in ("blocking",) for face in PARTS[part](numbers)[0]]
        )
        timber = timber.union(unary_union([flat_of(face).buffer(0.01) for face in ground(numbers) if face.material == "timber" and len({d for *_, d in face.points}) == 1]))  # fmt: skip
        for tape in tapes:
            assert tape.difference(timber).area < 1, numbers.circumstances
        seen += 1
    assert seen > 5


@pytest.mark.parametrize(("title", "tray"), [("over a roof", 2), ("along a roof", 2), ("along a roof", 3)])
def test_the_back_edge_of_a_tray_in_a_leaf_lies_in_a_joint_of_the_inner_leaf(title, tray):
    """As in the sections, in a cavity wall alone: the joint goes on past both ends of the tray, and the words and, the first time, a name say so; a wall with membrane has a leg there."""
    whole = ladder_numbers(3, "cavity masonry"), ladder_numbers(3, "masonry veneer")
    [run], [other] = (
        [one for one in short_runs_of([("n", numbers)]) if title in one.title] for numbers in whole
    )
    frame, back = run.frames[tray - 1], depth_behind(run.numbers)

    def joints(among):
        ways = [one.points for one in among if one.line and one.material == "edge"]
        return [way for way in ways if len({spot[1:] for spot in way}) == 1 and way[0][2] >= back]

    slope = max(
        (one.points for one in frame.added if one.material == "tray"),
        key=lambda points: max(d for *_, d in points),
    )
    high = max(z for _, z, _ in slope)
    edge = [x for x, z, _ in slope if z == high]
    [joint] = joints(frame.added)
    assert {z for _, z, _ in joint} == {high}
    assert min(x for x, *_ in joint) < min(edge) < max(edge) < max(x for x, *_ in joint)
    if tray == 2:
        [name] = [one for one in frame.names if one.name == "built into a joint"]
        [(x, *spot)] = name.ends
        assert spot == [high, back]
        assert min(edge) < x < max(edge)
        assert "into a joint of an inner leaf" in frame.words
    back = depth_behind(other.numbers)
    for frame in other.frames:
        assert not joints(frame.added)
        assert "built into a joint" not in {one.name for one in frame.names}


def test_stop_ends_of_a_tray_in_a_leaf_are_as_high_as_their_row_asks():
    """Over an opening and over a roof, at the face of the leaf: 15, 20, 30, 45 by level as read in the table."""
    for level, high in ((1, 15), (2, 20), (3, 30), (4, 45)):
        for wall, part in product(
            ("masonry veneer", "cavity masonry"), ("cavity tray", "leaf tray", "lowest tray")
        ):
            faces, _ = PARTS[part](ladder_numbers(level, wall))
            ends = [one for one in faces if one.material == "metal" and len({x for x, *_ in one.points}) == 1]
            assert len({one.points[0][0] for one in ends}) == 2
            for one in ends:
                front = min(d for *_, d in one.points)
                low, top = sorted(z for _, z, d in one.points if d == front)
                assert top - low == high, (wall, part)


def level_lines(faces):
    """Heights of the lines across the whole wall, of what is seen and of what is hidden."""
    lines = [one for one in faces if one.line and {z for _, z, _ in one.points} == {one.points[0][1]}]
    return {kind: [one.points[0][1] for one in lines if one.material == kind and one.points[0][0] == 0] for kind in ("edge", "hidden edge")}  # fmt: skip


def test_no_leg_goes_up_through_the_level_lap_of_the_membrane(runs):
    """Pushed in there nobody knows behind which of the two sheets; nor do tapes at the ends of cut or slit meet what is seen at the lap."""
    seen = dict.fromkeys(("cut over leg", "barriers"), 0)
    for numbers, steps, frame in adding(runs, "membrane"):
        [edge] = level_lines(frame.added)["edge"]
        top, leg = edge + numbers.length("lap_h"), numbers.length("head_up")
        assert top in level_lines(frame.added)["hidden edge"]
        tapes = [flat_of(one).bounds for one in PARTS["lap tape"](numbers)[0] if not one.line]
        level = [(low, high) for left, low, right, high in tapes if right - left == WIDE]
        for part in seen.keys() & {part for step in steps for part in step.adds}:
            made, _ = PARTS[part](numbers)
            if part == "barriers":
                cuts = [one.points[0][1] for one in made if one.line and one.material == "edge"]
            else:
                cuts = [min(z for _, z, _ in one.points) for one in made if one.material == "flap"]
            assert all(z + leg <= edge or z >= top for z in cuts), (part, cuts, edge)
            foot = min([*level_lines(frame.added)["hidden edge"], edge, *(low for low, _ in level)])
            ends = [flat_of(one).bounds for one in made if one.material == "tape"]
            assert all(high <= foot or low >= top for _, low, _, high in ends), (
                part
            )  # of second layer and tape too
            seen[part] += len(cuts)
    assert min(seen.values()) > 5


def test_boards_have_a_batten_behind_both_their_ends(runs):
    """From the foot of the frame to its top, at its left edge and at its right one."""
    seen = 0
    for *_, frame in adding(runs, "battens"):
        battens = {flat_of(one).bounds for one in frame.added if one.material == "timber"}
        assert {(0, 0, 45, HIGH), (WIDE - 45, 0, WIDE, HIGH)} <= battens
        seen += 1
    assert seen > 5


def test_mesh_is_drawn_in_dots_that_stand_apart():
    """Ends of lines are round: a gap as wide as the line or less would be filled by them, and mesh look like a bar."""
    width, dashes, _ = LINES["mesh"]
    _, gap = map(float, dashes.split())
    assert gap > 1.5 * width


@pytest.mark.parametrize(("part", "word"), [("straps", "straps inside"), ("sealant", "packers")])
def test_a_window_tried_dry_is_dashed_where_it_will_be_set(runs, part, word):
    """Its frame has the outline of the one that is set later; straps and packers do not stand there alone and without a name."""
    seen = 0
    for numbers, _, frame in adding(runs, part):
        if "dry" not in frame.words:
            continue
        assert {"window, tried dry", "packers", word} <= {one.name for one in frame.names}
        dashed = {one.points[:-1] for one in frame.added if one.material == "cut away"}
        window = {one.points for one in PARTS["window"](numbers)[0] if one.material == "frame"}
        assert dashed & window
        seen += 1
    assert seen > 5


def test_what_holds_a_frame_inside_is_dashed_on_the_frame_alone(runs):
    """At the right no less than at the left: dashed on the boards it would be screwed to them; its name stands on one."""
    seen = 0
    for numbers, _, frame in adding(runs, "held inside"):
        if numbers.circumstances.wall_type == "cavity masonry":
            continue
        [window] = [
            as_seen(one)
            for one in PARTS["window"](numbers)[0]
            if one.material == "frame"
            and flat_of(one).bounds[1] > Z0
            and len({d for *_, d in one.points}) == 1
        ]
        straps = [as_seen(one) for one in frame.added if one.material == "cut away"]
        [dot] = [as_seen_spot(one.ends[0]) for one in frame.names if "inside" in one.name and "mesh" not in one.name]  # fmt: skip
        assert len(straps) == 6
        left, _, right, _ = window.bounds
        for strap in straps:
            assert left < strap.bounds[0] < strap.bounds[2] < right
        assert any(shapely_box(*strap.bounds).contains(dot) for strap in straps)
        seen += 1
    assert seen > 5


def as_seen_spot(spot):
    """Where a spot stands in the picture."""
    x, z, d = spot
    return Point(x + LEAN[0] * d, z + LEAN[1] * d)


def test_ticks_of_leg_tray_and_end_stand_on_edges_that_are_drawn(runs):
    """The leg's upper one on its dashed edge behind the membrane, the tray's lower one on the line of its bend, clear of tray and bricks, the end's on the end."""
    seen = dict.fromkeys(("head_up", "head_tray_mas", "end_dam"), 0)
    for _, steps, frames in runs:
        for frame in frames:
            parts = steps[frame.number - 1].adds
            for size in frame.sizes:
                if len(size.ends) != 2:
                    continue
                (x, low, d), (_, high, _) = size.ends
                if size.row == "head_up" and "cut over leg" in parts:
                    assert high in {one.points[0][1] for one in frame.added if one.material == "hidden edge"}
                elif size.row == "head_tray_mas":
                    ways = [
                        one.points
                        for one in frame.added
                        if one.material == "cut away" and (x, low, d) in one.points
                    ]
                    [bend] = [spot for way in ways for spot in way if spot != (x, low, d)]
                    assert bend[1:] == (low, d)  # the bend itself, carried on level past the tray's end
                    tick = as_seen_spot((x, low, d))
                    laid = [as_seen(one) for one in frame.added if one.material in {"tray", "metal", "masonry"} and not one.line]  # fmt: skip
                    assert all(one.distance(tick) > 8 for one in laid)
                    folds = [
                        {spot for spot in one.points if spot[1:] == bend[1:]}
                        for one in frame.added
                        if one.material == "tray"
                    ]
                    assert len([fold for fold in folds if len(fold) == 2]) == 2  # of floor and slope
                    if "weep holes" in parts:
                        assert any(
                            set(one.points) in folds for one in frame.added if one.material == "cut away"
                        )
                elif size.row == "end_dam":
                    ends = [
                        one.points
                        for one in frame.added
                        if one.material == "metal" and {at for at, *_ in one.points} == {x}
                    ]
                    assert any({(x, low, d), (x, high, d)} <= set(points) for points in ends)
                else:
                    continue
                seen[size.row] += 1
    assert min(seen.values()) > 10


def test_film_and_stretch_tape_go_in_over_the_front_of_the_sill(runs):
    """No strip of its timber is left bare between what lies on the sill and what lies on the wall below."""
    seen = 0
    for numbers, steps, frame in adding(runs, "corner tape"):
        timber = [face for face in PARTS["fall"](numbers)[0] if {d for *_, d in face.points} == {0}]
        there = {part for step in steps[: frame.number] for part in step.adds}
        if not {"fall", "turned in"} <= there:
            continue
        [front] = map(flat_of, timber)
        over = {material: unary_union([flat_of(face) for face in (*frame.before, *frame.added) if face.material == material and not face.line and {d for *_, d in face.points} == {0}]) for material in ("flap", "tape")}  # fmt: skip
        assert front.difference(over["flap"].buffer(0.01)).is_empty
        each = numbers.length("corner_tape")
        for a, b in ((X0, X0 + each), (X1 - each, X1)):
            assert (
                shapely_box(a, front.bounds[1], b, front.bounds[3])
                .difference(over["tape"].buffer(0.01))
                .is_empty
            )
        seen += 1
    assert seen > 10


def test_a_head_flap_comes_down_over_as_much_of_the_leg_as_the_step_says(runs):
    """From the leg's upper edge, dashed on the flap, to the flap's own; where that comes a step later, dashed on the leg and named."""
    seen = {True: 0, False: 0}
    for numbers, steps, frame in adding(runs, "head flashing"):
        if not any("flap down" in step.adds for step in steps):
            continue
        together = "flap down" in steps[frame.number - 1].adds
        [size] = [one for one in frame.sizes if one.row == "head_up"]
        foot, top = sorted(z for _, z, _ in size.ends)
        flap, leg, *_ = PARTS["flap down"](numbers)[0]
        assert min(z for _, z, _ in flap.points) == foot
        assert {z for _, z, _ in leg.points} == {top}
        metal = max((one for one in frame.added if one.material == "metal"), key=lambda one: one.points[2][1])
        low, high = metal.points[0][1], metal.points[2][1]
        assert high == top
        assert 0 < foot - low <= 10  # over the bend, within 2 px of a phone
        dashed = [one for one in frame.added if one.material == "cut away"]
        assert [{z for _, z, _ in one.points} for one in dashed] == [{foot}] * (not together)
        named = [one.ends[0][1] for one in frame.names if one.name == "flap to here"]
        assert named == [foot] * (not together)
        seen[together] += 1
    assert min(seen.values()) > 2


def test_the_gap_over_flashing_and_trays_is_seen_bare_and_pointed_at(runs):
    """Two px of a phone or more, 360 wide for 310 at a quarter of a millimetre: 7 mm; stepped up round each stop-end, as the step has it notched."""
    seen = dict.fromkeys(("clad_gap", "gap over barrier's tray"), 0)
    for numbers, _, frame in adding(runs, "cladding"):
        assert "notched round the stop-ends of the" in frame.words
        gaps = [one for one in frame.added if one.material == "room"]
        [over] = [flat_of(one) for one in gaps if one.points[0][2] > CLAD_FACE]
        skin = unary_union(
            [flat_of(one) for one in frame.added if one.material in ("cladding", "render") and not one.line]
        )
        assert skin.intersection(over).area == 0
        for x in (X0 - numbers.length("head_past"), X1 + numbers.length("head_past")):
            low, high = over.bounds[1], over.bounds[1] + numbers.length("head_stop")
            end = shapely_box(x - 1.5, low, x + 1.5, high)
            assert any(flat_of(one).equals(end) for one in frame.added if one.material == "metal")
            assert over.contains(shapely_box(x - 7, low + 1, x + 7, high + 7))
            assert skin.touches(shapely_box(x - 11, low, x + 11, high + 11))  # on three sides
        for size in (*frame.sizes, *frame.names):
            key = size.name or size.row
            if key in seen:
                x, z, _ = size.ends[0]
                [gap] = [one for one in gaps if flat_of(one).contains(Point(x, z))]
                around = flat_of(gap).intersection(shapely_box(x - 1, 0, x + 1, HIGH)).bounds
                assert around[3] - around[1] >= 7
                assert z == pytest.approx((around[1] + around[3]) / 2)
                seen[key] += 1
    assert min(seen.values()) > 5


def test_the_tray_over_a_level_barrier_has_its_ends_turned_up_and_the_boards_a_slot_round_each(runs):
    """As high as the stop-ends of a head flashing, whose make it has in its section; as far out as the face of the cladding."""
    trays, slots = 0, 0
    for numbers, _, frame in adding(runs, "barriers"):
        if "masonry" in numbers.circumstances.wall_type:
            continue
        for tray in (face for face in frame.added if face.material == "tray"):
            for x in {x for x, *_ in tray.points}:
                near = [
                    face.points
                    for face in frame.added
                    if face.material == "metal" and {at for at, *_ in face.points} == {x}
                ]
                found = [points for points in near if set(tray.points) & set(points)]
                assert len(found) == 1
                out = sorted(z for _, z, d in found[0] if d == CLAD_FACE)
                assert out[1] - out[0] == pytest.approx(numbers.length("head_stop"))
                trays += 1
    for part in ("cladding", "cladding to the head"):
        for numbers, _, frame in adding(runs, part):
            gaps = [flat_of(face).bounds for face in frame.added if face.material == "room"]
            lips = {(left, high, right) for left, _, right, high in (flat_of(face).bounds for face in frame.added if face.material == "metal")}  # fmt: skip
            ways = [gap for gap in gaps if gap[:3] in lips]
            for left, low, right, _ in ways:
                for x in (left, right):
                    assert any(
                        a < x < b and z == low and high - z > numbers.length("head_stop")
                        for a, z, b, high in gaps
                    )
                slots += 1
    assert trays > 20
    assert slots > 10


def test_battens_over_the_middle_of_an_opening_come_down_to_its_head_flashing(runs):
    """Those beside it are 555 mm apart: boards over an opening need one between them, its foot clear of the closer."""
    seen = 0
    for numbers, steps, _ in runs:
        parts = {part for step in steps for part in step.adds}
        if not {"battens", "head flashing"} <= parts:
            continue
        battens = [
            flat_of(face).bounds
            for part in ("battens", "battens at the head")
            if part in parts
            for face in PARTS[part](numbers)[0]
        ]
        middle = [
            (low, high) for left, low, right, high in battens if left < (X0 + X1) / 2 < right and low > Z1
        ]
        closer = max(flat_of(face).bounds[3] for face in PARTS["head closer"](numbers)[0] if not face.line)
        assert closer < min(low for low, _ in middle) < closer + 20
        seen += 1
    assert seen > 5


def test_in_the_face_of_a_leaf_the_trays_stop_ends_and_the_end_pieces_of_the_sills_course_are_seen(runs):
    """As "Window opening from outside" has them: uprights over both ends of the tray as high as their row asks, one at each end of the sill."""
    seen = 0
    for numbers, _, frame in adding(runs, "leaf"):
        ends = [flat_of(face).bounds for face in frame.added if face.material == "metal"]
        uprights = [one for one in ends if one[2] - one[0] < 10]
        assert len(uprights) == 2
        assert all(high - low == numbers.length("tray_stop") for _, low, _, high in uprights)
        assert {"stop-end", "weep holes"} <= {one.name for one in frame.names}
        seen += 1
    assert seen > 10
    seen = 0
    for *_, frame in adding(runs, "sill"):
        sill = max((flat_of(face).bounds for face in frame.added if face.material == "stone" and flat_of(face).bounds[3] <= Z0), key=lambda one: one[2] - one[0])  # fmt: skip
        pieces = [
            flat_of(face).bounds
            for face in frame.added
            if face.material == "course" and max(d for *_, d in face.points) < LEAF_FACE
        ]
        beside = [one for one in pieces if one[2] <= sill[0] or one[0] >= sill[2]]
        assert len(beside) == 2
        assert all(high == Z0 and high - low > 60 for _, low, _, high in beside)
        seen += 1
    assert seen > 10


def test_the_barrier_in_the_cavity_of_a_leaf_is_named_and_its_uprights_are_seen(runs):
    """The first thing of its step: dashed where the courses of the same step hide them."""
    seen = {True: 0, False: 0}
    for numbers, _, frame in adding(runs, "barriers"):
        if "masonry" not in numbers.circumstances.wall_type:
            continue
        assert "barrier" in {one.name for one in frame.names}
        uprights = {
            face.points
            for face in frame.added
            if face.material == "barrier" and flat_of(face).bounds[3] - flat_of(face).bounds[1] > 200
        }
        dashed = [set(face.points) for face in frame.added if face.material == "cut away"]
        hidden = numbers.circumstances.wall_type == "cavity masonry"
        assert all((set(points) in dashed) is hidden for points in uprights)
        assert len(uprights) == 2
        seen[hidden] += 1
    assert min(seen.values()) > 5


@pytest.mark.parametrize(("level", "whole"), [(1, True), (2, True), (4, False)])
def test_a_folded_flap_is_as_long_as_it_is_cut_or_runs_out_of_the_picture_and_is_held_by_tape(level, whole):
    """Turned over its fold, so the same shape upside down; no line ends it where the picture ends; tape on both its edges."""
    numbers = ladder_numbers(level, WALLS[0], frame="nailing flange")
    frame = next(one for one in frames_of(steps_of(numbers), numbers) if "Cut the head flap" in one.words)
    up = numbers.flap_height
    [bare] = [one for one in frame.added if one.material == "board"]
    fold = Z1 + up
    turned = Polygon([(x, 2 * fold - z) for x, z, _ in bare.points])
    assert (turned.bounds[3] <= HIGH) is whole
    [flap] = [one for one in frame.added if one.material == "film" and flat_of(one).bounds[3] > fold + 1]
    assert len({d for *_, d in flap.points}) == 1  # flat, so that it leans to neither side
    assert flat_of(flap).equals(turned.intersection(shapely_box(0, 0, WIDE, HIGH)))
    [edge] = [one for one in frame.added if one.material == "edge" and one.points[1][1] == fold]
    drawn = LineString([(x, z) for x, z, _ in edge.points])
    top = LineString([(X0 + 1, flat_of(flap).bounds[3]), (X1 - 1, flat_of(flap).bounds[3])])
    assert (drawn.intersection(top).length > 0) is whole
    tapes = [flat_of(one) for one in frame.added if one.material == "tape"]
    for side in ((0, 0, X0, HIGH), (X1, 0, WIDE, HIGH)):
        [held] = [one for one in tapes if one.intersects(shapely_box(*side))]
        on = held.intersection(flat_of(flap)).area
        assert 0.2 < on / held.area < 0.8
        assert held.bounds[1] > fold
        assert held.bounds[3] < HIGH


@pytest.mark.parametrize(("level", "sleeve"), [(2, False), (3, True), (4, True)])
def test_a_flange_lies_tight_round_its_pipe_and_goes_up_behind_the_cut_as_its_step_says(level, sleeve):
    """A ring round the pipe is the sleeve; the flange's edge is dashed so far above the cut as tape is bonded on its others."""
    numbers = ladder_numbers(level, WALLS[0])
    (run,) = (one for one in short_runs_of([("n", numbers)]) if "pipe" in one.title)
    first, frame = run.frames[:2]
    rings = [flat_of(one) for one in frame.added if one.material == "tray"]
    assert len(rings) == sleeve
    cut = [one for one in first.added if one.material == "cut away"]
    assert [one.name for one in first.names] == ["cut for the sleeve"] * len(cut)
    assert len(cut) == sleeve
    for ring, way in zip(rings, cut, strict=True):  # as wide as what is pushed into it
        assert all(ring.exterior.distance(Point(x, z)) < 1 for x, z, _ in way.points)
    assert ("sleeve" in frame.words) is sleeve
    [size] = frame.sizes
    assert (size.row, size.word) == ("tape_bond", "behind")
    cut, top = (z for _, z, _ in size.ends)
    assert [one.points[0][1] for one in frame.added if one.material == "edge"] == [cut]
    [behind] = [one for one in frame.added if one.material == "hidden edge"]
    assert {z for _, z, _ in behind.points} == {cut, top}
    assert f"{numbers.length('tape_bond'):g}\u00a0mm up behind the membrane" in frame.words


@pytest.mark.parametrize("level", [2, 4])
def test_the_sheet_over_a_flange_is_no_strip_of_its_own(level):
    """Dark where it lies over flange and tapes, as high as the tapes at the cut's ends; above that it is the sheet of the wall."""
    (run,) = (one for one in short_runs_of([("n", ladder_numbers(level, WALLS[0]))]) if "pipe" in one.title)
    frame = next(one for one in run.frames if "ends of the cut" in one.words)
    [sheet] = [flat_of(one).bounds for one in frame.added if one.material == "film"]
    tapes = [flat_of(one).bounds for one in frame.added if one.material == "tape"]
    hidden = max(z for one in frame.added if one.material == "hidden edge" for _, z, _ in one.points)
    assert {high for *_, high in tapes} == {sheet[3]}
    assert hidden < sheet[3] < hidden + 20
    for x in (sheet[0], sheet[2]):  # its upright sides lie under them
        assert any(x0 < x < x1 and low < sheet[1] for x0, low, x1, _ in tapes)


def test_a_reveal_board_is_a_strip_of_wood_and_the_cover_shows_how_far_the_sill_goes_in_under_it(runs):
    """Its edge to the reader and its face, so that it is not taken for the course; the cover's size ends on the sill's dashed back edge."""
    seen = 0
    for *_, frame in adding(runs, "reveal boards"):
        timber = [face for face in frame.added if face.material == "timber"]
        edges = [flat_of(face).bounds for face in timber if len({d for *_, d in face.points}) == 1]
        assert any(right - left > 12 for left, _, right, _ in edges)
        assert any(len({x for x, *_ in face.points}) == 1 for face in timber)
        for size in (one for one in frame.sizes if one.row == "sill_cover"):
            x, z, d = size.ends[0]
            dashed = [face.points for face in frame.added if face.material == "cut away"]
            assert any(a[0] < x < b[0] and a[1:] == b[1:] == (z, d) for a, b in dashed)
            seen += 1
    assert seen > 5


def test_the_dot_of_the_fall_of_a_sill_stands_on_no_level(runs):
    """Two names on one thing leave the other without: the level lies on the same slope."""
    seen = 0
    for *_, frame in adding(runs, "fall"):
        tools = [
            as_seen(face)
            for face in frame.added
            if not face.line and face.material in ("frame", "glass", "metal")
        ]
        for size in (one for one in frame.sizes if one.row == "sill_slope"):
            assert all(tool.distance(as_seen_spot(size.ends[0])) > 20 for tool in tools)
            seen += bool(tools)
    assert seen > 10


@pytest.mark.parametrize("letters", [LETTERS, FRAME_LETTERS, ON_PHONE])
def test_no_label_lies_on_the_tape_of_a_flaps_cuts(runs, letters):
    """Both are what the step is about; nor does the size of the leg stand on one."""
    seen = 0
    for numbers, _, frame in adding(runs, "flap down"):
        _, _, *cuts = PARTS["flap down"](numbers)[0]
        placed = placed_labels(frame, numbers, letters)
        for cut in map(as_drawn, cuts):
            for _, box in placed:
                assert shapely_box(*box).intersection(cut).area < 0.1 * cut.area
            for size in frame.sizes:
                if size.row == "head_up":
                    assert not any(cut.contains(Point(_at(spot))) for spot in size.ends)
                    seen += 1
    assert seen > 5


def test_each_tick_of_a_lap_stands_on_an_edge_that_is_seen(runs):
    """Where tape covers the edge of the upper sheet it is dashed on the tape, in that frame alone."""
    seen = dict.fromkeys(("lap_h", "lap_v"), 0)
    for numbers, _, frame in adding(runs, "lap tape"):
        tapes = unary_union([flat_of(one) for one in PARTS["lap tape"](numbers)[0] if one.material == "tape"])
        shown = [
            LineString([(x, z) for x, z, _ in one.points])
            for one in frame.added
            if one.line and (one.material == "cut away" or not tapes.covers(LineString([(x, z) for x, z, _ in one.points])))
        ]  # fmt: skip
        dashed = [one for one in frame.added if one.material == "cut away"]
        assert all(tapes.intersects(LineString([(x, z) for x, z, _ in one.points])) for one in dashed)
        for size in frame.sizes:
            if size.row in seen:
                for x, z, _ in size.ends:
                    at = Point(x, z)
                    marks = [
                        one
                        for one in dashed
                        if LineString([(a, b) for a, b, _ in one.points]).distance(at) < 1
                    ]
                    assert any(one.distance(at) < 1 for one in shown)
                    assert bool(marks) is tapes.contains(at)
                    seen[size.row] += 1
    assert min(seen.values()) > 5


@pytest.mark.parametrize(
    ("part", "name"), [("barriers", "barrier"), ("head closer", "closer"), ("support", "support")]
)
def test_what_a_step_is_about_has_its_name_in_the_frame(runs, part, name):
    """Barrier, closer and support are what their steps set: a tray or blocking named alone is taken for them. Under two leaves the support is bracket alone."""
    seen = 0
    for numbers, _, frame in adding(runs, part):
        if part == "support" and numbers.has("sill_bracket"):
            continue
        [named] = [one for one in frame.names if one.name == name]
        x, z, d = named.ends[0]
        there = [
            flat_of(face) for face in frame.added if {at for *_, at in face.points} == {d} and not face.line
        ]
        assert any(face.contains(Point(x, z)) for face in there)
        seen += 1
    assert seen > 5


@pytest.mark.parametrize("level", [1, 4])
def test_render_round_a_pipe_is_dotted_from_edge_to_edge_of_the_wall(level):
    """No row of dots goes out of sight behind the render it stands on; none is farther than two rows from the next."""
    numbers = ladder_numbers(level, WALLS[3])
    (run,) = (one for one in short_runs_of([("n", numbers)]) if "pipe" in one.title)
    frame = next(one for one in run.frames if "joint round the pipe" in one.words)
    dots = [one for one in frame.added if one.material == "dots"]
    for one in dots:
        assert uncovered([one], frame) > 0.9 * 10 * (one.points[1][0] - one.points[0][0])
    for side in (0, WIDE):
        heights = sorted(
            {one.points[0][1] for one in dots if min(abs(x - side) for x, *_ in one.points) < 40}
        )
        assert max(b - a for a, b in pairwise([0, *heights, HIGH])) <= 80


@pytest.mark.parametrize("level", [1, 4])
def test_nothing_of_a_pipe_behind_the_skin_is_painted_over_the_joint_round_it(level):
    """Beside the pipe, a little below its middle, the joint is what the eye meets: its open part, dark."""
    (run,) = (one for one in short_runs_of([("n", ladder_numbers(level, WALLS[3]))]) if "pipe" in one.title)
    frame = next(one for one in run.frames if "joint round the pipe" in one.words)
    faces = [*frame.before, *frame.added]
    drawn = [faces[place] for place in painting_order(faces, on_top=MARKS)]
    joint = next(one for one in frame.added if one.material == "fixing")
    middle, right = as_seen(joint).centroid, as_seen(joint).bounds[2]
    for down in (5, 20, 40):
        spot = Point(middle.x + ((right - middle.x - 6) ** 2 - down**2) ** 0.5, middle.y - down)
        met = [one for one in drawn if not one.line and as_seen(one).buffer(0).contains(spot)]
        assert met[-1] is joint
