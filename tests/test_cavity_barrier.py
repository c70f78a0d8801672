"""Level cavity barriers over and under a window behind light cladding: the tray over each, and its way out."""

import pytest
from shapely import LineString, Polygon, union_all
from test_detail_ladder import exposure_of, pressure_of
from test_junction import EVERY_FRAME, WALLS, ladder_numbers

from exposure.detail import Circumstances, detail_schedule
from exposure.junction.build_up import wall_of
from exposure.junction.catalogue import JUNCTIONS, drawings_of, section_of
from exposure.junction.numbers import numbers_of
from exposure.junction.proofs import failures
from exposure.junction.scene import FILM
from exposure.junction.window import NotDrawnError
from exposure.junction.work_scene import frames_of

CLAD = (WALLS[0], WALLS[3])
BARRIER = next(one for one in JUNCTIONS if one.key == "cavity-barrier")


@pytest.mark.parametrize("wall", CLAD)
@pytest.mark.parametrize("level", [2, 3, 4])
def test_the_tray_over_a_barrier_covers_it_and_leads_water_out_over_the_cladding_below(wall, level):
    section = section_of(BARRIER, ladder_numbers(level, wall))
    assert not failures(section)
    parts = {one.key: Polygon(one.outline).bounds for one in section.layers}
    tray, barrier, above, below = (
        parts[one] for one in ("flashing", "barrier", "cladding", "cladding below")
    )
    assert (
        tray[0] < below[0] < barrier[0] < barrier[2] <= tray[2] + 1.5
    )  # past the face, and in to the membrane
    assert tray[1] < below[3] < above[1]  # its lip laps the cladding below
    assert above[1] - below[3] < 15  # a joint, and no gap for a floor to shrink into
    assert parts["membrane"][1] < tray[3]
    [gap] = [one for one in section.dimensions if one.key == "clad_gap"]
    assert gap.drawn == 5
    assert parts["battens below"][3] == barrier[1]  # the barrier stands on them, as in the order of work
    assert "rim" not in parts


@pytest.mark.parametrize("wall", WALLS)
def test_a_barrier_is_drawn_for_every_cavity_behind_light_cladding_and_for_no_leaf(wall):
    mine, pressure = Circumstances(wall_type=wall, storeys=1), pressure_of(100.0)
    schedule = detail_schedule(exposure_of(140.0), pressure, mine)
    drawings, left_out = drawings_of([("south", numbers_of(schedule, mine, pressure))])
    assert ("cavity-barrier" in {one.section.key for one in drawings}) is (wall in CLAD)
    assert "cavity-barrier" not in {one.junction for one in left_out}
    [step] = [one for one in schedule.steps if "barriers" in one.adds]
    assert ("out through a joint of the cladding" in step.text) is (wall in CLAD)
    assert ("through a slit with taped ends" in step.text) is (wall in CLAD)
    if wall in CLAD:
        drawn = next(one.section for one in drawings if one.section.key == "cavity-barrier")
        assert "through a slit with taped ends" in drawn.layer("membrane").name
    assert ("cavity-barrier" in step.drawn) is (wall in CLAD)


def width_of(face):
    """How wide a face is. [mm]"""
    xs = [x for x, _, _ in face.points]
    return max(xs) - min(xs)


@pytest.mark.parametrize("wall", CLAD)
@pytest.mark.parametrize(
    ("frame", "position"),
    [("nailing flange", "at the sheathing"), ("box frame with straps", "over the cavity")],
)
def test_the_gap_over_each_tray_stays_in_the_cladding_to_the_last_frame(wall, frame, position):
    mine = Circumstances(wall_type=wall, frame_type=frame, window_position=position)
    pressure = pressure_of(100.0)
    schedule = detail_schedule(exposure_of(140.0), pressure, mine)
    frames = frames_of(schedule.steps, numbers_of(schedule, mine, pressure))
    barriers = next(one for one in frames if any(face.material == "barrier" for face in one.added))
    trays = [face for face in barriers.added if face.material == "tray"]
    fronts = sorted(min(z for _, z, _ in face.points) for face in trays)
    assert len(fronts) == 2
    last = next(
        one for one in reversed(frames) if any(face.material in ("cladding", "render") for face in one.added)
    )
    seen = [*last.before, *last.added]
    gaps = {
        min(z for _, z, _ in face.points)
        for face in seen
        if face.material == "room" and face.points[0][2] < -40 and width_of(face) > 300
    }
    lips = {
        max(z for _, z, _ in face.points)
        for face in seen
        if face.material == "metal" and face.points[0][2] == -43
    }
    assert gaps >= {*fronts}  # and that over the head flashing
    assert sorted(lips) == fronts
    assert any("barrier's tray" in one.name for one in last.names)
    if position == "over the cavity":  # up to the head the lower one alone
        first = next(
            one for one in frames if any(face.material in ("cladding", "render") for face in one.added)
        )
        low = {
            max(z for _, z, _ in face.points)
            for face in first.added
            if face.material == "metal" and face.points[0][2] == -43
        }
        assert low == {fronts[0]}


@pytest.mark.parametrize(("key", "far"), [("jamb", 0.3), ("head", 0.7)])
def test_beside_and_over_a_window_in_masonry_a_barrier_closes_the_whole_cavity(key, far):
    """A line from the leaf to the wall behind, through the barrier well away from the frame, meets no air but what a flange as thick as a film holds off the tape; ``far`` is where, as a share of its height."""
    junction = next(one for one in JUNCTIONS if one.key == key)
    seen = 0
    for level, wall, position, sheathing, frame in EVERY_FRAME:
        if "masonry" not in wall:
            continue
        numbers = ladder_numbers(level, wall, position=position, sheathing=sheathing, frame=frame)
        try:
            section = section_of(junction, numbers)
        except NotDrawnError:
            continue
        barrier = Polygon(section.layer("closer").outline)
        _, low, _, high = barrier.bounds
        level_at = low + (high - low) * far
        cavity = LineString([(wall_of(numbers).leaf_back, level_at), (wall_of(numbers).skin, level_at)])
        solid = union_all([Polygon(one.outline).buffer(0.01) for one in section.layers if one.cut])
        assert cavity.difference(solid).length < FILM + 0.01, (level, wall, position, sheathing, frame)
        seen += 1
    assert seen > 50
