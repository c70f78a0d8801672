"""The annex, printed when someone asks why: each factor with its reason and source, and the seasons of each elevation."""

from collections.abc import Hashable, Sequence

from markupsafe import Markup

from exposure.assess import Assessment
from exposure.assess.details_parts import BuildingDetails, ElevationDetails
from exposure.detail.bare_wrap import BareWrap
from exposure.detail.laboratory import BriefLine
from exposure.draw.assessment_pictures import months_of, rose_of
from exposure.draw.bare_wrap import bare_wrap, bare_wrap_caption
from exposure.draw.factor_chain import FACTOR_NAMES, factor_chain
from exposure.draw.ground_ring import ground_caption, ground_ring
from exposure.draw.marked import mark_letter, name, say
from exposure.draw.months import months_sentence
from exposure.draw.wetting import wetting
from exposure.map.contour_map import RegionField, contour_caption, contour_map
from exposure.paper.provenance import in_order, sources_of
from exposure.paper.sheet_plan import alike
from exposure.paper.sheet_words import (
    LONGEST_SENTENCE,
    class_words,
    factors_in_words,
    own_flags,
    shared_flags,
)
from exposure.tables.standing import without_standing

CHAIN_WIDE, SEASON_WIDE, PICTURE = 690, 330, 230
ROSE_CAPTION = "Rose: rain in a year on an open-field wall, L/\u2060m², by the way it faces; shaded 90 % band. No class is read here."


def factor_part(details: BuildingDetails, *, region: RegionField | None) -> dict:
    """Every elevation's chain, with each factor's reason and source, and its own doubts."""
    everywhere = shared_flags(details)
    notes = in_order([*details.assessment.flags, *everywhere, details.assessment.band_statement])
    notes = [note for note in notes if not any(note in one.exposure.flags for one in details.elevations)]
    elevations = []
    words = factors_in_words([one.exposure for one in details.elevations])
    for place, group in enumerate(alike(details.elevations, lambda one: _figures_key(one, everywhere))):
        exposure = group[0].exposure
        chain = factor_chain(
            exposure, width=CHAIN_WIDE, deep=28, notes=False, factors=words[exposure.wall.name], prefix=f"f{place}-chain"
        )  # fmt: skip
        elevations.append(
            {
                "name": names_of(group),
                "words": class_words(exposure),
                "chain": Markup(chain),
                "factors": [
                    {
                        "name": FACTOR_NAMES.get(factor.name, factor.name),
                        "value": value,
                        "reason": say(factor.reason),
                        "source": Markup("{} {}").format(
                            mark_letter(factor.standing), say(without_standing(factor.source))
                        ),
                    }
                    for factor, value in zip(exposure.factors, words[exposure.wall.name], strict=True)
                ],
                "doubts": [say(doubt, most=LONGEST_SENTENCE) for doubt in _own_doubts(group[0], everywhere)],
            }
        )
    return {
        "kind": "factors",
        "short": "figures",
        "head": "Why these figures",
        "place": _place(details.assessment, region),
        "elevations": elevations,
        "notes": [say(note, most=LONGEST_SENTENCE) for note in notes],
        "sources": [
            {
                "what": say(one.what, most=60),
                "source": say(without_standing(one.source), most=160),
                "mark": mark_letter(one.standing) if one.standing else "",
            }
            for one in sources_of(details.assessment)
        ],
    }


def _place(assessment: Assessment, region: RegionField | None) -> list[dict]:
    """The region's map where it is known, else the ground around; and the rose."""
    site = assessment.site
    if region is None:
        drawn = ground_ring(site.categories, site.hill_coefficients, size=PICTURE, prefix="b-ground")
        place = _figure("The ground", drawn, ground_caption(site.categories))
    else:
        here = (site.latitude, site.longitude)
        drawn = contour_map(region, chosen=here, width=SEASON_WIDE, most_height=PICTURE, prefix="b-map")
        place = _figure("The region", drawn, contour_caption(region))
    rose = rose_of(assessment, size=PICTURE, prefix="b-rose")
    return [place, _figure("Driving rain", rose, ROSE_CAPTION)]


def _own_doubts(one: ElevationDetails, everywhere: Sequence[str]) -> list[str]:
    exposure = one.exposure
    doubts = in_order(
        [*(doubt.sentence for doubt in exposure.doubts), exposure.sector_note or "", *own_flags(one)]
    )
    return [doubt for doubt in doubts if doubt not in everywhere]


def _figures_key(one: ElevationDetails, everywhere: Sequence[str]) -> Hashable:
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


def laboratory_part(details: BuildingDetails) -> dict | None:
    """What a laboratory is asked for where a window is checked under pressure, on one page; None where none is sent there."""
    checks = [one.water_check for one in details.elevations]
    if not any((one.chamber or one.stop) and one.of != 0 for one in checks):
        return None
    brief = details.laboratory

    def rows(lines: Sequence[BriefLine]) -> list[dict]:
        return [
            {
                "where": line.where,
                "text": say(line.text, most=1500),
                "source": Markup("{} {}").format(
                    mark_letter(line.standing), say(without_standing(line.source))
                ),
            }
            for line in lines
        ]

    return {
        "kind": "laboratory",
        "short": "laboratory",
        "head": "For a laboratory: the water check under pressure",
        "facts": rows(brief.facts),
        "sequence": rows(brief.sequence),
        "report": rows(brief.report),
    }


def season_part(details: BuildingDetails) -> dict | None:
    """When the rain comes, the bare membrane, and wetting and drying, elevation by elevation."""
    elevations = []
    for place, group in enumerate(alike(details.elevations, _seasons_key)):
        one = group[0]
        figures = []
        svg = months_of(one.exposure, width=SEASON_WIDE, prefix=f"s{place}-months")
        share = one.exposure.monthly_share
        if svg is not None and share is not None:
            figures.append(_figure("When it comes", svg, months_sentence(share)))
        svg = wetting(one.wetting if one.bare_wrap else (), width=SEASON_WIDE, prefix=f"s{place}-wet")
        if svg is not None:
            figures.append(_figure("Wetting and drying", svg, ""))
        if one.bare_wrap is not None:
            svg = bare_wrap(one.bare_wrap, width=SEASON_WIDE, prefix=f"s{place}-bare")
            words = _bare_words(one.bare_wrap) if len(group) > 1 else one.bare_wrap.in_words
            figures.append(_figure("While the membrane stands bare", svg, words))
        if figures:
            elevations.append({"name": names_of(group), "figures": figures})
    if not elevations:
        return None
    notes = []
    first_bare = next((one.bare_wrap for one in details.elevations if one.bare_wrap is not None), None)
    if details.wetting is not None and first_bare is not None:
        notes += [details.wetting.sentence, details.wetting.caution]
    if first_bare is not None:
        notes.append(f"Bare membrane: {bare_wrap_caption(first_bare)}")
    if any(one.wetting and one.bare_wrap for one in details.elevations):
        notes.append("Wetting: hours wet behind a vapour-open membrane, full height a week wet throughout.")
    return {
        "kind": "seasons",
        "short": "seasons",
        "head": "Through the year",
        "elevations": elevations,
        "notes": [say(note) for note in notes if note],
    }


def _bare_words(bare: BareWrap) -> str:
    """The bare membrane's sentence, where several elevations share it."""
    return bare.in_words.replace(f"the {bare.elevation} elevation", "each elevation")


def _seasons_key(one: ElevationDetails) -> Hashable:
    bare = None
    if one.bare_wrap is not None:
        bare = (
            _bare_words(one.bare_wrap),
            tuple(one.bare_wrap.expected.tolist()),
            tuple(one.bare_wrap.tenth.tolist()),
        )
    wet = tuple((found.way.name, found.hours_wet, found.longest_wet) for found in one.wetting or ())
    return one.exposure.monthly_share, bare, wet


def _figure(head: str, svg: str, words: str) -> dict:
    return {"head": head, "svg": Markup(svg), "caption": say(words)}


def names_of(group: Sequence[ElevationDetails]) -> Markup:
    """Names of a group of elevations, parted so that a comma in one is no new name."""
    names = [one.exposure.wall.name for one in group]
    between = "; " if any("," in one for one in names) else ", "
    return Markup(between).join(name(one, most=30) for one in names)
