"""The opening of a window as it stands after each step of the order of work."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

from exposure.detail.schedule_parts import Step
from exposure.junction.numbers import NumberMissingError, Numbers
from exposure.junction.work_cladding import CLADDING
from exposure.junction.work_covering import COVERING
from exposure.junction.work_faces import Face, Size, ground
from exposure.junction.work_lining import LINING
from exposure.junction.work_round_leaf import ROUND_LEAF
from exposure.junction.work_short import SHORT

PARTS = {
    **LINING,
    **COVERING,
    **ROUND_LEAF,
    **CLADDING,
    **SHORT,
}  # word of the column "adds" -> what it looks like
# seen in their own frame only
PASSING = ("check", "spray", "inner seal", "sealant", "flange bead", "mark", "sill mesh")
OUT_OF_SIGHT = "cut away"  # dashed in its own frame only
GONE = {"uncut": "turned in", "flap up": "flap down"}  # what a later part takes away


@dataclass(frozen=True)
class Frame:
    """The opening after one step: what stood before, what the step adds, and the sizes it sets, and what is named in it."""

    number: int
    words: str
    before: tuple[Face, ...]
    added: tuple[Face, ...]
    sizes: tuple[Size, ...]
    names: tuple[Size, ...] = ()


def frames_of(
    steps: Sequence[Step], numbers: Numbers, *, start: Callable[[Numbers], list[Face]] = ground
) -> tuple[Frame, ...]:
    """One frame for each step that adds something one can see; empty for work that has no drawing.

    Parameters
    ----------
    start
        What stands before the first step: the opening of a window, or a plain wall.
    """
    looks = cache(lambda part: PARTS[part](numbers))
    there: list[str] = []
    frames = []
    for place, step in enumerate(steps, 1):
        if not step.adds:
            continue
        new = [part for part in step.adds if part in PARTS]
        standing = [part for part in there if part not in PASSING and GONE.get(part) not in (*there, *new)]
        before = [
            *start(numbers),
            *(face for part in standing for face in looks(part)[0] if face.material != OUT_OF_SIGHT),
        ]
        made = [looks(part) for part in new if GONE.get(part) not in there]
        added = [face for faces, _ in made for face in faces]
        sizes = [
            size
            for _, found in made
            for size in found
            if size.row in step.sets and _is_number(numbers, size.row)
        ]
        names = [size for _, found in made for size in found if size.name]
        there += new
        frames.append(
            Frame(step.number or place, step.text, tuple(before), tuple(added), tuple(sizes), tuple(names))
        )
    return tuple(frames)


def _is_number(numbers: Numbers, row: str) -> bool:
    try:
        numbers.length(row)
    except NumberMissingError:
        return False
    return True
