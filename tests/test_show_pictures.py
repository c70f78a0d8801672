"""The pictures: geometry by hand and by symmetry, words inside their frames, hostile names kept as text."""

import math
import re
from dataclasses import replace
from itertools import combinations, pairwise
from pathlib import Path
from types import SimpleNamespace
from xml.etree import ElementTree

import numpy as np
import pytest
from builders import elevation_of, factors_of, place_of
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

from exposure.assess.ranking import rank_sites
from exposure.detail.bare_wrap import BareWrap
from exposure.detail.ways_to_build import ways_to_build
from exposure.detail.wetting_result import WettingResult, sentence_on_worst
from exposure.draw.bare_wrap import bare_wrap
from exposure.draw.building_plan import building_plan, plan_caption
from exposure.draw.comparison_bars import comparison_bars
from exposure.draw.comparison_words import comparison_sentence
from exposure.draw.drawing import description, hatched, image_tag, picture, text
from exposure.draw.factor_chain import factor_chain
from exposure.draw.lettering import text_width
from exposure.draw.months import months, whole_shares
from exposure.draw.outline import rings, sides_by_facing, wall_codes
from exposure.draw.palette import CLASS_LOOKS, RAIN
from exposure.draw.plan_labels import LABEL_WIDE
from exposure.draw.rose import RoseCurves, rose
from exposure.draw.wetting import wetting
from exposure.map.contour_map import RegionField, contour_map

SVG = "{http://www.w3.org/2000/svg}"
ALLOWED = {"svg", "title", "desc", "rect", "path", "circle", "text", "tspan"}
HOSTILE = [
    '<script>alert(1)</script>',
    '"><img src=x onerror=alert(1)>',
    "'; DROP TABLE walls; --",
    "</text></svg><h1>out</h1>",
    "]]>&lt;&#x0;&entity;",
    "\u202eright to left\u202c שלום العربية",
    "x" * 10_000,
    "\x00\x08\x1b[31m\ud800",
    "=cmd|' /C calc'!A0",
    "",
]  # fmt: skip


def polygon_walls(corners, *, value=lambda facing: 40.0, names=None):
    """Walls of a counter-clockwise outline; the outward normal is the side turned clockwise by a right angle."""
    walls = []
    for place, (one, other) in enumerate(pairwise([*corners, corners[0]])):
        east, north = other[0] - one[0], other[1] - one[1]
        facing = math.degrees(math.atan2(north, -east)) % 360
        amount = value(facing)
        walls.append(
            elevation_of(
                names[place] if names else f"wall {place}",
                amount,
                orientation=facing,
                length=math.dist(one, other),
                spell_band=(0.8 * amount, 1.25 * amount),
                start=one,
                end=other,
            )
        )
    return walls


def regular(number, radius=8.0):
    return [
        (radius * math.cos(2 * math.pi * i / number), radius * math.sin(2 * math.pi * i / number))
        for i in range(number)
    ]


SQUARE = [(0, 0), (10, 0), (10, 10), (0, 10)]


def facing_south_west(facing):
    return 5 + 115 * max(0.0, math.cos(math.radians(facing - 225)))


def bare_of(expected, tenth, *, elevation="south-west", driest=((20, 28),), start=12):
    """A bare membrane of six weeks with these figures by starting week."""
    nothing = np.zeros(52)
    return BareWrap(
        elevation,
        start,
        6,
        np.array(expected),
        np.array(tenth),
        nothing,
        driest,
        driest,
        0.0,
        0.0,
        0.0,
        0.0,
        20,
        "",
        (),
    )


def wet_of(option, by_week):
    """A way to build, and its hours wet behind the membrane by week."""
    way = replace(ways_to_build()[0], option=option)
    hours = np.array(by_week)
    return WettingResult(
        option, way, 0.0, 0.0, float(hours.sum()), 0, 0.0, 0.0, 0, 0.0, hours, np.zeros_like(hours), ""
    )


def test_hours_wet_are_told_alike_in_words_and_in_the_picture():
    """By hand: 48.5 h are 49 whole ones, 6,548 h to the nearest ten 6,550."""
    ways = {one.key: one for one in ways_to_build()}
    hours = {"unsealed, open": 6548.0, "drained, open": 48.5}
    results = [
        replace(wet_of("open", [0.0] * 52), way=ways[key], hours_wet=wet, longest_wet=29)
        for key, wet in hours.items()
    ]
    said, shown = sentence_on_worst(results), wetting(results)
    for words in ("6,550\u00a0h", "49\u00a0h"):
        assert words in said
        assert f"{words} in a mean year, longest 29\u00a0h" in shown
    assert "6,550\u00a0h in a mean year, at longest 29\u00a0h on end" in said


def all_pictures(name="south-west", prefix="p"):
    walls = polygon_walls(SQUARE, value=facing_south_west, names=[name, "b", "c", "d"])
    curve = [100 + 80 * math.cos(math.radians(i * 10 - 230)) for i in range(36)]
    chain = elevation_of(
        name,
        190,
        factors=factors_of(0.8326, 1.1, 1.0, 0.4, reason=name),
        spell_band=(58, 84),
        annual_band=(126, 180),
    )
    places = rank_sites([place_of(name, 70, (58, 84)), place_of("other", 40)])
    return [
        building_plan(walls, [1, 2, 3] * 4, chosen=name, prefix=f"{prefix}1"),
        building_plan(walls, [], callouts=False, size=320, prefix=f"{prefix}2"),
        rose(RoseCurves(curve, curve, curve), rain_from=curve, elevations=walls[:1], prefix=f"{prefix}3"),
        rose(RoseCurves(curve), size=224, prefix=f"{prefix}4"),
        factor_chain(chain, prefix=f"{prefix}5"),
        factor_chain(chain, width=358, narrow=True, prefix=f"{prefix}6"),
        factor_chain(chain, width=710, deep=34, notes=False, prefix=f"{prefix}7"),
        months([1.0] * 12, title=name, prefix=f"{prefix}8"),
        bare_wrap(bare_of([20.0] * 52, [40.0] * 52, elevation=name, driest=((50, 3),), start=51), prefix=f"{prefix}9"),
        wetting([wet_of(name, [20.0] * 52)], prefix=f"{prefix}10"),
        comparison_bars(places, home=name, prefix=f"{prefix}11"),
    ]  # fmt: skip


@pytest.mark.parametrize("name", [*HOSTILE, "south-west"])
def test_names_stay_text_in_every_picture(name):
    for svg in all_pictures(name or "unnamed"):
        tree = ElementTree.fromstring(svg)
        for part in tree.iter():
            assert part.tag.removeprefix(SVG) in ALLOWED
            assert not any(key.lower().startswith("on") or "href" in key for key in part.attrib)
        assert len(svg) < 60_000
        assert "\u202e" not in svg


def test_pictures_hold_nothing_a_printer_stumbles_over():
    for svg in all_pictures():
        for word in ("<pattern", "clip-path", "clipPath", "var(", "filter", "style=", "url(", "NaN", "inf"):
            assert word not in svg


def test_every_picture_is_titled_described_and_ids_are_unique():
    pictures = all_pictures()
    names = re.findall(r'id="([^"]+)"', "".join(pictures))
    assert len(names) == len(set(names)) == 2 * len(pictures)  # a title and a description each
    for svg in pictures:
        tree = ElementTree.fromstring(svg)
        assert tree.find(f"{SVG}title").text
        assert tree.find(f"{SVG}desc").text.strip() == tree.find(f"{SVG}desc").text
        assert all(part in svg for part in tree.attrib["aria-labelledby"].split())


def test_no_text_is_smaller_than_twelve():
    for svg in all_pictures():
        assert min(float(size) for size in re.findall(r'font-size="([\d.]+)"', svg)) >= 12


def widest_font():
    folder = Path("/usr/share/fonts/truetype/dejavu")
    if not (folder / "DejaVuSans.ttf").exists():
        pytest.skip("DejaVu Sans is not installed here")
    image_font = pytest.importorskip("PIL.ImageFont")
    return [image_font.truetype(str(folder / f"DejaVuSans{kind}.ttf"), 100) for kind in ("", "-Bold")]


@pytest.mark.parametrize("name", ["south-west", "north-east, inner courtyard by the stables", "W" * 60])
def test_words_stay_inside_the_frame_in_the_widest_font(name):
    regular_font, bold_font = widest_font()
    for svg in all_pictures(name):
        tree = ElementTree.fromstring(svg)
        frame = float(tree.attrib["width"])
        for part in tree.iter(f"{SVG}text"):
            spans = list(part) or [part]
            size = float(part.attrib["font-size"])
            wide = 0.0
            for span in spans:
                bold = span.get("font-weight", part.get("font-weight")) == "700"
                font = bold_font if bold else regular_font
                wide += font.getlength(span.text or "") * float(span.get("font-size", size)) / 100
                wide += float(span.get("dx", 0))
            x = float(part.attrib["x"])
            left = {"start": x, "middle": x - wide / 2, "end": x - wide}[part.get("text-anchor", "start")]
            assert left >= -1, f"{spans[0].text!r} starts at {left:.0f}"
            assert left + wide <= frame + 1, f"{spans[0].text!r} ends at {left + wide:.0f} of {frame:.0f}"


# ------------------------------------------------------------------ plan


def labels(svg):
    tree = ElementTree.fromstring(svg)
    return [
        tuple(float(part.attrib[key]) for key in ("x", "y", "width", "height"))
        for part in tree.iter(f"{SVG}rect")
        if part.get("width") == str(LABEL_WIDE) and float(part.attrib["height"]) > 30
    ]


@pytest.mark.parametrize("number", range(3, 13))
@pytest.mark.parametrize("turn", [0, 37])
def test_callouts_never_overlap_nor_leave_the_picture(number, turn):
    corners = [
        (
            x * math.cos(math.radians(turn)) - y * math.sin(math.radians(turn)),
            x * math.sin(math.radians(turn)) + y * math.cos(math.radians(turn)),
        )
        for x, y in regular(number)
    ]
    walls = polygon_walls(corners, value=facing_south_west)
    svg = building_plan(walls, [1.0] * 36)
    boxes = labels(svg)
    assert len(boxes) == number
    for place, (x, y, wide, tall) in enumerate(boxes):
        assert y >= 0
        assert y + tall <= 520
        assert x + wide <= 172 or x >= 172 + 520  # never over the building
        for other in boxes[place + 1 :]:
            assert x != other[0] or y + tall <= other[1] or other[1] + other[3] <= y


def test_beyond_twelve_walls_the_hardest_keep_their_callouts():
    walls = polygon_walls(regular(20), value=facing_south_west)
    svg = building_plan(walls, [])
    assert len(labels(svg)) == 4
    hardest = sorted(walls, key=lambda one: -one.wall_spell_index)[:4]
    assert all(f">{one.wall.name}<" in svg for one in hardest)


@pytest.mark.parametrize("number", [3, 6, 12, 20])
def test_every_elevation_is_described_once(number):
    walls = polygon_walls(
        regular(number), value=facing_south_west, names=[f"side {chr(97 + i)}" for i in range(number)]
    )
    words = description(building_plan(walls, []))
    worst = max(walls, key=lambda one: one.wall_spell_index)
    assert words.startswith(f"Worst: {worst.wall.name}, ")
    body = words.split(". ", 1)[1]
    assert all(body.count(f"{one.wall.name} ") == 1 for one in walls)


@pytest.mark.parametrize("size", [140, 226, 300, 346])
@pytest.mark.parametrize("turn", [0, 20, 45, 52, 90, 137, 232, 300])
def test_the_worst_wall_is_always_named_on_a_small_plan(size, turn):
    turned = [
        (
            x * math.cos(math.radians(turn)) + y * math.sin(math.radians(turn)),
            -x * math.sin(math.radians(turn)) + y * math.cos(math.radians(turn)),
        )
        for x, y in [(0, 0), (15, 0), (15, 7), (7.5, 7), (7.5, 12.5), (0, 12.5)]
    ]
    walls = polygon_walls(turned, value=facing_south_west)
    worst = max(walls, key=lambda one: one.wall_spell_index)
    svg = building_plan(walls, [1.0] * 12, chosen=worst.wall.name, callouts=False, size=size)
    code = wall_codes(
        [
            (one.wall.name, one.wall.orientation)
            for one in sorted(walls, key=lambda one: -one.wall_spell_index)
        ]
    )[worst.wall.name]
    assert re.search(rf'font-weight="700"[^>]*>{code}( \d+)?<', svg)


def fringe_depths(svg):
    """Depth of each fringe: the filled shapes' second and third corner."""
    fills = {look.fill for look in CLASS_LOOKS.values()}
    found = []
    for part in ElementTree.fromstring(svg).iter(f"{SVG}path"):
        if part.get("fill") in fills:
            corners = [
                tuple(map(float, pair)) for pair in re.findall(r"([\d.-]+) ([\d.-]+)", part.attrib["d"])
            ]
            found.append(math.dist(corners[1], corners[2]))
    return found


def test_a_fringe_is_as_deep_as_its_figure_by_hand():
    values = iter([100.0, 50.0, 25.0, 12.5])
    walls = polygon_walls(SQUARE, value=lambda _: next(values))
    depths = fringe_depths(building_plan(walls, []))
    # the deepest band, 1.25 x 100, is 13 % of 520
    assert depths == pytest.approx([0.13 * 520 / 1.25 * part for part in (1, 0.5, 0.25, 0.125)], abs=0.3)


def test_fringes_lie_outside_and_face_their_way_by_symmetry():
    # a square facing the four points: the fringe of the wall that faces north lies above the building
    walls = polygon_walls(SQUARE, value=lambda facing: 100.0 if abs(facing % 360) < 1 else 1.0)
    north = next(wall for wall in walls if wall.wall_spell_index == 100.0)
    assert north.wall.orientation == pytest.approx(0, abs=1e-9)
    svg = building_plan(walls, [])
    (fringe,) = [
        part for part in ElementTree.fromstring(svg).iter(f"{SVG}path") if part.get("fill") == CLASS_LOOKS["very severe"].fill
    ]  # fmt: skip
    heights = [float(y) for _, y in re.findall(r"([\d.-]+) ([\d.-]+)", fringe.attrib["d"])]
    # by hand: the corner lies 26.2 % of 520 from the middle, so the wall's line half a diagonal of that above it
    wall_line = 260 - 0.262 * 520 / math.sqrt(2)
    assert max(heights) == pytest.approx(wall_line, abs=0.2)
    assert min(heights) == pytest.approx(wall_line - 0.13 * 520 / 1.25, abs=0.2)


def test_walls_without_outline_are_told_and_placed_by_facing():
    wall = elevation_of("north", 50.0, orientation=0, length=10)
    assert "Outline not known" in plan_caption([wall], ring=False)
    unsure = SimpleNamespace(wall=wall.wall, could_be=("moderate",))
    assert "the class may just as well be the next one that way" in plan_caption([unsure], ring=False)
    # without its callouts a plan says no "or milder"
    assert "one that way" not in plan_caption([unsure], ring=False, callouts=False)
    (((x1, y1), (x2, y2)),) = sides_by_facing([(0.0, 10.0)])
    assert y1 == pytest.approx(y2)
    assert y1 > 0
    assert abs(x1 - x2) == pytest.approx(9.0)  # 10 m kept to 1.2 x 0.75 x 10


def test_no_rain_at_all_still_draws():
    walls = polygon_walls(SQUARE, value=lambda _: 0.0)
    svg = building_plan(walls, [0.0] * 12)
    assert "NaN" not in svg
    assert fringe_depths(svg) == []
    assert rose(RoseCurves([0.0] * 36), rain_from=[0.0] * 12)


def test_outline_of_two_buildings_in_any_order():
    one = [((0, 0), (2, 0)), ((2, 0), (1, 2)), ((1, 2), (0, 0))]
    two = [((5, 5), (7, 5)), ((6, 7), (7, 5)), ((5, 5), (6, 7))]  # one side the wrong way round
    mixed = [one[0], two[2], one[2], two[0], one[1], two[1]]
    assert sorted(len(ring) for ring in rings(mixed)) == [3, 3]
    assert rings([((0, 0), (1, 0)), ((1, 0), (1, 1))]) == []


def test_codes_are_unique():
    codes = wall_codes([(f"w{i}", 45.0) for i in range(60)])
    assert len(set(codes.values())) == 60


@pytest.mark.parametrize("name", list(CLASS_LOOKS))
def test_hatch_strokes_stay_in_their_shape(name):
    shape = [(10.0, 10.0), (60.0, 20.0), (50.0, 70.0), (15.0, 50.0)]
    for segment in re.findall(r"M([\d.-]+) ([\d.-]+) L([\d.-]+) ([\d.-]+)(?= M|\")", hatched(shape, name)):
        x1, y1, x2, y2 = map(float, segment)
        for x, y in ((x1, y1), (x2, y2)):
            for one, other in pairwise([*shape, shape[0]]):
                cross = (other[0] - one[0]) * (y - one[1]) - (other[1] - one[1]) * (x - one[0])
                assert cross / math.dist(one, other) >= -0.2


def test_codes_keep_to_the_names_whatever_the_order():
    names = [
        ("south-east, inner", 142.0),
        ("north-east, inner", 52.0),
        ("south-east", 142.0),
        ("north-east", 52.0),
    ]
    wanted = {
        "south-east": "SE",
        "south-east, inner": "SE-i",
        "north-east": "NE",
        "north-east, inner": "NE-i",
    }
    assert wall_codes(names) == wall_codes(names[::-1]) == wanted
    assert wall_codes([("south 1", 180.0), ("south 2", 180.0)]) == {"south 1": "S1", "south 2": "S2"}


def test_weeks_not_known_leave_a_gap_and_no_nan():
    unknown = float("nan")
    weeks = [20.0] * 10 + [unknown] * 4 + [15.0] * 20 + [unknown] * 18
    svg = bare_wrap(bare_of(weeks, [unknown] * 52))
    assert "nan" not in svg.lower()
    ElementTree.fromstring(svg)
    assert "Started in week 13: not known" in svg
    line = next(part for part in ElementTree.fromstring(svg).iter(f"{SVG}path") if part.get("stroke") == RAIN)
    assert line.attrib["d"].count("M") == 2  # two runs of known weeks, by hand
    assert "nan" not in bare_wrap(bare_of([unknown] * 52, [unknown] * 52, driest=((0, 0),), start=0)).lower()


def test_no_reason_in_the_chain_loses_a_word():
    reason = (
        "ground III to the south-west, wall top at 12.6 m: bare or sparse 36%, cropland 33%, grassland 24% within "
        "1 km; the smoothest that makes up a tenth wins"
    )
    one = elevation_of(factors=factors_of(0.9, 0.9, 0.9, 0.9, reason=reason))
    for narrow, width in ((False, 1180), (True, 346)):
        svg = factor_chain(one, narrow=narrow, width=width)
        words = " ".join("".join(part.itertext()) for part in ElementTree.fromstring(svg).iter(f"{SVG}text"))
        assert "…" not in words
        assert words.count("tenth") == 4
        lowest = max(float(part.get("y")) for part in ElementTree.fromstring(svg).iter(f"{SVG}text"))
        assert lowest <= float(ElementTree.fromstring(svg).get("height"))


@pytest.mark.parametrize(("width", "deep"), [(690, 28), (710, 34), (1180, 104)])
@pytest.mark.parametrize("values", [(0.7224, 1.0, 0.3, 0.5), (1.167, 1.3, 1.0, 0.4), (0.12, 1.0, 0.2, 0.2)])
def test_no_figure_of_the_chain_lies_over_another_and_each_factor_is_named_whole(width, deep, values):
    svg = factor_chain(elevation_of(factors=factors_of(*values)), width=width, deep=deep, notes=False)
    boxes = []
    for one in ElementTree.fromstring(svg).iter(f"{SVG}text"):
        words, size = "".join(one.itertext()), float(one.get("font-size", 13))
        x, y = float(one.get("x")), float(one.get("y"))
        # a capital or figure of the sheet's type is .72 of its size high, by its own metrics
        boxes.append((words, box(x, y - 0.72 * size, x + text_width(words, size=size), y)))
    for (first, one), (second, other) in combinations(boxes, 2):
        assert not one.intersects(other), (first, second)
    assert {"ground", "hill", "neighbours", "wall shape"} <= {words for words, _ in boxes}


def test_no_name_on_the_map_lies_over_another_places_dot():
    lat, lon = np.linspace(48.0, 48.8, 9), np.linspace(-30.2, -29.2, 11)
    values = 100.0 + 300.0 * np.ones((9, 1)) * np.linspace(0, 1, 11)
    close = [("Long Name Harbour", 48.4, -29.9), ("Other", 48.4, -29.75), ("Third", 48.41, -29.6)]
    svg = contour_map(RegionField(lat, lon, values, places=close), width=300)
    tree = ElementTree.fromstring(svg)
    dots = [(float(one.get("cx")), float(one.get("cy"))) for one in tree.iter(f"{SVG}circle")]
    assert len(dots) == 3
    for label in tree.iter(f"{SVG}text"):
        if label.text in {"Long Name Harbour", "Other", "Third"} or (label.text or "").endswith("…"):
            x, y = float(label.get("x")), float(label.get("y"))
            wide = text_width(label.text, size=12)
            assert not [dot for dot in dots if x < dot[0] < x + wide and y - 10 < dot[1] < y + 3]


# ------------------------------------------------------------------ rose


def test_rose_of_a_steady_place_is_a_circle_by_symmetry():
    svg = rose(RoseCurves([200.0] * 36, high=[400.0] * 36, low=[0.0] * 36), size=420)
    curve = next(
        part for part in ElementTree.fromstring(svg).iter(f"{SVG}path") if part.get("stroke-width") == "2.5"
    )
    points = [tuple(map(float, pair)) for pair in re.findall(r"([\d.-]+) ([\d.-]+)", curve.attrib["d"])]
    inner = 420 / 2 - 24 - 420 * 0.085 - 10
    assert len(points) == 36
    assert [math.dist(point, (210, 210)) for point in points] == pytest.approx([inner / 2] * 36, abs=0.1)


def test_ring_strokes_are_as_long_as_the_share_by_hand():
    svg = rose(RoseCurves([1.0] * 36), rain_from=[1.0, 0.5] * 18, size=400)
    strokes = re.search(r'<path d="([^"]+)" fill="none" stroke="#2F6570" stroke-width="2.2"', svg).group(1)
    lengths = [
        math.dist((float(a), float(b)), (float(c), float(d)))
        for a, b, c, d in re.findall(r"M([\d.-]+) ([\d.-]+) L([\d.-]+) ([\d.-]+)", strokes)
    ]
    assert lengths == pytest.approx([34.0, 17.0] * 18, abs=0.2)  # 8.5 % of 400


def test_class_colours_never_reach_the_rose():
    svg = rose(RoseCurves([100.0] * 36), elevations=[elevation_of("south", orientation=180)])
    assert not any(look.fill in svg for look in CLASS_LOOKS.values())
    assert "no class is read here" in svg


# ------------------------------------------------------------------ chain


def test_printed_factors_multiply_back_to_the_printed_answer():
    factors = factors_of(0.8326, 1.1, 1.0, 0.4)
    svg = factor_chain(elevation_of(spell=103, factors=factors, annual_band=(126, 180)))
    product = float(re.search(r'font-size="24"[^>]*>([\d.,]+)<', svg).group(1))
    for words in re.findall(r"× ([\d.]+)<", svg):
        product *= float(words)
    answer = float(re.search(r'font-size="34"[^>]*>([\d.,]+)<', svg).group(1))
    assert answer == 151
    assert round(product) == answer


def test_stream_is_as_deep_as_the_figure_by_hand():
    svg = factor_chain(elevation_of(spell=50, factors=factors_of(0.5, 2.0)), deep=100)  # 200 a year
    outline = re.search(r'<path d="(M[^"]+)" fill="none" stroke="#2F6570"', svg).group(1)
    depths = [136 - float(y) for _, y in re.findall(r"([\d.-]+) ([\d.-]+)", outline)]
    assert depths == pytest.approx([100, 100, 50, 50, 100, 100])


# ------------------------------------------------------------------ months, wetting, comparison


@settings(max_examples=100, deadline=None)
@given(st.lists(st.floats(0, 1e6), min_size=12, max_size=12))
def test_month_shares_add_up(parts):
    figures = whole_shares(parts)
    assert sum(figures) == (100 if sum(parts) > 0 else 0)
    if sum(parts) > 0:
        assert all(
            abs(figure - 100 * part / sum(parts)) < 1 + 1e-9
            for figure, part in zip(figures, parts, strict=True)
        )


def test_a_week_wet_throughout_fills_its_strip():
    svg = wetting([wet_of("all", [168.0, 84.0, 0.0])], width=300)
    assert re.findall(r"v(-[\d.]+)", svg) == ["-24.0", "-12.0"]


def test_bars_stand_to_scale_in_order():
    svg = comparison_bars(rank_sites([place_of("b", 30, (25, 36)), place_of("a", 60, (50, 72))]))
    fills = [CLASS_LOOKS[name].fill for name in ("severe", "sheltered")]
    wide = []
    for fill in fills:
        d = re.search(rf'<path d="([^"]+)" fill="{fill}"', svg).group(1)
        xs = [float(x) for x, _ in re.findall(r"([\d.-]+) ([\d.-]+)", d)]
        wide.append(max(xs) - min(xs))
    assert wide[0] == pytest.approx(2 * wide[1], rel=0.01)
    assert description(svg).startswith("1. a 60 (50 to 72), severe; 2. b 30")


def test_a_rank_is_never_bare_where_bands_meet():
    ranked = rank_sites(
        [place_of("A", 118, (99, 141)), place_of("B", 70, (58, 84)), place_of("C", 57, (47, 69))]
    )
    assert [one.rank_in_words for one in ranked] == ["1", "2 (2 to 3)", "3 (2 to 3)"]
    assert comparison_sentence(ranked[:1]) == ""
    assert "B and C, which lie close" in comparison_sentence(ranked)


# ------------------------------------------------------------------ parts


def test_an_image_tag_carries_the_picture_whole():
    from urllib.parse import unquote

    svg = picture(
        text(1, 20, 'a "quoted" <name>'), width=50, height=30, title="T", desc='D "q" <b>', prefix="1 bad#id"
    )
    tag = image_tag(svg)
    assert unquote(re.search(r'src="data:image/svg\+xml,([^"]+)"', tag).group(1)) == svg
    assert 'alt="D &quot;q&quot; &lt;b&gt;"' in tag
    assert 'id="p1-bad-id-title"' in svg
    assert text_width("a", size=10) > 0
