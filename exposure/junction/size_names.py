"""A short word for each size, written beside its number in a drawing: two sizes of one drawing are never taken for one another."""

from exposure.junction.scene import Dimension

SIZE_NAMES = {
    "back_dam": "back", "end_dam": "end", "tray_down": "down", "sill_slope": "tray", "jamb_up": "up jamb", "sill_past": "past",
    "head_up": "leg", "head_lap": "lap", "head_drip": "drip", "head_slope": "flashing", "head_past": "past", "head_stop": "stop-end",
    "head_tray_mas": "tray", "tray_fall": "tray", "tray_out": "past leaf", "clad_gap": "gap", "cav_depth": "cavity", "cav_render": "cavity", "cav_mas": "cavity", "reveal": "set back",
    "tape_w": "tape", "tape_bond": "tape", "jamb_cover": "cover", "dpc_jamb": "course", "corner_tape": "corner", "fix_mm": "fixings",
    "gnd": "cladding", "paved": "cladding", "low_timber": "framing", "plate_lap": "lap", "drip": "drip", "snow_open": "snow",
    "dpc_up": "course", "cav_base": "below", "base_tray": "tray up", "weep_sp": "weeps", "weep_top": "next joint", "lap_h": "lap", "lap_v": "lap", "icorner": "past", "ocorner": "past",
    "batten_sp": "battens", "pen_slope": "pipe", "pen_tape": "tape", "floor_gap": "gap below", "step_h": "leg", "step_on": "on roof",
    "step_flat": "up", "snow_roof": "snow", "roof_gap": "gap", "kick_h": "up", "kick_proj": "out", "saddle_up": "up", "cap_cover": "down",
    "cap_slope": "cap", "deck_up": "up", "deck_fall": "deck", "deck_step": "step", "deck_slats": "clear", "ledger_flash": "leg",
    "deck_slats_down": "step", "sill_cover": "over sill", "deck_sill": "past leaf",
}  # fmt: skip


def size_name(one: Dimension) -> str:
    """The word beside a size; empty for a row that has none.

    Examples
    --------
    >>> size_name(Dimension("head_up", (0, 0), (0, 50), 50, "y"))
    'leg'
    """
    return one.name or SIZE_NAMES.get(one.key, "")
