"""The schedule's lines on the inside layer and on how open to vapour the membrane is."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import inf
from typing import Any

from exposure.detail.inside_layer import CAUTION, InsideLayer, permeance_words
from exposure.detail.schedule_parts import ScheduleLine
from exposure.doubts import Doubt, doubt
from exposure.tables.standing import with_standing

KEY, MEMBRANE = "inside_layer", "mem_perm"
WET = (  # in place of a layer with which the check finds water inside the wall
    "Settle the layer on the room side with the designer of the wall before ordering: with {layer} water stays inside."
)
BEHIND = "air_seal"  # the line it follows, in order of work


def with_inside(
    lines: Sequence[ScheduleLine], found: InsideLayer, *, by_rule: bool
) -> tuple[ScheduleLine, ...]:
    """The schedule's lines with the inside layer's, and the membrane's permeance as the climate asks it.

    Parameters
    ----------
    by_rule
        Whether a local rule asks for the permeance that stands in the lines.
    """
    row = found.row
    if row is None:
        return tuple(lines)
    done: list[ScheduleLine] = []
    for line in lines:
        done.append(_membrane(line, found, row, by_rule=by_rule) if line.key == MEMBRANE else line)
        if line.key == BEHIND:
            done.append(_layer(found, row))
    return tuple(done)


def inside_shown(found: InsideLayer) -> dict[str, str]:
    """The inside layer as the steps name it; empty for a wall without frame."""
    if not found.side:
        return {}
    none = found.side.startswith("none")
    return {KEY: "no vapour control layer" if none else f"then the vapour control layer: {found.side}"}


def permeance_doubts(elevation: str, found: InsideLayer, asked: object) -> tuple[Doubt, ...]:
    """A doubt where a local rule asks a membrane more open to vapour than the climate suits."""
    if not isinstance(asked, int | float) or asked <= found.most:
        return ()
    return (doubt("detail.permeance_clash", elevation, asked=float(asked), most=found.most),)


def _layer(found: InsideLayer, row: Mapping[str, Any]) -> ScheduleLine:
    build = row["build"]
    if found.chosen is not None and found.is_wet:
        build = WET.format(layer=found.chosen.name)
    return ScheduleLine(
        key=KEY,
        where="Room side",
        build=build,
        why=f"{row['reason']} {_by_words(found)} Checked: {found.check_words}.",
        one_lower="Every level asks the same.",
        source=with_standing(row["source"], row["standing"]),
        standing=row["standing"],
        caution=CAUTION,
        axis="-",
        decided_by="this wall",
        value=found.side,
        unit="",
    )


def _membrane(
    line: ScheduleLine, found: InsideLayer, row: Mapping[str, Any], *, by_rule: bool
) -> ScheduleLine:
    least = float(line.value)
    most = f" and at most {permeance_words(found.most)}" if least <= found.most < inf else ""
    said = replace(
        line,
        decided_by="a local rule" if by_rule else "this wall",
        build=f"Order a membrane that lets at least {permeance_words(least)}{most} of vapour through.",
        why=f"{row['range_reason']} {_by_words(found)}"
        + (" The check asks a more open one than the range begins with." if found.raised else ""),
    )
    if by_rule:
        return said
    standing = "worked out" if found.raised else row["range_standing"]
    return replace(said, source=with_standing(row["range_source"], standing), standing=standing)


def _by_words(found: InsideLayer) -> str:
    return (
        "The climate is not known." if found.by == "nobody" else f"Counted as {found.climate} by {found.by}."
    )
