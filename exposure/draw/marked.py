"""Words on paper and screen: harmless HTML, dimensions in bold, marks of who says so, and units in print."""

import re
from functools import cache

from markupsafe import Markup, escape

from exposure.draw.drawing import picture, tally, tally_width
from exposure.draw.lettering import clean
from exposure.tables.standing import STANDING_WORDS

_DIMENSION = re.compile(
    r"(?<![\w.,])(?:\d[\d,.]*\s?to\s)?\d[\d,.]*\s?(?:mm²/m|mm2/m|mm²|mm|L/\(m²·min\)|L/m²|°C|°|%|Pa|days?|min|storeys?)(?!\w)"
)


def on_paper(words: object) -> str:
    """A sentence with its units as printed: L/m² and mm² where data files write L/m2 and mm2.

    Examples
    --------
    >>> on_paper("12 to 19 L/m2, 1000 mm2/m")
    '12 to 19 L/m², 1000 mm²/m'
    """
    return re.sub(r"\b(L/m|mm|µg/m|m)2\b", r"\1²", str(words))


def say(words: object, *, most: int = 2000) -> Markup:
    """Any words as harmless HTML of one line, units as printed.

    Examples
    --------
    >>> say('<b onclick="x">')
    Markup('&lt;b onclick=&#34;x&#34;&gt;')
    """
    return escape(clean(on_paper(words), most=most))


def whole(words: str) -> Markup:
    """The tool's own words as harmless HTML of one line, never cut."""
    return say(words, most=len(on_paper(words)))


def name(words: object, *, most: int = 80) -> Markup:
    """A name someone typed, kept apart so that right-to-left letters do not turn the words around it.

    Examples
    --------
    >>> name("Wrack House")
    Markup('<bdi>Wrack House</bdi>')
    """
    return Markup("<bdi>{}</bdi>").format(clean(words, most=most))


def dimensions(words: object) -> Markup:
    r"""Words with every dimension in bold, as someone on site looks for them.

    Examples
    --------
    >>> str(dimensions("Lap the sheet 150 mm over.")).replace("\u00a0", "_")
    'Lap the sheet <b>150_mm</b> over.'
    """
    line = clean(on_paper(words))
    out, at = Markup(""), 0
    for found in _DIMENSION.finditer(line):
        out += escape(line[at : found.start()]) + Markup("<b>{}</b>").format(
            found.group().replace(" ", "\u00a0")
        )
        at = found.end()
    return out + escape(line[at:])


def mark(standing: str) -> Markup:
    """How a figure stands, as a boxed word; dashed when the reader has something to confirm."""
    one = STANDING_WORDS[standing]
    return Markup('<span class="{}">{}</span>').format("mark un" if one.confirm else "mark", one.words)


def mark_letter(standing: str) -> Markup:
    """How a figure stands, as a boxed letter explained on the same sheet."""
    one = STANDING_WORDS[standing]
    kind = "mark un" if one.confirm else "mark"
    return Markup('<span class="{}" title="{}">{}</span>').format(kind, one.words, one.letter)


def mark_meanings() -> list[dict[str, object]]:
    """Every boxed letter with its words and meaning, for the foot of a sheet."""
    return [
        {"sign": mark_letter(standing), "words": one.words, "meaning": one.meaning}
        for standing, one in STANDING_WORDS.items()
        if standing != "invented"  # no line of a schedule is; a record says so in words
    ]


@cache
def tally_sign(class_name: str, *, size: float = 9, prefix: str = "") -> Markup:
    """The class's tally as a small picture beside its word; silent for screen readers, which read the word."""
    wide, tall = tally_width(size) + 2, size * 1.35 + 3
    svg = picture(
        tally(1, tall / 2, class_name, size=size),
        width=wide,
        height=tall,
        title="",
        desc="",
        prefix=prefix or "tally",
    )
    svg = re.sub(r"<(title|desc)[^>]*></\1>", "", svg)
    svg = re.sub(
        r' role="img" aria-labelledby="[^"]*"', ' class="tally" aria-hidden="true" focusable="false"', svg
    )
    return Markup(re.sub(r"<rect[^>]*/>", "", svg, count=1))
