"""What is not told stands beside the answer with what telling it would do, and can be told on the page."""

import re
from dataclasses import replace

import pytest
from quick_rings import rings_at_once

from exposure.checks import RefusalError
from exposure.doubts import doubt, has_doubt
from exposure.invented import invented_place
from exposure.page.choices.answer import find_answer, find_details
from exposure.page.choices.beside import beside_of_sizes, with_another
from exposure.page.choices.house_inputs import building_words, surveyed_building
from exposure.page.choices.inputs import SpotInUse, spot_in_use
from exposure.page.choices.query import from_query, to_query
from exposure.page.choices.state import Box, PageState
from exposure.page.parts.chips import assumed_of
from exposure.page.parts.compare_page import doubts_of, ranking
from exposure.page.parts.desk import _doubts
from exposure.page.parts.work_part import _not_nothing
from exposure.page.work.compared import shown_of
from exposure.paper.sheet_figures import all_doubts
from exposure.paper.sheet_plan import sheet_plan
from tests.test_page import html, page, words

BOX = Box(15, 7.5, 142, 5.6, 2, "gable")
NORTH_WEST = "north-west"  # an eaves wall of it, by its bearing


@pytest.fixture(scope="module", autouse=True)
def made_place():
    return invented_place(progress=False)


def chips(app) -> str:
    """Words of the assumptions beside the answer."""
    group = next(one for one in app.get("button_group") if one.key.startswith("chip"))
    return " | ".join(one.content for one in group.proto.options).replace("\u00a0", " ")


def test_eaves_not_told_are_said_beside_the_answer_with_what_they_would_do():
    state = PageState(building=BOX)
    eaves = next(
        wall.name
        for wall in find_answer(state).building.walls
        if any(one.what == "eaves" for one in wall.untold)
    )
    said = chips(page(b="box.15_7.5_142_5.6_2_gable", e=eaves))
    now = find_answer(state)
    told = find_answer(PageState(building=BOX, details=(("eaves", "350"),)))
    before, after = (
        next(one.wall_spell_index for one in found.assessment.elevations if one.wall.name == eaves)
        for found in (now, told)
    )
    assert before > 1.5 * after  # by the table: 0.5 for a gable, 0.3 for an eaves wall
    assert f"Eaves: no eaves taken; {after:.0f} L/m² with 350 mm of eaves" in said
    assert not [one for one in assumed_of(told) if one.what == "eaves"]


def test_a_chip_tells_what_another_answer_would_make_of_what_was_told():
    """The other answer is given as the reader would give it, and the page asked again."""
    now = PageState(building=BOX, details=(("eaves", "350"),))
    said = chips(page(b="box.15_7.5_142_5.6_2_gable", d="eaves:350"))
    suburb = find_answer(now.with_(ground=12 * "3"))
    worst = find_answer(now).worst.wall.name
    after = next(one.wall_spell_index for one in suburb.assessment.elevations if one.wall.name == worst)
    assert f"{after:.0f} L/m² with a suburb or woods all round" in said


def test_a_doubt_of_several_elevations_stands_once_with_their_names():
    answer = find_answer(PageState())
    details = find_details(answer)
    more = [
        doubt("detail.bare_too_long", wall, weeks="9 weeks", days="28 days")
        for wall in ("south-west", "north-east")
    ]
    more.append(
        doubt("detail.bare_too_long", "north-west", weeks="9 weeks", days="14 days")
    )  # another number, another doubt
    details = replace(details, flags=(*details.flags, *more))
    said = "9 weeks bare is more than the {} days the schedule allows on the {} elevation."
    once, apart = said.format(28, "south-west"), said.format(14, "north-west")
    page_says = re.findall(r"<li><b>Doubt</b><span>(.*?)</span>", _doubts(answer, details))
    assert [one for one in page_says if "9 weeks" in one] == [f"{once} Likewise north-east.", apart]
    with rings_at_once():
        sheet_says = [str(one) for one in all_doubts(sheet_plan(details)).shared]
    assert [one for one in sheet_says if "9 weeks" in one] == [f"{once} <b>Likewise NE.</b>", apart]


def test_the_eaves_field_is_empty_until_it_is_told():
    app = page(b="box.15_7.5_142_5.6_2_gable", part="eaves")
    field = next(one for one in app.number_input if one.key == "roof-eaves")
    assert field.value is None
    field.set_value(400.0)
    next(one for one in app.button if one.label == "Use this roof").click().run()
    assert "eaves:400" in app.query_params["d"]
    assert next(one for one in app.number_input if one.key == "roof-eaves").value == 400.0


def test_gables_of_wings_and_neighbours_are_told_by_elevation():
    state = PageState(
        building=BOX,
        at=(51.5, -3.2),
        record="file-0",
        details=(("gables", "north-east"), ("near.north-east", "20")),
    )
    spoken = building_words(state, spot_in_use(state))
    assert spoken["wall"] == {"north-east": {"obstacle_distance": 20.0}}
    assert spoken["gables"] == ["north-east"]


def test_the_same_ground_is_told_all_round_at_once():
    app = page(part="ground")
    app.selectbox(key="ground-round").set_value("III")
    next(one for one in app.button if one.label == "Use it all round").click().run()
    assert app.query_params["g"] == "333333333333"


def test_the_wetting_panel_speaks_of_one_wall():
    app = page(e="north-east", part="work")
    panel = html(app).partition("Wetting and drying behind the cladding")[2].partition("Site water check")[0]
    assert "On the north-east elevation" in panel
    assert "south-west" not in panel
    assert "in a mean year" in panel
    assert "whole record" in panel


def test_hours_are_told_as_they_are():
    assert _not_nothing(0.4) == "under 1"
    assert _not_nothing(0.0) == "0"


def test_openings_to_check_do_not_read_as_openings_there_are():
    said = words(page(part="work"))
    assert re.search(r"Check \d openings on this elevation\.", said)
    assert not re.search(r"(?<!Check )\b\d openings? on this elevation", said)


def test_doubts_of_the_details_are_seen_at_the_desk():
    said = words(page())
    for flag in find_details(find_answer(PageState())).flags:
        assert words_of(flag) in said, flag


def words_of(flag: str) -> str:
    return re.sub(r"\s+", " ", str(flag).replace("\u00a0", " ").replace("m2", "m²"))


def test_each_sites_own_doubts_stand_in_the_list(made_place):
    from exposure.assess.compare_sites import compare_sites
    from exposure.assess.reference_wall import reference_wall
    from exposure.assess.site_weather import GridWeather
    from exposure.site.site_list import read_site_list
    from exposure.wall.building import wall_shapes

    listed = read_site_list(
        b"name,latitude,longitude,terrain,ground_height\nLow,48.44,-29.68,II,0\nHigh,48.44,-29.68,II,1003\n",
        shapes=wall_shapes(),
    )
    found = compare_sites(
        listed,
        GridWeather(made_place.climate),
        wall=reference_wall("two-storey gable"),
        ground=made_place.height,
    )
    shown = shown_of(found, home="")
    told = re.search(r"<span>(\w): High: [^<]*1003", doubts_of(shown))
    row = re.search(r"<tr[^>]*><th[^>]*>High</th>.*?</tr>", ranking(shown))[0]
    letters = re.search(r'data-label="Notes">([^<]*)', row)[1].split()
    assert told[1] in letters


def test_the_page_has_no_field_that_shows_an_answer_nobody_gave():
    app = page(b="box.15_7.5_142_5.6_2_gable", part="built")
    assert not [one for one in app.number_input if one.key == "ask-eaves"]
    assert "350" not in [str(one.value) for one in app.number_input]
    assert html(app)


def test_a_building_beside_that_is_told_shelters_its_wall_and_no_other():
    # by hand: a box of 12 by 8 m along east and west; a building 40 m wide and 9 m tall, its near face 20 m to the south
    at = (50.0, 8.0)
    there = beside_of_sizes(at, away=4 + 20 + 5, towards=180, length=40, width=10, bearing=90, height=9)
    house = Box(length=12, width=8, bearing=90, height=5.6, storeys=2, roof="flat")
    state = PageState(at=at, record="none", building=house, beside=with_another((), there))
    spot = SpotInUse("Here", *at, False, "")
    walls = {wall.name: wall for wall in surveyed_building(state, spot).building.walls}
    assert walls["south"].obstacle_distance == pytest.approx(
        20, abs=1.1
    )  # the position is kept to five decimals
    assert walls["north"].obstacle_distance is None
    low = state.with_(beside=(there._replace(height=4.0),))
    assert all(wall.obstacle_distance is None for wall in surveyed_building(low, spot).building.walls)
    assert has_doubt(surveyed_building(state, spot).flags, "site.neighbours_by_hand")
    assert from_query(to_query(state)).beside == state.beside


@pytest.mark.parametrize(
    "text", ["50,8,6", "50,8,6,0,0,1,1", "50,8,1,0,0,1,0,1,1", "50,8,6,0,0,1,0,1", "50,8,6,0,0,1,0,9e9,1"]
)
def test_a_building_beside_that_an_address_holds_wrongly_is_left_out_and_told(text):
    found = from_query({"nb": text})
    assert found.beside == ()
    assert len(found.notes) == 1


def test_a_building_beside_round_the_house_itself_is_refused():
    at = (50.0, 8.0)
    round_it = beside_of_sizes(at, away=1, towards=0, length=60, width=60, bearing=0, height=9)
    state = PageState(at=at, record="none", building=Box(), beside=(round_it,))
    with pytest.raises(RefusalError, match="inside another building"):
        surveyed_building(state, SpotInUse("Here", *at, False, ""))
