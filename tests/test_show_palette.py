"""Contrast (WCAG 2.1), grey value (CIE L*) and colour-vision separation of the colours, computed from their definitions."""

import itertools
import math

import pytest

from exposure.draw import palette
from exposure.wall.classes import class_names


def channels(colour):
    return [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]


def linear(channel):  # sRGB, IEC 61966-2-1
    return channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4


def luminance(colour):
    return sum(part * linear(c) for part, c in zip((0.2126, 0.7152, 0.0722), channels(colour), strict=True))


def contrast(one, other):
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def lightness(colour):
    y = luminance(colour)
    return 116 * (y ** (1 / 3) if y > 0.008856 else 7.787 * y + 16 / 116) - 16


# Machado, Oliveira & Fernandes 2009, severity 1.0, on linear RGB (from memory)
SIGHT = {
    "normal": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "protan": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998)),
    "deutan": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881)),
    "tritan": ((1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602), (0.004733, 0.691367, 0.303900)),
}  # fmt: skip


def oklab(rgb):  # Ottosson 2020
    r, g, b = rgb
    roots = [
        max(x, 0) ** (1 / 3)
        for x in (
            0.4122214708 * r + 0.5363325363 * g + 0.0514459929 * b,
            0.2119034982 * r + 0.6806995451 * g + 0.1073969566 * b,
            0.0883024619 * r + 0.2817188376 * g + 0.6299787005 * b,
        )
    ]
    mix = (
        (0.2104542553, 0.7936177850, -0.0040720468),
        (1.9779984951, -2.4285922050, 0.4505937099),
        (0.0259040371, 0.7827717662, -0.8086757660),
    )
    return [sum(a * x for a, x in zip(row, roots, strict=True)) for row in mix]


def distance(one, other, sight):
    def seen(colour):
        light = [linear(c) for c in channels(colour)]
        return [min(1, max(0, sum(a * b for a, b in zip(row, light, strict=True)))) for row in SIGHT[sight]]

    return 100 * math.dist(oklab(seen(one)), oklab(seen(other)))


def test_the_contrast_formula_by_page():
    # WCAG: black on white is 21:1; #777777 on white is the well-known near miss, 4.48:1
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)
    assert contrast("#777777", "#FFFFFF") == pytest.approx(4.48, abs=0.005)


TEXT_ON = [
    (theme[name], theme[ground])
    for theme in (palette.LIGHT, palette.DARK)
    for name, ground in (
        ("ink", "ground"), ("ink", "card"), ("soft", "ground"), ("soft", "card"), ("accent", "ground"),
        ("accent", "card"), ("on-accent", "accent"), ("ink", "wash"),
    )
]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "ground"),
    [
        *TEXT_ON,
        (palette.INK, palette.PAPER),
        (palette.SOFT, palette.PAPER),
        (palette.PAPER, palette.INK),
        (palette.INK, palette.STREAM),
        (palette.SOFT, palette.STREAM),
    ],
)
def test_text_reaches_aa(text, ground):
    assert contrast(text, ground) >= 4.5


@pytest.mark.parametrize("theme", [palette.LIGHT, palette.DARK])
def test_edges_and_focus_reach_three_to_one(theme):
    for name in ("edge", "focus"):
        for ground in ("ground", "card"):
            assert contrast(theme[name], theme[ground]) >= 3


def test_nothing_on_site_is_paler_than_six_to_one():
    for ground in ("ground", "card"):
        assert contrast(palette.LIGHT["soft"], palette.LIGHT[ground]) >= 6.0


def test_every_class_has_a_look_and_darkens_in_grey():
    looks = [palette.CLASS_LOOKS[name] for name in class_names()]
    assert [look.rank for look in looks] == [1, 2, 3, 4]
    grey = [lightness(look.fill) for look in looks]
    assert all(one - other >= 20 for one, other in itertools.pairwise(grey))


def test_hatches_and_outlines_show():
    for look in palette.CLASS_LOOKS.values():
        if look.hatch:
            assert contrast(look.stroke, look.fill) >= 3
        assert max(contrast(palette.INK, look.fill), contrast(palette.PAPER, look.fill)) >= 3
    assert contrast(palette.RAIN, palette.PAPER) >= 3


@pytest.mark.parametrize("sight", list(SIGHT))
def test_classes_stay_apart_for_every_sight(sight):
    fills = [look.fill for look in palette.CLASS_LOOKS.values()]
    assert min(distance(a, b, sight) for a, b in itertools.combinations(fills, 2)) >= 15


def test_raster_runs_from_light_to_dark():
    steps = [lightness(colour) for colour in palette.raster_colours(64)]
    assert all(one > other for one, other in itertools.pairwise(steps))
    assert steps[0] > 90
    assert steps[-1] < 40


def test_no_raster_tone_is_taken_for_a_class():
    # a hard class against any tone of the map, in normal sight
    hard = [palette.CLASS_LOOKS[name].fill for name in ("moderate", "severe", "very severe")]
    assert min(distance(fill, tone, "normal") for fill in hard for tone in palette.raster_colours(16)) >= 8
