"""Order of work at a window, once, step by step drawn; and the site water check, once for all elevations."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from exposure.assess.details_parts import ElevationDetails
from exposure.detail import ScheduleLine, Step
from exposure.detail.order import hood_clear
from exposure.detail.retrofit import NAMES
from exposure.detail.water_check import WaterCheck
from exposure.draw.marked import dimensions, say
from exposure.draw.work_frames import bare_frame
from exposure.figures import amount, listed
from exposure.junction.catalogue import runs_of, window_cannot
from exposure.junction.numbers import numbers_of
from exposure.paper.provenance import in_order
from exposure.paper.sheet_orders import ALSO, NUMBER, merged_orders, other_numbers, sentences_by_codes
from exposure.paper.sheet_plan import SheetPlan
from exposure.paper.sheet_words import openings_words

CLAUSE = re.compile(r"(?<=[.;:])\s+")
FRAME_LETTERS = 21.0  # of a frame 310 wide that is printed 138 px wide, so that 7 pt are left on paper
SIZE_WORDS = {  # rows whose figures stand in the steps
    "sill_slope": "fall of the sill tray",
    "lap_h": "level lap of the membrane",
    "lap_v": "upright lap of the membrane",
    "fix_mm": "fixings of the membrane apart",
    "corner_tape": "corner tape each way",
    "back_dam": "back of the tray up",
    "end_dam": "ends of the tray up",
    "jamb_up": "tray up the jambs",
    "tray_down": "tray down over the membrane",
    "tape_w": "jamb tape wide",
    "head_up": "head flashing up the wall",
    "head_lap": "head flashing down over the frame",
    "head_past": "head flashing past each jamb",
    "tape_bond": "level cut over the opening",
    "clad_gap": "gap over the head flashing",
    "head_tray_mas": "rise of the cavity tray",
    "tray_fall": "fall of the cavity tray",
    "tray_out": "cavity tray past the leaf",
    "drip": "drip of the base flashing",
    "snow_roof": "up the wall in snow",
    "step_flat": "membrane of a flat roof up the wall",
    "deck_up": "membrane of a deck up the wall",
    "deck_flood": "water on a closed deck",
    "kick_h": "kick-out up the wall",
    "kick_proj": "kick-out off the wall",
    "step_h": "roof flashing up the wall",
    "step_on": "roof flashing over the roof",
    "saddle_up": "saddle up the wall",
    "pen_slope": "fall of pipes",
    "pen_tape": "tape round pipes",
    "head_slope": "fall of the flashing",
    "ledger_flash": "flashing over the ledger up the wall",
    "deck_slats": "slatted deck clear of the wall",
    "film_straps": "straps over the film apart",
    "roof_gap": "cladding clear of roof or deck",
    "floor_gap": "gap at floor lines",
    "jamb_cover": "cover over the joint at the jambs",
    "dpc_up": "lowest damp-proof course above ground",
    "cav_base": "cavity below it",
    "base_tray": "tray at the base up the framing",
    "cav_mas": "clear cavity",
    "dpc_jamb": "damp-proof course in the jambs wide",
    "sill_past": "damp-proof course past the sill",
    "sill_cover": "metal cover over the sill",
    "weep_sp": "weep holes apart",
    "weep_top": "open joints at the top apart",
    "cap_cover": "cap down both sides",
    "cap_slope": "fall of the cap",
    "stud_layers": "layers of membrane",
}


def work_sheet(plan: SheetPlan) -> dict:
    """The order of work of the hardest elevation, with the sizes and words in which the others differ."""
    working = [one for one in plan.details.elevations if one.schedule.steps]
    first = working[0]
    numbers = numbers_of(first.schedule, first.circumstances, first.pressure)
    runs = runs_of([(first.name, numbers, first.schedule.steps)])
    pictures = {
        frame.number: Markup(bare_frame(frame, numbers, letters=FRAME_LETTERS, prefix=f"work{frame.number}"))
        for run in runs
        for frame in run.frames
    }
    alone = len(working) == 1
    gaps = first.schedule.steps[-1].number > len(first.schedule.steps)
    alike = {  # elevations whose form of a step is drawn as this one's
        step.number: [
            one.name
            for one in working
            if any((mine.number, mine.drawn) == (step.number, step.drawn) for mine in one.schedule.steps)
        ]
        for step in first.schedule.steps
    }
    return {
        "kind": "work",
        "number": plan.numbers["work"],
        "short": "order of work",
        "head": "Order of work at a window",
        "lead": say(
            "Nothing is covered before its record is made and signed in the register of openings. "
            "At a door the drawing of its threshold holds below the frame"
            + ("." if alone else f". Sizes are those of {plan.codes[first.name]}; the table has the others.")
            + (" A number left out is a step that other elevations alone have." if gaps else "")
        ),
        "cannot": _cannot(plan, working),
        "steps": [
            {
                **_step(step, _drawn_on(plan, step, alike[step.number])),
                "number": step.number,
                "picture": pictures.get(step.number, ""),
            }
            for step in first.schedule.steps
        ],
        "size_heads": [plan.codes[one.name] for one in working],
        "sizes": _sizes(working),
        "without": _left_out(plan, working),
        "differ": _other_steps(plan, working),
        "look_first": _looked_first(plan),
        "retrofit": _retrofit(plan),
    }


def _cannot(plan: SheetPlan, working: Sequence[ElevationDetails]) -> list[tuple[str, Markup]]:
    """What of the windows cannot be built or is not drawn, though the frames show them, each with its cure and its elevations."""
    found: dict[str, list[str]] = {}
    for one in working:
        words = window_cannot(one.name, numbers_of(one.schedule, one.circumstances, one.pressure))
        if words:
            found.setdefault(words, []).append(one.name)
    return [(plan.named(names), dimensions(words)) for words, names in found.items()]


def _sizes(working: Sequence[ElevationDetails]) -> list[dict]:
    """Sizes of the steps that are not the same everywhere; none where an elevation has no such step."""
    rows = []
    held = [{line.key: line for line in one.schedule.lines} for one in working]
    numbers = [{step.number for step in one.schedule.steps} for one in working]
    for step in working[0].schedule.steps:
        for key in step.sets:
            lines = [lines.get(key) for lines in held]
            if key in SIZE_WORDS and len({line and line.value for line in lines}) > 1:
                unit = next(line.unit for line in lines if line)
                what = f"{SIZE_WORDS[key]}, {unit}".removesuffix(", ")
                rows.append(
                    {
                        "step": step.number,
                        "what": what,
                        "cells": [
                            _size(line if step.number in there else None)
                            for line, there in zip(lines, numbers, strict=True)
                        ],
                    }
                )
        high = [_flap(one) for one in working] if "flap up" in step.adds else []
        if len(set(high)) > 1:
            rows.append({"step": step.number, "what": "cut of the head flap up, mm", "cells": high})
        snow = [_size(lines.get("snow_open")) for lines in held] if "dpc_up" in step.sets else []
        if len(set(snow)) > 1:
            rows.append({"step": step.number, "what": "course above ground in snow, mm", "cells": snow})
        clear = [_hood(lines.get("reveal_face")) for lines in held] if "window hood" in step.adds else []
        if len(set(clear)) > 1:
            rows.append({"step": step.number, "what": "hood clear of the frame, mm", "cells": clear})
    return rows


def _flap(one: ElevationDetails) -> str:
    numbers = numbers_of(one.schedule, one.circumstances, one.pressure)
    return "none" if numbers.cut_over_head else amount(numbers.flap_height, "")


def _hood(line: ScheduleLine | None) -> str:
    clear = hood_clear(str(line.value)) if line else None
    return "none" if clear is None else amount(clear, "")


def _size(line: ScheduleLine | None) -> str:
    return amount(line.value, "") if line else "none"


def _other_steps(plan: SheetPlan, working: Sequence[ElevationDetails]) -> list[dict]:
    """Steps that differ in more than their sizes, in full, with the elevations they hold for.

    Forms that differ in sizes, or in what holds at doors alone, are told once: an elevation without a door passes over that.
    """
    first, *others = working
    there = {step.number: step for step in first.schedule.steps}
    found: list[_Otherwise] = []
    for one in others:
        for step in one.schedule.steps:
            mine = there.get(step.number)
            if mine is not None and _covers(mine, step):
                continue
            told = next((each for each in found if each.sizes_of(step) is not None), None)
            if told is None:
                found.append(_Otherwise(mine, step, [one.name], [plan.codes[one.name]]))
            else:
                told.names.append(one.name)
                told.codes.append(f"{plan.codes[one.name]}{told.sizes_of(step)}")
    return [
        {
            "step": told.step.number,
            "codes": ", ".join(told.codes),
            "words": dimensions(
                _otherwise(told.mine, told.step)
                + (
                    ""
                    if told.mine and told.mine.drawn == told.step.drawn
                    else _drawn_on(plan, told.step, told.names)
                )
            ),
        }
        for told in sorted(found, key=lambda told: told.step.number)
    ]


def _left_out(plan: SheetPlan, working: Sequence[ElevationDetails]) -> str:
    """Which elevations leave steps of the first one out, all of them in one line."""
    first, *others = working
    found: dict[str, list[str]] = {}
    for step in first.schedule.steps:
        lack = [
            one.name for one in others if step.number not in {other.number for other in one.schedule.steps}
        ]
        if lack:
            found.setdefault(", ".join(plan.codes[name] for name in lack), []).append(str(step.number))
    return "; ".join(f"{codes} {listed(numbers)}" for codes, numbers in found.items())


@dataclass
class _Otherwise:
    """A step as other elevations do it: ``mine`` is how the first one does."""

    mine: Step | None
    step: Step
    names: list[str]
    codes: list[str]

    def sizes_of(self, step: Step) -> str | None:
        """The sizes in which ``step`` differs from these words, to stand behind a code; None where the words do not hold for it."""
        if (step.number, step.drawn) != (self.step.number, self.step.drawn) or not _covers(self.step, step):
            return None
        if _window_text(self.step) == _window_text(step):
            return ""
        sizes = other_numbers(_window_text(self.step), _window_text(step))
        if not sizes and not (self.mine and set(step.sets) <= set(self.mine.sets)):
            return None
        return f" ({sizes or 'sizes by the table'})"


def _window_text(step: Step) -> str:
    """What a step says of windows, with what is recorded and its caution."""
    text = step.text
    for words in step.at_doors:
        text = text.replace(words, "")
    return " ".join(filter(None, [text, step.hold, step.caution]))


def _covers(mine: Step, other: Step) -> bool:
    """Whether one form of a step tells all of another but its sizes."""
    bare, also = (
        (NUMBER.sub("#", _window_text(one)), {NUMBER.sub("#", words) for words in one.at_doors})
        for one in (mine, other)
    )
    return bare[0] == also[0] and bare[1] >= also[1]


def _clauses(step: Step) -> list[str]:
    return CLAUSE.split(" ".join(filter(None, [step.text, step.hold, step.caution])))


def _bare(step: Step) -> tuple[str, ...]:
    """A step in clauses without its numbers."""
    return tuple(NUMBER.sub("#", one) for one in _clauses(step))


def _otherwise(mine: Step | None, other: Step) -> str:
    """The clauses of a step that the same step elsewhere does not have; all its words where it shares none, or lacks some.

    A record and a caution that are the same stand there already.
    """
    if mine is None:
        return " ".join(filter(None, [other.text, other.hold, other.caution]))
    hold = "" if other.hold == mine.hold else other.hold or "No record."
    words = " ".join(filter(None, [other.text, hold, other.caution * (other.caution != mine.caution)]))
    known = _bare(mine)
    new = [one for one in CLAUSE.split(words) if NUMBER.sub("#", one) not in known]
    gone = [one for one in _clauses(mine) if NUMBER.sub("#", one) not in _bare(other)]
    if 0 < len(new) < 3 and len(new) < len(CLAUSE.split(words)) and len(gone) <= len(new):
        begun = [*map(_begun, gone)]
        alike = {*begun} <= {*map(_begun, new)}  # each stands in the place of the one that begins as it
        instead = "" if alike else f"In place of {listed([*dict.fromkeys(begun)])}: "
        return instead + re.sub("[;,:]$", " ...", " ".join(new))  # the rest of the sentence holds
    return f"In its place: {words}"


def _begun(clause: str) -> str:
    """How a clause begins, in quotation marks.

    Examples
    --------
    >>> _begun("Tape all laps, joined to the air seal.")
    '"Tape all laps ..."'
    """
    return f'"{" ".join(clause.split()[:3]).rstrip(",;:.")} ..."'


def _drawn_on(plan: SheetPlan, step: Step, names: Sequence[str]) -> str:
    """Where the drawings of a step stand that has no frame of its own, of these elevations."""
    cells = [plan.cells.get(key, {}).get(name) for key in step.drawn for name in names]
    sheets = sorted({cell.sheet for cell in cells if cell is not None})
    return (
        f" Drawn on sheet{'s' * (len(sheets) > 1)} {listed([str(one) for one in sheets])}." if sheets else ""
    )


def _step(step: Step, drawn_on: str = "") -> dict:
    return {"text": dimensions(step.text + drawn_on), "hold": say(step.hold), "caution": say(step.caution)}


def _looked_first(plan: SheetPlan) -> list[list[dict]]:
    """What to see, open and mend on a standing wall before the work starts."""
    return _by_number(plan, {one.name: one.schedule.look_first for one in plan.details.elevations})


def _retrofit(plan: SheetPlan) -> list[dict]:
    """Keep, clad over or strip a standing wall, and where new membrane meets old."""
    held = {one.name: {path.key: path for path in one.schedule.retrofit} for one in plan.details.elevations}
    told = []
    for key, title in NAMES.items():
        mine = {name: paths[key] for name, paths in held.items() if key in paths}
        verdicts: dict[str, list[str]] = {}
        for name, path in mine.items():
            verdicts.setdefault(path.verdict, []).append(name)
        if mine:
            told.append(
                {
                    "name": title,
                    "verdicts": [(plan.named(names), say(said)) for said, names in verdicts.items() if said],
                    "steps": _by_number(plan, {name: path.steps for name, path in mine.items()}),
                }
            )
    return told


def check_sheet(plan: SheetPlan) -> dict:
    """The site water check: what is the same everywhere once, what differs by elevation behind its codes."""
    checks = {one.name: one.water_check for one in plan.details.elevations}
    facts: list[tuple[str, Callable[[WaterCheck], str]]] = [
        ("How many", lambda one: f"{openings_words(one)}. {one.first if one.openings else ''}"),
        ("Pressure", lambda one: f"{one.pressure_words} {one.fan_words}"),
        ("Spray", lambda one: one.rate_words),
        ("Set-up", lambda one: " ".join(one.set_up)),
        ("Pass", lambda one: one.pass_rule),
        ("If it leaks", lambda one: one.on_failure),
    ]
    stopped = {name: one.stop for name, one in checks.items() if one.stop}
    return {
        "kind": "check",
        "number": plan.numbers["check"],
        "short": "water check",
        "head": "Site water check",
        "record": plan.numbers["openings"],
        "stops": sentences_by_codes(plan, stopped),
        "facts": [
            (head, sentences_by_codes(plan, {name: of(one) for name, one in checks.items()}))
            for head, of in facts
        ],
        "steps": _by_number(plan, {name: one.steps for name, one in checks.items()}),
        "cautions": [
            say(one) for one in in_order(one for check in checks.values() for one in check.cautions)
        ],
        "also": merged_orders(plan, lambda line: line.key in ALSO, in_full=("chk_type",)),
    }


def _by_number(plan: SheetPlan, steps: Mapping[str, Sequence[Step]]) -> list[list[dict]]:
    """Steps of several elevations by their number, each wording with the elevations it holds for."""
    rows = []
    for number in range(max(map(len, steps.values()), default=0)):
        mine: dict[Step, list[str]] = {}
        for name, own in steps.items():
            if number < len(own):
                mine.setdefault(own[number], []).append(name)
        (first, names), *others = mine.items()
        shorter: list[tuple[str, Markup]] = []
        shown = [{**_step(first), "codes": plan.named(names), "other": shorter}]
        for step, codes in ((step, plan.named(names)) for step, names in others):
            short = other_numbers(first.text, step.text)
            if short and (step.hold, step.caution) == (first.hold, first.caution):
                shorter.append((codes, dimensions(short)))
            else:
                shown.append({**_step(step), "codes": codes, "other": []})
        rows.append(shown)
    return rows
