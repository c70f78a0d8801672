"""A town's walls by class as one printed page: the answer, bars by area, the table, doubts and sources."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

import pandas as pd
from markupsafe import Markup

from exposure.district import District
from exposure.district.shares import MEMBER_KEYS, WEIGHT_HOW, Shares
from exposure.draw.drawing import image_tag
from exposure.draw.lettering import clean
from exposure.draw.marked import name, say
from exposure.draw.share_bars import share_bars
from exposure.export.ranked_files import DECIDE
from exposure.figures import litres_with_band, whole
from exposure.paper.provenance import DO_NOT_BUILD, INVENTED, made_words, version_words
from exposure.paper.ranked_page import CSS
from exposure.wall.building import compass_name
from exposure.wall.classes import class_names

MOST_BARS = 24  # as many as fit beside the answer on a page
NARROW_BARS = 12  # areas, as many as a phone's screen takes
MANY = 6  # columns
MOST_LEFT_OUT = 30
MOST_WORST = 15  # buildings listed
WORST_HEADS = ("Building", "Worst wall", "Worst spell, L/m²", "Class")
SHARE_HEADS = (
    "Area",
    "Buildings",
    "Walls",
    "Length, m",
    "Area, m²",
    *class_names(),
    "Severe or harder",
    "Between",
)
SHARE_CAPTION = "Length of wall by class, and its share; the whole first."
MEMBER_HEADS = ("Area", "Median", "Least of the members", "Most of the members", "Spread")
MEMBER_CAPTION = "Share of the walls' length severe or harder, under each member of the ensemble."
WEIGHT_HEADS = ("Area", "Sum", *class_names(), "Severe or harder", "Between", "Buildings without")
HOW = (
    "Shares are of the walls' length; party walls are no walls here. A wall that crosses the edge of an area counts in it by its "
    "length there, and among its walls where the wall's middle lies. Between: with every wall at the milder and at the "
    "harder end of its band of years, which is wider than any one set of years would make it."
)


def shares_html(district: District, shares: Shares, *, title: str, made: date | None = None) -> str:
    """The page as one HTML document, everything inside it; no script, no request.

    Parameters
    ----------
    title
        Heading; text, whatever it holds.
    made
        Date printed on it; today by default.
    """
    invented = any(one["kind"] == INVENTED for one in district.records)
    parts = [
        Markup('<p class="invented">{}</p>').format(DO_NOT_BUILD) if invented else Markup(""),
        Markup('<p class="lead">{}</p>').format(say(answer(shares))),
        Markup('<figure class="shares">{}</figure><figure class="narrow">{}</figure>').format(
            Markup(image_tag(share_bars(share_parts(shares)))),
            Markup(
                image_tag(share_bars(share_parts(shares, most=NARROW_BARS), narrow=True, prefix="narrow"))
            ),
        ),
        share_table(shares),
        member_table(shares),
        weight_table(shares),
        _worst_table(district),
        Markup('<p class="note">{}</p>').format(say(HOW)),
        Markup('<p class="caution"><b>Caution</b>{}</p>').format(say(DECIDE)),
        bullets("Left out", _left_out(district)),
        bullets("Doubts that hold for all", dict.fromkeys([*shares.flags, *district.flags])),
        bullets("Sources", sources(district, shares)),
    ]
    return standing_page(title, parts, made=made)


def standing_page(title: str, parts: Iterable[Markup], *, made: date | None) -> str:
    """A document that stands alone: its title, its parts, and when it was made; no script, no request."""
    head = Markup(
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width,initial-scale=1"><title>{0}</title>'
        "<style>{1}</style></head><body><main><h1>{0}</h1>"
    ).format(say(title), Markup(CSS))
    foot = Markup(
        '<p class="note">Made {}, {}. The factors and class limits are from memory of ISO 15927-3 and BS 8104 and not '
        "checked against the documents.</p></main></body></html>\n"
    ).format(made_words(made or date.today()), version_words())
    return str(head + Markup("\n").join(parts) + foot)


def answer(shares: Shares) -> str:
    """The page's answer in a sentence or two."""
    row = shares.table.iloc[0]
    words = (
        f"{row['hard']:.0%} of {row['length']:,.0f} m of wall is severe or very severe"
        f" ({row['hard_low']:.0%} to {row['hard_high']:.0%}), on {whole(int(row['buildings']))} buildings."
    )
    if shares.of_members:
        least, most = (row[key] for key in MEMBER_KEYS)
        words += f" Under one member or another it is {least:.0%} to {most:.0%}."
    if shares.weight_column and row["weight"]:
        missing = int(row["weight_missing"])
        words += (
            f" Of {_amount(row['weight'])} {weight_name(shares)}, {row['weight_hard']:.0%} are in buildings whose worst wall "
            f"is severe or very severe ({row['weight_hard_low']:.0%} to {row['weight_hard_high']:.0%})"
            f"{f'; buildings left out because they tell none: {missing:,}' if missing else ''}."
        )
    areas = shares.table.iloc[1:]
    areas = areas[areas["length"] > 0]
    if len(areas) > 1 and areas["hard"].max() > 0:
        worst = areas.loc[areas["hard"].idxmax()]
        words += f" The largest share is in {worst['area']}: {worst['hard']:.0%} of {worst['length']:,.0f} m."
    return words


def share_parts(shares: Shares, *, most: int = MOST_BARS) -> list[tuple[str, dict[str, float]]]:
    """The whole, then the areas hit hardest, each with its share by class."""
    shown = _hardest_first(shares)[:most]
    return [
        (str(row["area"]), {one: float(row[f"share_{one.replace(' ', '_')}"]) for one in class_names()})
        for _, row in shown.iterrows()
        if row["length"]
    ]


def _hardest_first(shares: Shares) -> pd.DataFrame:
    table = shares.table
    return pd.concat([table.iloc[:1], table.iloc[1:].sort_values("hard", ascending=False)])


def share_table(shares: Shares) -> Markup:
    """The shares as a table, the area hit hardest first."""
    return plain_table(SHARE_CAPTION, SHARE_HEADS, share_rows(shares))


def share_rows(shares: Shares) -> list[list[str]]:
    """Cells of the table of shares under ``SHARE_HEADS``, the whole first, then the area hit hardest."""
    return [[str(row["area"]), *_cells(row)] for _, row in _hardest_first(shares).iterrows()]


def member_table(shares: Shares) -> Markup:
    """How far the members of an ensemble lie apart, the area hit hardest first; nothing where there are none."""
    if not shares.of_members:
        return Markup("")
    return plain_table(MEMBER_CAPTION, MEMBER_HEADS, member_rows(shares))


def member_rows(shares: Shares) -> list[list[str]]:
    """Cells of that table under ``MEMBER_HEADS``."""
    rows = []
    for _, row in _hardest_first(shares).iterrows():
        least, most = (row[key] for key in MEMBER_KEYS)
        told = [f"{row['hard']:.0%}", f"{least:.0%}", f"{most:.0%}", f"{most - least:.0%}"]
        rows.append([str(row["area"]), *(told if row["length"] else ["none"] * len(told))])
    return rows


def weight_table(shares: Shares) -> Markup:
    """Buildings by their weight and their worst wall's class; nothing where no weight is told."""
    if not shares.weight_column:
        return Markup("")
    return plain_table(weight_caption(shares), WEIGHT_HEADS, weight_rows(shares))


def weight_caption(shares: Shares) -> str:
    """What is summed, and how."""
    return f"{weight_name(shares)} by class. {WEIGHT_HOW}"


def weight_name(shares: Shares) -> str:
    """The property summed by, as text."""
    return clean(shares.weight_column, most=60)


def weight_rows(shares: Shares) -> list[list[str]]:
    """Cells of that table under ``WEIGHT_HEADS``, in the order of the other."""
    rows = []
    for _, row in _hardest_first(shares).iterrows():
        by_class = [_amount(row[f"weight_{one.replace(' ', '_')}"]) for one in class_names()]
        hard = f"{row['weight_hard']:.0%}"
        between = f"{row['weight_hard_low']:.0%} to {row['weight_hard_high']:.0%}"
        told = [hard, between] if row["weight"] else ["none", "none"]
        rows.append(
            [str(row["area"]), _amount(row["weight"]), *by_class, *told, f"{row['weight_missing']:,}"]
        )
    return rows


def _amount(number: float) -> str:
    """A sum to a tenth, without a tail of nought."""
    return f"{number:,.1f}".removesuffix(".0")


def hardest_hit(district: District, *, most: int = MOST_WORST) -> list[list[str]]:
    """The buildings hit hardest, each with its worst wall, under ``WORST_HEADS``."""
    worst = district.buildings.nlargest(most, "wall_spell_index")
    rows = []
    for one in worst.itertuples():
        band = None if one.spell_low != one.spell_low else (one.spell_low, one.spell_high)
        figures = litres_with_band(one.wall_spell_index, band, unit=False)
        rows.append([str(one.name), compass_name(one.worst_facing), figures, str(one.class_in_words)])
    return rows


def _worst_table(district: District) -> Markup:
    more = len(district.buildings) - MOST_WORST
    tail = f", of {len(district.buildings):,}" if more > 0 else ""
    return plain_table(f"The buildings hit hardest{tail}.", WORST_HEADS, hardest_hit(district))


def plain_table(caption: str, heads: Sequence[str], rows: Iterable[Sequence[str]]) -> Markup:
    """A table whose first cell names the row; the others are figures, and stand under each other on a phone."""
    lines = [
        Markup("<tr><th scope='row'>{}</th>{}</tr>").format(
            name(first, most=120),
            Markup("").join(
                Markup('<td data-name="{}" class="num">{}</td>').format(head, words)
                for head, words in zip(heads[1:], rest, strict=True)
            ),
        )
        for first, *rest in rows
    ]
    many = Markup(' class="many"') if len(heads) > MANY else Markup("")  # some beside each other on a phone
    return Markup("<table{}><caption>{}</caption><thead><tr>{}</tr></thead><tbody>{}</tbody></table>").format(
        many,
        caption,
        Markup("").join(
            Markup('<th scope="col"{}>{}</th>').format(Markup(' class="num"') if place else Markup(""), head)
            for place, head in enumerate(heads)
        ),
        Markup("\n").join(lines),
    )


def _cells(row: pd.Series) -> list[str]:
    if not row["length"]:
        return ["0", "0", "0", "0", *["none"] * len(class_names()), "none", "none"]
    by_class = [
        f"{row[f'length_{key}']:,.0f} m, {row[f'share_{key}']:.0%}"
        for key in (one.replace(" ", "_") for one in class_names())
    ]
    figures = [
        f"{row['buildings']:,}",
        f"{row['walls']:,}",
        f"{row['length']:,.0f}",
        f"{row['wall_area']:,.0f}",
    ]
    return [*figures, *by_class, f"{row['hard']:.0%}", f"{row['hard_low']:.0%} to {row['hard_high']:.0%}"]


def sources(district: District, shares: Shares | None = None) -> list[str]:
    """Where the outlines, the areas and the weather come from."""
    told = [f"Outlines of buildings: {district.source}."]
    if shares is not None and shares.areas is not None:
        told.append(f"Areas: {shares.areas.source}.")
    return [*told, *record_words(district.records)]


def record_words(records: Sequence[Mapping[str, Any]]) -> list[str]:
    """Each record's source, kind, years, least rain and licence, once."""
    found: dict[str, None] = {}
    for one in records:
        years = one["years"]
        found[
            f"Weather: {one['source']} ({one['kind']}), {years[0]} to {years[-1]}, {len(years)} years count; hours from "
            f"{one['wet_hour_mm']:g} mm; licence: {one['licence']}."
        ] = None
    return list(found)


def _left_out(district: District) -> Sequence[str]:
    words = [
        f"Building {one.row}, {one.name}: {one.reason.came}; expected {one.reason.expected}. {one.reason.cure}"
        for one in district.left_out[:MOST_LEFT_OUT]
    ]
    more = len(district.left_out) - len(words)
    return [*words, f"And {more:,} more, in the table of what is left out."] if more else words


def bullets(title: str, sentences: Iterable[str]) -> Markup:
    """Sentences under a title; nothing where there are none."""
    lines = [Markup("<li>{}</li>").format(say(one, most=900)) for one in sentences]
    if not lines:
        return Markup("")
    return Markup("<h2>{}</h2><ul>{}</ul>").format(title, Markup("").join(lines))
