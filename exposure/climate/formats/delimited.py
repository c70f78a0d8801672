"""Rows of cells joined by a delimiter, checked to be whole."""

import csv
import io

import numpy as np

from exposure.checks import RefusalError


def as_file(text: str) -> io.BytesIO:
    """``text`` as a file for a parser, in a quarter of the memory a file of letters takes."""
    return io.BytesIO(text.encode("utf-8", errors="replace"))


def check_widths(rows: str, delimiter: str, width: int, *, first_row: int = 1) -> None:
    r"""Stop at the first row that has more or fewer cells than ``width`` (cut off or shifted).

    Parameters
    ----------
    rows
        Text of the rows, without header.
    first_row
        Number the first of them has for the reader of the message.

    Examples
    --------
    >>> check_widths("10,20\n30,40", ",", 2)
    >>> check_widths("10,20\n30", ",", 2)
    Traceback (most recent call last):
    exposure.checks.RefusalError: row 2 has 1 cells; expected 2, as the header. Mend or remove the row.
    """
    if '"' in rows:
        counts = np.array([len(row) for row in csv.reader(io.StringIO(rows), delimiter=delimiter)])
        wrong = (counts != width) & (counts > 0)
    else:
        letters = np.frombuffer(rows.encode("utf-8"), dtype=np.uint8)
        ends = np.concatenate([np.flatnonzero(letters == ord("\n")), [letters.size]])
        marks = np.searchsorted(np.flatnonzero(letters == ord(delimiter)), ends)
        counts = np.diff(marks, prepend=0) + 1
        written = np.diff(ends, prepend=-1) > 2  # more than a line end
        wrong = (counts != width) & written
    if wrong.any():
        row = int(np.argmax(wrong))
        raise RefusalError(
            f"row {first_row + row} has {int(counts[row])} cells",
            f"{width}, as the header",
            "Mend or remove the row.",
        )
