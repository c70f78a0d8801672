"""One level lower is told in the words that a wall at that level is told: in the schedule's lines and beside the drawings."""

import itertools

import pytest
from test_detail_ladder import FRAMED_WALLS, exposure_of, pressure_of
from test_detail_rules import ANSWERS

from exposure.checks import RefusalError
from exposure.detail import Circumstances, detail_schedule
from exposure.detail import schedule as schedule_module
from exposure.detail.ladder import CAVITY_ROWS, DAMS, LIGHT_CAVITIES, NOTHING_ASKED, ladder_rows
from exposure.detail.levels import find_levels
from exposure.figures import amount
from exposure.junction.catalogue import drawings_of
from exposure.junction.numbers import numbers_of
from exposure.junction.one_lower import one_lower

RULES = ("", *ANSWERS)
EXPOSURES = ((20.0, 150.0), (45.0, 60.0), (70.0, 150.0), (110.0, 150.0), (70.0, 400.0))
ASIDE = (  # what else changes words or raises figures
    {"threshold": "level at every door", "deck": "enclosed at the first floor"},
    {"parapet": True, "roof_below": "flatter than 10 degrees", "threshold": "no door on this wall"},
    {"snow_depth": 400.0, "roof_meets_wall": "roof or gutter ends inside the wall"},
)


def both(exposure, pressure, circumstances):
    """The schedule of a wall, and that of the same wall made one level lower, under the same wind."""

    def lower(*told, floors=(), **named):
        return find_levels(*told, floors=floors, **named).one_lower

    here = detail_schedule(exposure, pressure, circumstances)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(schedule_module, "find_levels", lower)
        return here, detail_schedule(exposure, pressure, circumstances)


def walls(rule, aside):
    """Every wall and frame under a country's rules, with what stands beside it."""
    answers = {"local_rules": (rule,), "rule_answers": {rule: ANSWERS[rule]}} if rule else {}
    for wall, sheathing, window, frame in FRAMED_WALLS:
        try:
            yield Circumstances(
                wall_type=wall,
                sheathing=sheathing,
                window_position=window,
                frame_type=frame,
                **aside,
                **answers,
            )
        except RefusalError:
            continue


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("aside", ASIDE)
@pytest.mark.parametrize(
    "share", [(0,), pytest.param((1, 2), marks=pytest.mark.slow)], ids=["every third", "the others"]
)
def test_a_line_tells_one_level_lower_what_the_wall_made_so_is_told(rule, aside, share):
    """Where the figure is the same and the words are not, the words are told; "the same" is said of both.

    Every third of all walls under all exposures: five exposures, so that each wall meets one or two, each exposure every third wall.
    """
    compared = 0
    cases = enumerate(itertools.product(walls(rule, aside), EXPOSURES))
    for circumstances, (spell, push) in (case for place, case in cases if place % 3 in share):
        here, there = both(exposure_of(spell), pressure_of(push), circumstances)
        if here.specific_design or there.specific_design:
            continue
        made = {line.key: line for line in there.lines}
        for line in here.lines:
            where = (line.key, circumstances, spell, push, line.one_lower)
            if line.key == "photo" or (line.key in DAMS and "by its own step" in line.one_lower):
                continue
            if line.key not in made:
                nothing = line.key in NOTHING_ASKED and (
                    "no count" in line.one_lower or "No smoke" in line.lower
                )
                assert nothing or line.lower == "Not asked.", where
                continue
            other = made[line.key]
            compared += 1
            if line.key in LIGHT_CAVITIES and "the flanges decide" in line.lower:
                own = amount(other.value, other.unit) if other.value else "no cavity"
                assert line.lower.startswith(f"{own} by its own step"), where
                continue
            if line.lower in ("", "The same."):
                assert (other.value, other.build) == (line.value, line.build), where
            elif isinstance(line.value, str) or other.value == line.value:
                assert line.lower == other.build, where
            elif (
                line.key == "cav_depth" and not other.value
            ):  # no figure: the words say behind what there is none
                assert line.lower == other.build, where
            elif other.value:
                assert line.lower == f"{amount(other.value, other.unit)}.", where
    assert compared > 1000 or rule


@pytest.mark.parametrize(
    ("spell", "push", "told"),
    [
        (
            45.0,
            60.0,
            "20\u00a0mm.",
        ),  # wetness 2, whose rod asks 25; at wetness 1 by hand a gust of 2.3 times 60 Pa holds up 14 mm, and 5
        (45.0, 50.0, "20\u00a0mm."),  # likewise 115 Pa, 12 mm, and 5
        (20.0, 60.0, ""),  # no rod is asked
        (110.0, 60.0, ""),  # a rod one level lower too
    ],
)
def test_a_back_raised_for_its_rod_tells_what_it_is_without_that(spell, push, told):
    lines = detail_schedule(exposure_of(spell), pressure_of(push), Circumstances()).lines
    (back,) = (one for one in lines if one.key == "back_dam")
    assert back.lower == told, back
    assert back.one_lower == (f"One level lower (wetness 1): {told}" if told else "This is the lowest level.")


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("aside", ASIDE)
def test_a_drawing_tells_one_level_lower_what_the_wall_made_so_is_told(rule, aside):
    units = {row.key: row.unit for row in ladder_rows()}
    some = list(walls(rule, aside))[RULES.index(rule) % 3 :: 3]
    told = 0
    for circumstances, (spell, push) in zip(some, itertools.cycle(EXPOSURES), strict=False):
        pressure = pressure_of(push)
        here, there = both(exposure_of(spell), pressure, circumstances)
        made = {line.key: line for line in there.lines}
        own = {line.key: line for line in here.lines}
        for drawing in drawings_of([("north", numbers_of(here, circumstances, pressure))])[0]:
            found = one_lower(drawing)
            changed = {one.row: one for one in found.changes} if found else {}
            for key in drawing.section.rows:
                line, other = own.get(key), made.get(key)
                differs = line and (not other or (line.value, line.build) != (other.value, other.build))
                if key in changed or not differs or (not other and key in CAVITY_ROWS):
                    continue
                pytest.fail(f"{drawing.stem} does not tell {key} one level lower")
            for key, one in changed.items():
                if key not in made:
                    assert one.words.lower() == f"not asked there: {own[key].build}".lower()
                    continue
                more = own[key].value not in (made[key].value, None) and not isinstance(own[key].value, str)
                said = made[key].build.removesuffix(".")
                assert one.words == said + (
                    f"; here {amount(own[key].value, units[key])}." if more else "."
                ), key
                told += 1
    assert told > 10 or rule
