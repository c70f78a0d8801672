"""What nobody told: the harder side taken, and what telling it would make, against factors from the printed table."""

from dataclasses import replace

import pytest
import shapely
from site_world import block, weather
from test_site_footprint import geojson, in_degrees

from exposure.assess.assumptions import Answer, Assumption, other_answers
from exposure.assess.from_files import assess_file, survey_building
from exposure.checks import RefusalError
from exposure.doubts import has_doubt
from exposure.export.building_files import assessment_summary
from exposure.site.roughness import terrain_roughness_coefficient
from exposure.wall.building import OUTSIDE_TABLE, Wall
from exposure.wall.building_words import building_from_words
from exposure.wall.classes import exposure_class
from exposure.wall.elevations import elevations_of
from exposure.wall.roof import Roof

PLACE = {"name": "Field", "latitude": 50.0, "longitude": 8.0, "terrain": "II", "topography": 1.0}
BOX = {"length": 12.0, "width": 8.0, "bearing": 45.0}
ELL = shapely.Polygon([(0, 0), (15, 0), (15, 7), (7.5, 7), (7.5, 12.5), (0, 12.5)])  # a wing to the north


@pytest.fixture(scope="module")
def climate():
    return weather(12)


def words(**more):
    return {"name": "House", "height": 6.0, "storeys": 2, "place": PLACE, "footprint": BOX, **more}


def ell(**more):
    ring = [list(corner) for corner in in_degrees(ELL).exterior.coords][:-1]
    return words(roof="gable", footprint={"corners": ring}, **more)


def assumed(assessment, what):
    return {one.elevation: one for one in assessment.assumptions if one.what == what}


def walls_of(table):
    return {wall.name: wall for wall in building_from_words(table).building.walls}


def test_eaves_that_nobody_told_earn_no_credit_and_the_answer_says_what_they_would_make(climate):
    assessment, _ = assess_file(words(roof="gable", ridge_height=9), climate)
    figures = {one.wall.name: one for one in assessment.elevations}
    found = assumed(assessment, "eaves")
    assert set(found) == {"south-east", "north-west"}  # the long sides; the other two are gables
    for name, one in found.items():
        assert figures[name].factors[3].value == 0.5  # the hardest of the table, not its 0.3
        (answer,) = one.would_be
        assert one.wall_spell_index == figures[name].wall_spell_index
        assert answer.wall_spell_index == pytest.approx(one.wall_spell_index * 0.3 / 0.5)
        assert answer.exposure_class == exposure_class(answer.wall_spell_index)
    told, _ = assess_file(words(roof="gable", ridge_height=9, eaves=350), climate)
    assert not assumed(told, "eaves")
    for one in told.elevations:  # what was announced comes true
        if one.wall.name in found:
            assert one.wall_spell_index == pytest.approx(found[one.wall.name].would_be[0].wall_spell_index)


def test_the_doubt_names_the_wall_and_carries_both_figures(climate):
    assessment, _ = assess_file(words(roof="gable", ridge_height=9), climate)
    shown = [flag for one in assessment.elevations for flag in one.flags]
    doubts = [one for one in shown if getattr(one, "key", "") == "assess.eaves_not_told"]
    assert {one.subject for one in doubts} == {"south-east", "north-west"}
    (whole,) = [one for one in assessment.flags if getattr(one, "key", "") == "assess.eaves_not_told"]
    harder = next(
        one.wall.name for one in assessment.elevations if one.wall.name in {d.subject for d in doubts}
    )
    assert whole.subject == harder  # said once of the building, of the elevation it matters to first
    assert all(one.subject in whole for one in doubts)  # and the other is named
    for one in doubts:
        assert one.numbers["assumed"] == "no eaves"
        (told, figure, name) = one.numbers["would_be"][0]
        assert figure == pytest.approx(0.6 * one.numbers["wall_spell_index"])  # 0.3 instead of 0.5
        assert (told, name) == ("350 mm of eaves", exposure_class(figure))
        assert f"{figure:.0f} instead of {one.numbers['wall_spell_index']:.0f} L/m2" in one
    assert not any("chosen by the user" in flag for flag in assessment.flags)


def test_eaves_said_once_are_known_everywhere():
    for told in (
        {"eaves": 350},
        {"details": {"eaves": 350}},
        {"wall": {"south-east": {"overhang": 350}, "north-west": {"overhang": 350}}},
        {"details": {"elevations": {"south-east": {"eaves": 350}, "north-west": {"eaves": 350}}}},
    ):
        file = building_from_words(words(roof="gable", pitch=40, **told))
        shapes = {wall.name: wall.shape for wall in file.building.walls}
        assert shapes["south-east"] == shapes["north-west"] == "two-storey eaves wall", told
        assert not any(wall.untold for wall in file.building.walls)


def test_on_a_plan_with_a_wing_no_gable_is_taken_for_an_eaves_wall(climate):
    # the wing's end looks north and is 7.5 m wide: with one ridge assumed along the 15 m it was an eaves wall
    assessment, _ = assess_file(ell(eaves=350, ridge_height=9), climate)
    north = next(one for one in assessment.elevations if one.wall.name == "north")
    assert north.factors[3].value == 0.5
    assert set(assumed(assessment, "ridges")) == {one.wall.name for one in assessment.elevations}
    one = assumed(assessment, "ridges")["north"]
    ground = [terrain_roughness_coefficient(category="II", height=high) for high in (6.0, 9.0)]
    assert one.would_be[0].wall_spell_index == pytest.approx(
        one.wall_spell_index * 0.3 / 0.5 * ground[0] / ground[1]
    )


def test_gables_told_of_each_wing_decide_and_leave_nothing_open(climate):
    told = ["east", "west", "north"]
    walls = walls_of(ell(eaves=350, ridge_height=9, gables=told))
    assert {name for name, wall in walls.items() if "gable" in wall.shape} == set(told)
    assert {name for name, wall in walls.items() if "eaves" in wall.shape} == set(walls) - set(told)
    assessment, _ = assess_file(ell(eaves=350, ridge_height=9, gables=told), climate)
    assert not assessment.assumptions or {one.what for one in assessment.assumptions} == {"neighbours"}


def test_a_wall_ends_as_its_roof_does_and_a_ridge_that_is_taken_is_told():
    def ends(**roof):
        read = building_from_words(words(**roof))
        doubts = [one for one in read.place.notes if getattr(one, "key", "") == "wall.ridge_taken"]
        return {wall.name: "+".join(wall.tops) for wall in read.building.walls}, doubts

    long, short = (
        ("south-east", "north-west"),
        ("north-east", "south-west"),
    )  # by hand: the bearing of BOX is 45
    for told in ({}, {"eaves": 350}, {"eaves": 100}, {"pitch": 40}, {"storeys": 4}):
        found, (doubt,) = ends(roof="gable", **told)
        assert found == {**dict.fromkeys(long, "eaves"), **dict.fromkeys(short, "gable")}
        assert all(name in doubt for name in short)
        assert not any(name in doubt for name in long)
    across, none = ends(roof="gable", gables=list(long))
    assert across == {**dict.fromkeys(long, "gable"), **dict.fromkeys(short, "eaves")}
    assert not none
    assert ends(roof="hip") == (dict.fromkeys((*long, *short), "eaves"), [])
    own = Wall(
        "east", 90, 8, 6, wall_factor=0.4
    )  # a factor of one's own says nothing of the roof, a shape does
    assert (own.tops, replace(own, shape="two-storey eaves wall").tops) == (("eaves", "gable"), ("eaves",))
    for open_roof in ({}, {"roof": "flat"}, {"roof": "gable", "footprint": {**BOX, "length": 8.5}}):
        assert ends(**open_roof) == (dict.fromkeys((*long, *short), "eaves+gable"), [])


def test_a_ridge_runs_along_the_longer_side_of_a_plain_plan_only():
    square = walls_of(words(roof="gable", pitch=40, eaves=350, footprint={**BOX, "length": 8.5}))
    assert all(wall.untold[0].what == "ridges" for wall in square.values())
    long = walls_of(words(roof="gable", pitch=40, eaves=350))
    assert not any(wall.untold for wall in long.values())


def test_the_doubt_of_the_ridges_is_true_of_every_plan_that_leaves_them_open():
    square = walls_of(words(roof="gable", pitch=40, eaves=350, footprint={**BOX, "length": 8.5}))
    for walls, true in (
        (square, "nearly square"),
        (walls_of(ell(eaves=350, ridge_height=9)), "no rectangle"),
    ):
        untold = next(iter(walls.values())).untold[0]
        answer = Answer(untold.answers[0][0], 22.0, "sheltered")
        said = Assumption(untold.what, "north", untold.taken, 38.0, "moderate", (answer,)).doubt
        assert said.key == "assess.ridges_not_told"
        assert true in said
        assert "no plain rectangle" not in said  # a box nearly square is one


def test_gable_tops_stand_at_the_ridge():
    # half the span of 8 m at 45 degrees is 4 m, at 30 degrees 4 tan 30 = 2.309 m
    steep = walls_of(words(roof="gable", eaves=350))
    assert {wall.height for wall in steep.values() if "gable" in wall.shape} == {10.0}
    assert {wall.height for wall in steep.values() if "eaves" in wall.shape} == {6.0}
    (untold,) = steep["south-west"].untold
    assert untold.what == "ridge height"
    assert untold.answers[0][1].height == pytest.approx(6 + 2.309, abs=0.005)
    assert walls_of(words(roof="gable", eaves=350, pitch=30))["south-west"].height == pytest.approx(8.31)
    assert walls_of(words(roof="gable", eaves=350, ridge_height="30 ft"))[
        "south-west"
    ].height == pytest.approx(9.14, abs=0.005)
    own = walls_of(words(roof="gable", eaves=350, ridge_height=9, wall={"north-east": {"ridge_height": 7.5}}))
    assert (own["south-west"].height, own["north-east"].height) == (9.0, 7.5)
    assert own["north-east"].area == pytest.approx(8 * 6 + 8 * 1.5 / 2)  # a triangle on a rectangle


def test_an_untold_roof_is_a_gable_everywhere_and_each_form_is_worked_out(climate):
    assessment, _ = assess_file(words(), climate)
    assert {one.factors[3].value for one in assessment.elevations} == {0.5}
    ground = [terrain_roughness_coefficient(category="II", height=high) for high in (6.0, 10.0)]
    for one in assumed(assessment, "roof").values():
        hip, flat = one.would_be
        assert hip.wall_spell_index == pytest.approx(one.wall_spell_index * 0.3 / 0.5 * ground[0] / ground[1])
        assert flat.wall_spell_index == pytest.approx(
            one.wall_spell_index * 0.4 / 0.5 * ground[0] / ground[1]
        )


def test_ground_that_nobody_told_is_the_hardest_and_farmland_is_worked_out(climate):
    place = {key: value for key, value in PLACE.items() if key != "terrain"}
    told = words(roof="hip", eaves=350)
    assessment, _ = assess_file({**told, "place": place}, climate)
    known, _ = assess_file(told, climate)
    assert set(assessment.site.categories) == {"I"}
    worst = assumed(assessment, "ground")[assessment.worst.wall.name]
    assert worst.would_be[0].wall_spell_index == pytest.approx(known.worst.wall_spell_index)
    assert has_doubt(assessment.flags, "assess.ground_not_told")
    assert not has_doubt(known.flags, "assess.ground_not_told")


def test_neighbours_and_hills_are_asked_for_once(climate):
    place = {key: value for key, value in PLACE.items() if key != "topography"}
    assessment, _ = assess_file({**words(roof="hip", eaves=350), "place": place}, climate)
    keys = [getattr(flag, "key", "") for flag in assessment.flags]
    assert keys.count("assess.neighbours_not_told") == keys.count("assess.hills_not_told") == 1
    spell = assessment.worst.wall_spell_index
    near = assumed(assessment, "neighbours")[assessment.worst.wall.name].would_be[0]
    assert near.wall_spell_index == pytest.approx(0.4 * spell)  # the row of 15 to 25 m
    assert "20 m" in near.words
    hill = assumed(assessment, "hills")[assessment.worst.wall.name].would_be[0]
    assert hill.wall_spell_index == pytest.approx(1.2 * spell)  # 1 + 2 s Phi with s = 1, Phi = 0.1


def test_what_was_not_told_is_still_said_of_a_result_read_back(climate, tmp_path):
    import json

    assessment, surveyed = assess_file(words(roof="gable", ridge_height=9), climate)
    path = tmp_path / "again.json"
    path.write_text(json.dumps(assessment_summary(assessment, surveyed)))
    again, _ = assess_file(path, climate)
    shown = [flag for one in again.elevations for flag in one.flags]
    assert {one.subject for one in shown if getattr(one, "key", "") == "wall.read_back"} == {
        "south-east", "north-west",
    }  # fmt: skip
    (whole,) = [one for one in again.flags if getattr(one, "key", "") == "wall.read_back"]
    assert "south-east" in whole
    assert "north-west" in whole
    shapes = {one.wall.name: (one.wall.shape, one.factors[3].reason) for one in again.elevations}
    assert shapes["south-east"] == (OUTSIDE_TABLE, "eaves not told: no credit is taken for them")


def test_an_elevation_without_a_shape_counts_as_a_gable_and_says_so(climate):
    table = {**words(), "elevation": [{"name": "south", "orientation": 180, "length": 9}]}
    assessment, _ = assess_file(table, climate)
    one = assumed(assessment, "shape")["south"]
    assert [answer.wall_spell_index / one.wall_spell_index for answer in one.would_be] == pytest.approx(
        [0.6, 0.8]
    )


def test_properties_of_a_footprint_are_read_or_told(tmp_path):
    rows = [
        {
            "name": "House", "height": 6.0, "storeys": 2, "roof": "gable", "eaves": 350, "terrain": "III",
            "sea_distance": 900.0, "ridge_height": 9.0, "gables": ["north", "south"], "eavess": 20, "colour": "red",
        }
    ]  # fmt: skip
    path = geojson(tmp_path / "h.geojson", in_degrees(block(-6, -4, 6, 4)), properties=rows)
    found = survey_building(path)
    assert set(found.site.categories) == {"III"}
    assert found.site.sea_distance == 900.0
    assert {wall.name: (wall.shape, wall.height) for wall in found.building.walls} == {
        "north": ("two-storey gable", 9.0),
        "south": ("two-storey gable", 9.0),
        "east": ("two-storey eaves wall", 6.0),
        "west": ("two-storey eaves wall", 6.0),
    }
    (note,) = [one for one in found.flags if getattr(one, "key", "") == "wall.properties_not_used"]
    assert "eavess" in note
    assert "colour" in note


def test_other_answers_where_all_is_told_by_the_factors_of_the_table(climate):
    # eaves 0.3, none 0.5, gable 0.5; a building as tall at 20 m 0.4; from farmland to a suburb the ground at that height
    assessment, _ = assess_file(words(roof="gable", ridge_height=9, eaves=350), climate)
    for one in assessment.elevations:
        farm, suburb = (
            terrain_roughness_coefficient(category=ground, height=one.wall.height) for ground in ("II", "III")
        )
        times = {"ground": suburb / farm, "neighbours": 0.4}
        times |= {"roof": 0.3 / 0.5} if "gable" in one.wall.shape else {"eaves": 0.5 / 0.3, "roof": 0.5 / 0.3}
        found = other_answers(assessment.index, assessment.site, one)
        assert {what: answer.wall_spell_index / one.wall_spell_index for what, answer in found.items()} == (
            pytest.approx(times)
        )
        for answer in found.values():
            assert answer.exposure_class == exposure_class(answer.wall_spell_index)


def test_the_least_rain_told_and_records_around_reach_the_assessment(climate):
    plain, _ = assess_file(words(roof="gable"), climate)
    strict, _ = assess_file(words(roof="gable"), climate, wet_hour=2.0, nearby=[climate])
    assert strict.index.attrs["wet_hour_mm"] == 2.0
    assert strict.worst.airfield_annual_index < plain.worst.airfield_annual_index  # less rain counts
    assert strict.rose.attrs["wet_hour_mm"] == 2.0  # and in the picture of all ways as well
    all_ways = [float(one.rose["airfield_annual_index"].sum()) for one in (strict, plain)]
    assert all_ways[0] < all_ways[1]
    around = next(one for one in strict.worst.doubts if one.sentence.key == "assess.records_around")
    # the same record around: no spread but what rounds off
    assert around.low == pytest.approx(around.high) == pytest.approx(strict.worst.wall_spell_index)


@pytest.mark.parametrize(
    ("answers", "moves"),
    [
        ((), False),  # none is known
        (((70.4, "severe"),), False),  # 69.7 and 70.4 both read 70
        (((70.6, "severe"),), True),  # reads 71
        (((69.7, "moderate"),), True),  # the class alone
        (((70.4, "severe"), (60.0, "severe")), True),  # the second
    ],
)
def test_what_is_not_told_matters_where_the_figure_shown_or_the_class_moves(answers, moves):
    would_be = tuple(Answer("told", *one) for one in answers)
    assert Assumption("eaves", "south", "no eaves", 69.7, "severe", would_be).matters is moves


def test_the_doubt_says_what_an_answer_would_make_by_hand():
    answers = (Answer("a", 70.4, "severe"), Answer("b", 60.0, "severe"), Answer("c", 30.0, "sheltered"))
    said = Assumption("eaves", "south", "no eaves", 69.7, "severe", answers).doubt
    assert "a would change nothing; b would make it 60 instead of 70 L/m2; " in said
    assert "; c would make it 30 instead of 70 L/m2, sheltered" in said


def test_neighbours_need_an_outline_to_stand_around():
    table = {key: value for key, value in words().items() if key != "footprint"}
    table["elevation"] = [{"name": "south", "orientation": 180, "length": 9}]
    with pytest.raises(RefusalError, match="has no outline to set among its neighbours"):
        survey_building(table, neighbours="absent.geojson")


def test_details_of_one_elevation_that_make_no_sense_are_refused_with_the_file():
    for told, said in (({"frame_type": "jelly"}, "'jelly'"), ({"no_such_thing": 1}, "no.such.thing")):
        with pytest.raises(RefusalError, match=said):
            survey_building(words(roof="hip", details={"elevations": {"north-west": told}}))
    with pytest.raises(RefusalError, match="details of an elevation called 'attic'"):
        survey_building(words(roof="hip", details={"elevations": {"attic": {"storeys": 2}}}))


def test_the_summary_holds_what_was_not_told(climate):
    assessment, surveyed = assess_file(words(roof="gable", ridge_height=9), climate)
    told = assessment_summary(assessment, surveyed)["not_told"]
    eaves = [one for one in told if one["what"] == "eaves"]
    assert {one["elevation"] for one in eaves} == {"south-east", "north-west"}
    for one in eaves:
        assert one["would_be"][0]["wall_spell_index"] == pytest.approx(0.6 * one["wall_spell_index"])


def test_the_public_way_from_a_file_to_walls_is_there_and_tells_its_words():
    import exposure
    from exposure.detail import questions

    for name in ("read_building", "read_footprint", "survey_building", "assess_file"):
        assert ">>>" in getattr(exposure, name).__doc__ or name == "assess_file"
        assert name in exposure.__all__
    told = " ".join(exposure.Circumstances.__doc__.split())
    for one in questions():
        assert one.key in told
        for choice in one.choices:
            assert f"``{choice}``" in told


def test_eaves_that_nobody_told_count_for_nothing_in_a_local_rule_either():
    from exposure.detail import Circumstances

    assert Circumstances().eaves is None


def test_a_gable_is_taken_off_as_a_triangle_on_a_rectangle():
    from test_detail_rules import schedule_with

    from exposure.detail.take_off import take_off
    from exposure.wall import Wall

    def quantities(**more):
        wall = Wall(name="south-west", orientation=225, length=8, shape="two-storey gable", **more)
        return take_off(wall, schedule_with(spell=60.0, push=200.0), [])

    gable = quantities(height=9.0, eaves_height=5.0)
    assert gable.wall_area == pytest.approx(8 * 5 + 8 * 4 / 2)  # by hand
    level = quantities(height=7.0, eaves_height=7.0)  # as tall as the gable is in the mean
    assert gable.membrane == pytest.approx(level.membrane)
    assert gable.batten == pytest.approx(level.batten)  # the wide one stands in place of one as long
    wide = [
        next(much for kind, much in one.by_kind["batten"].items() if "wide" in kind) for one in (gable, level)
    ]
    # by hand: that of the gable's corner stands to the eaves, 5 m, not 7, from as far above the ground; a tenth of waste
    assert wide[1] - wide[0] == pytest.approx(1.1 * (7 - 5))


def test_a_cut_corner_is_a_gable_only_where_it_looks_along_the_ridge():
    # 20 by 10 m, the ridge east and west; corners cut so that one wall looks 30 degrees off it and one 60
    plan = shapely.Polygon([(0, 0), (20, 0), (20, 7.4), (18.5, 10), (2.6, 10), (0, 8.5)])
    walls, _ = elevations_of(plan, height=6, roof=Roof(form="gable", eaves=350))
    cut = {round(wall.orientation) % 360: wall.shape for wall in walls}
    assert cut[60] == "two-storey gable"  # 30 degrees off the ridge's end
    assert cut[330] == "two-storey eaves wall"  # 60 degrees off


def test_a_panel_reads_the_sentence_of_one_elevation(climate):
    assessment, _ = assess_file(words(roof="gable", ridge_height=9), climate)
    for one in assessment.assumptions:
        assert str(one.doubt).endswith(".")
        assert one.doubt.subject == one.elevation
