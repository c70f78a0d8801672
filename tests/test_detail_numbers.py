"""Every number of ``cases/details.toml`` against the code, one test a row; the source stands beside the number."""

import pytest
from outside import CHECKS, agrees, checks_about, inputs_of

from exposure.detail.rule_file import find_rule
from exposure.detail.rules import evaluate_rule
from exposure.detail.vapour import (
    critical_humidity,
    diffusion,
    permeance_class,
    permeance_in_perm,
    saturation_pressure,
    venting,
)
from exposure.detail.window_class import class_passed, litres_of_gallons, pascals_of_psf
from exposure.rain.wind_pressure import gust_factor, head_of_water, velocity_pressure, wind_of_pressure
from exposure.site.roughness import terrain_roughness_coefficient


def capillary_break(degree_days, moisture_index):
    result = evaluate_rule(
        find_rule("canada"),
        {"pressure": 100.0, "wall_type": "cavity masonry"},  # without battens, which have a size of their own
        {"degree_days": degree_days, "moisture_index": moisture_index},
    )
    return any(ask.row == "cav_depth" for ask in result.asks)


def moisture_index(wetting, drying):
    result = evaluate_rule(
        find_rule("canada"),
        {"pressure": 100.0},
        {"degree_days": 3000, "wetting_index": wetting, "drying_index": drying},
    )
    return float(result.figures.split("moisture ")[1].split(",")[0])


def risk_points(*, wind, junctions, part=False, **facts):
    answers = {"wind_zone": wind, "part_storeys": part, "junctions": junctions}
    result = evaluate_rule(find_rule("new zealand"), {"parapet": False, **facts}, answers)
    return float(result.figures.split("risk points ")[1].split(",")[0])


def verification_open(score, pressure):
    answers = {
        "risk_score": score,
        "ultimate_pressure": pressure,
        "climate_zone": 2,
    }
    return not evaluate_rule(find_rule("australia"), {}, answers).specific_design


WORKED = {
    "velocity pressure": velocity_pressure,
    "velocity pressure of km/h": lambda wind_speed: velocity_pressure(wind_speed / 3.6),
    "velocity pressure at a wall": lambda wind_speed, category, height: (
        velocity_pressure(wind_speed) * terrain_roughness_coefficient(category=category, height=height) ** 2
    ),
    "wind of pressure": wind_of_pressure,
    "head of water": head_of_water,
    "pressure of lbf/ft2": pascals_of_psf,
    "spray of US gallons": litres_of_gallons,
    "class passed": class_passed,
    "capillary break": capillary_break,
    "moisture index": moisture_index,
    "risk points": risk_points,
    "verification open": verification_open,
    "permeance class": permeance_class,
    "permeance in perm": permeance_in_perm,
    "saturation pressure": saturation_pressure,
    "diffusion in a day": lambda permeance, pressure: 24 * diffusion(permeance, pressure),
    "venting in a day": lambda changes, depth, spare: 24 * venting(changes, depth, spare),
    "critical humidity": critical_humidity,
    "gust factor": lambda height, roughness_length: gust_factor(
        height=height, roughness_length=roughness_length
    ),
}


@pytest.mark.parametrize("name", checks_about("details"))
def test_number(name):
    work = WORKED[CHECKS[name]["quantity"]]
    given = inputs_of(name)
    agrees(work(**given) if work is risk_points else work(*given.values()), name)


def test_every_quantity_is_asked():
    assert set(WORKED) == {CHECKS[name]["quantity"] for name in checks_about("details")}
