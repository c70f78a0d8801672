"""Text for other programs: plain spaces and digits, and no cell of a spreadsheet that starts a formula."""

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
    """A spreadsheet cell that cannot start a formula.

    Examples
    --------
    >>> safe_cell("=HYPERLINK(1)"), safe_cell("tray")
    ("'=HYPERLINK(1)", 'tray')
    """
    text = plain_text(str(value))
    return f"'{text}" if text.lstrip(UNSEEN).startswith(FORMULA_STARTS) else text
