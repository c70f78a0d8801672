"""Tables from standards and practice, each one TOML file beside this one, with its source inside."""

import tomllib
from functools import cache
from importlib.resources import files

from exposure.tables.standing import row_standings, weakest, with_standing


@cache
def load_table(name: str) -> dict:
    """Read table ``name``: its ``source``, ``units`` and list of ``row``.

    Examples
    --------
    >>> load_table("terrain")["source"]["document"]
    'ISO 15927-3:2009'
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


@cache
def table_standing(table: str) -> str:
    """How the figures of ``table`` stand: the weakest of its rows, see :mod:`exposure.tables.standing`.

    Examples
    --------
    >>> table_standing("terrain"), table_standing("obstruction")
    ('second hand', 'from memory')
    """
    return weakest(one for row in load_table(table)["row"] for one in row_standings(row))


@cache
def source_line(table: str) -> str:
    """One line that says who gives the figures of ``table``, and how they stand where that asks for a look.

    Examples
    --------
    >>> source_line("terrain")
    'ISO 15927-3:2009, terrain table (second hand, confirm)'
    """
    source = load_table(table)["source"]
    return with_standing(f"{source['document']}, {source['place']}", table_standing(table))
