"""The brief for a laboratory, against what a tester asks for and figures by hand."""

from dataclasses import replace

import pytest
from test_detail_ladder import exposure_of, pressure_of

from exposure.detail import Circumstances, detail_schedule
from exposure.detail.laboratory import laboratory_brief
from exposure.detail.openings import Opening
from exposure.detail.water_check import water_check
from exposure.doubts import has_doubt
from exposure.tables.standing import STANDINGS


def check_of(name, spell, push, *, rating=None, openings=None, **fields):
    exposure = exposure_of(spell)
    exposure = replace(exposure, wall=replace(exposure.wall, name=name))
    schedule = detail_schedule(exposure, pressure_of(push), Circumstances(**fields))
    return water_check(schedule, pressure=push, rating=rating, openings=openings)


def facts_of(brief):
    return {line.where: line.text.replace("\u00a0", " ") for line in brief.facts}


def test_who_is_tested_at_once_and_who_after_failures():
    hard = check_of("south", 140.0, 400.0, rating=450.0, openings=12)
    soft, wrong = check_of("north", 45.0, 30.0, rating=450.0), check_of("west", 70.0, 250.0, rating=200.0)
    brief = laboratory_brief([hard, soft, wrong])
    assert brief.at_once == ("south",)
    facts = facts_of(brief)
    # three and a tenth of the other nine, rounded up: four
    assert (
        "On south 4 of 12: the first of each type at once, the others once they are in." in facts["What for"]
    )
    assert "On north only after an opening leaked twice" in facts["What for"]
    for openings, said in ((1, "On south its one opening: "), (2, "On south all 2: ")):
        few = facts_of(laboratory_brief([check_of("south", 140.0, 400.0, rating=450.0, openings=openings)]))
        assert said in few["What for"]
    assert "Not on west" in facts["What for"]
    # the larger of 400 and two thirds of 450; two thirds of 450 again; nothing where the window is wrong
    assert "south 400 Pa; north 300 Pa." in facts["Pressure"]
    assert "west" not in facts["Pressure"]
    assert "two thirds of it where that is more" in facts["Pressure"]


@pytest.mark.parametrize(
    ("push", "rating", "pressure"),
    [(30.0, None, 50.0), (30.0, 40.0, 40.0), (62.0, None, 70.0), (62.0, 150.0, 100.0)],
)
def test_a_chamber_gives_at_least_one_step_and_never_more_than_the_rating(push, rating, pressure):
    assert check_of("south", 45.0, push, rating=rating).chamber == ((rating, pytest.approx(pressure)),)
    at_once = check_of("south", 140.0, push, rating=rating)  # on site and in a laboratory alike
    assert at_once.pressures == at_once.chamber == ((rating, pytest.approx(pressure)),)


@pytest.mark.parametrize("openings", [None, 0, 3, 12])
@pytest.mark.parametrize("push", [30.0, 150.0, 400.0])
@pytest.mark.parametrize("spell", [5.0, 45.0, 70.0, 140.0])
def test_a_laboratory_is_named_the_walls_the_sheet_sends_there_and_no_other(spell, push, openings):
    check = check_of("south", spell, push, rating=700.0, openings=openings)
    facts = facts_of(laboratory_brief([check]))
    sent = bool(check.pressures) or "in a chamber under pressure" in check.on_failure
    assert (
        "south" in facts["What for"]
    ) == sent  # also one without a listed opening: its sheet says what holds for any there is
    assert ("south" in facts["Pressure"]) == sent
    assert has_doubt(check.flags, "detail.window_rating_unknown") is False  # 700 Pa were told
    untold = check_of("south", spell, push, openings=openings)
    assert has_doubt(untold.flags, "detail.window_rating_unknown") == (
        bool(untold.pressures) and openings != 0
    )


def test_the_least_pressure_is_called_the_first_step():
    # by hand: 30 Pa, two thirds of 60 Pa are 40: the first step of such a test is 50 Pa
    checks = [check_of("south", 45.0, 30.0, rating=60.0), check_of("north", 45.0, 62.0, rating=80.0)]
    brief = facts_of(laboratory_brief(checks))
    assert brief["Pressure"].startswith("south 50 Pa, the first step of such a test; north 70 Pa. ")


def test_a_pressure_is_no_last_one_while_a_rating_is_not_known():
    """Two thirds of a rating may be more: on site and in the laboratory the pressure stands beside the open question."""
    check = check_of("south", 140.0, 400.0)
    raised = next(step.text for step in check.steps if step.text.startswith("Raise")).replace("\u00a0", " ")
    assert "to 400 Pa (rating not known), and hold" in raised
    brief = laboratory_brief([check, check_of("north", 45.0, 30.0)])
    assert facts_of(brief)["Pressure"].startswith(
        "south 400 Pa (rating not known); north 50 Pa (rating not known), the first step of such a test. "
    )
    alone = laboratory_brief([check])
    assert "up to the pressure of its elevation and rating;" in alone.sequence[4].text


def test_the_first_of_a_type_and_the_fan_agree():
    brief = laboratory_brief([check_of("south", 140.0, 400.0)])
    when = facts_of(brief)["When"]
    assert "first of each type" in when
    assert "no other window has to be in" in when
    smoke = detail_schedule(exposure_of(140.0), pressure_of(400.0), Circumstances())
    search = next(line for line in smoke.lines if line.key == "smoke")
    # the house itself is sucked there
    assert search.build.startswith("Once every opening of the house is filled and shut")


def test_the_brief_speaks_of_the_walls_that_are_sent_there_and_of_no_other():
    """At once the first of each type, later one that leaked; sizes of a wall that is never sent are not told."""
    hard, soft = check_of("south", 140.0, 400.0, openings=2), check_of("north", 45.0, 30.0, openings=2)
    never = check_of("west", 5.0, 30.0, openings=2)
    sizes = [Opening("south", 1200, 1200), Opening("north", 900, 1200), Opening("west", 600, 600)]
    words = {
        "on the first of each type": [hard, never],
        "on the one that leaked twice": [soft, never],
        "on the first of each type, else on the one that leaked twice": [hard, soft, never],
    }
    for said, checks in words.items():
        facts = facts_of(laboratory_brief(checks, sizes))
        assert f"checks with water, {said}: " in facts["When"]
        assert ("1,200 by 1,200" in facts["Area"]) == (hard in checks)
        assert ("900 by 1,200" in facts["Area"]) == (soft in checks)
        assert "600 by 600" not in facts["Area"]


def test_area_water_and_order_by_hand():
    check = check_of("south", 140.0, 400.0, rating=450.0)
    brief = laboratory_brief([check], [Opening("south", 1200, 1200)])
    facts = facts_of(brief)
    # 1.8 m x 1.8 m = 3.24 m2, at 3.4 L a minute and m2 11 L a minute
    assert "3.2 m², 11 L a minute" in facts["Area"]
    assert facts["Spray"].startswith("3.4 L/(m²·min)")
    order = [
        "moisture",
        "chamber itself leaks",
        "joint masked, then",
        "no pressure",
        "up to 400",
        "next day",
        "again",
    ]
    texts = [line.text.replace("\u00a0", " ") for line in brief.sequence]
    places = [next(n for n, text in enumerate(texts) if word in text) for word in order]
    assert places == sorted(places)
    assert "hold the last for 30 min" in texts[4]
    # air is measured before the water, so that a dry joint is measured
    assert "Air leakage" in texts[2]
    fields = " ".join(line.text for line in brief.report)
    for word in (
        "calibration",
        "chamber's own leak",
        "photographs",
        "moisture",
        "signatures",
        "wind",
        "masked",
    ):
        assert word in fields + " ".join(line.where.lower() for line in brief.report)


def test_open_studs_are_boarded_for_the_chamber():
    film = laboratory_brief([check_of("south", 20.0, 400.0, sheathing="open studs")])
    assert "Open studs" in facts_of(film)
    assert "Open studs" not in facts_of(laboratory_brief([check_of("south", 20.0, 400.0)]))
    # a wall that the schedule boards may send its chamber to one that has none, after a leak
    boarded = check_of("south", 140.0, 400.0, sheathing="open studs")
    unpressed = check_of("north", 10.0, 20.0, sheathing="open studs")
    assert (boarded.film, unpressed.film, unpressed.chamber) == (False, True, ())
    told = facts_of(laboratory_brief([boarded, unpressed]))["Open studs"]
    assert told.startswith("Where no boards stand on the studs, ")


def test_every_line_names_who_says_so():
    brief = laboratory_brief([check_of("south", 140.0, 400.0, sheathing="open studs")])
    for line in (*brief.facts, *brief.sequence, *brief.report):
        assert line.standing in STANDINGS
        assert line.source
        assert "{" not in line.text
