"""What a pass keeps on disk of each column: its finished years, and the state it can go on from.

In the folder ``work`` of a result, ``column-00007`` holds, for one column of cells,
``state.npz`` (the position and the whole state at that position) and for each finished year ``1991-walls.npy``
(annual sums and largest spells) and ``1991-account.npy``. Each file ends with its checksum, is written under another
name and moved into place; the years before the state. So whatever stops the program, the state on disk and the years it needs fit together.
"""

import hashlib
from io import BytesIO
from pathlib import Path

import numpy as np

from exposure.checks import RefusalError
from exposure.in_place import filled_in_place
from exposure.rain.streaming import Streaming, YearOfCells
from exposure.rain.streaming_state import State
from exposure.region.tally import Tally
from exposure.region.weather_block import Carry

SEAL = 32  # bytes of a checksum
ACCOUNT = ("hours_known", "rain", "rain_without_wind", "unassigned", "longest_unseen")


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


def write_sealed(path: Path, content: bytes) -> None:
    """Write ``content`` and its checksum behind it, as :func:`write_atomically` does."""
    write_atomically(path, lambda stream: stream.write(content + hashlib.sha256(content).digest()))


def read_sealed(path: Path) -> bytes:
    """The content of a file of :func:`write_sealed`.

    Raises
    ------
    RefusalError
        When it is not as it was written: says which folder to remove.
    """
    try:
        whole = path.read_bytes()
    except OSError as error:
        raise _damaged(path, error.strerror or str(error)) from error
    content, seal = whole[:-SEAL], whole[-SEAL:]
    if hashlib.sha256(content).digest() != seal:
        raise _damaged(path, "its checksum is wrong")
    return content


def _damaged(path: Path, why: str) -> RefusalError:
    return RefusalError(
        f"the kept work {path.parent.name}/{path.name} is damaged ({why})",
        "the file as it was written",
        f"Remove the folder {path.parent} and give the same command again: that part is worked out anew.",
    )


def write_year(folder: Path, year: YearOfCells) -> None:
    """Keep one finished year of a column."""
    account = np.stack([np.asarray(getattr(year, name), dtype=np.float64) for name in ACCOUNT])
    for name, values in (("walls", np.stack([year.annual, year.spell])), ("account", account)):
        whole = BytesIO()
        np.save(whole, values, allow_pickle=False)
        write_sealed(folder / f"{year.year}-{name}.npy", whole.getvalue())


def check_years(folder: Path) -> None:
    """Look at the checksum of every finished year of a column.

    Raises
    ------
    RefusalError
        For a file that is damaged or gone.
    """
    for year in finished_years(folder):
        for name in ("walls", "account"):
            read_sealed(folder / f"{year}-{name}.npy")


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


def write_state(folder: Path, stream: Streaming, carry: Carry | None, tally: Tally) -> None:
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
    arrays |= {f"tally_{name}": part for name, part in tally._asdict().items()}
    whole = BytesIO()  # an archive cut off by a full disk would speak up once more when it is thrown away
    np.savez(whole, position=np.array(position), **arrays)  # type: ignore[arg-type]  # no name is an option
    write_sealed(folder / "state.npz", whole.getvalue())


def restore_state(folder: Path, stream: Streaming) -> tuple[Carry | None, Tally] | None:
    """Bring ``stream`` to the state kept in ``folder``; return what undoing an accumulation needs, and the tally.

    None where no state is kept.

    Years kept beyond that state (the program stopped between the two) are removed.
    """
    path = folder / "state.npz"
    known: dict[str, np.ndarray] = {}
    if path.is_file():
        with np.load(BytesIO(read_sealed(path)), allow_pickle=False) as kept:
            known = {name: kept[name] for name in kept.files}
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
    tally = Tally(*(known[f"tally_{name}"] for name in Tally._fields))
    return None if carried is None else Carry(carried, totals), tally
