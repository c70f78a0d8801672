"""A window or door that stands at the boards behind an outer leaf: nothing is left open between the two, and the words say what is drawn."""

import pytest
from shapely import LineString, Polygon
from test_junction import EVERY_FRAME, JUNCTIONS, ladder_numbers, layers_of
from test_work_frames import steps_of

from exposure.junction.catalogue import section_of
from exposure.junction.drop import follow
from exposure.junction.measured import Proven
from exposure.junction.window import NotDrawnError
from exposure.junction.work_scene import frames_of

BOARDS = "at the sheathing"
LEAVES = [one for one in EVERY_FRAME if "masonry" in one[1]]
FRAMES = ("nailing flange", "box frame with straps")


def junction(key):
    return next(one for one in JUNCTIONS if one.key == key)


def reach(layer, axis=0):
    places = [point[axis] for point in layer.outline]
    return min(places), max(places)


def slot(layers):
    """From the back of the outer sill to the front of the frame."""
    return reach(layers["outer sill"])[1], reach(layers["frame"])[0]


@pytest.mark.parametrize("key", ["sill", "threshold"])
def test_nothing_that_falls_before_the_frame_gets_into_the_cavity(key):
    """Straight down, every 2 mm, something lies in the way: a plain fall of a drop, not the proof that runs along outlines.

    The tray of cavity masonry lies over its cavity and drains onto the sill; that of a framed wall goes down into the cavity.
    """
    for level, wall, position, sheathing, frame in LEAVES:
        numbers = ladder_numbers(level, wall, position=position, sheathing=sheathing, frame=frame)
        try:
            section = section_of(junction(key), numbers)
        except NotDrawnError:
            continue
        layers = {layer.key: layer for layer in section.layers}
        back, front = slot(layers)
        closing = (
            one for one in section.layers if one.cut and (one.key != "tray" or wall == "cavity masonry")
        )
        shapes = [Polygon(layer.outline) for layer in closing]
        x = back + 2.0
        while x < front:
            assert any(one.intersects(LineString([(x, 60), (x, -40)])) for one in shapes), (wall, position, x)
            x += 2


@pytest.mark.parametrize("frame", FRAMES)
@pytest.mark.parametrize("cavity", [30, 50, 75, 100])
@pytest.mark.parametrize("key", ["sill", "threshold"])
def test_water_off_the_panes_runs_over_the_cavity_onto_the_sill(key, cavity, frame):
    """50 mm over the stone, as the row sill_cover says; by hand: 100 mm of leaf outside of its back is the wall's face."""
    numbers = ladder_numbers(3, "masonry veneer", frame=frame, cav_mas=cavity)
    section = section_of(junction(key), numbers)
    layers = {layer.key: layer for layer in section.layers}
    stone, cover = layers["outer sill"], layers["cover"]
    back = reach(stone)[1]
    assert [one.drawn for one in section.dimensions if one.key == "sill_cover"] == [pytest.approx(50)]
    assert cover.carrier == "frame"
    assert Polygon(cover.outline).distance(Polygon(stone.outline)) >= 3  # the frame sinks, the leaf does not
    start = (reach(layers["frame"])[0], reach(layers["frame"], 1)[1] - 6)
    ends = follow(Proven(section), "frame", start)
    assert ends
    for way, why in ends:
        assert not why
        assert way[-1][0] < back - 100
        assert (
            any(abs(x - back) < 1 and y > reach(stone, 1)[1] for x, y in way)
            or min(y for x, y in way if x > back) > reach(stone, 1)[1]
        )


def test_barrier_board_and_cover_are_ordered_where_they_are_drawn():
    """A board that no step sets is left to whoever finds the hole."""
    for level, wall, position, sheathing, frame in LEAVES:
        numbers = ladder_numbers(level, wall, position=position, sheathing=sheathing, frame=frame)
        behind = wall == "masonry veneer" and position == BOARDS
        try:
            drawn = [layers_of(key, numbers) for key in ("jamb", "head")]
            outside = layers_of("sill", numbers)
        except NotDrawnError:
            continue
        told = [step.text.lower() for step in steps_of(numbers)]
        for layers in drawn:
            assert ("reveal board" in layers) is behind
            if behind:
                assert layers["reveal board"].rows == ("reveal_board",)
        assert ("cover" in outside) is behind
        places = [
            [place for place, text in enumerate(told) if word in text]
            for word in (
                "barriers the fire rules ask for, one along both jambs",
                "build the outer leaf up: sill",
                "reveal board",
                "with the metal cover",
            )
        ]
        assert [len(one) for one in places] == [int(behind)] * 4, (wall, position, told)
        if behind:
            assert places == sorted(places)  # barrier, leaf with its courses, then board and cover
            added = [part for step in steps_of(numbers) for part in step.adds]
            assert added.index("barriers") < added.index("leaf") < added.index("reveal boards")
            assert any(
                "board, foot open" in [one.name for one in one.names]
                for one in frames_of(steps_of(numbers), numbers)
            )


def test_the_reveal_board_meets_leaf_and_frame():
    for frame in FRAMES:
        for key in ("jamb", "head"):
            layers = layers_of(key, ladder_numbers(2, "masonry veneer", frame=frame))
            board, window = Polygon(layers["reveal board"].outline), Polygon(layers["frame"].outline)
            leaf = Polygon(layers["cladding" if key == "jamb" else "leaf lintel"].outline)
            assert board.distance(leaf) < 1e-6 > board.distance(window)
            assert board.distance(Polygon(layers["closer"].outline)) < 2  # course between, at the jamb


@pytest.mark.parametrize(
    ("position", "frame"),
    [("over the cavity", "box frame with straps"), ("in the masonry cavity", "set back in masonry")],
)
@pytest.mark.parametrize(("cavity", "gap"), [(50, 0), (75, 17), (100, 42)])
def test_a_frame_too_shallow_for_a_deep_cavity_is_told(position, frame, cavity, gap):
    """By hand: it must reach 12 mm behind the boards' face, so 58 of its 70 mm stand before it: 75 - 58 = 17."""
    numbers = ladder_numbers(2, "masonry veneer", position=position, frame=frame, cav_mas=cavity)
    found = [one for one in section_of(junction("jamb"), numbers).conflicts if "dpc_jamb" in one.rows]
    assert [f"{gap} mm behind the leaf" in one.words for one in found] == ([True] if gap else [])
