"""Why these figures: from the open field to the wall, each factor with its source, and what would be if.

Derived from the designer's question which elevation is worst: a figure that cannot be defended is not built by.
"""

import streamlit as st

from exposure.draw.factor_chain import FACTOR_NAMES, factor_chain
from exposure.draw.marked import mark
from exposure.draw.site_pictures import ground_words, site_ring, view_plan
from exposure.figures import band_words, degrees, litres, share_words
from exposure.page.choices.answer import Answer
from exposure.page.markup import PHONE, Marked, Safe, either, plate, say, table
from exposure.page.parts.folding import Sealed
from exposure.page.parts.what_if_panel import show_what_ifs
from exposure.paper.provenance import sources_of
from exposure.paper.sheet_words import class_words, rank_words
from exposure.wall import WallExposure


def show_why_part(answer: Answer, words: Sealed) -> None:
    """Chain, factors, elevations, ground and sources; the what-ifs when they are asked for."""
    st.html(words.of("why", lambda: _why(answer)))
    if st.toggle("Work out what would be if: neighbours, ground, roof, storeys, cladding", key="what-ifs"):
        show_what_ifs()


def _why(answer: Answer) -> Marked:
    one = answer.chosen
    sector = f'<p class="note">{say(one.sector_note)}</p>' if one.sector_note else ""
    name = say(one.wall.name)
    chain = either(factor_chain(one), factor_chain(one, narrow=True, width=PHONE, prefix="up"), kind="chain")
    return (
        f"<p>{say(rank_words(answer.assessment, one))}</p>"
        f"<h3>From the open field to the {name} wall</h3>{chain}{sector}"
        + _factor_table(one)
        + _elevation_table(answer)
        + _ground(answer)
        + _sources(answer)
    )


def _elevation_table(answer: Answer) -> Marked:
    rows = [
        (
            one.wall.name,
            class_words(one),
            litres(one.wall_spell_index),
            band_words(one.spell_band),
            litres(one.wall_annual_index),
            degrees(one.wall.orientation),
            share_words(one.worst_share),
        )
        for one in answer.assessment.elevations
    ]
    heads = [
        "Elevation", "Class", "Worst spell, L/m²", "90 % band", "A year, L/m²", "Faces", "Is the worst in",
    ]  # fmt: skip
    return table(
        f"Elevations of {answer.building.name}, worst first", heads, rows, numbers=(2, 3, 4, 5), kind="stack"
    )


def _factor_table(one: WallExposure) -> Marked:
    rows = []
    for factor in one.factors:
        who = Safe(f'{mark(factor.standing)}<span class="src">{say(factor.source)}</span>')
        rows.append((FACTOR_NAMES[factor.name], f"{factor.value:.3f}", factor.reason, who))
    heads = ["Factor", "Value", "Why", "Who says so"]
    return table(f"Factors of the {one.wall.name} elevation", heads, rows, numbers=(1,), kind="stack")


def _ground(answer: Answer) -> Marked:
    one = answer.chosen
    view = either(
        view_plan(answer.assessment, answer.surveyed, one),
        view_plan(answer.assessment, answer.surveyed, one, size=PHONE, prefix="narrow-view"),
        caption=f"Lines of sight from the {one.wall.name} elevation; dark: as tall as the wall.",
        kind="sight",
    )
    ring = plate(
        site_ring(answer.assessment, size=PHONE), caption=ground_words(answer.assessment), size="fills"
    )
    return f'<div class="pair">{view}{ring}</div>'


def _sources(answer: Answer) -> Marked:
    rows = [
        (one.what, one.source, Safe(str(mark(one.standing) if one.standing else "the record itself")))
        for one in sources_of(answer.assessment)
    ]
    return table(
        "Where the exposure figures come from", ["What", "Source", "Who says so"], rows, kind="stack"
    )
