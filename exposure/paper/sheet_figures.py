"""Figures and doubts on one sheet: how each wall's figures come about, and everything doubtful."""

from collections.abc import Sequence
from itertools import accumulate
from operator import mul

from markupsafe import Markup

from exposure.doubts import has_doubt
from exposure.draw.assessment_pictures import FACTOR_NAMES
from exposure.draw.marked import name as shown_name
from exposure.draw.marked import say
from exposure.draw.printed_factors import start_words
from exposure.figures import listed, litres, litres_with_band, share_words
from exposure.paper.provenance import in_order
from exposure.paper.sheet_plan import SheetPlan
from exposure.paper.sheet_words import (
    LONGEST_SENTENCE,
    joined,
    own_flags,
    pressure_words,
    printed_factors,
    shared_flags,
    wall_inputs,
)
from exposure.wall import WallExposure


def figure_sheet(plan: SheetPlan) -> dict:
    """The chain of each elevation, pressures, and the doubts of all and of each."""
    details = plan.details
    assessment = details.assessment
    everywhere = shared_flags(details)
    shared = in_order([*assessment.flags, *everywhere, *details.flags, assessment.band_statement])
    own: dict[str, list[str]] = {}
    for one in details.elevations:
        mine = [
            *(doubt.sentence for doubt in one.exposure.doubts),
            one.exposure.sector_note or "",
            *(flag for flag in own_flags(one) if not _told_by_figure(one.exposure, flag)),
        ]
        own[one.name] = [sentence for sentence in in_order(mine) if sentence not in everywhere]
    told = {sentence for sentences in own.values() for sentence in sentences}
    return {
        "kind": "figures",
        "number": plan.numbers["figures"],
        "short": "figures and doubts",
        "head": "Figures and doubts",
        "chain_heads": [
            "airfield",
            *factor_heads(details.elevations[0].exposure),
            "this wall, with 90\u00a0% band",
        ],
        "chains": [{"code": plan.codes[one.name], **_chain(one.exposure)} for one in details.elevations],
        "pressures": [
            {
                "code": plan.codes[one.name],
                "words": say(
                    f"{wall_inputs(one.exposure)} {pressure_words(one.pressure, one.design_pressure)}",
                    most=900,
                ),
            }
            for one in details.elevations
        ],
        "rank": say(_rank(plan), most=900),
        "bare": [say(one.bare_wrap.in_words, most=600) for one in details.elevations[:1]],
        "shared": _told_once(plan, [one for one in shared if one not in told]),
        "own": [
            {"codes": plan.codes[name], "words": say(joined(sentences), most=4000)}
            for name, sentences in own.items()
            if sentences
        ],
    }


def _told_by_figure(exposure: WallExposure, flag: str) -> bool:
    """Whether a figure of the wall's own doubts says the same: what it takes without its neighbours."""
    return has_doubt([flag], "wall.without_neighbours") and any(
        one.name == "neighbours" for one in exposure.doubts
    )


def _told_once(plan: SheetPlan, sentences: Sequence[str]) -> list[Markup]:
    """Doubts in order; what is said of several elevations in the same words once, with the codes of the others."""
    found: dict[str, tuple[str, list[str]]] = {}
    for sentence in sentences:
        inside = [
            one for one in sorted(plan.codes, key=len, reverse=True) if f"the {one} elevation" in sentence
        ]
        kind = sentence.replace(f"the {inside[0]} elevation", "#") if inside else sentence
        found.setdefault(kind, (sentence, []))[1].extend(plan.codes[one] for one in inside[:1])
    return [
        say(sentence, most=LONGEST_SENTENCE)
        + (Markup(" <b>Likewise {}.</b>").format(", ".join(codes[1:])) if codes[1:] else Markup(""))
        for sentence, codes in found.values()
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
        "factors": [f"× {words}" for words in printed_factors(exposure)],
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
        f"{listed([plan.codes[other.wall.name] for other in assessment.alike(one)])} in {share_words(one.worst_share)}"
        for one in assessment.elevations
        if one.worst_share and assessment.alike(one)[0] is one
    ]
    if not shares:
        return "How sure the order is cannot be told from so few years."
    return f"Worst when whole years are drawn again: {', '.join(shares)}. Trust the order before the litres."
