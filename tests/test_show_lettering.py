"""Widths against the font itself; names of any kind kept within their room."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from exposure.draw.lettering import clean, fit, text_width, wrap

DEJAVU = Path("/usr/share/fonts/truetype/dejavu")


@pytest.mark.parametrize(("name", "bold"), [("DejaVuSans.ttf", False), ("DejaVuSans-Bold.ttf", True)])
def test_widths_are_those_of_the_font(name, bold):
    if not (DEJAVU / name).exists():
        pytest.skip("DejaVu Sans is not installed here")
    font = pytest.importorskip("PIL.ImageFont").truetype(str(DEJAVU / name), 1000)
    for words in ("south-west 70 (58 to 84)", "WWWW iiii", "0.833 × 1.10 L/m²", "Größe, naïve, Ørsted"):
        exact = font.getlength(words, features=["-kern"])
        mine = text_width(words, size=1000, bold=bold)
        assert mine >= exact - 6
        if words.isascii():
            assert mine == pytest.approx(exact, abs=6)


NAMES = st.text(max_size=300)


@settings(max_examples=100, deadline=None)
@given(NAMES, st.floats(20, 400), st.floats(12, 40))
def test_fitted_words_fit(words, width, size):
    short = fit(words, width=width, size=size)
    assert text_width(short, size=size) <= width or short == "…"
    assert "\n" not in short


@settings(max_examples=100, deadline=None)
@given(NAMES, st.floats(30, 400))
def test_wrapped_lines_fit_and_lose_nothing(words, width):
    lines = wrap(words, width=width, size=13)
    assert all(text_width(line, size=13) <= width or len(line) == 1 for line in lines)
    assert "".join(lines).replace(" ", "") == clean(words).replace(" ", "")


def test_wrap_keeps_to_its_lines():
    lines = wrap("one two three four five six seven", width=60, size=13, most_lines=2)
    assert len(lines) == 2
    assert lines[-1].endswith("…")


@pytest.mark.parametrize(
    ("came", "kept"),
    [
        ("a\x00b\x1bc\x7f", "abc"),
        ("safe\u202egnp.exe\u202c", "safegnp.exe"),
        ("\u2067right\u2069 to left\u200f", "right to left"),
        ("line\r\nbreak\ttab\u2028end", "line break tab end"),
        ("\ud800lone", "lone"),
        ("\ufeffmark\uffff", "mark"),
        ("  spaces   ", "spaces"),
        ("שלום", "שלום"),
    ],
)
def test_clean_leaves_harmless_words(came, kept):
    assert clean(came) == kept


def test_stacked_marks_are_cut_down():
    assert len(clean("Z" + "\u0301" * 5000)) <= 4


def test_long_names_are_cut():
    assert len(clean("x" * 10_000)) == 2000
