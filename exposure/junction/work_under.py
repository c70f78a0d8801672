"""What lies under a window, where the section of its sill has it: the cladding's top, the foot of a support, mesh in the gap."""

from exposure.junction.numbers import Numbers
from exposure.junction.sill import sill
from exposure.junction.window import NotDrawnError
from exposure.junction.work_faces import Z0

TRAY_EDGE = Z0 + 8  # where a sill tray turns down


def clad_under_sill(numbers: Numbers) -> float:
    """Top of light cladding under a window, as far over the edge of the tray as in the section; level with it where there is none."""
    try:
        layers = {layer.key: layer.outline for layer in sill(numbers).layers}
    except NotDrawnError:
        return TRAY_EDGE
    if not {"cladding", "tray"} <= layers.keys():
        return TRAY_EDGE
    edge = min(z for _, z in layers["tray"]) + numbers.length("tray_down", 30)
    return TRAY_EDGE + max(z for _, z in layers["cladding"]) - edge


def support_foot(numbers: Numbers) -> float:
    """Foot of a support under a window on a membrane, below the edge of the tray there."""
    return Z0 - numbers.length("tray_down", 30) - 35


def meshed(numbers: Numbers) -> bool:
    """Whether the section has mesh under frame or outer sill; as ordered where the frame is not deep enough to be drawn."""
    try:
        return any(layer.key in ("sill mesh", "cover mesh") for layer in sill(numbers).layers)
    except NotDrawnError:
        return numbers.has("mesh")
