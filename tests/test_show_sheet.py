"""Sheets and the builder's file: everything said, nothing clipped, hostile words harmless, no request."""

import base64
import hashlib
import json
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import date
from html import unescape
from html.parser import HTMLParser
from importlib.resources import files
from string import Formatter
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from builders import climate_of
from shapely.geometry import Polygon
from test_detail_ladder import exposure_of, pressure_of
from test_junction import WALLS, ladder_numbers

from exposure.assess import assess_building
from exposure.assess.details import detail_building
from exposure.checks import RefusalError
from exposure.cli.details_words import details_report
from exposure.detail import Step
from exposure.detail.circumstances import Circumstances
from exposure.detail.ladder import ladder_rows
from exposure.detail.openings import Opening
from exposure.detail.schedule import detail_schedule
from exposure.detail.schedule_parts import RuleResult
from exposure.detail.step_numbers import numbered
from exposure.detail.window_class import window_order
from exposure.doubts import doubt
from exposure.draw.junction_canvas import numbered_parts
from exposure.draw.junction_svg import bare_junction
from exposure.draw.marked import mark_letter, tally_sign
from exposure.export.details_files import take_off_csv
from exposure.figures import pascals
from exposure.junction.catalogue import JUNCTIONS, drawings_of
from exposure.junction.numbers import Numbers, numbers_of
from exposure.junction.one_lower import one_lower
from exposure.junction.proofs import failures
from exposure.map.contour_map import RegionField
from exposure.paper.built_otherwise import other_parts, other_sizes
from exposure.paper.built_otherwise import otherwise as _drawn_otherwise
from exposure.paper.one_sided_corners import (
    OneSided,
    beside_the_other,
    drawn_one_sided,
    one_sided_drawings,
    one_sided_of,
    one_sided_pairs,
    told_one_sided,
)
from exposure.paper.page_foot import style_string
from exposure.paper.pdf import sheet_pdf
from exposure.paper.register import _groove, register_json, register_of
from exposure.paper.sheet import annex_html, sheet_html, write_text
from exposure.paper.sheet_annex import factor_part, season_part
from exposure.paper.sheet_building import building_sheet
from exposure.paper.sheet_columns import (
    DRAWN_WIDE,
    SHARED_TALL,
    column_height,
    in_columns,
    page_holds,
    printed_height,
)
from exposure.paper.sheet_corners import (
    as_built,
    asked_at_corners,
    corner_sheets,
    corners_elsewhere,
    otherwise_at,
    rank_of,
    sides_at_corners,
    told_by_corner,
    told_on_another,
)
from exposure.paper.sheet_figures import _rank, all_doubts, figure_sheet
from exposure.paper.sheet_front import elevation_sheet, window_words
from exposure.paper.sheet_orders import (
    CHECK_LINES,
    WHOLE,
    harder_corners,
    junction_sheet,
    line_cautions,
    merged_orders,
    rules_once,
)
from exposure.paper.sheet_orders import (
    drawn as on_sheet,
)
from exposure.paper.sheet_plan import (
    FIRST,
    MAIN_SIZE,
    Cell,
    ElevationSheet,
    _cells,
    _never_by_their_own,
    _told_in_front,
    lines_of,
    own_drawings,
    shared_drawings,
    sheet_plan,
)
from exposure.paper.sheet_reasons import reason_part
from exposure.paper.sheet_register import register_sheet
from exposure.paper.sheet_words import level_words, raised_words
from exposure.paper.sheet_work import (
    SIZE_WORDS,
    _drawn_on,
    _left_out,
    _other_steps,
    _Otherwise,
    _otherwise,
    _sizes,
    work_sheet,
)
from exposure.paper.site_drawings import site_drawings
from exposure.paper.site_file import _order_of, site_file_html, write_site_file
from exposure.tables import load_table
from exposure.tables.standing import standing_words
from exposure.wall import Building, Site, Wall
from exposure.wall.building import box_building

MADE = date(2026, 11, 25)
HOSTILE = '"><script>alert(1)</script><img src=x onerror=alert(2)> & \u202eevil\u202c \x00{{ 7*7 }} =cmd()'
ALLOWED_TAGS = set(
    [
        "html",
        "head",
        "meta",
        "title",
        "style",
        "body",
        "main",
        "section",
        "h1",
        "h2",
        "h3",
        "p",
        "table",
        "caption",
        "thead",
        "tbody",
        "tr",
        "th",
        "td",
        "figure",
        "figcaption",
        "svg",
        "desc",
        "g",
        "rect",
        "path",
        "circle",
        "text",
        "tspan",
        "div",
        "span",
        "b",
        "strong",
        "bdi",
        "ul",
        "ol",
        "li",
        "br",
        "i",
        "script",
        "label",
        "input",
        "details",
        "summary",
        "nav",
        "a",
        "dl",
        "dt",
        "dd",
        "button",
        "use",
        "defs",
        "symbol",
        "template",
        "fieldset",
        "legend",
        "textarea",
        "select",
        "option",
        "form",
    ]
)


def weather(years=3, kind="invented", source="invented record"):
    """Wet south-westerlies with a few dry days between, the same every run."""
    draw = np.random.default_rng(7)
    time = pd.date_range("2001-01-01", f"{2000 + years}-12-31T23:00", freq="h")
    wet_day = np.repeat(draw.random(time.size // 24 + 1) < 0.4, 24)[: time.size]
    rain = np.where(wet_day & (draw.random(time.size) < 0.4), draw.gamma(1.0, 1.4, time.size), 0.0).round(1)
    wind = np.repeat(draw.gamma(4.0, 1.6, time.size // 24 + 1), 24)[: time.size]
    way = np.repeat(draw.normal(230, 50, time.size // 24 + 1), 24)[: time.size] % 360
    hour = np.arange(time.size)
    return climate_of(
        time,
        rain=rain,
        wind_speed=wind,
        wind_from_direction=way,
        air_temperature=10 + 7 * np.sin(hour / 8766 * 2 * np.pi),
        relative_humidity=82.0,
        kind=kind,
        source=source,
        licence="CC0",
        flags=[f"{source} was made up."],
    )


def detailed(building, *, site_name="Quern Bay", openings=(), details=None, **record):
    climate = weather(**record)
    site = Site(name=site_name, latitude=48.4, longitude=-29.7, terrain="II", ground_height=24.0)
    return detail_building(assess_building(climate, building, site), climate, details, openings=openings)


@pytest.fixture(scope="module")
def house():
    return detailed(box_building(name="Wrack House", length=12, width=8, bearing=52, height=5.6))


@pytest.fixture(scope="module")
def printed_sheets(house):
    return sheet_html(house, made=MADE)


@pytest.fixture(scope="module")
def phone_file(house):
    return site_file_html(house, made=MADE)


@pytest.fixture(scope="module")
def angle_house():
    """Six elevations round an inside corner, with some openings listed."""
    angle = [(0, 0), (14, 0), (14, 6), (6, 6), (6, 12), (0, 12)]
    names = ["south", "east", "north, inner", "east, inner", "north", "west"]
    walls = tuple(
        Wall(name, facing, 6.0, 5.6, start=start, end=end)
        for name, facing, start, end in zip(
            names, (180, 90, 0, 90, 0, 270), angle, [*angle[1:], angle[0]], strict=True
        )
    )
    listed = (
        Opening("south", 900, 1200, 3),
        Opening("west", 900, 1200, 2),
        Opening("east", 900, 2100, 1, door=True),
    )
    return detailed(Building("Angle House", walls), years=2, openings=listed)


@pytest.fixture(scope="module")
def hostile_house():
    """Every name that a person can type or a file can hold is hostile."""
    plain = box_building(name=HOSTILE, length=12, width=8, bearing=52, height=5.6)
    walls = tuple(
        replace(wall, name=f"{HOSTILE} {place}", flags=(HOSTILE,)) for place, wall in enumerate(plain.walls)
    )
    return detailed(Building(HOSTILE, walls), site_name=HOSTILE, source=f"invented {HOSTILE}")


class Parts(HTMLParser):
    """Tags, attributes and text of a document, as a browser's parser would split them."""

    def __init__(self, html):
        super().__init__(convert_charrefs=True)
        self.tags, self.attributes, self.text = [], [], []
        self.inside = None
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes.extend((tag, key, value or "") for key, value in attrs)
        self.inside = tag if tag in ("script", "style") else self.inside

    def handle_endtag(self, tag):
        self.inside = None if tag == self.inside else self.inside

    def handle_data(self, data):
        if self.inside is None:
            self.text.append(data)

    @property
    def words(self):
        return re.sub(r"\s+", " ", " ".join(self.text).replace("\u00a0", " "))


def check_harmless(html, *, scripts):
    parts = Parts(html)
    assert set(parts.tags) <= ALLOWED_TAGS
    assert parts.tags.count("script") == scripts
    for tag, key, value in parts.attributes:
        assert not key.startswith("on"), (tag, key)
        assert key not in ("src", "srcset", "action", "formaction", "data", "xlink:href", "ping"), (tag, key)
        if key == "href":
            assert value.startswith("#")
        assert "javascript:" not in value.lower()
    assert "\u202e" not in html
    assert "\x00" not in html
    assert "@import" not in html
    assert "url(" not in html
    assert not re.search(r"""(?:src|href)\s*=\s*["']?\s*(?:https?:)?//""", html)
    return parts


@pytest.mark.usefixtures("quick_rings")
def test_hostile_words_stay_words(hostile_house):
    for html, scripts in (
        (sheet_html(hostile_house, made=MADE), 0),
        (annex_html(hostile_house, made=MADE), 0),
        (site_file_html(hostile_house, made=MADE), 1),
    ):
        parts = check_harmless(html, scripts=scripts)
        assert "<script>alert(1)" in parts.words  # told as text
        assert "{{ 7*7 }}" in html  # no template runs in a name
        for style in re.findall(r"<style>(.*?)</style>", html, re.DOTALL):
            assert "alert(" not in style  # in the foot of a page every such letter is told by its number


@pytest.mark.parametrize("letters", ["x" * 10_000, "שלום " * 2_000, "W " * 5_000, "\U0001f327" * 3_000])
@pytest.mark.usefixtures("quick_rings")
def test_endless_names_cost_no_page(house, letters):
    walls = tuple(replace(wall, name=f"{wall.name} {letters}") for wall in house.assessment.building.walls)
    long_house = detailed(Building(letters, walls), site_name=letters, years=2)
    html = sheet_html(long_house, made=MADE)
    assert html.count("<section") <= 10  # building, four elevations at most, five behind them
    assert len(html) < 1_000_000
    plain = len(site_file_html(house).encode())
    assert len(site_file_html(long_house).encode()) < plain + 60_000


def test_ordinary_sheets_are_harmless_and_ask_for_nothing(printed_sheets, phone_file):
    check_harmless(printed_sheets, scripts=0)
    check_harmless(phone_file, scripts=1)


def kinds_of(html):
    return re.findall(r'<section class="sheet ([a-z]+)', html)


def sheets_of(html):
    """The sheets by number, each as its piece of the document."""
    pieces = re.split(r'(?=<section class="sheet )', html)[1:]
    return {int(re.search(r'id="sheet-(\d+)"', piece).group(1)): piece for piece in pieces}


@pytest.mark.usefixtures("quick_rings")
def test_a_semicolon_stands_between_two_sizes_and_never_last(angle_house):
    orders = [one for group in junction_sheet(sheet_plan(angle_house))["orders"] for one in group["orders"]]
    told = [re.sub("<[^>]+>", "", one).strip() for one in orders]
    assert any(";" in one for one in told)
    assert not [one for one in told if one.endswith(";")]


def test_sheets_stand_in_the_order_of_use_and_reasons_in_an_annex(house, printed_sheets):
    kinds = kinds_of(printed_sheets)
    fronts = kinds.count("elevation")
    assert 1 <= fronts <= 4
    assert kinds == ["building", *["elevation"] * fronts, "junctions", "work", "check", "figures", "openings"]
    assert kinds_of(annex_html(house, made=MADE)) == ["factors", "seasons", "laboratory", "reasons"]


def test_elevations_built_alike_share_a_sheet_and_no_other_do(house, printed_sheets):
    def orders(one):
        return one.schedule.level, [(line.key, line.build) for line in one.schedule.lines]

    sheets = [piece for piece in sheets_of(printed_sheets).values() if 'class="sheet elevation' in piece]
    together = [
        {one.name for one in house.elevations if f"<bdi>{one.name}</bdi></th>" in piece} for piece in sheets
    ]
    assert sorted(name for names in together for name in names) == sorted(
        one.name for one in house.elevations
    )
    for names in together:
        first, *others = [house.of(name) for name in names]
        assert all(orders(one) == orders(first) for one in others)
        for one in house.elevations:
            assert one.name in names or orders(one) != orders(first)


@pytest.mark.usefixtures("quick_rings")
def test_every_cell_of_the_matrix_points_to_a_sheet_that_has_that_junction(angle_house):
    html = sheet_html(angle_house)
    sheets = sheets_of(html)
    cells = re.findall(r'<a href="#sheet-(\d+)" data-junction="([a-z-]+)"><b>([^<]*)</b>', sheets[1])
    fronts = sum('class="sheet elevation' in piece for piece in sheets.values())
    assert len(cells) > 8 * fronts
    for number, junction, _ in cells:
        assert f'class="draw" data-junction="{junction}"' in sheets[int(number)], (number, junction)
    for one in angle_house.elevations:  # the size in the cell is the schedule's own
        (front,) = [
            number
            for number, piece in sheets.items()
            if f"<bdi>{one.name}</bdi></th><td>" in piece and number > 1
        ][:1]
        back = next(line.value for line in one.schedule.lines if line.key == "back_dam")
        assert (str(front), "sill", f"{back:g}\u00a0mm") in cells


def test_a_cell_of_what_no_drawing_shows_says_so(house):
    """Sills alone have lost their drawings: the cells of every other junction still name a sheet, and theirs none."""
    plan = sheet_plan(house)
    left = tuple(one for one in plan.drawings if one.section.key != "sill")
    assert len(left) < len(plan.drawings)
    for kept in (plan.drawings, left):
        rows = building_sheet(replace(plan, drawings=kept))["matrix"]
        drawn = {row["key"]: {cell.drawn for cell in row["cells"] if cell} for row in rows}
        assert drawn.pop("sill") == {kept is not left}
        assert all(one == {True} for one in drawn.values())


@pytest.mark.parametrize(
    "wall", ["timber frame with cladding", "masonry veneer", "rendered board", "cavity masonry"]
)
def test_every_junction_of_every_wall_has_a_main_size(wall):
    """By the ladder's own table: where a wall has the junction's row, it has a row for its size."""
    held = {row.key: row for row in ladder_rows() if not row.walls or wall in row.walls}
    for junction in JUNCTIONS:
        if all(key in held for key in (junction.row, junction.beside) if key):
            rows = [held[key] for key in MAIN_SIZE[junction.key] if key in held]
            assert rows, junction.key
            assert not isinstance(rows[0].values[0], str), junction.key


def test_a_wall_without_a_membrane_is_told_nothing_of_a_bare_one(house):
    walled = replace(house, elevations=tuple(replace(one, bare_wrap=None) for one in house.elevations))
    for details, told in ((house, True), (walled, False)):
        part = season_part(details)
        heads = {figure["head"] for one in part["elevations"] for figure in one["figures"]}
        assert "When it comes" in heads
        assert ({"While the membrane stands bare", "Wetting and drying"} <= heads) == told
        assert ("embrane" in " ".join(map(str, part["notes"]))) == told


@pytest.mark.usefixtures("quick_rings")
def test_what_no_drawing_shows_is_told_in_the_same_words_on_sheet_annex_and_screen(house):
    """A frame whose flange lies on the cladding does not reach over a deep cavity: of one elevation of the house, by its code."""
    first, *others = house.elevations
    mine = Circumstances(window_position="over the cavity", frame_type="nailing flange")
    schedule = detail_schedule(exposure_of(150.0), pressure_of(300.0), mine)
    mixed = replace(house, elevations=(replace(first, schedule=schedule, circumstances=mine), *others))
    told = list(map(str, junction_sheet(sheet_plan(mixed))["left_out"]))
    on = f" on {sheet_plan(mixed).codes[first.name]}"
    assert {f"Window {part}{on}" for part in ("sill", "head", "jamb")} <= {one.split(":")[0] for one in told}
    assert list(map(str, reason_part(mixed)["undrawn"])) == told
    printed, screen = Parts(annex_html(mixed)).words, details_report(mixed).splitlines()
    for one in told:
        assert one in printed
        assert f"  {one.replace(on, '')}" in screen
    assert ": not drawn" not in details_report(house)
    plan = sheet_plan(replace(mixed, openings=(Opening(first.name, 900, 1200),)))
    [own] = [sheet.number for sheet in plan.fronts if first.name in sheet.names]
    [window] = register_of(plan).openings
    assert (window.sheet, window.drawing) == (own, "")  # not to a drawing of other walls
    said = {str(words) for one in junction_sheet(plan)["drawings"] for words in one["own"]}
    assert f"{plan.codes[first.name]}: not drawn, as sheet {own} says" in said


def test_the_hood_of_each_elevation_stands_in_the_table_of_sizes():
    """50 mm clear at level 4, none at level 1, by the row on a flange on the cladding."""
    here = Circumstances(
        window_position="over the cavity", frame_type="nailing flange", sheathing="open studs"
    )
    working = [
        SimpleNamespace(schedule=detail_schedule(exposure_of(spell), pressure_of(pascal), here))
        for spell, pascal in ((150.0, 300.0), (20.0, 60.0))
    ]
    (hood,) = [row for row in _sizes(working) if "hood" in row["what"]]
    assert hood["cells"] == ["50", "none"]
    assert "hood" in working[0].schedule.steps[hood["step"] - 1].text


def test_a_size_of_a_step_that_an_elevation_leaves_out_reads_none():
    """A cavity's base flashing is the first step of one wall; the other turns its damp-proof course up instead, by its own step."""
    schedules = [
        detail_schedule(exposure_of(spell), pressure_of(100.0), Circumstances()) for spell in (150.0, 10.0)
    ]
    assert [any("base flashing" in step.text for step in one.steps) for one in schedules] == [True, False]
    working = [
        SimpleNamespace(
            schedule=replace(one, steps=steps), circumstances=Circumstances(), pressure=pressure_of(100.0)
        )
        for one, steps in zip(schedules, numbered([one.steps for one in schedules]), strict=True)
    ]
    (drip,) = [row["cells"] for row in _sizes(working) if "drip" in row["what"]]
    assert drip == ["15", "none"]


def test_a_size_on_the_first_sheet_is_one_that_the_junctions_drawing_shows():
    """A window in the cavity of a veneer has no tape on the membrane: its jamb's size is that of the damp-proof course."""
    here = Circumstances(wall_type="masonry veneer", window_position="in the masonry cavity")
    schedule = detail_schedule(exposure_of(45.0), pressure_of(150.0), here)
    values = {line.key: line.value for line in schedule.lines}
    numbers = numbers_of(schedule, here, pressure_of(150.0))
    drawings, _ = drawings_of([("south", numbers)])
    sheet = SimpleNamespace(
        drawings=(), elevations=(SimpleNamespace(name="south", schedule=schedule),), number=2
    )
    cells = _cells([sheet], {"south": numbers}, 5, drawings)
    assert "tape_w" in values
    assert cells["jamb"]["south"].row == "dpc_jamb"
    for drawing in drawings:
        cell, sizes = (
            cells[drawing.section.key]["south"],
            {one.key: one.value for one in drawing.section.dimensions if one.name in ("", "course")},
        )
        if cell.row not in ("cav_run", "cav_run_leaf"):  # storeys, which no section measures
            assert cell.size.startswith(f"{sizes[cell.row]:,.10g}"), drawing.stem


@pytest.mark.parametrize(("snow", "row", "size"), [(700.0, "snow_roof", "800"), (20.0, "step_h", "125")])
def test_the_larger_of_snow_and_upstand_is_the_size_over_a_roof(snow, row, size):
    """Snow of 700 mm and 100 clear of it are 800; at wetness 2 the flashing alone is 125, more than 20 and 100."""
    here = Circumstances(snow_depth=snow, roof_below="pitched at 10 degrees or more")
    schedule = detail_schedule(exposure_of(45.0), pressure_of(250.0), here)
    numbers = numbers_of(schedule, here, pressure_of(250.0))
    drawings, _ = drawings_of([("south", numbers)])
    sheet = SimpleNamespace(
        drawings=(), elevations=(SimpleNamespace(name="south", schedule=schedule),), number=2
    )
    cell = _cells([sheet], {"south": numbers}, 5, drawings)["roof-at-wall"]["south"]
    assert (cell.row, cell.size) == (row, f"{size}\u00a0mm")


@pytest.mark.usefixtures("quick_rings")
def test_a_shared_drawing_names_every_elevation_that_is_sent_to_it(angle_house):
    plan = sheet_plan(angle_house)
    shared = junction_sheet(plan)["drawings"]
    lent = 0
    for drawing, one in zip(plan.common, shared, strict=True):
        cells = plan.cells[drawing.section.key]
        sent = [n for n, cell in cells.items() if cell and cell.sheet == plan.numbers["junctions"]]
        if drawing.section.key == "corner-inside":  # only where one is
            sent = [name for name in sent if any(name in pair for pair in plan.inside)]
        alike = [each for each in shared if each["key"] == one["key"]]
        codes = " ".join(
            words for each in alike for words in [str(each["title"]).rpartition(". L")[2], *each["own"]]
        )
        if len(set(sent) | set(drawing.elevations)) > len(drawing.elevations):
            lent += 1
            assert all(re.search(rf"\b{plan.codes[n]}\b", codes) for n in sent), drawing.stem
            for words in one[
                "own"
            ]:  # by the schedule's own lines: each size told is that of the elevations it is told for
                names = [
                    n
                    for n, code in plan.codes.items()
                    if re.search(rf"\b{code}\b", str(words).partition(":")[0])
                ]
                told = set(re.findall(r"[\d,]*\d(?:\.\d+)?(?=\W(?:mm|%)|°)", str(words).partition(":")[2]))
                theirs = {
                    each.name: {
                        f"{line.value:,.10g}" for line in lines_of(each) if not isinstance(line.value, str)
                    }
                    for each in plan.details.elevations
                    if each.name in names
                }
                if drawing.section.key.startswith("corner-"):  # a size there is that of either wall
                    theirs = {"": set().union(*theirs.values())}
                for name, values in theirs.items():
                    assert told <= values, (name, words)
    assert lent


@pytest.mark.usefixtures("quick_rings")
def test_a_corner_is_built_by_its_harder_wall_and_told_where_it_is(angle_house):
    """By the rows of the ladder, "by the harder of its two walls"; which walls meet is read from their ends, round the plan."""
    plan = sheet_plan(angle_house)
    walls = [one.exposure.wall for one in angle_house.elevations]
    meet = {
        frozenset((plan.codes[one.name], plan.codes[other.name]))
        for one in walls
        for other in walls
        if one.end is not None and other.start is not None and one.end == other.start
    }
    assert len(meet) == len(walls) == 6  # a ring of six walls has six corners, of an angle one inside
    inner = frozenset(plan.codes[name] for name in ("north, inner", "east, inner"))
    meets = {"corner-inside": {inner}, "corner-outside": meet - {inner}}
    sheets = {one["key"]: one for one in junction_sheet(plan)["drawings"]}
    milder = 0
    for drawing in (one for one in plan.common if one.section.key.startswith("corner-")):
        drawn = {plan.codes[name] for name in drawing.elevations}
        own = [str(words) for words in sheets[drawing.section.key]["own"]]
        lines = [words.partition(": ") for words in own if words.startswith("Corner")]
        told = [
            (frozenset(pair.removeprefix(" of ").split(" and ")), words)
            for pairs, _, words in lines
            for pair in re.sub(r"^Corners? |of | \(mirrored\)", "", pairs).split(", ")
        ]
        here = meets[drawing.section.key]
        assert len(told) == len(here)
        assert {pair for pair, _ in told} == here
        for pair, words in told:
            milder += not pair & drawn
            assert bool(pair & drawn) == bool(re.match("as drawn(;|$)", words))
    for sheet in plan.fronts:
        for mine in (one for one in sheet.drawings if one.section.key.startswith("corner-")):
            words = " ".join(map(str, on_sheet(mine, plan, prefix="c", of=sheet.names)["own"]))
            for other in (
                one
                for one in plan.drawings
                if one.section.key == mine.section.key and rank_of(one) > rank_of(mine)
            ):
                for name in other.elevations:
                    milder += 1
                    here = meets[mine.section.key]
                    met = any({plan.codes[name], plan.codes[own]} in here for own in sheet.names)
                    assert met == bool(re.search(rf"At a corner with .*\b{plan.codes[name]}\b", words))
    assert milder


CORNER = [one for one in JUNCTIONS if one.key == "corner-outside"]
FACING = {"N": 0.0, "E": 90.0, "S": 180.0, "W": 270.0}


def drawn_of(here, asked, junctions=JUNCTIONS):
    """Drawings of walls by the rows alone: of each the litres of its worst spell and the pascals on it."""
    drawings, _ = drawings_of(
        [
            (name, numbers_of(detail_schedule(exposure_of(spell), pressure_of(push), here), here, pressure_of(push)))
            for name, (spell, push) in asked.items()
        ],
        junctions,
    )  # fmt: skip
    return drawings


def test_the_corners_of_a_box_are_all_outside_and_none_is_named_inside(house):
    """Four walls round a rectangle: an inside corner is told once, without names, where a bay or porch makes one."""
    plan = sheet_plan(house)
    assert (len(plan.corners), plan.inside) == (4, ())
    told = {one["key"]: [str(words) for words in one["own"]] for one in junction_sheet(plan)["drawings"]}
    assert told["corner-inside"][0] == "The outline has none; where a bay or porch makes one, as drawn"
    assert not any(" and " in line for line in told["corner-inside"][1:])  # sizes of milder walls, no pairs
    outside = next((words for key, words in told.items() if key == "corner-outside"), [])
    assert sum(line.count(" and ") for line in outside) >= 4 * bool(outside)


def test_each_side_of_a_corner_is_told_its_own_cavity_and_a_wall_without_one_that_it_has_none():
    """By the walls' own orders: 50, 20 and 0 mm (boards on the membrane); a box of four walls has four corners."""
    here = Circumstances(cladding_fixing="boards nailed through the face")
    asked = {"S": (150.0, 400.0), "E": (10.0, 60.0), "N": (10.0, 60.0), "W": (80.0, 250.0)}
    schedules = {
        name: (detail_schedule(exposure_of(spell), pressure_of(pascal), here), pressure_of(pascal))
        for name, (spell, pascal) in asked.items()
    }
    depth = {
        name: next((line.value for line in schedule.lines if line.key == "cav_depth"), 0)
        for name, (schedule, _) in schedules.items()
    }
    assert depth == {"S": 50, "E": 0, "N": 0, "W": 20}
    drawings, _ = drawings_of(
        [(name, numbers_of(one, here, pascal)) for name, (one, pascal) in schedules.items()]
    )
    corners = (("S", "E"), ("S", "W"), ("E", "N"), ("N", "W"))
    for key in ("corner-inside", "corner-outside"):
        own = {name: one for one in drawings if one.section.key == key for name in one.elevations}
        plan = SimpleNamespace(
            corners_at=lambda _: corners,
            codes={name: name for name in asked},
            cells={key: {}},
            facing=FACING,
        )
        told = told_by_corner(own["S"], plan, own, dict.fromkeys("ENW", "sizes as drawn"))
        laps = {
            name: f", past the batten at the end of {name}'s cavity" if key == "corner-outside" else ""
            for name in "SW"
        }
        none = "its cladding, straight on the membrane"
        apart = {"corner-inside": "", "corner-outside": ", battens 600\u00a0mm"}  # S has 450 mm
        # by class and level S is harder than W, both harder than E and N: whose membrane is drawn round the corner
        # with S across the top east is at its left as drawn, with E there north is: the other two lie mirrored
        at = {"corner-inside": "down the sheet", "corner-outside": "across the top"}[key]
        assert told == [
            f"First named {at}",
            f"Corner of S and E: as drawn; cavity 50\u00a0mm on S's side, none on E's: {none}{laps['S']}",
            f"Corner of S and W (mirrored): as drawn; on W's side cavity 20\u00a0mm{apart[key]}",
            "Corner of E and N: sizes as drawn; no cavity on either side",
            f"Corner of W and N (mirrored): sizes as drawn; cavity 20\u00a0mm on W's side, none on N's: {none}{laps['W']}",
        ]


def test_corners_with_a_cavity_on_one_side_have_a_drawing_that_says_which_wall_stands_where():
    """By the walls' own orders: 50 mm on S, 20 on W, boards on the membrane on E and N; S with W is the other corner."""
    here = Circumstances(cladding_fixing="boards nailed through the face")
    asked = {"S": (150.0, 400.0), "E": (10.0, 60.0), "N": (10.0, 60.0), "W": (80.0, 250.0)}
    drawings = drawn_of(here, asked)
    corners = (("S", "E"), ("S", "W"), ("E", "N"), ("N", "W"))
    pairs = one_sided_pairs(drawings, corners, FACING)
    # with S across the top of the sheet east is at its left, with W there north is at its right
    assert pairs == {("S", "E"): ("S", False, False), ("N", "W"): ("W", True, False)}
    hardest, other = one_sided_drawings(drawings, pairs)
    assert (hardest.elevations, other.elevations) == (("S",), ("W",))
    assert [one.section.sides[0] for one in (hardest, other)] == ["outside", "inside"]
    told = told_one_sided(
        pairs,
        (hardest, other),
        {name: name for name in asked},
        lambda pair, mine: _drawn_otherwise(hardest, mine),
    )
    assert told[0] == "S across the top, E at the left: sizes as drawn"
    assert told[1].startswith("W across the top, N at the right, mirrored: ")
    assert "cavity 20\u00a0mm" in told[1]
    # the same by the walls themselves, as `exposure draw` has it, for which a house gives its outline
    walls = [
        replace(wall, name=wall.name[0].upper())
        for wall in box_building(name="x", length=10, width=7, bearing=90, height=5).walls
    ]
    assert {one.stem for one in one_sided_of(drawings, walls)} == {
        "corner-one-side-level-4",
        "corner-one-side-level-3-mirrored",
    }
    assert one_sided_of(drawings, [replace(wall, start=None, end=None) for wall in walls]) == ()
    # what the wall without a cavity asks more: by its rows 400 mm past the corner where the other has 255 mm
    plan = SimpleNamespace(codes={"E": "E", "W": "W"})
    windy, mild = (
        drawn_of(here, {name: of}, CORNER)[0] for name, of in (("E", (10.0, 400.0)), ("W", (45.0, 60.0)))
    )
    more = otherwise_at(("E", "W"), plan, {"E": windy, "W": mild}, mild)
    assert more.startswith("past 400\u00a0mm; lap 300\u00a0mm")
    assert [one_lower(one) for one in (hardest, other)] == [None, None]  # no wall alone has it
    common = tuple(one for one in drawings if "S" in one.elevations)
    stand = [one.section.key for one in beside_the_other(common, (hardest,), alone=False)]
    assert stand[stand.index("corner-outside") + 1] == "corner-one-side"
    stand = [one.section.key for one in beside_the_other(common, (hardest,), alone=True)]
    assert "corner-one-side" in stand
    assert "corner-outside" not in stand


def test_a_sheet_with_its_own_corner_says_which_wall_is_across_the_top_of_it():
    """By the orders of a veneer, its cavity alike everywhere: S, the tighter class, is harder than E and N, of which the house names E first."""
    here = Circumstances(wall_type="masonry veneer")
    asked = {"S": (80.0, 250.0), "E": (45.0, 100.0), "N": (45.0, 100.0)}
    drawings = drawn_of(here, asked, CORNER)
    plan = SimpleNamespace(
        drawings=drawings,
        corners_at=lambda _: (("E", "S"), ("E", "N")),
        codes={name: name for name in asked},
        facing=FACING,
    )
    own = own_drawings("corner-outside", drawings)
    for name, told in (
        ("S", ["Corner of S and E: first named across the top"]),
        ("N", ["Corner of E and N: first named across the top"]),
        ("E", ["Corners of S and E, of E and N: first named across the top"]),
    ):
        assert sides_at_corners(own[name], plan, [name]) == told
    plan.cells = {
        "corner-outside": {name: SimpleNamespace(sheet=sheet) for sheet, name in enumerate("SEN", 2)}
    }
    plan.common, plan.corners = (), True
    assert harder_corners(own["E"], plan, ["E"]) == [
        "At a corner with S: as for that wall, sheet 2",
        "Corner of E and N: first named across the top",  # that of S and E is told on sheet 2 alone
    ]
    plan.facing = {"N": 180.0, "E": 90.0, "S": 0.0}  # turned so that each other wall is at the right
    assert sides_at_corners(own["E"], plan, ["E"]) == [
        "Corners of S and E (mirrored), of E and N (mirrored): first named across the top"
    ]


def test_a_corner_tells_boards_and_battens_of_the_side_that_has_others():
    """By the orders over open studs: rigid boards, 50 mm and battens 450 mm apart at the hardest wall, none, 10 mm and 600 mm at the mild one."""
    here = Circumstances(sheathing="open studs")
    drawings = drawn_of(here, {"S": (150.0, 400.0), "E": (45.0, 100.0)})
    bare = (
        "no boards on the studs, its layers under the sheet round the corner as far as the corner stud, "
        "not lapped over it; that sheet's edge taped over blocking"
    )
    for key, unlike in (
        ("corner-outside", f"; on E's side cavity 10\u00a0mm, {bare}, battens 600\u00a0mm"),
        ("corner-inside", f"; on E's side cavity 10\u00a0mm, {bare}"),
    ):
        own = {name: one for one in drawings if one.section.key == key for name in one.elevations}
        plan = SimpleNamespace(
            corners_at=lambda _: (("S", "E"),), codes={"S": "S", "E": "E"}, cells={key: {}}, facing=FACING
        )
        first, told = told_by_corner(own["S"], plan, own, {"E": "sizes as drawn"})
        assert first.startswith("First named ")
        assert told.startswith("Corner of S and E: as drawn")
        assert told.endswith(unlike)
        plan.drawings, plan.one_sided = drawings, {}
        pointed = told_on_another(own["S"], plan, ["S"], 6)  # where another sheet tells the whole of it
        assert pointed == ["At a corner with E: otherwise on its side, as sheet 6 says"]
        assert told_on_another(own["E"], plan, ["E"], 6) == []  # drawn by the harder wall
        [words] = sides_at_corners(own["S"], plan, ["S"])  # where none does
        assert words.endswith(unlike.replace("cavity 10\u00a0mm, ", ""))


def test_a_corner_with_cavity_and_boards_on_one_side_alone_is_drawn_with_boards_on_that_side():
    """By the orders over open studs: rigid boards and 50 mm at the hardest wall, neither at the mild one."""
    here = Circumstances(sheathing="open studs", cladding_fixing="boards nailed through the face")
    drawings = drawn_of(here, {"S": (150.0, 400.0), "E": (10.0, 60.0)}, CORNER)
    pairs = one_sided_pairs(drawings, [("S", "E")], FACING)
    [drawn] = one_sided_drawings(drawings, pairs)
    assert drawn_one_sided(pairs["S", "E"], [drawn]) is drawn
    boards = [Polygon(one.outline).bounds for one in drawn.section.layers if one.material == "board"]
    assert [(high - low, right > 300) for _, low, right, high in boards] == [(12, True)]  # across the top
    named = [layer.name for _, layer in numbered_parts(drawn.section)]
    assert "Boards on the studs" in named
    assert "Next sheet under it as far as the corner stud" in named
    assert not failures(drawn.section)
    own = {name: one for one in drawings for name in one.elevations}
    plan = SimpleNamespace(codes={"S": "S", "E": "E"})
    assert "boards" not in otherwise_at(("S", "E"), plan, own, drawn)  # no words against the drawing


def test_where_a_lap_of_the_drawing_ends_at_the_stud_its_size_is_taken_away_too():
    """By the orders over open studs the mild wall's next sheet ends at the corner stud, 255 mm past it at most: 300 has no room there."""
    drawings = drawn_of(Circumstances(sheathing="open studs"), {"S": (150.0, 400.0), "E": (10.0, 60.0)})
    for key in ("corner-outside", "corner-inside"):
        own = {name: one for one in drawings if one.section.key == key for name in one.elevations}
        told = [words.replace("\u00a0", " ") for words in other_sizes(own["S"], own["E"])]
        assert "past 255 mm" in told
        assert "no lap 300 mm" in told


def test_a_corner_of_two_walls_alike_names_one_sheet_and_an_inside_corner_tells_the_others_sizes():
    """By the orders: E and N are built alike, so the drawing of either is that of both; 255 mm past an inside corner is no more than 400."""
    here = Circumstances(cladding_fixing="boards nailed through the face")
    asked = {"S": (150.0, 400.0), "E": (10.0, 60.0), "N": (10.0, 60.0)}
    drawings = drawn_of(here, asked)
    own = {name: one for one in drawings if one.section.key == "corner-outside" for name in one.elevations}
    assert own["E"] is own["N"]
    cells = {"corner-outside": {name: SimpleNamespace(sheet=n) for n, name in enumerate("SEN", start=2)}}
    plan = SimpleNamespace(
        corners_at=lambda _: (("E", "N"),), codes={name: name for name in asked}, cells=cells, facing=FACING
    )
    first, told = told_by_corner(own["S"], plan, own, {})
    assert first == "First named across the top"
    assert told == "Corner of E and N: as drawn on sheet 3 for E; no cavity on either side"
    plan.corners_at = lambda _: ()
    inside = {name: one for one in drawings if one.section.key == "corner-inside" for name in one.elevations}
    said = dict.fromkeys("EN", "past 255\u00a0mm")
    assert told_by_corner(inside["S"], plan, inside, said)[1:] == ["E, N: past 255\u00a0mm, no cavity"]


def test_a_wall_with_harder_walls_at_all_its_corners_is_sent_to_their_drawing():
    """By the rows, "by the harder of its two walls": E stands between S and N, both harder, S the hardest; N meets E alone."""
    here = Circumstances(cladding_fixing="boards nailed through the face")
    asked = {"S": (150.0, 400.0), "E": (10.0, 60.0), "N": (70.0, 250.0)}
    drawings = drawn_of(here, asked)
    corners = (("S", "E"), ("E", "N"))
    assert _never_by_their_own(drawings, corners, (), ()) == {("corner-outside", "E"): "S"}
    assert _never_by_their_own(drawings, corners, corners, ()) == {("corner-inside", "E"): "S"}
    # the corner of S and E has a drawing of its own: what is left of E's is N's
    apart = [("S", "E")]
    assert _never_by_their_own(drawings, corners, (), apart) == {("corner-outside", "E"): "N"}
    assert _never_by_their_own(drawings, corners, (), corners) == {("corner-outside", "E"): "S"}
    assert (
        _never_by_their_own(drawings, (), (), ()) == {}
    )  # where nobody knows which walls meet each keeps its own


def test_a_wall_between_harder_walls_takes_their_sheet_round_its_corners_and_their_drawing():
    """By the rows, "by the harder of its two walls": of four walls S and N ask 400 mm, E and W 255 mm of their own, at no corner."""
    walls = {
        one.name[0].upper(): one
        for one in box_building(name="x", length=10, width=7, bearing=90, height=5).walls
    }
    here = Circumstances()
    each = {}
    for code, wall in walls.items():
        spell, push = (70.0, 250.0) if code in "SN" else (10.0, 60.0)
        exposure = replace(exposure_of(spell), wall=wall)
        schedule = detail_schedule(exposure, pressure_of(push), here)
        each[wall.name] = SimpleNamespace(
            name=wall.name,
            exposure=exposure,
            schedule=schedule,
            circumstances=here,
            pressure=pressure_of(push),
        )
    rows = {name: {line.key: line for line in one.schedule.lines} for name, one in each.items()}
    assert (rows["east"]["ocorner"].value, rows["south"]["ocorner"].value) == (255, 400)
    details = SimpleNamespace(elevations=[*each.values()], of=each.__getitem__)
    corners = {"corner-outside": (("south", "east"), ("east", "north"), ("north", "west"), ("west", "south"))}
    plan = SimpleNamespace(
        details=details, milder={("corner-outside", "east"): "south"}, corners_at=corners.__getitem__
    )
    assert as_built(plan, each["east"], rows["east"]["ocorner"]) == rows["south"]["ocorner"]
    assert as_built(plan, each["west"], rows["west"]["ocorner"]) == rows["west"]["ocorner"]
    assert as_built(plan, each["east"], rows["east"]["lap_v"]) == rows["east"]["lap_v"]
    # with one neighbour that asks no more than itself each corner is another
    each["north"].schedule = each["west"].schedule
    assert as_built(plan, each["east"], rows["east"]["ocorner"]) == rows["east"]["ocorner"]


def test_a_junction_drawn_just_so_on_another_elevations_sheet_is_drawn_once():
    """Two walls with a parapet at one level have one saddle; at another level its height is another, and it is drawn besides."""

    def told(*levels):
        schedules = [
            (name, detail_schedule(exposure_of(spell), pressure_of(push), parapet), pressure_of(push))
            for name, (spell, push) in zip("SN", levels, strict=True)
        ]
        drawings, _ = drawings_of([(name, numbers_of(one, parapet, push)) for name, one, push in schedules])
        saddles = [one for one in drawings if one.section.key == "saddle"]
        [first] = [one for one in saddles if "S" in one.elevations]
        cells = {"saddle": {"S": Cell("", 4, 2), "N": Cell("", 4, 6)}}
        front = ElevationSheet(2, (), (first,))
        _told_in_front([front], cells, 6, drawings)
        return cells["saddle"]["N"].sheet, shared_drawings(saddles, cells, 6, [front])

    parapet = Circumstances(parapet=True)
    assert told((140.0, 400.0), (140.0, 400.0)) == (2, ())
    sheet, drawn = told((140.0, 400.0), (10.0, 50.0))
    assert (sheet, len(drawn)) == (6, 1)


@pytest.mark.usefixtures("quick_rings")
def test_a_phone_says_which_neighbour_asks_more_at_a_corner(angle_house):
    """By the walls' own orders and ends: at every corner the wall that asks less names the other, and no other wall does."""
    plan = sheet_plan(angle_house)
    phone = re.sub("<[^>]+>", "", site_file_html(angle_house))
    at = {one.name: one.exposure.wall for one in angle_house.elevations}
    rows = {one.name: {line.key: line.value for line in lines_of(one)} for one in angle_house.elevations}
    told = 0
    for one in angle_house.elevations:
        asked = asked_at_corners(plan, one)
        for other in (name for name in at if name != one.name):
            meet = at[one.name].end == at[other].start or at[other].end == at[one.name].start
            inside = {one.name, other} == {"north, inner", "east, inner"}
            for key in ("icorner", "ocorner"):
                more = meet and inside == (key == "icorner") and rows[other][key] > rows[one.name][key]
                words = f"{plan.codes[other]}: {rows[other][key]:g}\u00a0mm."
                assert more == (words in asked.get(key, "")), (one.name, other, key)
                assert not more or f"At a corner with {words}" in phone
                told += more
    assert told


def test_a_wall_whose_cavity_is_split_only_where_asked_hears_what_its_neighbours_ask():
    """Of a wall that seals the split the whole order, of one that leaves the seal to others that it splits."""
    row = next(one for one in ladder_rows() if one.key == "cav_corner")
    lines = {
        name: SimpleNamespace(key="cav_corner", value=row.values[level - 1], unit="")
        for name, level in (("N", 2), ("W", 3), ("S", 4))
    }
    walls = {
        name: SimpleNamespace(name=name, schedule=SimpleNamespace(floor=(), lines=(line,)))
        for name, line in lines.items()
    }
    plan = SimpleNamespace(
        details=SimpleNamespace(elevations=[*walls.values()]),
        corners=(("N", "W"), ("N", "S")),
        corners_at=lambda _: (("N", "W"), ("N", "S")),
        codes={name: name for name in walls},
    )
    said = asked_at_corners(plan, walls["N"])["cav_corner"]
    assert said == "At a corner with W: split. At a corner with S: split and sealed top to bottom."


@pytest.mark.usefixtures("quick_rings")
def test_the_order_of_the_only_door_is_printed_though_its_value_is_that_of_every_wall():
    """A door over the cavity stands on the edge of the floor, by the row's own words for a door."""
    over = Circumstances(window_position="over the cavity", threshold="a step at every door")
    house = detailed(
        box_building(name="Door House", length=8, width=6, bearing=20, height=4.7), years=1, details=over,
        openings=(Opening("north", 900, 2100, 1, door=True), Opening("west", 900, 1200, 2)),
    )  # fmt: skip
    plan = sheet_plan(house)
    orders = " ".join(
        re.sub("<[^>]+>", "", str(order))
        for place in junction_sheet(plan)["orders"]
        for order in place["orders"]
    )
    *_, easiest = house.elevations
    assert easiest.name == "north"
    [line] = [line for line in lines_of(easiest) if line.key == "sill_support"]
    assert "a door on one fixed to the edge of the floor" in line.build
    assert "a door on one fixed to the edge of the floor" in orders


@pytest.mark.usefixtures("quick_rings")
def test_a_shared_drawing_says_which_parts_another_elevation_has_not(angle_house):
    """Held against the list under each elevation's own drawing, as the picture is printed."""
    plan = sheet_plan(angle_house)
    shared = list(zip(plan.common, junction_sheet(plan)["drawings"], strict=True))
    less = 0
    for key in {drawing.section.key for drawing in plan.common}:
        if key.startswith("corner-"):
            continue  # told by corners, not by elevations
        printed = [(drawing, one) for drawing, one in shared if one["key"] == key]
        for name, cell in plan.cells[key].items():
            drawn = any(name in drawing.elevations for drawing, _ in printed)
            if not cell or cell.sheet != plan.numbers["junctions"] or drawn:
                continue
            own = next(d for d in plan.drawings if d.section.key == key and name in d.elevations)
            mine = set(bare_junction(own.section)[1])
            ((drawing, one, told),) = (
                (drawing, one, str(words).partition(":")[2].lower())
                for drawing, one in printed
                for words in one["own"]
                if re.search(rf"\b{plan.codes[name]}\b", str(words).partition(":")[0])
            )
            here = {unescape(str(part)) for part in one["parts"]}
            assert len(mine ^ here) <= min(len(mine ^ set(map(str, each["parts"]))) for _, each in printed), (
                name
            )  # of several drawings the nearest
            for part in mine ^ here:
                less += part in here
                assert re.split("[:;,]", part.lower())[0] in told or any(
                    part.split()[:2] == other.split()[:2] and other.lower() in told for other in mine - here
                ), (drawing.stem, name, part, told)
            for part in mine & here:
                assert not re.search(rf"without .*\({re.escape(part.lower())}\)", told)
    assert less


@pytest.mark.usefixtures("quick_rings")
def test_the_threshold_that_elevations_share_is_drawn_of_one_that_has_a_door(angle_house):
    """The list has one door, on the east: its threshold is drawn, though another elevation is the hardest."""
    drawing = next(one for one in sheet_plan(angle_house).common if one.section.key == "threshold")
    assert drawing.elevations == ("east",)


def test_the_first_sheet_lists_no_eaves_on_a_wall_under_a_parapet():
    def listed(*, parapet):
        schedule = detail_schedule(exposure_of(45.0), pressure_of(150.0), Circumstances(parapet=parapet))
        one = SimpleNamespace(name="south", schedule=replace(schedule, tops=("eaves", "gable")))
        sheet = SimpleNamespace(drawings=(), elevations=(one,), number=2)
        return {
            key
            for key, row in _cells([sheet], {"south": Numbers({}, level=2)}, 5).items()
            if any(row.values())
        }

    under, bare = listed(parapet=True), listed(parapet=False)
    assert "parapet-cap" in under - bare
    assert {"wall-top-eaves", "wall-top-gable"} <= bare - under


def test_a_step_has_one_number_on_every_elevation():
    mark, tray, window, spray = (
        Step(f"{word}.", adds=(word,)) for word in ("mark", "tray", "window", "spray")
    )

    def numbers(*orders):
        return [[step.number for step in steps] for steps in numbered(orders)]

    assert numbers([tray, mark, window], [tray, window]) == [[1, 2, 3], [1, 3]]
    # what a milder wall has more gets a number of its own, and the hardest wall leaves it out
    assert numbers([tray, window], [tray, mark, window, spray], [mark, window]) == [
        [1, 3],
        [1, 2, 3, 4],
        [2, 3],
    ]
    wide = replace(window, text="Hold the window by straps.")
    assert numbers([tray, window], [], [tray, wide]) == [[1, 2], [], [1, 2]]
    # other work in the same place never takes the number of what a wall lacks
    closer, line = Step("At outside corners the closer."), Step("At each floor line leave a gap of 12 mm.")
    support = Step("Fix a support.", adds=("support",))
    run_past = Step("At each floor line leave a gap of 15 mm, the cavity open.")
    assert numbers([tray, support, closer, line, window], [tray, closer, run_past, window]) == [
        [1, 2, 3, 4, 5],
        [1, 3, 4, 5],
    ]
    assert numbers([tray, spray], [tray, window]) == [[1, 2], [1, 3]]
    assert numbers(
        [Step("Set battens.", adds=("barriers", "battens"))], [Step("Set barriers.", adds=("barriers",))]
    ) == [[1], [1]]


@pytest.mark.usefixtures("quick_rings")
def test_phone_register_and_order_of_work_number_a_step_alike(angle_house):
    """The sheet of the work holds every number there is: in its frames, or told of the elevations that alone have it."""
    sheet = work_sheet(sheet_plan(angle_house))
    printed = {step["number"] for step in sheet["steps"]} | {one["step"] for one in sheet["differ"]}
    held = {
        (point.step, point.words)
        for wall in register_of(sheet_plan(angle_house)).walls
        for point in wall.points
    }
    of_sheet = {
        (point["step"], point["words"]) for point in register_sheet(sheet_plan(angle_house))["points"]
    }
    assert {step for step, _ in held} == {step for step, _ in of_sheet} <= printed
    for one in angle_house.elevations:
        numbers = [step.number for step in one.schedule.steps]
        assert numbers == sorted(set(numbers))
        assert set(numbers) <= printed
    phone = re.split('<div class="run" id="e', site_file_html(angle_house, made=MADE))[1:]
    assert len(phone) == len(angle_house.elevations)
    for one, section in zip(angle_house.elevations, phone, strict=True):
        told = re.findall(r'<li data-step="(\d+)"[^>]*><p class="of">Step <b>(\d+)</b>', section)
        assert (
            [int(a) for a, _ in told]
            == [int(b) for _, b in told]
            == [step.number for step in one.schedule.steps]
        )
    acts = [
        {step.number: step.adds for step in one.schedule.steps if step.adds} for one in angle_house.elevations
    ]
    orders = {tuple(step.number for step in one.schedule.steps) for one in angle_house.elevations}
    assert len(orders) > 1  # some elevation has other steps
    for one in acts:
        assert all(acts[0].get(number, adds) == adds for number, adds in one.items())


@pytest.mark.usefixtures("quick_rings")
def test_a_number_that_the_hardest_elevation_leaves_out_is_explained(house):
    """Only the mildest wall has a roof below it: its step has a number, which the frames lack."""
    mildest = house.elevations[-1].name
    roofed = {"elevations": {mildest: {"roof_below": "flatter than 10 degrees"}}}
    box = box_building(name="Wrack House", length=12, width=8, bearing=52, height=5.6)
    for found, has_gap in ((house, False), (detailed(box, details=roofed, years=2), True)):
        sheet = work_sheet(sheet_plan(found))
        missing = {one["step"] for one in sheet["differ"]} - {step["number"] for step in sheet["steps"]}
        assert bool(missing) == ("A number left out" in sheet["lead"]) == has_gap


def test_a_step_told_by_its_other_clauses_says_where_its_sentence_goes_on():
    whole = Step("Set the barriers; leave every one whole.")
    assert _otherwise(Step("Hold the film back; leave every one whole."), whole) == (
        'In place of "Hold the film ...": Set the barriers ...'
    )


def test_a_clause_that_begins_as_the_one_in_whose_place_it_stands_does_not_name_it():
    whole = Step("Form the fall of 6 % with a bevel; leave it dry.")
    assert (
        _otherwise(whole, Step("Form the fall of 6 % at the sill; leave it dry."))
        == "Form the fall of 6 % at the sill ..."
    )


def test_where_one_clause_must_be_named_all_that_go_are():
    """Else a size of the one that is not named would stand beside its other."""
    first = Step("Lay the tray: back 30 mm, down 75 mm; formed corners.")
    told = _otherwise(
        first, Step("Lay the tray: back 30 mm (at a door 15 mm), down 50 mm; film in full width.")
    )
    assert told.startswith('In place of "back 30 mm ..." and "formed corners ...": ')


def test_a_step_that_lacks_clauses_of_the_same_step_elsewhere_is_told_whole():
    mine = Step("Lay the tray; rigid, or two layers; signed.")
    assert _otherwise(mine, Step("Lay the tray; stop short.")) == "In its place: Lay the tray; stop short."


def test_a_record_and_a_caution_that_are_the_same_are_not_told_again():
    mine = Step("Lay the tray.", "Photograph it.", "Wind: two people.")
    assert _otherwise(mine, replace(mine, text="Set the tray.")) == "In its place: Set the tray."
    assert (
        _otherwise(mine, replace(mine, text="Set the tray.", hold=""))
        == "In its place: Set the tray. No record."
    )
    other = replace(mine, text="Set the tray.", hold="Measure it.", caution="")
    assert _otherwise(mine, other) == "In its place: Set the tray. Measure it."


def test_another_step_of_the_same_number_stands_in_its_place():
    """The rest of a step holds that is told by its other clauses: of another step nothing of the first does."""
    other = Step("Set the closer.")
    assert _otherwise(Step("Set the window on its support."), other) == "In its place: Set the closer."


def test_steps_that_elevations_leave_out_stand_in_one_line():
    tray, window, spray, paint = (
        Step(words, adds=(words,)) for words in ("tray", "window", "spray", "paint")
    )
    plan = SimpleNamespace(codes={"west": "W", "south": "S", "east": "E"}, cells={})
    orders = numbered([[tray, window, spray], [tray, spray, paint], [tray]])
    working = [
        SimpleNamespace(name=name, schedule=SimpleNamespace(steps=steps))
        for name, steps in zip(plan.codes, orders, strict=True)
    ]
    assert _left_out(plan, working) == "S, E 2; E 3"
    assert [(one["step"], one["codes"]) for one in _other_steps(plan, working)] == [(4, "S")]


def test_forms_of_a_step_that_differ_in_sizes_or_at_doors_alone_are_told_once():
    """Sizes follow the code of their elevation; whoever has no door passes over what holds there, and not the other way round."""
    first = Step("Lay it: 50 mm.", sets=("back_dam", "end_dam"))
    door = Step(
        "Lay the tray: 35 mm, taped (at a door cut off).",
        sets=("back_dam",),
        at_doors=(" (at a door cut off)",),
    )
    plain = Step("Lay the tray: 20 mm, taped.", sets=("back_dam",))
    told = _Otherwise(first, door, ["north"], ["N"])
    assert told.sizes_of(plain) == " (20 mm)"
    assert told.sizes_of(door) == ""
    assert _Otherwise(first, plain, ["east"], ["E"]).sizes_of(door) is None
    assert told.sizes_of(Step("Lay the tray: 20 mm, nailed.")) is None
    two, other = (
        Step(f"Lay it {a} mm up, {b} mm down, 50 mm past.", sets=sets)
        for a, b, sets in ((10, 20, ("end_dam",)), (15, 25, ("end_dam",)))
    )
    told = _Otherwise(first, two, ["north"], ["N"])
    # which of three would be meant stands in the table
    assert told.sizes_of(other) == " (sizes by the table)"
    # the table has none of a step that the first lacks
    assert _Otherwise(None, two, ["north"], ["N"]).sizes_of(other) is None


def test_a_long_table_of_sizes_stands_in_two_halves(house, printed_sheets):
    """Side by side in the two columns of the steps, every row once."""
    sizes = work_sheet(sheet_plan(house))["sizes"]
    tables = re.findall(
        r"<table><caption>Sizes of the steps on each elevation(.*?)</table>", printed_sheets, re.DOTALL
    )
    assert len(sizes) > 10
    assert len(tables) == 2
    rows = [one.count("<tr><td>") for one in tables]
    assert sum(rows) == len(sizes)
    assert 0 <= rows[0] - rows[1] <= 1
    assert tables[1].startswith(", continued</caption>")


def test_every_figure_of_a_step_can_stand_in_the_table_of_sizes():
    rows = {row.key: row for row in ladder_rows()}
    filled = {
        name for row in load_table("order_of_work")["row"] for _, name, _, _ in Formatter().parse(row["text"])
    }
    figures = {key for key in filled & rows.keys() if not isinstance(rows[key].values[0], str)}
    assert {"pen_slope", "pen_tape"} <= figures
    assert figures <= SIZE_WORDS.keys()


@pytest.mark.parametrize(
    ("step", "order"),
    [
        ("As the leaf comes up over a roof, deck or saddle, let the flashing turned up against it into one of its joints, and lay the tray.",
         "As the leaf comes up over a roof, deck or saddle, let the flashing turned up against it into one of its joints"),
        ("As the leaf comes up over a roof, let the flashing, membrane or saddle turned up into one of its joints and lay the tray on that: stop-ends.",
         "As the leaf comes up over a roof, let the flashing, membrane or saddle turned up into one of its joints and lay the tray on that"),
        ("At a door to a closed deck, its frame and the leaf standing, set the metal sill on its brackets, its back up in the groove.",
         "At a door to a closed deck, its frame and the leaf standing, set the metal sill on its brackets"),
        ("When the outer leaf has come up to it, set the sill on the leaf alone, its damp-proof course 150 mm past each side.",
         "When the outer leaf has come up to it, set the sill on the leaf alone"),
        ("Seal the bottom plate, on its damp-proof course, to the foundation and set the base flashing 15 mm clear of it.",
         "Seal the bottom plate"),
    ],
)  # fmt: skip
def test_the_head_of_a_step_on_the_phone_says_what_to_do(step, order):
    """Not where or when alone: a step that begins with that goes on to its order."""
    assert _order_of(step)[0] == order


def test_an_order_that_two_words_cannot_tell_is_printed_whole_for_the_other_wall_too():
    """By the orders of the lowest level: a full strip, down over both membranes; one film in full width, no cut at the back corners."""
    parapet = Circumstances(parapet=True)
    elevations = [
        SimpleNamespace(name=name, schedule=detail_schedule(exposure_of(spell), pressure_of(push), parapet))
        for name, spell, push in (("S", 140.0, 400.0), ("E", 10.0, 50.0))
    ]
    plan = SimpleNamespace(
        details=SimpleNamespace(elevations=elevations), named=", ".join, milder={}, corners=(),
        corners_at=lambda _: (), codes={"S": "S", "E": "E"},
    )  # fmt: skip
    told = merged_orders(plan, lambda line: line.key in WHOLE, in_full=WHOLE)
    said = re.sub("<[^>]+>", "", " ".join(order for place in told for order in place["orders"]))
    for one in elevations:
        for line in one.schedule.lines:
            if line.key in WHOLE:
                assert line.build.replace(" mm", "\u00a0mm") in unescape(said)


def test_an_order_of_several_walls_claims_no_more_than_its_weakest():
    """One figure, read for one wall and our choice for the other: the letter of the weaker stands for both."""
    schedule = detail_schedule(exposure_of(140.0), pressure_of(400.0), Circumstances())
    (drip,) = [line for line in schedule.lines if line.key == "drip"]
    read, ours = (replace(schedule, lines=(replace(drip, standing=one),)) for one in ("read", "ours"))
    elevations = [SimpleNamespace(name=name, schedule=one) for name, one in (("S", read), ("E", ours))]
    plan = SimpleNamespace(
        details=SimpleNamespace(elevations=elevations), named=", ".join, milder={}, corners=(),
        corners_at=lambda _: (), codes={"S": "S", "E": "E"},
    )  # fmt: skip
    [told] = merged_orders(plan, lambda line: True)
    [order] = told["orders"]
    assert order.startswith("<b>S, E:</b>")
    assert mark_letter("ours") in order
    assert mark_letter("read") not in order


@pytest.mark.usefixtures("quick_rings")
def test_snow_that_lies_deeper_before_one_wall_stands_in_the_sizes_of_the_steps():
    """By hand: 100 mm above the snow, 100 mm deep and 300 mm before the east."""
    own = {"wall_type": "masonry veneer", "snow_depth": 100.0, "elevations": {"east": {"snow_depth": 300.0}}}
    house = box_building(name="Wrack House", length=12, width=8, bearing=0, height=5.6)
    told = work_sheet(sheet_plan(detailed(replace(house, details=own), years=1)))
    sizes = {row["what"]: dict(zip(told["size_heads"], row["cells"], strict=True)) for row in told["sizes"]}
    assert sizes["course above ground in snow, mm"] == {"S": "200", "W": "200", "N": "200", "E": "400"}


def test_the_register_asks_a_groove_of_a_door_on_the_closed_deck_alone():
    """By the words of the order: a metal sill over the cavity is for doors to a closed deck, a cover for every frame."""
    deck = {"deck_sill": "a metal sill"}
    cover = {"sill_cover": "a metal cover, its back up in a groove of the frame"}
    assert _groove(deck, door=True) == ", of a door on the closed deck a groove for its metal sill"
    assert _groove(deck, door=False) == ""
    assert _groove(cover, door=True) == _groove(cover, door=False) == ", groove for the metal cover"
    assert _groove({}, door=True) == ""


def test_a_step_names_the_sheets_of_the_elevations_it_is_told_for():
    cells = {"flat-roof": {"south": None, "north": SimpleNamespace(sheet=4)},
             "deck": {"south": SimpleNamespace(sheet=2), "north": None}}  # fmt: skip
    step = Step("Lay the tray.", drawn=("roof-at-wall", "flat-roof", "deck"))
    plan = SimpleNamespace(cells=cells)
    assert _drawn_on(plan, step, ["south", "north"]) == " Drawn on sheets 2 and 4."
    assert _drawn_on(plan, step, ["north"]) == " Drawn on sheet 4."


@pytest.mark.usefixtures("quick_rings")
def test_no_step_names_the_sheet_of_an_elevation_that_does_it_otherwise():
    """Held against the sheets on each elevation's own card of the phone."""
    told = box_building(name="Wrack House", length=12, width=8, bearing=52, height=5.6)
    plan = sheet_plan(detailed(replace(told, details={"sheathing": "open studs"}), years=2))
    phone = site_drawings(plan.details, plan)
    walls = {plan.codes[one.name]: one for one in plan.details.elevations}
    first, printed = next(iter(walls)), work_sheet(plan)
    steps = [(first, one["number"], one["text"]) for one in printed["steps"]]
    steps += [(one["codes"], one["step"], one["words"]) for one in printed["differ"]]
    named: dict[tuple[str, int], set[str]] = {}
    for codes, number, words in steps:
        said = re.search(r"Drawn on sheets? ([\d, and]+)\.$", re.sub("<[^>]+>", "", str(words)))
        for code in re.sub(r" \([^)]*\)", "", codes).split(", "):
            named[code, number] = (
                set(re.findall(r"\d+", said[1])) if said else named.get((first, number), set())
            )
    otherwise = 0
    for code, wall in walls.items():  # what the first tells holds where nothing else is told
        for step in wall.schedule.steps:
            named.setdefault((code, step.number), named.get((first, step.number), set()))
    for (code, number), sheets in named.items():
        (mine,) = [step for step in walls[code].schedule.steps if step.number == number]
        having = {
            name: set(re.findall(r"\d+", phone.drawn_on(wall.name, step)))
            for name, wall in walls.items()
            for step in wall.schedule.steps
            if (step.number, step.drawn) == (number, mine.drawn)
        }
        assert having[code] <= sheets <= set().union(*having.values()), (code, number)
        otherwise += bool(sheets) and len(having) < len(walls)
    assert otherwise > 3


def test_words_of_a_step_can_be_broken_beside_its_number_and_before_its_caution(printed_sheets):
    """The PDF writer otherwise breaks a line after its first word."""
    html = printed_sheets
    assert re.search(r'class="no">\d+</span> \w', html)
    assert not re.search(r'class="no">\d+</span>\w', html)
    assert "<b> Caution:</b> The pane" in html


def test_the_head_of_a_shared_sheet_names_every_class_on_it(house):
    plan = sheet_plan(house)
    one, other = (
        replace(house.elevations[0], exposure=replace(house.elevations[0].exposure, exposure_class=named))
        for named in ("moderate", "severe")
    )
    sheet = elevation_sheet(plan, replace(plan.fronts[0], elevations=(one, other)))
    assert str(sheet["head"]).endswith(": moderate and severe")
    assert sheet["tally"] == tally_sign("severe", size=11)


def test_an_elevations_sheet_draws_the_window_and_the_base_first_and_asks_ten_things_at_most(printed_sheets):
    for piece in sheets_of(printed_sheets).values():
        if 'class="sheet elevation' in piece:
            _, *columns = piece.split('<div class="column">')
            drawn = [re.findall('data-junction="([a-z-]+)"', column) for column in columns]
            assert drawn[0][0] == "sill"
            for column in drawn:  # the window and the base once each, what only some have below them
                first = [key in FIRST for key in column]
                assert first == sorted(first, reverse=True)
            assert sorted(key for column in drawn for key in column if key in FIRST) == sorted(FIRST)
            assert 5 <= piece.count('class="tick"') <= 10


@pytest.mark.usefixtures("quick_rings")
def test_the_register_has_a_line_for_every_opening_and_blanks_for_the_rest():
    listed = (
        Opening("south-west", 900, 1200, 3, rated=750.0),
        Opening("south-west", 1000, 2100, 1, door=True),
        Opening("north-east", 600, 900, 2),
    )
    building = box_building(name="Wrack House", length=12, width=8, bearing=142, height=5.6)
    assert {"south-west", "north-east"} <= {wall.name for wall in building.walls}
    decked = replace(
        building, details={"elevations": {"south-west": {"deck": "enclosed at the first floor"}}}
    )
    details = detailed(decked, years=2, openings=listed)
    register = next(p for p in sheets_of(sheet_html(details)).values() if 'class="sheet openings' in p)
    assert register.count('<tr class="given">') == 6  # by hand: 3 + 1 + 2
    assert register.count("900 × 1200") == 3
    assert register.count("door<br>1000 × 2100") == 1
    plan = sheet_plan(details)
    assert (
        register.count("on the closed deck? yes / no: if so Deck at a door") == 1
    )  # the list tells no deck of the one door there
    cells = re.findall(r'<tr class="given">(.*?)</tr>', register, re.DOTALL)
    dashes = [cell.count('<td class="ask">–</td>') for cell in cells]
    assert sorted(dashes) == [0, 1, 1, 1, 1, 1]  # the flooding of the deck is the door's
    # no door is drawn, sized or warned of on a wall whose list has none
    assert [name for name, cell in plan.cells["threshold"].items() if cell] == ["south-west"]
    told = json.loads(register_json(register_of(plan)))["openings"]
    window, door = (next(one for one in told if one["kind"] == kind) for kind in ("window", "door"))
    assert window["drawing"].startswith(
        "sill"
    )  # each is sent to its own drawing, and to the sheet that has it
    assert door["drawing"].startswith("threshold")
    assert window["sheet"] == plan.cells["sill"]["south-west"].sheet
    assert door["sheet"] == plan.cells["threshold"]["south-west"].sheet == plan.numbers["junctions"]
    assert [f">SW{number}<" in register for number in (1, 4, 5)] == [True, True, False]
    blank = re.findall(r'<tr class="blank"><th scope="row">([^<]*)</th>', register)
    assert blank.count("") >= 2
    assert len([code for code in blank if code]) == 2  # the two walls that the list says nothing of
    holds = {number for number, step in enumerate(details.elevations[0].schedule.steps, 1) if step.hold}
    heads = {int(number) for number in re.findall(r'<th scope="col">Step (\d+)</th>', register)}
    assert holds <= heads
    assert register.count("Who, when") == len(heads) * register.count("<tr class=") - sum(dashes)
    record = register.split("Record of the water check")[1]
    told = [one.water_check.first for one in details.elevations]
    checks = sum(one.water_check.openings for one in details.elevations)
    assert record.count("<tr><td></td>") == max(checks, 3), told  # a line for each check there is
    for column in ("Tray drains outside", "Next day"):  # what steps of the check have written down
        assert f">{column}<" in record
    without = detailed(building, years=2)
    register = next(p for p in sheets_of(sheet_html(without)).values() if 'class="sheet openings' in p)
    assert '<tr class="given">' not in register
    assert register.count('<tr class="blank">') >= 10
    told = json.loads(register_json(register_of(sheet_plan(without))))
    assert told["openings"] == []  # none are known; every wall stands there to be filled in
    assert {wall["name"] for wall in told["walls"]} == {wall.name for wall in building.walls}
    assert take_off_csv(without).count("not listed") >= 4


@pytest.mark.usefixtures("quick_rings")
def test_a_wall_whose_openings_nobody_listed_shows_its_groove_beside_the_class():
    """As the lines of the list do: behind a leaf at the boards every frame needs one; before boards none does."""
    building = box_building(name="Ash House", length=12, width=8, bearing=142, height=5.6)
    own = {
        "wall_type": "masonry veneer",
        "elevations": {"south-west": {"wall_type": "timber frame with cladding"}},
    }
    building = replace(building, details=own)
    walls = register_of(sheet_plan(detailed(building, years=2))).walls
    told = {wall.name: wall.asked for wall in walls}
    assert "groove" not in told.pop("south-west")
    assert told
    assert all(asked.endswith(", groove for the metal cover") for asked in told.values())


@pytest.mark.usefixtures("quick_rings")
def test_the_register_asks_nothing_at_a_step_that_an_opening_does_not_have():
    """A closed deck is flooded and the boards of its door are two steps: dashed for both windows, and for the door where there is no deck."""
    building = box_building(name="Wrack House", length=12, width=8, bearing=142, height=5.6)
    veneer = {
        "wall_type": "masonry veneer",
        "window_position": "over the cavity",
        "frame_type": "box frame with straps",
    }
    decked = {"south-west": {"deck": "enclosed at the first floor"}}
    listed = (
        Opening("south-west", 900, 1200, 1),
        Opening("south-west", 1000, 2100, 1, door=True),
        Opening("north-east", 1000, 2100, 1, door=True),
    )
    details = detailed(replace(building, details={**veneer, "elevations": decked}), years=2, openings=listed)
    register = next(p for p in sheets_of(sheet_html(details)).values() if 'class="sheet openings' in p)
    rows = re.findall(r'<tr class="given">(.*?)</tr>', register, re.DOTALL)
    dashed = {
        re.sub("<[^>]*>", "", row.split("</th>")[0]): row.count('<td class="ask">–</td>') for row in rows
    }
    assert dashed.keys() >= {"SW1", "SW2", "NE1"}, rows
    assert dashed["SW1"] == dashed["SW2"] + 3
    assert dashed["NE1"] >= 3
    asked = re.findall(r'<td class="ask">(.*?)</td>', register)
    assert max(len(word) for cell in asked for word in cell.split("<br>")) <= len("Result")  # eight columns


def test_a_part_of_another_form_is_told_in_place_of_the_drawn_one():
    """The closer at the top of a cavity, closed here and perhaps baffled there: the number is that of the drawing."""
    drawn, mine = (
        next(
            one
            for one in drawings_of([("north", ladder_numbers(level, WALLS[0], cav_depth=20))])[0]
            if one.section.key == "parapet-cap"
        )
        for level in (3, 2)
    )
    said = other_parts(drawn, mine)
    assert any(re.fullmatch(r"top of the cavity closed\b.* in place of \d+", one) for one in said), said


def test_a_part_that_lacks_what_the_drawn_one_has_besides_keeps_its_number():
    """At a corner the batten is the same one: at the hardest level alone it is sealed."""
    drawn, mine = (
        next(
            one
            for one in drawings_of([("north", ladder_numbers(level, WALLS[0], cav_depth=20))])[0]
            if one.section.key == "corner-outside"
        )
        for level in (4, 3)
    )
    number = next(number for number, layer in numbered_parts(drawn.section) if layer.key == "batten")
    assert f"{number} not sealed top to bottom" in other_parts(drawn, mine)


def test_a_corner_that_a_harder_wall_decides_keeps_the_size_and_level_of_its_own_wall(house, monkeypatch):
    """One cell never holds the cavity of one wall and the level of another; it names the sheet that has the corner."""
    own = own_drawings("corner-outside", sheet_plan(house).drawings)
    hardest = max(own, key=lambda name: own[name].level)
    mildest = min(own, key=lambda name: own[name].level)
    assert own[mildest].level < own[hardest].level
    monkeypatch.setattr(
        "exposure.paper.sheet_plan._never_by_their_own", lambda *_: {("corner-outside", mildest): hardest}
    )
    row = sheet_plan(house).cells["corner-outside"]
    assert (row[mildest].level, row[mildest].sheet) == (own[mildest].level, row[hardest].sheet)


def _drawn_high(name, high):
    """A drawing without words but its one-line title: by hand 13.6 of title, 5 of room, and 228 of 316 of its own height."""
    svg = f'<svg viewBox="0 0 316 {(high - 18.6) * 316 / 228}">'
    return {"svg": svg, "title": name, "parts": [], "notes": [], "own": [], "warnings": []}


def _named(columns):
    return [[one["title"] for one in column] for column in columns]


def test_the_tallest_drawing_stands_under_the_shortest():
    """By hand: 200, 120 and 160 head the columns; 150 goes under 120, 110 under 160 and 60 under 200: 270, 270, 260."""
    drawings = [
        _drawn_high(name, high) for name, high in zip("abcdef", (200, 120, 160, 60, 150, 110), strict=True)
    ]
    assert [printed_height(one) for one in drawings] == pytest.approx([200, 120, 160, 60, 150, 110])
    assert _named(in_columns(drawings)) == [["a", "d"], ["b", "e"], ["c", "f"]]
    alone = [_drawn_high(name, high) for name, high in zip("abcde", (100, 100, 100, 100, 250), strict=True)]
    assert _named(in_columns(alone)) == [["a", "b"], ["c", "d"], ["e"]]
    assert _named(in_columns(drawings[:2])) == [["a"], ["b"]]
    assert in_columns([]) == []


def test_a_page_holds_no_more_drawings_than_find_room_with_the_lines_under_them():
    """By hand on Letter, 264 mm or 997 px: about 107 over the drawings of one wall and 44 under them leave about 830."""
    column = [_drawn_high("a", 800)]
    assert page_holds(column, walls=1, ticked=(), framed=())
    assert not page_holds([_drawn_high("a", 860)], walls=1, ticked=(), framed=())
    assert not page_holds(column, walls=3, ticked=(), framed=())
    assert not page_holds(column, walls=1, ticked=["Lap it."] * 6, framed=())
    assert not page_holds(column, walls=1, ticked=(), framed=["Keep it."] * 3)


def test_what_finds_no_room_on_the_sheet_of_an_elevation_stands_on_the_shared_one(house, monkeypatch):
    full = sheet_plan(house)
    key = full.fronts[0].drawings[-1].section.key
    monkeypatch.setattr("exposure.paper.sheet_plan.page_holds", lambda drawings, **_: len(drawings) < 6)
    plan = sheet_plan(house)
    assert len(full.fronts[0].drawings) == 6
    for before, sheet in zip(full.fronts, plan.fronts, strict=True):
        assert sheet.drawings == before.drawings[:5]
    assert key in {one.section.key for one in plan.common}
    names = plan.fronts[0].names
    assert {plan.cells[key][name].sheet for name in names} == {plan.numbers["junctions"]}
    fifth = full.fronts[0].drawings[4].section.key
    monkeypatch.setattr(
        "exposure.paper.sheet_plan.page_holds", lambda drawings, **_: drawings[-1]["key"] != fifth
    )
    without = [one.section.key for one in sheet_plan(house).fronts[0].drawings]
    assert fifth not in without
    assert without[4] == key  # the next that finds room stands there


def test_a_wall_names_every_sheet_on_which_a_corner_of_it_stands():
    """By the orders of a veneer E is milder than S and than N, S the hardest: its corners are drawn on theirs, N's with S on S's."""
    asked = {"S": (80.0, 250.0), "N": (45.0, 100.0), "E": (10.0, 60.0)}
    key = "corner-outside"
    plan = SimpleNamespace(
        drawings=drawn_of(Circumstances(wall_type="masonry veneer"), asked, CORNER),
        cells={key: {name: Cell("", 0, at) for name, at in {"S": 2, "N": 3, "E": 2}.items()}},
        corners_at=lambda _: (("S", "E"), ("E", "N")),
        one_sided={},
        numbers={"junctions": 5},
    )
    assert {name: corner_sheets(key, plan, [name]) for name in "SNE"} == {"S": [2], "N": [3], "E": [2, 3]}
    assert corner_sheets(key, plan, "NE") == [2, 3]  # where both share a sheet
    plan.corners_at = lambda _: (("S", "N"), ("S", "E"))
    assert corner_sheets(key, plan, ["N"]) == [2, 3]
    plan.one_sided = {("S", "E"): OneSided("S", right=False)}
    assert corner_sheets(key, plan, ["S"]) == [2, 5]


def test_a_sheet_without_a_corner_says_on_which_sheets_its_corners_are_drawn():
    """E stands between S and N, both harder, and draws none; on a sheet that draws one, and where S ends it alone, as told by hand."""
    key = "corner-outside"
    corner = SimpleNamespace(section=SimpleNamespace(key=key))
    plan = SimpleNamespace(
        codes={"south": "S", "north": "N", "east": "E"},
        cells={key: {"south": Cell("", 0, 2), "north": Cell("", 0, 4), "east": Cell("", 0, 2)}},
        milder={(key, "east"): "south"},
        corners_at=lambda _: (("south", "east"), ("east", "north")),
        one_sided={},
    )
    east = SimpleNamespace(names=("east",), drawings=())
    assert corners_elsewhere(plan, east) == "Corners with S: sheet 2, with N: sheet 4."
    assert corners_elsewhere(plan, SimpleNamespace(names=("south",), drawings=(corner,))) == ""
    plan.cells[key]["north"] = Cell("", 0, 2)
    assert corners_elsewhere(plan, east) == "Corners with S and N: sheet 2."
    plan.corners_at = lambda _: (("south", "east"),)
    assert corners_elsewhere(plan, east) == "Corner with S: sheet 2."
    plan.cells.clear()  # walls of two leaves have no drawing of a corner
    assert corners_elsewhere(plan, east) == ""


def test_a_printed_sheet_without_a_corner_tells_under_its_drawings_where_its_corners_are(house, monkeypatch):
    own = own_drawings("corner-outside", sheet_plan(house).drawings)
    hardest, mildest = (pick(own, key=lambda name: own[name].level) for pick in (max, min))
    monkeypatch.setattr(
        "exposure.paper.sheet_plan._never_by_their_own", lambda *_: {("corner-outside", mildest): hardest}
    )
    plan, sheets = sheet_plan(house), sheets_of(sheet_html(house))
    for sheet in plan.fronts:
        columns = sheets[sheet.number].split('<div class="column">')[1:]
        told = [bool(re.search(r'<p class="own">Corners? with .*?: sheet', one)) for one in columns]
        assert sum(told) == (mildest in sheet.names)
        if any(told):
            heights = [column_height(one) for one in elevation_sheet(plan, sheet)["columns"]]
            assert heights[told.index(True)] == min(heights)


def test_no_level_reads_like_the_class_of_a_membrane(house, printed_sheets):
    """W1 is the tightest membrane: wetness and pressure stand by their names, each with its number alone."""
    table = re.search(r"<caption>Elevations, hardest.*?</table>", printed_sheets, re.DOTALL)[0]
    told = unescape(re.sub("<[^>]+>", " ", table)).replace("\u00a0", " ")
    assert "Wetness / pressure" in told
    assert not re.search(r"\b[WP] ?[1-4]\b", told)
    for one in house.elevations:
        wet, push = re.findall(r"(\d) of 4", level_words(one.schedule))
        assert f"<td>{wet}\u00a0/\u00a0{push}</td>" in table


@pytest.mark.usefixtures("quick_rings")
def test_the_first_sheet_and_the_phone_name_both_sheets_of_a_walls_corners():
    house = detailed(
        box_building(name="Leaf House", length=12, width=8, bearing=52, height=5.6),
        years=1,
        details=Circumstances(wall_type="masonry veneer"),
    )
    plan = sheet_plan(house)
    first, cards = sheets_of(sheet_html(house))[1], site_file_html(house)
    told = [corner_sheets("corner-outside", plan, sheet.names) for sheet in plan.fronts]
    assert max(map(len, told)) > 1
    row = re.search(r"<b>Outside corner</b>.*?</tr>", first, re.DOTALL)[0]
    cells = [re.findall(r'href="#sheet-(\d+)"', cell) for cell in row.split("<td>")[1:]]
    assert [sorted(map(int, cell)) for cell in cells] == told
    hardest, *others = (
        plan.codes
    )  # a wall without a corner of its own shows that of another, with its own sheets
    shown = site_drawings(
        house, replace(plan, milder={("corner-outside", name): hardest for name in others})
    ).sections
    for name in plan.codes:
        sheets = corner_sheets("corner-outside", plan, [name])
        assert shown[name]["corner-outside"]["sheets"] == sheets
        assert f"On paper: sheet{'s' * (len(sheets) > 1)} {', '.join(map(str, sheets))}." in cards


def test_a_wall_is_told_what_a_harder_neighbour_asks_at_their_corner(house):
    """Row 400 mm by the harder of two walls: both neighbours of the hardest wall turn that there, and 255 mm at their other corner."""
    plan = sheet_plan(house)
    [told] = merged_orders(plan, lambda line: line.key == "ocorner")
    plain = re.sub(r"<[^>]+>|\bO\b", " ", str(told["orders"][0])).replace("\u00a0", " ")
    assert re.search(
        r"SW: Run the harder wall(&#39;|')s tighter membrane at least +400 mm *, or its row(&#39;|')s, round",
        re.sub(" +", " ", plain),
    )
    assert "NW, SE: 255 mm At a corner with SW: 400 mm . NE: 255 mm" in re.sub(" +", " ", plain)


def test_the_table_of_sizes_has_the_height_of_each_walls_head_flap(house):
    """By hand for tapes of 225 and 150 mm over a flange: 220 and 145 mm up the wall, with 8 mm to fold and in tens 230 and 160 mm."""
    sizes = work_sheet(sheet_plan(house))["sizes"]
    [row] = [one for one in sizes if one["what"] == "cut of the head flap up, mm"]
    assert row["cells"] == ["230", "160", "160", "160"]


@pytest.mark.parametrize("style", ["sheet.css", "handover.css"])
def test_a_hidden_caption_runs_on_one_line(style):
    """In a box one pixel wide words break at every letter, and a copied or read page has them down a column."""
    css = files("exposure.paper").joinpath("templates", style).read_text("utf-8")
    (rule,) = [line for line in css.splitlines() if line.startswith(".silent{")]
    assert "white-space:nowrap" in rule


def test_no_caution_is_cut_between_two_pages():
    css = files("exposure.paper").joinpath("templates", "sheet.css").read_text("utf-8")
    (rule,) = [line for line in css.splitlines() if line.startswith(".boxed{")]
    assert "break-inside:avoid" in rule


@pytest.mark.usefixtures("quick_rings")
def test_the_register_is_the_same_as_data():
    listed = (Opening("south-west", 900, 1200, 2, rated=750.0), Opening("north-east", 600, 900, 1))
    building = box_building(name=HOSTILE, length=12, width=8, bearing=142, height=5.6)
    details = detailed(building, years=2, openings=listed)
    plan = sheet_plan(details)
    told = json.loads(register_json(register_of(plan)))
    assert [one["mark"] for one in told["openings"]] == ["SW1", "SW2", "NE1"]  # by hand
    assert [(one["width"], one["height"]) for one in told["openings"]] == [
        (900, 1200),
        (900, 1200),
        (600, 900),
    ]
    assert told["openings"][0]["offered"].startswith("750")
    assert told["openings"][2]["offered"] == ""  # nobody told: to ask, never taken for enough
    sheets = {name: sheet.number for sheet in plan.fronts for name in sheet.names}
    assert all(one["sheet"] == sheets[one["elevation"]] for one in told["openings"])
    for wall in told["walls"]:
        steps = details.of(wall["name"]).schedule.steps
        assert wall["points"] == [
            {"step": number, "words": step.hold, "door": step.door}
            for number, step in enumerate(steps, 1)
            if step.hold
        ]


def test_the_first_sheet_names_the_file_as_its_owner_did(house):
    index = house.assessment.index.assign_attrs(file="met <b>mast</b>.csv")
    named = replace(house, assessment=replace(house.assessment, index=index))
    first = sheets_of(sheet_html(named, made=MADE))[1]
    assert "file met &lt;b&gt;mast&lt;/b&gt;.csv: invented record (invented), 2001 to 2003" in first


def test_where_a_reader_finds_what_record_and_place_are(printed_sheets):
    first = Parts("<x " + sheets_of(printed_sheets)[1]).words
    for words in (
        "invented record (invented)",
        "2001 to 2003, 3 years count",
        "Quern Bay, 48.4",
        "version ",
        "None chosen",
    ):
        assert words in first, words


def test_the_foot_of_a_page_cannot_leave_its_string():
    told = style_string('a"};</style>\\')
    assert re.fullmatch(r'"(?:[A-Za-z0-9 ]|\\[0-9a-f]{6} )*"', told)


def test_no_source_says_twice_how_sure_it_is(house):
    sources = {line.source for one in house.elevations for line in one.schedule.lines}
    assert sources
    for source in sources:
        assert len(re.findall(r"our choice|second.hand|from memory", source)) <= 1, source


def test_every_sheet_says_invented_version_date_and_inputs(house, printed_sheets):
    html = printed_sheets
    sheets = html.split("<section")[1:]
    for number, sheet in enumerate(sheets, start=1):
        assert "Invented demo: do not build from it" in sheet
        assert f"{number} of {len(sheets)}" in sheet
        assert "25 November 2026" in sheet
        assert "inputs " in sheet
        assert "version " in sheet
    real = sheet_html(house, made=MADE, invented=False)
    assert "do not build from it" not in real.replace("made up", "")


def test_every_line_of_the_schedule_reaches_paper_with_its_mark(house, printed_sheets, phone_file):
    parts = Parts(annex_html(house, made=MADE))
    site = Parts(phone_file)
    sheets = re.sub(r"\s+", "", Parts(printed_sheets).words)
    flat, flat_site = (re.sub(r"\s+", "", one.words) for one in (parts, site))
    for one in house.elevations:
        for line in one.schedule.lines:
            order = re.sub(r"\s+", "", line.build)
            assert order in flat, order
            assert re.sub(r"\s+", "", line.source.split(" (")[0]) in flat
            if not line.key.startswith(CHECK_LINES):
                assert order in flat_site, order
    for line in house.elevations[0].schedule.lines:  # the others' orders differ behind their codes
        if not line.key.startswith("chk_"):
            assert re.sub(r"\s+", "", line.build) in sheets, line.key
    for mark in {standing_words(line.standing) for one in house.elevations for line in one.schedule.lines}:
        assert mark in parts.words


def test_another_size_stands_behind_the_codes_of_its_elevations(house, printed_sheets):
    shared = next(p for p in sheets_of(printed_sheets).values() if 'class="sheet junctions' in p)
    words = Parts("<x " + shared).words
    sizes = {
        one.name: next(line.value for line in one.schedule.lines if line.key == "end_dam")
        for one in house.elevations
    }
    assert len(set(sizes.values())) > 1
    for value in set(list(sizes.values())[1:]) - {sizes[house.elevations[0].name]}:
        assert re.search(rf"(?:NE|SE|NW|SW)[NESW, ]*: {value:g} mm", words), value


def test_cautions_and_doubts_reach_every_reader(house, printed_sheets, phone_file):
    for html in (printed_sheets, phone_file):
        words = Parts(html).words
        for caution in house.elevations[0].schedule.cautions:
            assert caution in words
        for flag in house.assessment.flags:
            assert flag.replace("L/m2", "L/m²").split(";")[0][:60] in words
    assert "indicative" in Parts(printed_sheets).words  # three years


@pytest.mark.usefixtures("quick_rings")
def test_an_order_that_differs_by_a_word_is_told_in_its_sentence(house, angle_house):
    """A word of the ladder's values alone, "clean and rolled" or "as drawn", tells nobody what to do."""
    keys = ("tape_prep", "reveal", "cav_top")
    told = 0
    for details in (house, angle_house):
        html = sheet_html(details)
        for one in details.elevations:
            for line in (line for line in one.schedule.lines if line.key in keys):
                assert not re.search(rf"</b> {re.escape(str(line.value))}[ ;]*<", html), line.value
                told += 1
    assert told


def test_a_sentence_of_cautions_is_printed_once():
    """Of two orders that warn of one thing, as at a level door in snow, the later says what is new alone."""
    lines = [
        SimpleNamespace(key=key, where=where, caution=caution)
        for key, where, caution in (
            ("a", "Sill tray", "Clear the snow. Roof it over."),
            ("b", "Sill tray", "Mind the step. Clear the snow."),
            ("c", "Window", "Roof it over."),
        )
    ]
    house = SimpleNamespace(
        elevations=[SimpleNamespace(name="S", schedule=SimpleNamespace(cautions=(), floor=(), lines=lines))]
    )
    said = line_cautions(SimpleNamespace(details=house, fronts=()))
    assert list(map(str, said)) == ["Sill tray: Clear the snow. Roof it over.", "Sill tray: Mind the step."]


def test_at_a_level_door_in_snow_the_caution_of_the_snow_is_one():
    """Both orders of the door say it in the same words, whichever a wall has."""
    mine = Circumstances(threshold="level at one door at least", snow_depth=400.0)
    other = Circumstances(threshold="not said", snow_depth=400.0)
    told = {
        sentence
        for one in (mine, other)
        for line in detail_schedule(exposure_of(45.0), pressure_of(150.0), one).lines
        for sentence in line.caution.split(". ")
        if "cannot stand above the snow" in sentence
    }
    assert len({one.removesuffix(".") for one in told}) == 1


@pytest.mark.usefixtures("quick_rings")
def test_the_first_sheet_counts_the_doubts_that_the_sheet_of_figures_numbers(house, angle_house):
    for details in (house, angle_house):
        plan = sheet_plan(details)
        sheets = sheets_of(sheet_html(details))
        first, figures = (Parts("<x " + sheets[number]).words for number in (1, plan.numbers["figures"]))
        listed = sheets[plan.numbers["figures"]].split("What to doubt", 1)[1]
        numbers = [int(found) for found in re.findall(r"<b>(\d+)</b>", listed)]
        assert numbers == list(range(1, len(numbers) + 1))
        assert f"What to doubt, by number: {len(numbers)} in all" in figures
        said = re.search(r"And (\d+) more, (\d+) to (\d+) on sheet (\d+)\.", first)
        assert [int(found) for found in said.groups()] == [
            len(numbers) - 2, 3, len(numbers), plan.numbers["figures"],
        ]  # fmt: skip
        doubts = re.search(r"Doubts\. (.*?) And \d+ more", first).group(1)
        for number, words in re.findall(r"<li><b>([12])</b> (.*?)</li>", listed):
            assert Parts(f"<x>{words}").words.strip() in doubts, number


def test_a_gust_of_the_house_is_told_from_that_of_the_elevation(house, printed_sheets):
    mine = window_order(mean=200.0, gust=641.0, house_gust=705.0)
    assert (
        window_words(mine).replace("\u00a0", " ") == "E750, gust 710 Pa on the hardest elevation; here 650 Pa"
    )
    assert window_words(window_order(mean=200.0, gust=705.0)).replace("\u00a0", " ") == "E750, gust 710 Pa"
    sheets = {n: Parts("<x " + piece).words for n, piece in sheets_of(printed_sheets).items()}
    plan = sheet_plan(house)
    for sheet in plan.fronts:
        for one in sheet.elevations:
            own = pascals(one.window.own_pressure).replace("\u00a0", " ")
            assert f"in a gust from any side {own}," in sheets[plan.numbers["figures"]]
            assert window_words(one.window).replace("\u00a0", " ") in sheets[sheet.number]


def test_printed_factors_of_an_elevation_multiply_back(house, printed_sheets):
    sheet = next(p for p in sheets_of(printed_sheets).values() if 'class="sheet figures' in p)
    rows = re.findall(r'<tr class="chain">.*?</tr>', sheet, re.DOTALL)
    assert len(rows) == 2 * len(house.elevations)
    for row in rows:
        factors = [float(text) for text in re.findall(r"× ([\d.]+)", row)]
        assert len(factors) == 4
        start = float(re.search(r'<td class="num">([\d,.]+)</td>', row).group(1).replace(",", ""))
        answer = re.search(r"<b>([\d,]+|under 1)</b>", row).group(1)
        product = start * np.prod(factors)
        if answer == "under 1":
            assert 0 < product < 1
            continue
        step = 10 if product >= 999.5 else 1
        assert step * np.floor(product / step + 0.5) == float(answer.replace(",", ""))


@pytest.mark.usefixtures("quick_rings")
def test_one_factor_has_one_number_of_digits(angle_house):
    chains = figure_sheet(sheet_plan(angle_house))["chains"]
    told = {}
    for chain, one in zip(chains, angle_house.elevations, strict=True):
        for place, (words, factor) in enumerate(zip(chain["factors"], one.exposure.factors, strict=True)):
            told.setdefault((place, round(factor.value, 9)), set()).add(words)
    assert len(told) < 4 * len(chains)  # some are shared
    assert all(len(words) == 1 for words in told.values())
    for place in range(4):  # and the annex has the same, in its list as in its picture
        digits = {words.removeprefix("× ") for (at, _), (words,) in told.items() if at == place}
        part = factor_part(angle_house, region=None)["elevations"]
        assert {one["factors"][place]["value"] for one in part} == digits
        assert all(f"× {one['factors'][place]['value']}" in str(one["chain"]) for one in part)


def test_why_a_level_was_raised_adds_up():
    """By hand: sheltered is 1, a rule takes it to 2, one cause raises it to 3; and nothing is raised above 4."""
    three = SimpleNamespace(
        raised=("a lift is needed",), taken_to="taken to level 2 by Canada", wetness_level=3, pressure_level=2,
        specific_design=None, axes="wetness 3 of 4, pressure 2 of 4",
    )  # fmt: skip
    # sheet, front page, phone and print view all say the level by these words
    assert (
        level_words(three) == "Build to wetness 3 of 4, pressure 2 of 4. Wetness taken to level 2 by Canada."
    )
    assert raised_words(three) == ["Raised one level because a lift is needed."]
    four = SimpleNamespace(raised=("a lift is needed",), taken_to="", wetness_level=4, pressure_level=2)
    assert raised_words(four) == ["Raised one level, never above 4, because a lift is needed."]
    canada = detail_schedule(
        exposure_of(10.0), pressure_of(50.0),
        Circumstances(local_rules=("canada",), rule_answers={"canada": {"degree_days": 4800, "moisture_index": 1.2}}),
    )  # fmt: skip
    assert canada.taken_to.startswith("taken to level 2 by Canada")
    assert level_words(canada).endswith(f" Wetness {canada.taken_to}.")


@pytest.mark.usefixtures("quick_rings")
def test_the_inputs_mark_follows_the_inputs(house):
    first = re.search(r"inputs ([0-9a-f]{4}-[0-9a-f]{4})", sheet_html(house)).group(1)
    wider = detailed(box_building(name="Wrack House", length=12, width=8.1, bearing=52, height=5.6))
    second = re.search(r"inputs ([0-9a-f]{4}-[0-9a-f]{4})", sheet_html(wider)).group(1)
    assert first != second
    assert f'data-inputs="{first}"' in site_file_html(house)


def test_a_stopped_elevation_says_so_before_anything_to_build(house):
    one = house.elevations[0]
    stop = "The pressure is above the ladder."
    schedule = replace(one.schedule, specific_design=stop, floor=one.schedule.lines, steps=())
    stopped = replace(house, elevations=(replace(one, schedule=schedule), *house.elevations[1:]))
    sheet = sheets_of(sheet_html(stopped))[2]
    assert sheet.index(stop) < sheet.index("Floor for the designer, not to build from")
    assert "Check each before it is covered" not in sheet
    assert 'class="draw"' not in sheet  # nothing is drawn to build from
    site = site_file_html(stopped)
    assert site.index(stop) < site.index("Least a designer starts from")
    assert '<ul class="trio">' not in site.split('id="e1"')[0]


@pytest.mark.usefixtures("quick_rings")
def test_a_house_that_is_stopped_on_every_elevation_is_printed_all_the_same():
    block = box_building(name="Tern Block", length=26, width=12.5, bearing=100, height=9.6)
    stopped = detailed(
        block,
        details=Circumstances(wall_type="rendered board", storeys=3),
        openings=[Opening("south", 900, 1200, 2)],
    )
    assert all("3 storeys without a break" in one.schedule.specific_design for one in stopped.elevations)
    sheets = sheets_of(sheet_html(stopped))
    assert "cannot be built together" not in sheets[1]  # nothing is set to be built
    site = site_file_html(stopped)
    assert site.count("Least a designer starts from") >= len(stopped.elevations)


def test_map_of_the_region_stands_in_the_annex(house):
    lat, lon = np.linspace(48.0, 48.8, 9), np.linspace(-30.2, -29.2, 11)
    values = 100.0 + 300.0 * (lon[None, :] - lon[0]) / (lon[-1] - lon[0]) + 0 * lat[:, None]
    region = RegionField(lat, lon, values, places=[(HOSTILE, 48.3, -29.9)])
    html = annex_html(house, region=region)
    check_harmless(html, scripts=0)
    map_svg = re.search(r'<svg[^>]*aria-labelledby="b-map-title.*?</svg>', html, re.DOTALL).group(0)
    # by hand: 100 to 400 in steps of 50; the line of 250 runs up the middle of the field
    assert {"150", "200", "250", "300", "350"} <= set(re.findall(r">(\d+)</text>", map_svg))
    width = float(re.search(r'width="([\d.]+)"', map_svg).group(1))
    lines = [
        [float(x) for x, _ in re.findall(r"([\d.]+) ([\d.]+)", data)]
        for data in re.findall(r'<path d="([^"]+)" fill="none" stroke="#1B2228" stroke-width="0.9"', map_svg)
    ]
    middle = [xs for xs in lines if max(xs) - min(xs) < 1 and abs(np.mean(xs) - width / 2) < 1]
    assert len(middle) == 1


def test_a_region_of_one_cell_is_refused(house):
    with pytest.raises(RefusalError, match="two by two"):
        annex_html(house, region=RegionField(np.array([48.0]), np.array([0.0]), np.array([[1.0]])))


def test_files_are_moved_into_place_whole(house, tmp_path):
    sheet = write_text(tmp_path / "sheet.html", sheet_html(house, made=MADE))
    site = write_site_file(house, tmp_path / "site.html", made=MADE)
    assert sheet.read_text("utf-8") == sheet_html(house, made=MADE)
    assert site.read_text("utf-8") == site_file_html(house, made=MADE)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["sheet.html", "site.html"]
    with pytest.raises(RefusalError, match="cannot be written"):
        write_text(tmp_path / "nowhere" / "sheet.html", "words")


# ------------------------------------------------------------------ PDF


def test_pdf_fetches_nothing(tmp_path):
    pytest.importorskip("weasyprint")
    secret = tmp_path / "secret.svg"
    secret.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"><rect width="9" height="9"/></svg>'
    )
    with_it = sheet_pdf(f'<p>x</p><img src="{secret.as_uri()}">')
    without = sheet_pdf('<p>x</p><img src="nothing:">')
    assert abs(len(with_it) - len(without)) < 40


def test_rounded_shares_are_told_as_such():
    """By hand: 957 and 43 of 1,000 drawn are 95.7 and 4.3 of 100; 950 and 50 are 95 and 5 and need no word; all are all."""

    def told(*shares):
        walls = [
            SimpleNamespace(wall=SimpleNamespace(name=name), worst_share=share)
            for name, share in zip("sw", shares, strict=False)
        ]
        assessment = SimpleNamespace(elevations=walls, alike=lambda one: [one])
        return _rank(
            SimpleNamespace(details=SimpleNamespace(assessment=assessment), codes={"s": "S", "w": "W"})
        ).partition(": ")[2]

    assert told(0.957, 0.043).startswith("S in about 96 of 100, W in about 4 of 100. ")
    assert told(0.955, 0.045).startswith("S in about 96 of 100, W in about 5 of 100. ")
    assert told(0.95, 0.05).startswith("S in 95 of 100, W in 5 of 100. ")
    assert told(1.0, 0.0).startswith("S in 100 of 100. ")


def test_a_line_takes_as_many_words_as_it_has_room_for():
    """A wider line never ends at an earlier word, whatever is set apart behind its words."""
    pytest.importorskip("weasyprint")
    pdfium = pytest.importorskip("pypdfium2")
    words = "Fold up both ends of the tray at least <b>50\u00a0mm</b>, sealed at the corners. <span>W</span> <b>W:</b> 45"
    style = "@page{size:SIZEpx 200px;margin:10px}body{margin:0;font:12px sans-serif}"
    counts = []
    for wide in range(380, 480):
        html = f"<style>{style.replace('SIZE', str(wide))}</style><div>{words}</div>"
        page = pdfium.PdfDocument(sheet_pdf(html))[0].get_textpage()
        counts.append(len(page.get_text_range().splitlines()[0].split()))
    assert len(set(counts)) > 3
    assert counts == sorted(counts)


def test_without_the_writer_the_cure_is_told(monkeypatch):
    import sys

    monkeypatch.setitem(sys.modules, "weasyprint", None)
    with pytest.raises(RefusalError, match="print the HTML sheet from a browser"):
        sheet_pdf("<p>x</p>")


# ------------------------------------------------------------------ the builder's file


def test_the_builders_file_stands_in_the_order_of_need(phone_file):
    html = phone_file
    order = [
        "Wrack House, Quern Bay", "Saved 25 November 2026", "do not build from it", "Worst elevation", 'class="trio"',
        "Openings", "Do in this order", "Then check each place", '<div class="boxed" role="note"><span class="word">Caution',
        "Where you are", "The other elevations", "Wrap standing bare?", "Site water check", "Why these figures",
        "What to doubt", "Who says so",
    ]  # fmt: skip
    body = html[html.index("<body>") :]
    places = [body.index(words) for words in order]
    assert places == sorted(places)


def test_the_builders_file_has_photos_and_smoke_with_the_water_check(house, phone_file):
    """Each elevation's own orders, in its own check; one that asks no smoke search has none."""
    site = phone_file
    checks = re.findall(r"<summary>Site water check</summary>.*?</dl>", site, re.DOTALL)
    assert len(checks) == len(house.elevations)
    for check, one in zip(checks, house.assessment.elevations, strict=True):
        words = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", check).replace("&#39;", "'"))
        mine = next(each for each in house.elevations if each.name == one.wall.name).schedule
        told = {line.key: line.build for line in mine.lines if line.key in ("chk_type", "smoke", "photo")}
        assert {"chk_type", "photo"} <= told.keys()
        for order in told.values():
            assert " ".join(order.split()) in words
        assert ("run smoke along" in words) == ("smoke" in told)


@pytest.mark.usefixtures("quick_rings")
def test_codes_on_the_plan_stand_beside_the_names_in_the_list(angle_house):
    from exposure.draw.assessment_pictures import codes_of

    details = angle_house
    # by the names: plain ones keep the plain letters, whichever is hit hardest
    wanted = {
        "south": "S",
        "east": "E",
        "north, inner": "N-i",
        "east, inner": "E-i",
        "north": "N",
        "west": "W",
    }
    assert codes_of(details.assessment) == wanted
    site = site_file_html(details)
    rows = dict(re.findall(r'<span class="code">([^<]+)</span><span class="n"><bdi>([^<]+)</bdi>', site))
    assert rows == {code: name for name, code in wanted.items() if name != details.assessment.worst.wall.name}
    plan = re.search(r'<svg[^>]*aria-labelledby="site-plan-title.*?</svg>', site, re.DOTALL).group(0)
    on_plan = set(re.findall(r">([NESW]+(?:-[a-z])?) [\d,]+<", plan))
    assert on_plan == set(wanted.values())
    assert f"{wanted[details.assessment.worst.wall.name]} on the plan" in site
    front = sheet_html(details)
    for name, code in wanted.items():
        assert f'<th scope="row">{code} <bdi>{name}</bdi>' in front


def test_the_builders_file_is_small_and_lets_only_its_own_script_through(phone_file):
    html = phone_file
    assert len(html.encode()) < 900_000
    policy = re.search(r'http-equiv="Content-Security-Policy" content="([^"]+)"', html).group(1)
    assert policy.startswith("default-src 'none'")
    assert "unsafe" not in policy
    for tag, rule in (("script", "script-src"), ("style", "style-src")):
        (inside,) = re.findall(rf"<{tag}>(.*?)</{tag}>", html, re.DOTALL)
        digest = base64.b64encode(hashlib.sha256(inside.encode()).digest()).decode()
        assert f"{rule} 'sha256-{digest}'" in policy
    assert " style=" not in html
    assert "http" not in re.sub(r"http-equiv|http://www.w3.org/2000/svg", "", html)


def test_every_box_has_its_own_name_and_label(phone_file):
    html = phone_file
    boxes = re.findall(r'<input type="checkbox" id="([^"]+)"', html)
    labels = re.findall(r'<label[^>]* for="([^"]+)"', html)
    assert len(boxes) == len(set(boxes)) > 40
    assert boxes == labels
    ids = re.findall(r'\bid="([^"]+)"', html)
    assert len(ids) == len(set(ids))


def test_sheet_ids_are_unique(printed_sheets):
    ids = re.findall(r'\bid="([^"]+)"', printed_sheets)
    assert len(ids) == len(set(ids))


def flat(words):
    """Words without tags and without any space."""
    return re.sub(r"<.*?>|\s", "", str(words))


def _with_schedules(house, *changes):
    """The house with changes to the schedule of its first elevations."""
    changed = [
        replace(one, schedule=replace(one.schedule, **change))
        for one, change in zip(house.elevations, changes, strict=False)
    ]
    return sheet_plan(replace(house, elevations=(*changed, *house.elevations[len(changed) :])))


def test_a_rule_that_holds_for_several_walls_is_said_once_with_what_differs_by_wall(house):
    def says(points, *taken):
        return {"rules": (RuleResult("Rule of Nowhere", "Cladding ends 35 mm up.", f"points {points}", "a book", "read", taken=taken),)}  # fmt: skip

    plan = _with_schedules(house, says(4, "It asks 20 mm."), says(3), says(4, "It asks 20 mm."), says(4))
    a, b, c, d = (plan.codes[one.name] for one in house.elevations)
    (told,) = rules_once(plan)
    assert flat(told["result"]) == flat(f"Cladding ends 35 mm up. {a}, {c}: It asks 20 mm.")
    assert str(told["figures"]) == f"<b>{a}, {c}, {d}:</b> points 4; <b>{b}:</b> points 3"


def test_that_the_wind_seldom_stands_square_is_one_doubt_with_the_numbers_of_each_wall(house):
    def seldom(place, facing):
        name = house.elevations[place].name
        told = doubt("detail.wind_seldom_square", name, facing=facing, used="200 Pa", any_direction="350 Pa")
        return {"flags": (told,)}

    plan = _with_schedules(
        house, seldom(0, "100 Pa"), seldom(1, "40 Pa"), seldom(2, "100 Pa"), seldom(3, "40 Pa")
    )
    (one,) = (words for words in map(str, all_doubts(plan).shared) if "seldom stands square" in words)
    assert not any("seldom" in words for mine in all_doubts(plan).own.values() for words in mine)
    _, b, c, d = (plan.codes[one.name] for one in house.elevations)
    assert f"the {house.elevations[0].name} elevation in heavy rain (100" in one
    assert flat(one).endswith(
        flat(f"Likewise {c}; {b}, {d} (40 Pa, so 200 Pa is used; any direction 350 Pa).")
    )


def test_an_order_ticked_on_every_sheet_is_not_told_again(house, printed_sheets):
    """By the rule: what each elevation's own sheet asks to tick stands there alone, everything else behind them."""
    plan = sheet_plan(house)
    flat = {
        number: re.sub(r"\s+", "", Parts("<x " + piece).words)
        for number, piece in sheets_of(printed_sheets).items()
    }
    shared = flat[plan.numbers["junctions"]]
    held = [{line.key: line for line in sheet.elevations[0].schedule.lines} for sheet in plan.fronts]
    everywhere = set.intersection(*map(set, held))
    once = {
        key
        for key in everywhere
        if all(
            re.sub(r"\s+", "", lines[key].build) in flat[sheet.number]
            for sheet, lines in zip(plan.fronts, held, strict=True)
        )
    }
    assert len(once) >= 5
    for key in everywhere:
        if not key.startswith(CHECK_LINES):
            assert (re.sub(r"\s+", "", held[0][key].build) in shared) != (key in once), key


def test_a_size_that_an_elevation_is_not_asked_is_told_under_the_drawing_that_has_it():
    """A deck whose cladding no row stops and whose fall no row asks: the drawing of the other wall shows 75 mm and 2.5 %."""
    whole, deck = ladder_numbers(4, WALLS[0]), next(one for one in JUNCTIONS if one.key == "deck")
    less = {key: value for key, value in whole.values.items() if key not in ("roof_gap", "deck_fall")}
    drawings, _ = drawings_of([("a", whole), ("b", replace(whole, values=less))], [deck])
    drawn, mine = (next(one for one in drawings if name in one.elevations) for name in "ab")
    assert {one.key for one in drawn.section.dimensions} >= {"roof_gap", "deck_fall"}
    assert sorted(other_sizes(drawn, mine)) == ["no fall asked", "no gap asked"]


def test_a_size_told_under_a_shared_drawing_stands_there_by_the_same_word():
    """Over all junctions and walls: read from the picture as it is printed, level 4 drawn and the lower ones told."""
    told = 0
    for wall in WALLS:
        drawings, _ = drawings_of([(f"{level}", ladder_numbers(level, wall)) for level in (4, 3, 2, 1)])
        for drawn in (one for one in drawings if "4" in one.elevations):
            others = [one for one in drawings if one.section.key == drawn.section.key and one is not drawn]
            words = [size for other in others for size in other_sizes(drawn, other)]
            if not words:
                continue
            # the sizes alone: that rings leave room for each of them is held for every section elsewhere
            picture, _ = bare_junction(drawn.section, width=DRAWN_WIDE, tallest=SHARED_TALL, rings=False)
            tree = ET.fromstring(picture)
            shown = {
                re.sub(r"[\d.,°%\s]+$", "", "".join(one.itertext()))
                for one in tree.iter()
                if one.tag.endswith("}text")
            }
            for size in words:
                word = re.match(r"(?:no )?([a-z -]+?)(?: [\d.,]|$)", size)[1]
                assert word in shown or "not in the drawing" in size, (wall, drawn.section.key, size, shown)
                told += word in shown
    assert told > 100
