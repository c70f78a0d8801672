"""The ranking as one page of its own: ranked bars, the table, rows left out, doubts. No request, no script.

Answers the planner's question for a list too long to lay side by side; opens anywhere, prints, and stacks on a phone.
"""

from collections.abc import Iterable, Sequence
from datetime import date

from markupsafe import Markup

from exposure.assess.compare_sites import Comparison
from exposure.assess.ranking import RankedSite
from exposure.draw.comparison_bars import comparison_bars, narrow_bars
from exposure.draw.comparison_words import list_sentence, wall_sentence
from exposure.draw.drawing import image_tag
from exposure.draw.marked import name, say
from exposure.draw.numbers import band_words, litres, share_words
from exposure.draw.place_rows import row_of, site_rank_words
from exposure.export.ranked_files import CAUTION, DECIDE, RANK_NOTE, close_words
from exposure.paper.provenance import DO_NOT_BUILD, INVENTED, made_words, version_words
from exposure.wall.building import compass_name

MOST_BARS = 40
HEADS = (
    "Rank", "Place", "Class of the wall", "Worst spell, L/m²", "Band", "A year, L/m²", "Facing", "Ground × hill",
    "Keeps its rank", "Lies close to", "What decides it", "Doubts of its own",
)  # fmt: skip
NUMBERS = frozenset(("Worst spell, L/m²", "Band", "A year, L/m²"))
CSS = """
html{background:#F4F6F5}
body{margin:0 auto;max-width:1376px;padding:24px 24px 48px;color:#1B2228;font:16px/1.5 Arial,'Liberation Sans',Roboto,'DejaVu Sans',sans-serif;font-variant-numeric:tabular-nums}
h1{font-size:26px;line-height:1.25;margin:0 0 8px}h2{font-size:20px;margin:32px 0 8px}
p{margin:0 0 8px;max-width:84ch}.lead{font-size:20px;line-height:1.4}.note,caption{font-size:14px;color:#4E5A63}
.invented{display:inline-block;font-size:14px;border:1.5px dashed #7A858C;padding:2px 10px;margin:0 0 12px}
figure{margin:0;background:#fff;border:1px solid #C9CFD2;border-radius:4px;padding:12px}
figure img{display:block;max-width:100%;height:auto}.narrow{display:none}
table{border-collapse:collapse;width:100%;font-size:14px;line-height:1.4;background:#fff}
caption{text-align:left;padding:0 0 6px}
th,td{text-align:left;vertical-align:top;padding:7px 10px;border-top:1px solid #C9CFD2;overflow-wrap:anywhere}
thead th{border-top:0;border-bottom:1.5px solid #1B2228;vertical-align:bottom}
.num{text-align:right;white-space:nowrap;overflow-wrap:normal}td:first-child{white-space:nowrap}
.caution{border:1.5px solid #1B2228;border-left-width:6px;padding:8px 12px;background:#fff;max-width:none}
.caution b{background:#1B2228;color:#fff;padding:0 7px;margin-right:6px}
ul{margin:0;padding-left:20px}li{overflow-wrap:anywhere}
@media (max-width:860px){body{padding:16px}.roomy{display:none}.narrow{display:block}.narrow img{width:100%;max-width:420px}
table,tbody,tr,td,tbody th{display:block}thead{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
tr{border-top:1.5px solid #1B2228;padding:6px 0}tbody td,tbody th{border:0;padding:2px 10px;text-align:left;white-space:normal}
tbody td[data-name]::before{content:attr(data-name) ": ";color:#4E5A63}tbody td:empty{display:none}}
@media print{html{background:#fff}body{padding:0}tr,figure{break-inside:avoid}}
"""


def ranked_html(comparison: Comparison, *, made: date | None = None) -> str:
    """The ranking as one HTML document, everything inside it.

    Parameters
    ----------
    made
        Date printed on it; today by default.
    """
    ranked = comparison.ranked
    invented = any(one.kind == INVENTED for one in comparison.sites)
    shown = [row_of(one) for one in ranked[:MOST_BARS]]
    how_many = (
        f"The hardest {MOST_BARS} of {len(ranked):,}. " if len(ranked) > MOST_BARS else ""
    )  # the table holds all
    parts = [
        Markup("<h1>How do these places compare?</h1>"),
        Markup('<p class="invented">{}</p>').format(DO_NOT_BUILD) if invented else Markup(""),
        Markup('<p class="lead">{}</p>').format(say(list_sentence(ranked))),
        Markup("<p>{}</p>").format(say(wall_sentence(comparison))),
        _bars(shown, how_many),
        Markup("<h2>All places</h2>"),
        _table(comparison),
        Markup('<p class="note">{}</p>').format(say(RANK_NOTE)),
        Markup('<p class="caution"><b>Caution</b>{} {}</p>').format(say(CAUTION), say(DECIDE)),
        _left_out(comparison),
        _list("Notes", comparison.notes),
        _list("Doubts that hold for every place", comparison.flags),
        _list("Weather", dict.fromkeys(f"{one.weather.partition(', cell')[0]}; licence: {one.licence}" for one in comparison.sites)),
        Markup('<p class="note">Made {}, {}. The factors and class limits are from memory of ISO 15927-3 and BS 8104 and not '
               "checked against the documents.</p>").format(made_words(made or date.today()), version_words()),
    ]  # fmt: skip
    head = Markup(
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width,initial-scale=1"><title>Places compared</title>'
        "<style>{}</style></head><body><main>"
    ).format(Markup(CSS))
    return str(head + Markup("\n").join(parts) + Markup("</main></body></html>\n"))


def _bars(shown: Sequence, how_many: str) -> Markup:
    caption = Markup('<figcaption class="note">{}Stems: 90 % band of the years.</figcaption>').format(
        how_many
    )
    return Markup('<figure class="roomy">{}{}</figure><figure class="narrow">{}{}</figure>').format(
        Markup(image_tag(comparison_bars(shown))), caption, Markup(image_tag(narrow_bars(shown))), caption
    )


def table_cells(one: RankedSite, common: frozenset[str]) -> tuple[str, ...]:
    """A place's cells in the order of :data:`HEADS`, plain words; doubts in ``common`` are left out."""
    worst = one.site.worst
    ground, hill = (f"{factor.value:.2f}" for factor in worst.factors[:2])
    return (
        site_rank_words(one),
        one.name,
        one.site.in_words,
        litres(one.site.value),
        band_words(one.site.band),
        litres(worst.wall_annual_index),
        compass_name(worst.wall.orientation),
        f"{ground} × {hill}",
        share_words(one.kept) if one.kept is not None else "not known",
        close_words(one.close_to, most=3) or "none",
        one.decides,
        " ".join(flag for flag in one.site.flags if flag not in common),
    )


def _table(comparison: Comparison) -> Markup:
    common = frozenset(comparison.flags)
    heads = Markup("").join(
        Markup('<th scope="col"{}>{}</th>').format(
            Markup(' class="num"') if head in NUMBERS else Markup(""), head
        )
        for head in HEADS
    )
    rows = []
    for one in comparison.ranked:
        cells = [Markup('<td data-name="Rank">{}</td>').format(table_cells(one, common)[0])]
        for head, words in list(zip(HEADS, table_cells(one, common), strict=True))[1:]:
            if head == "Place":
                cells.append(Markup('<th scope="row">{}</th>').format(name(words, most=120)))
                continue
            kind = Markup(' class="num"') if head in NUMBERS else Markup("")
            cells.append(Markup('<td data-name="{}"{}>{}</td>').format(head, kind, say(words, most=900)))
        rows.append(Markup("<tr>{}</tr>").format(Markup("").join(cells)))
    return Markup(
        "<table><caption>Hardest hit first; behind a rank the range of nine in ten resamples; close: bands meet.</caption>"
        "<thead><tr>{}</tr></thead><tbody>{}</tbody></table>"
    ).format(heads, Markup("\n").join(rows))


def _left_out(comparison: Comparison) -> Markup:
    return _list(
        "Left out",
        [
            f"Row {one.row}{f', {one.name}' if one.name else ''}: {one.reason.came}; expected {one.reason.expected}. {one.reason.cure}"
            for one in comparison.left_out
        ],
    )


def _list(title: str, sentences: Iterable[str]) -> Markup:
    lines = [Markup("<li>{}</li>").format(say(one, most=900)) for one in sentences]
    if not lines:
        return Markup("")
    return Markup("<h2>{}</h2><ul>{}</ul>").format(title, Markup("").join(lines))
