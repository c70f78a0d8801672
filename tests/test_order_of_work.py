"""Order of work and rows agree: what a row orders is set in a step, and what lies behind comes before what covers it.

The walk takes every row of a schedule, so a new row without a step is found. Words are those of the steps.
"""

import re
from itertools import product
from string import Formatter

import pytest
from test_detail_ladder import CHOICES, FRAMED_WALLS, ROWS, exposure_of, pressure_of
from test_detail_rules import ANSWERS

from exposure.checks import RefusalError
from exposure.detail import Circumstances, detail_schedule
from exposure.detail.beside import CLAD, FLANGE
from exposure.detail.inside_lines import KEY as INSIDE
from exposure.detail.ladder import ladder_rows
from exposure.detail.materials import not_counted
from exposure.detail.order import window_steps
from exposure.junction.catalogue import drawings_of
from exposure.junction.numbers import numbers_of
from exposure.tables import load_table

MEMBRANE = r"Run the membrane"
BY_WORDS = {  # rows that a step does without their figure: words of it
    "plate_seal": "[Ss]eal the bottom plate",
    "mem_foot": "the membrane will come down .* over (its upstand|that)",
    "gnd": "base flashing|lowest board",
    "paved": "base flashing|lowest board",
    "plate_lap": "base flashing|lowest board",
    "mem_top": "top edge taped over the (plate|sloped top)",
    "ocorner": "in one piece round corners",
    "icorner": "in one piece round corners",
    "tape_bond": "tape",
    "fix_mm": "fasten|turned into the opening",
    "seam_tape": MEMBRANE,
    "open_tape": "[Tt]ape",
    "tape_w": "Tape the jambs|line sill, jambs and head with tape|tape sill, jambs and head",
    "sill_form": "sill tray",
    "sill_slope": "sill tray",
    "jamb_up": "sill tray",
    "tray_down": "sill tray",
    "door_level": "level door set (its|the) channel",
    "door_side": "Beside a level door the plate stands on an upstand",
    "door_edge": "prime the edge",
    "door_sill": "at a door within the floor instead",
    "bottom_open": "none at the sill|[Bb]ottom unsealed|clear of the drain path|leave a movement gap under it",
    "dpc_jamb": "damp-proof course",
    "sill_past": "sill on the leaf alone",
    "sill_cover": "metal cover|at a door within the floor instead",
    "step_bracket": "brackets of its metal",
    "reveal_board": "reveal board",
    "reveal_door": "reveal board",
    "deck_frame": "on the floor, back from the cladding",
    "deck_sill": "no sill stands on the leaf",
    "fix_flange": "Sealant behind the head and side flanges, none at the sill",
    "fix_over": "fix it to the studs through its liner or by brackets",
    "fix_box": "straps|Fix the window|hold it to the inner leaf",
    "reveal_leaf": "[Ss]et the window",
    "tray_stop": "stop-ends",
    "fix_set_back": "hold it to the inner leaf|Fix the window",
    "box_tape": "from the side of the frame",
    "sill_support": "sill support",
    "sill_bracket": "brackets to the inner leaf",
    "jamb_cover": "trim|flange laps the cladding",
    "reveal": "[Ss]et the window",
    "reveal_face": "flange laps the cladding",
    "head_form": "head flashing",
    "head_slope": "head flashing",
    "head_drip": "head flashing",
    "head_closer": "vermin closer",
    "head_stop": "stop-ends up",
    "pen_form": "pipes and cables",
    "box_flash": "meter boxes",
    "block_fix": "on blocks taped to it",
    "roof_gap": "[Ff]ix the cladding|Close the head: cladding",
    "step_tray": "lay the cavity tray on that",
    "deck_tray": "in where the sill tray will lie|let the flashing, membrane or saddle",
    "cap_under": "membrane under the cap",
    "cap_fix": "set the cap.*held by clips|then the cap.*held by clips",
    "ledger_block": "blocks that a slatted deck",
    "ledger_seal": "each bolt is sealed to the membrane",
    "deck_slats": "blocks and ledger|slatted deck last",
    "cav_fire": "[Cc]avity barrier",
    **dict.fromkeys(["cav_depth", "cav_render", "cav_vent", "batten_sp"], "then battens"),
    "slot": "base closers",
    "mesh": "base closers|weep holes",
    "cav_mas": "leaf",
    "cav_vent_mas": "weep holes",
    "cav_run": "cavity is stopped at a floor",
    "cav_run_leaf": "a floor at which the cavity is stopped",
    "leaf_ties": "leaf",
    "tie_holes": "ties through the membrane into studs .* each plate on a patch of tape",
    "leaf_gap": "leaf",
    "smoke": "smoke has been run",
    "photo": "Photograph",
    **dict.fromkeys(["chk_type", "chk_first", "chk_min", "chk_time", "chk_rate", "chk_pct", "chk_fail"], "water|hose"),
    "cut_ends": "[Cc]ladding",
    "fix_holes": "[Cc]ladding",
}  # fmt: skip
NO_STEP = {
    **dict.fromkeys(["metal_timber", "metal_mortar"], "of whatever metal is set, at every step"),
    **dict.fromkeys(["low_timber"], "of the frame, that stands before the first step"),
    **dict.fromkeys(["snow_ask", "snow_open", "snow_base"], "a height for what the steps set, and for the foundation"),
    **dict.fromkeys(["dry_frame", "dry_board", "staple_live"], "a check before a step, told as a record or a caution"),
    **dict.fromkeys(["mem_class", "mem_perm", "stud_layers"], "what to order, not when to lay it"),
    **dict.fromkeys(["tape_pair", "tape_temp", "tape_prep"], "of every tape, at every step with one"),
    **dict.fromkeys(["wash", "bare_max"], "while the membrane is bare, between steps"),
    **dict.fromkeys(["door_snow", "deck_step", "deck_snow", "deck_slats_down"], "of one door: its threshold is drawn"),
    **dict.fromkeys(["deck_fall"], "of the deck's own floor, not of the wall"),
    **dict.fromkeys(["box_tray", "leaf_fix", "ledger_leaf"], "in a leaf, where and when it meets one"),
    **dict.fromkeys(["pen_slope", "pen_joint"], "of a pipe in a leaf, where there is one"),
    **dict.fromkeys(["clad_nail", "nail_deep", "clad_screw", "clad_hidden", "clad_carrier", "fix_metal", "fix_wind", "extractives"],
                    "how each board is fixed, in the step that fixes the cladding"),
}  # fmt: skip
STANDS = {  # drawn parts that no step sets: how their names begin, and why
    "Inner leaf|Stud behind the lap|Corner stud|Blocking or a stud|Sill plate|Lintel of the inner leaf|Lintel$|Bottom plate|Top plate|Wall plate|Roof frame|Framing:|Sloped top|Parapet or rail|"
    "Inner wall": "frame and inner leaf stand before the first step",
    "Foundation|Floor|Base of the cavity|No framing below|Where snow lies": "floor and foundation, or a level",
    "Soil|Paving|Ground|Grating over": "of the ground or the deck",
    "Roof$|Roof (below|beyond|covering)|Roof membrane, turned up to the top|Deck, falling|Roof, falling|Fascia|Gutter|Barge board|Soffit|Ceiling": "of the roof or the room",
    "Pane$|Sash$|Door$|Backing rod": "comes with the window or the seal",
    "Meter box": "of whoever brings the current, over the membrane",
}  # fmt: skip
WINDOW, LEAF = "[Ss]et the window|Fix the window", "[Bb]uild the outer leaf|outer leaf has come"
ON_A_LEAF = "let the flashing, membrane or saddle"
PUT = {  # drawn parts: how their names begin, and words of the step that puts them there
    "Studs and insulation": "fill the frame with insulation",
    "Insulation in the cavity": "Fix the insulation tight to the inner leaf",
    "Inner lining": "the airtight lining, joined",
    "Lining sealed": "airtight lining.* sealed round each pipe",
    "Window board": "window board",
    "Strip on the tape": "fix a strip on the sill's tape behind a tray of film",
    "Strip of membrane on the edge": "hang a strip of membrane on it",
    "Drained channel": "level door set (its|the) channel",
    "Grating, as long|Bearer of the grating": "the grating: as long as the door is wide",
    "Inner air seal": "Inside: seal the gap",
    "Apron flashing|Metal apron": "apron",
    "Kick-out": "set (the|its) kick-out",
    "Saddle": "saddle",
    "Baffle|Top of the cavity": "top of the cavity",
    "Base closer": "base closers",
    "Closer with slots": "the same closers",
    "Base flashing": "base flashing",
    "Boards on the studs": "[Ff]ix the boards on the studs",
    "Blocking behind the taped edge": "blocking behind every edge that tape will meet",
    "Batten beside": "at outside ones beside the corner",
    "Sealant, batten to": "the cavity there .*sealed",
    "Batten|Upright batten": "then battens",
    "Bevel": "fall of|with its fall",
    "Bracket on the edge": "brackets of its metal",
    "Bracket on the inner leaf": "brackets to the inner leaf .* pack them up to it",
    "Strip of metal or board": "brackets to the inner leaf",
    "Cap,": "set the cap|then the cap",
    "Cavity barrier from leaf to leaf": "from leaf to leaf",
    "Cavity barrier": "[Cc]avity barrier",
    "Cavity tray in the leaf": "lay the cavity tray on that",
    "Cavity tray at every": "build a cavity tray into it",
    "Cavity tray": "cavity tray",
    "Cladding|Render": "[Ff]ix the cladding|Close the head: cladding",
    "Damp-proof course (in the jamb|under the sill)": "damp-proof course",
    "Damp-proof course": "lowest damp-proof course|damp-proof course under it|on its damp-proof course",
    "Deck membrane": f"deck's membrane|closed take its membrane|{ON_A_LEAF}",
    "Boards on the roof side": "boarded on its roof side",
    "Roof membrane|Roof's membrane": f"membrane of a flat roof|its membrane stands|{ON_A_LEAF}",
    "Window frame|Door frame|Threshold|Flange of the frame|Strap on|Packer beyond": WINDOW,
    "Membrane under the cap": "membrane under the cap",
    "Strip of membrane under the saddle": f"on a strip of membrane|{ON_A_LEAF}",
    "Wall membrane, (hung|on down)": "hang a sheet of the wall's membrane",
    "Fixings of the membrane": "fasten|turned into the opening",
    "(First|Second|Upper|Lower|Next) sheet|Membrane|Wall membrane|Tape over the edge": "Run the membrane",
    "Flange round|Sleeve|Tape round the pipe|Tape over the lower|Pipe,": "pipes and cables",
    "Hood over the end|Sealant along top edge": "Then the hood over its end",
    "Flashing across": "cavity is stopped at a floor",
    "Flashing on the battens|Mesh behind": "floor line leave a gap",
    "Flashing over the gap": "under the front leg of a flashing",
    "Flashing over the box|Solid block, its top|Tape at top and sides of the block|Light, tap": "meter boxes .* on blocks taped",
    "Flashing over the ledger|Solid block from": "blocks that a slatted deck",
    "Ledger|Spacer|Washer|Hanger": "spacers and ledger|slatted deck last",
    "Head flashing|Stop-end of the head": "head flashing",
    "Vermin closer": "vermin closer",
    "Head tape": "[Tt]ape the head|then the head",
    "Jamb tape": "Tape the jambs",
    "Lintel of the outer": "lintel",
    "Gap over the leaf": "mesh or a soft strip (in the gaps under frames or metal covers and )?over the top of the leaf",
    "Gap between sill": "mesh or a soft strip in the gaps? under (frames|it) or (a )?metal cover",
    "Wall tie": "screw its ties|every tie",
    "Masonry leaf": LEAF,
    "Metal cover below": "a metal cover below that sill",
    "Metal cover over": "metal cover",
    "Metal sill|Packer on the membrane": "metal sill",
    "Open upright joint|Weep": "weep holes",
    "Outer sill": "outer sill",
    "Open landing": "the open stairs and the landing",
    "Slats|Joist, seen|Post, beyond": "joists and slats|slatted deck last",
    "What is walked on|Supports of it": "lay what is walked on, on its supports",
    "Sill on the outer leaf": "sill on the leaf alone",
    "Reveal board": "reveal board",
    "Sealant round each bolt": "each bolt is sealed to the membrane",
    "Sealant between flashing": r"stop-ends up \(sealed to the window too",
    "Reveal lining": "Line the reveal",
    "Sealant under the flange": "flange laps the cladding .* is sealed to it",
    "Bracket to the stud": "by brackets on the room side",
    "Sealant at top and sides": "seal the joint in cladding or leaf",
    "Sheet that snow": "sheet that snow may lie against",
    "Short packers": "short packers",
    "Mesh over the cladding": "(outer sill .*|edge of the cladding, )mesh first",
    "Sill support": "sill support",
    "Sill tray|Tray|Turned-up": "sill tray",
    "Stretch tape": "stretch tape",
    "Tape on the (top plate|plate|sloped top)": "taped over the (plate|sloped top)",
    "Tape that lines": "tape (the )?sill|line sill, jambs and head",
    "Trim along the head": "trim along the head",
    "Trim": "trim",
    "Upstand of concrete": "plate stands on an upstand of concrete",
    "Metal over that tape": "a metal sheet over it before cladding",
}  # fmt: skip
BEFORE = [  # behind, and what covers it; every wall that has both
    (r"[Ss]eal the bottom plate", MEMBRANE),
    (
        r"hang a strip of membrane on it",
        r"Lay the sill tray|[Ss]ill tray: back|sill tray with|sill tray first",
    ),
    (r"level door set its channel", r"hang a strip of membrane on it"),
    (r"level door set its channel", r"Lay the sill tray|[Ss]ill tray: back|sill tray with|sill tray first"),
    (r"sill on the leaf alone", r"level door set the channel"),
    (r"level door set (its|the) channel|[Ss]et the window", r"level door last the paving"),
    (r"base flashing, its drip", MEMBRANE),
    (r"[Ff]ix the boards on the studs", r"boards of wood on it, 18"),
    (r"boards of wood on it, 18", MEMBRANE),
    (r"build the leaf up below it first", r"Lay the sill tray"),
    (r"straps drawn tight", r"cavity barriers|then battens|[Ff]ix the cladding|[Bb]uild the outer leaf up"),
    (r"lowest board", MEMBRANE),
    (r"Sealant behind the head and side flanges", r"[Ss]et the window"),
    (r"lowest damp-proof course", MEMBRANE + "|[Bb]uild the outer leaf|outer leaf has come"),
    (r"membrane of a flat roof", MEMBRANE),
    (r"closed take its membrane", MEMBRANE),
    (r"closed (take|turn) its membrane|up it and over its top", r"let water stand on"),
    (
        r"let water stand on",
        r"Fix the cladding|[Ss]et the metal sill|leaf on up both jambs|cover (the barrier|both)",
    ),
    (
        r"closed take its membrane|in where the sill tray will lie|[Ff]ix the cladding|outer leaf has come",
        r"lay what is walked on",
    ),
    (r"let water stand on", r"lay what is walked on"),
    (r"lay what is walked on", r"level door last the paving"),
    (r"[Ss]et the window|Fix the window", r"the open stairs and the landing"),
    (
        r"Where a roof runs into the wall hang",
        r"snow lies on a roof|set the kick-out|step or apron flashing from|" + MEMBRANE,
    ),
    (r"then battens", r"fix the sheet that snow may lie against"),
    (r"fix the sheet that snow may lie against", r"Fix the cladding"),
    (r"snow lies on a roof", r"kick-out at the end|step or apron flashing|" + MEMBRANE),
    (r"set the kick-out", r"step or apron flashing|" + MEMBRANE),
    (r"Lay step or apron flashing from below", MEMBRANE),
    (r"set its kick-out", r"step or apron flashing"),
    (r"set its kick-out|roof lay step or apron flashing|At a flat roof turn", r"lay the cavity tray on that"),
    (r"set the saddle", MEMBRANE),
    (MEMBRANE, r"sill tray: back|sill tray with|sill tray first"),
    (r"pipes and cables through", r"then battens|the cladding|[Bb]uild the outer leaf|outer leaf has come"),
    (r"set the flashing for it", r"then battens|the cladding"),
    (r"where its wall's corner batten will stand", r"at outside ones beside the corner"),
    (r"flashing over its ledger", r"then battens|Fix the cladding"),
    (r"Fix the cladding", r"bolt spacers and ledger"),
    (r"blocks that a slatted deck", r"then battens|Fix the cladding"),
    (r"membrane under the cap over the top", r"then battens|Fix the cladding|On a parapet set the cap"),
    (r"at outside ones beside the corner", r"Fix the cladding"),
    (r"[Ff]ix the cladding", r"Render the boards"),
    (
        r"Render the boards",
        r"Cover the joint at each jamb|flange laps the cladding|A trim laps|Close the head: cladding",
    ),
    (r"Before the last boards the soffit", r"[Ff]ix the cladding, |Close the head: cladding"),
    (r"At each floor line", r"Fix the cladding"),
    (r"top of the cavity", r"[Ff]ix the cladding, |Close the head: cladding"),
    (r"brackets of its metal", r"sill on the leaf alone|Build the outer leaf up"),
    (r"sill on the leaf alone", r"leaf on up both jambs|Build the outer leaf on"),
    (
        r"Build the outer leaf up|outer leaf has come up",
        r"lay the cavity tray on that|build a cavity tray into it",
    ),
    (
        r"lay the cavity tray on that",
        r"leaf on up both jambs|Build the outer leaf on|leaf has reached its lintel|cover (the barrier|both)",
    ),
    (r"leaf on up both jambs|Build the outer leaf on|Close the head: lintel", r"build a cavity tray into it"),
    (r"Inside: seal the gap", r"vapour control layer|Last inside"),
    (r"Look over the opening|Check with water", r"fill the frame with insulation|Last inside"),
    (r"fill the frame with insulation", r"Last inside"),
    (r"brackets to the inner leaf", r"Fix the insulation tight"),
    (r"Fix the insulation tight", r"[Bb]uild the (outer )?leaf|outer leaf has come"),
]
BESIDE = [
    {},
    {"roof_meets_wall": "roof or gutter ends inside the wall", "snow_depth": 500.0, "deck": "enclosed at the first floor"},
    {"roof_below": "flatter than 10 degrees", "parapet": True, "threshold": "no door on this wall"},
    {"deck": "slatted or roofed over, above the ground", "threshold": "level at one door at least"},
    {"deck": "open slats near the ground", "roof_below": "pitched at 10 degrees or more", "snow_depth": 300.0,
     "storeys": 3, "cavity_break": True},
]  # fmt: skip


def houses():
    for wall, sheathing, position in product(
        CHOICES["wall_type"], CHOICES["sheathing"], CHOICES["window_position"]
    ):
        for frame, there in product(
            ("nailing flange", "box frame with straps", "set back in masonry"), BESIDE
        ):
            try:
                yield Circumstances(
                    wall_type=wall, sheathing=sheathing, window_position=position, frame_type=frame,
                    rooms="heated through cold winters", **{"storeys": 2, **there},
                )  # fmt: skip
            except RefusalError:
                continue


@pytest.fixture(scope="module")
def schedules():
    every = list(houses())
    assert len(every) > 60
    return [
        (mine, detail_schedule(exposure_of(spell), pressure_of(push), mine))
        for mine in every
        for spell, push in ((10.0, 50.0), (140.0, 400.0))
    ]


def texts(schedule):
    return [f"{step.text} {step.hold}" for step in schedule.steps]


def test_every_row_is_in_a_step_or_has_a_reason_for_none(schedules):
    missing = set()
    for mine, schedule in schedules:
        said = " ".join(texts(schedule))
        sets = {row for step in schedule.steps for row in step.sets}
        for key in {line.key for line in schedule.lines if line.value != 0} & (
            {row.key for row in ladder_rows()} | {INSIDE}
        ):
            if key in sets:
                continue
            if key not in NO_STEP and not (key in BY_WORDS and re.search(BY_WORDS[key], said)):
                missing.add((key, mine.wall_type, mine.window_position))
    assert not missing
    assert {*BY_WORDS, *NO_STEP} <= {row.key for row in ladder_rows()}


def drawn_parts(mine, schedule):
    """Names of all that is drawn of a house."""
    return {layer.name for one in drawn_of(mine, schedule) for layer in one.layers if layer.name}


def drawn_of(mine, schedule):
    """Every section of a house."""
    drawings, _ = drawings_of([("south", numbers_of(schedule, mine, pressure_of(100.0)))])
    return [one.section for one in drawings]


def test_every_drawn_part_has_a_step_that_puts_it_there(schedules):
    """By the names of the drawings, not by the rows: what no row orders, as a lining, is set by somebody too."""
    seen, missing = set(), set()
    for mine, schedule in schedules[::3]:
        said = " ".join(texts(schedule))
        for name in drawn_parts(mine, schedule):
            begun = next(one for one in (*PUT, *STANDS) if re.match(one, name))
            seen.add(begun)
            if begun in PUT and not re.search(PUT[begun], said):
                missing.add((name, mine.wall_type, mine.window_position))
    assert not missing
    assert seen == {*PUT, *STANDS}


def test_the_lowest_course_has_its_exception_at_a_level_threshold_in_snow():
    """By the drawing: under a level door the only course lies below the paving, where snow lifts the wall's own too."""
    for snow, threshold in product((0.0, 400.0), ("a step at every door", "level at one door at least")):
        mine = Circumstances(wall_type="masonry veneer", threshold=threshold, snow_depth=snow)
        lines = detail_schedule(exposure_of(45.0), pressure_of(100.0), mine).lines
        [said] = [line.build for line in lines if line.key == "dpc_up"]
        assert ("but for a level threshold" in said) == (snow > 0 and "level" in threshold), (snow, threshold)
        assert ("ends over the ends of the course" in said) == (snow == 0)


@pytest.mark.parametrize("wall", ["masonry veneer", "cavity masonry"])
def test_in_snow_the_course_ends_lower_at_a_level_door_as_its_first_step_says(wall):
    """Below a step it runs on; at a level door the one under the sill lies below the paving, so it is laid first."""
    for snow, threshold in product((0.0, 400.0), ("a step at every door", "level at one door at least")):
        mine = Circumstances(wall_type=wall, threshold=threshold, snow_depth=snow)
        steps = texts(detail_schedule(exposure_of(45.0), pressure_of(100.0), mine))
        [first] = [one for one in steps if "owest damp-proof course at least" in one]
        [sill] = [one for one in steps if "sill on the leaf alone" in one]
        lower, level = not snow or "level" in threshold, snow and "level" in threshold
        assert ("which lies lower: lay that first" in first) == lower, (snow, threshold)
        assert ("at a level one" in first or "sides of a level one" in first) == bool(level), first
        for line in (
            one
            for one in detail_schedule(exposure_of(45.0), pressure_of(100.0), mine).lines
            if one.key == "door_side"
        ):
            assert (
                "as the base asks" not in line.build + line.caution
            )  # the plate alone 150 mm, in snow its course as high as that
        assert ("it lies already" in sill) == lower
        assert ("(at a level ground-floor door it lies already)" in sill) == bool(level)


def test_tape_that_lines_an_opening_goes_down_the_face_where_it_is_drawn_there(schedules):
    """Cut as wide as the opening is deep it ends at the face, where the tray goes on down over the membrane."""
    for mine, schedule in schedules[::3]:
        tapes = [
            layer
            for one in drawn_of(mine, schedule)
            for layer in one.layers
            if one.key == "sill" and layer.name == "Tape that lines the opening"
        ]
        if not tapes:
            continue
        drawn = any(min(y for _, y in tape.outline) < -25 for tape in tapes)
        told = any(re.search(r"tape the sill[^;.]*down the face", text) for text in texts(schedule))
        assert told == drawn, mine


def test_the_back_of_a_tray_of_film_has_a_strip_behind_it_before_it_is_laid(schedules):
    """A film does not stand by itself, nor holds a backing rod; on the brackets of cavity masonry the strip under the tray has its back."""
    for mine, schedule in schedules:
        row = next(line.build for line in schedule.lines if line.key == "back_dam")
        assert "one of film against a strip as high, fixed behind it first" in row
        told = [step.text for step in schedule.steps]
        tray = next(n for n, text in enumerate(told) if "Lay the sill tray" in text)
        if mine.wall_type == "cavity masonry":
            assert "a strip of metal or board with its fall and back" in told[tray]
        else:
            strip = "At a window fix a strip on the sill's tape behind a tray of film, as high as its back."
            (set_,) = [text for text in told[:tray] if "strip" in text and "tray of film" in text]
            assert set_.endswith(strip)
            assert re.search("line sill|tape (the )?sill", set_)  # in the same step, before it


def test_boards_cover_the_tape_at_jambs_and_head_inside(schedules):
    """Framed walls; the lining of cavity masonry goes into the reveal itself."""
    for mine, schedule in schedules:
        (last,) = [
            step.text
            for step in schedule.steps
            if "fix the window board" in step.text or "then the window board" in step.text
        ]
        assert ("fix boards at jambs and head over that tape" in last) is (mine.wall_type != "cavity masonry")


NOTCH = "notch it, turned up, where its wall's corner batten will stand, its front running on."


@pytest.mark.parametrize(
    ("spell", "push", "there"),
    [
        (140.0, 400.0, True),  # stopped at every floor
        (70.0, 250.0, True),  # at every second one: the same words, for the two may meet
        (10.0, 50.0, False),  # nothing splits it
    ],
)
def test_a_flashing_ends_at_its_own_walls_corner_batten_which_stays_a_seal(spell, push, there):
    """The same words on both walls of a corner, whatever the other wall does: no cavity opens to the other at a floor."""
    mine = Circumstances(storeys=3, cavity_break=True, cladding_fixing="boards nailed through the face")
    told = [step.text for step in detail_schedule(exposure_of(spell), pressure_of(push), mine).steps]
    closed = "the batten's gap at a floor line closed with a compressible strip, a flashing notched round it sealed to it"
    assert any(NOTCH in text for text in told) is there
    assert any(closed in text for text in told) is there


@pytest.mark.parametrize("code", [None, *sorted(ANSWERS)])
def test_a_barrier_at_a_floor_runs_on_whole_past_the_corner_batten(code):
    """No batten cuts a barrier, and the flashing over it has no notch; what is cut before its leg goes up stands in its own step."""
    seen = set()
    for wall, sheathing, position, frame in FRAMED_WALLS:
        for spell, push in ((10.0, 50.0), (70.0, 250.0), (140.0, 400.0)):
            mine = Circumstances(
                wall_type=wall, sheathing=sheathing, window_position=position, frame_type=frame, storeys=3, cavity_break=True,
                local_rules=(code,) if code else (), rule_answers={code: ANSWERS[code]} if code else {},
            )  # fmt: skip
            schedule = detail_schedule(exposure_of(spell), pressure_of(push), mine)
            told = [step.text for step in schedule.steps]
            split = any(line.key == "cav_corner" for line in schedule.lines)
            stops = [text for text in told if "set the flashing for it, its leg up" in text]
            assert all(
                " Over a barrier it runs on whole to the corner; else " + NOTCH in text for text in stops
            )
            corners = [text for text in told if "at outside ones beside the corner" in text]
            assert len(corners) == split
            assert all(
                "ended over and under each level barrier as other battens are" in text for text in corners
            )
            assert all("the batten's gap at a floor line closed" in text for text in corners)
            assert all(
                ("a flashing notched round it sealed to it" in text) is bool(stops) for text in corners
            )
            others = [text for text in told if text not in (*stops, *corners)]
            clad = "cladding,? notched round the stop-ends of the (head )?flashing"  # of an opening
            assert not any("corner batten" in text or "notched" in re.sub(clad, "", text) for text in others)
            seen.add((split, bool(stops)))
    assert {(False, False), (True, True)} <= seen


def test_the_lining_is_joined_to_what_holds_the_inner_seal(schedules):
    """As the air line of the drawings runs: by the tape that lines an opening, where one is drawn, and below by window board and tray."""
    seen = set()
    for mine, schedule in schedules[::5]:
        taped = mine.wall_type != "cavity masonry"
        drawn = "Tape that lines the opening" in drawn_parts(mine, schedule)
        assert taped or not drawn
        (said,) = (one for one in texts(schedule) if one.startswith("Last inside"))
        assert ("seal its edge to the tape that lines each opening" in said) is taped, mine
        assert ("carry it into each reveal up to the inner seal" in said) is not taped, mine
        assert "sealed round each pipe, sleeve and cable" in said
        assert "window board, no lower than the back of the tray, sealed to it and to that" in said
        seen.add(drawn)
    assert seen == {True, False}


def test_a_reveal_lining_that_is_bought_has_its_step(schedules):
    """Beside a flange a lining, beside a box frame the trim that reaches in to it: one part, and bought once."""
    seen = set()
    for mine, schedule in schedules:
        items = not_counted({line.key: line.value for line in schedule.lines})
        bought = "reveal linings" in items
        lined = bool(re.search("Line the reveal at both jambs", " ".join(texts(schedule))))
        assert lined is bought, mine
        assert not (bought and any(one.startswith("trims") for one in items)), mine
        seen.add(bought)
    assert seen == {True, False}


def test_what_lies_behind_comes_before_what_covers_it(schedules):
    seen = set()
    for mine, schedule in schedules:
        steps = texts(schedule)
        for behind, front in BEFORE:
            first = [place for place, words in enumerate(steps) if re.search(behind, words)]
            after = [place for place, words in enumerate(steps) if re.search(front, words)]
            after = [place for place in after if place not in first]
            if first and after:
                seen.add(behind)
                assert max(first) < min(after), (mine, steps[max(first)], steps[min(after)])
    assert seen == {behind for behind, _ in BEFORE}


def test_a_sheet_hangs_behind_a_rail_before_it_stands_as_the_saddle_is_drawn(schedules):
    """Once the rail stands, the sheet that its drawing has behind it cannot get there; what laps under it comes later."""
    seen = 0
    for _, schedule in schedules:
        for words in (one for one in texts(schedule) if "set the saddle" in one):
            before = words.partition("set the saddle")[0]
            assert re.search("sheet of the wall's membrane behind it before it stands", before)
            assert "loose for the sheet below" in before
            seen += 1
    assert seen


def test_a_sheet_hangs_behind_a_roof_before_it_stands_as_it_is_drawn(schedules):
    """With roof and flashing there, the wall's membrane cannot get behind them any more."""
    seen = 0
    for _, schedule in schedules:
        words = texts(schedule)
        flashing = [one for one in words if "Lay step or apron flashing from below" in one]
        assert len(
            [
                one
                for one in words
                if re.search("roof runs into the wall hang a sheet .*loose for the sheet below", one)
            ]
        ) == len(flashing)
        seen += len(flashing)
    assert seen


def test_each_clause_stands_in_a_step_and_names_only_rows_facts_and_clauses_before_it():
    """A clause that no step names would never be told, and one behind its user would not be filled in."""
    table = load_table("order_of_work")
    clauses, facts = [one["key"] for one in table["clause"]], {"hood_clear", "flap_height", "laps"}
    assert len(set(clauses)) == len(clauses)
    assert not set(clauses) & ROWS.keys()
    used = {name for row in table["row"] for name in names_in(row["text"])}
    for place, clause in enumerate(table["clause"]):
        for words in (clause["text"], clause.get("otherwise", "")):
            named = names_in(words)
            assert named <= {*clauses[:place], *ROWS, *facts}, clause["key"]
            used |= named
    assert set(clauses) <= used


def names_in(text):
    """Names in braces."""
    return {name for _, name, _, _ in Formatter().parse(text) if name}


def places_of(row):
    """Parts that a step of every wall is set before or after."""
    return {*row.get("ahead_of", ()), *row.get("behind", ())}


def test_a_step_of_every_wall_finds_its_place_in_each_order():
    """A part that no step of an order adds would leave its step at the end, behind all that covers it."""
    rows = load_table("order_of_work")["row"]
    for row in (row for row in rows if row["sequence"] == "every wall" and places_of(row)):
        walls = row["walls"] or CHOICES["wall_type"]
        for wall, sequence in product(walls, ("sheathed", "open studs", "over a cavity", "masonry cavity")):
            leaf = wall == "cavity masonry"
            if leaf != (sequence == "masonry cavity") and wall != "masonry veneer":
                continue
            adds = {
                part
                for one in rows
                if one["sequence"] == sequence and (not one["walls"] or wall in one["walls"])
                for part in one["adds"]
            }
            assert adds & places_of(row), (row["text"], sequence, wall)


def test_the_lowest_course_is_laid_above_the_snow_as_its_base_is_drawn():
    """150 mm of snow and 100 mm over it, by the row's own words."""
    for snow, words in (
        (150.0, "at least 150\u00a0mm above ground or paving, where snow lies at least 250\u00a0mm"),
        (0.0, "above ground or paving, the"),
    ):
        mine = Circumstances(wall_type="masonry veneer", snow_depth=snow)
        schedule = detail_schedule(exposure_of(50.0), pressure_of(100.0), mine)
        assert words in schedule.steps[0].text


def test_the_inner_seal_waits_for_no_layer_that_comes_later(schedules):
    for mine, schedule in schedules:
        seal = next(words for words in texts(schedule) if words.startswith("Inside: seal"))
        assert re.search("to where (it|that) will lie", seal), mine


def test_barriers_are_told_where_they_are_drawn(schedules):
    """Under the sill of a leaf none is drawn: the tray drains there."""
    for mine, schedule in schedules:
        if mine.wall_type == "masonry veneer" and mine.window_position == "over the cavity":
            assert any("a cavity barrier along both jambs" in words for words in texts(schedule))
            assert not any("barriers round the opening" in words for words in texts(schedule))


def test_the_top_of_two_leaves_is_told_where_it_is_drawn(schedules):
    """Plate, barrier from leaf to leaf and soffit, before the inner seal; a parapet ends in its cap instead."""
    seen = set()
    for mine, schedule in schedules:
        told = [place for place, words in enumerate(texts(schedule)) if "from leaf to leaf" in words]
        capped = any(line.key == "cap_slope" for line in schedule.lines)
        assert bool(told) is (mine.wall_type == "cavity masonry" and not capped), mine
        for place in told:
            step = schedule.steps[place]
            assert step.drawn == ("wall-top-eaves", "wall-top-gable")
            assert all(word in step.text for word in ("wall plate", "cavity barrier", "insulation", "soffit"))
            assert "inner seal" in schedule.steps[place + 1].adds
        seen.add((mine.wall_type, capped))
    assert ("cavity masonry", False) in seen


def test_base_closers_are_set_with_the_battens_where_one_is_drawn_and_bought(schedules):
    for mine, schedule in schedules:
        if any(line.key == "slot" for line in schedule.lines):
            assert any("then battens and base closers" in words for words in texts(schedule)), mine


def test_closers_over_a_roof_or_deck_are_ordered_and_set_with_the_battens(schedules):
    """Where cladding stops over one and has a cavity; the same closers as at the base."""
    seen = set()
    for mine, schedule in schedules:
        lines = {line.key: line for line in schedule.lines}
        over, cavity = "roof_gap" in lines, "slot" in lines
        told = [
            step for step in schedule.steps if "where a cavity ends over a roof, deck or rail" in step.text
        ]
        assert bool(told) is (over and cavity), mine
        assert all("then battens and base closers" in step.text for step in told)
        if cavity:
            assert ("over a roof, deck or rail" in lines["slot"].build) is over, mine
        seen.add((over, cavity))
    assert len(seen) == 4


def test_a_level_door_has_its_order_and_an_upstand_beside_it(schedules):
    """Channel, strip, tray, door, grating; a plate at the paving would stand in the splash that the base keeps it out of."""
    seen = set()
    for mine, schedule in schedules:
        steps, lines = texts(schedule), {line.key: line.build for line in schedule.lines}
        level, framed = mine.threshold.startswith("level"), mine.wall_type != "cavity masonry"
        found = {
            word: [one for one, words in enumerate(steps) if word in words]
            for word in ("channel", "the grating:", "into the channel")
        }
        assert bool(found["channel"]) is bool(found["the grating:"]) is level, mine
        if level:
            channel, grating = min(found["channel"]), found["the grating:"][0]
            window = next(
                one for one, words in enumerate(steps) if re.search("[Ss]et the window|Fix the window", words)
            )
            assert channel < grating > window
            assert bool(found["into the channel"]) is ("masonry" not in mine.wall_type)
        assert ("Beside a level door the plate stands on an upstand" in steps[0]) is (level and framed)
        door = mine.threshold != "no door on this wall"
        assert ("the flashing ends, turned up" in steps[0]) is (door and "slot" in lines)
        for words in (one for one in steps if "screw a sill support" in one):
            assert bool(re.search("tray, at a door.* to the edge of the floor, each screw", words)) is door
        if framed:
            assert ("but for a door's own frame" in lines["low_timber"]) is door
            assert ("upstand" in lines.get("door_side", "")) is level
            assert ("prime the edge" in lines.get("door_edge", "")) is door
            assert "primer" in not_counted({line.key: line.value for line in schedule.lines}) or not door
        seen.add((level, framed, door))
    assert len(seen) == 6


def test_what_ends_beside_a_door_is_what_the_base_of_its_wall_has(schedules):
    """Behind a cavity battens, closer and base flashing; without one the damp-proof course that is turned up."""
    seen = set()
    for mine, schedule in schedules:
        lines = {line.key: line.build for line in schedule.lines}
        if "door_edge" not in lines or "masonry" in mine.wall_type:
            continue
        cavity, level = "slot" in lines, mine.threshold.startswith("level")
        ends = lines["door_edge"].partition(" Stop ")[2]  # what is done, never the name of a part
        assert all((word in ends) is cavity for word in ("battens", "base closer", "base flashing")), mine
        assert ("damp-proof course" in ends) is not cavity, mine
        assert ("channel" in lines["door_edge"]) is level, mine
        assert ("a metal cover below the outer sill, open at its foot" in lines["door_edge"]) is not level, (
            mine
        )
        assert "At a step" not in lines["door_edge"], (
            mine
        )  # where some are level the step of the work tells it
        covers = [step.text for step in schedule.steps if "a metal cover below that sill" in step.text]
        assert bool(covers) is (mine.threshold != "level at every door"), mine
        told = [*covers, *([] if level else [lines["door_edge"]])]  # an opening wider than 5 mm
        assert all(("open at its foot, mesh there" in one) is ("mesh" in lines) for one in told), mine
        assert ("the course ends, turned up" in schedule.steps[0].text) is not cavity, mine
        later = "later closer, battens and boards end" if cavity else "later the boards end"
        assert later in schedule.steps[0].text, mine
        seen.add((cavity, level))
    assert len(seen) == 4


def test_the_sill_of_a_door_is_taped_once_its_floor_is_primed(schedules):
    """Tape lets go of bare concrete; at a closed deck its membrane lies there, as that door is drawn."""
    seen, ends = set(), set()
    for mine, schedule in schedules:
        steps = [step.text for step in schedule.steps]
        primed = [one for one, words in enumerate(steps) if "prime the edge" in words]
        held = [one for one, words in enumerate(steps) if "At a door only jambs and head now." in words]
        assert (
            len(primed)
            == len(held)
            == (mine.threshold != "no door on this wall" and mine.wall_type != "cavity masonry")
        )
        if primed:
            assert "stretch tape" in steps[held[0]].lower()
            assert held < primed
            assert steps[primed[0]].index("prime") < steps[primed[0]].index("tape sill and lower corners")
            bare = "no strip, and its lower corners alone" in steps[primed[0]]
            for one in drawn_of(mine, schedule):
                if one.key == "deck-door":
                    assert bare == all(part.key != "opening tape" for part in one.layers), mine
                    ends.add(bare)
            seen.add((mine.sheathing, mine.wall_type, mine.window_position))
    assert len(seen) > 6
    assert ends == {True, False}


def test_what_covers_the_inner_seal_waits_for_smoke_where_its_hold_point_does(schedules):
    seen = set()
    for _, schedule in schedules:
        held = any("before smoke has been run" in step.hold for step in schedule.steps)
        inside = next(
            step.text for step in schedule.steps if re.search("ill the frame|ast inside", step.text)
        )
        assert (
            ("dry and smoke has been run" in inside)
            is held
            is ("smoke" in {one.key for one in schedule.lines})
        )
        seen.add(held)
    assert len(seen) == 2


def test_boards_are_fixed_on_a_bedded_plate_and_looked_at_before_the_membrane(schedules):
    """Where some are there or asked; the flashing and the turned-up course stand outside them."""
    seen = set()
    for mine, schedule in schedules:
        boards = mine.wall_type != "cavity masonry" and (
            mine.sheathing == "sheathed" or any("rigid boards" in line.build for line in schedule.lines)
        )
        first = schedule.steps[0].text
        assert (
            bool(
                re.search(
                    r"[Ss]eal the bottom plate.*read 20.% moisture or less, fix the boards on the studs.*([Bb]ase flashing|up the outside)",
                    first,
                )
            )
            is boards
        )
        dry = [
            step
            for step in schedule.steps
            if "boards of wood on it, 18 % or less" in step.hold.replace("\u00a0", " ")
        ]
        assert len(dry) == (mine.wall_type != "cavity masonry"), mine
        seen.add((boards, mine.wall_type, mine.sheathing))
    assert len(seen) > 8


def test_trim_and_lining_end_at_a_level_door_with_the_cladding(schedules):
    """Its sill lies at the paving, and cladding stops higher: "clear of the sill" would take them past it."""
    seen = set()
    for mine, schedule in schedules:
        level = mine.threshold.startswith("level")
        for step in schedule.steps:
            what = "lining" if "Line the reveal" in step.text else "trim"
            words = f" At a level door the {what} ends with the cladding, its foot open over the metal there."
            closing = "its foot open, 5\u00a0mm clear of" in step.text
            assert (words in step.text) is (closing and level), mine
            assert (words in step.at_doors) is (closing and level), mine
            if closing:
                seen.add((mine.wall_type, mine.frame, mine.window_position, level))
    assert {one[0] for one in seen} == {"timber frame with cladding", "rendered board"}
    assert len(seen) > 8


def test_at_a_level_door_a_slatted_deck_is_told_as_its_drawing_has_it(schedules):
    """No ledger below the channel: concrete stands there, which carries channel and edge of the floor."""
    seen = set()
    for mine, schedule in schedules:
        lines = {line.key: line.build for line in schedule.lines}
        steps = [step.text for step in schedule.steps]
        slats, level = "slat" in mine.deck, mine.threshold.startswith("level")
        for words in (
            lines.get("door_level", ""),
            next((one for one in steps if "et the channel" in one or "et its channel" in one), ""),
        ):
            assert ("at a slatted deck" in words and "on a kerb or bearer of concrete" in words) is (
                slats and level
            )
        paved = next((one for one in steps if "level door last the paving" in one), "")
        assert ("or slats where the deck is slatted" in paved) is (slats and level)
        framed = mine.wall_type in ("timber frame with cladding", "rendered board")
        for words, below in (
            (lines.get("ledger_block", ""), "with no block and no leg"),
            (" ".join(one for one in steps if "ledger" in one), "no block, no leg"),
        ):
            assert ("of its channel too" in words and "posts of its own" in words) is (
                slats and level and framed
            ), mine
            assert (below in words) is (slats and framed), mine
        seen.add((slats, level, framed))
    assert {(True, True, True), (True, True, False), (True, False, True), (False, False, True)} <= seen


def test_what_two_leaves_have_to_carry_and_to_hold_is_told_in_their_steps(schedules):
    """The floor under a door's frame, deep cavity before a level one, straps, discs; pipes pass the one leaf that is there."""
    seen = set()
    for mine, schedule in schedules:
        if mine.wall_type != "cavity masonry":
            continue
        lines = {line.key: line.build for line in schedule.lines}
        steps = [step.text for step in schedule.steps]
        door, level = mine.threshold != "no door on this wall", mine.threshold.startswith("level")
        for words in (steps[0], lines["sill_bracket"]):
            assert (
                "out over inner leaf and insulation to the cavity" in words.replace("out there", "out")
            ) is door
        assert ("at a level door as far below the course under its sill" in steps[0]) is level
        assert ("at a level door below the course under its sill" in lines["cav_base"]) is level
        (window,) = [one for one in steps if one.startswith("Set the window")]
        assert "to the inner leaf by its straps" in window
        (boards,) = [one for one in steps if "Fix the insulation tight" in one]
        assert "held by a disc on every tie" in boards
        (pipes,) = [one for one in steps if "pipes and cables" in one]
        assert "through the inner leaf" in pipes
        assert "outer one is built round them" in pipes
        seen.add((door, level))
    assert len(seen) == 3


def test_a_reveal_board_is_fixed_to_the_frame_wherever_one_is_told(schedules):
    """Nothing of the frame is fixed to the outer leaf, and the barrier behind the board may not be cut."""
    seen = set()
    for mine, schedule in schedules:
        told = [step.text for step in schedule.steps] + [line.build for line in schedule.lines]
        for words in (
            one
            for one in told
            if re.search("(cover|over) .*with a reveal board|a reveal board over both", one)
        ):
            assert re.search("fixed to (the frame|that)", words), words
            seen.add((mine.wall_type, mine.window_position))
    assert len(seen) > 2


def test_a_barrier_at_the_top_of_the_wall_is_asked_for_no_tray(schedules):
    for _, schedule in schedules:
        for line in (one for one in schedule.lines if one.key == "cav_fire"):
            assert "its own tray above, drained outward, except at the top of the wall" in line.build


def test_the_flap_at_the_foot_of_a_door_is_cut_off_where_a_strip_takes_its_place(schedules):
    """What would be folded in there lies on the edge of the floor, which is primed two steps later."""
    seen = set()
    for mine, schedule in schedules:
        cut = [step for step in schedule.steps if "at a door cut the lower flap off" in step.text]
        strip = any("hang a strip of membrane on it" in step.text for step in schedule.steps)
        assert len(cut) == strip, mine
        for step in cut:
            assert re.search(
                "fold sides|turn the flaps|turned into the opening", step.text.partition("(at a door")[0]
            )
        seen.add((strip, mine.window_position, mine.sheathing))
    assert len(seen) > 6


def test_the_tape_on_an_upstand_beside_a_level_door_is_the_jambs(schedules):
    """The lowest sheet stays open to drain; tape lets go of bare concrete."""
    seen = set()
    for mine, schedule in schedules:
        lines = {line.key: line.build for line in schedule.lines}
        for words in (lines.get("door_side", ""), schedule.steps[0].text):
            told = re.search("tape of the (door's )?jamb is stuck to it on primer", words)
            assert bool(told) is ("door_side" in lines), mine
        seen.add("door_side" in lines)
    assert len(seen) == 2


def test_what_is_photographed_is_worded_alike_in_every_order(schedules):
    """The register has a line for each wording; that nothing is covered unsigned stands at its head."""
    told = {
        step.hold
        for _, schedule in schedules
        for step in schedule.steps
        if "otograph corners, ends" in step.hold
    }
    assert told == {"Photograph corners, ends and back of the tray with a rule beside them."}
    told = {
        step.hold
        for _, schedule in schedules
        for step in schedule.steps
        if "head tape" in step.adds or "flap down" in step.adds
    }
    assert told <= {"", "Photograph jambs, head and stop-ends."}
    assert len(told) == 2


def test_a_sills_course_is_turned_up_at_back_and_ends_in_row_and_step(schedules):
    """Where the sill is built into the leaf its ends touch wet masonry."""
    seen = set()
    for mine, schedule in schedules:
        lines = {line.key: line.build for line in schedule.lines}
        if "sill_past" not in lines:
            continue
        assert "turned up at its back, a piece of it up both ends of the sill" in lines["sill_past"]
        (step,) = [step.text for step in schedule.steps if "sill on the leaf alone" in step.text]
        assert "turned up at its back, a piece of it up both ends of the sill" in step, mine
        seen.add((mine.wall_type, mine.window_position))
    assert len(seen) > 3


@pytest.mark.parametrize("wall", ["masonry veneer", "cavity masonry"])
def test_open_joints_at_the_top_lie_below_the_barrier_in_row_and_step(wall):
    """A joint beside the barrier vents next to nothing."""
    mine = Circumstances(wall_type=wall, storeys=2, local_rules=("ireland",))
    schedule = detail_schedule(exposure_of(50.0), pressure_of(100.0), mine)
    told = [line.build for line in schedule.lines if line.key == "weep_top"]
    told += [step.text for step in schedule.steps if "At the top of the leaf" in step.text]
    assert len(told) == 2
    for words in told:
        assert "highest course that lies below soffit or edge of a cap and below the cavity barrier" in words


def test_which_laps_are_taped_is_a_clause_of_its_own_words(schedules):
    """Another elevation's is printed alone: a bare word would tell nobody what to do."""
    for _, schedule in schedules:
        for step in schedule.steps:
            for laps in (
                "openings;",
                "openings and upright laps;",
                "all laps;",
                "all laps, joined to the air seal;",
            ):
                if f" {laps}" in step.text and "lower edges over flashings" in step.text:
                    assert re.search(rf"[Tt]ape {laps}", step.text), step.text


def test_a_step_says_of_itself_whether_it_is_a_doors(schedules):
    """Register and phone hold no window at it, however it is worded."""
    seen = set()
    for mine, schedule in schedules:
        for step in schedule.steps:
            assert step.door is bool(re.match("At a (level )?door", step.text)), step.text
            assert not (step.door and mine.threshold == "no door on this wall"), mine
            seen.add((step.door, bool(step.hold)))
    assert len(seen) == 4


def test_the_height_of_timber_is_that_of_the_framing(schedules):
    """Battens and wooden cladding end lower, each by a row of its own."""
    told = {
        line.build.split(" at least")[0]
        for _, schedule in schedules
        for line in schedule.lines
        if line.key == "low_timber"
    }
    framing = "Keep the framing, its plate and the boards on its studs,"
    assert told == {framing, f"{framing} but for a door's own frame,"}


def test_what_stands_at_a_door_is_named_among_what_is_not_counted(schedules):
    """The strip on the edge of the floor; beside a level door a metal sheet over the tape, which a leaf hides itself."""
    seen = set()
    for mine, schedule in schedules:
        named = not_counted({line.key: line.value for line in schedule.lines})
        door, framed = mine.threshold != "no door on this wall", mine.wall_type != "cavity masonry"
        assert ("strips of membrane at doors" in named) is (door and framed), mine
        sheet = mine.threshold.startswith("level") and "masonry" not in mine.wall_type
        assert ("metal sheets beside level doors" in named) is sheet, mine
        assert ("on primer, a metal sheet over it" in schedule.steps[0].text) is sheet, mine
        seen.add((door, framed, sheet))
    assert len(seen) == 5


def test_an_upstand_beside_a_level_door_goes_on_as_what_the_plate_stands_on(schedules):
    """On open studs no boards stand that it could be flush with; behind a leaf the drawn base has an inner wall, the foundation lies under the leaf too."""
    seen = set()
    for mine, schedule in schedules:
        named = not_counted({line.key: line.value for line in schedule.lines})
        for words in [line.build for line in schedule.lines if line.key == "door_side"]:
            leaf = mine.wall_type == "masonry veneer"
            assert ("its face as the inner wall's" in words) is leaf
            assert ("its face as the foundation's" in words) is not leaf
            assert "flush" not in words
            # the course beside the door steps down where its paving ends: nobody knows how far
            assert ("steps and ends of the leaf's course beside level doors" in named) is leaf
            assert (
                "soft strips behind the sills of level doors" in named
            ) is leaf  # as its drawing has it, no mesh
            seen.add(leaf)
    assert seen == {True, False}


def test_a_base_flashing_is_set_where_one_is_drawn_and_bought(schedules):
    """Both come with the closer of a cavity behind cladding; boards straight on the wall have neither."""
    seen = set()
    for mine, schedule in schedules:
        cavity = any(line.key == "slot" for line in schedule.lines)
        assert ("base flashing" in schedule.steps[0].text) is cavity, mine
        if not cavity and "masonry" not in mine.wall_type:
            assert "lowest board, on short packers" in schedule.steps[0].text, mine
        seen.add(cavity)
    assert seen == {True, False}


def test_battens_are_told_to_end_at_floor_lines_where_they_are_set(schedules):
    """The drawing of a floor line ends them there: who set them whole would have to cut them."""
    seen = set()
    for mine, schedule in schedules:
        keys = {line.key for line in schedule.lines}
        [battens] = [words for words in texts(schedule) if "then battens" in words] or [""]
        ended = "battens ended at the gap of each floor line" in battens
        assert ended is {"batten_sp", "floor_gap"}.issubset(keys), mine
        lower = "at a stop without a barrier the lower ones 12" in battens  # what holds the mesh there
        assert lower is {"batten_sp", "floor_gap", "cav_run"}.issubset(keys), mine
        seen.add(ended)
    assert seen == {True, False}


def test_a_render_board_is_rendered_and_no_other_cladding(schedules):
    """Before trims and flanges that come over the render, with the gaps of heads, floor lines and base kept open."""
    for mine, schedule in schedules:
        told = [words for words in texts(schedule) if words.startswith("Render the boards")]
        assert len(told) == (mine.wall_type == "rendered board"), mine
        assert all("gaps at heads, floor lines and base stay open" in words for words in told)


def test_the_soffit_is_set_and_bought_on_every_wall_that_no_parapet_tops(schedules):
    for mine, schedule in schedules:
        values = {line.key: line.value for line in schedule.lines}
        said = " ".join(texts(schedule))
        capped, clad = (
            "cap_slope" in values,
            mine.wall_type in ("timber frame with cladding", "rendered board"),
        )
        assert ("Before the last boards the soffit, up to the membrane" in said) is (clad and not capped), (
            mine
        )
        assert ("and the top of the cavity " in said) is ("cav_top" in values), mine
        assert ("soffits" in not_counted(values)) is not capped, mine


def test_the_roofs_membrane_stands_up_a_parapet_before_the_caps(schedules):
    seen = set()
    for _, schedule in schedules:
        for words in (words for words in texts(schedule) if "membrane under the cap" in words):
            assert "its sloped top set and the roof's membrane turned up to that, lay" in words
            seen.add(words[-20:])
    assert seen


def test_the_step_of_the_membrane_says_which_laps_are_taped(schedules):
    """As its row does, but for the openings, which are cut and taped in steps of their own: where those alone are taped it names a harder neighbour's corner."""
    seen = set()
    for _, schedule in schedules:
        lines = {line.key: line.value for line in schedule.lines}
        if "seam_tape" in lines:
            [words] = [words for words in texts(schedule) if re.search(MEMBRANE, words)]
            corner = " Tape the lap at a corner with a wall whose upright laps are taped."
            laps = {"openings": corner, "openings and upright laps": " Tape upright laps."}
            asked = laps.get(lines["seam_tape"], f" Tape {lines['seam_tape']}.")
            assert re.search(rf"[^.]*\.{re.escape(asked)} Lower edges over flashings stay open", words), words
            assert "ape openings" not in words
            seen.add(lines["seam_tape"])
    assert seen >= {"openings", "all laps, joined to the air seal"}


def test_a_closed_deck_is_flooded_before_anything_lies_on_its_membrane(schedules):
    """For 24 h, as its row says, with a record where a door opens on it; before light cladding ahead of the tray and the wall's membrane."""
    no_door = [
        Circumstances(wall_type=wall, deck="enclosed at the first floor", threshold="no door on this wall")
        for wall in CHOICES["wall_type"]
    ]
    without = [(mine, detail_schedule(exposure_of(45.0), pressure_of(100.0), mine)) for mine in no_door]
    seen = set()
    for mine, schedule in (*schedules, *without):
        steps = schedule.steps
        told = [place for place, step in enumerate(steps) if "let water stand on" in step.text]
        assert len(told) == mine.deck.startswith("enclosed"), mine
        for place in told:
            door = mine.threshold != "no door on this wall"
            assert "for 24\u00a0h" in steps[place].text
            assert "deck_flood" in steps[place].sets
            assert "write down from when to when" in (steps[place].hold if door else steps[place].text)
            assert steps[place].hold.startswith("At a door to a closed deck") is door
            assert "carries the water" in steps[place].caution
            if mine.wall_type in CLAD:
                assert all(
                    place < later for later, step in enumerate(steps) if {"membrane", "tray"} & set(step.adds)
                )
            seen.add((mine.wall_type, door))
    assert len(seen) == 8


def test_the_edge_of_the_floor_at_a_closed_deck_is_primed_before_sheets_lie_on_it(schedules):
    """Its drawing has both membranes on that edge and no strip."""
    seen = set()
    for mine, schedule in schedules:
        said = texts(schedule)
        deck = any(line.key == "deck_tray" for line in schedule.lines) and mine.wall_type in CLAD
        hung = [words for words in said if "deck is closed hang a sheet" in words]
        assert [
            words for words in hung if "its recess too, is primed before that: no strip hangs there" in words
        ] == (hung if deck else []), mine
        strip = [words for words in said if "hang a strip of membrane on it" in words]
        assert all(("; at one to a closed deck, primed before, no strip" in words) is deck for words in strip)
        assert all("tape sill and lower corners of each door" in words for words in strip)
        edge = next((line for line in schedule.lines if line.key == "door_edge"), None)
        if edge:
            assert ("hang no strip there" in edge.caution) is deck
        seen.add((deck, bool(hung)))
    assert seen == {(True, True), (False, False)}


def test_the_membranes_top_edge_is_taped_over_what_stands_there(schedules):
    """On a parapet over its sloped top, as the cap is drawn; that of a veneer lies on the membrane."""
    seen = set()
    for mine, schedule in schedules:
        said = [words for words in texts(schedule) if "its top edge taped over" in words]
        row = next((line.build for line in schedule.lines if line.key == "mem_top"), "")
        assert len(said) == bool(row)
        if row:
            sloped = mine.parapet and mine.wall_type in CLAD
            assert ("over the sloped top of the parapet, which stands before it" in said[0]) is sloped, mine
            assert ("over the plate, and round each rafter that stands already" in said[0]) is not sloped
            assert ("rafters stand already" in row) is not sloped
            assert ("sloped top of the parapet" in row) is sloped
            drawn = (
                any(
                    name.startswith("Membrane, turned in over the sloped top")
                    for name in drawn_parts(mine, schedule)
                )
                if mine.parapet
                else False
            )
            assert drawn is sloped
            seen.add((mine.parapet, sloped))
    assert seen == {(True, True), (True, False), (False, False)}


def test_the_metal_cover_of_a_door_hangs_in_front_of_strip_and_tray_and_is_set_after_them(schedules):
    """It is screwed behind the lip of the outer sill, which comes last: its line tells the place, its step the time."""
    told = set()
    for mine, schedule in schedules:
        [line] = [line.build for line in schedule.lines if line.key == "door_edge"] or [""]
        steps = [step.text for step in schedule.steps]
        if "metal cover" in line:
            assert (
                "for the tray to fall over. In front of both hang a metal cover below the outer sill" in line
            )
            strip, cover = (
                next(place for place, text in enumerate(steps) if words in text)
                for words in ("hang a strip of membrane on it", "a metal cover below that sill")
            )
            assert strip < cover
        told.add((mine.wall_type, "metal cover" in line))
    assert {(CLAD[0], True), (CLAD[1], True)} <= told


def test_battens_are_notched_for_the_head_flashing_and_no_barrier_is(schedules):
    """It reaches past the jambs, over the battens beside the opening; over the cavity it is set after them, and their tops after it."""
    for mine, schedule in schedules:
        told = [words for words in texts(schedule) if "then battens" in words]
        late = mine.window_position == "over the cavity"
        notched = "notch battens for the flashing over an opening, never a barrier"
        ended = "end the battens beside an opening, never a barrier, at its head until its flashing is in"
        assert all((ended in words, notched in words) == (late, not late) for words in told), mine
        if told and late:
            [flashing] = [words for words in texts(schedule) if words.startswith("Set the head flashing")]
            assert "then the battens beside it on up" in flashing


def test_a_hood_at_a_pipe_is_set_when_the_joint_round_it_is_sealed():
    """Where it is ordered and bought, on every wall and frame, and nowhere else."""
    seen = set()
    for wall, sheathing, position, frame in FRAMED_WALLS:
        for spell, push in ((10.0, 50.0), (70.0, 250.0), (140.0, 400.0)):
            mine = Circumstances(
                wall_type=wall, sheathing=sheathing, window_position=position, frame_type=frame
            )
            schedule = detail_schedule(exposure_of(spell), pressure_of(push), mine)
            bought = "hoods at pipes" in not_counted({line.key: line.value for line in schedule.lines})
            [said] = [step.text for step in schedule.steps if step.text.startswith("Round each pipe seal")]
            hood = " Then the hood over its end, as its maker says, top edge and sides sealed."
            assert said.endswith(hood) is bought
            assert ("hood" in said) is bought
            seen.add((wall, bought))
    assert {(one, True) for one in CHOICES["wall_type"] if one != "cavity masonry"} <= seen
    assert ("cavity masonry", True) not in seen


def test_the_weep_holes_at_the_base_are_left_with_the_course_they_stand_on(schedules):
    """When trays and their weeps are set the base is long shut."""
    for mine, schedule in schedules:
        told = [words for words in texts(schedule) if "lowest damp-proof course" in words]
        assert len(told) == (mine.wall_type not in CLAD)
        assert all("weep holes 900\u00a0mm apart or closer in the leaf on it" in words for words in told), (
            mine
        )


def test_row_and_step_turn_stretch_tape_round_the_same_corners(schedules):
    """All four over film on open studs, the lower ones where boards stand behind the membrane; neither leaves it to the reader."""
    seen = set()
    for mine, schedule in schedules:
        row = next((line.build for line in schedule.lines if line.key == "corner_tape"), None)
        if row is not None:
            said = " ".join(texts(schedule))
            film = any(line.key == "stud_layers" for line in schedule.lines)
            for words in (row, said):
                assert ("all four corners" in words) is film, mine
                assert bool(re.search("each lower corner|(both|the) lower corners", words)) is not film, mine
                assert "where no boards" not in words
            seen.add(film)
    assert seen == {True, False}


def test_studs_have_one_spacing(schedules):
    """That of the battens where there are any: at the hardest 450 mm, and no 600 mm beside it."""
    seen = set()
    for mine, schedule in schedules:
        lines = {line.key: line for line in schedule.lines}
        if "fix_mm" in lines:
            battens = "batten_sp" in lines
            assert ("on studs at most 600 mm apart" in lines["fix_mm"].build) is not battens, mine
            assert not battens or "over studs no farther apart" in lines["batten_sp"].build
            seen.add(lines["batten_sp"].value if battens else None)
    assert seen == {600, 450, None}


def test_a_floor_line_says_what_its_flashing_stands_on(schedules):
    """Its drawing is named: that of the stop where the cavity has one, that of the open cavity where it has none."""
    seen = set()
    for mine, schedule in schedules:
        keys = {line.key for line in schedule.lines}
        for step in (one for one in schedule.steps if one.text.startswith("At each floor line")):
            kind = "stop" if "cav_run" in keys else "battens" if "batten_sp" in keys else "membrane"
            words = {"stop": "the flashing of the stop", "battens": "stands on the battens", "membrane": "behind the membrane"}[kind]  # fmt: skip
            assert words in step.text, mine
            if "stands on the battens" in step.text:
                assert " up behind the cladding, and leaves" in step.text
            row = next(line for line in schedule.lines if line.key == "floor_gap")
            assert not row.caution  # the step says it, where there is such a line
            assert (
                step.drawn
                == {
                    "stop": ("floor-line", "floor-open"),
                    "battens": ("floor-open",),
                    "membrane": ("floor-direct",),
                }[kind]
            )
            seen.add(kind)
    assert seen == {"stop", "battens", "membrane"}


def test_a_film_is_held_back_where_a_cavity_lies_before_it(schedules):
    """Boards hold it themselves, and boards straight on the wall press it flat."""
    seen = set()
    for mine, schedule in schedules:
        lines = {line.key: line for line in schedule.lines}
        film = "stud_layers" in lines
        cavity = any(
            float(lines[key].value) > 0 for key in ("cav_depth", "cav_render", "cav_mas") if key in lines
        )
        assert ("film_straps" in lines) is (film and cavity), mine
        bought = not_counted({key: line.value for key, line in lines.items()})
        assert ("straps over the film" in bought) is (film and cavity)
        assert ("blocking behind taped edges" in bought) is film
        seen.add((film, cavity))
    assert len(seen) == 4


def test_the_apron_of_a_flat_roof_is_set_before_the_tray_over_it(schedules):
    """The drawing has a metal apron between the roof's membrane and the tray: the leaf is built over it."""
    leaves = 0
    for circumstances, schedule in schedules:
        if circumstances.roof_below != "flatter than 10 degrees" or not schedule.steps:
            continue
        told = texts(schedule)
        (apron,) = [place for place, words in enumerate(told) if "metal apron" in words]
        if circumstances.wall_type in ("masonry veneer", "cavity masonry"):
            leaves += 1
            assert apron < next(
                place for place, words in enumerate(told) if "lay the cavity tray on that" in words
            )
    assert leaves


LEAF_WALLS = ("masonry veneer", "cavity masonry")


def orders_before_the_leaf(schedules, row, words):
    """On walls with a leaf, each step with ``words``, which stands where the row does, with the steps in words; it sets the row."""
    for mine, schedule in schedules:
        lines = {line.key: line for line in schedule.lines}
        if mine.wall_type not in LEAF_WALLS or not schedule.steps:
            continue
        told = texts(schedule)
        places = [place for place, text in enumerate(told) if words in text]
        assert len(places) == (row in lines), mine
        for place in places:
            assert row in schedule.steps[place].sets
            yield mine.wall_type, lines[row].value, place, told


def test_a_saddle_against_a_leaf_is_set_before_the_tray_over_it(schedules):
    """Its drawing has it on a strip of membrane, its upper edge in the joint under the tray: 150 mm up at the highest level."""
    seen = set()
    for wall, up, place, told in orders_before_the_leaf(schedules, "saddle_up", "turn its saddle"):
        assert f"{up:g}\u00a0mm up" in told[place]
        assert "on a strip of membrane" in told[place]
        assert place < min(at for at, words in enumerate(told) if ON_A_LEAF in words)
        seen.add((wall, up))
    assert {wall for wall, _ in seen} == set(LEAF_WALLS)
    assert 150 in {up for _, up in seen}


def test_the_membrane_of_a_closed_deck_goes_up_the_leaf_before_water_stands_on_it(schedules):
    """As high as its row has it, before the joint takes it and before the flood test."""
    seen = set()
    closed = "deck is closed turn its membrane"
    for wall, up, place, told in orders_before_the_leaf(schedules, "deck_up", closed):
        assert f"{up:g}\u00a0mm up the leaf" in told[place]
        after = [at for at, words in enumerate(told) if ON_A_LEAF in words or "let water stand on" in words]
        assert after
        assert place < min(after)
        seen.add((wall, up))
    assert seen == {(wall, up) for wall in LEAF_WALLS for up in (150, 180)}


def test_the_course_over_the_head_of_a_door_to_a_closed_deck_is_turned_in_before_the_board(schedules):
    """Its row takes it over the head too: it lies under the lintel, and the photograph shows it."""
    seen = 0
    for _, schedule in schedules:
        rows = {line.key: line.build for line in schedule.lines}
        told = texts(schedule)
        boards = [place for place, words in enumerate(told) if "its head closed" in words]
        heads = [
            place for place, words in enumerate(told) if "damp-proof course under the lintel, left" in words
        ]
        assert len(heads) == len(boards)
        for head, board in zip(heads, boards, strict=True):
            assert "over the head too" in rows["dpc_jamb"]
            assert head < board
            assert told[head].startswith("Close the head: lintel")
            (course,) = schedule.steps[head].at_doors  # walls without one share the step
            assert course.startswith("; at a door to a closed deck a damp-proof course")
            assert "turn the damp-proof course under the lintel in along the barrier" in told[board]
            assert "photograph barrier and damp-proof course over the frame" in schedule.steps[board].hold
            seen += 1
    assert seen


@pytest.mark.parametrize(
    ("deck", "threshold", "door", "closed"),
    [
        ("none", "no door on this wall", False, False),
        ("none", "a step at every door", True, False),
        ("open slats near the ground", "a step at every door", True, False),
        ("slatted or roofed over, above the ground", "a step at every door", True, True),
        ("enclosed at the first floor", "no door on this wall", False, True),
    ],
)
def test_the_tray_over_a_stop_in_a_leaf_ends_beside_a_door_and_gives_way_to_a_closed_deck(
    deck, threshold, door, closed
):
    """Its leg would cross the doorway; the deck's membrane stands above its weep holes."""
    mine = Circumstances(
        wall_type="masonry veneer", storeys=3, cavity_break=True, deck=deck, threshold=threshold
    )
    schedule = detail_schedule(exposure_of(140.0), pressure_of(400.0), mine)
    (step,) = [step for step in schedule.steps if "build a cavity tray into it" in step.text]
    assert (
        ", ended in a stop-end clear of its sill at both sides of a door on that floor" in step.text
    ) is door
    assert bool(step.at_doors) is door
    after = [step for step in schedule.steps if "build no such tray along it" in step.text]
    assert len(after) == closed
    if closed:
        assert schedule.steps.index(after[0]) == schedule.steps.index(step) + 1


def test_battens_are_as_wide_as_a_nailing_asks_and_film_reaches_the_stud_of_a_corner(schedules):
    """Battens of 38 mm by the National Building Code of Canada; over open studs each wall's own layers reach the corner stud."""
    rows = [{line.key: line.build for line in schedule.lines} for _, schedule in schedules]
    battens = [one["batten_sp"].replace("\u00a0", " ") for one in rows if "batten_sp" in one]
    film = [one["stud_layers"] for one in rows if "stud_layers" in one]
    assert all("one as wide as a batten and the other wall's cavity together" in one for one in battens)
    assert battens
    assert film
    assert all("38 mm wide or more" in one for one in battens)
    assert all("at a corner as far as its stud, under the sheet that turns it" in one for one in film)


def test_the_gap_under_a_frame_behind_a_leaf_is_closed_when_the_frame_stands(schedules):
    """It is between the leaf's sill and the frame, which over the cavity comes last; at the boards the frame stands before the leaf."""
    seen = set()
    for mine, schedule in schedules:
        if mine.wall_type == "masonry veneer":
            told = [step.text for step in schedule.steps]
            (ties,) = (text for text in told if text.startswith("As the leaf comes up screw its ties"))
            frames = [text for text in told if text.startswith("Set the window from the room side")]
            assert bool(frames) is (mine.window_position == "over the cavity")
            assert ("soft strip in the gaps under frames" in ties) is (not frames)
            [at] = [step.drawn for step in schedule.steps if step.text == ties]
            assert {"wall-top-eaves", "parapet-cap"} <= set(at)  # where the gap over the leaf is drawn
            assert all("mesh or a soft strip in the gap under it" in text for text in frames)
            seen.add(bool(frames))
    assert seen == {True, False}


@pytest.mark.parametrize("deck", ["none", "enclosed at the first floor"])
def test_what_a_leaf_hides_is_set_and_sealed_before_it(deck):
    """Ties, brackets, the barrier under a tray over a stop and the board over a door's barrier, each named by its step."""
    mine = Circumstances(
        wall_type="masonry veneer",
        storeys=3,
        cavity_break=True,
        deck=deck,
        threshold="a step at every door",
        window_position="over the cavity",
        frame_type="box frame with straps",
    )
    told = [step.text for step in detail_schedule(exposure_of(140.0), pressure_of(400.0), mine).steps]
    place = {
        words: next(n for n, text in enumerate(told) if words in text)
        for words in ("screw its ties", "sill on the leaf alone")
    }
    assert place["screw its ties"] < place["sill on the leaf alone"]
    assert any("over a cavity barrier if the fire rules ask for one there" in text for text in told)
    closed = deck != "none"
    assert (
        any("each screw sealed to the membrane and none through the tray" in text for text in told) is closed
    )
    assert (
        any(
            "with a reveal board from the leaf to the frame, fixed to that, its foot open" in text
            for text in told
        )
        is closed
    )
    assert not any("board as deep" in text for text in told)


def test_a_meter_boxs_flashing_goes_through_a_slit_with_taped_ends(schedules):
    """The membrane hangs before it: as at any flashing, its leg goes through a slit."""
    told = [
        step.text
        for _, schedule in schedules
        for step in schedule.steps
        if "Flashings over meter boxes" in step.text
    ]
    assert told
    assert all("behind the membrane through a slit, its ends taped" in text for text in told)


@pytest.mark.parametrize(
    ("frame", "battens", "told"),
    [(FLANGE, False, True), (FLANGE, True, False), ("box frame with straps", False, False)],
)
def test_boards_on_the_membrane_end_clear_of_the_frame_where_nothing_covers_the_slot(frame, battens, told):
    mine = Circumstances(frame_type=frame)
    shown = {row.key: f"{row.values[0]}\u00a0{row.unit}" for row in ladder_rows()}
    shown["reveal"] = "as drawn"
    if not battens:
        del shown["batten_sp"]
    [step] = [one.text for one in window_steps(mine, 1, shown) if one.text.startswith("Fix the cladding")]
    assert ("and of the frame at both jambs" in step) is told


@pytest.mark.parametrize("sheathing", ["sheathed", "open studs"])
@pytest.mark.parametrize("frame", [FLANGE, "box frame with straps"])
def test_boards_are_rendered_before_outer_sill_cover_and_lining_are_set_over_them(frame, sheathing):
    mine = Circumstances(wall_type="rendered board", frame_type=frame, sheathing=sheathing)
    shown = {
        row.key: f"{row.values[1]}\u00a0{row.unit}"
        for row in ladder_rows()
        if mine.wall_type in (row.walls or [mine.wall_type])
    }
    steps = [one.text for one in window_steps(mine, 2, shown)]
    places = [
        next(n for n, one in enumerate(steps) if one.startswith(words))
        for words in ("Fix the cladding", "Render the boards", "Fix the outer sill")
    ]
    assert places == sorted(places)
    assert not any("outer sill to" in one or "Line the reveal" in one for one in steps[: places[1]])


def test_behind_a_leaf_no_flap_is_brought_down_over_a_tray(schedules):
    """It would have to be cut more than 300 mm high: as over a cavity the leg goes up through a level cut."""
    seen = 0
    for mine, schedule in schedules:
        if mine.wall_type == "masonry veneer":
            steps = " ".join(one.text for one in schedule.steps)
            assert "head flap" not in steps
            assert "cavity tray" not in steps or "through a level cut" in steps
            seen += 1
    assert seen > 5
