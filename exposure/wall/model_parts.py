"""A building information model (IFC): opened soundly, the building asked for, its outer walls and their shapes."""

import re
from collections.abc import Iterable
from graphlib import CycleError, TopologicalSorter
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np

from exposure.checks import RefusalError
from exposure.doubts import Doubt, doubt
from exposure.site.site_list import one_line

LARGEST = 50_000_000  # bytes
MOST_WALLS = 5_000
DEEPEST = 500  # references one behind the other; the library would run out of stack; our choice


def open_model(source: Path) -> tuple[Any, SimpleNamespace]:
    """The model and the parts of the library that read it."""
    size = source.stat().st_size
    if size > LARGEST:
        raise RefusalError(
            f"{source.name} holds {size / 1e6:.0f} MB", f"at most {LARGEST / 1e6:.0f} MB",
            "Save only walls, roofs, windows, doors and storeys.",
        )  # fmt: skip
    raw = source.read_bytes()
    if b"ISO-10303-21;" not in raw[:2000]:
        raise RefusalError(f"{source.name} is no IFC text", "an IFC file (STEP)", "Save the model as .ifc.")
    if b"END-ISO-10303-21;" not in raw[-1000:]:
        raise RefusalError(f"{source.name} ends in the middle", "a whole file", "Save or copy it again.")
    _check_references(raw, source.name)
    try:
        import ifcopenshell
        import ifcopenshell.geom
        import ifcopenshell.util.element as element
        import ifcopenshell.util.geolocation as geolocation
        import ifcopenshell.util.placement as placement
        import ifcopenshell.util.unit as unit
    except (ImportError, RuntimeError) as error:
        raise RefusalError(
            f"{source.name} is a model and ifcopenshell is not installed",
            "the packages for models",
            "Install them (pip install 'driving-rain-exposure[model]'), or write a house file.",
        ) from error
    ifcopenshell.get_log()  # what was logged before is none of this file's
    try:
        model = ifcopenshell.open(source, format=".ifc")
    except (ifcopenshell.Error, OSError, RuntimeError, ValueError) as error:
        raise RefusalError(
            f"{source.name} cannot be read ({one_line(error)[:80]})", "IFC2X3, IFC4 or IFC4X3", "Save the model again."
        ) from error  # fmt: skip
    faults = ifcopenshell.get_log().lower().count("[error]")
    settings = ifcopenshell.geom.settings()
    settings.set("use-world-coords", True)
    settings.set("disable-opening-subtractions", True)

    def shape(part: Any) -> Any:
        made: Any = ifcopenshell.geom.create_shape(settings, part)
        return made.geometry

    return model, SimpleNamespace(
        element=element, geolocation=geolocation, placement=placement, unit=unit, shape=shape, faults=faults
    )


def _check_references(raw: bytes, file: str) -> None:
    """Stop at parts that refer to themselves, by whatever way round: the library would follow them without end."""
    plain = re.sub(rb"'[^']*'", b"", raw)
    parts = {one[1]: re.findall(rb"#\d+", one[2]) for one in re.finditer(rb"(#\d+)\s*=([^;]*);", plain)}
    depth: dict[bytes, int] = {}
    try:
        for part in TopologicalSorter(parts).static_order():
            depth[part] = 1 + max((depth[other] for other in parts.get(part, ())), default=0)
    except CycleError as error:
        raise RefusalError(
            f"part {error.args[1][0].decode()} of {file} refers to itself", "a sound model", "Save it again."
        ) from None
    if max(depth.values(), default=0) > DEEPEST:
        raise RefusalError(
            f"references in {file} stand more than {DEEPEST} deep", "a sound model", "Save it again."
        )


def building_in(model: Any, lib: SimpleNamespace, name: str | None, file: str) -> tuple[Any, list[Any]]:
    """The building asked for and everything in it; all of the model where it tells no building."""
    held = [(one, parts_of(one, lib)) for one in model.by_type("IfcBuilding")]
    held = [(one, parts) for one, parts in held if any(part.is_a("IfcWall") for part in parts)]
    if not held and name is None:
        return None, list(model.by_type("IfcProduct"))
    names = [one_line(one.Name) for one, _ in held]
    fits = held if name is None else [one for one, called in zip(held, names, strict=True) if called == name]
    if len(fits) != 1:
        raise RefusalError(
            f"{file} holds {len(held)} buildings with walls" + ("" if name is None else f", {len(fits)} of them {name[:60]!r}"),
            "one, or its name", f"Name one of {', '.join(map(repr, names[:8])) or 'none'}.",
        )  # fmt: skip
    return fits[0]


def parts_of(part: Any, lib: SimpleNamespace) -> list[Any]:
    """Everything in a part, in the order of the file; the library gives it in any."""
    return sorted(lib.element.get_decomposition(part), key=lambda one: one.id())


def metre_of(model: Any, lib: SimpleNamespace, file: str) -> float:
    """Metres in the model's unit of length."""
    if lib.unit.get_project_unit(model, "LENGTHUNIT") is None:
        raise RefusalError(
            f"{file} tells no unit of length", "metres, millimetres or feet", "Set the model's unit."
        )
    return float(lib.unit.calculate_unit_scale(model))


def outer_walls(inside: Iterable[Any], lib: SimpleNamespace, called: str, told: list[Doubt]) -> list[Any]:
    """Walls told to be outer; all but those told to be inner where none is."""
    walls = [one for one in inside if one.is_a("IfcWall") or one.is_a("IfcCurtainWall")]
    if len(walls) > MOST_WALLS:
        raise RefusalError(f"{called} has {len(walls):,} walls", f"at most {MOST_WALLS:,}", "Save one house.")
    outer = {one.id(): is_external(one, lib) for one in walls}
    if not any(outer.values()):
        told.append(doubt("wall.model_outer_untold", called))
        return [one for one in walls if outer[one.id()] is not False]
    untold = sum(value is None for value in outer.values())
    if untold:
        told.append(doubt("wall.model_some_outer_untold", called, count=untold))
    return [one for one in walls if outer[one.id()]]


def is_external(part: Any, lib: SimpleNamespace) -> bool | None:
    """Whether a part is told to be outside; None where it is not told."""
    kind = next(kind for kind in ("CurtainWall", "Wall", "Window", "Door") if part.is_a(f"Ifc{kind}"))
    value = lib.element.get_pset(part, f"Pset_{kind}Common", "IsExternal")
    return value if isinstance(value, bool) else None


def shape_of(part: Any, lib: SimpleNamespace) -> tuple[np.ndarray, np.ndarray] | None:
    """Corners [m] and triangles of a part and what it is made of; None where it has no shape that can be read."""
    parts = [part] if part.Representation else [one for one in parts_of(part, lib) if one.Representation]
    corners, faces, count = [], [], 0
    for one in parts:
        try:
            shape = lib.shape(one)
        except RuntimeError:
            return None
        corners.append(np.asarray(shape.verts, dtype=float).reshape(-1, 3))
        faces.append(np.asarray(shape.faces, dtype=int).reshape(-1, 3) + count)
        count += len(corners[-1])
    if not count or not np.isfinite(np.concatenate(corners)).all():
        return None
    return np.concatenate(corners), np.concatenate(faces)
