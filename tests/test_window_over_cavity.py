"""A window whose frame stands before the membrane of a boarded wall, over the cavity: what closes its joint, what it is sealed with and what holds it."""

from dataclasses import replace
from itertools import product

import pytest
from shapely import Polygon, box
from test_junction import WALLS, ladder_numbers
from test_work_frames import steps_of

from exposure.detail.beside import beside
from exposure.detail.ladder import ladder_rows
from exposure.detail.materials import not_counted
from exposure.draw.junction_canvas import numbered_parts
from exposure.junction.catalogue import JUNCTIONS, section_of
from exposure.junction.proofs import failures
from exposure.junction.scene import FILM
from exposure.junction.work_scene import frames_of

BOX, FLANGE = "box frame with straps", "nailing flange"
CLAD = (WALLS[0], WALLS[3])
SETBACKS = next(row.values for row in ladder_rows() if row.key == "reveal")
REACHED = {"cav_depth": 20.0, "cav_render": 20.0}  # mm, a cavity that a frame with a flange reaches over


def numbers_of(frame, wall=WALLS[0], level=3, **own):
    return ladder_numbers(level, wall, position="over the cavity", frame=frame, **{**REACHED, **own})


def drawn(key, numbers):
    """The section, its parts' outlines and their names by their rings."""
    section = section_of(next(one for one in JUNCTIONS if one.key == key), numbers)
    assert failures(section) == (), key
    outlines = {one.key: Polygon(one.outline) for one in section.layers}
    return section, outlines, [one.name for _, one in numbered_parts(section)]


def added(numbers, part):
    """The one frame of the order of work in which ``part`` is new."""
    steps = steps_of(numbers)
    [found] = [one for one in frames_of(steps, numbers) if part in steps[one.number - 1].adds]
    return found


@pytest.mark.parametrize("wall", CLAD)
@pytest.mark.parametrize("cover", [10, 15])
def test_a_flange_on_the_cladding_lies_in_sealant_at_the_jamb_as_far_as_its_row_says(wall, cover):
    """Its step seals it there; the bead lies between the two, and the flange, a ring of its own, is fixed to the frame."""
    section, part, names = drawn("jamb", numbers_of(FLANGE, wall, jamb_cover=cover))
    bead, flange = part["flange seal"], part["flange"]
    assert section.layer("flange seal").material == "sealant"
    assert section.layer("flange seal").rows == ("reveal_face",)
    assert {"Flange of the frame, on the cladding", "Sealant under the flange"} <= set(names)
    assert bead.distance(flange) == bead.distance(part["cladding"]) == flange.distance(part["frame"]) == 0
    assert flange.bounds[2] > part["frame"].bounds[0]  # on the side of the frame
    assert flange.bounds[1] == bead.bounds[1] == -cover  # from the edge of the opening


@pytest.mark.parametrize("wall", CLAD)
def test_at_sill_and_head_that_flange_is_dry_and_as_wide_as_at_the_jambs(wall):
    """10 mm of gap beside the frame and 10 of cover; no sealant touches it, the flashing comes down before it at the head."""
    for level in (1, 2, 3):
        numbers = numbers_of(FLANGE, wall, level, reveal_face="sealed at the jambs")
        for key, side in (("sill", 1), ("head", 3)):
            section, part, names = drawn(key, numbers)
            flange, frame = part["flange"], part["frame"]
            assert flange.distance(frame) == 0
            assert abs(flange.bounds[side] - frame.bounds[side]) == 20
            sealants = [part[one.key] for one in section.layers if one.material == "sealant"]
            assert all(one.distance(flange) > 1 for one in sealants)
            assert any(one.startswith("Flange of the frame") for one in names)
        flashing = part["flashing"]
        assert flashing.bounds[0] < flange.bounds[0]
        assert flange.distance(flashing) < 2
        assert flashing.bounds[1] < frame.bounds[3]


def test_a_flange_before_render_leaves_no_gap_at_the_sill_that_wants_mesh():
    """It hangs 3 mm before the render and below its upper edge; boards lean away from it, and a box frame has none."""
    for frame, wall, mesh in ((FLANGE, CLAD[1], False), (FLANGE, CLAD[0], True), (BOX, CLAD[1], True)):
        _, part, _ = drawn("sill", numbers_of(frame, wall, reveal="not proud of the cladding"))
        assert ("sill mesh" in part) is mesh
        if frame == FLANGE:
            assert part["flange"].bounds[1] < part["cladding"].bounds[3]
            assert (part["flange"].distance(part["cladding"]) > 5) is mesh


def test_sealed_to_the_window_too_the_flashing_is_sealed_to_its_flange():
    section, part, _ = drawn("head", numbers_of(FLANGE, head_ends="sealed to the window too"))
    assert "flange" in section.layer("head seal").name
    assert part["head seal"].distance(part["flange"]) == part["head seal"].distance(part["flashing"]) == 0


@pytest.mark.parametrize("wall", CLAD)
def test_the_frame_of_its_step_shows_the_bead_at_both_jambs_and_none_below(wall):
    frame = added(numbers_of(FLANGE, wall), "flange bead")
    lines = [one.points for one in frame.added if one.material == "sealant"]
    assert len({one[0][0] for one in lines}) == len(lines) == 2
    assert all(one[0][0] == one[-1][0] for one in lines)  # upright
    assert "sealed to it" in frame.words
    assert "bead of sealant" in [one.name for one in frame.names]


@pytest.mark.parametrize("wall", CLAD)
def test_a_window_whose_flange_lies_on_the_cladding_is_drawn_with_brackets_to_the_stud(wall):
    """Its row lets cladding and flange carry nothing; a box frame keeps the straps of its own row."""
    for frame, row, word in ((FLANGE, "fix_over", "Bracket"), (BOX, "fix_box", "Strap")):
        section, part, names = drawn("jamb", numbers_of(frame, wall))
        hold = section.layer("strap")
        assert hold.rows == (row,)
        assert any(one.startswith(word) for one in names)
        assert part["strap"].distance(part["frame"]) == 0
        assert part["strap"].bounds[2] > part["frame"].bounds[2] + 40  # in along the side of the stud
        assert (
            part["strap"].distance(part["jack stud"]) <= 2 * FILM
        )  # before it the tape and the film under that


@pytest.mark.parametrize("wall", CLAD)
def test_order_of_work_and_take_off_name_what_holds_it(wall):
    """Seen from outside it is behind the frame: dashed, three at each jamb."""
    for frame, step, seen, item in (
        (FLANGE, "through its liner or by brackets", "brackets inside", "brackets of the frames, or liners"),
        (BOX, "by straps on the room side", "straps inside", "straps of the frames"),
    ):
        numbers = numbers_of(frame, wall)
        shown = added(numbers, "held inside")
        assert step in shown.words
        assert seen in [one.name for one in shown.names]
        dashed = [one for one in shown.added if one.material == "cut away"]
        assert len(dashed) == 6
        mine = numbers.circumstances.changed(deck="none")  # a deck's door is a box frame
        lines = {
            row.key: numbers.values[row.key]
            for row in ladder_rows()
            if row.key in numbers.values and beside(row.when, mine)
        }
        items = not_counted(lines)
        assert item in items
        assert len({"brackets of the frames, or liners", "straps of the frames"} & {*items}) == 1


@pytest.mark.parametrize("wall", CLAD)
def test_a_trim_closes_the_slot_between_flashing_and_box_frame_along_the_head(wall):
    """From the leg of the flashing in to the frame and down over that by its row; over the cavity alone, for at the boards tape closes it."""
    for level, setback in product((1, 2, 3, 4), SETBACKS):
        section, part, _ = drawn("head", numbers_of(BOX, wall, level, reveal=setback))
        trim, frame, flashing = (part[key] for key in ("head trim", "frame", "flashing"))
        assert section.layer("head trim").rows == ("jamb_cover",)
        assert trim.distance(frame) == 0
        assert frame.bounds[3] - trim.bounds[1] == 10
        assert trim.distance(flashing) < 2
        slot = box(trim.bounds[0] - 3, trim.bounds[1], frame.bounds[0], frame.bounds[3])
        assert (
            slot.difference(trim.union(flashing)).bounds[2] <= trim.bounds[0]
        )  # nothing open behind its face
        assert "jamb beyond" in part
    for frame, position in ((FLANGE, "over the cavity"), (BOX, "at the sheathing")):
        numbers = ladder_numbers(3, wall, position=position, frame=frame, **REACHED)
        assert "head trim" not in drawn("head", numbers)[1]


@pytest.mark.parametrize("wall", CLAD)
def test_row_step_frame_and_take_off_ask_that_trim(wall):
    """Under the flashing it is set after it; a flange covers the joint there itself."""
    for frame, position in product((BOX, FLANGE), ("over the cavity", "at the sheathing")):
        numbers = ladder_numbers(3, wall, position=position, frame=frame, **REACHED)
        mine, asked = numbers.circumstances, (frame, position) == (BOX, "over the cavity")
        rows = {row.key: row for row in ladder_rows() if row.key in numbers.values and beside(row.when, mine)}
        numbers = replace(
            numbers, values={key: numbers.values[key] for key in rows}
        )  # as a schedule has them
        if "jamb_cover" in rows:
            said = rows["jamb_cover"].words_for("build", mine) or rows["jamb_cover"].build[0]
            assert ("at jambs and head" in said) is (position == "over the cavity")
            assert ("at each jamb" in said) is (position != "over the cavity")
        steps = [one.text for one in steps_of(numbers)]
        told = [one for one in steps if "Then a trim along the head, up under the flashing" in one]
        assert len(told) == asked
        assert all(
            one.startswith("Set the head flashing") and "10\u00a0mm down over the frame" in one
            for one in told
        )
        items = not_counted(numbers.values)
        assert ("trims at jambs and head" in items) is asked
        assert ("trims at the jambs" in items) is ((frame, position) == (BOX, "at the sheathing"))
    shown = added(numbers_of(BOX, wall), "head trim")
    assert any(one.material == "cut away" for one in shown.added)
    assert "trim under it" in [one.name for one in shown.names]
    assert "trim under it" not in [one.name for one in added(numbers_of(FLANGE, wall), "head trim").names]
