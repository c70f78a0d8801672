"""The builder's file: one HTML for a phone on a site without signal, every elevation with what to do in order.

Derived from the builder's question, what do I do on this wall and in which order: the worst elevation and its three
figures come first, then its openings and the steps in frames, cautions, the plan with its codes and the way to every other
elevation; the reasons stay folded. Chosen opening by opening, the frames take ticks, names, readings and photos, which
the phone keeps and gives back as one file (:mod:`exposure.assess.site_record`). It holds its own style and one script,
asks for nothing, and works as plain tick boxes where script is off.
"""

import base64
import hashlib
import re
from collections.abc import Mapping
from datetime import date
from functools import cache
from pathlib import Path

from jinja2 import DictLoader, Environment, StrictUndefined
from markupsafe import Markup

from exposure.assess.details_parts import BuildingDetails, ElevationDetails
from exposure.assess.site_record import (
    FORMATS,
    LARGEST_PHOTO,
    MOST_PHOTO_BYTES,
    MOST_PHOTOS,
    RECORD,
    RESULTS,
    VERSION,
)
from exposure.detail.schedule_parts import Schedule, Step
from exposure.detail.water_check import WaterCheck
from exposure.draw.assessment_pictures import codes_of, plan_of
from exposure.draw.building_plan import plan_caption
from exposure.draw.factor_chain import factor_chain
from exposure.draw.lettering import clean
from exposure.draw.marked import (
    dimensions,
    mark_letter,
    mark_meanings,
    name,
    on_paper,
    say,
    tally_sign,
    whole,
)
from exposure.figures import amount, litres_with_band, pascals
from exposure.junction.catalogue import window_cannot
from exposure.junction.numbers import numbers_of
from exposure.paper.provenance import (
    DO_NOT_BUILD,
    in_order,
    is_invented,
    made_words,
    version_words,
)
from exposure.paper.register import Register, register_of
from exposure.paper.sheet import template_part, write_text
from exposure.paper.sheet_corners import asked_at_corners
from exposure.paper.sheet_orders import ALSO, CHECK_LINES, rules_once
from exposure.paper.sheet_plan import SheetPlan, sheet_plan
from exposure.paper.sheet_words import (
    LONGEST_SENTENCE,
    any_side_words,
    class_words,
    details_class_words,
    factors_in_words,
    level_words,
    openings_words,
    own_flags,
    pressure_words,
    raised_words,
    shared_flags,
)
from exposure.paper.site_drawings import PHONE, SiteDrawings, site_drawings
from exposure.rain.wind_pressure import head_words

MOST_ON_PHONE = 60  # openings of one elevation
LARGEST_FILE = 890_000  # bytes; what words leave of it the drawings have
PAUSE = re.compile(r"[,;] (?!\w+(?: \w+)? (?:or|and) )")  # none within a list
WHEN = re.compile(
    "(As|At|Before|Inside|Last|On|Once|Over|Under|When|Where) "
)  # a step that begins with its time or place
ORDERS = re.compile(
    r"\b(bolt|bring|build|carry|close|cover|end|fill|fix|hang|lay|leave|let|line|prime|seal|set (a|it|the|blocking)|take|tape|turn)\b"
)
LONGEST_ORDER, SHORTEST_ORDER = 70, 15  # letters in bold over a step, about four lines of a phone
UPSTAND, CAVITIES = "back_dam", ("cav_depth", "cav_mas", "cav_render")


def site_file_html(
    details: BuildingDetails, *, invented: bool | None = None, made: date | None = None
) -> str:
    """The whole file as one string, some hundred kilobytes for a house; where it would be larger than a message holds, drawings of the
    mildest elevations stay on paper.

    Parameters
    ----------
    details
        A :class:`exposure.assess.details_parts.BuildingDetails`.
    invented
        Whether anything put in is made up, which the file then says; by default told from the record.
    made
        Day it was saved; today by default.
    """
    sheets = sheet_plan(details)
    drawings = site_drawings(details, sheets)
    html = _rendered(details, sheets, drawings, invented, made)
    over = len(html.encode()) - LARGEST_FILE
    if over > 0:
        fewer = site_drawings(details, sheets, most=len(drawings.store.html) - over)
        html = _rendered(details, sheets, fewer, invented, made)
    return html


def _rendered(
    details: BuildingDetails,
    sheets: SheetPlan,
    drawings: SiteDrawings,
    invented: bool | None,
    made: date | None,
) -> str:
    assessment = details.assessment
    register = register_of(sheets)
    first, *others = [
        _elevation(details, place, one, register, drawings, asked_at_corners(sheets, one))
        for place, one in enumerate(details.elevations)
    ]
    css, js = template_part("site.css") + drawings.store.css, template_part("site.js")
    everywhere = [*assessment.flags, *shared_flags(details), assessment.band_statement]
    return (
        _environment()
        .get_template("site")
        .render(
            title=clean(f"On site: {assessment.building.name}, {assessment.site.name}", most=120),
            css=Markup(css),
            js=Markup(js),
            css_hash=_hash(css),
            js_hash=_hash(js),
            inputs=register.inputs,
            about=_about(register),
            results=RESULTS,
            who=name(f"{assessment.building.name}, {assessment.site.name}", most=80),
            made=made_words(made or date.today()),
            invented=is_invented(assessment) if invented is None else invented,
            do_not_build=DO_NOT_BUILD,
            first=first,
            others=others,
            cautions=[say(caution) for caution in details.elevations[0].schedule.cautions],
            rules=rules_once(sheets),
            plan=Markup(plan_of(assessment, size=340, callouts=False, prefix="site-plan")),
            plan_caption=say(plan_caption(assessment.elevations, ring=True)),
            doubts=[say(doubt, most=LONGEST_SENTENCE) for doubt in in_order(everywhere)],
            marks=mark_meanings(),
            store=drawings.store.html,
            version=version_words(),
        )
    )


def write_site_file(
    details: BuildingDetails, path: str | Path, *, invented: bool | None = None, made: date | None = None
) -> Path:
    """Write the builder's file to ``path`` (moved into place when whole) and return it."""
    return write_text(path, site_file_html(details, invented=invented, made=made))


def _about(register: Register) -> list[tuple[str, object]]:
    """What the script has to know of the house, and what a phone may keep."""
    return [
        ("key", register.key),
        ("house", clean(f"{register.house}, {register.place}", most=120)),
        ("name", re.sub(r"[^a-z0-9]+", "-", register.house.lower()).strip("-")[:40] or "house"),
        ("format", FORMATS[RECORD]),
        ("version", VERSION),
        ("most-photos", MOST_PHOTOS),
        ("most-bytes", MOST_PHOTO_BYTES),
        ("largest-photo", LARGEST_PHOTO),
    ]


def _elevation(
    details: BuildingDetails,
    place: int,
    one: ElevationDetails,
    register: Register,
    drawings: SiteDrawings,
    at_corners: Mapping[str, str],
) -> dict:
    exposure, schedule = one.exposure, one.schedule
    wall = exposure.wall.name
    shown = wall[:1].upper() + wall[1:]
    everywhere = shared_flags(details)
    doubts = [*(doubt.sentence for doubt in exposure.doubts), *own_flags(one)]
    figure = litres_with_band(exposure.wall_spell_index, exposure.spell_band)
    return {
        "id": f"e{place}",
        "label": clean(f"{wall} elevation", most=60),
        "kind": "Worst elevation" if place == 0 else "Elevation",
        "title": name(shown, most=60),
        "row": name(wall, most=60),
        "code": codes_of(details.assessment)[wall],
        "open": place == 0,
        "tally": tally_sign(exposure.exposure_class, size=12),
        "class_name": exposure.exposure_class,
        "words": class_words(exposure),
        "figure": say(litres_with_band(exposure.wall_spell_index, None, unit=False)),
        "sentence": say(
            f"{figure} {exposure.spell_label}: {class_words(exposure)}. {level_words(schedule)}"
            f"{details_class_words(exposure)}{' '.join(['', *raised_words(schedule)])}"
        ),
        "trio": [] if schedule.specific_design else _three_figures(one),
        "stop": say(schedule.specific_design) if schedule.specific_design else "",
        "stop_order": say(schedule.lines[0].build) if schedule.specific_design else "",
        "cannot": whole(window_cannot(wall, numbers_of(schedule, one.circumstances, one.pressure))),
        "door": drawings.at_door(one),
        "look_first": [_step(step) for step in schedule.look_first],
        "retrofit": [
            {"name": path.name, "verdict": path.verdict, "steps": [_step(step) for step in path.steps]}
            for path in schedule.retrofit
        ],
        "steps": [
            {
                **_step(step),
                "drawing": drawings.frames[wall].get(step.number, ""),
                "sections": drawings.at_step(wall, step),
                "drawn_on": drawings.drawn_on(wall, step),
            }
            for step in schedule.steps
        ],
        "places": _places(one, drawings, at_corners),
        "drawings": list(drawings.sections[wall].values()),
        "left_out": [whole(left.in_words()) for left in drawings.plan.left_out if wall in left.elevations],
        "openings": [
            {
                "mark": opening.mark,
                "kind": opening.kind,
                "size": opening.size,
                "shown": opening.size.replace(" ", "\u00a0"),
                "words": f"class {opening.asked}; "
                + (f"offered {opening.offered}" if opening.offered else "rating not known: ask"),
            }
            for opening in register.of(wall)[:MOST_ON_PHONE]
        ],
        "unlisted": max(0, len(register.of(wall)) - MOST_ON_PHONE),
        "asked": next(each.asked for each in register.walls if each.name == wall),
        "bare": say(one.bare_wrap.in_words) if one.bare_wrap else "",
        "check": _check(one.water_check, schedule) if one.water_check is not None else None,
        "chain": Markup(
            factor_chain(
                exposure,
                width=PHONE,
                narrow=True,
                factors=factors_in_words([each.exposure for each in details.elevations])[wall],
                prefix=f"site{place}-chain",
            )
        ),
        "pressure": dimensions(
            f"{pressure_words(one.pressure, one.design_pressure, tested=one.circumstances.air_seal_tested)} {any_side_words(one.pressure, one.exposure.wall.height)}"
        ),
        "doubts": [
            say(doubt, most=LONGEST_SENTENCE) for doubt in in_order(doubts) if doubt not in everywhere
        ],
    }


def _three_figures(one: ElevationDetails) -> list[tuple[str, str]]:
    """Upstand, pressure and cavity: the figures asked for most on site."""
    lines = {line.key: line for line in one.schedule.lines}
    found: list[tuple[str, str]] = []
    if UPSTAND in lines:
        found.append(
            (say(amount(lines[UPSTAND].value, lines[UPSTAND].unit)), "back of the sill tray turned up")
        )
    pressure = one.design_pressure  # the one the schedule follows
    found.append(
        (
            say(pascals(pressure)),
            say(f"wind with heavy rain, {head_words(pressure)} of water"),
        )
    )
    for key in CAVITIES:
        if key in lines:
            value = lines[key].value
            words = "clear cavity" if value else "no cavity asked for"
            found.append((say(amount(value, lines[key].unit)), words))
            break
    return found


def _step(step: Step) -> dict:
    """A step as its order and what belongs to it."""
    head, rest = _order_of(on_paper(step.text))
    rest = rest[:1].upper() + rest[1:]
    return {
        "number": step.number,
        "title": dimensions(head),
        "rest": dimensions(rest) if rest else "",
        "hold": say(step.hold) if step.hold else "",
        "caution": say(step.caution) if step.caution else "",
        "only": "door" if step.door else "",
    }


def _order_of(words: str) -> tuple[str, str]:
    """The order of a step and the rest: up to the first stop or colon, of a long one to the first pause after what is to be done.

    >>> _order_of("Lay the sill tray: back 50 mm.")
    ('Lay the sill tray', 'back 50 mm.')
    """
    whole = min((at for at in (words.find(". "), words.find(": ")) if at > 0), default=len(words))
    pauses = [one.start() for one in PAUSE.finditer(words, SHORTEST_ORDER, whole)]
    first = next((at for at in pauses if not WHEN.match(words) or ORDERS.search(words, 0, at)), whole)
    cut = first if whole > LONGEST_ORDER else whole
    return words[:cut].rstrip("."), words[cut + 2 :]


def _places(one: ElevationDetails, drawings: SiteDrawings, at_corners: Mapping[str, str]) -> list[dict]:
    """The schedule as a list of places to check, each with its orders, its cautions and the sections that show it."""
    schedule = one.schedule
    groups: dict[str, list] = {}
    for line in schedule.floor or schedule.lines:
        if not line.key.startswith(CHECK_LINES):
            groups.setdefault(line.where, []).append(line)
    places = []
    for where, lines in groups.items():
        orders = Markup(" ").join(
            Markup("{} {}{}").format(
                dimensions(f"{line.build} {at_corners.get(line.key, '')}".rstrip()),
                mark_letter(line.standing),
                Markup(" <i>{}</i>").format(line.rule) if line.rule else "",
            )
            for line in lines
        )
        cautions = in_order(line.caution for line in lines)
        places.append(
            {
                "title": say(where),
                "rest": orders,
                "hold": "",
                "caution": say(" ".join(cautions)) if cautions else "",
                "sections": drawings.at_rows(one.name, [line.key for line in lines]),
            }
        )
    return places


def _check(check: WaterCheck, schedule: Schedule) -> dict:
    facts = [
        ("How many", f"{openings_words(check)}. {check.first if check.openings else ''}"),
        ("Pressure", check.pressure_words),
        ("Fan", check.fan_words),
        ("Spray", check.rate_words),
        ("Set-up", " ".join(check.set_up)),
        ("Pass", check.pass_rule),
        ("If it leaks", check.on_failure),
        *((line.where, line.build) for line in schedule.lines if line.key in ALSO),
    ]
    return {
        "stop": say(check.stop) if check.stop else "",
        "facts": [(head, dimensions(words)) for head, words in facts],
        "steps": [
            {"text": dimensions(step.text), "hold": say(step.hold), "caution": say(step.caution)}
            for step in check.steps
        ],
        "cautions": [say(caution) for caution in check.cautions],
    }


def _hash(words: str) -> str:
    """The fingerprint by which a browser lets this very style or script through, and no other."""
    return "sha256-" + base64.b64encode(hashlib.sha256(words.encode("utf-8")).digest()).decode("ascii")


@cache
def _environment() -> Environment:
    return Environment(
        loader=DictLoader({"site": template_part("site_file.jinja")}),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    )
