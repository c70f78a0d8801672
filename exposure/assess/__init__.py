"""One building end to end: exposure of every elevation, then what to build for it."""

from exposure.assess.assessment import Assessment
from exposure.assess.building import assess_building

__all__ = ["Assessment", "assess_building"]
