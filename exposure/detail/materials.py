"""What the rows of the ladder order to be bought: what the take-off counts, what it only names, and rows without material."""

from collections.abc import Collection, Mapping, Sequence
from typing import Any, NamedTuple

from exposure.figures import listed


class Item(NamedTuple):
    """One thing that the take-off counts."""

    name: str  # as an office's price file has it
    field: str  # of :class:`exposure.detail.take_off.TakeOff`
    unit: str
    decimals: int  # shown
    rows: str  # of the ladder that order it

    @property
    def head(self) -> str:
        """Over a column of it."""
        return f"{self.name} {self.unit}" if self.unit != "piece" else f"{self.name}s"


ITEMS = (
    Item("membrane", "membrane", "m2", 0, "ocorner icorner mem_class mem_perm stud_layers lap_h lap_v"),
    Item("tape", "tape", "m", 0, "mem_top seam_tape tape_pair open_tape tape_w box_tape"),
    Item("sill tray", "sill_tray", "m", 1, "sill_form back_dam end_dam tray_down door_sill"),
    Item("head flashing", "head_flashing", "m", 1, "head_form head_slope head_up head_lap head_drip head_past head_ends head_stop"),
    Item("batten", "batten", "m", 0, "cav_depth cav_render batten_sp cav_corner"),
    Item("corner piece", "corner_pieces", "piece", 0, "sill_form"),
    Item("stretch tape", "stretch_tape", "m", 1, "corner_tape"),
    Item("inner seal", "inner_seal", "m", 0, "air_seal"),
    Item("base flashing", "base_flashing", "m", 0, "drip"),
    Item("base closer", "base_closer", "m", 0, "cav_vent slot"),
    Item("damp-proof course", "damp_proof_course", "m", 0, "low_timber dpc_up base_tray dpc_jamb sill_past"),
    Item("cavity tray", "cavity_tray", "m", 1, "head_tray_mas tray_fall tray_out head_up tray_stop cav_run_leaf"),
    Item("rigid board", "rigid_board", "m2", 0, "mem_class"),
)  # fmt: skip
TRIMS, HEAD_TRIMS = "trims at the jambs", "trims at jambs and head"
DECK_TRIMS = "trims round doors to closed decks"
HOODS, INSULATION = "hoods over windows", "insulation in the cavity"
REVEAL_LININGS = "reveal linings"
CLOSERS = "closers of cavities over roofs, decks and rails"
FRAMES_BOARDS = "boards of the frame"  # on its studs already, by the frame's own drawings
SOFFITS = "soffits"
SUPPORTS = ("sill supports", "blocking behind sill supports")
POSTS_BEFORE, KERBS = "posts of the deck before doors", "kerbs or bearers of concrete under channels"
BEARERS = "what carries floors out under doors"
COVERS = "metal covers below outer sills of doors"
ROOFS_MEMBRANE = "the roof's membrane up the wall"
SHEETS_BESIDE = "metal sheets beside level doors"
STEPPED_COURSES = "steps and ends of the leaf's course beside level doors"
SOFT_STRIPS = "soft strips behind the sills of level doors"
SPACERS, LEDGERS = "spacers and blocks of the deck", "ledger, joists, bolts, washers and slats of the deck"
ACROSS, AT_FLOORS = "flashings across the cavity", "flashings at floor lines"
FLOOR_TRAYS = "cavity trays in the leaf where the cavity stops at a floor"
GAP_STRIPS = "compressible strips in the gaps of corner battens"
REVEALS_INSIDE = "boards at jambs and head inside"
STRIPS_BEHIND, BOARDS_INSIDE = "strips behind trays of film", "window boards"
PRIMER = "primer"
INSIDE, INSIDE_UNSETTLED = "the inside layer", "the inside layer once it is settled"
DISCS = "discs on the ties that hold the insulation"
NAMED = {  # ordered, not counted: each with the rows that order it
    "cladding": "clad_gap",
    "render with its mesh and beads": "clad_carrier",
    FRAMES_BOARDS: "",
    "the outer leaf": "cav_mas",
    "its ties": "leaf_ties tie_holes",
    DISCS: "leaf_ties",
    "patches of tape under ties": "tie_holes",
    "insulation between the studs": "mem_class",
    "lintels": "head_tray_mas",
    INSULATION: "cav_mas",
    "fixings": "fix_mm fix_flange fix_over fix_box fix_set_back clad_nail nail_deep clad_screw clad_hidden clad_carrier fix_metal fix_wind",
    "outer sills": "bottom_open",
    TRIMS: "jamb_cover",
    HEAD_TRIMS: "jamb_cover",
    DECK_TRIMS: "deck_frame",
    "metal covers and sills over the cavity": "sill_cover deck_sill",
    "brackets under metal sills of doors": "step_bracket",
    "straps of the frames": "fix_box deck_frame sill_bracket",
    "brackets of the frames, or liners": "fix_over",
    "reveal boards": "reveal_board reveal_door",
    HOODS: "reveal_face",
    REVEAL_LININGS: "reveal",
    SUPPORTS[0]: "sill_support sill_bracket",
    SUPPORTS[1]: "sill_support",
    "strips under trays of film": "sill_bracket",
    STRIPS_BEHIND: "back_dam",
    "packers and bevels": "sill_slope",
    "film up the jambs": "jamb_up",
    "sealant outside": "fix_flange reveal_face ledger_seal pen_joint",
    PRIMER: "tape_prep door_edge",
    "paint for ends and backs of boards": "cut_ends extractives",
    "strips between metals and timber or mortar": "metal_timber metal_mortar",
    "the seal under the plate": "plate_seal",
    "filling of the cavity at the base": "base_tray",
    "base sheets": "snow_base",
    "sheets that snow may lie against, over roofs and decks": "snow_roof",
    "mesh": "mesh",
    CLOSERS: "roof_gap",
    "vermin closers": "head_closer",
    "cavity barriers and their trays": "cav_fire",
    SOFFITS: "mem_top cav_mas",
    "closers at the top of the cavity": "cav_top cav_top_cap",
    GAP_STRIPS: "cav_corner",
    "slotted baffles at the top of the cavity": "cav_top cav_top_cap",
    ACROSS: "cav_run",
    FLOOR_TRAYS: "cav_run_leaf",
    AT_FLOORS: "floor_gap",
    "tape, flanges or sleeves at pipes": "pen_tape pen_form",
    "hoods at pipes": "pen_form",
    "flashings and blocks at boxes and lights": "box_flash block_fix",
    "lintels and trays over boxes": "box_tray",
    "damp-proof courses behind boxes": "box_tray",
    "flashings and trays over roofs and decks": "step_h step_on step_flat step_tray deck_up ledger_flash",
    "kick-outs": "kick_h kick_proj",
    "sloped tops under caps": "cap_slope",
    "caps with the membrane under them": "cap_slope cap_cover cap_under",
    "clips or screws of caps": "cap_fix",
    "saddles": "saddle_up",
    ROOFS_MEMBRANE: "step_flat snow_roof",
    "the roof's membrane up the parapet and what backs it": "cap_slope",
    "the deck's membrane": "deck_up deck_tray",
    "outlets and overflows of closed decks": "deck_fall",
    "what is walked on over that membrane, with its supports": "deck_up",
    "upstands beside level doors": "door_side",
    SHEETS_BESIDE: "door_side",
    STEPPED_COURSES: "door_side",
    SOFT_STRIPS: "door_side",
    "strips of membrane at doors": "door_edge",
    COVERS: "door_edge",
    "channels and gratings": "door_level deck_snow",
    POSTS_BEFORE: "deck_slats",
    KERBS: "deck_slats",
    BEARERS: "reveal_door",
    "stairs and landings of doors in snow": "door_snow",
    "roofs over doors, or drained channels before them, where their drawings ask them": "door_sill",
    SPACERS: "deck_slats ledger_block",
    LEDGERS: "deck_slats",
    "posts, joists, ledger and slats of the deck": "ledger_leaf",
    "blocking behind the ledger": "ledger_block",
    "straps over the film": "film_straps",
    "blocking behind taped edges": "stud_layers",
    INSIDE: "inside_layer",
    INSIDE_UNSETTLED: "inside_layer",
    "the airtight lining": "air_seal",
    BOARDS_INSIDE: "air_seal",
    REVEALS_INSIDE: "air_seal",
}
MEMBRANE = "mem_class"  # a framed wall has one
UNSETTLED = "to be settled"  # the layer on the room side, as its row says it
NO_MATERIAL = (
    "gnd paved cav_base plate_lap snow_ask snow_open dry_frame dry_board staple_live mem_foot tape_temp tape_bond wash reveal_leaf "
    "pen_slope leaf_fix deck_step deck_flood deck_slats_down chk_type chk_first chk_min chk_pct chk_time chk_rate chk_fail "
    "smoke photo cav_vent_mas weep_sp weep_top leaf_gap fix_holes bare_max"
)
_AT = {  # items whose rows order them at some values alone: a word of those
    PRIMER: "primed",
    HOODS: "hood",
    "hoods at pipes": "hood",
    REVEAL_LININGS: "back",
    "closers at the top of the cavity": "closed",
    "slotted baffles at the top of the cavity": "baffled to",
    INSIDE_UNSETTLED: UNSETTLED,
}
_NOT_AT = {INSIDE: ("none", UNSETTLED)}  # what a value begins with at which a row orders none
ONLY_WITH = {  # items that a wall takes only where one of these rows stands too
    ROOFS_MEMBRANE: {"step_flat", "step_h"},  # snow lies on a deck too
    CLOSERS: {"slot"},  # straight on the wall there is no cavity
    TRIMS: {"fix_box"},  # a flange laps the joint itself
    HEAD_TRIMS: {"head_closer"},  # over the cavity
    DECK_TRIMS: {"fix_over"},  # a box frame has them at every opening
    POSTS_BEFORE: {"door_sill"},
    KERBS: {"door_level"},
    BEARERS: {"sill_bracket"},
    GAP_STRIPS: {"floor_gap"},
    REVEALS_INSIDE: {MEMBRANE},  # of cavity masonry the lining itself goes into the reveal
    **{key: {"cav_mas"} for key in (STEPPED_COURSES, SOFT_STRIPS)},
    STRIPS_BEHIND: {MEMBRANE},  # there the strip under the tray has its back
}
NOT_WITH = {  # items that a wall does not take where this row stands
    COVERS: "cav_mas",  # a leaf covers the strip itself
    TRIMS: "head_closer",
    HEAD_TRIMS: "fix_over",
    SOFFITS: "cap_slope",  # a parapet ends in its cap
    SHEETS_BESIDE: "cav_mas",  # a leaf hides the tape itself
    **dict.fromkeys((POSTS_BEFORE, KERBS), "cav_mas"),  # behind a leaf a deck has its own posts all along
    SPACERS: "ledger_leaf",  # before a leaf a deck stands on posts
    LEDGERS: "ledger_leaf",
    REVEAL_LININGS: "fix_box",  # a trim lines the reveal besides
    **dict.fromkeys((INSULATION, DISCS), MEMBRANE),  # of framing it stands between the studs
}

AT_WINDOWS = {STRIPS_BEHIND, BOARDS_INSIDE}  # at a door the floor has the tray's back
AT_STEPS = {COVERS}  # not at a level door


def not_counted(
    values: Mapping[str, Any], *, boarded: bool = False, absent: Collection[str] = ()
) -> tuple[str, ...]:
    """What a schedule orders to be bought and the take-off does not count.

    Parameters
    ----------
    values
        Of its rows, by their keys.
    boarded
        Whether boards stand on the studs already.
    absent
        What the wall does not take, by its list of openings.

    Examples
    --------
    >>> not_counted({"mem_class": "W2", "tape_prep": "clean and rolled"})
    ('insulation between the studs',)
    """
    return tuple(
        item
        for item, rows in NAMED.items()
        if (
            any(orders(item, values[key]) for key in rows.split() if key in values)
            or (boarded and item == FRAMES_BOARDS and MEMBRANE in values)
            or (item == REVEAL_LININGS and {"reveal", "batten_sp"} <= values.keys())  # a slot into the cavity
            or (
                item == PRIMER and "box_tape" in values and "cav_mas" not in values
            )  # at a head on bare board
        )
        and (item not in ONLY_WITH or not ONLY_WITH[item].isdisjoint(values))
        and NOT_WITH.get(item) not in values
        and item not in absent
        and not (item == AT_FLOORS and values.get("cav_run") == 1)  # stopped at each: one flashing is both
    )


def orders(item: str, value: object) -> bool:
    """Whether a row that orders the item has it bought at this value."""
    return _AT.get(item, "") in str(value) and not str(value).startswith(_NOT_AT.get(item, "none"))


def not_counted_words(items: Sequence[str]) -> str:
    """The same as a sentence.

    Examples
    --------
    >>> not_counted_words(("cladding", "fixings"))
    'Ordered, but not counted here: cladding and fixings.'
    """
    return f"Ordered, but not counted here: {listed(list(items))}." if items else ""
