"""Cautions, to be printed where the hands are."""

from functools import cache

from exposure.tables import load_table


def cautions(where: str) -> tuple[str, ...]:
    """Cautions of one place: every, water check or standing wall.

    Examples
    --------
    >>> len(cautions("water check")) >= 6
    True
    """
    return tuple(row["text"] for row in load_table("cautions")["row"] if row["where"] == where)


def caution_text(text: str) -> str:
    """``text``, or the sentence it names."""
    return _sentences().get(text, text)


@cache
def _sentences() -> dict[str, str]:
    """Every caution by its name."""
    return {row["key"]: row["text"] for row in load_table("cautions")["row"]}
