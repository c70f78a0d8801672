"""Short runs of work on a plain wall: what stands before each of them, and what their parts look like."""

from collections.abc import Callable

from exposure.junction.numbers import Numbers
from exposure.junction.work_base import AT_THE_BASE, at_base
from exposure.junction.work_eave import AT_AN_EAVE, at_roof
from exposure.junction.work_faces import Face, Made
from exposure.junction.work_laps import LAPS, bare_wall
from exposure.junction.work_leaf import LEAF_TRAY, over_roof
from exposure.junction.work_pipe import ROUND_A_PIPE, round_pipe
from exposure.junction.work_stepped import STEPPED_TRAYS, along_roof

GROUNDS: dict[str, Callable[[Numbers], list[Face]]] = {
    "lap and tape": bare_wall,
    "pipe": round_pipe,
    "kick-out": at_roof,
    "base closer": at_base,
    "leaf tray": over_roof,
    "stepped trays": along_roof,
}
SHORT: dict[str, Callable[[Numbers], Made]] = {
    **LAPS,
    **ROUND_A_PIPE,
    **AT_AN_EAVE,
    **AT_THE_BASE,
    **LEAF_TRAY,
    **STEPPED_TRAYS,
}
