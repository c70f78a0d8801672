"""Single elevations as a building's file spells them: listed one by one, or set apart under their names."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from exposure.checks import RefusalError, check_between
from exposure.site.footprint import metres
from exposure.wall.building import Untold, Wall
from exposure.wall.eaves import USUAL
from exposure.wall.roof import wall_shape

WALL_KEYS = {"shape", "wall_factor", "overhang", "obstacle_distance", "height", "ridge_height"}
ELEVATION_KEYS = {
    "name", "orientation", "length", "height", "shape", "wall_factor", "obstacle_distance", "start", "end",
    "eaves_height", "factor_reason", "not_told",
}  # fmt: skip


def table_at(given: object, where: str) -> Mapping:
    """``given`` as a table, or a refusal that says where it stands."""
    if not isinstance(given, Mapping):
        raise RefusalError(f"{where} is {given!r:.40}", "a table", "Correct the file.")
    return given


def check_keys(given: object, keys: set[str], where: str) -> None:
    """Stop when the table ``given`` holds a key we do not know."""
    strange = sorted(set(map(str, table_at(given, where))) - keys)
    if strange:
        raise RefusalError(
            f"{where} holds {', '.join(map(repr, strange[:5]))}",
            f"only {', '.join(sorted(keys))}",
            "Correct the spelling.",
        )


def wall_of(given: Mapping, height: float, storeys: int) -> Wall:
    """One elevation of a list, as tall as the building where it does not say; without a shape it is a gable."""
    words = dict(given)
    for key in ("orientation", "length"):
        if key not in words:
            raise RefusalError(
                f"an elevation has no {key}", "name, orientation and length", f"Write its {key}."
            )
    words.setdefault("height", height)
    words.setdefault("name", f"facing {words['orientation']}")
    for key in ("start", "end"):
        if words.get(key) is not None:
            words[key] = _corner(words[key], f"{key} of {words['name']}")
    reason = words.get("factor_reason", "")
    if not isinstance(reason, str) or len(reason) > 200 or not reason.isprintable():
        raise RefusalError(
            f"factor_reason of {words['name']} is {reason!r:.40}",
            "one line of words",
            "Correct it, or leave it out.",
        )
    not_told = words.pop("not_told", [])
    if not isinstance(not_told, list) or not all(isinstance(one, str) for one in not_told):
        raise RefusalError(
            f"not_told of {words['name']} is {not_told!r:.40}", "a list of words", "Correct it."
        )
    untold = tuple(Untold(what, "the harder side") for what in not_told)
    if "shape" not in words and words.get("wall_factor") is None:
        untold = (*untold, Untold("shape", "a gable", _milder_shapes(words, storeys)))
    return Wall(**words, untold=untold)


def _milder_shapes(words: Mapping, storeys: int) -> tuple[tuple[str, Wall], ...]:
    """The wall as it would be under eaves of the table's width, or under a flat roof."""
    eaves = wall_shape(storeys=storeys, roof="hip", gable_end=False)
    flat = wall_shape(storeys=storeys, roof="flat", gable_end=False)
    answers = ((f"an eaves wall, {USUAL:g} mm of eaves", eaves), ("a flat roof", flat))
    return tuple((told, Wall(**{**words, "shape": shape})) for told, shape in answers)


def _corner(given: Any, name: str) -> tuple[float, float]:
    try:
        east, north = (float(part) for part in given)
    except (TypeError, ValueError) as error:
        raise RefusalError(
            f"{name} is {given!r:.40}", "two numbers, metres east and north of the place", "Correct them."
        ) from error
    return check_between(east, name, -1e5, 1e5, "m"), check_between(north, name, -1e5, 1e5, "m")


def with_own_words(wall: Wall, given: Mapping) -> Wall:
    """``wall`` with what the file says of it under its name."""
    own = given.get(wall.name)
    if own is None:
        return wall
    check_keys(own, WALL_KEYS, f"[wall.{wall.name!r}]")
    changes = {key: own[key] for key in ("shape", "wall_factor", "obstacle_distance") if key in own}
    if changes.get("obstacle_distance") is not None:
        check_between(changes["obstacle_distance"], f"obstacle_distance of {wall.name}", 0, 1e5, "m")
    settled: set[str] = set()
    if changes.get("shape") is not None or changes.get("wall_factor") is not None:
        settled |= {"eaves", "roof", "ridges", "shape"}
        changes["factor_reason"] = ""
        changes.setdefault("wall_factor", None)
    if "height" in own:
        changes["height"] = metres(own["height"])
        if changes["height"] is None:
            raise RefusalError(
                f"height of {wall.name} is {own['height']!r:.40}",
                "metres, or a text such as '20 ft'",
                "Correct it.",
            )
        changes["eaves_height"] = None
        settled |= {"ridge height"}
    kept = tuple(one for one in wall.untold if one.what not in settled)
    wall = replace(wall, **changes, untold=kept)
    return replace(wall, untold=tuple(_also(one, wall) for one in kept))


def _also(one: Untold, wall: Wall) -> Untold:
    """The answers that are left, with what the file says of the wall besides."""
    told: dict[str, Any] = {"obstacle_distance": wall.obstacle_distance}
    if one.what != "ridge height":
        told |= {"height": wall.height, "eaves_height": None} if wall.eaves_height is None else {}
    else:
        told |= {"shape": wall.shape, "wall_factor": wall.wall_factor}
    return replace(one, answers=tuple((words, replace(other, **told)) for words, other in one.answers))
