"""Print: the sheets and files of the building, each by one button.

Derived from all three questions, for whoever works from paper: the designer's file, the builder's hut, the planner's
table. A sheet has no folds, so nothing is left out of it; printing this page itself would cut it off.
"""

import streamlit as st

from exposure.assess.details_parts import BuildingDetails
from exposure.draw.assessment_pictures import codes_of, plan_of
from exposure.page.choices.answer import Answer
from exposure.page.markup import PHONE, caution, plate, say, table
from exposure.page.parts.take_along import (
    show_project,
    show_sheet_buttons,
    show_table_buttons,
    site_button,
)
from exposure.paper.sheet_words import class_words, figures_words, level_words


def show_print_view(answer: Answer, details: BuildingDetails) -> None:
    """What will be on the sheets, and the buttons."""
    st.html(f'<h2 class="where">Sheets of {say(answer.building.name)}, {say(answer.spot.name)}</h2>')
    with st.container(key="print-pair"):
        left, right = st.columns([1.4, 1])
    with left:
        st.html(
            "<p>Sheets that print in black and white, on A4 or Letter; the class stands in each title line. A builder wants "
            "the sheets; whoever checks or signs wants the annex with the reasons too.</p>"
        )
        show_sheet_buttons(answer, details)
        st.html("<h3>For the site</h3>")
        site_button(answer, details)
        st.html("<h3>For other programs</h3>")
        show_table_buttons(answer, details)
        st.html("<h3>The project</h3>")
        show_project(answer)
        st.html(caution(details.elevations[0].schedule.cautions[0]))
    with right:
        st.html(
            plate(plan_of(answer.assessment, size=PHONE, callouts=False, prefix="print-plan"), size="fills")
        )
    codes = codes_of(answer.assessment)
    rows = [
        (
            f"{codes[one.name]} {one.name}",
            class_words(one.exposure),
            figures_words(one.exposure),
            level_words(one.schedule),
        )
        for one in details.elevations
    ]
    heads = ["Elevation", "Class", "Figures", "Build"]
    st.html(table("What the elevation sheets say", heads, rows, kind="stack"))
