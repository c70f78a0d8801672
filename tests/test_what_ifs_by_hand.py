"""What-ifs of a small house: what each offers and changes by hand, and against surveys told otherwise."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from builders import surveyed_place
from site_world import PLANE, cover, neighbours, raster, weather
from test_assess_site import GRASS, TREES, WATER, WORDS
from test_site_footprint import geojson, in_degrees

from exposure.assess.assumptions import (
    Answer,
    Assumption,
    assumption_doubts,
    assumptions_of,
    other_answers,
    own_doubts,
)
from exposure.assess.building import assess_building
from exposure.assess.from_files import resurvey, survey_building
from exposure.assess.what_changes import Then, building_what_ifs, line_changes, what_changes
from exposure.assess.what_if import (
    Change,
    changes,
    eaves_changed,
    estate_half_built,
    neighbours_removed,
    storey_added,
    trees_felled,
    what_ifs,
)
from exposure.doubts import has_doubt
from exposure.rain.index import airfield_index
from exposure.site.roughness import terrain_roughness_coefficient
from exposure.wall.building import OUTSIDE_TABLE
from exposure.wall.building_words import building_from_words

BARN = (-100, -40, 100, -24)


def survey(words=None, **more):
    """The small house with other words, None for what is not told; without maps where none is given."""
    told = {key: value for key, value in (WORDS | (words or {})).items() if value is not None}
    return resurvey(building_from_words(told), **{"ground": None, "cover": None, "neighbours": None} | more)


def by_name(surveyed):
    return {wall.name: wall for wall in surveyed.building.walls}


# ------------------------------------------------------------------ the survey


def test_the_hill_is_that_of_the_lowest_wall_and_every_doubt_is_said_once():
    # the gables reach 8 m, the eaves 6; a hill speeds the wind most near the ground
    ground = raster(lambda x, y: np.clip((x + 300) / 5, 0, 60), pixel=20.0)
    near = neighbours((-20, 30, 20, 40), heights=9.0)
    near = replace(near, flags=("Of the neighbours.",))
    found = survey({"place": {**WORDS["place"], "terrain": "II"}}, ground=ground, neighbours=near)
    assert found.site.hill_coefficients == surveyed_place(name="P", plane=PLANE, height=6.0, ground=ground, terrain="II").hill_coefficients  # fmt: skip
    assert found.site.hill_coefficients != surveyed_place(name="P", plane=PLANE, height=8.0, ground=ground, terrain="II").hill_coefficients  # fmt: skip
    assert found.flags == found.site.flags
    assert found.site.flags[: len(found.place.notes) + 1] == (*found.place.notes, "Of the neighbours.")
    assert not has_doubt(found.flags, "site.neighbours_not_told")
    bare = survey()
    assert (bare.ground, bare.cover, bare.neighbours) == (None, None, None)
    assert bare.flags[len(bare.place.notes)].key == "site.neighbours_not_told"
    of_the_house = bare.place.notes  # before those of ground and neighbours
    noted = replace(bare, place=replace(bare.place, notes=("First.", "First.", *of_the_house)))
    assert noted.flags == ("First.", *bare.flags)
    others = bare.flags[len(of_the_house) :]
    assert replace(bare, neighbours=near).flags == (*of_the_house, "Of the neighbours.", *others)


def test_a_wall_against_another_house_is_left_out(tmp_path):
    house, next_door = shapely.box(-6, -4, 6, 4), shapely.box(6, -4, 18, 4)
    path = geojson(
        tmp_path / "row.geojson", in_degrees(house), in_degrees(next_door),
        properties=[{"name": "House", "height": 6.0, "storeys": 2, "roof": "hip", "eaves": 350}, {"height": 6.0}],
    )  # fmt: skip
    found = survey_building(path, name="House", neighbours=path)
    assert set(by_name(found)) == {"north", "south", "west"}
    assert found.neighbours.polygons.size == 1
    assert set(by_name(survey_building(path, name="House"))) == {"north", "east", "south", "west"}
    for one in building_what_ifs(found, {}):  # whatever would be, the other house stays
        if one.words not in ("the neighbours pulled down", "half the neighbours not built yet"):
            assert set(by_name(one.surveyed())) == {"north", "south", "west"}


# ------------------------------------------------------------------ what would be if


def test_a_storey_more_raises_every_wall_and_every_answer():
    told = {"roof": None, "ridge_height": None, "eaves": None}  # an untold roof: each form is an answer
    for words, storeys, shapes in (
        (told, 2, {"three-storey gable", "three-storey eaves wall", "multi-storey, flat roof"}),
        (told, 1, {"two-storey gable", "two-storey eaves wall", "two-storey, flat roof"}),
        (told, 3, {OUTSIDE_TABLE, "multi-storey, flat roof"}),
        ({"roof": "flat", "ridge_height": None, "eaves": None}, 2, {"multi-storey, flat roof"}),
        ({"roof": "hip", "ridge_height": None, "eaves": 100}, 2, {OUTSIDE_TABLE}),
    ):
        before = survey(words | {"storeys": storeys, "height": 3.0 * storeys})
        after = storey_added(before)
        assert after.building.storeys == storeys + 1
        seen = set()
        for old, new in zip(before.building.walls, after.building.walls, strict=True):
            answers = [
                pair
                for one, other in zip(old.untold, new.untold, strict=True)
                for pair in zip((a for _, a in one.answers), (b for _, b in other.answers), strict=True)
            ]
            for mine, then in ((old, new), *answers):
                assert then.height == pytest.approx(mine.height + 3)
                assert (then.eaves_height is None) == (mine.eaves_height is None)
                assert mine.eaves_height is None or then.eaves_height == pytest.approx(mine.eaves_height + 3)
                seen.add(then.shape)
        assert seen == shapes, words
        assert (after.place, after.words) == (before.place, before.words)


def test_neighbours_pulled_down_leave_nothing_in_view():
    found = survey(
        {"ridge_height": 8.0, "eaves": None, "roof": "gable"}, neighbours=neighbours(BARN, heights=9.0)
    )
    bare = neighbours_removed(found)
    assert by_name(found)["south"].view is not None
    assert by_name(found)["south"].obstacle_distance == pytest.approx(20.0, abs=0.1)
    for wall in bare.building.walls:
        for one in (wall, *(other for told in wall.untold for _, other in told.answers)):
            assert (one.view, one.obstacle_distance) == (None, None)
    assert any(wall.untold for wall in bare.building.walls)
    assert bare.site is found.site


def test_half_an_estate_is_about_half_and_every_wall_is_looked_at_again():
    # a barn 20 m to the south and one to the north, and two hundred sheds too far off to shelter anything
    far = [(300 + 20 * k, 20 * n, 310 + 20 * k, 20 * n + 10) for k in range(10) for n in range(20)]
    around = neighbours(BARN, (-100, 24, 100, 40), *far, heights=9.0)
    own = {"wall": {"east": {"obstacle_distance": 30.0}}}
    found = survey(own, neighbours=around)
    seen = set()
    for share, seed, low, high in (
        (0.5, 1, 0.4, 0.6),
        (0.5, 2, 0.4, 0.6),
        (0.5, 3, 0.4, 0.6),
        (0.25, 1, 0.65, 0.85),
    ):
        then = estate_half_built(found, share=share, seed=seed)
        assert low < then.neighbours.polygons.size / around.polygons.size < high
        # a second way: the same house surveyed among those that are left
        again = survey(own, neighbours=then.neighbours)
        for wall, other in zip(then.building.walls, again.building.walls, strict=True):
            assert (wall.obstacle_distance, wall.view) == (other.obstacle_distance, other.view)
        assert by_name(then)["east"].obstacle_distance == 30.0  # what the user set stays
        seen.add(by_name(then)["south"].obstacle_distance)
    assert len(seen) == 2  # with the barn and without
    plain, told = estate_half_built(found), estate_half_built(found, share=0.5, seed=1)
    assert [one.wkt for one in plain.neighbours.polygons] == [one.wkt for one in told.neighbours.polygons]


def test_trees_felled_are_grass():
    def land(trees):
        return cover(lambda x, y: np.where(x < -60, WATER, np.where(x > 150, trees, GRASS)))

    found = trees_felled(survey(cover=land(TREES)))
    assert found.site.categories == survey(cover=land(GRASS)).site.categories != survey(cover=land(TREES)).site.categories  # fmt: skip
    assert found.cover is not None


def test_each_what_if_is_offered_where_it_means_something():
    def offered(words=None, **more):
        return list(what_ifs(survey(words, **more)))

    eaves, higher = "eaves cut back to 100 mm", "one storey more"
    none, half, felled = "the neighbours pulled down", "half the neighbours not built yet", "the trees felled"
    assert offered() == [eaves, higher]
    assert offered({"roof": "flat", "ridge_height": None, "eaves": None}) == [higher]
    assert offered(cover=cover(lambda x, y: x * 0 + GRASS, pixel=500.0)) == [felled, eaves, higher]
    assert offered(neighbours=neighbours(BARN, heights=9.0)) == [none, half, eaves, higher]
    low = neighbours(BARN, heights=3.0)  # it shelters nothing, and might not stand yet
    assert offered(neighbours=low) == [half, eaves, higher]
    assert offered(neighbours=low.without(np.array([True]))) == [eaves, higher]
    # by the table of obstructions a distance of 120 m or more shelters nothing
    for away, first in ((119.9, [none]), (120.0, [])):
        assert offered({"wall": {"south": {"obstacle_distance": away}}}) == [*first, eaves, higher]


def test_eaves_are_widened_and_cut_back_on_eaves_walls_alone():
    found = survey()
    for overhang, shape in (
        (100, OUTSIDE_TABLE),
        (350, "two-storey eaves wall"),
        (900, "two-storey eaves wall"),
    ):
        walls = by_name(eaves_changed(found, overhang=overhang))
        assert walls["north"].shape == walls["south"].shape == shape
        assert walls["east"] == by_name(found)["east"]
    cut = by_name(what_ifs(found)["eaves cut back to 100 mm"])
    assert cut["north"].factor_reason == "eaves of 100 mm, narrower than the table's 350 mm"


def test_changes_stand_beside_one_another_hardest_first():
    climate = weather(2)
    found = survey({"place": {**WORDS["place"], "terrain": "II"}})
    before = assess_building(climate, found.building, found.site)
    after = eaves_changed(found, overhang=100)
    then = assess_building(climate, after.building, after.site)
    old = {one.wall.name: one for one in before.elevations}
    wanted = [
        Change(one.wall.name, old[one.wall.name].wall_spell_index, one.wall_spell_index,
               old[one.wall.name].exposure_class, one.exposure_class)
        for one in then.elevations
    ]  # fmt: skip
    assert changes(climate, before, after) == wanted
    assert [one.after for one in wanted] == sorted((one.after for one in wanted), reverse=True)
    fewer = replace(before, elevations=before.elevations[:2])
    names = {one.wall.name for one in fewer.elevations}
    assert changes(climate, fewer, after) == [one for one in wanted if one.name in names]


# ------------------------------------------------------------------ what the panel offers


def words_of(surveyed, **told):
    return [(one.starts, one.words) for one in building_what_ifs(surveyed, told)]


GROUND = [("With", "open farmland all round"), ("With", "suburbs or woods all round")]
ROOFS = {
    "gable": ("With", "a pitched roof with gables"),
    "hip": ("With", "a pitched roof, eaves all round"),
    "flat": ("With", "a flat roof"),
}
BUILT = [("If", f"built as {wall}") for wall in ("masonry veneer", "cavity masonry", "rendered board")]
SEAL = ("With", "the inner air seal of each window tested")


def test_what_is_offered_of_a_house_by_hand():
    plain = [("With", "eaves cut back to 100 mm"), ("With", "one storey more")]
    assert words_of(survey()) == [*plain, *GROUND, ROOFS["hip"], ROOFS["flat"], *BUILT, SEAL]
    hip = survey({"roof": "hip", "ridge_height": None})
    assert words_of(hip, air_seal_tested=True) == [*plain, *GROUND, ROOFS["gable"], ROOFS["flat"], *BUILT]
    suburb = survey({"place": {**WORDS["place"], "terrain": "III"}})
    assert GROUND[1] not in words_of(suburb)
    assert GROUND[0] in words_of(suburb)
    assert not set(ROOFS.values()) & set(words_of(survey({"roof": None, "ridge_height": None})))
    south = {"name": "south", "orientation": 180, "length": 9, "shape": "two-storey gable"}
    nothing = dict.fromkeys(("roof", "ridge_height", "eaves", "footprint"))
    listed = survey({"elevation": [south], **nothing})
    assert words_of(listed) == [("With", "one storey more"), *GROUND, *BUILT, SEAL]
    veneer = words_of(survey(), wall_type="masonry veneer")
    assert ("If", "built as masonry veneer") not in veneer
    assert len([one for one in veneer if one[0] == "If"]) == 3


def test_another_ground_leaves_the_hills_that_were_told():
    place = {
        **WORDS["place"],
        "sector": {"270": {"terrain": "I", "topography": 1.3}, "90": {"terrain": "IV"}},
    }
    found = {one.words: one for one in building_what_ifs(survey({"place": place | {"terrain": "III"}}), {})}
    for words, ground in (("open farmland all round", "II"), ("suburbs or woods all round", "III")):
        then = found[words].surveyed()
        assert then.site.categories == (ground,) * 12
        assert then.site.hill_coefficients == (1.0,) * 9 + (1.3,) + (1.0,) * 2
        assert then.place.name == "Field"


def test_another_roof_takes_nothing_of_the_old_one():
    found = {one.words: one for one in building_what_ifs(survey({"gables": ["east", "west"]}), {})}
    flat = found["a flat roof"].surveyed()
    assert {wall.shape for wall in flat.building.walls} == {"two-storey, flat roof"}
    assert {wall.height for wall in flat.building.walls} == {6.0}
    hip = found["a pitched roof, eaves all round"].surveyed()
    assert {wall.shape for wall in hip.building.walls} == {"two-storey eaves wall"}  # its 350 mm stay told


def line(key, build, where="Sill"):
    return SimpleNamespace(key=key, build=build, where=where)


def schedule(*lines, floor=()):
    return SimpleNamespace(lines=lines, floor=floor)


def test_lines_that_read_otherwise_by_hand():
    before = schedule(line("a", "one"), line("b", "two", "Head"), line("c", "three", "Jamb"))
    after = schedule(line("d", "four", "Base"), line("c", "3", "Side"), line("a", "one"))
    told = [(one.where, one.before, one.after) for one in line_changes(before, after)]
    assert told == [("Head", "two", ""), ("Side", "three", "3"), ("Base", "", "four")]
    assert line_changes(before, before) == ()
    asked = schedule(line("z", "ask a designer"), floor=before.lines)  # the floor stands for the schedule
    assert line_changes(asked, before) == line_changes(before, asked) == ()


def test_rows_of_the_panel_by_hand():
    one = SimpleNamespace(exposure=SimpleNamespace(wall=SimpleNamespace(name="south")))
    then = Then("a flat roof", (one,), "With")
    assert then.in_words == "With a flat roof"
    assert then.of("south") is one
    assert then.of("north") is None


def test_what_an_office_rule_asks_is_asked_of_every_what_if(monkeypatch):
    from exposure.detail.rule_file import read_rule_text

    rule = read_rule_text(
        '[rule]\nkey = "o"\nname = "O"\n[source]\ndocument = "d"\nplace = "p"\n[[outcome]]\nwhen = []\nsays = "s"\n'
        'standing = "ours"\nasks = [{row = "cav_depth", way = "at least", value = 60}]\n'
    )
    climate, found = weather(2), survey({"place": {**WORDS["place"], "terrain": "II"}})
    assessment = assess_building(climate, found.building, found.site)
    wanted = [
        one for one in building_what_ifs(found, {"storeys": 1}) if one.words in ("one storey more", SEAL[1])
    ]
    monkeypatch.setattr("exposure.assess.what_changes.building_what_ifs", lambda *_: wanted)
    now, higher, tested = what_changes(
        climate, assessment, found, circumstances={"storeys": 1}, office_rules=[rule]
    )
    for then in (now, higher, tested):
        for one in then.elevations:
            (depth,) = [row.value for row in one.schedule.lines if row.key == "cav_depth"]
            assert depth == 60
    assert (now.words, now.starts, higher.starts, tested.starts) == ("as it stands", "", "With", "With")
    # the seal changes no exposure: the assessment itself is taken, not made again
    assert [one.exposure for one in tested.elevations] == list(assessment.elevations)
    assert all(one.changes == () for one in now.elevations)


# ------------------------------------------------------------------ what nobody told


def test_answers_change_only_what_nobody_told():
    # terrain told to the west alone, a hill to the south alone; the rest is open ground without hills
    place = {**WORDS["place"], "sector": {str(k): {"terrain": "III"} for k in range(180, 360, 30)}}
    place["sector"]["180"] = {"terrain": "III", "topography": 1.3}
    found = survey({"place": place})
    climate = weather(2)
    facing = np.unique([wall.orientation for wall in found.building.walls])
    index = airfield_index(climate, orientation=facing)
    one = assess_building(climate, found.building, found.site)
    for mine in one.elevations:
        told = {a.what: a for a in assumptions_of(index, found.site, [mine])}
        assert list(told) == ["ground", "hills", "neighbours"]
        assert [told[what].taken for what in told] == [
            "open water or bare flat ground",
            "flat ground",
            "none",
        ]
        assert [a.words for a in told["ground"].would_be] == ["farmland", "a suburb or woods"]
        # by the survey told otherwise: ground of the six sectors alone, a crest in the eleven
        for answer, ground in zip(told["ground"].would_be, ("II", "III"), strict=True):
            other = {
                **place,
                "sector": place["sector"] | {str(k): {"terrain": ground} for k in range(0, 180, 30)},
            }
            assert answer.wall_spell_index == pytest.approx(spell_of(climate, other, mine.wall.name))
        crest = {str(k): {**place["sector"].get(str(k), {}), "topography": 1.2} for k in range(0, 360, 30)}
        crest["180"]["topography"] = 1.3
        (hill,) = told["hills"].would_be
        assert hill.words == "a crest of 1 in 10"
        assert hill.wall_spell_index == pytest.approx(
            spell_of(climate, {**place, "sector": crest}, mine.wall.name)
        )
        (near,) = told["neighbours"].would_be
        assert (near.words, near.wall_spell_index) == ("a building as tall at 20 m", pytest.approx(0.4 * mine.wall_spell_index))  # fmt: skip


def test_what_was_not_told_is_a_doubt_where_it_matters_or_is_no_longer_known():
    def taken(what, elevation, *answers):
        return Assumption(
            what, elevation, "none", 60.0, "severe", tuple(Answer("told", *one) for one in answers)
        )

    moves, stays = (50.0, "moderate"), (60.2, "severe")
    told = [
        taken("eaves", "south", stays), taken("eaves", "east", moves), taken("eaves", "north", stays, moves),
        taken("roof", "south"), taken("hills", "south", moves), taken("hills", "east", moves),
        taken("shape", "south", stays),
    ]  # fmt: skip
    eaves, roof, hills = assumption_doubts(told)
    assert [one.key for one in (eaves, roof, hills)] == [
        "assess.eaves_not_told", "wall.read_back", "assess.hills_not_told",
    ]  # fmt: skip
    assert (eaves.subject, roof.subject, hills.subject) == ("east", "south", "south")
    assert eaves.endswith("; nor is it told of north.")
    assert "nor is it told" not in hills  # the same all round
    assert eaves.numbers["would_be"] == [["told", 50.0, "moderate"]]
    assert (eaves.numbers["assumed"], eaves.numbers["wall_spell_index"], eaves.numbers["exposure_class"]) == ("none", 60.0, "severe")  # fmt: skip
    assert [one.key for one in own_doubts(told, "south")] == ["wall.read_back"]
    assert [one.key for one in own_doubts(told, "north")] == ["assess.eaves_not_told"]
    assert own_doubts(told, "west") == assumption_doubts([]) == []


def spell_of(climate, place, name):
    found = survey({"place": place})
    one = assess_building(climate, found.building, found.site)
    return next(mine.wall_spell_index for mine in one.elevations if mine.wall.name == name)


def test_the_other_answer_of_a_suburb_is_farmland_and_a_view_gives_way():
    climate = weather(2)
    found = survey({"place": {**WORDS["place"], "terrain": "III"}}, neighbours=neighbours(BARN, heights=9.0))
    assessment = assess_building(climate, found.building, found.site)
    for one in assessment.elevations:
        answers = other_answers(assessment.index, found.site, one)
        farm, suburb = (
            terrain_roughness_coefficient(category=c, height=one.wall.height) for c in ("II", "III")
        )
        assert answers["ground"].words == "farmland all round"
        assert answers["ground"].wall_spell_index == pytest.approx(one.wall_spell_index * farm / suburb)
        shelter = one.factors[2].value  # 0.4 before the barn, 1 elsewhere
        assert answers["neighbours"].wall_spell_index == pytest.approx(one.wall_spell_index * 0.4 / shelter)
        roof, eaves = ("eaves", None) if "gable" in one.wall.shape else ("a gable", "none")
        assert answers["roof"].words == roof
        assert ("eaves" in answers) == (eaves is not None)
        assert eaves is None or answers["eaves"].words == eaves
    assert {one.factors[2].value for one in assessment.elevations} == {0.4, 1.0}
