"""What lies under a window, where the section of its sill has it: the cladding's top, a support and the blocking behind it, mesh in the gap."""

from exposure.junction.numbers import Numbers
from exposure.junction.sill import sill
from exposure.junction.support import SUPPORT_FOOT, UNDER_FOOT
from exposure.junction.window import NotDrawnError
from exposure.junction.work_faces import Z0

TRAY_EDGE = Z0 + 8  # where a sill tray turns down


def clad_under_sill(numbers: Numbers) -> float:
    """Top of light cladding under a window, as far over the edge of the tray as in the section; level with it where there is none."""
    return _heights(numbers).get("cladding", (TRAY_EDGE, TRAY_EDGE))[1]


def support_foot(numbers: Numbers) -> float:
    """Foot of a support under a window, below the edge of the tray there."""
    return TRAY_EDGE - numbers.length("tray_down", 30) - SUPPORT_FOOT


def blocking_behind(numbers: Numbers) -> tuple[float, float]:
    """Foot and top of the blocking that a support is screwed into; 45 mm round its screws where the frame is not deep enough to be drawn."""
    foot = support_foot(numbers)
    return _heights(numbers).get("blocking", (foot - UNDER_FOOT, foot - UNDER_FOOT + 45))


def _heights(numbers: Numbers) -> dict[str, tuple[float, float]]:
    """Foot and top of the parts of the section of the sill, as far from the edge of its tray as there; none where it is not drawn or has no tray."""
    try:
        layers = {
            layer.key: (min(z for _, z in layer.outline), max(z for _, z in layer.outline))
            for layer in sill(numbers).layers
        }
    except NotDrawnError:
        return {}
    if "tray" not in layers:
        return {}
    up = TRAY_EDGE - layers["tray"][0] - numbers.length("tray_down", 30)
    return {key: (low + up, high + up) for key, (low, high) in layers.items()}


def meshed(numbers: Numbers) -> bool:
    """Whether the section has mesh under frame or outer sill; as ordered where the frame is not deep enough to be drawn."""
    try:
        return any(layer.key in ("sill mesh", "cover mesh") for layer in sill(numbers).layers)
    except NotDrawnError:
        return numbers.has("mesh")
