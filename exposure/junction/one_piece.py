"""Boards on the studs, inner leaf and cavity insulation in one piece: no joint of theirs lies at the edge of each part that a section puts beside them."""

from dataclasses import replace

from shapely import unary_union
from shapely.geometry import Polygon

from exposure.junction.scene import Layer, Section

WHOLE = ("board", "slab", "masonry")  # materials of which neighbours of one name are one part


def in_one_piece(section: Section) -> Section:
    """``section`` with boards, slabs or masonry of one name that lie edge on edge as one part, which carries what they carried.

    Examples
    --------
    >>> from exposure.junction.scene import rectangle
    >>> over, under = (Layer(key, "board", rectangle(0, low, 12, low + 9), "Boards") for key, low in (("over", 9), ("under", 0)))
    >>> film = Layer("film", "membrane", rectangle(-1, 0, 0, 9), "Membrane", carrier="under")
    >>> found = in_one_piece(Section("base", "Base", "upright", (0, 0, 12, 18), (over, under, film)))
    >>> [(one.key, len(one.outline), one.carrier) for one in found.layers]
    [('over', 4, ''), ('film', 4, 'over')]
    """
    parts = [one for one in section.layers if one.material in WHOLE and one.cut and one.name]
    whole: dict[str, Layer] = {}  # by key of the one that stands for its neighbours
    taken: dict[str, str] = {}  # by key of each neighbour: of the one that stands for it
    for name in dict.fromkeys(one.name for one in parts):
        mine = {one.key: Polygon(one.outline) for one in parts if one.name == name}
        union = unary_union(list(mine.values()))
        for shape in getattr(union, "geoms", [union]):
            of_it = [
                one for one in parts if one.key in mine and shape.covers(mine[one.key].representative_point())
            ]
            if len(of_it) > 1 and not shape.interiors:
                first = max(of_it, key=lambda one: one.order)
                ring = tuple(shape.simplify(0).normalize().exterior.coords[:-1])
                whole[first.key] = replace(first, outline=ring)
                taken |= {one.key: first.key for one in of_it if one is not first}
    if not whole:
        return section
    layers = (
        replace(one, carrier=taken.get(one.carrier, one.carrier))
        for one in (whole.get(one.key, one) for one in section.layers if one.key not in taken)
    )
    return replace(section, layers=tuple(layers))
