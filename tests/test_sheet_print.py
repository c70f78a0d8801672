"""Printed sheets of nine houses: no page nearly empty, letters large enough to read on site, every size drawn."""

import argparse
import itertools
import json
import math
import re
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from exposure.cli import sheets_command
from exposure.cli.details_command import details_from_arguments
from exposure.cli.example_command import example_text
from exposure.draw.junction_canvas import numbered_parts
from exposure.draw.junction_svg import bare_junction
from exposure.paper.pdf import sheet_pdf
from exposure.paper.sheet import sheet_html, template_part
from exposure.paper.sheet_columns import DRAWN_TALL, DRAWN_WIDE, SHARED_TALL, printed_height
from exposure.paper.sheet_front import elevation_sheet
from exposure.paper.sheet_plan import sheet_plan
from tests.test_show_sheet import Parts, angle_house, house, kinds_of

pdfium = pytest.importorskip("pypdfium2")
pytestmark = pytest.mark.slow

HOUSES = Path(__file__).parent / "houses"
NAMES = ("wrack", "angle", "cottage", "block", "mountain", "standing")
FULLEST = ("hearth", "brick", "decked")  # two leaves, a leaf before studs, decks in snow: the longest keys
FULL = 0.36  # of a page: over a third
MOST = 14  # of most houses
MORE = {  # much snow with every kind of deck and roof; Letter is 18 mm shorter
    ("mountain", "A4"): 2,
    ("mountain", "Letter"): 2,
    ("block", "A4"): 1,
    ("block", "Letter"): 1,
    ("standing", "A4"): 1,
    ("standing", "Letter"): 1,
    ("brick", "A4"): 1,
    ("brick", "Letter"): 1,
    ("decked", "A4"): 3,
    ("decked", "Letter"): 3,
    ("angle", "A4"): -1,  # six elevations are thirteen pages at most
    ("angle", "Letter"): -1,
}
RUNNING, SMALLEST = 8.5, 7.0  # points
SMALL_PRINT = (
    "strip",
    "parts",
    "ask",
    "mark",
    "svg",
    "figcaption",
)  # heads, drawings and what stands under them
__all__ = ["angle_house", "house"]


@pytest.fixture(scope="module")
def house_of(house, angle_house, tmp_path_factory):
    """Houses of timber, masonry and board, new and standing, with four to six elevations."""
    folder = tmp_path_factory.mktemp("houses")
    for name in ("house.toml", "openings.csv", "prices.csv"):
        (folder / name).write_text(example_text(name), "utf-8")
    standing = example_text("house.toml").replace("[details]", '[details]\nwork = "standing wall"')
    assert "standing wall" in standing
    (folder / "standing.toml").write_text(standing, "utf-8")
    told = {
        name: (HOUSES / f"{name}.toml", HOUSES / f"{name}_openings.csv") for name in (*NAMES[2:5], *FULLEST)
    }
    told["standing"] = (folder / "standing.toml", folder / "openings.csv")

    def found(name):
        if name in ("wrack", "angle"):
            return house if name == "wrack" else angle_house
        parser = argparse.ArgumentParser()
        sheets_command.add_arguments(parser)
        file, openings = told[name]
        given = [str(file), "--openings", str(openings), "--prices", str(folder / "prices.csv")]
        asked = parser.parse_args([*given, "--climate", "invented", "--out", str(folder)])
        return details_from_arguments(asked).details

    return found


def printed(details):
    """The sheets of a house as one page, and of its drawings what tests ask: all at once, while their labels are remembered."""
    html, plan = sheet_html(details), sheet_plan(details)
    heights = {
        sheet.number: [
            printed_height(one) for column in elevation_sheet(plan, sheet)["columns"] for one in column
        ]
        for sheet in plan.fronts
    }
    drawn = [(one, DRAWN_TALL) for sheet in plan.fronts for one in sheet.drawings]
    drawn += [(one, SHARED_TALL) for one in plan.common]
    labels = []
    for drawing, tall in drawn:
        svg, parts = bare_junction(drawing.section, width=DRAWN_WIDE, tallest=tall)
        found = len(re.findall(r"<text ", svg)) - 2  # without the words for the two sides
        asked = len(numbered_parts(drawing.section)), len(drawing.section.dimensions)
        labels.append((drawing.stem, found, len(parts), *asked))
    many = {sheet.number: len(sheet.drawings) for sheet in plan.fronts}
    return {"html": html, "heights": [*heights.items()], "many": [*many.items()], "labels": labels}


@pytest.fixture(scope="module")
def printed_of(house_of, made_once):
    return cache(
        lambda name: json.loads(
            made_once(f"printed-{name}.json", lambda: json.dumps(printed(house_of(name))))
        )
    )


@pytest.fixture(scope="module")
def html_of(printed_of):
    return lambda name: printed_of(name)["html"]


@pytest.fixture(scope="module")
def pdf_of(html_of, made_once):
    """The sheets of a house on this paper from the PDF writer, written once."""
    pytest.importorskip("weasyprint")

    def write(name, paper):
        html = html_of(name)
        assert html.count("@page{margin") == 1
        return sheet_pdf(html.replace("@page{margin", f"@page{{size:{paper};margin")).decode("latin-1")

    return cache(
        lambda name, paper: made_once(f"{name}-{paper}.pdf", lambda: write(name, paper)).encode("latin-1")
    )


def fullness(pdf):
    """How far down each page there is ink, as a share of what lies between the margins."""
    shares = []
    for page in pdfium.PdfDocument(pdf):
        dots = 25 / 25.4  # a millimetre
        ink = (
            page.render(scale=25 / 72, grayscale=True)
            .to_numpy()
            .reshape(round(page.get_height() * 25 / 72 + 0.49), -1)
        )
        body = ink[math.ceil(6.5 * dots) : len(ink) - math.ceil(9 * dots)]
        rows = np.flatnonzero((body < 200).any(axis=1))
        shares.append((rows.max() + 1) / len(body) if rows.size else 0.0)
    return shares


def check_pages(pdf, *, paper, name):
    shares = fullness(pdf)
    assert len(shares) <= MOST + MORE.get((name, paper), 0)
    assert min(shares[:-1]) > FULL, [f"{share:.0%}" for share in shares]


@pytest.mark.parametrize(
    ("name", "paper"),
    [
        *((name, "A4") for name in (*NAMES, *FULLEST)),
        *((name, "Letter") for name in ("angle", "block", "mountain", "standing", *FULLEST)),
    ],
)
def test_no_page_is_nearly_empty_from_the_pdf_writer(html_of, pdf_of, name, paper):
    pdf = pdf_of(name, paper)
    assert pdf.startswith(b"%PDF")
    check_pages(pdf, paper=paper, name=name)
    assert len(pdfium.PdfDocument(pdf)) > 1 + kinds_of(html_of(name)).count("elevation")


@pytest.mark.browser
@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("name", NAMES)
def test_no_page_is_nearly_empty_from_a_browser(html_of, browser, name, paper):
    page = browser.new_page()
    page.set_content(html_of(name))
    check_pages(page.pdf(format=paper, print_background=True), paper=paper, name=name)
    page.close()


@pytest.mark.browser
@pytest.mark.parametrize("name", ["block", "brick", "mountain"])
def test_drawings_are_shared_out_by_the_height_they_have_in_print(printed_of, html_of, browser, name):
    """As high as a browser sets them on Letter, to one line of a key more or less, and no sharing out is two lines shorter."""
    many = dict(printed_of(name)["many"])
    page = browser.new_page(viewport={"width": 748, "height": 1000})
    page.emulate_media(media="print")
    page.set_content(html_of(name))
    for number, told in printed_of(name)["heights"]:
        columns = page.evaluate(
            f"""[...document.querySelectorAll("#sheet-{number} .column")].map(
                column => [...column.querySelectorAll("[data-junction]")].map(one => one.getBoundingClientRect().height + 4))"""
        )
        heights = [high for column in columns for high in column]
        assert len(heights) == many[number]
        assert told == pytest.approx(heights, abs=11)
        shared = [
            max(sum(high for high, at in zip(heights, places, strict=True) if at == one) for one in range(3))
            for places in itertools.product(range(3), repeat=len(heights))
        ]
        assert max(map(sum, columns)) < min(shared) + 20
    page.close()


@pytest.mark.parametrize(("walls", "paper"), [(6, "A4"), (6, "Letter"), (10, "A4")])
def test_no_number_of_the_sizes_on_each_elevation_is_broken(angle_house, walls, paper):
    pytest.importorskip("weasyprint")
    html = sheet_html(angle_house)
    table = "".join(re.findall(r'<div class="sizes.*?</div>', html, re.DOTALL))
    style = f"<style>@page{{size:{paper};margin:6.5mm 9mm 9mm}}{template_part('sheet.css').partition('}}')[2]}</style>"
    whats = re.findall(r'<th scope="row">(.*?)</th>', table)
    assert len(whats) > 5
    wide = [f"W{number}" for number in range(10, 10 + walls)]
    rows = [f'<tr><td>12</td><th scope="row">{what}</th>{"<td>1,100</td>" * walls}</tr>' for what in whats]
    heads = "".join(f'<th scope="col">{one}</th>' for one in wide)
    open_tag = '<div class="sizes wide">' if walls > 6 else table[: table.index(">") + 1]
    table = f'{open_tag}<table><thead><tr><th scope="col">Step</th><th scope="col">Size</th>{heads}</tr></thead><tbody>{"".join(rows)}</tbody></table></div>'
    whole = f'{style}<section class="sheet work"><div class="drawings steps">{table}</div></section>'
    [page] = pdfium.PdfDocument(sheet_pdf(whole))
    text = page.get_textpage()
    said = re.findall(r"[\w,]*\w", text.get_text_range())
    assert said.count("1,100") == walls * len(whats)
    assert not set(wide) - set(said)
    assert not {word for what in whats for word in re.findall("[a-z]{4,}", what)} - set(said)
    right = max(text.get_charbox(place)[2] for place in range(text.count_chars()))
    assert right < page.get_width() - 9 / 25.4 * 72 + 1


def letters(pdf):
    """Words of a PDF with the height of their letters in points, as the file itself says it."""
    raw = pdfium.raw
    matrix = raw.FS_MATRIX()
    for page in pdfium.PdfDocument(pdf):
        text = page.get_textpage()
        word, size = "", 0.0
        for place, letter in enumerate(text.get_text_range()):
            raw.FPDFText_GetMatrix(text, place, matrix)
            high = raw.FPDFText_GetFontSize(text, place) * math.hypot(matrix.b, matrix.d)
            if letter.isspace() or abs(high - size) > 0.01:
                if word:
                    yield word, size
                word = ""
            size = high
            word += letter.strip()


@pytest.mark.parametrize("name", ["block", "standing"])
def test_print_is_large_enough_to_read(html_of, pdf_of, name):
    html = html_of(name)
    allowed = []
    for part in SMALL_PRINT:
        pattern = (
            rf"<{part}\b.*?</{part}>" if part in ("svg", "figcaption") else rf'<(\w+) class="{part}\b.*?</\1>'
        )
        allowed += [one.group() for one in re.finditer(pattern, html, re.DOTALL)]
    known = set(Parts(" ".join([*allowed, *re.findall(r'content:"[^}]*', html)])).words.split())
    found = list(letters(pdf_of(name, "A4")))
    assert len(found) > 3000
    assert min(size for _, size in found) >= SMALLEST - 0.005
    small = {word.replace("\ufffe", "-") for word, size in found if size < RUNNING - 0.005}
    assert len(small) > 50
    # a stop stands behind the last part, before the notes
    lost = {word for word in small if not any(word.rstrip(".") in one for one in known)}
    assert not {word for word in lost if re.search("[a-z]{4}", word)}, lost


@pytest.mark.parametrize("name", NAMES)
def test_every_size_and_ring_of_a_drawing_finds_room(printed_of, name):
    labels = printed_of(name)["labels"]
    assert labels
    for stem, found, parts, numbered, sizes in labels:
        assert parts == numbered
        assert found == parts + sizes, stem
