"""A project as a file of ours: every choice, the openings list and the office's rules, as TOML read without trust.

Derived from the designer's question: a job is taken up again after weeks, on another machine, after a restart. A
weather file is named in it by its mark, not carried; the page asks for it again.
"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import exposure
from exposure.checks import RefusalError, sound_toml
from exposure.page.choices.house_file import house_mark
from exposure.page.choices.own_files import BUILDING, OPENINGS, PRICES, RULE, TITLES, read_own
from exposure.page.choices.query import from_query, to_query
from exposure.page.choices.session import OwnFile
from exposure.page.choices.state import MOST_OFFICE_RULES, PageState

FORMAT = "driving-rain-project"
EDITION = 4  # 2 carries the openings list and the office's rules, 3 the building's file too, 4 the prices
LARGEST = 1_500_000  # bytes
NAME_ENDING = ".project.toml"


@dataclass(frozen=True)
class Project:
    """What a project file holds: the choices, and the texts of the reader's own that they name by their marks."""

    state: PageState  # its notes tell what the file held wrongly
    files: tuple[OwnFile, ...] = ()


def write_project(state: PageState, *, record_title: str, made: date, files: Iterable[OwnFile] = ()) -> str:
    """The project's text.

    Parameters
    ----------
    state
        The choices.
    record_title
        Name of the weather record, for whoever has to find it again.
    made
        Date to write.
    files
        The openings list and the rules that the choices name (:func:`exposure.page.choices.own_files.own_files`).

    Examples
    --------
    >>> text = write_project(PageState(at=(48.44, -29.68)), record_title="Invented grid", made=date(2026, 11, 25))
    >>> read_project(text.encode()).at
    (48.44, -29.68)
    """
    lines = [
        "# A project of the page Driving rain on walls. Open it there under Print, The project.",
        f"format = {_quoted(FORMAT)}",
        f"edition = {EDITION}",
        f"made = {made.isoformat()}",
        f"program = {_quoted(exposure.__version__)}",
        f"weather_record = {_quoted(record_title)}  # not carried here; open it again when it is a file of yours",
        "",
        "[choices]",
        *(f"{key} = {_quoted(value)}" for key, value in to_query(state).items()),
    ]
    for one in files:
        lines += ["", f"[[{one.kind}]]", f"name = {_quoted(one.name)}", f"text = {_quoted(one.text)}"]
    return "\n".join(lines) + "\n"


def read_project(content: bytes) -> PageState:
    """The choices of a project file; see :func:`open_project`."""
    return open_project(content).state


def open_project(content: bytes) -> Project:
    """The choices of a project file, and the texts it carries.

    A text that cannot be used, or is not the one the choices name by its mark, is left out and told in the notes.

    Raises
    ------
    RefusalError
        When it is too large, not TOML, not a project of ours, or of a later edition.
    """
    if len(content) > LARGEST:
        raise RefusalError(
            f"a file of {len(content):,} bytes",
            f"a project of at most {LARGEST:,} bytes",
            "Choose a project file.",
        )
    try:
        raw = sound_toml(content.decode("utf-8"))
    except (ValueError, RecursionError) as error:
        raise RefusalError(
            "a file that is not TOML text",
            f"a project saved by this page (*{NAME_ENDING})",
            "Choose a project file.",
        ) from error
    if raw.get("format") != FORMAT or not isinstance(raw.get("choices"), dict):
        raise RefusalError(
            "a TOML file that is no project of this page",
            f"a file with format = {FORMAT!r}",
            "Choose a project file.",
        )
    if not isinstance(raw.get("edition"), int) or raw["edition"] > EDITION:
        raise RefusalError(
            f"a project of edition {str(raw.get('edition'))[:20]}",
            f"edition {EDITION} or before",
            "Use a newer version.",
        )
    state = from_query({key: value for key, value in raw["choices"].items() if isinstance(value, str)})
    notes = list(state.notes)
    openings, rules, houses, prices = (
        _texts(raw, kind, notes) for kind in (OPENINGS, RULE, BUILDING, PRICES)
    )
    wanted = {state.openings, state.prices, *state.office, house_mark(state)}
    held = (*openings[:1], *rules[:MOST_OFFICE_RULES], *houses[:1], *prices[:1])
    files = [one for one in held if one.mark in wanted]
    if len(files) < len(openings) + len(rules) + len(houses) + len(prices):
        notes.append("The project held a text that its choices do not name; it was left out.")
    return Project(replace(state, notes=tuple(notes)), tuple(files))


def _texts(raw: Mapping[str, Any], kind: str, notes: list[str]) -> list[OwnFile]:
    """The texts of one kind, each read like an upload."""
    rows = raw.get(kind, [])
    found = []
    for row in rows if isinstance(rows, list) else []:
        try:
            if not isinstance(row, dict) or not isinstance(row.get("text"), str):
                raise RefusalError("no text", "a text", "Open the file itself.")
            found.append(read_own(kind, row["text"].encode(), str(row.get("name", ""))))
        except RefusalError as refused:
            notes.append(
                f"The project held {TITLES[kind]} that cannot be used ({refused.came}); it was left out."
            )
    return found


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
