"""Door threshold, upright section: the tray's back turned up within the floor, behind the threshold, so that there is no step."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import ceil, sqrt
from typing import NamedTuple

from exposure.detail.beside import beside
from exposure.junction.base import floor_over_paving
from exposure.junction.build_up import MESH, Wall, battens, cladding, wall_of, weep_hole
from exposure.junction.leaf import gap_to_frame
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, SHEET, Dimension, Layer, Point, Section, rectangle, sheet
from exposure.junction.sill import (
    NOSE,
    SILL_FALL,
    cover_over_cavity,
    outside_of_sill,
    under_outer_sill,
)
from exposure.junction.snow_base import lies_in_snow, on_snow_base
from exposure.junction.step_bracket import step_bracket
from exposure.junction.support import (
    SUPPORT,
    SUPPORT_FOOT,
    sill_support,
    support_asked,
)
from exposure.junction.under_tray import on_the_floor
from exposure.junction.window import BEAD, FLANGE_OUT, GAP, PACKER, Frame, frame_of, rod, rod_asked

BACK = 32.0  # mm, tray under the floor's face: what the floor allows, no row of the schedule
LIP = 15.0  # mm, threshold over the floor
DOOR = 80.0  # mm of door shown
INSIDE = 75.0  # mm of floor shown behind the tray
LIFT, LEVEL_LIP = 14.0, 6.0  # mm, outer sill of a level door: higher than a window's, and its lip shorter
CHANNEL, GRATING, BAR = 75.0, 20.0, 12.0  # mm, channel from side to side, its grating, bars so far apart
DRAINED = 15.0  # mm, floor of the channel under the front of the tray
OFF = 20.0  # mm, channel narrower before a leaf
UNDER_NOSE = 10.0  # mm, grating before the nose of a sill
OVER, FREE = 16.0, 5.0  # mm, metal sill out over a channel, and the grating clear of its lip, to be lifted
CLEAR_OF_TRAY = 3.0  # mm, brim of a channel under what drains into it
UNDER_TRAY, BEND = 12.0, 5.0  # mm, the same where a strip of membrane bends out over that brim, and its bend
HOOK = 12.0  # mm, top of a metal cover down behind the lip of the sill
HANGS = 25.0  # mm, that strip below the brim, or below what is fixed under the tray
WEEP = 65.0  # mm, height of a weep hole
BED = 25.0  # mm shown under a channel and under the base of a cavity
OFF_LEAF = 5.0  # mm, bracket under a metal sill before the leaf, which carries none of it
LEVEL_IN_SNOW = "Where snow lies: a roof over the place before this door, or keep it clear; that counts here, not the height above the ground."
AT_TIMBER = "Drawn at a slab, as the base is; an edge of timber is recessed alike, with its own strip."
OUT_TO_CAVITY = "At a door the floor comes out over inner leaf and insulation to the cavity and bears the frame: the engineer says how it is carried and what keeps its edge warm."
AT_CHANNEL = "Drawn at a slab, as the base of the wall is: no edge of timber here."
OUT_OVER_WALL = "At a door the floor comes out over the inner wall to the cavity, at least {} mm deep for what is screwed to its edge: the engineer says how it is carried and what keeps that edge warm."
FLOOR_DEEP = 130.0  # mm, floor on an inner leaf or wall at a door; the engineer sizes it
UNDER_FIXING = 65.0  # mm, the same below the foot of its tray
PAVED = 30.0  # mm of paving shown before it


def door_frame(numbers: Numbers, wall: Wall) -> Frame:
    """Where the frame of a door stands: what people step on stands on the floor, not on a tray over the cavity.

    What keeps a flange off the boards is told at jamb and head; below, nothing holds it there. Where windows stand at the
    face of a cladding, a door to a closed deck is a box frame behind it.
    """
    frame = frame_of(numbers, wall)
    told = frame.conflicts if wall.masonry else ()
    frame = replace(frame, outer=max(frame.outer, -FLANGE_OUT), conflicts=told)
    if beside("over the cavity", numbers.circumstances) and not wall.masonry:
        return replace(frame, on_cladding=False, trimmed=True, strapped=True)
    return frame


def threshold(numbers: Numbers, *, upstairs: bool = False) -> Section:
    """The threshold of a door, where the window stands in the depth of the wall; ``upstairs`` where framing stands under a framed wall's."""
    wall = wall_of(numbers)
    frame = frame_of(numbers, wall) if support_asked(numbers) else door_frame(numbers, wall)
    slope = numbers.length("sill_slope") / 100
    under = SHEET * sqrt(1 + slope * slope)
    flat = frame.back

    def on_tray(x: float) -> float:
        return -(flat - x) * slope

    edge = wall.skin - FILM - SHEET if wall.film else wall.leaf_back - 30  # before the tape on the strip
    top_of_wall = on_tray(edge + SHEET) - under
    down = numbers.length("tray_down") if wall.film else 0.0
    foot = top_of_wall - down if down else on_tray(edge) - 6
    low = BACK - FLOOR_DEEP if not wall.film else min(BACK - FLOOR_DEEP, foot - UNDER_FIXING)
    bottom, right, top = min(foot - 60, low - 60 * wall.masonry), flat + INSIDE, BACK + LIP + DOOR
    tray = sheet([(flat, BACK), (flat, 0), (edge, on_tray(edge)), (edge, foot)], SHEET)
    recess = slope * SHEET - under
    level = numbers.has("door_level")
    reach = min(edge - SUPPORT * support_asked(numbers), frame.outer) - 4  # of a channel before boards
    raised = (LIFT, LEVEL_LIP, wall.face - reach + OVER) if level else (0.0, 28.0, NOSE)
    outside, _ = outside_of_sill(wall, frame, bottom, edge, on_tray, raised=raised)
    if not wall.masonry:  # boards end at both sides of a door
        outside = [one for one in outside if one.key == "outer sill"]
    before: list[Layer] = []
    end = foot - (SUPPORT_FOOT if support_asked(numbers) else 0)
    if level:
        outside, before, bottom = level_outside(numbers, wall, frame, outside, (reach, end), right)
    strip, bearing = on_the_floor(numbers, wall, flat, lambda x: on_tray(x) - under, thick=under)
    back: tuple[Point, ...] = (
        (flat + SHEET, BACK),
        *(() if wall.film else ((flat + SHEET, recess),)),
        *bearing,
    )
    shelf = next((max(y for _, y in one.outline) for one in before if one.key == "cavity base"), bottom)
    parts = [
        *floor_at_door(wall, shelf, low, right, back, upstairs=upstairs),
        Layer("tray", "tray", tray, "Sill tray, its back turned up within the floor", ("door_sill", "sill_form", "sill_slope", "end_dam",
              *(("tray_down",) if down else ())), "opening tape" if wall.film else "floor", water=True, air=True, order=3),
        *strip,
        *door_on_tray(numbers, frame, max(frame.outer + 15, 2), on_tray),
        *gap_to_frame(numbers, wall, frame, outside),
        *(
            replace(one, name=one.name.replace("to framing", "to the edge of the floor"))
            for one in sill_support(numbers, wall, frame, edge, foot)
        ),
        *(replace(layer, name="") if layer.key == "cladding" else layer for layer in outside),
        *before,
    ]  # fmt: skip
    parts = [replace(one, carrier="") if one.carrier == "ties" else one for one in parts if one.key != "ties"]
    if wall.film:
        brim = end - UNDER_TRAY if level and not wall.masonry else None
        parts.append(_strip_on_edge(on_tray(wall.skin) - 2 * under, end - HANGS, brim))
    if not (level or wall.masonry):
        parts += _cover_below_sill(wall, frame, end - HANGS, meshed=numbers.has("mesh"))
    parts, sizes = cover_over_cavity(numbers, wall, frame, parts, when="frame behind the cavity")
    for cover in [one for one in parts if one.key == "cover"]:
        reach = wall.leaf_back + OFF_LEAF
        if bracket := step_bracket(
            numbers, cover, frame=frame.outer, reach=reach, leg=(edge, foot), skin=wall.skin
        ):
            fixed = replace(cover, name=cover.name.replace("on the frame", "fixed to the frame"))
            parts = [*(fixed if one is cover else one for one in parts), *bracket]
    sizes = [
        *sizes,
        Dimension("sill_slope", (flat, 0), (edge, on_tray(edge)), slope * 100, "fall %", "right"),
    ]
    if down:
        sizes.append(Dimension("tray_down", (edge, foot), (edge, top_of_wall), down, "y", "left"))
    if wall.masonry:
        row, at = wall.cavity_row, shelf + 30
        sizes.append(Dimension(row, (wall.leaf_back, at), (wall.skin, at), wall.cavity, "x", "bottom"))
    if level and wall.masonry:
        deep, x = numbers.length("cav_base"), wall.leaf_back
        sizes.append(Dimension("cav_base", (x, shelf), (x, shelf + deep), deep, "y", "left"))
    pushed = pushed_over_the_back(
        numbers, channel=level, landing=lies_in_snow(numbers)
    )  # which tells how high the floor lets the back stand
    notes: tuple[str, ...] = (
        *(() if pushed else (f"The floor sets how high the back may stand, here {BACK:g} mm.",)),
        _how_carried(wall, low, level=level, upstairs=upstairs),
    )
    left = wall.face - 75
    if level:
        left = min(x for layer in parts for x, _ in layer.outline)
        notes = (*notes, "No line sizes channel and grating, or how far the grating lies under the floor.")
    high: tuple[str, ...] = (LEVEL_IN_SNOW,) if level and numbers.length("snow_open", 0.0) else ()
    asked = 0.0
    if not (level or wall.masonry):
        asked, high = floor_over_paving(numbers, BACK - end + HANGS)
    made = Section(
        "threshold", "Door threshold, upright section", "upright", (left, bottom, right, top), tuple(parts), tuple(sizes),
        outdoors=((left + 15, top - 5), *(((wall.leaf_back + wall.skin) / 2, shelf + 5),) * wall.masonry),
        indoors=((right - 10, top - 5),), conflicts=frame.conflicts, drop=(flat - 2, on_tray(flat - 2)),
        water_ends=("membrane" if wall.film else "tray", "door"), air_ends=("floor", "door"), notes=notes, warnings=(*high, *behind_the_leaf(numbers, wall, frame), *pushed), asked_floor=asked,
    )  # fmt: skip
    return on_snow_base(made, numbers, wall) if lies_in_snow(numbers) else made


def level_outside(
    numbers: Numbers, wall: Wall, frame: Frame, outside: Sequence[Layer], end: Point, right: float
) -> tuple[list[Layer], list[Layer], float]:
    """What stands before a level door: sill and leaf, the channel and the base of the cavity, and how low that reaches.

    Boards end above the paving, as the base asks, so that none stand below such a door: the channel reaches in to the
    edge of the floor. A leaf goes on down, and weep holes under its sill open into the channel.

    Parameters
    ----------
    end
        How far in a channel reaches before boards, and the lower end of the tray or of what is fixed below it.
    right
        Where the drawing ends indoors.
    """
    sill = next(layer for layer in outside if layer.key == "outer sill")
    nose, under = min(x for x, _ in sill.outline), min(y for _, y in sill.outline)
    if not wall.masonry:
        edge = nose - FREE
        ways = _Channel(edge - CHANNEL, -SHEET, end[1] - UNDER_TRAY, under - 4, edge, edge)
        sill = replace(sill, name="Outer sill, its drip short of the grating; no line sizes it")
        return [sill], _channel(ways), ways.floor - BED
    bed = next(layer for layer in outside if layer.key == "sill bed")
    top = min(y for _, y in bed.outline)
    weep, shelf = top - WEEP, top - numbers.length("cav_base")
    front, stand = max(y for x, y in sill.outline if x == nose), nose - UNDER_NOSE
    if wall.film:  # the grating lies before the stone, the channel reaches in under it
        high, end_of_it = front - 4, stand
    else:  # the tray falls over the stone, so the grating lies over both, as high as the tray is at the frame
        end_of_it = frame.outer - 4
        high = (end_of_it - frame.back) * numbers.length("sill_slope") / 100 + CLEAR_OF_TRAY + GRATING
    ways = _Channel(nose - CHANNEL + OFF, wall.face - SHEET, weep - CLEAR_OF_TRAY, high, end_of_it, stand)
    before = _channel(
        ways,
        "Drained channel, tight to the leaf and sealed to it under the weep holes, its floor lower than the tray",
    )
    if not wall.film:
        foot = front + SILL_FALL * (wall.face - nose)
        before.append(Layer("bearer on the sill", "bracket", ((wall.face, foot), (wall.face + BAR / 2, foot + SILL_FALL * BAR / 2),
                      (wall.face + BAR / 2, high - GRATING), (wall.face, high - GRATING)), "Bearer of the grating, on the sill", ("door_level",), "outer sill", cut=False, order=3))  # fmt: skip
    bottom = min(shelf, ways.floor) - BED
    brick = weep_hole(
        wall,
        weep,
        top,
        "Weep hole below the sill, open into the channel",
        "door_level",
        carrier="cladding",
        key="weep",
    )
    base = Layer(
        "cavity base",
        "concrete",
        rectangle(wall.face, bottom, right, shelf),
        "Base of the cavity",
        ("cav_base",),
        order=1,
    )
    kept = [
        replace(layer, carrier="weep") if layer is bed else layer
        for layer in outside
        if layer.key not in ("cladding", "ties")
    ]
    leaf = [
        cladding(wall, shelf, weep, carrier="cavity base"),
        battens(wall, shelf, weep, key="ties", carrier="core"),
    ]
    return [*leaf, *brick, *kept], [*before, base], bottom


class _Channel(NamedTuple):
    """A drained channel before a level door. [mm]"""

    outer: float
    inner: float
    brim: float  # of its inner side
    top: float  # of its grating
    end: float  # of its grating, before the door
    bearer: float  # behind what the grating rests on in it

    @property
    def floor(self) -> float:
        return min(self.brim, self.top - GRATING) - GRATING - DRAINED


def _channel(ways: _Channel, name: str = "Drained channel, its floor lower than the tray") -> list[Layer]:
    """The channel with its grating on bearers, and the paving before it."""
    outer, inner, brim, top, end, bearer = ways
    rest, floor = top - GRATING, ways.floor
    way: list[Point] = [(outer, rest), (outer, floor), (inner, floor), (inner, brim)]
    teeth: list[Point] = [(outer - SHEET, rest), (end, rest)]
    x = end
    while x - BAR > outer:
        teeth += [(x, top), (x - BAR / 3, top), (x - BAR / 3, rest + 4), (x - BAR, rest + 4)]
        x -= BAR
    teeth += [(x, top), (outer - SHEET, top)]
    edge = outer - SHEET
    low = floor - BED
    paved = ((edge - PAVED, low), (edge, low), (edge, top), (edge - PAVED, top - 0.02 * PAVED))
    return [
        Layer("bed", "concrete", rectangle(edge, low, inner + SHEET, floor - SHEET), ""),
        Layer("channel", "gutter", sheet(way, -SHEET), name, ("door_level",), "bed", order=3),
        Layer("bearer", "bracket", rectangle(bearer - BAR, floor, bearer - BAR / 2, rest), "", ("door_level",), "channel", cut=False, order=3),
        Layer("grating", "bracket", tuple(teeth), "Grating, as long as the door is wide, on its bearer", ("door_level",), "channel", cut=False, order=3),
        Layer("paving", "paving", paved, "Paving, falling away from the door", order=9),
    ]  # fmt: skip


def behind_the_leaf(numbers: Numbers, wall: Wall, frame: Frame) -> tuple[str, ...]:
    """How the slot beside the frame of a door is closed, where it stands on the floor and the windows at the leaf, as their jamb is drawn."""
    gap = frame.outer - wall.leaf_back
    if not wall.masonry or gap <= 2 * FILM or beside("leaf before the boards", numbers.circumstances):
        return ()
    whose = "At a door to a closed deck the" if beside("over the cavity", numbers.circumstances) else "This"
    return (f"{whose} frame stands {gap:.0f} mm behind the leaf: at its jambs and head turn the damp-proof course in along the barrier to it, a reveal board over both.",)  # fmt: skip


def pushed_over_the_back(
    numbers: Numbers, *, channel: bool = False, landing: bool = False
) -> tuple[str, ...]:
    """What to do where the wind pushes water higher than a back within the floor stands; ``channel`` and open ``landing`` where one is drawn before the door."""
    pushed = max(numbers.head, numbers.gust_head)
    if pushed <= BACK:
        return ()
    high = ceil(pushed - 1e-6)
    done = (
        " where you can, besides its channel"
        if channel
        else ""
        if landing
        else ", or drain a channel before it"
    )
    return (f"The wind pushes water {high} mm high, and the floor lets the back stand {BACK:g} mm: keep the door under a roof{done}.",)  # fmt: skip


def floor_of(bottom: float, right: float, under_tray: tuple[Point, ...]) -> Layer:
    """The slab with the recess that the tray lies in, ``under_tray`` from its back outward."""
    outline = ((0, bottom), (right, bottom), (right, BACK), *under_tray)
    return Layer(
        "floor", "concrete", outline, "Floor, recessed under the threshold", ("door_sill",), air=True
    )


def floor_at_door(
    wall: Wall, bottom: float, low: float, right: float, under_tray: tuple[Point, ...], *, upstairs: bool
) -> list[Layer]:
    """The slab at a door, behind a leaf down to ``low``: there it lies on inner wall or inner leaf, out to the cavity."""
    if not wall.masonry or (wall.film and upstairs):
        return [floor_of(bottom, right, under_tray)]
    out = floor_of(low, right, under_tray)
    if wall.film:
        name = "Floor, out over the inner wall to the cavity here, recessed under the threshold"
        return [
            replace(out, name=name, carrier="inner leaf"),
            Layer("inner leaf", "masonry", rectangle(0, bottom, wall.core_back, low), "Inner wall", order=1),
        ]
    name = "Floor, out to the cavity here to bear the frame, recessed under the threshold"
    return [
        replace(out, name=name, carrier="inner leaf"),
        Layer("inner leaf", "masonry", rectangle(wall.core_face, bottom, wall.core_back, low), "Inner leaf", order=1),
        Layer("inner slab", "slab", rectangle(0, bottom, wall.board, low), "Insulation in the cavity", (), "inner leaf", order=2),
    ]  # fmt: skip


def _how_carried(wall: Wall, low: float, *, level: bool, upstairs: bool) -> str:
    """What the floor at a door is drawn as, and what the engineer says of it behind a leaf."""
    if not wall.film:
        return OUT_TO_CAVITY
    if wall.masonry and not upstairs:
        return OUT_OVER_WALL.format(ceil(BACK - low))
    return AT_CHANNEL if level else AT_TIMBER


def _strip_on_edge(top: float, low: float, brim: float | None) -> Layer:
    """The strip of membrane on the edge of the floor from ``top`` down to ``low``, or out over the ``brim`` of a channel there."""
    way, into = [(-FILM, top), (-FILM, low)], ""
    if brim is not None:
        out, into = -SHEET - FILM, ", down into the channel"
        way = [
            (-FILM, top),
            (-FILM, brim + UNDER_TRAY - BEND),
            (out, brim + UNDER_TRAY - 2 * BEND),
            (out, brim - HANGS),
        ]
    name = f"Strip of membrane on the edge of the floor{into}"
    return Layer("membrane", "membrane", sheet(way, FILM), name, ("tray_down", "door_edge"), "floor", water=True, order=2)  # fmt: skip


def _cover_below_sill(wall: Wall, frame: Frame, low: float, *, meshed: bool) -> list[Layer]:
    """What covers tray and strip before the edge of the floor down to ``low``, screwed to the back of the outer sill's lip."""
    inner, lip = min(wall.face, frame.outer), wall.face - NOSE + SHEET
    high = under_outer_sill(frame, lip)
    way = [(lip, high - HOOK), (lip, high), (inner, under_outer_sill(frame, inner)), (inner, low)]
    name = "Metal cover below the outer sill, screwed behind its lip (our choice), {} at its foot"
    foot = Layer("foot mesh", "mesh", rectangle(inner, low, -FILM, low + MESH), "", (), "cover plate", cut=False, order=3)  # fmt: skip
    screw = rectangle(lip - SHEET - 3, high - 8, lip + SHEET + 3, high - 5)
    return [
        Layer("cover plate", "metal", sheet(way, -SHEET), name.format("mesh" if meshed else "open"), ("door_edge",), "outer sill", order=3),
        Layer("cover screw", "fixing", screw, "", (), "cover plate", cut=False, order=3),
        *[foot] * meshed,
    ]  # fmt: skip


def door_on_tray(
    numbers: Numbers, frame: Frame, first: float, on_tray: Callable[[float], float]
) -> list[Layer]:
    """Threshold and door on a tray whose back stands within the floor, and the seal between them.

    Parameters
    ----------
    first
        Where the packer begins.
    on_tray
        Height of the tray's face over the depth of the wall.
    """
    high, last, middle = BACK + LIP, min(first + 25, frame.inner - 4), BACK - BEAD - GAP / 2
    sill = (
        (frame.outer, PACKER),
        (frame.inner, PACKER),
        (frame.inner, high),
        (frame.outer + 16, high),
        (frame.outer, high - 4),
    )
    return [
        Layer("packer", "packer", ((first, on_tray(first)), (last, on_tray(last)), (last, PACKER), (first, PACKER)),
              "Packer beyond the cut, clear of the drain path", ("bottom_open",), "tray", cut=False, order=3),
        Layer("frame", "frame", sill, "Threshold, bottom edge unsealed", ("bottom_open",),
              "packer", water=True, air=True, order=3),
        Layer("door", "frame", rectangle(frame.outer + 8, high, frame.outer + 52, high + DOOR), "Door", (), "frame", water=True, air=True),
        Layer("seal", "sealant", rectangle(frame.inner, BACK - BEAD, frame.back, BACK), "Inner air seal" + (", on its rod" if rod_asked(numbers) else ""), ("air_seal",), "frame", water=True,
              air=True, order=3),
        *([replace(rod((frame.inner + GAP / 2, middle), GAP / 2, "frame"), name="")] if rod_asked(numbers) else []),
    ]  # fmt: skip
