"""Cautions, to be printed where the hands are."""

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
    for row in load_table("cautions")["row"]:
        if row["key"] == text:
            return row["text"]
    return text
