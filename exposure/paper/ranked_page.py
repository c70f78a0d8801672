"""The ranking as one page of its own: ranked bars, the table, rows left out, doubts. No request, no script.

Answers the planner's question for a list too long to lay side by side; opens anywhere, prints, and stacks on a phone.
"""

from collections.abc import Iterable, Sequence
from datetime import date

from markupsafe import Markup

from exposure.assess.compare_sites import Comparison
from exposure.assess.ranking import RankedSite
from exposure.clock import TYPICAL_YEAR
from exposure.draw.comparison_bars import comparison_bars, narrow_bars
from exposure.draw.comparison_words import list_sentence, wall_sentence
from exposure.draw.drawing import image_tag
from exposure.draw.marked import name, say
from exposure.export.ranked_files import CAUTION, DECIDE, RANK_NOTE, close_words
from exposure.figures import litres, litres_with_band, share_words, whole
from exposure.paper.place_doubts import place_notes
from exposure.paper.provenance import DO_NOT_BUILD, INVENTED, made_words, version_words
from exposure.wall.building import compass_name

MOST_BARS = 40
PRINTED_BARS = 10  # as many as stand on the first page with the answer
LONG_WORD = 24  # letters; a longer word in a name may be broken
HEADS = (
    "Rank", "Place", "Class of the wall", "Worst spell, L/m² (band)", "A year, L/m²", "Facing", "Ground × hill",
    "Keeps its rank", "Close to", "What decides it", "Notes",
)  # fmt: skip
WHOLE = frozenset(("Rank", "Facing", "Ground × hill", "Keeps its rank"))  # never on two lines
NUMBERS = frozenset(("A year, L/m²",))
ON_SCREEN = frozenset(("What decides it",))  # left out in print: in the tables beside the page
CSS = """
html{background:#F4F6F5}
body{margin:0 auto;max-width:1376px;padding:24px 24px 48px;color:#1B2228;font:16px/1.5 Arial,'Liberation Sans',Roboto,'DejaVu Sans',sans-serif;font-variant-numeric:tabular-nums}
h1{font-size:26px;line-height:1.25;margin:0 0 8px}h2{font-size:20px;margin:32px 0 8px}
p{margin:0 0 8px;max-width:84ch}.lead{font-size:20px;line-height:1.4}.note,caption{font-size:14px;color:#4E5A63}
.invented{display:inline-block;font-size:14px;border:1.5px dashed #7A858C;padding:2px 10px;margin:0 0 12px}
figure{margin:0;background:#fff;border:1px solid #C9CFD2;border-radius:4px;padding:12px}
figure img{display:block;max-width:100%;height:auto}.narrow,.printed{display:none}
table{border-collapse:collapse;width:100%;font-size:14px;line-height:1.4;background:#fff}
caption{text-align:left;padding:0 0 6px}
th,td{text-align:left;vertical-align:top;padding:7px 8px;border-top:1px solid #C9CFD2}
thead th{border-top:0;border-bottom:1.5px solid #1B2228;vertical-align:bottom}
.long{overflow-wrap:anywhere;min-width:12ch}
.num{text-align:right;white-space:nowrap}.whole{white-space:nowrap}
.caution{border:1.5px solid #1B2228;border-left-width:6px;padding:8px 12px;background:#fff;max-width:none}
.caution b{background:#1B2228;color:#fff;padding:0 7px;margin-right:6px}
ul{margin:0;padding-left:20px}ul.notes{list-style:none;padding-left:0}li{overflow-wrap:anywhere}
@media screen and (max-width:360px){body{padding:8px!important}}
@media screen and (max-width:860px){body{padding:16px}figure{padding:8px 2px}.roomy,.shares{display:none}.narrow{display:block}.narrow img{width:100%;max-width:420px}
table,caption,tbody,tr,td,tbody th{display:block}thead{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
tr{border-top:1.5px solid #1B2228;padding:6px 0}tbody td,tbody td.num,tbody th{border:0;padding:2px 10px;text-align:left;white-space:normal}
tbody td[data-name]::before{content:attr(data-name) ": ";color:#4E5A63}tbody td:empty{display:none}
.many tr{display:grid;grid-template-columns:repeat(auto-fill,minmax(96px,1fr));gap:4px 8px}.many tbody th{grid-column:1/-1;padding-inline:0}.many tbody td.num{padding:0}
.many tbody td[data-name]::before{content:attr(data-name);display:block;font-size:13px;line-height:1.3}}
@page{size:A4 landscape;margin:11mm 10mm 13mm;@bottom-right{content:"Page " counter(page) " of " counter(pages);font:8pt Arial,sans-serif}}
@media print{html{background:#fff}body{padding:0;max-width:none;font-size:10pt;line-height:1.35}
h1{font-size:16pt}h2{font-size:12pt;margin:12pt 0 4pt;break-after:avoid}.lead{font-size:12pt}p{max-width:none}
.roomy,.narrow,.screen{display:none}figure img{max-height:132mm;margin:0 auto}
.printed{display:block;padding:4pt}.printed img{max-height:118mm}
figure{break-inside:avoid}table{font-size:8pt;line-height:1.2}th,td{padding:1.5pt 4pt}thead th{white-space:normal}.note,caption{font-size:8.5pt}
thead{display:table-header-group}tr{break-inside:avoid}.all-places{break-before:page}
ul{font-size:8.5pt;columns:2;column-gap:8mm}li{break-inside:avoid}.caution{break-inside:avoid}}
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
    notes, letters = place_notes(ranked, comparison.flags)
    how_many = (
        f"The hardest {MOST_BARS} of {len(ranked):,}. " if len(ranked) > MOST_BARS else ""
    )  # the table holds all
    parts = [
        Markup("<h1>How do these places compare?</h1>"),
        Markup('<p class="invented">{}</p>').format(DO_NOT_BUILD) if invented else Markup(""),
        Markup('<p class="lead">{}</p>').format(say(list_sentence(ranked))),
        Markup("<p>{}</p>").format(say(wall_sentence(comparison))),
        _bars(ranked[:MOST_BARS], how_many),
        Markup('<h2 class="all-places">All places</h2>'),
        _table(comparison, letters),
        _list("Notes on single places", [f"{note.letter}  {note.words}" for note in notes], kind="notes"),
        Markup('<p class="note">{}</p>').format(say(RANK_NOTE)),
        Markup('<p class="caution"><b>Caution</b>{} {}</p>').format(say(CAUTION), say(DECIDE)),
        _left_out(comparison),
        _list("Notes", comparison.notes),
        _list("Doubts that hold for every place", comparison.flags),
        _list("Weather", weather_words(comparison)),
        Markup('<p class="note">Made {}, {}. The factors and class limits are from memory of ISO 15927-3 and BS 8104 and not '
               "checked against the documents.</p>").format(made_words(made or date.today()), version_words()),
    ]  # fmt: skip
    head = Markup(
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width,initial-scale=1"><title>Places compared</title>'
        "<style>{}</style></head><body><main>"
    ).format(Markup(CSS))
    return str(head + Markup("\n").join(parts) + Markup("</main></body></html>\n"))


def weather_words(comparison: Comparison) -> list[str]:
    """Each record behind the places: source, kind, years that count, the rain that counts, licence."""
    found: dict[str, int] = {}
    for one in comparison.sites:
        count = len(one.years)
        years = (
            f"{one.years[0]} to {one.years[-1]}, {count} years count"
            if count > 1
            else f"{one.years[0]} alone"
        )
        span = "one typical year" if one.kind == TYPICAL_YEAR else years
        counted = "every measured rain counts"
        if one.wet_hour:
            counted = f"hours from {one.wet_hour:g} mm count"
        source = one.source or one.weather
        words = f"{source} ({one.kind}): {span}; {counted}; licence: {one.licence}"
        found[words] = found.get(words, 0) + 1
    return [
        f"{words} ({whole(count)} of {whole(len(comparison.sites))} places)."
        if len(found) > 1
        else f"{words}."
        for words, count in found.items()
    ]


def _bars(shown: Sequence[RankedSite], how_many: str) -> Markup:
    caption = '<figcaption class="note">{}Stems: 90 % band of the years.</figcaption>'
    printed = f"The hardest {PRINTED_BARS}. " if len(shown) > PRINTED_BARS else ""
    return Markup("").join(
        Markup('<figure class="{}">{}{}</figure>').format(
            kind, Markup(image_tag(draw(rows))), Markup(caption).format(words)
        )
        for kind, draw, rows, words in (
            ("roomy", comparison_bars, shown, how_many),
            ("narrow", narrow_bars, shown, how_many),
            ("printed", comparison_bars, shown[:PRINTED_BARS], printed),
        )
    )


def table_cells(one: RankedSite, letters: str) -> tuple[str, ...]:
    """A place's cells in the order of :data:`HEADS`, plain words; ``letters`` name its notes."""
    worst = one.site.worst
    ground, hill = (f"{factor.value:.2f}" for factor in worst.factors[:2])
    return (
        one.rank_in_words,
        one.name,
        worst.in_words,
        litres_with_band(one.site.value, one.site.band, unit=False),
        litres(worst.wall_annual_index),
        compass_name(worst.wall.orientation),
        f"{ground} × {hill}",
        share_words(one.kept) if one.kept is not None else "not known",
        "none" if not one.close_to else whole(len(one.close_to)),
        one.decides,
        letters,
    )


def _table(comparison: Comparison, letters: Sequence[str]) -> Markup:
    heads = Markup("").join(Markup('<th scope="col"{}>{}</th>').format(_kind(head), head) for head in HEADS)
    rows = []
    for one, mine in zip(comparison.ranked, letters, strict=True):
        cells = []
        for head, words in zip(HEADS, table_cells(one, mine), strict=True):
            if head == "Place":
                long = any(len(word) > LONG_WORD for word in words.split())
                cells.append(
                    Markup('<th scope="row"{}>{}</th>').format(
                        Markup(' class="long"') if long else Markup(""), name(words, most=120)
                    )
                )
                continue
            close = close_words(one.close_to, most=3) if head == "Close to" and one.close_to else ""
            beside = Markup('<span class="screen">: {}</span>').format(say(close)) if close else Markup("")
            cells.append(
                Markup('<td data-name="{}"{}>{}{}</td>').format(
                    head, _kind(head), say(words, most=900), beside
                )
            )
        rows.append(Markup("<tr>{}</tr>").format(Markup("").join(cells)))
    return Markup(
        "<table><caption>Hardest hit first; in brackets the ranks a place may have; close to: places whose bands meet its "
        "own; letters: notes below the table.</caption><thead><tr>{}</tr></thead><tbody>{}</tbody></table>"
    ).format(heads, Markup("\n").join(rows))


def _kind(head: str) -> Markup:
    """How a column is set."""
    if head in NUMBERS:
        return Markup(' class="num"')
    if head in ON_SCREEN:
        return Markup(' class="screen"')
    return Markup(' class="whole"') if head in WHOLE else Markup("")


def _left_out(comparison: Comparison) -> Markup:
    return _list(
        "Left out",
        [
            f"Row {one.row}{f', {one.name}' if one.name else ''}: {one.reason.came}; expected {one.reason.expected}. {one.reason.cure}"
            for one in comparison.left_out
        ],
    )


def _list(title: str, sentences: Iterable[str], *, kind: str = "") -> Markup:
    lines = [Markup("<li>{}</li>").format(say(one, most=900)) for one in sentences]
    if not lines:
        return Markup("")
    return Markup('<h2>{}</h2><ul class="{}">{}</ul>').format(title, kind, Markup("").join(lines))
