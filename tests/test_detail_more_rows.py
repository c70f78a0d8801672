"""Rows on what hurts when it is forgotten: base, top, metals, cables, decks, boxes, snow, gaps, damp frames."""

import pytest
from test_detail_ladder import ROWS, exposure_of, pressure_of

from exposure.checks import RefusalError
from exposure.detail import Circumstances, detail_schedule
from exposure.detail.inside_climate import OutsideMonths
from exposure.detail.rule_file import local_rules
from exposure.detail.snow import why_snow_may_lie

ALWAYS = (  # of a timber house with boards, whatever its exposure
    "metal_timber", "plate_seal", "dry_frame", "dry_board", "staple_live", "mem_foot", "mem_top", "ocorner", "wash",
    "box_flash", "block_fix", "clad_nail", "nail_deep", "fix_holes", "fix_metal", "cut_ends", "extractives", "floor_gap",
)  # fmt: skip
DECKED = {
    "deck_fall",
    "deck_flood",
    "deck_slats",
    "deck_slats_down",
    "ledger_seal",
    "ledger_flash",
    "ledger_block",
    "ledger_leaf",
}


def lines_of(spell=45.0, push=100.0, **told):
    schedule = detail_schedule(exposure_of(spell), pressure_of(push), Circumstances(**told))
    return {line.key: line for line in schedule.floor or schedule.lines}


@pytest.mark.parametrize(("spell", "push"), [(10.0, 50.0), (140.0, 400.0)])
def test_a_timber_house_has_them_with_reason_and_source(spell, push):
    lines = lines_of(spell, push)
    for key in ALWAYS:
        line = lines[key]
        assert line.why
        assert line.source
        assert len(line.build.split()) <= 24, line.build  # one act, short enough to say aloud
        assert line.build.rstrip(".").count(". ") == 0, line.build


@pytest.mark.parametrize(
    ("told", "there"),
    [  # what stands beside the wall, as the questions name it
        ({}, set()),
        ({"deck": "enclosed at the first floor"}, {"deck_fall", "deck_flood"}),
        (
            {"deck": "open slats near the ground"},
            {"deck_slats", "deck_slats_down", "ledger_seal", "ledger_flash", "ledger_block"},
        ),
        (
            {"deck": "slatted or roofed over, above the ground"},
            {"deck_slats", "deck_fall", "ledger_seal", "ledger_flash", "ledger_block"},
        ),
    ],
)
def test_deck_rows_follow_the_deck(told, there):
    assert DECKED & lines_of(**told).keys() == there


@pytest.mark.parametrize(("spell", "carried"), [(10.0, False), (140.0, True)])
def test_a_window_is_carried_over_the_cavity_only_where_it_stands_before_the_framing(spell, carried):
    """By hand: 50 mm behind the face of 20 mm of render board and a cavity of 25 mm it stands 5 mm inboard; with 50 mm, 20 mm outboard."""
    told = {
        "wall_type": "rendered board",
        "window_position": "over the cavity",
        "frame_type": "box frame with straps",
    }
    schedule = detail_schedule(exposure_of(spell), pressure_of(400.0), Circumstances(**told))
    lines = {line.key: line for line in schedule.lines}
    assert lines["reveal"].value == "50 mm back, or a rebate"
    assert lines["cav_render"].value == (50 if carried else 25)
    assert ("sill_support" in lines) is carried
    assert any("sill support" in step.text for step in schedule.steps) is carried


@pytest.mark.parametrize("wall", ["masonry veneer", "cavity masonry"])
def test_no_deck_hangs_on_a_leaf(wall):
    lines = lines_of(wall_type=wall, deck="slatted or roofed over, above the ground")
    assert DECKED & lines.keys() == {
        "deck_slats",
        "deck_fall",
        "ledger_leaf",
    }  # nothing to seal or flash behind a leaf


def test_only_where_it_applies():
    masonry = lines_of(wall_type="cavity masonry")
    assert not set(ALWAYS) & masonry.keys()
    assert "leaf_gap" in lines_of(wall_type="masonry veneer")
    assert "floor_gap" not in lines_of(storeys=1)  # one storey has no floor line
    assert "mesh" not in lines_of(10.0, 50.0)  # boards straight to the wall: no cavity
    assert "mesh" in lines_of(70.0, 50.0)


def test_snow_on_a_deck_alone_speaks_of_the_decks_membrane_where_it_is_closed():
    slats = lines_of(snow_depth=400.0, deck="slatted or roofed over, above the ground")["snow_roof"].build
    assert slats.startswith("Where the deck is closed and snow lies on it")
    assert "the deck's membrane up the wall" in slats
    assert "roof" not in slats
    below = lines_of(snow_depth=400.0, roof_below="flatter than 10 degrees")["snow_roof"].build
    assert "the membrane of roof or deck" in below


def test_snow_is_asked_and_raises_the_base():
    assert "snow_ask" in lines_of()
    assert "snow_ask" not in lines_of(rooms="neither, a mild climate")
    # by hand: level 2 asks 175 of soil and 100 of paving, 100 over the snow; 40 mm of snow raise the paving alone, 400 mm both
    for depth, soil, paved in ((0.0, 175, 100), (40.0, 175, 140), (400.0, 500, 500)):
        lines = lines_of(snow_depth=depth)
        assert (lines["gnd"].value, lines["paved"].value) == (soil, paved)
        assert "snow_ask" not in lines
        assert ("snow_open" in lines) == (depth > 0)
    assert lines["gnd"].decided_by == "this wall"
    assert "400\u00a0mm deep, and 100\u00a0mm over it" in lines["gnd"].why
    assert "Depth of snow as told" in lines["gnd"].source
    assert "IRC" not in lines["gnd"].source
    assert lines_of(wall_type="cavity masonry", snow_depth=400.0)["snow_open"].value == 500


def test_below_the_cladding_that_starts_above_the_snow_is_no_bare_frame():
    lines = lines_of(snow_depth=800.0)
    assert (lines["gnd"].value, lines["low_timber"].value) == (900, 150)  # framing starts lower
    assert "base sheet" in lines["snow_base"].build
    assert "base sheet below it" in lines["plate_lap"].build
    assert "snow_base" not in lines_of()
    assert "snow_roof" not in lines
    over = lines_of(snow_depth=800.0, roof_below="pitched at 10 degrees or more")
    assert over["snow_roof"].value == 900
    assert "drift" in over["snow_roof"].caution
    assert "over roofs and decks" in lines_of()["snow_ask"].build


def test_a_masonry_leaf_holds_its_own_boxes_and_trays():
    for wall in ("masonry veneer", "cavity masonry"):
        lines = lines_of(wall_type=wall, roof_below="pitched at 10 degrees or more")
        assert "cavity tray" in lines["box_tray"].build
        assert "to the leaf alone" in lines["leaf_fix"].build
        assert "stepped with the slope" in lines["step_tray"].build
        for level in ({"roof_below": "flatter than 10 degrees"}, {"deck": "enclosed at the first floor"}):
            flat = lines_of(wall_type=wall, **level)["step_tray"].build
            assert "slope" not in flat
            assert "level all along" in flat
        assert not {"box_flash", "block_fix"} & lines.keys()
    assert "step_tray" not in lines_of(wall_type="masonry veneer")


def test_the_upper_vents_of_a_leaf_have_their_course_without_a_cap_too():
    """A gable house has eaves and verges, and no parapet: its leaf ends at a soffit."""
    vents = ROWS["weep_top"]
    assert "below soffit or edge of a cap" in vents.build[0]


def test_under_a_parapet_the_cavity_ends_at_the_cap():
    for spell, word in ((70.0, "Close"), (140.0, "Vent")):
        lines = lines_of(spell, parapet=True)
        assert "cav_top" not in lines
        assert lines["cav_top_cap"].build.startswith(word)
        assert "roof space" not in lines["cav_top_cap"].build


@pytest.mark.parametrize(
    ("spell", "push", "back", "by_rod"),
    [(10.0, 50.0, 15, False), (45.0, 50.0, 25, True), (10.0, 150.0, 25, False)],
)
def test_a_backing_rod_has_an_upstand(spell, push, back, by_rod):
    # rod and sealant of 18 mm beside a frame on 8 mm are asked from level 2 of either axis on; seal tested, so no gust counts
    lines = lines_of(spell, push, air_seal_tested=True)
    assert lines["back_dam"].value == back
    assert ("backing rod" in lines["back_dam"].why) == by_rod


@pytest.mark.parametrize("rule", sorted(local_rules()))
def test_a_code_never_brings_the_base_below_the_snow(rule):
    for depth in (50.0, 300.0, 600.0):
        lines = lines_of(snow_depth=depth, local_rules=(rule,))
        assert lines["gnd"].value >= depth + 100


@pytest.mark.parametrize(
    ("fixing", "wall", "there"),
    [  # each way of fixing has its own order, and no other's
        ("not said", "timber frame with cladding", {"clad_nail", "nail_deep", "fix_metal", "fix_holes"}),
        ("boards nailed through the face", "timber frame with cladding", {"clad_nail", "nail_deep", "fix_metal", "fix_holes"}),
        ("boards screwed through the face", "timber frame with cladding", {"clad_screw", "fix_metal", "fix_holes"}),
        ("boards on hidden nails or clips", "timber frame with cladding", {"clad_hidden", "fix_metal", "fix_holes"}),
        ("not said", "rendered board", {"clad_carrier", "fix_holes"}),
        ("leaf on ties", "masonry veneer", {"leaf_ties", "tie_holes"}),
        ("not said", "cavity masonry", {"leaf_ties"}),
    ],
)  # fmt: skip
def test_rows_on_fixings_follow_what_holds_the_cladding(fixing, wall, there):
    lines = lines_of(cladding_fixing=fixing, wall_type=wall)
    own = {row.key for row in ROWS.values() if row.where == "Fixing of the cladding"}
    assert own & lines.keys() == there | {
        "fix_wind"
    }  # strength against wind is the maker's, whatever the wall


@pytest.mark.parametrize(
    ("fixing", "wall"),
    [
        ("leaf on ties", "timber frame with cladding"),
        ("boards nailed through the face", "masonry veneer"),
        ("boards on hidden nails or clips", "rendered board"),
    ],
)
def test_a_fixing_that_does_not_go_with_the_wall_is_refused(fixing, wall):
    with pytest.raises(RefusalError, match="cladding_fixing"):
        Circumstances(cladding_fixing=fixing, wall_type=wall)


def test_a_door_to_a_deck_has_its_own_line_on_snow():
    deck = "enclosed at the first floor"
    assert "deck_snow" in lines_of(snow_depth=300.0, deck=deck)
    assert "deck_snow" not in lines_of(snow_depth=300.0) | lines_of(deck=deck) | lines_of(
        snow_depth=0.0, deck=deck
    )
    lines = lines_of(snow_depth=300.0, deck=deck)
    assert "doors to the ground" in lines["snow_open"].build  # 400 mm; the step at the deck stays 100 mm
    assert (lines["snow_open"].value, lines["deck_step"].value) == (400, 100)


@pytest.mark.parametrize(
    ("coldest", "ground", "why"),
    [  # our limits: freezing in the coldest month, or 500 m where it is below 5 degC or not known
        (-4.0, 10.0, "−4 °C"), (0.4, 900.0, "900 m"), (0.4, 100.0, ""), (6.0, 900.0, ""), (None, 500.0, "500 m"), (None, None, ""),
        (None, 499.0, ""),
    ],
)  # fmt: skip
def test_where_snow_may_lie_and_nobody_told(coldest, ground, why):
    months = None if coldest is None else OutsideMonths((coldest, *[12.0] * 11), (600.0,) * 12, 3000.0)
    said = why_snow_may_lie(months, ground)
    assert why in said
    assert bool(said) == bool(why)


def test_tape_follows_its_maker():
    # a tape made for cold may be used in the cold; the figure of 5 degrees is for makers that give none
    assert lines_of()["tape_temp"].build.startswith("Tape only within the maker")
    assert "where he gives none" in ROWS["tape_temp"].build[0]


def test_dry_is_a_number_with_its_meter():
    lines = lines_of()
    assert "pin meter set for its species" in lines["dry_frame"].build
    assert "20\u00a0%" in lines["dry_frame"].build  # as the first step writes down
    assert "scale for boards" in lines["dry_board"].build


def test_a_base_closer_is_as_deep_as_the_cavity_of_its_own_wall():
    """Where 50 mm of cavity meet 10 mm at a corner neither depth holds for both; a wall of 50 mm splits its cavity there."""
    for spell, depth, split in (
        (140.0, 50, "split and sealed top to bottom"),
        (45.0, 10, "split only where the other wall asks it"),
    ):
        found = lines_of(spell, 50.0)
        assert (found["cav_depth"].value, found["cav_corner"].value) == (depth, split)
        for roof in ("none", "flatter than 10 degrees"):
            over = lines_of(spell, 50.0, roof_below=roof)["slot"].build
            assert "as deep as its own wall's cavity" in over
            assert "split at a corner it runs to the batten there" in over
            assert ("same closer ends a cavity over a roof" in over) is (roof != "none")


def test_a_membrane_under_a_cap_is_one_made_for_the_daylight_below_it():
    """It laps that of the roof by more than the cap comes down over it, at every level and on every wall."""
    for wall in ("timber frame with cladding", "masonry veneer", "cavity masonry", "rendered board"):
        for spell, push in ((10.0, 50.0), (140.0, 400.0)):
            found = lines_of(spell, push, wall_type=wall, parapet=True)
            assert "shows below it on the roof side: take one made to stay bare" in found["cap_under"].caution
            lap = found["lap_h"].value if "lap_h" in found else 75
            assert lap > found["cap_cover"].value or wall == "cavity masonry"


def test_what_carries_a_closed_deck_is_its_designers_and_no_anchor_leaks():
    for wall in ("timber frame with cladding", "cavity masonry"):
        told = {"wall_type": wall, "deck": "enclosed at the first floor"}
        words = lines_of(**told)["deck_flood"].build
        assert "what carries it is its designer's, each anchor through a membrane sealed" in words
        steps = detail_schedule(exposure_of(45.0), pressure_of(100.0), Circumstances(**told)).steps
        hung = [step.text for step in steps if "deck is closed hang a sheet" in step.text]
        assert len(hung) == (wall == "timber frame with cladding")
        assert all("seal each anchor of the deck through it" in one for one in hung)


def test_cladding_stops_above_a_saddle_beside_a_roof_or_deck_too():
    for there in ({"roof_below": "flatter than 10 degrees"}, {"deck": "enclosed at the first floor"}, {}):
        for parapet in (True, False):
            found = lines_of(**there, parapet=parapet)
            assert ("roof_gap" in found) is (parapet or bool(there))
            if "roof_gap" in found:
                assert ("saddle of a parapet" in found["roof_gap"].build) is parapet


@pytest.mark.parametrize(
    "wall", ["timber frame with cladding", "rendered board", "masonry veneer", "cavity masonry"]
)
@pytest.mark.parametrize(
    "threshold", ["not said", "a step at every door", "level at one door at least", "level at every door"]
)
@pytest.mark.parametrize("snow", [None, 300.0])
def test_of_the_tray_of_a_window_a_door_is_spared_the_height_of_its_back_alone(wall, threshold, snow):
    """Its ends stand at a door too, as the drawing of the threshold has them."""
    caution = lines_of(wall_type=wall, threshold=threshold, snow_depth=snow)["door_sill"].caution
    assert caution.startswith("The height of the window tray's back is not for doors.")
    assert "heights of the window tray" not in caution
