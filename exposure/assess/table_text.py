"""Tables and values for other programs: plain spaces and digits, and no cell of a spreadsheet that starts a formula."""

import csv
import io
import math
import re
from collections.abc import Callable, Iterable, Mapping
from typing import Any

import numpy as np

PLAIN = str.maketrans({"\u00a0": " ", "²": "2", "³": "3", "\u2212": "-"})
FORMULA_STARTS = (
    "=",
    "+",
    "-",
    "@",
    "\t",
    "\r",
    "\n",
    "\uff1d",
    "\uff0b",
    "\uff0d",
    "\uff20",
)  # the last four are full-width
FIGURE = re.compile(r"-[0-9]+(\.[0-9]+)?")
UNSEEN = " \u200b\u200c\u200d\u2060\ufeff"  # may stand before a formula and be dropped by who opens the file


def plain_text(text: str) -> str:
    r"""``text`` with plain spaces and digits, as files for other programs want it.

    Examples
    --------
    >>> plain_text("70\u00a0L/m²")
    '70 L/m2'
    """
    return text.translate(PLAIN)


def safe_cell(value: object) -> str:
    """A spreadsheet cell that cannot start a formula; a plain figure stays one, less than 0 too.

    Examples
    --------
    >>> safe_cell("=HYPERLINK(1)"), safe_cell("tray"), safe_cell("-38.28"), safe_cell("-38+1")
    ("'=HYPERLINK(1)", 'tray', '-38.28', "'-38+1")
    """
    text = plain_text(str(value))
    formula = text.lstrip(UNSEEN).startswith(FORMULA_STARTS) and not FIGURE.fullmatch(text)
    return f"'{text}" if formula else text


def csv_text(rows: Iterable[Iterable[object]]) -> str:
    r"""Rows as CSV, no cell of which can start a formula; numbers stay numbers, missing is empty.

    Examples
    --------
    >>> csv_text([["name", "fall"], ["=cmd()", -1.5], ["north", None]])
    "name,fall\n'=cmd(),-1.5\nnorth,\n"
    """
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows([_cell(value) for value in row] for row in rows)
    return text.getvalue()


def _cell(value: object) -> object:
    if value is None or isinstance(value, int | float):
        return "" if value is None else value
    return safe_cell(value)


def plain(value: Any, *, words: Callable[[str], str] = str) -> Any:
    """Numbers, text, lists and tables only, as JSON knows them; what is not finite becomes None, text what ``words`` makes of it.

    Examples
    --------
    >>> plain({"a": (np.float64(1.5), float("nan"))})
    {'a': [1.5, None]}
    """
    if isinstance(value, Mapping):
        return {str(key): plain(one, words=words) for key, one in value.items()}
    if isinstance(value, list | tuple | np.ndarray):
        return [plain(one, words=words) for one in value]
    if isinstance(value, np.generic):
        value = value.item()
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    return words(value) if isinstance(value, str) else value
