"""How wide words are and how they are kept within their room.

Pictures name no font file; they are laid out for DejaVu Sans, the widest of the fonts a reader may have, so that
words fit in all of them. Advance widths read from the font itself (Bitstream Vera licence), thousandths of an em.
"""

import re
import unicodedata

FONT = "Arial,'Liberation Sans',Roboto,'DejaVu Sans',sans-serif"
_FIRST = 32
_REGULAR = (
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337, 636, 636, 636, 636, 636,
    636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531, 1000, 684, 686, 698, 770, 632, 575, 775, 752, 295,
    295, 656, 557, 863, 748, 787, 603, 787, 695, 635, 611, 732, 684, 989, 685, 611, 685, 390, 337, 390, 838,
    500, 500, 613, 635, 550, 635, 615, 352, 635, 634, 278, 278, 579, 278, 974, 634, 612, 635, 635, 411, 521,
    392, 634, 592, 818, 592, 592, 525, 636, 337, 636, 838,
)  # fmt: skip
_BOLD = (
    348, 456, 521, 838, 696, 1002, 872, 306, 457, 457, 523, 838, 380, 415, 380, 365, 696, 696, 696, 696, 696,
    696, 696, 696, 696, 696, 400, 400, 838, 838, 838, 580, 1000, 774, 762, 734, 830, 683, 683, 821, 837, 372,
    372, 775, 637, 995, 837, 850, 733, 850, 770, 720, 682, 812, 774, 1103, 771, 724, 725, 457, 365, 457, 838,
    500, 500, 675, 716, 593, 716, 678, 435, 716, 712, 343, 343, 665, 343, 1042, 712, 687, 716, 716, 493, 595,
    478, 712, 652, 924, 645, 652, 582, 712, 365, 712, 838,
)  # fmt: skip
_NARROW = {"²": 440, "³": 440, "°": 500, "·": 380, "’": 380, "“": 660, "”": 660, "\u00a0": 348, "–": 500}
_OTHER = 1000  # any other letter, scarcely ever wider
_WIDE = 1300  # full-width letters and emoji
_WORD = re.compile(r"[^ ]*\d (?:mm|km|m|Pa)(?!\w)[^ ]*|[^ ]+")  # a figure keeps its unit
_DIRECTION = set("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def clean(words: object, *, most: int = 2000) -> str:
    r"""One line of plain text: no control or direction-changing characters, no stacked marks, at most ``most`` long.

    Characters that XML forbids would make a whole picture unreadable; direction overrides would let a name
    turn the figures beside it around.

    Examples
    --------
    >>> clean("south\x00-west\u202e\n wall")
    'south-west wall'
    """
    given = str(words)
    if len(given) <= most and given.isascii() and given.isprintable():
        return " ".join(part for part in given.split(" ") if part)
    out: list[str] = []
    for letter in given[: 4 * most]:
        if letter.isspace():
            if out and out[-1] != " ":
                out.append("\u00a0" if letter == "\u00a0" else " ")
        elif " " < letter <= "~" or _harmless(letter, out):
            out.append(letter)
    line = "".join(out).strip(" ")
    return line if len(line) <= most else line[: most - 1] + "…"


def _harmless(letter: str, before: list[str]) -> bool:
    """Whether XML allows ``letter``, it leaves the reading direction alone and is not the third mark on a letter."""
    kind = unicodedata.category(letter)
    if letter in _DIRECTION or letter in "\ufeff\ufffe\uffff" or kind in ("Cc", "Cs", "Cn", "Co"):
        return False
    stacked = len(before) > 1 and all(map(unicodedata.combining, before[-2:]))
    return not (kind in ("Mn", "Me") and stacked)


def text_width(words: str, *, size: float, bold: bool = False) -> float:
    """Width of ``words`` in the widest font at ``size``, in the same unit as ``size``.

    Examples
    --------
    >>> round(text_width("70", size=10), 2)
    12.72
    """
    return sum(map(_ADVANCES[bold].__getitem__, words)) * size / 1000


class _Advances(dict[str, int]):
    """Width of each letter in thousandths of an em."""

    def __missing__(self, letter: str) -> int:
        if unicodedata.east_asian_width(letter) in "WF":
            return _WIDE
        return 0 if unicodedata.combining(letter) else _OTHER


_ADVANCES = tuple(
    _Advances({chr(_FIRST + place): wide for place, wide in enumerate(table)} | _NARROW)
    for table in (_REGULAR, _BOLD)
)


def _letters_within(words: str, *, width: float, size: float, bold: bool) -> int:
    """How many letters of ``words`` fit into ``width``."""
    room = width * 1000 / size
    for place, letter in enumerate(words):
        room -= _ADVANCES[bold][letter]
        if room < 0:
            return place
    return len(words)


def fit(words: object, *, width: float, size: float, bold: bool = False) -> str:
    """``words`` shortened with an ellipsis until they are at most ``width`` wide.

    Examples
    --------
    >>> fit("north-east, inner courtyard", width=100, size=13)
    'north-east, i…'
    """
    line = clean(words, most=400)
    if text_width(line, size=size, bold=bold) <= width:
        return line
    room = width - text_width("…", size=size, bold=bold)
    return line[: _letters_within(line, width=room, size=size, bold=bold)].rstrip() + "…"


def wrap(words: object, *, width: float, size: float, bold: bool = False, most_lines: int = 0) -> list[str]:
    """``words`` broken into lines at most ``width`` wide; a longer word is cut.

    With ``most_lines`` the last line ends in an ellipsis when something is left over.

    Examples
    --------
    >>> wrap("farmland with hedges, wall at 4 m", width=150, size=13)
    ['farmland with hedges,', 'wall at 4 m']
    >>> wrap("wall top at 10.5 m", width=90, size=13)
    ['wall top at', '10.5 m']
    """
    lines: list[str] = []
    line = ""
    for word in _WORD.findall(clean(words)):
        longer = f"{line} {word}" if line else word
        if text_width(longer, size=size, bold=bold) <= width:
            line = longer
            continue
        if line:
            lines.append(line)
        line = word
        while len(line) > 1 and text_width(line, size=size, bold=bold) > width:
            cut = max(_letters_within(line, width=width, size=size, bold=bold), 1)
            lines.append(line[:cut])
            line = line[cut:]
            if most_lines and len(lines) > most_lines:
                break
    if line:
        lines.append(line)
    if most_lines and len(lines) > most_lines:
        rest = " ".join(lines[most_lines - 1 :])
        lines = [*lines[: most_lines - 1], fit(rest, width=width, size=size, bold=bold)]
    return lines
