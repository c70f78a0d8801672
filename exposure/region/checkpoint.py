"""What a pass keeps on disk: its settings, each finished year, and the state it can go on from.

In the folder ``work`` of a result, ``run.json`` holds the settings; ``column-00007`` holds, for one column of cells,
``state.npz`` (the position and the whole state at that position) and for each finished year ``1991-walls.npy``
(annual sums and largest spells) and ``1991-account.npy``. Each file is written under another name and moved into place; the
years before the state. So whatever stops the program, the state on disk and the years it needs fit together.
"""

import json
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np

from exposure.checks import RefusalError
from exposure.in_place import filled_in_place
from exposure.rain.streaming import Streaming, YearOfCells
from exposure.rain.streaming_kernel import State
from exposure.region.weather_block import Carry

ACCOUNT = ("hours_known", "rain", "rain_without_wind", "unassigned", "longest_unseen")
SETTING_WORDS = {
    "address": "the grid",
    "orientations": "the number of orientations",
    "wet_hour": "the wet-hour threshold",
    "bbox": "the box",
    "years": "the years",
    "cells": "the cells of the grid",
    "columns": "how the grid is stored",
    "weights": "the sector weights",
    "variables": "the variables read",
    "calendar": "the calendar",
    "start": "the first hour of the record",
    "end": "the last hour of the record",
    "form": "the form of the stored work",
}


def write_atomically(path: Path, write) -> None:
    """Let ``write(stream)`` fill a file beside ``path``, then move it into place.

    Raises
    ------
    RefusalError
        When the disk is full or cannot be written; what stood at ``path`` is untouched.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with filled_in_place(path) as part, part.open("wb") as stream:
            write(stream)
    except OSError as error:
        raise RefusalError(
            f"{path.name} cannot be written ({error.strerror or error})",
            "a folder with room",
            "Make room and give the same command again: what was finished is kept.",
        ) from error


def write_year(folder: Path, year: YearOfCells) -> None:
    """Keep one finished year of a column."""
    account = np.stack([np.asarray(getattr(year, name), dtype=np.float64) for name in ACCOUNT])
    for name, values in (("walls", np.stack([year.annual, year.spell])), ("account", account)):
        write_atomically(
            folder / f"{year.year}-{name}.npy",
            lambda stream, v=values: np.save(stream, v, allow_pickle=False),
        )


def read_year(folder: Path, year: int, cells: slice = slice(None), *, walls: bool = True) -> YearOfCells:
    """One finished year of a column, or of some of its cells, with or without its walls; only that is read."""
    account = np.load(folder / f"{year}-account.npy", mmap_mode="r", allow_pickle=False)
    counts = {name: np.array(row[cells]) for name, row in zip(ACCOUNT, account, strict=True)}
    if not walls:
        nothing = np.zeros((0, 0), np.float32)
        return YearOfCells(year, nothing, nothing, **counts)
    both = np.load(folder / f"{year}-walls.npy", mmap_mode="r", allow_pickle=False)
    return YearOfCells(year, np.array(both[0, cells]), np.array(both[1, cells]), **counts)


def finished_years(folder: Path) -> list[int]:
    """Years of a column kept on disk."""
    return sorted(int(path.name.removesuffix("-account.npy")) for path in folder.glob("[!.]*-account.npy"))


def write_state(folder: Path, stream: Streaming, carry: Carry | None) -> None:
    """Keep the state of a column, from which the pass can go on."""
    waiting = stream.waiting[0] if stream.waiting else None
    arrays = {f"state_{name}": part for name, part in zip(State._fields, stream.state, strict=True)}
    position = [
        -(2**62) if stream.hour is None else stream.hour,
        -(2**62) if stream.year is None else stream.year,
        -(2**62) if waiting is None else waiting.year,
        -(2**62) if carry is None else carry.hour,
    ]
    if waiting is not None:
        arrays |= {f"waiting_{name}": getattr(waiting, name) for name in ("annual", *ACCOUNT)}
    if carry is not None:
        arrays |= {f"carry_{term}": total for term, total in carry.totals.items()}
    whole = BytesIO()  # an archive cut off by a full disk would speak up once more when it is thrown away
    np.savez(whole, position=np.array(position), **arrays)  # type: ignore[arg-type]  # no name is an option
    write_atomically(folder / "state.npz", lambda file: file.write(whole.getbuffer()))


def restore_state(folder: Path, stream: Streaming) -> Carry | None:
    """Bring ``stream`` to the state kept in ``folder``, if any; return what undoing an accumulation needs.

    Years kept beyond that state (the program stopped between the two) are removed.
    """
    path = folder / "state.npz"
    known: dict[str, np.ndarray] = {}
    if path.is_file():
        try:
            with np.load(path, allow_pickle=False) as kept:
                known = {name: kept[name] for name in kept.files}
        except (OSError, ValueError, KeyError, EOFError) as error:
            raise RefusalError(
                f"{folder.name}/state.npz is damaged ({type(error).__name__})",
                "the state as it was written",
                f"Remove the folder {folder.name}: that column is worked out again.",
            ) from error
    hour, year, waiting, carried = (
        (None if number == -(2**62) else int(number) for number in known["position"]) if known else [None] * 4
    )
    open_from = waiting if waiting is not None else year
    for late in finished_years(folder):
        if open_from is None or late >= open_from:
            for path in folder.glob(f"{late}-*.npy"):
                path.unlink()
    if not known:
        return None
    for name, part in zip(State._fields, stream.state, strict=True):
        part[...] = known[f"state_{name}"]
    stream.hour, stream.year = hour, year
    if waiting is not None:
        kept_year = {name: known[f"waiting_{name}"] for name in ("annual", *ACCOUNT)}
        stream.waiting = [YearOfCells(waiting, spell=np.zeros((0, 0), np.float32), **kept_year)]
    totals = {name.removeprefix("carry_"): part for name, part in known.items() if name.startswith("carry_")}
    return None if carried is None else Carry(carried, totals)


def check_settings(folder: Path, settings: dict[str, Any], *, update: bool) -> None:
    """Compare ``settings`` with those of the work in ``folder``, and keep them there.

    Raises
    ------
    RefusalError
        When the folder holds the work of another grid or other settings: says which differ.
    """
    path = folder / "run.json"
    told = json.loads(json.dumps(settings))
    if path.is_file():
        try:
            kept = json.loads(path.read_text("utf-8"))
        except ValueError as error:
            raise RefusalError(
                f"{path.name} is damaged", "the settings as they were written", "Use another folder."
            ) from error
        may_differ = {"address", "start", "end", "columns", "years"} if update else set()
        differing = [key for key in told if key not in may_differ and told[key] != kept.get(key, "nothing")]
        if differing:
            key = differing[0]
            only_longer = differing == ["end"] and told["end"] > kept.get("end", 0)
            raise RefusalError(
                f"the folder holds a result with {SETTING_WORDS.get(key, key)} {kept.get(key)!r}, not {told[key]!r}",
                "the same settings as before",
                "Add --update to take in the new hours."
                if only_longer
                else "Use another folder, or the same settings.",
            )
        if update:
            if told["end"] <= kept["end"]:
                raise RefusalError(
                    "the grid holds no hour after those already taken in",
                    "new hours to add",
                    "Leave out --update, or give the new year.",
                )
            told["columns"], told["start"] = kept["columns"], kept["start"]
    elif update:
        raise RefusalError("the folder holds no result to update", "a finished result", "Leave out --update.")
    text = json.dumps(told, indent=1).encode()
    write_atomically(path, lambda stream: stream.write(text))


def read_settings(folder: Path) -> dict[str, Any]:
    """The settings kept in ``folder``."""
    return json.loads((folder / "run.json").read_text("utf-8"))
