"""What-ifs: each against a second way to the same figure (the file changed by hand and assessed anew)."""

import pytest

from exposure.assess.building import assess_building
from exposure.assess.details import detail_building
from exposure.assess.from_files import assess_file, survey_building
from exposure.assess.what_changes import AS_IT_STANDS, building_what_ifs, line_changes, what_changes
from exposure.assess.what_if import changes, storey_added
from exposure.detail import Circumstances
from exposure.invented import climate_at, invented_place
from exposure.page.parts.what_if_panel import _words


@pytest.fixture(scope="module")
def house():
    place = invented_place(progress=False)
    kept = {}

    def climate(site):
        kept["climate"] = climate_at(place, site.latitude, site.longitude)
        return kept["climate"]

    maps = {"ground": place.height, "cover": place.cover, "neighbours": place.houses}
    assessment, surveyed = assess_file(place.houses, climate, name="Wrack House", **maps)
    return assessment, surveyed, kept["climate"], maps


@pytest.fixture(scope="module")
def found(house):
    assessment, surveyed, climate, _ = house
    return {one.words: one for one in what_changes(climate, assessment, surveyed)}


def test_as_it_stands_is_the_assessment_and_its_schedule(house, found):
    assessment, _, climate, _ = house
    now = found[AS_IT_STANDS]
    details = detail_building(assessment, climate)
    for one in details.elevations:
        mine = now.of(one.name)
        assert mine.exposure == one.exposure
        assert mine.schedule == one.schedule
        assert mine.changes == ()


@pytest.mark.parametrize(
    ("words", "changed"),
    [
        ("open farmland all round", {"terrain": "II"}),
        ("suburbs or woods all round", {"terrain": "III"}),
        ("a flat roof", {"roof": "flat"}),
        ("a pitched roof, eaves all round", {"roof": "hip"}),
    ],
)
def test_a_what_if_is_the_file_changed_by_hand(house, found, words, changed):
    _, surveyed, climate, maps = house
    file = dict(surveyed.words)
    if "terrain" in changed:
        file["place"] = {**file["place"], **changed}
    else:
        file = {key: value for key, value in file.items() if key not in ("gables", "ridge_height")} | changed
    again, _ = assess_file(file, climate, **maps)
    for one in again.elevations:
        mine = found[words].of(one.wall.name).exposure
        assert mine.wall_spell_index == pytest.approx(one.wall_spell_index, rel=1e-9)
        assert mine.exposure_class == one.exposure_class
        assert mine.spell_band == pytest.approx(one.spell_band, rel=1e-9)


def test_the_terminal_says_the_same_of_a_storey_more(house, found):
    assessment, surveyed, climate, _ = house
    for one in changes(climate, assessment, storey_added(surveyed)):
        mine = found["one storey more"].of(one.name).exposure
        assert mine.wall_spell_index == pytest.approx(one.after)
        assert mine.exposure_class == one.class_after


def test_what_ifs_count_rain_by_the_threshold_of_the_assessment(house, monkeypatch):
    # a second way: the house a storey higher, assessed at that threshold by itself
    assessment, surveyed, climate, _ = house
    strict = assess_building(climate, surveyed.building, surveyed.site, wet_hour=2.0)
    higher = storey_added(surveyed)
    by_itself = assess_building(climate, higher.building, higher.site, wet_hour=2.0)
    wanted = [one for one in building_what_ifs(surveyed, {}) if one.words == "one storey more"]
    monkeypatch.setattr("exposure.assess.what_changes.building_what_ifs", lambda *_: wanted)
    _, then = what_changes(climate, strict, surveyed, wet_hour=2.0)
    for one in by_itself.elevations:
        mine = then.of(one.wall.name).exposure
        assert mine.wall_spell_index == pytest.approx(one.wall_spell_index)
        (other,) = [x for x in assessment.elevations if x.wall.name == one.wall.name]
        assert mine.airfield_annual_index < other.airfield_annual_index  # less rain counts
    for one in changes(climate, strict, higher, wet_hour=2.0):
        assert one.after == pytest.approx(then.of(one.name).exposure.wall_spell_index)


def test_what_changes_in_the_schedule_is_what_reads_otherwise(house, found):
    """Tested air seals: the same details computed anew, their lines compared by text."""
    assessment, _, climate, _ = house
    plain, tested = (
        detail_building(assessment, climate, {"storeys": 2, "air_seal_tested": answer})
        .of("south-west")
        .schedule
        for answer in (False, True)
    )
    told = {line.build for line in plain.lines} ^ {line.build for line in tested.lines}
    mine = found["the inner air seal of each window tested"].of("south-west").changes
    assert {words for one in mine for words in (one.before, one.after) if words} == told
    assert told
    back = line_changes(tested, plain)
    assert {(one.after, one.before) for one in back} == {(one.before, one.after) for one in mine}


def test_nothing_is_offered_that_is_so_already(house):
    _, surveyed, _, maps = house
    plain = {key: value for key, value in surveyed.words.items() if key not in ("gables", "ridge_height")}
    on_farmland = survey_building(
        {**plain, "place": {**plain["place"], "terrain": "II"}, "roof": "flat"}, **maps
    )
    offered = [
        one.words
        for one in building_what_ifs(on_farmland, {"wall_type": "rendered board", "air_seal_tested": True})
    ]
    for words in ("open farmland all round", "a flat roof", "built as rendered board"):
        assert words not in offered
    assert not any("air seal" in words for words in offered)
    assert "suburbs or woods all round" in offered
    for one in building_what_ifs(surveyed, {"parapet": True}):  # what is told of the details stays told
        assert one.circumstances["parapet"] is True
        assert one.circumstances.keys() - {"parapet"} == (
            {"wall_type"}
            if "built as" in one.words
            else {"air_seal_tested"}
            if "air seal" in one.words
            else set()
        )


def test_the_table_has_a_row_for_each_with_class_figure_and_band(house, found):
    assessment = house[0]
    table = _words(tuple(found.values()), "south-west")
    assert table.count('<th scope="row"') == len(found)
    worst = assessment.worst
    assert f"{worst.wall_spell_index:.0f}" in table
    assert "nothing changes" in table
    assert "As it stands" in table


def test_a_window_in_a_masonry_cavity_is_offered_masonry_alone(house):
    _, surveyed, *_ = house

    def built(**told):
        return [one.words for one in building_what_ifs(surveyed, told) if one.starts == "If"]

    in_cavity = built(window_position="in the masonry cavity", wall_type="cavity masonry")
    assert in_cavity == ["built as masonry veneer"]
    everything = ["built as masonry veneer", "built as cavity masonry", "built as rendered board"]
    assert built() == built(window_position="over the cavity") == everything


def test_another_wall_is_offered_whatever_frame_and_fixing_were_told(house):
    """What goes with one wall alone is open again under another, on the house and on an elevation of its own."""
    _, surveyed, _, _ = house
    told = {
        "frame_type": "nailing flange",
        "cladding_fixing": "boards on hidden nails or clips",
        "elevations": {"north-east": {"cladding_fixing": "boards screwed through the face", "parapet": True}},
    }
    built = [
        one.circumstances for one in building_what_ifs(surveyed, told) if one.words.startswith("built as")
    ]
    assert len(built) == 3
    for mine in built:
        assert Circumstances.from_mapping(mine, elevation="north-east").parapet
        assert Circumstances.from_mapping(mine).wall_type == mine["wall_type"]


def test_how_far_it_is_is_told_three_times_a_what_if(house, monkeypatch):
    # by hand: of two, each takes half; three tenths of it are the survey, five the assessment, two the schedule
    assessment, surveyed, climate, _ = house
    wanted = [
        one
        for one in building_what_ifs(surveyed, {})
        if one.words in ("one storey more", "built as rendered board")
    ]
    higher, board = (one.words for one in wanted)
    monkeypatch.setattr("exposure.assess.what_changes.building_what_ifs", lambda *_: wanted)
    told = []
    what_changes(climate, assessment, surveyed, tell=lambda *one: told.append(one))
    shares = [0.0, 0.15, 0.4, 0.5, 0.65, 0.9, 1.0]
    assert [share for share, _ in told] == pytest.approx(shares)
    assert [words for _, words in told] == [higher] * 3 + [board] * 3 + [""]


def test_it_can_be_stopped_between_two(house):
    assessment, surveyed, climate, _ = house
    told = []

    def tell(share, words):
        told.append((share, words))
        if len(told) == 3:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        what_changes(climate, assessment, surveyed, tell=tell)
    assert told[0][0] == 0
    assert len(told) == 3
