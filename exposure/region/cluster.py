"""Parts of the work given to a running Dask scheduler. The results are those of own threads, bit by bit."""

import tempfile
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import replace
from functools import lru_cache
from itertools import islice
from pathlib import Path
from typing import Any, TypeVar

import numpy as np

from exposure.checks import RefusalError
from exposure.region.checkpoint import write_atomically
from exposure.region.column_pass import Column, PassSettings, run_column
from exposure.region.grid import Grid, open_region

Job = TypeVar("Job")

AT_ONCE = (
    4  # columns sent for each thread of the cluster: enough that none waits, few enough to hold the answers
)
PATIENCE = 30  # s to wait for a first worker; our choice
ANSWER = 10  # s to wait for a scheduler to answer; our choice
RETRIES = 5  # of a column whose worker was lost


@contextmanager
def client_of(dask: Any) -> Iterator[Any]:
    """The client of a scheduler that has workers, from its address or as it is given.

    Raises
    ------
    RefusalError
        When the package is not installed, no scheduler answers, or it has no worker.
    """
    try:
        from distributed import Client
    except ImportError as error:
        raise RefusalError(
            "the package 'distributed' is not installed",
            "the packages for a cluster",
            "Install them: pip install 'driving-rain-exposure[cluster]'.",
        ) from error
    if isinstance(dask, Client):
        _wait_for_workers(dask)
        yield dask
        return
    client = _connect(Client, str(dask))
    try:
        _wait_for_workers(client)
        yield client
    finally:
        with suppress(Exception):  # a scheduler that is gone cannot be told goodbye
            client.close(timeout=5)


def threads_of(client: Any) -> int:
    """How many threads the workers of a cluster have together."""
    return max(1, sum(client.nthreads().values()))


def run_on_cluster(
    client: Any,
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

    Raises
    ------
    RefusalError
        When workers are lost again and again, or the scheduler is; what came back is kept.
    """

    def given(column: Column) -> tuple[Any, ...]:
        state = column.folder(work) / "state.npz"
        kept = state.read_bytes() if state.is_file() else None
        return grid.opening, column, settings, weight_of(column), kept

    for column, files in answers_of(client, work_on_column, columns, given):
        for name in sorted(files, key=lambda name: name == "state.npz"):  # the state last
            content = files[name]
            write_atomically(column.folder(work) / name, lambda stream, c=content: stream.write(c))
        progress(column.cells * grid.hours.size)


def answers_of(
    client: Any, function: Callable[..., Any], jobs: Iterable[Job], given: Callable[[Job], tuple[Any, ...]]
) -> Iterator[tuple[Job, Any]]:
    """Each job with what ``function`` makes on a worker of what is ``given`` for it, as they come back.

    Only so many are on their way at a time; what is not asked for any more is called back. A job whose worker is lost
    is given to another.

    Raises
    ------
    RefusalError
        When workers are lost again and again, or the scheduler is.
    """
    from distributed import as_completed

    sent: dict[Any, tuple[Job, Any]] = {}
    queue = as_completed()
    todo = iter(jobs)

    def send(count: int) -> None:
        for job in islice(todo, count):
            future = client.submit(function, *given(job), pure=False, retries=RETRIES)
            sent[future.key] = job, future
            queue.add(future)

    try:
        send(AT_ONCE * threads_of(client))
        for future in queue:
            answer = future.result()
            job, _ = sent.pop(future.key)
            yield job, answer
            future.release()
            send(1)
    except RefusalError:
        raise
    except Exception as error:  # the library has errors of its own for each way to lose a cluster
        raise RefusalError(
            f"the cluster failed ({type(error).__name__}: {str(error)[:120]})",
            "workers with room for their part of the work, that stay, and a scheduler that answers",
            "Give them more memory or start them again, then the same command: what was finished is kept.",
        ) from error
    finally:
        with suppress(Exception):  # a cluster that is gone has nothing to call back
            client.cancel([future for _, future in sent.values()])


def _wait_for_workers(client: Any) -> None:
    """Stop rather than wait for ever where a scheduler has no worker."""
    until = time.monotonic() + PATIENCE
    while not client.scheduler_info()["workers"]:
        if time.monotonic() > until:
            raise RefusalError(
                f"the Dask scheduler has had no worker for {PATIENCE} s",
                "at least one worker",
                "Start workers, then give the same command again.",
            )
        time.sleep(0.2)


def work_on_column(
    opening: dict, column: Column, settings: PassSettings, weight: np.ndarray | None, state: bytes | None
) -> dict[str, bytes]:
    """Take one column to the end of the record on this worker; return the files of its folder."""
    with tempfile.TemporaryDirectory(prefix="exposure-column-") as room:
        folder = column.folder(Path(room))
        if state is not None:
            folder.mkdir(parents=True)
            (folder / "state.npz").write_bytes(state)
        run_column(_opened(**opening), column, replace(settings, work=Path(room)), sector_weight=weight)
        return {path.name: path.read_bytes() for path in folder.iterdir()}


@lru_cache(maxsize=2)
def _opened(columns: tuple | None, told: tuple | None, **opening: Any) -> Grid:
    """The grid, opened once a worker."""
    return open_region(
        **opening, columns=dict(columns) if columns else None, told=dict(told) if told else None
    )


def _connect(client_class: Any, address: str) -> Any:
    try:
        return client_class(address, timeout=ANSWER)
    except (OSError, ValueError) as error:
        raise RefusalError(
            f"no Dask scheduler answers at {address}", "the address of a running scheduler", "Check it."
        ) from error
