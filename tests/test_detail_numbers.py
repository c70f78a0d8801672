"""Every number of ``cases/details.toml`` against the code, one test a row; the source stands beside the number."""

import pytest
from outside import agrees, checks_about

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
        {"pressure": 100.0},
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


def risk_points(*, wind, part=False, **facts):
    result = evaluate_rule(find_rule("new zealand"), facts, {"wind_zone": wind, "part_storeys": part})
    return float(result.figures.split("risk points ")[1].split(",")[0])


def verification_open(score, pressure):
    answers = {
        "risk_score": score,
        "ultimate_pressure": pressure,
        "climate_zone": 2,
        "insulated_outside": True,
    }
    return not evaluate_rule(find_rule("australia"), {}, answers).specific_design


WORKED = {
    "pressure-10": lambda: velocity_pressure(10.0),
    "pressure-30kmh": lambda: velocity_pressure(30 / 3.6),
    "fan-50": lambda: wind_of_pressure(50.0),
    "head-200": lambda: head_of_water(200.0),
    "head-600": lambda: head_of_water(600.0),
    "psf": lambda: pascals_of_psf(6.24),
    "spray": lambda: litres_of_gallons(5.0),
    "en12208-149": lambda: class_passed(149),
    "en12208-150": lambda: class_passed(150),
    "en12208-599": lambda: class_passed(599),
    "en12208-600": lambda: class_passed(600),
    "en12208-750": lambda: class_passed(750),
    "break-wet-mild": lambda: capillary_break(2825, 1.44),
    "break-cold-dry": lambda: capillary_break(3520, 0.86),
    "break-cold-wet": lambda: capillary_break(4000, 1.49),
    "break-edge-low": lambda: capillary_break(3399, 0.90),
    "break-edge-high": lambda: capillary_break(3400, 1.00),
    "moisture-index": lambda: moisture_index(1.0, 0.6),
    "nz-score": lambda: risk_points(
        wind="very high",
        storeys=2,
        roof_meets_wall="covers part of it",
        eaves=500.0,
        junctions="two claddings or angled corners",
        deck="slatted or roofed over, above the ground",
    ),
    "nz-max": lambda: risk_points(
        wind="extra high",
        storeys=3,
        roof_meets_wall="roof or gutter ends inside the wall",
        eaves=0.0,
        junctions="complex, with unusual junctions",
        deck="enclosed at the second floor or above",
    ),
    "ncc-20-2.5": lambda: verification_open(20, 2.5),
    "ncc-21-2.5": lambda: verification_open(21, 2.5),
    "ncc-20-2.51": lambda: verification_open(20, 2.51),
    "permeance-0.002": lambda: permeance_class(0.002),
    "permeance-0.1": lambda: permeance_class(0.1),
    "permeance-0.5": lambda: permeance_class(0.5),
    "permeance-2.0": lambda: permeance_class(2.0),
    "perm-unit": lambda: permeance_in_perm(0.143),
    "psat-10": lambda: saturation_pressure(10.0),
    "psat-20": lambda: saturation_pressure(20.0),
    "psat-ice": lambda: saturation_pressure(-10.0),
    "diffusion": lambda: 24 * diffusion(1.14, 500.0),
    "venting": lambda: 24 * venting(50.0, 20.0, 2.0),
    "mould-rh-5": lambda: critical_humidity(5.0),
    "mould-rh-10": lambda: critical_humidity(10.0),
    "mould-rh-20": lambda: critical_humidity(20.0),
    "pressure-at-wall": lambda: (
        velocity_pressure(10.0) * terrain_roughness_coefficient(category="III", height=8) ** 2
    ),
    "gust-factor": lambda: gust_factor(height=10, roughness_length=0.05),
}


@pytest.mark.parametrize("name", checks_about("details"))
def test_number(name):
    agrees(WORKED[name](), name)


def test_every_row_is_worked():
    assert set(WORKED) == set(checks_about("details"))
