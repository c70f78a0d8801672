"""The drawings of the builder's file: each stored once and whole, and shown wherever it belongs, at a door the door's own."""

import re
from dataclasses import replace
from html import unescape
from types import SimpleNamespace

import pytest
from markupsafe import Markup
from quick_rings import rings_at_once

from exposure.assess import assess_building
from exposure.assess.details import detail_building
from exposure.detail import Circumstances
from exposure.detail.openings import Opening
from exposure.draw.drawing import picture
from exposure.draw.marked import whole as whole_words
from exposure.paper import site_drawings as drawings_module
from exposure.paper import site_file
from exposure.paper.one_sided_corners import OneSided, one_sided_drawings
from exposure.paper.picture_store import Store, stored
from exposure.paper.sheet_corners import built_at_corners, one_sided_corners
from exposure.paper.sheet_plan import sheet_plan
from exposure.paper.site_drawings import site_drawings
from exposure.paper.site_file import site_file_html
from exposure.wall import Site
from exposure.wall.building import box_building
from tests.test_show_sheet import detailed, drawn_of, weather

LISTED = (Opening("south-west", 900, 1200, 2), Opening("south-west", 900, 2100, 1, door=True))


@pytest.fixture(scope="module", autouse=True)
def quick_rings():
    """None of these tests asks where a ring stands."""
    with rings_at_once():
        yield


@pytest.fixture(scope="module")
def house():
    """Its wind pushes water higher than a floor lets the back of a tray stand."""
    climate = weather(years=2)
    climate["wind_speed"] = (1.4 * climate["wind_speed"]).assign_attrs(climate["wind_speed"].attrs)
    site = Site(name="Quern Bay", latitude=48.4, longitude=-29.7, terrain="II", ground_height=24.0)
    building = box_building(name="Wrack House", length=12, width=8, bearing=52, height=5.6)
    return detail_building(assess_building(climate, building, site), climate, openings=LISTED)


@pytest.fixture(scope="module")
def html(house):
    return site_file_html(house)


def whole(html, name):
    """A stored picture with every shape it points to in its place."""
    shapes = dict(re.findall(r'<g id="(z\d+)">(.*?)</g>', html, re.DOTALL))
    body = re.search(rf'<symbol id="{name}" .*?</symbol>', html, re.DOTALL)[0]
    return re.sub(r'<use href="#(z\d+)"/>', lambda use: shapes[use[1]], body)


def elevation(html, place):
    """The part of the file that is an elevation's work."""
    return html[html.index(f'id="e{place}-run"') :].partition("</section>")[0]


def parts_drawn(html, words):
    """Names of the pictures under each fold whose head has these words."""
    return re.findall(rf'<summary>Drawn: {words}</summary>.*?<use href="#(d\d+)"', html, re.DOTALL)


def test_every_section_of_the_house_stands_in_the_file_once(house, html):
    plan = sheet_plan(house)
    assert len({one.stem for one in plan.drawings}) == len(plan.drawings) > 20
    assert len(re.findall(r'<symbol id="d\d+"', html)) == len(plan.drawings)
    shown = {}
    for place, one in enumerate(house.elevations):
        listed = elevation(html, place).partition("Drawings of this elevation")[2].partition("Then check")[0]
        mine = re.findall(r'<summary>Drawn: (.*?)</summary>.*?<use href="#(d\d+)"', listed, re.DOTALL)
        for title, picture_ in mine:
            shown.setdefault((title, picture_), []).append(one.name)
    wanted = [
        (one.section.title.removesuffix(", upright section"), set(one.elevations)) for one in plan.drawings
    ]
    found = [(title, set(names)) for (title, _), names in shown.items()]
    assert sorted(found, key=str) == sorted(wanted, key=str)
    assert not set(re.findall(r'<use href="#([^"]+)"', html)) - set(re.findall(r'\bid="([^"]+)"', html))


def test_a_drawn_step_shows_its_frame_and_its_sections_and_says_which_sheet_has_them(house, html):
    plan = sheet_plan(house)
    shown = 0
    for place, one in enumerate(house.elevations):
        cards = re.findall(r"<li data-step.*?</li>", elevation(html, place), re.DOTALL)
        assert len(cards) == len(one.schedule.steps)
        for card, step in zip(cards, one.schedule.steps, strict=True):
            assert card.startswith(f'<li data-step="{step.number}"')
            assert (f'<use href="#step{step.number}' in card) == bool(step.adds)
            cells = [cell for key in step.drawn if (cell := plan.cells.get(key, {}).get(one.name))]
            assert card.count("Drawn: ") >= len(cells)
            for cell in cells:
                assert re.search(rf"Drawn on sheets? [^.]*\b{cell.sheet}\b", card)
            shown += len(cells)
    assert shown > len(house.elevations)  # the base of every wall, at the least


def test_what_stands_in_bold_over_a_step_is_short(html):
    orders = [re.sub("<[^>]*>", "", one) for one in re.findall(r'<span class="t">(.*?)</span>', html)]
    assert len(orders) > 10
    assert max(map(len, orders)) <= 110, max(orders, key=len)


def test_sizes_of_the_schedule_stand_in_frame_and_section(house, html):
    worst = house.elevations[0]
    tray = next(step.number for step in worst.schedule.steps if "tray" in step.adds)
    (sill, *_) = parts_drawn(elevation(html, 0), "Window sill")
    told = {line.key: line.value for line in worst.schedule.lines}
    for key in ("back_dam", "tray_down"):
        assert re.search(rf">([a-z ]+ )?{told[key]:g}( !)?</text>", whole(html, f"step{tray}")), key
        assert re.search(rf">{told[key]:g}( !)?(</tspan>)?</text>", whole(html, sill)), key


def test_a_row_shows_the_sections_that_have_its_sizes(html):
    places = re.findall(r"<li><label.*?</li>", elevation(html, 0), re.DOTALL)
    head = next(one for one in places if '<span class="t">Head flashing</span>' in one)
    assert "Drawn: Window head" in head
    pipe = next(one for one in places if '<span class="t">Pipes and cables</span>' in one)
    assert "Drawn: Pipe through the wall" in pipe


def test_a_door_has_its_threshold_and_its_own_warnings_and_none_of_the_window(house, html):
    """By the drawing of the threshold: what it warns of stands at the door, in full."""
    sill, threshold = (
        next(
            one
            for one in sheet_plan(house).drawings
            if one.section.key == key and house.elevations[0].name in one.elevations
        )
        for key in ("sill", "threshold")
    )
    run = elevation(html, 0)
    door = re.search(r'<div class="boxed for-door".*?</div></details></div>', run, re.DOTALL)[0]
    assert "Drawn: Door threshold" in door
    assert threshold.section.warnings
    for words in threshold.section.warnings:
        assert words in unescape(re.sub(r"<[^>]+>", "", door))
    for conflict in sill.section.conflicts:
        assert conflict.words not in unescape(door)
    assert "Drawn: Window sill" not in door
    milder = elevation(html, 1)  # no door is listed there
    assert "No door of this elevation was on the list" in milder
    assert "Drawn: Door threshold" not in milder


def test_sections_that_find_no_room_are_told_with_their_sheet(house):
    plan = sheet_plan(house)
    few = site_drawings(house, plan, most=150_000)
    assert len(few.store.html) <= 150_000
    left = {
        (name, key): one
        for name, mine in few.sections.items()
        for key, one in mine.items()
        if not one["picture"]
    }
    assert left
    for (name, key), one in left.items():
        assert plan.cells[key][name].sheet in one["sheets"]
    worst, mildest = few.sections[house.elevations[0].name], few.sections[house.elevations[-1].name]
    assert worst["sill"]["picture"]  # the hardest wall's come first
    assert not mildest["pipe"]["picture"] or not [one for one in worst.values() if not one["picture"]]


@pytest.mark.parametrize("spare", [0, 1, -1])
def test_as_many_sections_are_kept_as_find_room_and_few_stores_made_to_find_out(spare, monkeypatch):
    """By hand: with a frame of 300 letters and sections of 100, the first 40 of 64 fill the room, and a letter less holds 39."""
    made = []

    def plain(pictures):
        made.append(len(pictures))
        return Store(Markup("".join(pictures.values())), "")

    monkeypatch.setattr(drawings_module, "stored", plain)
    sections = {f"d{place}": "x" * 100 for place in range(64)}
    kept, store = drawings_module._within(300 + 40 * 100 + spare, {"frame": "y" * 300}, sections)
    assert list(kept) == list(sections)[: 39 if spare < 0 else 40]
    assert store.html == "y" * 300 + "x" * 100 * len(kept)
    assert len(made) <= 8  # the whole, and halves of 64 down to one
    assert made.count(65) == 1


def test_where_not_even_one_section_finds_room_the_frames_stay(monkeypatch):
    monkeypatch.setattr(drawings_module, "stored", lambda all_: Store(Markup("".join(all_.values())), ""))
    kept, store = drawings_module._within(5, {"frame": "y" * 9}, {"d0": "x", "d1": "x"})
    assert (kept, store.html) == ({}, "y" * 9)
    assert list(drawings_module._within(None, {}, {"d0": "x"})[0]) == ["d0"]


def test_a_file_too_large_for_one_message_draws_less_and_keeps_every_word(house, html, monkeypatch):
    most = len(html.encode()) - 60_000
    monkeypatch.setattr(site_file, "LARGEST_FILE", most)
    small = site_file_html(house)
    assert most - 60_000 < len(small.encode()) <= most
    assert len(re.findall('type="checkbox"', small)) == len(re.findall('type="checkbox"', html))
    assert len(re.findall('<symbol id="d', small)) < len(re.findall('<symbol id="d', html))


def test_a_shape_filled_and_drawn_round_is_written_once():
    """By hand: the same points twice, and a line over a shape that is drawn round already, which stay two."""
    shape = '<path d="M1.0 2.0 L9.0 2.0 L9.0 8.0Z" {}/>'
    fill, edge, both = 'fill="#112233"', 'fill="none" stroke="#000000"', 'fill="#112233" stroke="#445566"'
    for looks, times in (((fill, edge), 1), ((edge, fill), 2), ((both, edge), 2), ((fill, both), 2)):
        body = "".join(shape.format(look) for look in looks)
        store = stored({"a": picture(body, width=9, height=9, title="a", desc="d", prefix="a")})
        drawn = re.findall(r'<path d="M1 2H9V8Z" class="(k\d+)"/>', whole(store.html, "a"))
        assert len(drawn) == times, looks
        if times == 1:
            assert f".{drawn[0]}{{fill:#112233;stroke:#000000}}" in store.css


def test_nothing_of_a_picture_is_lost_in_the_store():
    """By hand: lines, a curve, numbers that only look round, and words."""
    body = (
        '<path d="M1.0 2.0 L9.0 2.0 L9.0 10.05 L4.0 4.0Z" fill="#000000"/>'
        '<path d="M0.0 0.0 Q5.0 0.0 5.0 5.0" fill="none" stroke="#000000" stroke-width="1.5"/>'
        '<text x="10.0" y="-3.0" font-size="12">10.0 mm</text>'
    )
    pictures = {
        name: picture(body, width=9, height=9, title=name, desc="d", prefix=name) for name in ("a", "b")
    }
    store = stored(pictures)
    for name in pictures:
        drawn = whole(store.html, name)
        assert 'd="M1 2H9v8.05L4 4Z"' in drawn
        assert 'd="M0 0 Q5 0 5 5"' in drawn
        text = re.search(r'<text x="10" y="-3" class="(k\d+)">10\.0 mm</text>', drawn)
        assert f".{text[1]}{{font-size:12px}}" in store.css
        curve = re.search(r'Q5 0 5 5" class="(k\d+)"', drawn)[1]
        assert f".{curve}{{fill:none;stroke:#000000;stroke-width:1.5}}" in store.css
    assert str(store.html).count("Q5 0 5 5") == 1


def test_a_standing_wall_has_its_ways_in_the_file():
    standing = detailed(
        box_building(name="Wrack House", length=12, width=8, bearing=52, height=5.6),
        details={"work": "standing wall"},
        years=2,
    )
    html = site_file_html(standing)
    for way in ("Keep and mend", "Clad over", "Strip"):
        assert f"<summary>{way}</summary>" in html


@pytest.mark.parametrize(
    ("told", "step", "titles"),
    [
        (
            {"window_position": "over the cavity", "frame_type": "box frame with straps"},
            "support",
            ("Window sill",),
        ),
        (
            {"wall_type": "masonry veneer", "roof_meets_wall": "roof or gutter ends inside the wall"},
            "cavity tray on that",
            ("Roof against the wall", "trays along a roof, 1", "trays along a roof, 5"),
        ),
    ],
)
def test_a_step_without_a_size_shows_what_draws_it(told, step, titles):
    """A sill support has its sill, stepped trays their own frames, of which the paper has none."""
    climate = weather(years=2)
    site = Site(name="Quern Bay", latitude=48.4, longitude=-29.7, terrain="II", ground_height=24.0)
    building = box_building(name="Wrack House", length=12, width=8, bearing=52, height=5.6)
    found = detail_building(assess_building(climate, building, site), climate, Circumstances(**told))
    drawings, first = site_drawings(found, sheet_plan(found)), found.elevations[0]
    asked = next(one for one in first.schedule.steps if step in one.text or step in one.adds)
    shown = drawings.at_step(first.name, asked)
    for title in titles:
        (one,) = (each for each in shown if str(each["title"]).startswith(title))
        assert re.search(r'href="#([^"]+)"', one["picture"])[1] in drawings.store.html


@pytest.mark.parametrize(("deck", "asked"), [("enclosed at the first floor", True), ("none", False)])
def test_at_a_door_the_phone_asks_whether_it_stands_on_the_deck(deck, asked):
    """Two drawings lie below: which of them holds is asked as on paper."""
    climate = weather(years=2)
    site = Site(name="Quern Bay", latitude=48.4, longitude=-29.7, terrain="II", ground_height=24.0)
    building = box_building(name="Wrack House", length=12, width=8, bearing=52, height=5.6)
    told = {"deck": deck, "storeys": 2}
    house = detail_building(
        assess_building(climate, building, site), climate, Circumstances(**told), openings=LISTED
    )
    words = "Does this door stand on the closed deck? Then Deck at a door holds below the frame, else the threshold."
    assert (words in unescape(site_file_html(house))) is asked


def test_a_corner_on_the_phone_says_which_walls_drawing_it_is_built_by_and_what_each_side_leaves_out():
    """By the walls' own orders: 20 mm of cavity to the west; the others' boards lie straight on the membrane, so no batten of theirs."""
    here = Circumstances(cladding_fixing="boards nailed through the face")
    asked = {"west": (80.0, 250.0), "south": (10.0, 60.0), "east": (10.0, 60.0)}
    drawings = drawn_of(here, asked)
    plan = SimpleNamespace(
        drawings=drawings,
        corners_at=lambda _: (("west", "south"), ("south", "east")),
        codes={"west": "W", "south": "S", "east": "E"},
        facing={"west": 270.0, "south": 180.0, "east": 90.0},
        one_sided={("west", "south"): OneSided("west", right=False)},
    )
    # the corner with a cavity on one side has a picture of its own, at both its walls
    assert built_at_corners("corner-outside", plan, "west") == []
    # south and east are alike: on both cards the one that the house names first runs across the top
    for mine, other in (("south", "E"), ("east", "S")):
        assert built_at_corners("corner-outside", plan, mine) == [
            f"Corner with {other}: as drawn, S across the top"
        ]
    plan.one_sided_drawn = one_sided_drawings(drawings, plan.one_sided)
    for mine, other in (("west", "S"), ("south", "W")):
        [(drawing, told)] = one_sided_corners(plan, mine).values()
        assert drawing.section.key == "corner-one-side"
        assert told == [f"Corner with {other}: W across the top, S at the left"]
    assert one_sided_corners(plan, "east") == {}
    # with south across the top east is at the left, as drawn; turned so that it is at the right the drawing is mirrored
    plan.facing = {"west": 270.0, "south": 0.0, "east": 90.0}
    for mine, other in (("south", "E"), ("east", "S")):
        assert built_at_corners("corner-outside", plan, mine) == [
            f"Corner with {other} (mirrored): as drawn, S across the top"
        ]


def test_the_corners_of_a_wall_stand_under_its_drawing_on_the_phone(house, html):
    plan = sheet_plan(house)
    for place, one in enumerate(house.elevations):
        told = built_at_corners("corner-outside", plan, one.name)
        assert told
        # also under the drawing of the hardest wall beside it, where it has none of its own
        other = next(name for name in plan.codes if name != one.name)
        moved = site_drawings(house, replace(plan, milder={("corner-outside", one.name): other}))
        assert moved.sections[one.name]["corner-outside"]["corners"] == [*map(whole_words, told)]
        mine = unescape(re.sub(r"<[^>]+>", "", elevation(html, place)))
        assert all(words in mine for words in told)


def test_what_local_rules_ask_stands_on_the_phone():
    """Orders of a rule that no row holds, as the paper has them."""
    irish = detailed(
        box_building(name="Rule House", length=8, width=6, bearing=20, height=4.7), years=1,
        details=Circumstances(local_rules=("ireland",), rule_answers={"ireland": {"stainless": True}}),
    )  # fmt: skip
    phone = unescape(re.sub(r"<[^>]+>", "", site_file_html(irish))).replace("\u00a0", " ")
    for words in ("mark the stud lines on its face", "A timber cavity barrier is at least 38 mm thick"):
        assert phone.count(words) == 1
