"""Lines and steps of one sheet agree: no two orders for one job, no step that contradicts a line.

The pairs that must agree are listed here, each with the reason; random houses look for one that breaks a pair.
"""

import re
from contextlib import suppress
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_detail_ladder import CHOICES, FRAMED_WALLS, circumstances, exposure_of, pressure_of

from exposure.checks import RefusalError
from exposure.detail import Circumstances, detail_schedule
from exposure.detail.beside import CLAD
from exposure.detail.ladder import ladder_rows
from exposure.detail.order import window_sequence
from exposure.detail.rule_file import local_rules
from exposure.doubts import has_doubt
from exposure.junction.head import head
from exposure.junction.numbers import numbers_of
from exposure.junction.window import NotDrawnError
from exposure.tables import load_table

DOOR = r"(?<!out of )\b(doors?|thresholds?)\b"
FRAMED = ("timber frame with cladding", "masonry veneer", "rendered board")
ONE_OF = [  # two orders for one job; of each group at most one stands on a sheet
    ("reveal", "reveal_face", "reveal_leaf"),
    ("step_h", "step_flat"),
    ("cav_vent", "cav_vent_mas"),
    ("head_form", "head_tray_mas"),
    ("cav_depth", "cav_render", "cav_mas"),
    ("cav_top", "cav_top_cap"),
    ("box_flash", "box_tray"),
    ("block_fix", "leaf_fix"),
    ("snow_ask", "snow_base"),
    ("snow_ask", "snow_open"),
    ("fix_flange", "fix_over", "fix_box", "fix_set_back"),
    ("clad_nail", "clad_screw", "clad_hidden", "clad_carrier", "leaf_ties"),
]


def lines_and_steps(mine, spell, push):
    schedule = detail_schedule(exposure_of(spell), pressure_of(push), mine)
    return {line.key: line for line in schedule.floor or schedule.lines}, [
        f"{step.text} {step.hold}".strip() for step in schedule.steps
    ]


def disagreements(mine, lines, steps):
    """Pairs that do not agree, in words."""
    said = " ".join(steps)
    sequence = window_sequence(mine)
    found = [f"{group} together" for group in ONE_OF if len(set(group) & lines.keys()) > 1]

    def clash(words, broken):
        if broken:
            found.append(words)

    if steps:
        # battens are set where the schedule has battens, and nowhere else
        clash("battens", ("then battens" in said) != ("batten_sp" in lines))
        # what is sealed to the window comes once the window stands, and a flange is never told to lie on a flashing
        to_window = [place for place, step in enumerate(steps) if "sealed to the window" in step]
        stands = [place for place, step in enumerate(steps) if step.startswith("Set the window")]
        clash("sealed before the window", any(place < stands[0] for place in to_window))
        clash("flange on a flashing", "cladding at jambs and head" in said)
        # each kind of frame has its own order of fixing
        clash("no fixing", not {"fix_flange", "fix_over", "fix_box", "fix_set_back"} & lines.keys())
        # a frame behind the cladding has no flange over it
        clash("flange", "flange laps the cladding" in said and "reveal" in lines)
        # a step speaks of a flange only where the frame has one, of straps only where it is a box frame
        clash("flange of a box", "flange" in said and mine.frame != "nailing flange")
        own = [
            step for step in steps if "the frame is a box, with no flange" in step
        ]  # a deck's door, not a window
        clash("door to a deck", bool(own) != ("deck_frame" in lines and mine.frame == "nailing flange"))
        of_windows = " ".join(step for step in steps if step not in own)
        by_straps = "straps on the room side" in of_windows  # others hold a film back
        clash("straps", by_straps != ("fix_box" in lines and "masonry cavity" not in sequence))
        clash("frame fixed", "fix_flange" in lines and by_straps)
        # a line on the flange or its jamb tells what the steps do
        clash("frame side", ("from the side of the frame" in said) != ("box_tape" in lines))
        clash("jamb cover", ("trim" in of_windows) != ("jamb_cover" in lines and "fix_box" in lines))
        for value in re.findall(r"(?:with a trim, |jambs and head by )([\d,]+)\u00a0mm", said):
            clash(f"cover {value}", float(value) != lines["jamb_cover"].value)
        # at the lowest wetness the tray has corner pieces, so it is cut there
        clash("corner cut", "No cut at the corner" in said)
        # opening lined on sill, jambs and head: no step may line less of it
        clash("opening", "open_tape" in lines and bool(re.search(r"tape sill and jambs of", said)))
        # where every lap is taped the edge that drains stays open
        every_lap = "seam_tape" in lines and lines["seam_tape"].build.startswith("Tape every lap")
        clash(
            "taped edge", every_lap and "lower edges over flashings left open" not in lines["seam_tape"].build
        )
        # layers over open studs are as many in the step as in the line
        layers = re.search(r"uncut, (\d+)", said)
        boarded = "mem_class" in lines and "rigid boards" in lines["mem_class"].build
        clash("layers on boards", boarded and "stud_layers" in lines)
        clash("layers", layers is not None and int(layers.group(1)) != lines["stud_layers"].value)
        # bare studs: upright joints over one, and something solid behind what is taped; a membrane hides them, so they are marked
        over = "lap_v" in lines and "over a stud" in lines["lap_v"].build
        clash("joints over studs", over != ("over a stud," in said))
        clash("backing", ("stud_layers" in lines) != ("blocking behind every edge that tape" in said))
        clash("stud lines", ("lap_v" in lines) != ("the stud lines marked" in said))
        # heights in the step are those of the lines
        for words, key in (("back upstand", "back_dam"), ("ends", "end_dam"), ("weep holes", "weep_sp")):
            for value in re.findall(rf"{words} ([\d,]+)\u00a0mm", said):
                clash(f"{words} {value}", float(value.replace(",", "")) != lines[key].value)
    # weep holes are the openings of a masonry leaf: what they give is what is asked of the base
    if "weep_sp" in lines:
        clash("weeps", "cav_vent" in lines)
        least = 650 / lines["weep_sp"].value * 1000  # mm2 a metre, of open joints of 650 mm2
        clash("weep area", mine.local_rules == () and lines["cav_vent_mas"].value > least)
    # ends of a head flashing reach the face of the cladding and go no farther, whoever says so
    if "head_ends" in lines:
        clash(
            "ends of the flashing",
            "out to the face of the cladding and no farther" not in lines["head_ends"].build,
        )
    # a door to a deck keeps its step; what snow asks of doors is said of those to the ground
    has_door = mine.threshold != "no door on this wall"
    clash(
        "door in snow", bool(mine.snow_depth) and ("deck_snow" in lines) != (mine.deck != "none" and has_door)
    )
    # nothing is said of a door to a wall that has none
    told = [line for line in lines.values() if re.search(DOOR, f"{line.build} {line.caution}")]
    clash("a door that is none", not has_door and bool(told))
    # the front of a threshold's tray ends above the deck, and above what drains before a level sill, in its whole length
    if "deck_step" in lines:
        clash(
            "tray in the deck", lines["deck_step"].value < getattr(lines.get("tray_down"), "value", 50) + 50
        )
        drained = "the metal sill" if "masonry" in mine.wall_type else "10 mm under the front of the tray"
        clash("tray in the channel", drained not in lines["deck_step"].build)
    # over bare studs all four corners of the opening are taped, on boards the lower ones
    film = mine.sheathing == "open studs" and mine.wall_type != "cavity masonry"
    film = film and "rigid boards" not in lines["mem_class"].build
    turned = re.search(r"stretch tape [\d,]+\u00a0mm each way round (all four|the lower) corners", said)
    clash("corners of the opening", turned is not None and (turned[1] == "all four") != film)
    # a tray that goes down over a membrane drains before it, never onto a sill
    clash("tray onto the sill", "drain onto the sill" in said and "tray_down" in lines)
    # behind a leaf no window waits for the check of another: the leaf is built up round all
    if "chk_first" in lines:
        clash(
            "checked before the leaf",
            ("before the others go in" in lines["chk_first"].build) == ("masonry cavity" in sequence),
        )
    # a slatted deck stops no cladding, which runs down behind it; a leaf carries no spacer; a level sill has its grating
    stops = mine.roof_below != "none" or mine.deck.startswith("enclosed") or mine.run_off_from_above
    stops = stops or mine.roof_meets_wall == "roof or gutter ends inside the wall"
    saddle_alone = mine.parapet and mine.deck in ("none", "open slats near the ground") and not stops
    stops = stops or saddle_alone
    may_be_closed = "roof_gap" in lines and "here the deck is closed" in lines["roof_gap"].build
    clash("cladding stopped over slats", "roof_gap" in lines and stops == may_be_closed)
    # where snow lies what ends at the small gap is the sheet, the cladding higher
    low = "roof_gap" in lines and "stop the cladding" in lines["roof_gap"].build.lower()
    clash("boards in the snow", low and "snow_roof" in lines)
    # what may be a closed deck has the whole of its orders: membrane, fall and cladding that ends above it
    decked = {"deck_up", "deck_fall", *({"roof_gap"} if mine.wall_type in CLAD else set())}
    clash("half a closed deck", "deck_up" in lines and not decked <= lines.keys())
    clash("spacer on a leaf", "ledger_leaf" in lines and "spacer" in lines["deck_slats"].build)
    if "deck_slats_down" in lines and mine.threshold.startswith("level"):
        clash("slats below a level sill", "grating" not in lines["deck_slats_down"].build)
    # a slatted deck has no membrane to dress; saddle and upstand speak of closed decks and parapets
    slatted = mine.deck in CHOICES["deck"][1:3]
    clash("slats", slatted != ("deck_slats" in lines))
    # no cladding stands lower behind the slats than the row of the base allows in snow
    if slatted and mine.snow_depth and mine.wall_type in CLAD:
        clash("cladding in the snow", "base sheet" not in lines["deck_slats"].build)
    clash("saddle", slatted and not mine.parapet and "saddle_up" in lines)
    if "deck_up" in lines:
        clash("deck membrane", not lines["deck_up"].build.startswith("Where the deck is closed"))
    # at a door the deck's membrane lies under the tray, and the sill stays open
    if mine.deck.startswith("enclosed") and has_door:
        order = lines["deck_tray"].build
        clash(
            "sill on the deck",
            ("clear of the cavity" if mine.wall_type == "masonry veneer" else "under the sill tray")
            not in order
            or "no sealant under the sill" not in order,
        )
    # the sheet past a corner has room for the lap of the next one, and the edge of that keeps off the bend
    for key in {"ocorner", "icorner"} & lines.keys():
        clash("lap on the corner", lines[key].value < lines["lap_v"].value + 100)
    # where two walls meet one order holds for both
    for key in {"ocorner", "icorner"} & lines.keys():
        clash("corner of two walls", "harder wall" not in lines[key].build)
    if "cav_corner" in lines and lines["cav_corner"].value != "split and sealed top to bottom":  # the hardest
        clash("cavity at a corner", "where the other wall asks it" not in lines["cav_corner"].build)
    # a cavity is stopped at no floor the house does not have
    stops = {"cav_run", "cav_run_leaf"} & lines.keys()
    clash("no such floor", any(lines[key].value >= mine.storeys for key in stops))
    cavity = "batten_sp" in lines or mine.wall_type == "masonry veneer"
    clash("uninterrupted cavity", cavity and mine.storeys > 2 and not stops)
    # a frame that stands behind the leaf is measured from nothing else, and the step says what the row does
    behind = "masonry cavity" in sequence
    leaf = mine.wall_type not in CLAD
    clash("frame behind the leaf", leaf != ("reveal_leaf" in lines))
    # the course in the jamb laps a frame that stands right behind the leaf; where cavity and barrier part them it goes round
    if leaf:
        laps = "lapped 25 mm into the frame" in lines["dpc_jamb"].build
        clash("course onto the frame", laps != (behind or mine.window_position == "over the cavity"))
    if behind and steps:
        clash("mark of the frame", str(lines["reveal_leaf"].value) not in said)
    # mesh takes from a weep hole: spacing is the most, and the openings of the base decide
    if "weep_sp" in lines and steps:
        clash("weep holes alone", "apart or closer" not in said)
        clash(
            "openings of the base",
            "until they give it, mesh or insert counted" not in lines["cav_vent_mas"].build,
        )
    # the tray is laid before the sill support, which no screw may take through it
    if "sill_support" in lines:
        clash(
            "support through the tray", "below the edge of the sill tray" not in lines["sill_support"].build
        )
        clash("screw through the tray", bool(steps) and "no screw through the tray" not in said)
    # where a rate is asked the spray is measured, and the other way round
    clash("measured", ("chk_rate" in lines) == ("if you like" in str(lines["chk_type"].value)))
    clash("unmeasured", str(lines["chk_type"].value) == "soft spray")
    # the inner seal is joined once
    clash("joined twice", any(step.count("joined to") + step.count("right to") > 1 for step in steps))
    # a saddle stands on a membrane, as drawn
    clash(
        "saddle membrane", "saddle_up" in lines and "on a strip of membrane" not in lines["saddle_up"].build
    )
    # a roof against the wall is flashed, the flat one deeper
    clash("roof", mine.roof_below != "none" and not {"step_h", "step_flat"} & lines.keys())
    if "step_flat" in lines:
        clash("flat roof", lines["step_flat"].value < 150)
    # the tray of a window is no threshold
    clash("door", not lines["back_dam"].build.startswith("At windows") or ("door_sill" in lines) != has_door)
    # cladding that starts above the snow leaves no bare frame below it, at the base and over a roof
    if "gnd" in lines and mine.snow_depth:
        clash("snow base", "snow_base" not in lines)
        clash("clear of the snow", lines["gnd"].value < mine.snow_depth + 100)
        clash("snow on a roof", ("roof_gap" in lines and not saddle_alone) != ("snow_roof" in lines))
    # a backing rod has an upstand to be sealed against
    rod = lines["air_seal"].build.find("backing rod") >= 0
    clash("rod", rod and lines["back_dam"].value < 18)
    # a leaf has trays over a roof, and holds its boxes and taps itself
    if "weep_sp" in lines:
        roofed = {"step_h", "step_flat", "deck_up"} & lines.keys()
        clash("leaf over a roof", bool(roofed) and "step_tray" not in lines)
        clash("leaf and block", bool({"box_flash", "block_fix"} & lines.keys()))
    # a leaf of masonry alone has no membrane to go behind
    if mine.wall_type == "cavity masonry":
        behind = [line.build for line in lines.values() if "behind the membrane" in line.build]
        clash("membrane of a leaf", any("in a leaf under its trays" not in build for build in behind))
    # a flange that the sheet laps from above is not taped over its top
    lapped = "pen_form" in lines and "lapped from above" in lines["pen_form"].build
    clash("flange of a pipe", lapped and "lapped by the sheet above" not in lines["pen_tape"].build)
    # no pressure is spoken of in a check without one
    if steps and "chamber" not in lines["chk_type"].value:
        clash("check without pressure", "Write down time, pressure" in " ".join(steps))
    # trays that are lower because the inner seal is tested come with the order to test it
    clash("seal untested", mine.air_seal_tested and "smoke" not in lines)
    # the first window is checked before the others are in, so its seal is looked over; smoke comes when all are in, doors too
    if "smoke" in lines:
        search = lines["smoke"].build
        filled = "Once every opening of the house is filled" in search
        clash("smoke too early", not filled or "after the first" not in search)
    late = "smoke has been run along it, once every opening is filled|dry and smoke has been run,"
    early = "smoke" in re.sub(late, "", said)
    clash("smoke before all are in", "smoke" in lines["air_seal"].build or early)
    # a tray that counts on a tested seal: each window's is tested, nothing covers it before, and nothing lowers it again
    tested = mine.air_seal_tested
    if steps:
        clash(
            "seal covered", ("smoke" in lines) != ("Line nothing over it before smoke has been run" in said)
        )
        # what a step sets or holds a photo of, a row orders
        clash("sill support", ("sill support" in said) != ("sill_support" in lines))
        clash("brackets", ("brackets to the inner leaf" in said) != (mine.wall_type == "cavity masonry"))
        clash("brackets of a row", ("sill_bracket" in lines) != (mine.wall_type == "cavity masonry"))
        clash("upper vents", ("At the top of the leaf" in said) != ("weep_top" in lines))
        # jambs and head are taped onto the membrane where the window stands at the boards; else the opening is lined alone
        taped = bool(re.search(r"Tape the jambs.* wide", said))
        told = "tape_w" in lines and lines["tape_w"].build.startswith("Use tape")
        clash("jamb tape", taped != told)
        clash("closer", ("vermin closer" in said) != ("head_closer" in lines))
        # a door has no upstand of a window
        instead = "(at a door within the floor instead)" in said
        clash("upstand of a door", instead != ("back upstand" in said and has_door))
    if tested and "smoke" in lines:
        clash("seal of one window", "the inner seal of every opening" not in lines["smoke"].build)
    clash("lowered twice", tested == ("which lowers it" in lines["back_dam"].caution))
    # as many photos as hold points ask
    clash("photos", lines["photo"].value < sum("Photograph" in step for step in steps))
    # where no opening has to be sprayed no step holds for a spray, and where one has to none is left to the reader's wish
    if steps:
        clash("spray held", ("chk_min" in lines) != ("Write down time, " in said))
        clash("spray wished", ("chk_min" in lines) == ("; a soft spray from a hose helps" in said))
    clash("spray asked", ("chk_min" in lines) == ("if you like" in str(lines["chk_type"].value)))
    # what is turned up a leaf has its tray, over a saddle too; trays step with a slope where there is one
    clash(
        "saddle without a tray",
        "saddle_up" in lines and "step_tray" not in lines and mine.wall_type not in CLAD,
    )
    if "step_tray" in lines:
        clash(
            "tray on a flat roof",
            ("stepped with the slope" in lines["step_tray"].build) != ("step_h" in lines),
        )
    # a level threshold has its channel, and no caution speaks of one where every door has a step
    step = "a step at every door"
    clash("channel", ("door_level" in lines) != mine.threshold.startswith("level"))
    clash("level or step", mine.threshold == step and "level threshold" in lines["door_sill"].caution)
    # a sill above the snow is reached over something that snow does not lie on
    stepped = has_door and mine.threshold != "level at every door"
    clash("landing in snow", ("door_snow" in lines) != bool(mine.snow_depth and stepped))
    # nor can it stand above the snow: one line says which of both counts
    if mine.snow_depth and has_door and mine.threshold != step:
        counts = lines.get("door_level", lines["door_sill"]).caution
        clash("level threshold in snow", "at such a door this counts" not in counts)
        clash("sill of a level threshold", "but for level thresholds" not in lines["snow_open"].build)
    # a back upstand holds the head of water and the splash that its reason tells
    for water in re.findall(r"in a gust [^,]*, ([\d,]+)\u00a0mm, and 5", lines["back_dam"].why):
        clash("splash", lines["back_dam"].value < float(water.replace(",", "")) + 5)
    leaf = mine.wall_type in ("masonry veneer", "cavity masonry")
    # a rule that wants a cavity vented low and high has both rows, and no row without such a rule; spacing as the rule says
    irish = leaf and "ireland" in mine.local_rules
    clash("vented high", irish != ("weep_top" in lines) or (irish and lines["weep_top"].value != 1500))
    clash("vented low", irish and lines["weep_sp"].value > 1500)
    # mesh takes from what a weep hole opens, and the line that asks the area says so
    if "cav_vent_mas" in lines and "mesh" in lines:
        clash("mesh in weep holes", "mesh" not in lines["cav_vent_mas"].build)
    # a leaf of mortar keeps light metals off it
    clash("mortar", ("weep_sp" in lines) != ("metal_mortar" in lines))
    # no tray drains onto a sill that is set later
    clash("sill too early", "drained onto the sill" in said)
    # snow over a roof or deck: window sills stand above it, and its height goes before a lower upstand
    if "snow_open" in lines:
        clash("sill in snow", "window sills over a roof or deck" not in lines["snow_open"].build)
    if "snow_roof" in lines:
        clash("upstand in snow", "not a smaller gap or upstand" not in lines["snow_roof"].build)
    # a leaf of masonry stands on a damp-proof course clear of splash
    clash("course above ground", leaf != ("dpc_up" in lines) or (leaf and lines["dpc_up"].value < 150))
    # the frame is placed before the leaf stands, so no step measures in a reveal that is not there yet
    clash("reveal too early", "masonry cavity" in sequence and "in the reveal" in said)
    # one word on the room side, for a framed wall
    clash("room side", ("inside_layer" in lines) != (mine.wall_type in FRAMED))
    # rooms that are cooled get no permeance meant for cold climates, unless a code asks it
    asked = "mem_perm" in lines and not lines["mem_perm"].rule
    clash("permeance", asked and "cooled" in mine.rooms and lines["mem_perm"].value > 0.5)
    return found


@settings(max_examples=300, deadline=None)
@given(mine=circumstances, spell=st.floats(0, 250), push=st.floats(0, 450))
def test_no_house_is_told_two_things(mine, spell, push):
    assert disagreements(mine, *lines_and_steps(mine, spell, push)) == []


@settings(max_examples=300, deadline=None)
@given(
    mine=circumstances,
    spell=st.floats(0, 250),
    push=st.floats(0, 450),
    rule=st.sampled_from(sorted(local_rules())),
)
def test_no_house_under_a_code_is_told_two_things(mine, spell, push, rule):
    mine = mine.changed(local_rules=(rule,))
    assert disagreements(mine, *lines_and_steps(mine, spell, push)) == []


@pytest.mark.parametrize("wall", CHOICES["wall_type"])
@pytest.mark.parametrize("rule", ["canada", "new zealand"])
def test_what_a_tested_seal_would_do_is_what_is_asked_once_it_is_tested(rule, wall):
    """By the schedule itself, under the rules that ask a height of the tray's back or ends."""
    mine, told = Circumstances(wall_type=wall, local_rules=(rule,)), 0
    for push in (100.0, 200.0, 250.0, 440.0):
        now, _ = lines_and_steps(mine, 70.0, push)
        tested, _ = lines_and_steps(mine.changed(air_seal_tested=True), 70.0, push)
        for key in ("back_dam", "end_dam"):
            for words in re.findall(r"with one, ([\d,]+)\u00a0mm would do", now[key].why):
                told += 1
                assert float(words.replace(",", "")) == tested[key].value, (key, push)
    assert told


def test_a_broken_pair_is_found():
    mine = Circumstances(parapet=True)
    lines, steps = lines_and_steps(mine, 70.0, 150.0)
    short = {**lines, "ocorner": replace(lines["ocorner"], value=lines["lap_v"].value)}
    assert "lap on the corner" in disagreements(mine, short, steps)
    assert "battens" in disagreements(mine, {k: v for k, v in lines.items() if k != "batten_sp"}, steps)
    assert "opening" in disagreements(mine, lines, [*steps, "Now tape sill and jambs of the opening."])
    assert "back upstand 999" in disagreements(mine, lines, [*steps, "Sill tray: back upstand 999\u00a0mm."])
    snowed = Circumstances(snow_depth=500.0, roof_below="pitched at 10 degrees or more")
    lines, steps = lines_and_steps(snowed, 70.0, 150.0)
    bare = {key: line for key, line in lines.items() if key not in ("snow_base", "snow_roof")}
    assert {"snow base", "snow on a roof"} <= set(disagreements(snowed, bare, steps))
    leaf = Circumstances(wall_type="masonry veneer", roof_below="pitched at 10 degrees or more")
    lines, steps = lines_and_steps(leaf, 70.0, 150.0)
    assert "leaf over a roof" in disagreements(
        leaf, {k: v for k, v in lines.items() if k != "step_tray"}, steps
    )
    railed = leaf.changed(roof_below="none", parapet=True)
    trayed, order = lines_and_steps(railed, 70.0, 150.0)
    assert "runs into the leaf" in trayed["step_tray"].build
    assert "saddle without a tray" in disagreements(
        railed, {k: v for k, v in trayed.items() if k != "step_tray"}, order
    )
    soft, steps = lines_and_steps(Circumstances(), 10.0, 50.0)
    assert "check without pressure" in disagreements(
        Circumstances(), soft, [*steps, "Write down time, pressure."]
    )
    over, early = lines_and_steps(Circumstances(window_position="over the cavity"), 70.0, 400.0)
    sealed = next(step for step in early if "sealed to the window" in step)
    assert "sealed before the window" in disagreements(
        Circumstances(window_position="over the cavity"), over, [sealed, *early]
    )
    assert "course above ground" in disagreements(
        leaf, {k: v for k, v in lines.items() if k != "dpc_up"}, steps
    )
    promised = Circumstances(air_seal_tested=True)
    calm, steps_there = lines_and_steps(promised, 10.0, 50.0)
    assert "smoke" in calm
    assert "seal untested" in disagreements(
        promised, {k: v for k, v in calm.items() if k != "smoke"}, steps_there
    )
    low = {**lines, "back_dam": replace(lines["back_dam"], value=15.0)}
    assert {"rod", "splash"} <= set(disagreements(leaf, low, steps))
    smoked = {**lines, "air_seal": replace(lines["air_seal"], build="Seal it, and check it with smoke.")}
    assert "smoke before all are in" in disagreements(leaf, smoked, steps)
    assert "smoke before all are in" in disagreements(leaf, lines, [*steps, "Seal the gap (smoke-checked)."])
    assert "sill too early" in disagreements(leaf, lines, [*steps, "Lay the tray, drained onto the sill."])
    open_joint = {**lines, "cav_vent_mas": replace(lines["cav_vent_mas"], build="Leave 700 mm2 a metre.")}
    assert "mesh in weep holes" in disagreements(leaf, open_joint, steps)
    assert "mortar" in disagreements(leaf, {k: v for k, v in lines.items() if k != "metal_mortar"}, steps)
    few = {**lines, "photo": replace(lines["photo"], value=1)}
    assert "photos" in disagreements(leaf, few, steps)
    assert "lowered twice" in disagreements(leaf.changed(air_seal_tested=True), lines, steps)
    assert "seal covered" in disagreements(
        leaf, lines, steps
    )  # steps of a house without the search, lines of one with it
    vents = {**lines, "weep_top": lines["weep_sp"]}
    assert {"vented high", "upper vents"} <= set(disagreements(leaf, vents, steps))
    high = leaf.changed(local_rules=("ireland",))
    vented, order = lines_and_steps(high, 70.0, 150.0)
    assert "vented low" in disagreements(
        high, {**vented, "weep_sp": replace(vented["weep_sp"], value=1600)}, order
    )
    assert "jamb tape" in disagreements(
        leaf, lines, [step for step in steps if not step.startswith("Tape the jambs")]
    )
    hung = [*steps, "Fix a sill support.", "Set a vermin closer."]
    assert {"sill support", "closer"} <= set(disagreements(leaf, lines, hung))
    bare = [step.replace(" (at a door within the floor instead)", "") for step in steps]
    assert "upstand of a door" in disagreements(leaf, lines, bare)
    sprayed = {
        **soft,
        "chk_min": lines["chk_min"],
    }  # of an elevation whose steps leave the spray to the reader
    assert {"spray held", "spray wished", "spray asked"} <= set(
        disagreements(Circumstances(), sprayed, steps)
    )
    sloped = {k: v for k, v in lines.items() if k != "step_h"}
    assert "tray on a flat roof" in disagreements(leaf, sloped, steps)
    assert {"level threshold in snow", "sill of a level threshold"} <= set(
        disagreements(
            leaf.changed(snow_depth=500.0),
            {**lines, "snow_open": replace(lines["dpc_up"], build="300 mm")},
            steps,
        )
    )
    tall = Circumstances(storeys=3, cavity_break=True, deck="enclosed at the first floor")
    decked, order = lines_and_steps(tall, 70.0, 150.0)
    sealed = {**decked, "deck_tray": replace(decked["deck_tray"], build="Seal under the sill.")}
    assert "sill on the deck" in disagreements(tall, sealed, order)
    film = Circumstances(sheathing="open studs", window_position="over the cavity", deck=CHOICES["deck"][1])
    bare, turned = lines_and_steps(film, 45.0, 100.0)
    assert "corners of the opening" in disagreements(film.changed(sheathing="sheathed"), bare, turned)
    half = {key: line for key, line in bare.items() if key != "roof_gap"}
    mixed = film.changed(deck=CHOICES["deck"][2])
    ends = {**lines_and_steps(mixed, 45.0, 100.0)[0]}
    assert "half a closed deck" not in disagreements(mixed, ends, turned)
    assert "half a closed deck" in disagreements(mixed, {**half, "deck_up": ends["deck_up"]}, turned)
    slats = {**bare, "roof_gap": decked["roof_gap"]}
    assert "cladding stopped over slats" in disagreements(film, slats, turned)
    white = film.changed(snow_depth=400.0)
    deep = {**lines_and_steps(white, 45.0, 100.0)[0], "deck_slats": bare["deck_slats"]}
    assert "cladding in the snow" in disagreements(white, deep, turned)
    drift = {**ends, "snow_roof": ends["roof_gap"]}
    assert "boards in the snow" in disagreements(mixed, drift, turned)
    level = film.changed(threshold="level at one door at least")
    assert "slats below a level sill" in disagreements(level, bare, turned)
    veneer = Circumstances(
        wall_type="masonry veneer", window_position="in the masonry cavity", deck=CHOICES["deck"][1]
    )
    behind, course = lines_and_steps(veneer, 70.0, 150.0)
    wrong = {**behind, "deck_slats": bare["deck_slats"], "chk_first": lines["chk_first"]}
    laid = [*course, "Lay the tray, to drain onto the sill once that is set."]
    assert {"spacer on a leaf", "checked before the leaf", "tray onto the sill"} <= set(
        disagreements(veneer, wrong, laid)
    )
    assert "a door that is none" in disagreements(
        tall.changed(threshold="no door on this wall"), decked, order
    )
    short = {**decked, "deck_step": replace(decked["deck_step"], value=100, build="75 mm under the sill.")}
    assert {"tray in the deck", "tray in the channel"} <= set(disagreements(tall, short, order))
    bare = {k: v for k, v in decked.items() if k != "cav_run"}
    assert "uninterrupted cavity" in disagreements(tall, bare, order)
    assert "no such floor" in disagreements(tall.changed(storeys=2), decked, order)
    alone = {key: replace(line, build="300 mm") for key, line in decked.items()}
    assert {"corner of two walls", "saddle membrane"} <= set(disagreements(tall, alone, order))
    soft_corner = {**decked, "cav_corner": replace(decked["cav_corner"], value="no", build="It may run on.")}
    assert "cavity at a corner" in disagreements(tall, soft_corner, order)
    hung, way = lines_and_steps(Circumstances(window_position="over the cavity"), 70.0, 150.0)
    pierced = {**hung, "sill_support": replace(hung["sill_support"], build="Screw a support on.")}
    over = Circumstances(window_position="over the cavity")
    assert "support through the tray" in disagreements(over, pierced, way)
    screwed = [step.replace("no screw through the tray", "screwed") for step in way]
    assert "screw through the tray" in disagreements(over, hung, screwed)
    unmeasured = {**hung, "chk_type": replace(hung["chk_type"], value="soft spray")}
    assert "unmeasured" in disagreements(over, unmeasured, way)
    assert "measured" in disagreements(over, {k: v for k, v in hung.items() if k != "chk_rate"}, way)
    stood = leaf.changed(wall_type="cavity masonry")
    walled, course = lines_and_steps(stood, 70.0, 150.0)
    proud = {**walled, "reveal": walled["reveal_leaf"]}
    assert "('reveal', 'reveal_face', 'reveal_leaf') together" in disagreements(stood, proud, course)
    marked = {**walled, "reveal_leaf": replace(walled["reveal_leaf"], value="50 mm back")}
    assert "mark of the frame" in disagreements(stood, marked, course)
    assert "frame behind the leaf" in disagreements(Circumstances(), walled, course)
    sparse = {**walled, "cav_vent_mas": replace(walled["cav_vent_mas"], build="Leave 700 mm2 a metre; mesh.")}
    assert "openings of the base" in disagreements(stood, sparse, course)
    far = [step.replace(" or closer", "") for step in course]
    assert "weep holes alone" in disagreements(stood, walled, far)
    twice = [*order, "Seal it (joined to the air layer), joined to the airtight layer."]
    assert "joined twice" in disagreements(tall, decked, twice)
    one = {
        **calm,
        "smoke": replace(
            calm["smoke"], build="Once every opening of the house is filled, after the first, run."
        ),
    }
    assert "seal of one window" in disagreements(promised, one, steps_there)


@pytest.mark.parametrize("wall", FRAMED_WALLS, ids=str)
def test_the_head_is_drawn_in_the_words_of_its_steps(wall):
    kind, sheathing, window, frame = wall
    mine = Circumstances(wall_type=kind, sheathing=sheathing, window_position=window, frame_type=frame)
    for spell, push in ((10.0, 50.0), (140.0, 400.0)):
        schedule = detail_schedule(exposure_of(spell), pressure_of(push), mine)
        said = " ".join(step.text for step in schedule.steps)
        with suppress(NotDrawnError):
            drawn = " ".join(
                layer.name for layer in head(numbers_of(schedule, mine, pressure_of(push))).layers
            )
            assert ("head flap" in drawn) == ("head flap" in said)
            assert ("level cut" in drawn) == ("level cut" in said)


@pytest.mark.parametrize("wall", CHOICES["wall_type"])
def test_no_battens_where_there_is_no_battened_cavity(wall):
    mine = Circumstances(wall_type=wall)
    _, steps = lines_and_steps(mine, 10.0, 50.0)  # level 1: boards straight to the wall, or a masonry leaf
    assert ("battens" in " ".join(steps)) == (wall == "rendered board")


def test_no_caution_forbids_the_layer_that_cold_winters_need():
    cold, _ = lines_and_steps(Circumstances(rooms="heated through cold winters"), 45.0, 100.0)
    assert "vapour control layer on the room side" in cold["inside_layer"].build
    every = " ".join(row["text"] for row in load_table("cautions")["row"])
    assert "Add no layer" not in every
    hot, _ = lines_and_steps(Circumstances(rooms="cooled through hot, damp summers"), 45.0, 100.0)
    assert "1.67" not in " ".join(line.build for line in hot.values())
    asked = detail_schedule(exposure_of(45.0), pressure_of(100.0), Circumstances())
    assert has_doubt(asked.flags, "detail.rooms_not_said")
    told = detail_schedule(
        exposure_of(45.0), pressure_of(100.0), Circumstances(rooms="neither, a mild climate")
    )
    assert not has_doubt(told.flags, "detail.rooms_not_said")


@pytest.mark.parametrize(
    ("frame", "position", "said", "never"),
    [
        ("nailing flange", "at the sheathing", "over the flange", "straps"),
        ("box frame with straps", "at the sheathing", "from the side of the frame", "flange"),
        ("nailing flange", "over the cavity", "flange laps the cladding", "trim"),
        ("box frame with straps", "over the cavity", "A trim laps the joint", "flange"),
    ],
)
@pytest.mark.parametrize("push", [60.0, 400.0])
def test_position_cover_and_order_follow_the_kind_of_frame(frame, position, said, never, push):
    mine = Circumstances(frame_type=frame, window_position=position)
    lines, steps = lines_and_steps(mine, 45.0, push)
    assert said in " ".join(steps)
    assert never not in " ".join(steps)
    on_cladding = frame == "nailing flange" and position == "over the cavity"
    assert (
        "reveal_face" in lines
    ) == on_cladding  # where its flange lies on the cladding; else how far it stands back
    assert ("reveal" in lines) != on_cladding
    assert ("jamb_cover" in lines) == (position == "over the cavity" or frame == "box frame with straps")


def test_a_frame_set_back_stands_behind_a_leaf():
    mine = Circumstances(wall_type="cavity masonry", frame_type="set back in masonry")
    lines, steps = lines_and_steps(mine, 45.0, 150.0)
    assert {"fix_set_back", "reveal_leaf", "dpc_jamb"} <= lines.keys()
    assert "flange" not in " ".join(steps)
    for words in (
        {"frame_type": "set back in masonry"},
        {"wall_type": "cavity masonry", "frame_type": "nailing flange"},
        {
            "wall_type": "masonry veneer",
            "window_position": "in the masonry cavity",
            "frame_type": "nailing flange",
        },
    ):
        with pytest.raises(RefusalError, match="frame_type"):
            Circumstances(**words)


def test_a_frame_nobody_named_is_a_doubt():
    for mine, doubtful in (
        (Circumstances(), True),
        (Circumstances(frame_type="nailing flange"), False),
        (
            Circumstances(wall_type="cavity masonry"),
            False,
        ),  # no other frame than one set back is likely there
    ):
        flags = detail_schedule(exposure_of(45.0), pressure_of(100.0), mine).flags
        assert has_doubt(flags, "detail.frame_not_said") == doubtful


def test_a_flange_on_the_cladding_is_never_called_set_back_or_not_proud():
    """A sheet may print a row's value in place of its order; a window set back is said by both or by neither."""
    row = next(row for row in ladder_rows() if row.key == "reveal_face")
    for value, build in zip(row.values, row.build, strict=True):
        assert "proud" not in value
        assert ("back" in value) is ("Set the window back" in build), (value, build)
