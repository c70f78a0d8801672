"""What stands on the building's own page: plan, all elevations, the place, cautions, doubts, inputs and sources."""

from markupsafe import Markup

from exposure.assess.building import Assessment
from exposure.assess.details import BuildingDetails
from exposure.draw.assessment_pictures import codes_of, months_of, plan_of, plan_walls, rose_of
from exposure.draw.building_plan import plan_caption
from exposure.draw.drawing import picture_width
from exposure.draw.ground_ring import ground_caption, ground_ring
from exposure.draw.lettering import clean
from exposure.draw.marked import mark_letter, name, say, tally_sign
from exposure.draw.months import months_sentence
from exposure.figures import listed, litres_with_band, share_words
from exposure.map.contour_map import RegionField, contour_caption, contour_map
from exposure.paper.paper import INNER_WIDE
from exposure.paper.provenance import in_order, record_words, sources_of
from exposure.paper.sheet_front import FRONT_CAUTIONS
from exposure.paper.sheet_words import (
    class_words,
    figures_words,
    joined,
    level_words,
    limit_words,
    place_inputs,
    shared_flags,
)
from exposure.tables.standing import without_standing

BUILDING_DOUBTS = 8
ROOMY = 226  # side of the pictures where the months stand beside them
MANY = 7  # elevations from which their table runs across the page, one line each
ROSE_CAPTION = "Rose: rain in a year on an open-field wall, L/\u2060m², by the way it faces; shaded 90 % band. No class is read here."


def building_page(details: BuildingDetails, *, region: RegionField | None, behind: bool) -> dict:
    """The building's own page."""
    assessment = details.assessment
    worst = assessment.worst
    codes = codes_of(assessment)
    rows = [
        {
            "code": codes[one.exposure.wall.name],
            "name": name(one.exposure.wall.name, most=34),
            "spell": litres_with_band(one.exposure.wall_spell_index, one.exposure.spell_band, unit=False),
            "annual": litres_with_band(one.exposure.wall_annual_index, one.exposure.annual_band, unit=False),
            "words": class_words(one.exposure),
            "tally": tally_sign(one.exposure.exposure_class, size=7),
            "level": "design"
            if one.schedule.specific_design
            else f"W{one.schedule.wetness_level} P{one.schedule.pressure_level}",
        }
        for one in details.elevations
    ]
    many = len(details.elevations) >= MANY
    pictures = _row_of_pictures(details, region, size=196 if many else ROOMY)
    long = (
        len(clean(f"{assessment.building.name}{worst.wall.name}", most=64)) > 34
    )  # the head takes two lines
    plan_size = 246 if many else 272 if long else 300
    first = details.elevations[0]
    return {
        "kind": "building",
        "short": "building",
        "head": Markup("{}: worst is {}, {}").format(
            name(assessment.building.name, most=34), name(worst.wall.name, most=30), worst.exposure_class
        ),
        "tally": tally_sign(worst.exposure_class, size=11),
        "lead": say(
            f"The {clean(worst.wall.name, most=40)} elevation takes {figures_words(worst)}: {class_words(worst)}.{limit_words(worst)} "
            f"{level_words(first.schedule)}"
        ),
        "plan": Markup(plan_of(assessment, size=plan_size, callouts=False, prefix="b-plan")),
        "plan_caption": plan_caption(plan_walls(assessment), ring=True),
        "elevations": rows,
        "rank": say(_rank(assessment)),
        "plan_wide": plan_size + 14,
        "pictures": pictures,
        "many": many,
        "caution": say(joined(first.schedule.cautions[:FRONT_CAUTIONS])),
        "doubts": say(
            joined(
                in_order([*assessment.flags, *shared_flags(details), assessment.band_statement]),
                most=BUILDING_DOUBTS - (3 if many else 0) - (2 if long else 0),
                behind=behind,
            ),
            most=4000,
        ),
        "inputs": say(f"{place_inputs(assessment)} Weather: {record_words(assessment)}.", most=900),
        "sources": [
            {
                "what": say(one.what, most=60),
                "source": say(without_standing(one.source), most=160),
                "mark": mark_letter(one.standing) if one.standing else "",
            }
            for one in sources_of(assessment)
        ],
    }


def _row_of_pictures(details: BuildingDetails, region: RegionField | None, *, size: int) -> list[dict]:
    """The place in pictures: map or ground, rose, and months where there is room."""
    assessment = details.assessment
    site, worst = assessment.site, assessment.worst
    if region is None:
        drawn = ground_ring(site.categories, site.hill_coefficients, size=size, prefix="b-ground")
        found = [(drawn, ground_caption(site.categories), size)]
    else:
        here = (site.latitude, site.longitude)
        drawn = contour_map(
            region, chosen=here, width=size if size < ROOMY else 320, most_height=size, prefix="b-map"
        )
        found = [(drawn, contour_caption(region), picture_width(drawn))]
    found.append((rose_of(assessment, size=size, prefix="b-rose"), ROSE_CAPTION, size))
    left = INNER_WIDE - sum(wide + 14 for *_, wide in found)
    months = months_of(worst, width=left, prefix="b-months") if left >= 190 and size >= ROOMY else None
    if months is not None and worst.monthly_share is not None:
        words = f"Rain on the {clean(worst.wall.name, most=40)} by month, %. {months_sentence(worst.monthly_share)}"
        found.append((months, words, left))
    return [
        {"svg": Markup(svg), "caption": say(caption), "wide": width + (14 if svg is not found[-1][0] else 0)}
        for svg, caption, width in found
    ]


def _rank(assessment: Assessment) -> str:
    shares = [
        f"{listed([clean(other.wall.name, most=40) for other in assessment.alike(one)])} in {share_words(one.worst_share)}"
        for one in assessment.elevations
        if one.worst_share and assessment.alike(one)[0] is one
    ]
    if not shares:
        return "How sure the order is cannot be told from so few years."
    return f"Worst when whole years are drawn again: {', '.join(shares)}. Trust the order before the litres."
