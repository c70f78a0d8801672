"""What this page does not know, and who says what it knows.

Derived from all three questions: an answer someone builds by must carry its limits where it stands, and each figure
the document it comes from.
"""

import streamlit as st

from exposure.draw.marked import mark
from exposure.page.choices.answer import Answer
from exposure.page.markup import Safe, doubts, say, table
from exposure.paper.provenance import record_words, sources_of, version_words

LIMITS = (
    "Hourly means miss gusts inside the hour: published comparisons find 11 to 45 % too little rain.",
    "Models of rain on walls differ by more than two times. Rank the walls first, then read the litres.",
    "Figures marked second hand or from memory were not compared with their document: read it before you rely on them.",
    "Not valid in mountains with cliffs or gorges, where much falls as snow or hail, or where a quarter of the rain "
    "comes in severe thunderstorms.",
    "Local codes, the makers' instructions and licensed practice decide.",
)


def show_limits(answer: Answer) -> None:
    """Limits, open; sources, folded; the version."""
    with st.expander("What this page does not know", expanded=True):
        st.html(doubts(LIMITS, word="Limit"))
    with st.expander("Sources"):
        rows = [
            (one.what, one.source, Safe(str(mark(one.standing) if one.standing else "the record itself")))
            for one in sources_of(answer.assessment)
        ]
        st.html(table("Where the exposure figures come from", ["What", "Source", "Who says so"], rows))
    st.html(
        f'<p class="note">Weather record: {say(record_words(answer.assessment))}. {say(version_words())}.</p>'
    )
