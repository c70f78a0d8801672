"""How two drawings of a junction compare: named parts, sizes, words beside them."""

from collections.abc import Iterable

from exposure.draw.junction_canvas import numbered_parts
from exposure.junction.catalogue import Drawing


def own_drawings(junction: str, drawings: Iterable[Drawing]) -> dict[str, Drawing]:
    """Each elevation's own drawing of a junction."""
    return {name: one for one in drawings if one.section.key == junction for name in one.elevations}


def is_as_drawn(one: Drawing, other: Drawing) -> bool:
    """Whether two drawings have the same parts, sizes and words beside them."""
    first, second = (
        (
            [layer.name for _, layer in numbered_parts(each.section)],
            [(size.key, size.value) for size in each.section.dimensions],
            words_beside(each),
        )
        for each in (one, other)
    )
    return first == second


def words_beside(drawing: Drawing) -> tuple[str, ...]:
    """What a drawing warns of; that of a base says besides what its own ground and doors ask."""
    section = drawing.section
    return (*section.warnings, *(section.notes if section.key.startswith("base") else ()))


def parts_apart(one: Drawing, other: Drawing) -> int:
    """How many named parts only one of two drawings has, a part in another form not counted."""
    mine, theirs = (
        {kind_of(layer.name) for _, layer in numbered_parts(drawn.section)} for drawn in (one, other)
    )
    return len(mine ^ theirs)


def kind_of(name: str) -> str:
    """The two words by which a part is the same one in another form.

    Examples
    --------
    >>> kind_of("Tape over the edge; it never replaces the lap")
    'Tape over'
    """
    return " ".join(name.split()[:2])


def named_parts(drawing: Drawing) -> set[str]:
    """Names of the parts that have a number."""
    return {layer.name for _, layer in numbered_parts(drawing.section)}
