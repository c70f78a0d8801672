"""Sealed head flashings, laps over a flat roof, a taped pipe, and the arrow at the end of the water's way."""

import re
from math import cos, radians

import pytest
from shapely import LineString, Polygon
from test_junction import WALLS, ladder_numbers
from test_junction import layers_of as parts_of

from exposure.detail.ladder import ladder_rows
from exposure.draw.junction_canvas import Canvas
from exposure.draw.junction_svg import bare_junction
from exposure.junction.catalogue import JUNCTIONS, section_of
from exposure.junction.proofs import failures
from exposure.junction.short_runs import short_runs_of
from exposure.junction.size_names import size_name
from exposure.paper.sheet_columns import DRAWN_TALL, DRAWN_WIDE

CLAD = (WALLS[0], WALLS[3])


def section(key, numbers):
    return section_of(next(one for one in JUNCTIONS if one.key == key), numbers)


@pytest.mark.parametrize("wall", CLAD)
@pytest.mark.parametrize(
    ("position", "frame"),
    [
        ("at the sheathing", "nailing flange"),
        ("at the sheathing", "box frame with straps"),
        ("over the cavity", "box frame with straps"),
    ],
)
def test_the_flashing_is_sealed_to_the_frame_where_its_row_asks_it_and_only_there(wall, position, frame):
    """At level 4 "seal the flashing to the window's flange or frame": the joint from below is shut, on the frame or its tape."""
    for level in (3, 4):
        drawn = section("head", ladder_numbers(level, wall, position=position, frame=frame))
        parts = {one.key: one for one in drawn.layers}
        assert ("head seal" in parts) is (level == 4)
    seal = parts["head seal"]
    assert "head_ends" in seal.rows
    assert "without a break" in seal.name
    shape = Polygon(seal.outline)
    assert shape.distance(Polygon(parts["flashing"].outline)) < 0.1
    held = "head tape" if frame == "box frame with straps" and position == "at the sheathing" else "frame"
    assert shape.distance(Polygon(parts[held].outline)) < 0.1
    assert not failures(drawn)


@pytest.mark.parametrize("wall", CLAD)
@pytest.mark.parametrize("cavity", range(10, 80, 2))
def test_a_frame_behind_the_flashing_is_sealed_to_its_opening(wall, cavity):
    """Set back 50 mm over a shallow cavity a frame stands within the opening: the seal goes on over the lining tape to it."""
    there = {"position": "over the cavity", "frame": "box frame with straps"}
    drawn = section("head", ladder_numbers(4, wall, cav_depth=cavity, cav_render=cavity, **there))
    seals = [
        Polygon(one.outline) for one in drawn.layers if "head_ends" in one.rows and one.material == "sealant"
    ]
    frame, flashing = (Polygon(drawn.layer(key).outline) for key in ("frame", "flashing"))
    assert min(one.distance(frame) for one in seals) < 0.1
    assert min(one.distance(flashing) for one in seals) < 0.1
    assert not failures(drawn)


def test_the_drip_of_a_head_flashing_is_told_from_the_leg_it_is_drawn_from():
    """Its row and its size name the leg; the leg stands before the frame, wherever that is set back."""
    row = next(row for row in ladder_rows() if row.key == "head_drip")
    assert all("from its leg" in words for words in row.build)
    drawn = section("head", ladder_numbers(4, WALLS[3]))
    [size] = [one for one in drawn.dimensions if one.key == "head_drip"]
    assert size_name(size) == "drip off leg"
    leg = [x for x, y in drawn.layer("flashing").outline if y < 0]
    assert max(leg) <= min(x for x, _ in drawn.layer("frame").outline)


@pytest.mark.parametrize("wall", CLAD)
@pytest.mark.parametrize(
    ("level", "lap"), [(1, 100), (2, 100), (3, 150), (4, 150)]
)  # lap_h, as read in the table
def test_the_wall_membrane_laps_that_of_a_flat_roof_as_far_as_sheets_lap(wall, level, lap):
    """Behind the cladding; where a gap is asked so wide that the upstand is too low for it, that is told."""
    drawn = section("flat-roof", ladder_numbers(level, wall))
    box = {one.key: Polygon(one.outline).bounds for one in drawn.layers}
    assert box["deck membrane"][3] - box["membrane"][1] >= lap
    assert box["membrane"][1] > box["cladding"][1]
    assert not drawn.conflicts
    low = section("flat-roof", ladder_numbers(level, wall, roof_gap=150.0))
    [clash] = low.conflicts
    assert clash.rows == ("step_flat", "lap_h")
    mended = re.search(r"take roof membrane and apron (\d+) mm", clash.words).group(1)
    assert not section(
        "flat-roof", ladder_numbers(level, wall, roof_gap=150.0, step_flat=float(mended))
    ).conflicts


@pytest.mark.parametrize("wall", WALLS[:2])
def test_section_and_frames_of_a_taped_pipe_show_the_upper_tape_last(wall):
    """The tape lies on the sheet over the pipe, in both; no sheet comes down over it, the cladding's own joint alone comes after."""
    numbers = ladder_numbers(1, wall)
    drawn = section("pipe", numbers)
    tape, film = (Polygon(drawn.layer(key).outline).bounds for key in ("seal over", "membrane above"))
    assert tape[2] <= film[0]
    assert "lapped" not in drawn.layer("membrane above").name
    [run] = [one for one in short_runs_of([("north", numbers)]) if one.stem.startswith("pipe")]
    taped, joint = (frame.words for frame in run.frames[-2:])
    assert "tape over the pipe" in taped
    assert joint.startswith("When the cladding or leaf is on, seal the joint round the pipe in it")


@pytest.mark.parametrize("wall", CLAD)
@pytest.mark.parametrize("key", ["floor-open", "floor-line", "head", "base-soil", "pipe"])
def test_the_water_runs_down_to_the_tip_of_its_arrow(key, wall):
    drawn = section(key, ladder_numbers(3, wall))
    svg, _ = bare_junction(drawn, width=358, tallest=400, prefix="t")
    (_, ay), (bx, by), (cx, cy) = _arrow(svg)
    assert ay > by == pytest.approx(cy, abs=0.5)
    assert LineString([(bx, by), (cx, cy)]).length > 8


def _arrow(svg):
    """Corners of the one triangle in the colour of water, tip first."""
    [found] = re.findall(
        r'd="M([\d.]+) ([\d.]+) ?L([\d.]+) ([\d.]+) ?L([\d.]+) ([\d.]+) ?Z"[^>]*fill="#2F6570"', svg
    )
    x = [float(one) for one in found]
    return (x[0], x[1]), (x[2], x[3]), (x[4], x[5])


@pytest.mark.parametrize(
    ("frame", "position", "before"),
    [
        ("nailing flange", "at the sheathing", 10),
        ("box frame with straps", "at the sheathing", 10),
        ("box frame with straps", "over the cavity", 20),
    ],
)
def test_the_drip_of_the_head_flashing_hangs_clear_of_trim_and_reveal_lining(frame, position, before):
    """They stand 10 mm before the cladding in a reveal, 20 mm before a frame that is flush, and go up under the flashing."""
    there = {
        "cav_depth": 20,
        "reveal": "25 mm back, or a hood" if position == "at the sheathing" else "as drawn",
    }
    parts = parts_of("head", ladder_numbers(3, WALLS[0], frame=frame, position=position, **there))
    piece, flashing, clad = (Polygon(parts[key].outline) for key in ("jamb beyond", "flashing", "cladding"))
    assert clad.bounds[0] - piece.bounds[0] == pytest.approx(before)
    assert piece.bounds[0] - flashing.bounds[0] > 5  # head_drip
    assert piece.distance(flashing) < 2
    assert not parts["jamb beyond"].cut
    assert "jamb beyond" not in parts_of(
        "head", ladder_numbers(3, WALLS[0], frame="nailing flange", reveal="as drawn", cav_depth=0)
    )


@pytest.mark.parametrize("wall", CLAD)
def test_timber_stands_behind_the_cut_edge_that_is_taped_round_a_pipe_on_open_studs(wall):
    """By the step "behind every edge that tape will meet": against the pipe above and below, through the depth of the framing; boards need none."""
    for sheathing in ("open studs", "sheathed"):
        numbers = ladder_numbers(1, wall, sheathing=sheathing)
        drawn = section("pipe", numbers)
        assert not failures(drawn)
        shape = {one.key: Polygon(one.outline) for one in drawn.layers}
        blocks = [one for key, one in shape.items() if key.startswith("blocking")]
        assert len(blocks) == (2 if sheathing == "open studs" else 0)
        for block, tape in zip(blocks, ("seal under", "seal over"), strict=False):
            left, _, right, _ = shape["core"].bounds
            assert block.bounds[::2] == (left, right)
            against = block.exterior.intersection(shape["pipe"].buffer(0.01)).length
            assert against == pytest.approx(
                (right - left) / cos(radians(numbers.length("pen_slope"))), abs=0.1
            )
            assert block.distance(shape[tape]) < 10  # behind it, the membrane between them


@pytest.mark.parametrize("wall", WALLS)
@pytest.mark.parametrize("level", [1, 4])
def test_on_a_printed_sheet_the_joint_over_a_pipe_is_seen_sealed_and_the_one_below_open(wall, level):
    """White must show between two edges of 1.3 units each, and sealant fill the height of the joint over the pipe."""
    canvas = Canvas(section("pipe", ladder_numbers(level, wall)), DRAWN_WIDE, tallest=DRAWN_TALL)
    part = {layer.key: Polygon(ring) for layer, ring in canvas.pieces}
    below, above = (part[key].distance(part["pipe"]) for key in ("cladding", "cladding above"))
    assert min(below, above) > 1.3 + 1
    seal = part["joint"].bounds
    assert seal[3] - seal[1] >= above
    assert seal[2] - seal[0] > (5 if "masonry" in wall else 2)


@pytest.mark.parametrize("level", [1, 2, 3, 4])
@pytest.mark.parametrize("wall", WALLS)
def test_the_pipe_is_sealed_to_the_airtight_lining_above_and_below(wall, level):
    """On the room side, from the pipe over the end of its sleeve, 11 mm thick with its seal, to at least 10 mm of lining."""
    drawn = section("pipe", ladder_numbers(level, wall))
    parts = {one.key: one for one in drawn.layers}
    sleeved = "sleeve" in parts
    assert sleeved is (wall != "cavity masonry" and level > 2)
    for where in ("", " above"):
        bead, held = (Polygon(parts[key + where].outline) for key in ("lining seal", "lining"))
        assert bead.intersection(held).length >= 10
        assert bead.exterior.intersection(Polygon(parts["pipe"].outline).buffer(0.01)).length >= 10
        assert parts[f"lining seal{where}"].air
        if sleeved:
            assert bead.intersection(Polygon(parts[f"sleeve{where}"].outline)).length == pytest.approx(3)
    assert parts["lining seal"].name == f"Lining sealed to the {'sleeve' if sleeved else 'pipe'}, airtight"
    assert not failures(drawn)


@pytest.mark.parametrize(("level", "behind"), [(2, 50), (3, 50), (4, 75)])  # tape_bond, as read in the table
def test_a_flange_round_a_pipe_goes_up_behind_the_membrane_as_far_as_tape_is_bonded(level, behind):
    """From the membrane's lower edge to the flange's upper one."""
    drawn = section("pipe", ladder_numbers(level, WALLS[0]))
    sheet, flange = (Polygon(drawn.layer(key).outline).bounds for key in ("membrane above", "seal over"))
    assert flange[3] - sheet[1] == pytest.approx(behind)
    [size] = [one for one in drawn.dimensions if one.key == "tape_bond"]
    assert (size.name, size.value) == ("behind", behind)
    assert sorted(y for _, y in (size.start, size.end)) == pytest.approx([sheet[1], flange[3]])
