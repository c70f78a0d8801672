"""What a view asks to be made beside the page: the result by all that went in, and the one before while it is made.

Derived from the planner's questions: a comparison or a town takes a while, and the answer that stands must stay until the next is there.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Generic, TypeVar

import streamlit as st

from exposure.page.held import Held
from exposure.page.work.kept import Kept
from exposure.page.work.long_work import Tell, begin, forget_refusal, running, show_work

Result = TypeVar("Result")


@dataclass(frozen=True)
class Asked(Generic[Result]):
    """A result that is asked for: all that goes in as a short text, what it is called, and how to make it."""

    key: str
    title: str
    make: Callable[[Tell], Result]


class Makes(Generic[Result]):
    """Results of one kind, kept for all readers of this server; what one reader asked and was last shown lies in the session.

    Parameters
    ----------
    name
        Under which the work runs.
    doing, one
        How its progress begins, and what a result is called: ``Comparing``, ``comparison``.
    most
        How many are kept.
    """

    def __init__(self, name: str, *, doing: str, one: str, most: int) -> None:
        self.name, self.doing, self.one = name, doing, one
        self.kept: Kept[Result] = Kept(most)
        self._asked: Held[str] = Held(f"{name} asked", "")
        self._shown: Held[Result | None] = Held(f"{name} shown", None)

    def make(self, asked: Asked[Result], tell: Tell) -> Result:
        """Make a result and keep it."""
        made = asked.make(tell)
        self.kept.put(asked.key, made)
        return made

    def show(self, asked: Asked[Result]) -> Result | None:
        """What was asked, once it is made; until then how far it is, and the one before."""
        found = self.kept.get(asked.key)
        if found is not None:
            self._shown.put(found)
        elif self._asked.value != asked.key:
            self._begin(asked)
        before = self._shown.value
        with st.container(key=f"working-{self.name}"):
            show_work(
                self.name,
                lambda _made: None,
                what=asked.title,
                meanwhile="" if before is None else f"What stands below is the {self.one} before.",
                again=partial(self._begin, asked),
            )
        return found or (before if running(self.name) is not None else None)

    def _begin(self, asked: Asked[Result]) -> None:
        self._asked.put(asked.key)
        forget_refusal(self.name)
        begin(self.name, f"{self.doing} {asked.title}:", partial(self.make, asked))
