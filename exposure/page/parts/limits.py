"""What this page does not know.

Derived from all three questions: an answer someone builds by must carry its limits where it stands.
"""

import streamlit as st

from exposure.page.choices.answer import Answer
from exposure.page.markup import doubts, say
from exposure.paper.evidence.evidence_page import evidence_html
from exposure.paper.provenance import record_words, version_words

LIMITS = (
    "Hourly means miss gusts inside the hour: published comparisons find 11 to 45 % too little rain.",
    "Models of rain on walls differ by more than two times. Rank the walls first, then read the litres.",
    "Figures marked second hand or from memory were not compared with their document: read it before you rely on them.",
    "Not valid in mountains with cliffs or gorges, where much falls as snow or hail, or where a quarter of the rain "
    "comes in severe thunderstorms.",
    "Local codes, the makers' instructions and licensed practice decide.",
)


CHECKED = "How the numbers were checked"


def show_limits(answer: Answer) -> None:
    """Limits and the version, and the page of what was held against numbers from outside."""
    st.html(
        f'<h2>What this page does not know</h2><div class="two">{doubts(LIMITS, word="Limit")}</div>'
        f'<p class="note">Weather record: {say(record_words(answer.assessment))}. {say(version_words())}.</p>'
    )
    _show_evidence()


@st.fragment
def _show_evidence() -> None:
    if st.toggle(CHECKED, key="evidence"):
        with st.container(key="evidence-page"):
            st.iframe(evidence_html(), height=900, alt=CHECKED)
