"""Tables from standards and practice, each one TOML file beside this one, with its source inside."""

import tomllib
from functools import cache
from importlib.resources import files


@cache
def load_table(name: str) -> dict:
    """Read table ``name``: its ``source``, ``units`` and list of ``row``.

    Examples
    --------
    >>> load_table("terrain")["source"]["verified"]
    False
    """
    return tomllib.loads(files("exposure.tables").joinpath(f"{name}.toml").read_text("utf-8"))


def find_row(table: str, column: str, value: str) -> dict:
    """Return the row of ``table`` whose ``column`` equals ``value``, or say which values exist.

    Raises
    ------
    LookupError
        When no row has that value.

    Examples
    --------
    >>> find_row("terrain", "category", "II")["roughness_length"]
    0.05
    """
    rows = load_table(table)["row"]
    for row in rows:
        if row[column] == value:
            return row
    known = ", ".join(repr(row[column]) for row in rows)
    message = f"no {column} {value!r} in {table}; {load_table(table)['source']['document']} lists {known}."
    raise LookupError(message)


def source_line(table: str) -> str:
    """One line that says who gives the figures of ``table``, and that they were not checked when so.

    Examples
    --------
    >>> source_line("terrain")
    'ISO 15927-3:2009, terrain table (from memory, not checked)'
    """
    source = load_table(table)["source"]
    mark = "" if source["verified"] else " (from memory, not checked)"
    return f"{source['document']}, {source['place']}{mark}"
