"""What has to stand beside or around a wall for a row of the ladder to concern it: the words of its column ``when``."""

from collections.abc import Callable

from exposure.detail.circumstances import Circumstances

FLANGE, BOX, SET_BACK = "nailing flange", "box frame with straps", "set back in masonry"  # kinds of frame
LEVEL, ALL_LEVEL = "level at one door at least", "level at every door"  # thresholds
NO_DOOR = "no door on this wall"
CLAD = ("timber frame with cladding", "rendered board")
WITHOUT_SNOW = (
    "cooled through hot, damp summers",
    "neither, a mild climate",
)  # rooms that speak of no cold winter
PITCHED, FLAT = "pitched at 10 degrees or more", "flatter than 10 degrees"  # a lower roof against the wall
_BESIDE: dict[str, Callable[[Circumstances], bool]] = {  # conditions of the column "when"
    "": lambda _: True,
    "roof": lambda c: c.roof_meets_wall == "roof or gutter ends inside the wall" or c.run_off_from_above,
    "parapet": lambda c: c.parapet,
    "no parapet": lambda c: not c.parapet,
    "parapet without a leaf": lambda c: c.parapet and c.wall_type in CLAD,
    "sheathed": lambda c: c.sheathing == "sheathed",
    "open studs": lambda c: c.sheathing == "open studs",
    "deck": lambda c: c.deck not in ("none", "open slats near the ground"),
    "pitched roof": lambda c: c.roof_below != FLAT and (_BESIDE["roof"](c) or c.roof_below == PITCHED),
    "no pitched roof": lambda c: not _BESIDE["pitched roof"](c),
    "door": lambda c: c.threshold != NO_DOOR,
    "door in a leaf": lambda c: _BESIDE["door"](c) and c.wall_type not in CLAD,
    "door to a deck": lambda c: _BESIDE["door"](c) and _BESIDE["deck"](c),
    "door to a deck and no leaf": lambda c: _BESIDE["door to a deck"](c) and c.wall_type in CLAD,
    "seal tested": lambda c: c.air_seal_tested,
    "level threshold": lambda c: c.threshold in (LEVEL, ALL_LEVEL),
    "level threshold in a leaf": lambda c: _BESIDE["level threshold"](c) and c.wall_type not in CLAD,
    "level threshold in snow": lambda c: _BESIDE["level threshold"](c) and bool(c.snow_depth),
    "door with a step": lambda c: _BESIDE["door"](c) and c.threshold != ALL_LEVEL,
    "a step at every door": lambda c: c.threshold == "a step at every door",
    "flat roof": lambda c: c.roof_below == FLAT,
    "deck that may be closed": lambda c: (  # slatted or roofed over, with no roof and nothing surely closed
        not (_BESIDE["roof"](c) or c.roof_below != "none" or _BESIDE["closed deck"](c))
    ),
    "roof below or deck": lambda c: _BESIDE["roof"](c) or c.roof_below != "none" or _BESIDE["deck"](c),
    "roof below, deck or parapet": lambda c: _BESIDE["roof below or deck"](c) or _BESIDE["parapet"](c),
    "no roof below or deck": lambda c: not _BESIDE["roof below or deck"](c),
    "parapet alone": lambda c: c.parapet and not _BESIDE["roof below or deck"](c),
    "parapet and pitched roof": lambda c: c.parapet and _BESIDE["pitched roof"](c),
    "parapet and no pitched roof": lambda c: c.parapet and _BESIDE["no pitched roof"](c),
    "parapet beside a deck that may be closed": lambda c: c.parapet and _BESIDE["deck that may be closed"](c),
    "parapet or closed deck": lambda c: _BESIDE["parapet"](c) or c.deck.startswith("enclosed"),
    "closed deck": lambda c: c.deck.startswith("enclosed"),
    "door to slats near the ground": lambda c: _BESIDE["door"](c) and c.deck == "open slats near the ground",
    "several storeys": lambda c: c.storeys >= 2,
    "snow told": lambda c: bool(c.snow_depth),
    "snow on a roof or deck below": lambda c: bool(c.snow_depth) and _BESIDE["roof below or deck"](c),
    "snow on a deck that may be closed": lambda c: (
        bool(c.snow_depth) and _BESIDE["deck that may be closed"](c)
    ),
    "snow not told": lambda c: c.snow_depth is None and c.rooms not in WITHOUT_SNOW,
    "snow on a deck at a door": lambda c: _BESIDE["door"](c) and bool(c.snow_depth) and c.deck != "none",
    "snow at a door": lambda c: _BESIDE["door"](c) and bool(c.snow_depth),
    "snow at a door with a step": lambda c: _BESIDE["door with a step"](c) and bool(c.snow_depth),
    "snow and no door": lambda c: bool(c.snow_depth) and not _BESIDE["door"](c),
    "boards nailed": lambda c: c.fixing == "boards nailed through the face",
    "boards screwed": lambda c: c.fixing == "boards screwed through the face",
    "boards on hidden fixings": lambda c: c.fixing == "boards on hidden nails or clips",
    "slatted deck": lambda c: (
        c.deck in ("open slats near the ground", "slatted or roofed over, above the ground")
    ),
    "slatted deck at a leaf": lambda c: _BESIDE["slatted deck"](c) and c.wall_type not in CLAD,
    "slatted deck in snow": lambda c: _BESIDE["slatted deck"](c) and bool(c.snow_depth),
    "over the cavity": lambda c: c.window_position == "over the cavity" and c.wall_type != "cavity masonry",
    "flange on the cladding": lambda c: _BESIDE["over the cavity"](c) and c.frame == FLANGE,
    "window behind a leaf": lambda c: (
        c.wall_type == "cavity masonry" or c.window_position == "in the masonry cavity"
    ),
    "leaf before the boards": lambda c: (  # and the window at them
        c.wall_type == "masonry veneer" and c.window_position == "at the sheathing"
    ),
    "door behind a leaf": lambda c: (  # on the floor, behind the cavity, while the windows stand at the leaf or over the cavity
        (_BESIDE["window behind a leaf"](c) and _BESIDE["door"](c))
        or (
            c.wall_type == "masonry veneer" and _BESIDE["over the cavity"](c) and _BESIDE["door to a deck"](c)
        )
    ),
    "deck door behind the cladding": lambda c: (  # on the floor, while the windows stand at its face
        c.wall_type in CLAD and _BESIDE["over the cavity"](c) and _BESIDE["door to a deck"](c)
    ),
    "frame behind the cavity": lambda c: (  # of a leaf; a door's stands on the floor wherever the windows stand
        _BESIDE["leaf before the boards"](c)
        or (
            c.wall_type == "masonry veneer"
            and c.window_position == "in the masonry cavity"
            and _BESIDE["door"](c)
        )
    ),
    "metal sill at a door": lambda c: (  # over the cavity of a leaf before a frame
        c.wall_type == "masonry veneer"
        and _BESIDE["door"](c)
        and (_BESIDE["frame behind the cavity"](c) or _BESIDE["deck"](c))
    ),
    "level doors alone to a deck": lambda c: c.threshold == ALL_LEVEL and _BESIDE["deck"](c),
    "level doors alone to a deck in a leaf": lambda c: (
        _BESIDE["level doors alone to a deck"](c) and c.wall_type not in CLAD
    ),
    "door to a deck in a leaf": lambda c: _BESIDE["door to a deck"](c) and c.wall_type not in CLAD,
    "metal sill at a deck alone": lambda c: (  # at other doors nothing closes the cavity
        _BESIDE["metal sill at a door"](c) and not _BESIDE["frame behind the cavity"](c)
    ),
    "door to a deck in cavity masonry": lambda c: (
        _BESIDE["door to a deck"](c) and c.wall_type == "cavity masonry"
    ),
    "flange off the cladding": lambda c: not _BESIDE["flange on the cladding"](c),
    "flange at the boards": lambda c: c.frame == FLANGE and not _BESIDE["over the cavity"](c),
    "window off the boards": lambda c: c.window_position != "at the sheathing",
    "box frame": lambda c: c.frame == BOX,
    "box frame at the boards": lambda c: c.frame == BOX and c.window_position == "at the sheathing",
    "frame set back": lambda c: c.frame == SET_BACK,
    "jamb cover": lambda c: (  # a leaf covers its own joint
        c.wall_type in CLAD and (_BESIDE["over the cavity"](c) or _BESIDE["box frame at the boards"](c))
    ),
}


def beside(when: str, circumstances: Circumstances) -> bool:
    """Whether what a row's ``when`` names is there.

    Examples
    --------
    >>> beside("parapet", Circumstances(parapet=True)), beside("flat roof", Circumstances())
    (True, False)
    """
    known = circumstances.stands
    if when not in known:
        known[when] = _BESIDE[when](circumstances)
    return known[when]
