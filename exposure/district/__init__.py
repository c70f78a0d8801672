"""Every wall of a town: the same figures as for one building, in arrays, tile by tile, each finished tile kept."""

from exposure.district.answer import District
from exposure.district.run import assess_district

__all__ = ["District", "assess_district"]
