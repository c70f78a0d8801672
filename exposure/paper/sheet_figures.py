"""Figures and doubts on one sheet: how each wall's figures come about, and everything doubtful."""

from collections.abc import Iterable, Sequence
from itertools import accumulate, count
from operator import mul
from typing import NamedTuple

from markupsafe import Markup

from exposure.assess.costs import not_in_it
from exposure.assess.details_parts import ElevationDetails
from exposure.doubts import alike, has_doubt, likeness
from exposure.draw.factor_chain import FACTOR_NAMES
from exposure.draw.marked import name as shown_name
from exposure.draw.marked import say
from exposure.draw.printed_factors import start_words
from exposure.figures import listed, litres, litres_with_band, number, share_words, whole
from exposure.paper.provenance import in_order
from exposure.paper.sheet_plan import SheetPlan
from exposure.paper.sheet_words import (
    LONGEST_SENTENCE,
    any_side_words,
    factors_in_words,
    joined,
    own_flags,
    pressure_words,
    wall_inputs,
)
from exposure.wall import WallExposure

TOLD = ("assess.record_band", "assess.no_band")
OTHER_NUMBERS = {  # doubts told once for all elevations: what stands behind the code of one whose numbers are others
    "detail.wind_seldom_square": "{facing}, so {used} is used; any direction {any_direction}",
    "detail.left_details": "{built} is built",
}


class Doubts(NamedTuple):
    """Every doubt of a building, each once, numbered in this order."""

    shared: tuple[Markup, ...]  # of the house, or of several elevations
    own: dict[str, list[str]]  # of one elevation alone, by its name

    @property
    def many(self) -> int:
        """How many they are."""
        return len(self.shared) + sum(map(len, self.own.values()))


def all_doubts(plan: SheetPlan) -> Doubts:
    """The doubts that the sheet of figures tells; the first sheet begins the same list and says how many follow."""
    details, assessment = plan.details, plan.details.assessment
    common, own = _by_elevation(plan)
    told = {
        sentence for one in details.elevations for sentence in (*_doubts(one), *own_flags(one))
    }  # or by a figure of its elevation
    left = [
        one
        for one in (*assessment.flags, *details.flags, assessment.band_statement)
        if one
        and one not in told
        and not getattr(one, "numbers", {}).get("also")  # each elevation says its own below
    ]
    kept = [
        say(joined([one]), most=LONGEST_SENTENCE) + _likewise(plan.codes.get(each, each) for each in others)
        for one, others in alike(left)
    ]
    return Doubts((*kept, *common), own)


def figure_sheet(plan: SheetPlan) -> dict:
    """The chain of each elevation, pressures, and the doubts of all and of each."""
    details = plan.details
    doubts = all_doubts(plan)
    factors = factors_in_words([one.exposure for one in details.elevations])
    numbers = count(1)
    return {
        "kind": "figures",
        "number": plan.numbers["figures"],
        "short": "figures and doubts",
        "head": "Figures and doubts",
        "chain_heads": [
            "airfield",
            *factor_heads(details.elevations[0].exposure),
            "this wall, with 90\u00a0% band"
            if any(one.exposure.spell_band for one in details.elevations)
            else "this wall",
        ],
        "chains": [
            {
                "code": plan.codes[one.name],
                **_chain(one.exposure),
                "factors": [f"× {each}" for each in factors[one.name]],
            }
            for one in details.elevations
        ],
        "pressures": _pressures(plan),
        "rank": say(_rank(plan), most=900),
        "bare": [say(one.bare_wrap.in_words, most=600) for one in details.elevations if one.bare_wrap][:1],
        "costs": _costs(plan),
        "cost_note": say(not_in_it(one.scheduled for one in details.costs or ()), most=1200),
        "doubts": doubts.many,
        "shared": [(next(numbers), words) for words in doubts.shared],
        "own": [
            {
                "codes": plan.codes[name],
                "words": [(next(numbers), say(joined([one]), most=LONGEST_SENTENCE)) for one in sentences],
            }
            for name, sentences in doubts.own.items()
        ],
    }


def _pressures(plan: SheetPlan) -> list[dict]:
    """Wind with rain on each elevation and from any side, each sentence with the codes of all it holds for."""
    walls: dict[str, list[str]] = {}
    sides: dict[str, list[str]] = {}
    for one in plan.details.elevations:
        words = f"{wall_inputs(one.exposure)} {pressure_words(one.pressure, one.design_pressure, tested=one.circumstances.air_seal_tested)}"
        walls.setdefault(words, []).append(plan.codes[one.name])
        sides.setdefault(any_side_words(one.pressure, one.exposure.wall.height), []).append(
            plan.codes[one.name]
        )
    return [
        {"code": ", ".join(codes), "words": say(words, most=900)}
        for words, codes in [*walls.items(), *sides.items()]
    ]


def _told_by_figure(exposure: WallExposure, flag: str) -> bool:
    """Whether a figure of the wall's own doubts says the same: what it takes without its neighbours."""
    return has_doubt([flag], "wall.without_neighbours") and any(
        one.name == "neighbours" for one in exposure.doubts
    )


def _doubts(one: ElevationDetails) -> list[str]:
    """Every doubt about one elevation that no other line of the sheet tells: its band stands in the chain, that there is none with the rest."""
    said = [
        *(doubt.sentence for doubt in one.exposure.doubts),
        one.exposure.sector_note or "",
        *(flag for flag in own_flags(one) if not _told_by_figure(one.exposure, flag)),
        *one.take_off.flags,
        *one.water_check.flags,
    ]
    return [words for words in in_order(said) if words and getattr(words, "key", "") not in TOLD]


def _by_elevation(plan: SheetPlan) -> tuple[list[Markup], dict[str, list[str]]]:
    """Doubts of several elevations, in the same words but for its name, once with their codes; and those of one alone."""
    found: dict[str, list[tuple[str, str]]] = {}
    for one in plan.details.elevations:
        for sentence in _doubts(one):
            about = getattr(sentence, "subject", "") == one.name
            key = getattr(sentence, "key", "")
            kind = key if key in OTHER_NUMBERS else likeness(sentence) if about else sentence
            found.setdefault(kind, []).append((one.name, sentence))
    common: list[Markup] = []
    own: dict[str, list[str]] = {}
    for kind, told in found.items():
        (name, sentence), *others = told
        if not others and len(plan.codes) > 1:
            own.setdefault(name, []).append(sentence)
            continue
        words = say(sentence, most=LONGEST_SENTENCE)
        if kind in OTHER_NUMBERS:
            words += _likewise(_with_numbers(plan, OTHER_NUMBERS[kind], told))
        elif kind != sentence:
            words += _likewise(plan.codes[each] for each, _ in others)
        elif len(told) < len(plan.codes):
            codes = ", ".join(plan.codes[each] for each, _ in told)
            words = Markup("<b>{}:</b> {}").format(codes, words)
        common.append(words)
    return common, own


def _with_numbers(plan: SheetPlan, short: str, told: Sequence[tuple[str, str]]) -> list[str]:
    """Codes of the elevations after the first, those of other numbers with them."""
    found: dict[str, list[str]] = {"": []}
    for name, sentence in told[1:]:
        numbers = getattr(sentence, "numbers", {})
        same = likeness(sentence) == likeness(told[0][1])
        words = "" if same else f" ({short.format(**numbers)})"
        found.setdefault(words, []).append(plan.codes[name])
    return ["; ".join(", ".join(codes) + words for words, codes in found.items() if codes)]


def _likewise(codes: Iterable[str]) -> Markup:
    """The other elevations that the same is said of."""
    listed_codes = ", ".join(codes)
    return Markup(" <b>Likewise {}.</b>").format(listed_codes) if listed_codes else Markup("")


def _costs(plan: SheetPlan) -> list[dict]:
    """Material by the office's prices and what the next step up adds, elevations that cost the same in one row."""
    rows: dict[tuple, list[str]] = {}
    for one in plan.details.costs or ():
        figures = (
            number(one.scheduled.cost),
            tuple(number(level.cost) for level in one.by_level),
            tuple(
                "at the top" if more is None else f"{'+' if round(more) >= 0 else ''}{whole(more)}"
                for more in (one.next_wetness, one.next_pressure, one.next_step)
            ),
        )
        rows.setdefault((one.currency, *figures), []).append(plan.codes[one.elevation])
    return [
        {
            "code": ", ".join(codes) + (", each" if codes[1:] else ""),
            "currency": currency,
            "scheduled": scheduled,
            "levels": levels,
            "more": more,
        }
        for (currency, scheduled, levels, more), codes in rows.items()
    ]


def factor_heads(exposure: WallExposure) -> list[str]:
    """Names of the factors as printed."""
    return [FACTOR_NAMES.get(factor.name, factor.name) for factor in exposure.factors]


def _chain(exposure: WallExposure) -> dict:
    """Both indices of a wall from the airfield on, in figures that multiply back."""
    values = [factor.value for factor in exposure.factors]
    starts = [exposure.airfield_annual_index, exposure.airfield_spell_index]
    shown = [start_words(start, values)[0] for start in starts]
    ends = [list(accumulate([start, *values], mul))[-1] for start in starts]
    bands = [exposure.annual_band, exposure.spell_band]
    return {
        "name": shown_name(exposure.wall.name, most=30),
        "rows": [
            {"label": label, "start": start, "answer": litres(end), "band": _band_only(end, band)}
            for label, start, end, band in zip(("a year", "worst spell"), shown, ends, bands, strict=True)
        ],
    }


def _band_only(value: float, band: tuple[float, float] | None) -> str:
    return litres_with_band(value, band, unit=False).removeprefix(litres(value)).strip()


def _rank(plan: SheetPlan) -> str:
    assessment = plan.details.assessment
    shares = [
        (one.worst_share, f"{listed([plan.codes[other.wall.name] for other in assessment.alike(one)])} in ")
        for one in assessment.elevations
        if one.worst_share and assessment.alike(one)[0] is one
    ]
    if not shares:
        return "How sure the order is cannot be told from so few years."
    about = "about " if any(round(1000 * share) % 10 for share, _ in shares) else ""
    told = ", ".join(f"{names}{about}{share_words(share)}" for share, names in shares)
    return f"Worst when whole years are drawn again: {told}. Trust the order before the litres."
