"""What stands behind the sheets: every figure with its reason, seasons, order of work, water checks, and who says so."""

from collections.abc import Iterator, Sequence
from typing import Any

from markupsafe import Markup

from exposure.show.assessment_pictures import FACTOR_NAMES, chain_of, months_of
from exposure.show.details_pictures import bare_wrap_caption, bare_wrap_of, wetting_of
from exposure.show.drawing import picture_height
from exposure.show.marked import dimensions, mark, name, on_paper, say
from exposure.show.months import months_sentence
from exposure.show.paper import INNER_WIDE, PAGE_TALL, lines_needed, row_height, share_out
from exposure.show.provenance import in_order
from exposure.show.sheet_words import LONGEST_SENTENCE, class_words, own_flags, printed_factors, shared_flags

BODY = PAGE_TALL - 24 - 108 - 34  # under the heading, above the title block
SEASON_WIDE = 340


def shared_out(blocks: Sequence[tuple[float, dict]], *, first: float, rest: float) -> Iterator[list[dict]]:
    """Blocks for each page, by the height each takes."""
    for cut in share_out([height for height, _ in blocks], first=first, rest=rest):
        yield [block for _, block in blocks[cut]]


def figure_pages(details: Any) -> list[dict]:
    """Every elevation's chain, with each factor's reason and source, and its own doubts."""
    blocks = []
    everywhere = shared_flags(details)
    for place, one in enumerate(details.elevations):
        exposure = one.exposure
        words = printed_factors(exposure)
        doubts = in_order(
            [*(doubt.sentence for doubt in exposure.doubts), exposure.sector_note or "", *own_flags(one)]
        )
        doubts = [doubt for doubt in doubts if doubt not in everywhere]
        chain = chain_of(exposure, width=INNER_WIDE, deep=28, notes=False, prefix=f"f{place}-chain")
        height = picture_height(chain) + 27 + 24 + 22
        height += sum(
            row_height([(factor.reason, 292), (factor.source, 270)], size=11) for factor in exposure.factors
        )
        height += sum(lines_needed(on_paper(doubt), width=690, size=11) * 14.6 + 1 for doubt in doubts)
        block = {
            "name": name(exposure.wall.name, most=60),
            "words": class_words(exposure),
            "chain": Markup(chain),
            "factors": [
                {
                    "name": FACTOR_NAMES.get(factor.name, factor.name),
                    "value": value,
                    "reason": say(factor.reason),
                    "source": Markup("{} {}").format(
                        mark("published" if factor.verified else "not checked"),
                        say(factor.source.replace(" (from memory, not checked)", "")),
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
        for part in shared_out(blocks, first=BODY - taken, rest=BODY)
    ]
    pages[0]["notes"] = [say(note, most=LONGEST_SENTENCE) for note in notes]
    return pages


def season_pages(details: Any) -> list[dict]:
    """When the rain comes, the bare membrane, and wetting and drying, elevation by elevation."""
    blocks = []
    for place, one in enumerate(details.elevations):
        left, right = [], []
        svg = months_of(one.exposure, width=SEASON_WIDE, prefix=f"s{place}-months")
        if svg is not None:
            left.append(_figure("When it comes", svg, months_sentence(one.exposure.monthly_share)))
        if one.bare_wrap is not None:
            svg = bare_wrap_of(one.bare_wrap, width=SEASON_WIDE, prefix=f"s{place}-bare")
            words = f"{one.bare_wrap.in_words} {bare_wrap_caption(one.bare_wrap)}"
            left.append(_figure("While the membrane stands bare", svg, words))
        svg = wetting_of(one.wetting or (), width=SEASON_WIDE, prefix=f"s{place}-wet")
        if svg is not None:
            words = "Hours wet behind a vapour-open membrane, full height a week wet throughout."
            right.append(_figure("Wetting and drying", svg, words))
        height = 30 + max(sum(figure["height"] for figure in column) for column in (left, right))
        if left or right:
            blocks.append(
                (
                    height,
                    {
                        "name": name(one.exposure.wall.name, most=60),
                        "columns": [left, right],
                        "wide": SEASON_WIDE + 14,
                    },
                )
            )
    pages = [
        {"kind": "seasons", "short": "seasons", "head": "Through the year", "elevations": part, "notes": []}
        for part in shared_out(blocks, first=BODY - 50, rest=BODY)
    ]
    if details.wetting is not None and blocks:
        pages[0]["notes"] = [say(details.wetting.sentence), say(details.wetting.caution)]
    return pages if blocks else []


def _figure(head: str, svg: str, words: str) -> dict:
    return {
        "head": head,
        "svg": Markup(svg),
        "caption": say(words),
        "height": picture_height(svg) + 34 + 14.3 * lines_needed(on_paper(words), width=SEASON_WIDE, size=11),
    }


def alike(details: Any, key: Any) -> list[list[Any]]:
    """Elevations in groups whose ``key`` is the same, in order."""
    groups: dict[Any, list[Any]] = {}
    for one in details.elevations:
        groups.setdefault(key(one), []).append(one)
    return list(groups.values())


def names_of(group: Sequence[Any]) -> Markup:
    """Names of a group of elevations."""
    return Markup(", ").join(name(one.exposure.wall.name, most=30) for one in group)


def _steps(steps: Sequence[Any]) -> list[dict]:
    return [
        {"text": dimensions(step.text), "hold": say(step.hold), "caution": say(step.caution)}
        for step in steps
    ]


def work_pages(details: Any) -> list[dict]:
    """Order of work with hold points and boxes to tick, once for the elevations that share it."""
    pages = []
    for group in alike(
        details, lambda one: (one.schedule.steps, one.schedule.look_first, one.schedule.rules)
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
                        "source": Markup("{} {}").format(mark(rule.mark), say(rule.source)),
                        "taken": [say(sentence) for sentence in rule.taken],
                    }
                    for rule in schedule.rules
                ],
            }
        )
    return pages


def check_pages(details: Any) -> list[dict]:
    """The site water check of each elevation that asks for one."""
    pages = []
    for one in details.elevations:
        check = one.water_check
        if check is None:
            continue
        many = (
            f"{check.openings} of {check.of} openings"
            if check.of is not None
            else f"{check.openings} openings"
        )
        facts = [
            ("Openings", f"{many}. {check.first}"),
            ("Pressure", f"{check.pressure_words} {check.fan_words}"),
            ("Spray", check.rate_words),
            ("Set-up", " ".join(check.set_up)),
            ("Pass", check.pass_rule),
            ("If it leaks", check.on_failure),
        ]
        pages.append(
            {
                "kind": "check",
                "short": "water check",
                "head": Markup("Site water check: {} elevation").format(
                    name(one.exposure.wall.name, most=40)
                ),
                "stop": say(check.stop) if check.stop else "",
                "facts": [(head, dimensions(words)) for head, words in facts],
                "steps": _steps(check.steps),
                "cautions": [say(caution) for caution in check.cautions],
                "columns": [say(column) for column in check.record_columns],
                "rows": max(2, min(check.record_rows, 8)),
                "notes": [say(note, most=LONGEST_SENTENCE) for note in check.flags],
            }
        )
    return pages
