"""Keep, clad over or strip a standing wall: what was found decides, upper lies over lower, damp closes nothing in."""

import itertools
import re

import pytest
from test_detail_ladder import WALLS, exposure_of, pressure_of

from exposure.detail import Circumstances, detail_schedule
from exposure.detail.retrofit import DAMP, NOT_OPENED, SOFT, SOUND
from exposure.doubts import has_doubt

FIRM = ("timber frame with cladding", "sheathed", "at the sheathing")


def schedule_of(spell=45.0, push=150.0, **fields):
    return detail_schedule(
        exposure_of(spell), pressure_of(push), Circumstances(work="standing wall", **fields)
    )


def paths_of(**fields):
    return {path.key: path for path in schedule_of(**fields).retrofit}


def test_new_work_has_no_such_path():
    assert detail_schedule(exposure_of(45.0), pressure_of(150.0), Circumstances()).retrofit == ()


@pytest.mark.parametrize(
    ("opened", "keep", "strip"),
    [  # by hand: an unopened wall promises nothing, wet wood is not shut in, soft wood is not kept
        (NOT_OPENED, "Not known before", "reckon with it"),
        (SOUND, "Open", "nothing found so far asks it"),
        (DAMP, "Only after", "Open"),
        (SOFT, "Ruled out", "This is the way"),
    ],
)
def test_what_opening_showed_decides(opened, keep, strip):
    found = paths_of(opened=opened)
    assert found["keep"].verdict.startswith(keep)
    assert strip in found["strip"].verdict
    assert has_doubt(schedule_of(opened=opened).flags, "detail.wall_not_opened") == (opened == NOT_OPENED)


def test_a_wet_frame_outweighs_a_sound_opening():
    assert paths_of(opened=SOUND, frame_wet=True)["overclad"].verdict.startswith("Only after")
    assert paths_of(opened=SOUND, bare_limit_passed=True)["keep"].verdict.startswith("Ruled out")


def test_a_wet_elevation_is_not_kept_without_its_cavity():
    # wetness 3 asks 20 mm of cavity, wetness 2 asks 10 and leaves lapped boards to be kept
    said = {
        spell: " ".join(step.text for step in paths_of(spell=spell)["keep"].steps) for spell in (45.0, 70.0)
    }
    assert "a cavity of 20\u00a0mm" in said[70.0]
    assert "cavity of" not in said[45.0]


@pytest.mark.parametrize("opened", [NOT_OPENED, SOFT])
@pytest.mark.parametrize("wall", WALLS, ids=str)
def test_figures_are_those_of_the_lines_and_upper_lies_over_lower(wall, opened):
    kind, sheathing, window = wall
    schedule = schedule_of(
        70.0, 250.0, wall_type=kind, sheathing=sheathing, window_position=window, opened=opened
    )
    lines = {line.key: line for line in schedule.lines}
    meet = {path.key: path for path in schedule.retrofit}.get("meet")
    assert (meet is None) == (kind == "cavity masonry")  # no membrane there
    if meet is None:
        return
    top, foot = meet.steps[0].text, meet.steps[1].text
    assert re.search(r"tuck the new sheet at least ([\d,]+)\u00a0mm up under the old", top).group(1) == "150"
    assert "new over old by at least 150\u00a0mm" in foot
    assert lines["lap_h"].value == 150
    assert (
        f"at least {lines['lap_v'].value:g}\u00a0mm, the joint taped" in foot
    )  # on boards, ordered or there
    if sheathing == "open studs":
        bare = schedule_of(
            10.0, 50.0, wall_type=kind, sheathing=sheathing, window_position=window, opened=opened
        )
        (meet,) = [path for path in bare.retrofit if path.key == "meet"]
        assert "at least 155\u00a0mm, over a stud, the joint taped" in meet.steps[1].text


def test_nothing_tight_or_wet_is_clad_over():
    for kind, spell in itertools.product({wall[0] for wall in WALLS}, (10.0, 140.0)):
        said = " ".join(step.text for step in paths_of(wall_type=kind, spell=spell)["overclad"].steps)
        assert "where water still comes in" in said
        assert "fire rules" in said
        assert ("tight to vapour" in said) == (kind != "cavity masonry")
