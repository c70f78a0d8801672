"""The foot of every printed page as style: whose sheets, which sheet, which page of how many."""

from collections.abc import Sequence

from exposure.draw.lettering import clean

FLOWING = ("junctions", "work", "check", "figures", "openings", "factors", "seasons", "reasons")


def style_string(words: str, *, most: int = 60) -> str:
    r"""Words as a string of a style sheet, every letter that could end it or mean something there told by its number.

    Examples
    --------
    >>> print(style_string('a"} b'))
    "a\000022 \00007d  b"
    """
    plain = clean(words, most=most)
    return (
        '"'
        + "".join(
            one if (one.isascii() and one.isalnum()) or one == " " else f"\\{ord(one):06x} " for one in plain
        )
        + '"'
    )


def page_feet(who: str, sheets: Sequence[tuple[str, str, str]], *, notice: str) -> str:
    """Style that gives each page its foot.

    Parameters
    ----------
    sheets
        Identifier, kind and printed name of each; those that flow on one another share their pages.
    """
    flowing = [name for _, kind, name in sheets if kind in FLOWING]
    shared = (
        flowing[0] if len(flowing) == 1 else f"{flowing[0]} to {flowing[-1].split()[-1]}" if flowing else ""
    )
    style = [
        "@page{@bottom-left{content:"
        + style_string(who)
        + "}@bottom-center{content:"
        + style_string(notice)
        + "}}"
    ]
    for place, kind, name in sheets:
        page = "flow" if kind in FLOWING else place
        style.append(f"#{place}{{page:{page}}}")
        if page != "flow":
            style.append(_right(page, name))
    if shared:
        style.append(_right("flow", shared))
    return "\n" + "\n".join(style)


def _right(page: str, name: str) -> str:
    words = style_string(f"{name}, page")
    return f'@page {page}{{@bottom-right{{content:{words} " " counter(page) " of " counter(pages)}}}}'
