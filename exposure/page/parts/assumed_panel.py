"""What nobody told, beside the answer: what was taken instead, and what telling it would make of the figure.

Derived from the designer's question which elevation is worst: a figure that rests on something nobody said must say so
where it is read. Only what would move the figure of the elevation shown stands here.
"""

from exposure.assess.assumptions import WHOLE_SITE, Assumption
from exposure.doubts import Doubt
from exposure.page.choices.answer import Answer
from exposure.page.markup import Marked, doubts

ASSUMED = "Not told"
WHERE = {
    "eaves": "Change building",
    "roof": "Change building",
    "ridges": "Change building",
    "ridge height": "Change building",
    "shape": "Change building",
    "ground": "What you know better",
    "neighbours": "What you know better",
}


def assumed_of(answer: Answer, wall: str) -> list[Assumption]:
    """What was not told and would move the figure of an elevation."""
    return [one for one in answer.assessment.assumptions if one.elevation == wall and one.matters]


def assumed_words(answer: Answer, wall: str, *, at_desk: bool = True) -> Marked:
    """The list beside the answer; nothing where all was told that moves the figure."""
    found = assumed_of(answer, wall)
    if not found:
        return ""
    places = list(dict.fromkeys(WHERE[one.what] for one in found if one.what in WHERE))
    tell = f'<p class="note">Tell it under {" and ".join(places)}.</p>' if places and at_desk else ""
    return (
        "<h3>What was not told, and what telling it would do</h3>"
        + doubts((str(one.doubt) for one in found), word=ASSUMED)
        + tell
    )


def told_elsewhere(flag: str) -> bool:
    """Whether a doubt of the assessment stands beside its elevation already."""
    room, _, name = flag.key.partition(".") if isinstance(flag, Doubt) else ("", "", "")
    return (
        room == "assess" and name.endswith("_not_told") and name.removesuffix("_not_told") not in WHOLE_SITE
    )
