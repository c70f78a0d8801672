"""Climate in: whatever the source, one hourly Dataset."""

from exposure.climate.opening import open_climate
from exposure.climate.scaling import scale_with

__all__ = ["open_climate", "scale_with"]
