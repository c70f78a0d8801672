"""One building end to end: exposure of every elevation, then what to build for it."""

from exposure.assess.building import Assessment, assess_building

__all__ = ["Assessment", "assess_building"]
