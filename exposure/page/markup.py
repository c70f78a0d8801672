"""Pieces of HTML the screens are put together from; every word that comes from outside is escaped here.

Pictures go in as images with their sentence as alternative text: an SVG shown as an image never runs a script,
whatever a name in it holds, and it keeps its words for those who cannot see it.
"""

import re
from collections.abc import Iterable, Sequence
from html import unescape
from urllib.parse import quote

from exposure.checks import RefusalError
from exposure.draw.drawing import description
from exposure.draw.lettering import clean
from exposure.draw.marked import on_paper
from exposure.draw.marked import say as marked_say
from exposure.page.field_names import cure_on_page

Marked = str  # HTML that is already safe


def say(text: object) -> Marked:
    """Any text on one line, made safe to stand in HTML, its units as printed.

    Examples
    --------
    >>> say('<b onclick="x"> 3 L/m2')
    '&lt;b onclick=&#34;x&#34;&gt; 3 L/m²'
    """
    return str(marked_say(text))


def plain_label(text: object) -> str:
    r"""Any text as a label that is read as Markdown, with nothing in it taken as Markdown.

    Examples
    --------
    >>> plain_label("50 mm [now](x) *")
    '50 mm \\[now\\](x) \\*'
    """
    return re.sub(r"([\\`*_\[\]<>~$])", r"\\\1", on_paper(clean(text)))


def picture(svg: str, words: str, *, caption: str = "", size: str = "") -> Marked:
    """``svg`` on its own plate, told in ``words`` to those who cannot see it.

    Examples
    --------
    >>> picture("<svg/>", "A wall", caption="Plan")
    '<figure class="plate"><img alt="A wall" src="data:image/svg+xml,%3Csvg/%3E"><figcaption>Plan</figcaption></figure>'
    """
    under = f"<figcaption>{say(caption)}</figcaption>" if caption else ""
    kind = "plate" + (f" {size}" if size else "")
    return f'<figure class="{kind}"><img alt="{say(words)}" src="data:image/svg+xml,{quote(svg)}">{under}</figure>'


def plate(svg: str, *, caption: str = "", size: str = "") -> Marked:
    """A picture of ours, told in the sentence it carries itself."""
    return picture(svg, unescape(description(svg)), caption=caption, size=size)


def kept_wide(figure: Marked, words: str) -> Marked:
    """A picture that keeps its size on a phone, where it is moved sideways instead of read with a glass."""
    return f'<div class="wide keep" tabindex="0" role="group" aria-label="{say(words)}">{figure}</div>'


PHONE = 308  # CSS pixels of a picture that the narrowest phone (320) shows in its own size; a wider one enlarges it


def either(roomy: str, narrow: str, *, caption: str = "", kind: str = "") -> Marked:
    """A picture in the form for a wide place and in the one for a narrow place: the room there is chooses."""
    return (
        f'<div class="either {kind}">{plate(roomy, caption=caption, size="roomy")}'
        f"{plate(narrow, caption=caption, size='narrow')}</div>"
    )


def table(
    caption: str,
    heads: Sequence[str],
    rows: Iterable[Sequence[object]],
    *,
    numbers: Iterable[int] = (),
    kind: str = "",
) -> Marked:
    """A table whose first cell in each row names the row; ``numbers`` are columns set to the right.

    A cell given as a ``Safe`` is taken as HTML; anything else is escaped. A table of the kind ``stack`` becomes
    one block a row where it has no room: each cell carries the head of its column as a label, and the roles are
    written out, because they would be lost with the layout.

    Examples
    --------
    >>> table("Walls", ["Wall", "L/m²"], [["<south>", 70]], numbers=[1]).count("&lt;south&gt;")
    1
    >>> table("Walls", ["Wall", "L/m²"], [["south", 70]], kind="stack").count('data-label="L/m²"')
    1
    """
    right = set(numbers)
    stacked = "stack" in kind.split()
    labels = [say(head) for head in heads]

    def role(name: str) -> str:
        return f' role="{name}"' if stacked else ""

    def cell(column: int, value: object, *, head: bool = False) -> str:
        kind = ' class="num"' if column in right else ""
        text = value.html if isinstance(value, Safe) else say(value)
        if head:
            return f'<th scope="col"{role("columnheader")}{kind}>{text}</th>'
        if column == 0:
            return f'<th scope="row"{role("rowheader")}{kind}>{text}</th>'
        label = f' data-label="{labels[column]}"' if stacked else ""
        return f"<td{role('cell')}{kind}{label}>{text}</td>"

    row, group = role("row"), role("rowgroup")
    top = "".join(cell(i, head, head=True) for i, head in enumerate(heads))
    body = "".join(
        f"<tr{row}>" + "".join(cell(i, value) for i, value in enumerate(line)) + "</tr>" for line in rows
    )
    name = f' class="{kind}"' if kind else ""
    return (
        f'<div class="wide" tabindex="0" role="group" aria-label="{say(caption)}"><table{name}{role("table")}>'
        f"<caption>{say(caption)}</caption><thead{group}><tr{row}>{top}</tr></thead>"
        f"<tbody{group}>{body}</tbody></table></div>"
    )


class Safe:
    """HTML made by the functions of this module, to stand inside a table cell."""

    def __init__(self, html: Marked) -> None:
        self.html = html


def caution(text: str) -> Marked:
    """A boxed caution."""
    return f'<p class="caution"><b>Caution</b> {say(text)}</p>'


def doubts(sentences: Iterable[str], *, word: str = "Doubt") -> Marked:
    """Doubts as a list with the word in the left column; nothing when there are none."""
    lines = "".join(f"<li><b>{say(word)}</b><span>{say(one)}</span></li>" for one in sentences)
    return f'<ul class="doubts">{lines}</ul>' if lines else ""


def refusal(refused: RefusalError, *, what: str = "") -> Marked:
    """A refusal in its three parts.

    Examples
    --------
    >>> refusal(RefusalError("rain is 0", "rain in mm", "Open another file."), what="a.epw")[:58]
    '<div class="refused" role="alert"><p class="head">Not used'
    """
    title = f"Not used: {what}" if what else "Not used"
    parts = (("Came", refused.came), ("Expected", refused.expected), ("Do", cure_on_page(refused)))
    rows = "".join(f"<dt>{name}</dt><dd>{say(text)}</dd>" for name, text in parts)
    return f'<div class="refused" role="alert"><p class="head">{say(title)}</p><dl>{rows}</dl></div>'


def figures(cells: Iterable[tuple[str, str, str, str]]) -> Marked:
    """Figures side by side: what it is, the figure, its unit, the line below (its band)."""
    body = "".join(
        f"<div><dt>{say(name)}</dt><dd><b>{say(value)}</b> {say(unit)}<small>{say(below)}</small></dd></div>"
        for name, value, unit, below in cells
    )
    return f'<dl class="figures">{body}</dl>'


def tally(rank: int, word: str) -> Marked:
    """A class as leaning strokes, filled up to its rank of four, and its word."""
    strokes = "".join(
        f'<path d="M{x} 18h9l6-15h-9z" fill="{"currentColor" if i < rank else "none"}" stroke="currentColor"/>'
        for i, x in ((i, 1 + 14 * i) for i in range(4))
    )
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 21" width="60" height="21" color="#1B2228">{strokes}</svg>'
    return (
        f'<span class="tally"><span class="paper"><img alt="" src="data:image/svg+xml,{quote(svg)}"></span>'
        f"<b>{say(word)}</b></span>"
    )


def folded(summary: Marked, inside: Marked, *, opened: bool = False) -> Marked:
    """A part that opens on a click or a key, with no word from the server."""
    return f"<details{' open' if opened else ''}><summary>{summary}</summary><div>{inside}</div></details>"
