"""What stands behind the sheets: order of work, water checks, every figure with its reason, and the seasons."""

from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TypeVar

from markupsafe import Markup

from exposure.assess.details import BuildingDetails, ElevationDetails
from exposure.detail.schedule_parts import Step
from exposure.detail.water_check import WaterCheck
from exposure.draw.assessment_pictures import FACTOR_NAMES, chain_of, months_of
from exposure.draw.details_pictures import bare_wrap_caption, bare_wrap_of, wetting_of
from exposure.draw.drawing import picture_height
from exposure.draw.marked import dimensions, mark, mark_letter, name, on_paper, say
from exposure.draw.months import months_sentence
from exposure.paper.paper import INNER_WIDE, PAGE_TALL, lines_needed, row_height, share_out
from exposure.paper.provenance import in_order
from exposure.paper.sheet_words import LONGEST_SENTENCE, class_words, own_flags, printed_factors, shared_flags
from exposure.tables.standing import without_standing

T = TypeVar("T")
BODY = PAGE_TALL - 24 - 108 - 34  # under the heading, above the title block
SEASON_WIDE = 340
REASON_WIDE, SOURCE_WIDE = 350, 226  # columns of the figures' table


def shared_out(blocks: Sequence[tuple[float, dict]], *, first: float, rest: float) -> Iterator[list[dict]]:
    """Blocks for each page, by the height each takes."""
    for cut in share_out([height for height, _ in blocks], first=first, rest=rest):
        yield [block for _, block in blocks[cut]]


def figure_pages(details: BuildingDetails) -> list[dict]:
    """Every elevation's chain, with each factor's reason and source, and its own doubts."""
    blocks = []
    everywhere = shared_flags(details)
    for place, group in enumerate(alike(details.elevations, lambda one: _figures_key(one, everywhere))):
        exposure = group[0].exposure
        words = printed_factors(exposure)
        doubts = _own_doubts(group[0], everywhere)
        chain = chain_of(exposure, width=INNER_WIDE, deep=28, notes=False, prefix=f"f{place}-chain")
        height = picture_height(chain) + 27 + 24 + 22
        height += sum(
            row_height([(factor.reason, REASON_WIDE - 8), (f"[N] {factor.source}", SOURCE_WIDE)], size=11)
            for factor in exposure.factors
        )
        height += sum(lines_needed(on_paper(doubt), width=690, size=11) * 14.6 + 1 for doubt in doubts)
        block = {
            "name": names_of(group),
            "words": class_words(exposure),
            "chain": Markup(chain),
            "factors": [
                {
                    "name": FACTOR_NAMES.get(factor.name, factor.name),
                    "value": value,
                    "reason": say(factor.reason),
                    "source": Markup("{} {}").format(
                        mark_letter(factor.standing),
                        say(without_standing(factor.source)),
                    ),
                }
                for factor, value in zip(exposure.factors, words, strict=True)
            ],
            "doubts": [say(doubt, most=LONGEST_SENTENCE) for doubt in doubts],
        }
        blocks.append((height, block))
    notes = in_order([*details.assessment.flags, *everywhere, details.assessment.band_statement])
    notes = [note for note in notes if not any(note in one.exposure.flags for one in details.elevations)]
    taken = 30 + sum(lines_needed(on_paper(note), width=690, size=11) * 14.6 + 1 for note in notes)
    pages = [
        {"kind": "figures", "short": "figures", "head": "Why these figures", "elevations": part, "notes": []}
        for part in shared_out(blocks, first=BODY - 24 - taken, rest=BODY - 24)
    ]
    pages[0]["notes"] = [say(note, most=LONGEST_SENTENCE) for note in notes]
    return pages


def _own_doubts(one: ElevationDetails, everywhere: Sequence[str]) -> list[str]:
    exposure = one.exposure
    doubts = in_order(
        [*(doubt.sentence for doubt in exposure.doubts), exposure.sector_note or "", *own_flags(one)]
    )
    return [doubt for doubt in doubts if doubt not in everywhere]


def _figures_key(one: ElevationDetails, everywhere: Sequence[str]) -> tuple:
    """Everything that stands in an elevation's block besides its name."""
    exposure = one.exposure
    return (
        exposure.airfield_annual_index,
        exposure.airfield_spell_index,
        tuple((factor.value, factor.reason, factor.source) for factor in exposure.factors),
        exposure.annual_band,
        exposure.spell_band,
        class_words(exposure),
        tuple(_own_doubts(one, everywhere)),
    )


def season_pages(details: BuildingDetails) -> list[dict]:
    """When the rain comes, the bare membrane, and wetting and drying, elevation by elevation."""
    blocks = []
    for place, group in enumerate(alike(details.elevations, _seasons_key)):
        one = group[0]
        left, right = [], []
        svg = months_of(one.exposure, width=SEASON_WIDE, prefix=f"s{place}-months")
        if svg is not None and one.exposure.monthly_share is not None:
            left.append(_figure("When it comes", svg, months_sentence(one.exposure.monthly_share)))
        if one.bare_wrap is not None:
            svg = bare_wrap_of(one.bare_wrap, width=SEASON_WIDE, prefix=f"s{place}-bare")
            words = _bare_words(one) if len(group) > 1 else one.bare_wrap.in_words
            left.append(_figure("While the membrane stands bare", svg, words))
        svg = wetting_of(one.wetting or (), width=SEASON_WIDE, prefix=f"s{place}-wet")
        if svg is not None:
            right.append(_figure("Wetting and drying", svg, ""))
        height = 34 + max(sum(figure["height"] for figure in column) for column in (left, right))
        if left or right:
            blocks.append(
                (
                    height,
                    {"name": names_of(group), "columns": [left, right], "wide": SEASON_WIDE + 14},
                )
            )
    if not blocks:
        return []
    notes = []
    first_bare = next((one.bare_wrap for one in details.elevations if one.bare_wrap is not None), None)
    if details.wetting is not None:
        notes += [details.wetting.sentence, details.wetting.caution]
    keys = [f"Bare membrane: {bare_wrap_caption(first_bare)}"] if first_bare is not None else []
    if any(one.wetting for one in details.elevations):
        keys.append("Wetting: hours wet behind a vapour-open membrane, full height a week wet throughout.")
    notes.append(" ".join(keys))
    taken = sum(
        lines_needed(on_paper(note), width=INNER_WIDE, size=size) * size * 1.32 + 8
        for note, size in zip(notes, (14, *[11] * len(notes)), strict=False)  # the first is the lead
    )
    pages = [
        {"kind": "seasons", "short": "seasons", "head": "Through the year", "elevations": part, "notes": []}
        for part in shared_out(blocks, first=BODY - taken, rest=BODY)
    ]
    pages[0]["notes"] = [say(note) for note in notes if note]
    return pages


def _bare_words(one: ElevationDetails) -> str:
    """The bare membrane's sentence, where several elevations share it."""
    return one.bare_wrap.in_words.replace(f"the {one.exposure.wall.name} elevation", "each elevation")


def _seasons_key(one: ElevationDetails) -> tuple:
    bare = None
    if one.bare_wrap is not None:
        bare = (_bare_words(one), tuple(one.bare_wrap.expected.tolist()), tuple(one.bare_wrap.tenth.tolist()))
    wet = tuple((found.way.name, found.hours_wet, found.longest_wet) for found in one.wetting or ())
    return one.exposure.monthly_share, bare, wet


def _figure(head: str, svg: str, words: str) -> dict:
    return {
        "head": head,
        "svg": Markup(svg),
        "caption": say(words),
        "height": picture_height(svg)
        + 34
        + (14.3 * lines_needed(on_paper(words), width=SEASON_WIDE, size=11) if words else 0),
    }


def alike(elevations: Iterable[T], key: Callable[[T], Hashable]) -> list[list[T]]:
    """Elevations in groups whose ``key`` is the same, in order."""
    groups: dict[Hashable, list[T]] = {}
    for one in elevations:
        groups.setdefault(key(one), []).append(one)
    return list(groups.values())


def names_of(group: Sequence[ElevationDetails]) -> Markup:
    """Names of a group of elevations, parted so that a comma in one is no new name."""
    names = [one.exposure.wall.name for one in group]
    between = "; " if any("," in one for one in names) else ", "
    return Markup(between).join(name(one, most=30) for one in names)


def _steps(steps: Sequence[Step]) -> list[dict]:
    return [
        {"text": dimensions(step.text), "hold": say(step.hold), "caution": say(step.caution)}
        for step in steps
    ]


def work_pages(details: BuildingDetails) -> list[dict]:
    """Order of work with hold points and boxes to tick, once for the elevations that share it."""
    pages = []
    for group in alike(
        details.elevations, lambda one: (one.schedule.steps, one.schedule.look_first, one.schedule.rules)
    ):
        schedule = group[0].schedule
        if not (schedule.steps or schedule.look_first or schedule.rules):
            continue
        pages.append(
            {
                "kind": "work",
                "names": [one.exposure.wall.name for one in group],
                "short": "work",
                "head": "Order of work, with what to record",
                "lead": Markup("For {}. A step is not covered before its record is made and signed.").format(
                    names_of(group)
                ),
                "steps": _steps(schedule.steps),
                "look_first": _steps(schedule.look_first),
                "cautions": [say(caution) for caution in schedule.cautions],
                "rules": [
                    {
                        "rule": say(rule.rule),
                        "result": say(rule.result),
                        "figures": say(rule.figures),
                        "source": Markup("{} {}").format(mark(rule.standing), say(rule.source)),
                        "taken": [say(sentence) for sentence in rule.taken],
                    }
                    for rule in schedule.rules
                ],
            }
        )
    return pages


def check_pages(details: BuildingDetails) -> list[dict]:
    """The site water checks, once for the elevations that share one."""
    pages = []
    checked = [one for one in details.elevations if one.water_check is not None]
    for group in alike(checked, lambda one: _check_key(one.water_check)):
        check = group[0].water_check
        names = [one.exposure.wall.name for one in group]
        each = " on each of them" if len(group) > 1 and check.openings else ""
        facts = [
            ("Openings", f"{openings_words(check)}{each}. {check.first if check.openings else ''}"),
            ("Pressure", f"{check.pressure_words} {check.fan_words}"),
            ("Spray", check.rate_words),
            ("Set-up", " ".join(check.set_up)),
            ("Pass", check.pass_rule),
            ("If it leaks", check.on_failure),
        ]
        rows = sum(one.water_check.record_rows for one in group)
        pages.append(
            {
                "kind": "check",
                "names": names,
                "short": "water check",
                "head": Markup("Site water check: {}").format(
                    names_of(group) if len(group) < 4 else f"{len(group)} elevations"
                ),
                "lead": names_of(group) if len(group) >= 4 else "",
                "stop": say(check.stop) if check.stop else "",
                "facts": [(head, dimensions(words)) for head, words in facts],
                "steps": _steps(check.steps),
                "cautions": [say(caution) for caution in check.cautions],
                "columns": [
                    say(column)
                    for column in (*(["Elevation"] if len(group) > 1 else []), *check.record_columns)
                ],
                "rows": max(2, min(rows, 8)),
                "notes": [
                    say(note, most=LONGEST_SENTENCE)
                    for note in in_order(note for one in group for note in one.water_check.flags)
                ],
            }
        )
    return pages


def _check_key(check: WaterCheck) -> Hashable:
    """Everything of a check besides the elevation's name."""
    flags = tuple(flag.replace(check.elevation, "") for flag in check.flags)
    return replace(check, elevation="", flags=flags, record_rows=0)


def openings_words(check: WaterCheck) -> str:
    """How many openings a water check asks for, in words.

    Examples
    --------
    >>> from types import SimpleNamespace as Check
    >>> openings_words(Check(openings=0, of=None)), openings_words(Check(openings=1, of=4))
    ('None asked for at this level; check any you doubt', '1 of 4 openings')
    """
    if not check.openings:
        return "None asked for at this level; check any you doubt"
    if check.of is not None:
        return f"{check.openings} of {check.of} openings"
    return f"{check.openings} opening{'' if check.openings == 1 else 's'}"
