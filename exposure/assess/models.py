"""What other models of driving rain give on one elevation, for the spread."""

import xarray as xr

from exposure.rain.models import ASHRAE_RAIN, ashrae_deposition, ashrae_exposure
from exposure.wall import Site, WallExposure

HILL = 1.2  # topography coefficient from which a site is called severe for the other model; our choice


def models_on_wall(one: WallExposure, site: Site, sums: xr.Dataset) -> dict[str, float]:
    """Yearly rain on the elevation by the free-field and the ASHRAE form. [L m-2 year-1]

    The free-field form has no wall factor of its own that is known here, so it takes the standard's four
    factors: what differs is the rain through a vertical plane. The ASHRAE form brings its own.

    Parameters
    ----------
    sums
        :func:`exposure.rain.models.other_model_sums` at this orientation.
    """
    exposed = ashrae_exposure(height=one.wall.height, exposure=ashrae_site(one, site))
    roof = ashrae_deposition("low-slope roof" if "flat roof" in one.wall.shape else "steep roof")
    return {
        "free field": float(sums["free_field_annual"]) * one.factor_product,
        "ASHRAE 160": float(sums["wind_rain_annual"]) * ASHRAE_RAIN * exposed * roof,
    }


def ashrae_site(one: WallExposure, site: Site) -> str:
    """Severe, medium or sheltered from the factors in force (our reading of the other model's words)."""
    _, hills, obstruction, _ = (factor.value for factor in one.factors)
    ground = site.categories[one.ground_sector]
    if ground == "I" or hills >= HILL:
        return "severe"
    return "sheltered" if ground == "IV" or obstruction < 1 else "medium"
