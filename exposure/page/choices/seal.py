"""Each panel carries the choice it was made for, and only what belongs to the choice in force can be seen.

Derived from the designer's question which elevation is worst: a figure that stands for a moment under another wall's
button is a wrong figure. A browser draws what comes piece by piece and lights a button before the server has
answered; so every panel names its answer and its wall in its markup, and one rule, sent before them, hides
whatever does not agree with the answer in force and with the button that is lit.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from html import escape

from exposure.page.markup import Marked

SHORT = 12  # characters of an answer's mark that stand in the markup


@dataclass(frozen=True)
class Seal:
    """The answer a panel belongs to, and the wall where it is about one."""

    answer: str  # short mark of the answer, by content
    walls: tuple[str, ...]  # names, in the order of the buttons
    wall: str = ""  # empty: of the whole building

    @classmethod
    def of(cls, mark: str, walls: Sequence[str], wall: str = "", *, turn: int = 0) -> "Seal":
        """The seal of an answer's mark, for the turn in which the reader opened it or came back to it."""
        return cls(f"{turn}n{mark[:SHORT]}", tuple(walls), wall)

    def key(self, name: str) -> str:
        """Key of the buttons that choose a wall of this answer: other buttons for another answer."""
        return f"{name}-{self.answer}"

    def on(self, panel: Marked) -> Marked:
        """The panel with the choice it was made for.

        Examples
        --------
        >>> Seal("ab12", ("south", "north"), "north").on("<p>3</p>")
        '<div data-answer="ab12" data-wall="2" data-wall-name="north"><p>3</p></div>'
        """
        if not self.wall:
            return f'<div data-answer="{self.answer}">{panel}</div>'
        number = self.walls.index(self.wall) + 1
        return (
            f'<div data-answer="{self.answer}" data-wall="{number}" data-wall-name="{escape(self.wall)}">'
            f"{panel}</div>"
        )

    def rule(self) -> Marked:
        """What hides every panel of another answer, and of another wall than the one whose button is lit."""
        answer = f'[data-answer="{self.answer}"]'
        shown = []
        for number in range(1, len(self.walls) + 1):
            button = f'[class*="{self.key("elevation")}"] [role="radiogroup"] > :nth-child({number})'
            lit = f'.stApp:has({button}:is([aria-checked="true"], [data-selected="true"]))'
            shown.append(f'{lit} {answer}[data-wall="{number}"]')
        return (
            f"<style>[data-answer]:not({answer}) {{ visibility: hidden !important }}\n"
            f'[class*="elevation-"][class*="st-key-"]:not([class*="{self.key("elevation")}"]) {{ display: none }}\n'
            f"@supports selector(:has(*)) {{\n[data-wall] {{ visibility: hidden }}\n"
            f"{', '.join(shown)} {{ visibility: visible }}\n}}</style>"
        )

    @property
    def whole(self) -> "Seal":
        """The same for the whole building."""
        return replace(self, wall="")
