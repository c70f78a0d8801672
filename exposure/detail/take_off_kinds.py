"""Kinds of what the take-off counts: class of membrane, form of tray, depth of batten and closer, width of tape, place of a course."""

from collections.abc import Mapping, Sequence
from typing import Any

from exposure.detail.materials import ITEMS, MEMBRANE
from exposure.detail.openings import Opening

TAPE, COURSE, BATTEN = "tape", "damp-proof course", "batten"
BY_THE_CODE = "as the code accepts (W2 where to be had)"  # of a membrane whose class no level settles
ON_THE_FRAME = {"fix_flange", "box_tape"}  # rows of frames whose jambs and head are taped once they stand
PAST_ENDS = 85.0  # mm of jamb tape below the sill line and above the head line; ours, as it is drawn
LEAST = 1e-6  # m, less is rounding
AS_DEEP = "as wide as the opening is deep"


def kinds(values: Mapping[str, Any]) -> dict[str, str]:
    """What tells one membrane, tray, batten, closer or seal from another, by the item's name: its class, form or depth.

    Parameters
    ----------
    values
        Of a schedule's rows, by their keys.

    Examples
    --------
    >>> kinds({"mem_class": "W1 on rigid boards", "cav_depth": 20.0, "batten_sp": 600.0})
    {'membrane': 'W1', 'batten': '20 mm deep', 'base closer': '20 mm deep'}
    """
    found = {}
    if MEMBRANE in values:
        found["membrane"] = str(values[MEMBRANE]).split(" ")[0].replace("basic", BY_THE_CODE)
    if "sill_form" in values:
        found["sill tray"] = str(values["sill_form"])
    if "air_seal" in values:
        rod = str(values["air_seal"]).startswith("rod")
        found["inner seal"] = "of rod and sealant" if rod else "of sealant, or foam and sealant"
    depth = next((float(values[key]) for key in ("cav_depth", "cav_render") if key in values), 0.0)
    return found | (dict.fromkeys(("batten", "base closer"), f"{depth:g} mm deep") if depth else {})


def by_kind(
    values: Mapping[str, Any],
    amounts: Mapping[str, Any],
    wide: float,
    deep: float,
    at_corners: float = 0.0,
    courses: Mapping[str, float] | None = None,
) -> dict[str, dict[str, float]]:
    """Of what comes in kinds, how much of a wall's own; tape by its widths, damp-proof courses by where they lie.

    Parameters
    ----------
    values
        As of :func:`kinds`.
    amounts
        By field of the take-off.
    wide
        Tape on jambs and head, which has a width of its own. [m]
    deep
        Tape that lines an opening to its full depth. The rest covers a joint on both its sides. [m]
    at_corners
        Battens at corners, which are wider. [m]
    courses
        Damp-proof courses along the base by their kinds. The rest lies at openings. [m]

    Examples
    --------
    >>> by_kind({"tape_w": 225.0, "tape_bond": 75.0}, {"tape": 30.0}, wide=10.0, deep=5.0)
    {'tape': {'225 mm wide': 10.0, 'as wide as the opening is deep': 5.0, '150 mm wide': 15.0}}
    """
    named = kinds(values)
    found = {
        one.name: {named[one.name]: amounts[one.field]}
        for one in ITEMS
        if one.name in named and amounts[one.field]
    }
    if at_corners and BATTEN in found:
        ((kind, much),) = found[BATTEN].items()
        found[BATTEN] = {kind: much - at_corners, f"{kind} (wide ones at corners)": at_corners}
    if amounts[TAPE]:
        both = 2 * float(values.get("tape_bond", 0))
        width = float(values.get("tape_w", both))
        least = "" if wide else f", at least {width:g} mm"  # where the lining alone closes the joint
        parts = (
            (f"{width:g} mm wide", wide),
            (AS_DEEP + least, deep),
            (f"{both:g} mm wide", amounts[TAPE] - wide - deep),
        )
        found[TAPE] = sums_by_kind([{TAPE: {width: much}} for width, much in parts if much])[TAPE]
    if courses:
        rest = amounts["damp_proof_course"] - sum(courses.values())
        found[COURSE] = {**courses, **({"at openings": rest} if rest > LEAST else {})}
    return found


def tapes_round(openings: Sequence[Opening], values: Mapping[str, Any]) -> tuple[float, float]:
    """Tape on jambs and head over the frame in the width ordered, and that which lines the opening to its depth on all four sides. [m]"""
    round_them = sum(one.count * (one.width + 2 * one.height) for one in openings) / 1000
    sills = sum(one.count * one.width for one in openings) / 1000
    over = sum(one.count * over_the_frame(one, values) for one in openings) / 1000
    if "open_tape" not in values:
        return 0.0, 0.0
    return over, round_them + sills


def over_the_frame(one: Opening, values: Mapping[str, Any]) -> float:
    """Tape on jambs and head of one opening once its frame stands: past sill and head line at the jambs, at the head over both jamb tapes. [mm]"""
    if not ON_THE_FRAME & values.keys():
        return 0.0
    wide = float(values.get("tape_w", 2 * float(values.get("tape_bond", 0))))
    return one.width + 2 * wide + 2 * (one.height + PAST_ENDS)


def sums_by_kind(parts: Sequence[Mapping[str, Mapping[str, float]]]) -> dict[str, dict[str, float]]:
    """Sums of :func:`by_kind`, each kind by itself.

    Examples
    --------
    >>> sums_by_kind([{"batten": {"20 mm deep": 9.0}}, {"batten": {"15 mm deep": 5.0}}, {"batten": {"20 mm deep": 1.0}}])
    {'batten': {'20 mm deep': 10.0, '15 mm deep': 5.0}}
    """
    sums: dict[str, dict[str, float]] = {}
    for part in parts:
        for item, each in part.items():
            mine = sums.setdefault(item, {})
            for kind, much in each.items():
                mine[kind] = mine.get(kind, 0.0) + much
    return sums
