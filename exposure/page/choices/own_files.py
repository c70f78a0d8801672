"""Lists and rules of the reader's own: kept in the session under a short mark, which is all the address carries.

Derived from the designer's question what an elevation needs: the windows of this job and the rules of this office
are the designer's, not ours. They are too long and too private for an address; a project file holds them whole.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any

from exposure.assess.openings import check_openings
from exposure.assess.prices import Prices, read_prices
from exposure.checks import RefusalError
from exposure.detail.openings import Opening, read_openings
from exposure.detail.rule_file import Rule, local_rules, read_rule_text
from exposure.page.choices.house_file import check_words, house_mark, words_in
from exposure.page.choices.session import OwnFile, session
from exposure.page.choices.state import LONGEST_NAME, PageState, short_name
from exposure.wall import Wall

OPENINGS, RULE, BUILDING, PRICES = "openings", "rule", "building", "prices"
LARGEST = {OPENINGS: 100_000, RULE: 100_000, BUILDING: 300_000, PRICES: 100_000}  # bytes
TITLES = {
    OPENINGS: "an openings list",
    RULE: "a rule file",
    BUILDING: "a building's file",
    PRICES: "a price file",
}
MOST_LINES = 300  # of an openings list on the page; the terminal takes more
MOST_QUESTIONS = 20  # of a rule
KEPT = 12  # texts of one reader's session


def read_own(kind: str, content: bytes, name: str) -> OwnFile:
    """An upload as a text of its kind, read and found sound.

    Raises
    ------
    RefusalError
        When it is too large, no UTF-8 text, or not what it should be.
    """
    check_size(kind, len(content))
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise RefusalError(
            f"a file that is no UTF-8 text (at byte {error.start:,})",
            f"{TITLES[kind]} as text in UTF-8",
            "Save it as UTF-8; a spreadsheet offers it as CSV UTF-8.",
        ) from None
    found = OwnFile(kind, short_name(name) or TITLES[kind].partition(" ")[2], text)
    read: dict[str, Callable[[str], object]] = {
        OPENINGS: openings_of, RULE: rule_of, BUILDING: check_words, PRICES: read_prices,
    }  # fmt: skip
    read[kind](text)
    return found


def check_size(kind: str, size: int) -> None:
    """Stop when a file of ``size`` bytes is too large for its kind; asked before it is read."""
    if size > LARGEST[kind]:
        raise RefusalError(
            f"a file of {size:,} bytes",
            f"{TITLES[kind]} of at most {LARGEST[kind]:,} bytes",
            "Choose the right file, or shorten it.",
        )


@lru_cache(maxsize=64)
def openings_of(text: str) -> tuple[Opening, ...]:
    """The openings of a list's text.

    Raises
    ------
    RefusalError
        As :func:`exposure.detail.openings.read_openings`, and for no line or too many.
    """
    found = read_openings(text)
    if not 1 <= len(found) <= MOST_LINES:
        raise RefusalError(
            f"an openings list of {len(found):,} lines",
            f"1 to {MOST_LINES} lines",
            "Put like sizes together.",
        )
    return tuple(replace(one, elevation=short_name(one.elevation)) for one in found)


@lru_cache(maxsize=64)
def rule_of(text: str) -> Rule:
    """The rule of a file's text.

    Raises
    ------
    RefusalError
        As :func:`exposure.detail.rule_file.read_rule_text`, and for a rule the page cannot ask or tell apart.
    """
    rule = read_rule_text(text, name="the rule file")
    if rule.key in local_rules():
        raise RefusalError(
            f"a rule called {rule.key!r}", "a name of your own", "Give it another key; that one is built in."
        )
    if len(rule.name) > LONGEST_NAME or len(rule.questions) > MOST_QUESTIONS:
        raise RefusalError(
            f"a rule with a name of {len(rule.name)} characters and {len(rule.questions)} questions",
            f"at most {LONGEST_NAME} characters and {MOST_QUESTIONS} questions",
            "Shorten it.",
        )
    return rule


def keep(own: OwnFile) -> str:
    """Keep a text in this session; gives its mark."""
    texts: dict[str, OwnFile] = dict(session.files)
    texts.pop(own.mark, None)
    texts[own.mark] = own
    while len(texts) > KEPT:
        texts.pop(next(iter(texts)))
    session.files = texts
    return own.mark


def kept(mark: str) -> OwnFile | None:
    """The text of that mark, when this session has it."""
    return session.files.get(mark) if mark else None


def own_files(state: PageState) -> tuple[OwnFile, ...]:
    """The texts the choices name and this session has."""
    found = [kept(mark) for mark in (state.openings, state.prices, *state.office, house_mark(state))]
    return tuple(one for one in found if one is not None)


def not_here(kind: str, mark: str) -> RefusalError:
    """What is said of a text that the address names and this session does not have."""
    return RefusalError(
        f"the address names {TITLES[kind]} ({mark.rpartition('-')[2]}) that this session does not hold",
        f"{TITLES[kind]} opened in this window: an address carries only its mark",
        "Open it again, open the project file that holds it, or leave it out.",
    )


def house_words(state: PageState) -> dict[str, Any] | None:
    """The words of the building's file in force; None when the building is none.

    Raises
    ------
    RefusalError
        When the address names a file that this session does not hold.
    """
    mark = house_mark(state)
    if not mark:
        return None
    own = kept(mark)
    if own is None:
        raise not_here(BUILDING, mark)
    return words_in(own.text)


def openings_in_use(
    state: PageState, walls: Sequence[Wall]
) -> tuple[tuple[Opening, ...], RefusalError | None]:
    """Openings that stand on these walls, or none and the reason why the list in force is not counted."""
    if not state.openings:
        return (), None
    own = kept(state.openings)
    if own is None:
        return (), not_here(OPENINGS, state.openings)
    try:
        found = on_walls(openings_of(own.text), walls)
        check_openings(found, walls)
    except RefusalError as refused:
        return (), refused
    return found, None


def on_walls(openings: Sequence[Opening], walls: Sequence[Wall]) -> tuple[Opening, ...]:
    """The openings with each elevation called as the building calls it, whatever its capitals."""
    names = {wall.name.casefold(): wall.name for wall in walls}
    return tuple(
        replace(one, elevation=names.get(one.elevation.casefold(), one.elevation)) for one in openings
    )


def office_rules_in_use(state: PageState) -> tuple[Rule, ...]:
    """The rules of the reader's office that the choices name.

    Raises
    ------
    RefusalError
        When this session does not hold one of them: a schedule without it could ask too little.
    """
    found = []
    for mark in state.office:
        own = kept(mark)
        if own is None:
            raise not_here(RULE, mark)
        found.append(rule_of(own.text))
    return tuple(found)


def prices_in_use(state: PageState) -> tuple[Prices | None, RefusalError | None]:
    """The prices in force, or none and the reason why those that are named are not counted."""
    if not state.prices:
        return None, None
    own = kept(state.prices)
    return (None, not_here(PRICES, state.prices)) if own is None else (read_prices(own.text), None)
