"""The three questions with their answers in two to five words, each a link to its reasons.

Derived from all three questions: a reader who stops here has the answer, and knows which part of the page
defends it. Bands stand behind every litre figure, never folded away.
"""

import streamlit as st

from exposure.draw.assessment_pictures import other_classes
from exposure.figures import Band, litres, litres_with_band
from exposure.page.choices.answer import Answer, rose_of_place
from exposure.page.markup import Marked, say
from exposure.wall import WallExposure
from exposure.wall.building import compass_name

QUESTIONS = (
    "How exposed is this place?",
    "Which elevation is worst, and what does it need?",
    "How do these places compare?",
)


def show_answers(answer: Answer, *, needs: str, compared: tuple[str, str]) -> None:
    """Draw the three boxes.

    Parameters
    ----------
    needs
        What the worst elevation needs, in one sentence.
    compared
        Answer to the third question and its sentence.
    """
    boxes = (place_words(answer), wall_words(answer, needs), compared)
    made = "".join(
        answer_box(number, question, *words)
        for number, (question, words) in enumerate(zip(QUESTIONS, boxes, strict=True), start=1)
    )
    st.html(answer.seal.whole.on(f'<div class="answers">{made}</div>'))


NO_BAND = "no band: too few years"


def sure(words: str, band: Band | None) -> str:
    """A figure's words; where the record is too short for a band, that stands in its place.

    Examples
    --------
    >>> sure("43 L/m²", None)
    '43 L/m² (no band: too few years)'
    """
    return words if band is not None else f"{words} ({NO_BAND})"


def answer_box(number: int, question: str, short: str, long: str) -> Marked:
    """One box: the question as a link, the answer large, its figures below."""
    return (
        f'<div class="answer"><a href="#q{number}">{say(question)}</a>'
        f'<p class="a">{say(short)}</p><p>{say(long)}</p></div>'
    )


def place_words(answer: Answer) -> tuple[str, str]:
    """First answer: the way the rain hits hardest, what an open field gets there, and the mildest way beside it."""
    curve, low, high = rose_of_place(answer)
    ways = [float(way) for way in answer.assessment.rose["orientation"].values]
    worst, mild = curve.index(max(curve)), curve.index(min(curve))
    band = (low[worst], high[worst]) if low is not None and high is not None else None
    return (
        f"Hardest facing {compass_name(ways[worst])}",
        f"A wall in an open field facing {compass_name(ways[worst])} gets {sure(litres_with_band(curve[worst], band), band)} "
        f"a year; facing {compass_name(ways[mild])}, {litres(curve[mild])}.",
    )


def wall_words(answer: Answer, needs: str) -> tuple[str, str]:
    """Second answer: the worst elevation and its class, what it needs, and the figure behind it."""
    worst = answer.worst
    return (
        f"{worst.wall.name[:1].upper()}{worst.wall.name[1:]}: {worst.exposure_class}",
        f"{needs} It gets {sure(litres_with_band(worst.wall_spell_index, worst.spell_band), worst.spell_band)} "
        f"{worst.spell_label}{_other(worst)}.",
    )


def _other(one: WallExposure) -> str:
    other = other_classes(one)
    return f"; it could be {other}" if other else ""
