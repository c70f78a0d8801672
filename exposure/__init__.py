"""How hard rain is driven at each elevation of a house, and the details that keep it out.

The public functions, and the version, are looked up when first used, so that importing the package is quick.
"""

from importlib import import_module

__version__: str  # looked up by __getattr__
_HOME = {
    "RefusalError": "exposure.checks",
    "open_climate": "exposure.climate.opening",
    "airfield_index": "exposure.rain.index",
    "compass_orientations": "exposure.rain.orientation",
    "with_place_doubts": "exposure.rain.places",
    "Wall": "exposure.wall",
    "Building": "exposure.wall",
    "Site": "exposure.wall",
    "read_building": "exposure.wall.building_file",
    "read_footprint": "exposure.site.footprint",
    "survey_building": "exposure.assess.from_files",
    "assess_building": "exposure.assess",
    "elevations_frame": "exposure.export.building_files",
    "assess_file": "exposure.assess.from_files",
    "assess_district": "exposure.district",
    "wall_pressures": "exposure.rain.pressure",
    "Circumstances": "exposure.detail",
    "questions": "exposure.detail",
    "detail_schedule": "exposure.detail",
    "detail_building": "exposure.assess.details",
    "read_record": "exposure.assess.site_record",
    "merge_records": "exposure.assess.record_merge",
    "write_handover": "exposure.paper.handover",
}
__all__ = [*_HOME, "__version__"]


def __getattr__(name: str) -> object:
    """Load a public name from the module it lives in."""
    if name == "__version__":
        return _version()
    if name not in _HOME:
        message = f"module 'exposure' has no attribute {name!r}"
        raise AttributeError(message)
    return getattr(import_module(_HOME[name]), name)


def _version() -> str:
    """The version that is installed."""
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("driving-rain-exposure")
    except PackageNotFoundError:  # run from a checkout that was never installed
        return "0+unknown"


def __dir__() -> list[str]:
    return sorted(__all__)
