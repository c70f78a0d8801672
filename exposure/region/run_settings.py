"""What the work in a folder was done with: compared before it is gone on with, so that it never answers for another grid.

``run.json`` holds the settings, the marks of the grid's files, a few of its values, and up to which hour a result was
finished. Work that is asked for under other settings, or for a grid whose content changed, is refused.
"""

import hashlib
import json
from pathlib import Path
from typing import Any

import numpy as np

from exposure.checks import RefusalError
from exposure.climate.grid.marks import code_mark, content_mark, mark
from exposure.climate.grid.sample import UNREADABLE, read_cells, spread
from exposure.region.checkpoint import write_atomically
from exposure.region.chunk_reading import file_of
from exposure.region.column_pass import Column
from exposure.region.grid import Grid, rows_of

FORM = 3  # goes up when the work kept on disk can no longer be gone on with
CODE = (  # what makes the work: other code does not go on with it
    "rain/hour.py", "rain/spells.py", "rain/streaming.py", "rain/streaming_kernel.py", "rain/streaming_state.py", "region/column_pass.py",
    "region/tally.py", "region/weather_block.py", "region/chunk_reading.py", "climate/grid/blocks.py", "clock.py",
)  # fmt: skip
SAMPLED_HOURS = 6  # whose values are kept of each run; our choice
SAMPLED_CELLS = 2  # along each axis
FREE = ("address", "years", "start", "end", "files")  # what an update may bring anew
WORDS = {
    "form": "the form of the stored work",
    "code": "the program's arithmetic of",
    "orientations": "the number of orientations",
    "wet_hour": "the wet-hour threshold",
    "bbox": "the box",
    "cells": "the cells of the grid",
    "weights": "the sector weights",
    "variables": "the variables read",
    "conversions": "the units",
    "rain_rule": "the rain rule",
    "direction_turn": "the turn of the wind direction",
    "wind_factor": "the factor of the wind",
    "kind": "the kind of record",
    "told": "the kind, title or licence told",
    "calendar": "the calendar",
    "address": "the grid",
    "years": "the years",
    "start": "the first hour of the record",
    "end": "the last hour of the record",
}


def settings_of(
    grid: Grid,
    columns: list[Column],
    *,
    orientations: int,
    wet_hour: float,
    weight: np.ndarray | None,
) -> dict[str, Any]:
    """All that a result depends on, as JSON knows it, besides ``columns``: how its cells are cut."""
    names, opening = grid.names, grid.opening
    address = opening["address"]
    told = {
        "form": FORM,
        "code": code_mark(*CODE),
        "orientations": orientations,
        "wet_hour": wet_hour,
        "bbox": opening["bbox"],
        "cells": digest(grid.latitude, grid.longitude),
        "weights": None if weight is None else digest(weight),
        "variables": dict(names.names),
        "conversions": {term: list(one) for term, one in names.conversions.items()},
        "rain_rule": names.rain_rule,
        "direction_turn": names.direction_turn,
        "wind_factor": grid.wind_factor,
        "kind": grid.kind,
        "told": opening["told"],
        "calendar": grid.calendar,
        "address": str(Path(address).resolve()) if Path(address).is_absolute() else address,
        "years": opening["years"],
        "start": int(grid.hours[0]),
        "end": int(grid.hours[-1]),
        "files": file_marks(grid),
        "columns": [
            [part.start, part.stop]
            for column in columns
            for part in (column.rows, column.columns, *column.place)
        ],
    }
    return json.loads(json.dumps(told))


def file_marks(grid: Grid, without: Path | None = None) -> dict[str, str]:
    """Name of each part of the grid and a mark of what its files hold; of a remote part, a mark of sampled values.

    The file ``without`` is left aside.
    """
    marks = {}
    first = 0
    for part in grid.parts:
        files = [part.path] if part.path else [file_of(part.dataset[name]) for name in grid.names.needed]
        if all(files):
            marks[part.name] = mark(
                repr([content_mark(one, without=without) for one in dict.fromkeys(files) if one])
            )
        else:
            own = grid.hours[first : first + part.hours.size]
            marks[part.name] = mark(repr(value_marks(grid, own[spread(own.size, SAMPLED_HOURS)].tolist())))
        first += part.hours.size
    return marks


def value_marks(grid: Grid, hours: list[int]) -> dict[str, str]:
    """A mark of the values of a few cells at each of ``hours`` that the grid holds; none where they cannot be read."""
    columns = np.concatenate([np.arange(run.start, run.stop) for run in grid.columns])
    down = grid.rows.start + spread(grid.rows.stop - grid.rows.start, SAMPLED_CELLS)
    across = columns[spread(columns.size, SAMPLED_CELLS)]
    cells = np.repeat(down, across.size), np.tile(across, down.size)
    marks = {}
    for hour in hours:
        at = int(np.searchsorted(grid.hours, hour))
        if at == grid.hours.size or grid.hours[at] != hour:
            continue
        part, own, _ = rows_of(grid, slice(at, at + 1))[0]
        try:
            values = [
                read_cells(part.dataset, part.names, name, hours=own, rows=cells[0], columns=cells[1])
                for name in grid.names.needed
            ]
        except UNREADABLE:
            continue  # the pass names what is damaged
        marks[str(hour)] = digest(*values)
    return marks


def take_up(work: Path, settings: dict[str, Any], grid: Grid, *, update: bool) -> dict[str, Any]:
    """Compare ``settings`` with those of the work in ``work``, keep them there and give back what now holds.

    Raises
    ------
    RefusalError
        When the folder holds the work of another grid or other settings (says which differ), its settings are
        damaged, there is nothing to update or an update is unfinished.
    """
    path = work / "run.json"
    if not path.exists():
        if update:
            raise RefusalError(
                "the folder holds no result to update",
                "a finished result",
                "Do not ask for an update.",
                parameter="update",
            )
        sampled = grid.hours[spread(grid.hours.size, SAMPLED_HOURS)].tolist()
        told = settings | {
            "values": value_marks(grid, sampled),
            "done": None,
            "record_start": settings["start"],
        }
        _write(path, told)
        return told
    kept = _read(path)
    for key in (key for key in WORDS if key not in FREE and settings[key] != kept.get(key)):
        raise _differs(key, kept.get(key), settings[key])
    same = all(settings[key] == kept[key] for key in FREE)
    if kept["done"] is not None and kept["done"] < kept["end"]:  # an update was stopped
        if not same:
            raise RefusalError(
                "the folder holds an update that was stopped",
                "the grid and years of that update",
                "Give the same command as then once more; after that, go on.",
            )
        return kept
    if not update:
        if not same and _is_mended(settings, kept, grid):
            kept = kept | {"files": settings["files"], "damaged": None}
            _write(path, kept)
        elif not same:
            _refuse_other(settings, kept)
        return kept
    if kept["done"] is None:
        raise RefusalError(
            "the folder holds a run that was stopped", "a finished result to update",
            "Start that run once more, not as an update.", parameter="update",
        )  # fmt: skip
    if settings["end"] <= kept["done"]:
        raise RefusalError(
            "the grid holds no hour after those already taken in",
            "new hours to add",
            "Do not ask for an update, or give the new year.",
            parameter="update",
        )
    _refuse_changed_past(settings, kept, grid)
    late = grid.hours[grid.hours > kept["done"]]
    values = kept["values"] | value_marks(grid, late[spread(late.size, SAMPLED_HOURS)].tolist())
    free = {key: settings[key] for key in FREE}
    told = kept | free | {"values": values}
    _write(path, told)
    return told


def note_damage(work: Path, kept: dict[str, Any], grid: Grid, file: Path) -> None:
    """Note which file of the grid cannot be read, so that this one alone may be another when the work is gone on with."""
    damage = {"file": str(file), "rest": file_marks(grid, file)}
    _write(work / "run.json", kept | {"damaged": damage})


def _is_mended(settings: dict[str, Any], kept: dict[str, Any], grid: Grid) -> bool:
    """Whether nothing changed since the work was stopped but the one file that could not be read."""
    damage = kept.get("damaged")
    if not damage or any(settings[key] != kept[key] for key in FREE if key != "files"):
        return False
    here = value_marks(grid, [int(hour) for hour in kept["values"]])
    return file_marks(grid, Path(damage["file"])) == damage["rest"] and here == kept["values"]


def finished(work: Path, kept: dict[str, Any]) -> None:
    """Note that the result of these settings is written."""
    if kept["done"] != kept["end"]:
        _write(work / "run.json", kept | {"done": kept["end"]})


def columns_in(kept: dict[str, Any]) -> list[Column]:
    """The columns as they were cut when the work began, which everything later keeps to."""
    cuts = [slice(start, stop) for start, stop in kept["columns"]]
    return [Column(i // 4, cuts[i], cuts[i + 1], (cuts[i + 2], cuts[i + 3])) for i in range(0, len(cuts), 4)]


def digest(*arrays: np.ndarray) -> str:
    """A short name for the values of arrays.

    Examples
    --------
    >>> digest(np.zeros(2)) == digest(np.zeros(2)), digest(np.zeros(2)) == digest(np.ones(2))
    (True, False)
    """
    whole = hashlib.sha256()
    for array in arrays:
        whole.update(np.ascontiguousarray(array).tobytes())
    return whole.hexdigest()[:16]


def _refuse_other(settings: dict[str, Any], kept: dict[str, Any]) -> None:
    """Say which part of the grid is another than before."""
    for key in ("address", "years", "start"):
        if settings[key] != kept[key]:
            raise _differs(key, kept[key], settings[key])
    if settings["end"] != kept["end"]:
        longer = settings["end"] > kept["end"] and kept["done"] is not None
        raise _differs(
            "end",
            kept["end"],
            settings["end"],
            "Ask for an update to take in the new hours." if longer else None,
            parameter="update" if longer else "",
        )
    changed = [name for name, one in settings["files"].items() if kept["files"].get(name) != one]
    raise RefusalError(
        f"{changed[0] if changed else 'a file'} holds other values than when the work in this folder was done",
        "the grid as it was",
        "Use another folder, or remove this one's folder work: all is then worked out anew.",
    )


def _refuse_changed_past(settings: dict[str, Any], kept: dict[str, Any], grid: Grid) -> None:
    """Stop where hours already taken in now hold other values; files that only grew are compared by their values."""
    here = value_marks(grid, [int(hour) for hour in kept["values"]])
    if any(kept["values"][hour] != one for hour, one in here.items()):
        raise RefusalError(
            "the grid holds other values in hours already taken in",
            "the same hours with new ones after them",
            "Use another folder: all is then worked out anew.",
        )
    stays = {part.name for part in grid.parts if int(part.hours[-1]) <= kept["done"]}
    changed = [
        name for name in stays if kept["files"].get(name, settings["files"][name]) != settings["files"][name]
    ]
    if changed:
        raise RefusalError(
            f"{sorted(changed)[0]} holds other values than when it was taken in",
            "the files already taken in as they were",
            "Use another folder: all is then worked out anew.",
        )


def _differs(key: str, was: Any, now: Any, cure: str | None = None, *, parameter: str = "") -> RefusalError:
    return RefusalError(
        f"the folder holds a result with {WORDS[key]} {was!r}, not {now!r}"[:400],
        "the same settings as before",
        cure or "Use another folder, or the same settings.",
        parameter=parameter,
    )


def _write(path: Path, told: dict[str, Any]) -> None:
    bare = {key: value for key, value in told.items() if key != "seal"}
    text = json.dumps(bare | {"seal": mark(json.dumps(bare, sort_keys=True))}, indent=1).encode()
    write_atomically(path, lambda stream: stream.write(text))


def _read(path: Path) -> dict[str, Any]:
    try:
        kept = json.loads(path.read_text("utf-8"))
        seal = kept.pop("seal", None) if isinstance(kept, dict) else None
        if isinstance(kept, dict) and kept.get("form") not in (None, FORM):
            raise _differs("form", kept["form"], FORM)
        if not isinstance(kept, dict) or seal != mark(json.dumps(kept, sort_keys=True)):
            raise ValueError("it is not as it was written")
    except (ValueError, OSError) as error:
        if isinstance(error, RefusalError):
            raise
        raise RefusalError(
            f"{path.name} in the folder of the kept work is damaged",
            "the settings as they were written",
            f"Remove the folder {path.parent} and give the same command again: all is worked out anew.",
        ) from error
    return kept
