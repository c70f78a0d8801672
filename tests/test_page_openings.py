"""Openings, rules of an office and the window offered, on the page: what the terminal says, and nothing that can hurt.

Expected figures come from the calls the terminal makes, from sums by hand, and from the published classes of
EN 12208 (from memory, not checked).
"""

import csv
import io
from dataclasses import replace
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest
from test_page import ROOT, html, page, words

from exposure.assess.details import detail_building
from exposure.assess.from_files import assess_file
from exposure.assess.openings import check_openings, opening_orders, openings_csv
from exposure.assess.prices import read_prices
from exposure.checks import RefusalError
from exposure.detail.openings import Opening, read_openings
from exposure.detail.rule_file import read_rule_text
from exposure.detail.window_class import rating_of
from exposure.export.details_files import details_json
from exposure.figures import number, pascals
from exposure.invented import climate_at, invented_place
from exposure.page.choices.answer import find_answer, find_details
from exposure.page.choices.own_files import (
    LARGEST,
    OPENINGS,
    PRICES,
    RULE,
    check_size,
    on_walls,
    openings_in_use,
    openings_of,
    read_own,
    rule_of,
)
from exposure.page.choices.own_inputs import answer_name, own_inputs, rule_answers
from exposure.page.choices.state import PageState
from exposure.page.forms.openings_form import openings_text
from exposure.wall import Wall

EXAMPLE = Path(__file__).parents[1] / "exposure" / "invented" / "example"
LIST = (EXAMPLE / "openings.csv").read_bytes()
OFFICE = (EXAMPLE / "office_rule.toml").read_bytes()
HOSTILE = '"><script>alert(1)</script><img src=x onerror=alert(2)>'
HEAD = "elevation,width,height,count,rated\n"


@pytest.fixture(scope="module")
def house():
    place = invented_place(progress=False)
    kept = {}

    def climate(site):
        kept["climate"] = climate_at(place, site.latitude, site.longitude)
        return kept["climate"]

    assessment, surveyed = assess_file(
        place.houses,
        climate,
        name="Wrack House",
        ground=place.height,
        cover=place.cover,
        neighbours=place.houses,
    )
    return assessment, surveyed, kept["climate"]


@pytest.fixture(scope="module")
def details(house):
    assessment, _, climate = house
    return detail_building(assessment, climate, openings=read_openings(LIST.decode()))


def test_each_opening_is_ordered_by_the_hardest_wall_of_the_house(details):
    orders = opening_orders(details, read_openings(LIST.decode()), rating=300.0)
    by_name = {one.name: one for one in details.elevations}
    assert [one.opening.elevation for one in orders] == [
        "south-west", "south-west", "north-west", "south-east", "north-east",
    ]  # fmt: skip
    for one in orders:
        window = by_name[one.opening.elevation].window
        assert (one.gust, one.mean) == (window.pressure, window.mean_pressure)
        assert one.to_order == window.to_order
        assert one.does == (one.gust <= 300.0)
        assert (one.verdict == "does") == one.does
    assert len({one.to_order for one in orders}) == 1
    assert orders[0].gust == max(one.pressure.any_direction_gust for one in details.elevations)
    # wind from any side comes over the hardest ground to every wall: walls of one height ask one class
    assert {one.window.own_class for one in details.elevations} == {orders[0].to_order}


def test_a_rating_of_the_line_stands_before_the_window_looked_at(details):
    mine = [replace(one, rated=600.0) for one in read_openings(LIST.decode())[:1]]
    assert opening_orders(details, mine, rating=10.0)[0].does
    assert opening_orders(details, mine[:1])[0].rated == 600.0
    assert opening_orders(details, read_openings(LIST.decode()))[0].does is None


@pytest.mark.parametrize(
    ("rated", "does", "verdict"),
    # a gust of 400 Pa and an hourly mean of 170 Pa
    [
        (None, None, "rating not known"),
        (400.0, True, "does"),
        (399.9, False, "not for the gust"),
        (170.0, False, "not for the gust"),
        (169.9, False, "not even for the hourly mean"),
        (0.0, False, "not even for the hourly mean"),
    ],
)
def test_an_offer_is_held_against_gust_and_mean(details, rated, does, verdict):
    one = opening_orders(details, [Opening("south-west", 900, 1200, 2, door=True)])[0]
    one = replace(one, gust=400.0, mean=170.0, rated=rated)
    assert (one.does, one.verdict, one.kind) == (does, verdict, "door")
    head, cells = csv.DictReader(io.StringIO(openings_csv([one]))), None
    for cells in head:
        assert (cells["width mm"], cells["height mm"], cells["count"]) == ("900", "1200", "2")
        assert (cells["gust Pa"], cells["hourly mean Pa"], cells["offer does"]) == ("400", "170", verdict)
        assert cells["offered, rated Pa"] == ("" if rated is None else f"{rated:g}")
        assert cells["never below"] == (one.never_below or "")
    assert cells is not None


def test_openings_fill_a_wall_and_no_more():
    wall, other = (Wall(name=name, orientation=0, length=6.0, height=2.0) for name in ("a", "b"))
    whole = Opening("a", 6000, 2000)
    check_openings([whole, Opening("b", 3000, 2000, 2)], [wall, other])
    for holes in (
        [Opening("a", 6001, 100)],
        [Opening("a", 100, 2001)],
        [Opening("a", 3000, 2000), Opening("a", 3000, 2000), Opening("a", 100, 100)],
        [Opening("a", 3000, 2000, 3)],
    ):
        with pytest.raises(RefusalError):
            check_openings(holes, [wall, other])


def test_what_openings_take_by_hand_and_as_the_difference_they_make(house, details):
    """Trays by hand: 3 windows of 900 mm and 1 door of 1000 mm with their two ends, 5 % waste. The rest: a house
    with its openings less the same house without any.
    """
    assessment, _, climate = house
    orders = opening_orders(details, read_openings(LIST.decode()))
    worst = details.of("south-west")
    dam = next(float(line.value) for line in worst.schedule.lines if line.key == "end_dam")
    mine = [one for one in orders if one.opening.elevation == "south-west"]
    assert sum(one.amounts.sill_tray for one in mine) == pytest.approx(
        (3 * (900 + 2 * dam) + (1000 + 2 * dam)) / 1000 * 1.05
    )
    bare = detail_building(assessment, climate).of("south-west").take_off
    assert sum(one.amounts.tape for one in mine) == pytest.approx(worst.take_off.tape - bare.tape)
    assert sum(one.amounts.head_flashing for one in mine) == pytest.approx(worst.take_off.head_flashing)
    pieces = sum(one.amounts.corner_pieces for one in mine)
    assert pieces == worst.take_off.corner_pieces == 0  # rigid trays, with ends of their own


def test_no_cell_of_the_table_starts_a_formula(details):
    evil = [replace(one, elevation="south-west") for one in read_openings(LIST.decode())]
    orders = opening_orders(details, evil)
    orders = [replace(one, opening=replace(one.opening, elevation='=HYPERLINK("x")')) for one in orders]
    rows = list(csv.reader(io.StringIO(openings_csv(orders))))
    assert len(rows) == 1 + len(orders)
    assert not any(cell.startswith(("=", "+", "-", "@")) for row in rows for cell in row)


@pytest.mark.parametrize(
    ("text", "pressure"),
    [("1", 0), ("2", 50), ("7a", 300), ("9", 600), ("E750", 750), ("E900", 900), ("300 Pa", 300), ("0", 0)],
)
def test_a_rating_is_read_as_pascals_or_as_a_class(text, pressure):
    assert rating_of(text) == pressure


@pytest.mark.parametrize("text", ["", "x", "-5", "E700", "7C", "1e9", "6000", "٣00", "nan", "=1+1"])
def test_a_rating_that_is_none_is_refused(text):
    with pytest.raises(RefusalError):
        rating_of(text)


@pytest.mark.parametrize(
    ("content", "came"),
    [
        (b"elevation,width,height\n" + b"north,900,1200\n" * 400, "400 lines"),
        (b"x" * (LARGEST[OPENINGS] + 1), "bytes"),
        ("elevation,width,height\nnörd,900,1200\n".encode("latin-1"), "no UTF-8"),
        ("elevation,width,height\nnorth,900,1200\n".encode("utf-16"), "no UTF-8"),
        (b"elevation,width,height\n", "0 lines"),
        (b"\x00\x01\x02", "columns"),
        (b"PK\x03\x04\x00", "columns"),
        (b"elevation,width,height,rated\nnorth,900,1200,strong\n", "rated on line 2"),
        (b"elevation,width,height,count\nnorth,900,1200,1e9\n", "count"),
        (b"<html><script>alert(1)</script>", "columns"),
    ],
)
def test_a_list_that_is_none_is_refused_in_three_parts(content, came):
    with pytest.raises(RefusalError) as refused:
        read_own(OPENINGS, content, "list.csv")
    assert came in refused.value.came
    assert refused.value.expected
    assert refused.value.cure


def test_the_size_is_refused_before_the_file_is_read():
    with pytest.raises(RefusalError, match="10,000,000 bytes"):
        check_size(OPENINGS, 10_000_000)


def test_a_list_with_semicolons_and_capitals_is_a_list(house):
    walls = house[0].building.walls
    text = "Elevation;Width;Height;Count\nSouth-West;900;1200;2\n"
    own = read_own(OPENINGS, text.encode(), "x.csv")
    assert openings_of(own.text) == (Opening("South-West", 900, 1200, 2),)
    check_openings(on_walls(openings_of(own.text), walls), walls)


@pytest.mark.parametrize(
    "opening",
    [
        Opening("attic", 900, 1200),
        Opening("south-west", 19_000, 1200),
        Opening("south-west", 900, 6000),
        Opening("south-west", 3000, 3000, 400),
    ],
)
def test_openings_that_do_not_stand_on_the_building_are_refused(house, opening):
    with pytest.raises(RefusalError):
        check_openings([opening], house[0].building.walls)


def test_what_is_typed_is_read_as_it_was_meant():
    lines = [Opening("north", 900.0, 1200.0, 3, rated=450.0), Opening('a,"b', 1000.5, 2100.0, 1, door=True)]
    assert list(read_openings(openings_text(lines))) == lines


# --- the page


def own_page(query: dict[str, str], *files):
    """The page at an address, in a session that holds ``files``."""
    app = AppTest.from_file(str(ROOT / "app.py"), default_timeout=200)
    for name, value in query.items():
        app.query_params[name] = value
    app.session_state["own-files"] = {one.mark: one for one in files}
    return app.run()


def test_the_page_counts_the_list_and_says_whether_the_window_does(details):
    own = read_own(OPENINGS, LIST, "mine.csv")
    app = own_page({"o": own.mark, "rated": "300", "part": "windows"}, own)
    assert not app.exception
    said = words(app)
    assert "Openings of the list mine.csv" in said
    assert "Offered: 300 Pa, class 7" in said
    total = details.total
    assert f"All {total.openings} " in said
    for item, amount, decimals in (
        ("membrane", total.membrane, 0),
        ("tape", total.tape, 0),
        ("sill tray", total.sill_tray, 1),
    ):
        parts = total.by_kind[item]
        assert sum(parts.values()) == pytest.approx(amount)
        assert len(parts) > 1
        for kind, much in parts.items():
            assert f"{much:,.{decimals}f} {kind}" in said
    # the page puts the house by its rounded address, so its ground may differ a little from the file's
    for one in find_details(find_answer(PageState())).elevations:
        gust, mean = (
            pascals(value).replace("\u00a0", " ") for value in (one.window.pressure, one.window.mean_pressure)
        )
        does = "it does" if one.window.pressure <= 300 else "does not hold the gust"
        row = f"{one.name} {one.window.to_order} {one.window.never_below} {gust} {mean} {does}"
        assert row in said


def test_a_list_the_session_does_not_hold_is_missed_in_plain_sight():
    said = words(page(o="openings-0123456789ab"))
    assert "that this session does not hold" in said
    assert "Open it again, open the project file that holds it, or leave it out." in said
    assert "South-west is worst" in said  # the rest is answered


def test_what_is_not_counted_is_told_in_every_file(house, details):
    own = own_inputs(PageState(openings="openings-0123456789ab"), house[0].building)
    told = own.told_in(details)
    assert own.openings == ()
    assert told.flags[0].startswith("The openings list is not counted: the address names an openings list")
    assert told.flags[1:] == details.flags
    assert "The openings list is not counted" in details_json(told)


def test_a_list_of_another_building_is_not_counted_and_told(house):
    own = read_own(OPENINGS, (HEAD + "attic,900,1200,1,\n").encode(), "x.csv")
    said = words(own_page({"o": own.mark}, own))
    assert "an opening on an elevation called 'attic'" in said


def test_an_office_rule_missing_stops_the_schedule_not_the_page(house):
    said = words(page(r="rule-0123456789ab"))
    assert "Came the address names a rule file (0123456789ab) that this session does not hold" in said
    assert "a rule not in this window" in said  # the line of the inputs says it too
    assert "Spell in three years" not in said
    with pytest.raises(RefusalError, match="names a rule file"):
        own_inputs(PageState(office=("rule-0123456789ab",)), house[0].building)


def test_an_office_rule_is_compared_as_the_terminal_compares_it(house):
    """The invented office's rule: a foreman new to the window has the first windows checked with water."""
    assessment, _, climate = house
    stricter = OFFICE.replace(b"value = 2 }", b"value = 7 }")  # more openings than the schedule asks
    own = read_own(RULE, stricter, "office.toml")
    rule = read_rule_text(stricter.decode())
    told = detail_building(
        assessment,
        climate,
        {**assessment.building.details, "rule_answers": {rule.key: {"foreman": False}}},
        office_rules=[rule],
    ).of("south-west")
    mine = next(one for one in told.schedule.rules if one.rule == rule.name)
    assert mine.taken
    answered = words(own_page({"r": own.mark, "d": f"{answer_name(own.mark, 0)}:no", "part": "build"}, own))
    assert mine.result in answered
    for sentence in mine.taken:
        assert plain(sentence) in answered
    open_ = words(own_page({"r": own.mark, "part": "build"}, own))
    assert "Not answered yet: Has the site foreman set this kind of window before?" in open_


def plain(sentence: str) -> str:
    return sentence.replace("\u00a0", " ")


def test_answers_to_an_office_rule_travel_by_number():
    text = (
        '[rule]\nkey = "own"\nname = "Own"\n[source]\ndocument = "H"\nplace = "p"\n'
        '[[input]]\nkey = "a"\nquestion = "Which?"\nkind = "choice"\nchoices = ["x~y", "'
        + "long "
        * 40
        + '"]\n'
        '[[input]]\nkey = "n"\nquestion = "How much?"\nkind = "number"\nlow = 1\nhigh = 5\n'
    )
    own = read_own(RULE, text.encode(), "own.toml")
    rule = rule_of(own.text)

    def told(first, second):
        pairs = ((answer_name(own.mark, 0), first), (answer_name(own.mark, 1), second))
        return rule_answers(rule, own.mark, PageState(details=pairs))

    assert told("0", "2.5") == {"a": "x~y", "n": 2.5}
    assert told("1", "5")["a"].startswith("long")
    assert told("2", "6") == told("x", "nan") == told("-1", "") == {}


@pytest.mark.parametrize(
    "content",
    [
        OFFICE.replace(b'"reedmouth office"', b'"canada"'),  # the name of a built-in rule
        b"\xff\xfe" + OFFICE,
        OFFICE + b"#" * LARGEST[RULE],
        b"[rule]\nkey = 3\n",
        b"not toml at all <script>",
    ],
)
def test_a_rule_file_that_is_none_is_refused(content):
    with pytest.raises(RefusalError):
        read_own(RULE, content, "x.toml")


def test_markup_in_list_and_rule_is_only_text():
    text = OFFICE.decode().replace("Reedmouth Office (invented), house rules", HOSTILE.replace('"', "'"))
    rule = read_own(RULE, text.replace("says = ", f"says = '''{HOSTILE}''' # ").encode(), HOSTILE)
    own = read_own(OPENINGS, (HEAD + f"'{HOSTILE.replace(chr(34), '')}',900,1200,1,\n").encode(), HOSTILE)
    app = own_page({"o": own.mark, "r": rule.mark, "d": f"{answer_name(rule.mark, 0)}:no"}, own, rule)
    assert not app.exception
    assert "<script>alert" not in html(app)
    assert "<img src=x" not in html(app)
    assert "onerror" in html(app)  # it is there, as text


def test_the_openings_counted_are_those_of_the_list(house):
    own = read_own(OPENINGS, LIST, "mine.csv")
    found, refused = openings_in_use(PageState(), house[0].building.walls)
    assert (found, refused) == ((), None)
    assert own.mark == read_own(OPENINGS, LIST, "another name.csv").mark  # by content


PRICE_LIST = "item,unit,price,currency\nmembrane,m2,2.50,XTS\ntape,m,1.00,XTS\nbatten,m,0.80,XTS\n"


def test_the_offices_prices_are_counted_on_the_page_as_in_the_terminal(house):
    """Invented prices; the same call without the page."""
    assessment, _, climate = house
    costs = detail_building(assessment, climate, prices=read_prices(PRICE_LIST)).costs
    own = read_own(PRICES, PRICE_LIST.encode(), "prices.csv")
    said = words(own_page({"pr": own.mark, "part": "windows"}, own))
    assert "Material in XTS, by your prices." in said
    for one in costs:
        assert f"{one.elevation} {number(one.scheduled.cost)} {number(one.by_level[0].cost)}" in said
    missing = words(page(pr="prices-0123456789ab", part="windows"))
    assert "Material in" not in missing
    assert "names a price file (0123456789ab) that this session does not hold" in missing
    with pytest.raises(RefusalError):
        read_own(PRICES, b"item,unit,price,currency\nmembrane,m2,=1+1,XTS\n", "x.csv")
