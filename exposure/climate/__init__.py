"""Climate in: whatever the source, one hourly Dataset."""

from exposure.climate.opening import open_climate

__all__ = ["open_climate"]
