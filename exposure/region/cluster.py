"""Columns of cells worked on by a running Dask scheduler. The results are those of own threads, bit by bit."""

import tempfile
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from exposure.checks import RefusalError
from exposure.region.checkpoint import write_atomically
from exposure.region.column_pass import Column, PassSettings, run_column
from exposure.region.grid import Grid, open_region

AT_ONCE = (
    4  # columns sent for each thread of the cluster: enough that none waits, few enough to hold the answers
)
RETRIES = 5  # of a column whose worker was lost


def run_on_cluster(
    dask: Any,
    grid: Grid,
    columns: list[Column],
    settings: PassSettings,
    work: Path,
    weight_of: Callable[[Column], np.ndarray | None],
    progress: Callable[[int], None],
) -> None:
    """Send each column to a worker, and keep what comes back in ``work``.

    Workers open the grid themselves by its address, which must lead to it from there; their answers travel
    back, so that only the caller writes the result. A column whose worker is lost is given to another.
    """
    try:
        from distributed import Client, as_completed
    except ImportError as error:
        raise RefusalError(
            "the package 'distributed' is not installed",
            "the packages for a cluster",
            "Install them: pip install 'driving-rain-exposure[cluster]'.",
        ) from error
    client = dask if isinstance(dask, Client) else _connect(Client, str(dask))
    try:
        opening = grid.opening
        todo = list(columns)

        def send(column: Column) -> Any:
            state = column.folder(work) / "state.npz"
            kept = state.read_bytes() if state.is_file() else None
            return client.submit(
                work_on_column,
                opening,
                column,
                settings,
                weight_of(column),
                kept,
                pure=False,
                retries=RETRIES,
            )

        threads = max(1, sum(client.nthreads().values()))
        first, todo = todo[: AT_ONCE * threads], todo[AT_ONCE * threads :]
        sent = {}
        queue = as_completed()
        for column in first:
            future = send(column)
            sent[future.key] = column
            queue.add(future)
        for future in queue:
            files = future.result()
            column = sent.pop(future.key)
            for name in sorted(files, key=lambda name: name == "state.npz"):  # the state last
                content = files[name]
                write_atomically(column.folder(work) / name, lambda stream, c=content: stream.write(c))
            progress(column.cells * grid.hours.size)
            future.release()
            if todo:
                column = todo.pop(0)
                following = send(column)
                sent[following.key] = column
                queue.add(following)
    finally:
        if client is not dask:
            client.close()


def work_on_column(
    opening: dict, column: Column, settings: PassSettings, weight: np.ndarray | None, state: bytes | None
) -> dict[str, bytes]:
    """Take one column to the end of the record on this worker; return the files of its folder."""
    with tempfile.TemporaryDirectory(prefix="exposure-column-") as room:
        folder = column.folder(Path(room))
        if state is not None:
            folder.mkdir(parents=True)
            (folder / "state.npz").write_bytes(state)
        run_column(_opened(**opening), column, settings, work=Path(room), sector_weight=weight)
        return {path.name: path.read_bytes() for path in folder.iterdir()}


@lru_cache(maxsize=2)
def _opened(columns: tuple | None, told: tuple | None, **opening: Any) -> Grid:
    """The grid, opened once a worker."""
    return open_region(
        **opening, columns=dict(columns) if columns else None, told=dict(told) if told else None
    )


def _connect(client_class: Any, address: str) -> Any:
    try:
        return client_class(address, timeout=10)
    except (OSError, ValueError) as error:
        raise RefusalError(
            f"no Dask scheduler answers at {address}", "the address of a running scheduler", "Check it."
        ) from error
