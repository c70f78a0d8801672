"""A project as a file of ours: every choice, written as TOML, read back without trust.

Derived from the designer's question: a job is taken up again after weeks, on another machine, after a restart. A
weather file is named in it by its mark, not carried; the page asks for it again.
"""

import json
import tomllib
from datetime import date

import exposure
from exposure.checks import RefusalError
from exposure.page.state import PageState, from_query, to_query

FORMAT = "driving-rain-project"
EDITION = 1
LARGEST = 200_000  # bytes
NAME_ENDING = ".project.toml"


def write_project(state: PageState, *, record_title: str, made: date) -> str:
    """The project's text.

    Parameters
    ----------
    state
        The choices.
    record_title
        Name of the weather record, for whoever has to find it again.
    made
        Date to write.

    Examples
    --------
    >>> text = write_project(PageState(at=(48.44, -29.68)), record_title="Invented grid", made=date(2026, 11, 25))
    >>> read_project(text.encode()).at
    (48.44, -29.68)
    """
    lines = [
        "# A project of the page Driving rain on walls. Open it there under Save, open, download.",
        f"format = {_quoted(FORMAT)}",
        f"edition = {EDITION}",
        f"made = {made.isoformat()}",
        f"program = {_quoted(exposure.__version__)}",
        f"weather_record = {_quoted(record_title)}  # not carried here; open it again when it is a file of yours",
        "",
        "[choices]",
        *(f"{key} = {_quoted(value)}" for key, value in to_query(state).items()),
    ]
    return "\n".join(lines) + "\n"


def read_project(content: bytes) -> PageState:
    """The choices of a project file.

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
        raw = tomllib.loads(content.decode("utf-8"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError, RecursionError) as error:
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
    return from_query({key: value for key, value in raw["choices"].items() if isinstance(value, str)})


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "")
