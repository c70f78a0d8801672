"""Work shared among processes beside this one, stopped at once when asked."""

import os
import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import get_context, parent_process
from threading import Thread
from typing import TypeVar

from exposure.checks import RefusalError

Job = TypeVar("Job")
Result = TypeVar("Result")


def results_of(
    function: Callable[[Job], Result], jobs: Sequence[Job], *, workers: int, look: Callable[[], None]
) -> Iterator[Result]:
    """What ``function`` makes of each job, as they become ready.

    Parameters
    ----------
    function
        A function of a module, and jobs that may be sent to another process.
    workers
        Processes beside this one; 0 works here.
    look
        Called every half second, and stops the work by raising.

    Raises
    ------
    RefusalError
        When a process was ended from outside.

    Examples
    --------
    >>> list(results_of(abs, [-1, 2], workers=0, look=lambda: None))
    [1, 2]
    """
    if workers < 1:
        for job in jobs:
            look()
            yield function(job)
        return
    pool = ProcessPoolExecutor(workers, mp_context=get_context("spawn"), initializer=_start_worker)
    try:
        waiting = {pool.submit(function, job) for job in jobs}
        while waiting:
            ready, waiting = wait(waiting, timeout=0.5, return_when=FIRST_COMPLETED)
            look()
            for one in ready:
                try:
                    yield one.result()
                except BrokenProcessPool as error:
                    raise RefusalError(
                        "a process that worked on a part was ended from outside",
                        "processes that may go on; the machine may be short of memory",
                        "Give the same command again with fewer processes: what was worked out is kept.",
                        parameter="workers",
                    ) from error
    except BaseException:  # stopped: what the workers have begun is of no use
        for worker in list((pool._processes or {}).values()):
            worker.terminate()
        raise
    finally:
        pool.shutdown(wait=False, cancel_futures=True)


def _start_worker() -> None:
    """An interruption is for the process that asked; a worker gives way to a user who waits, and ends with its parent."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Thread(target=_end_with_parent, daemon=True).start()
    if hasattr(os, "nice"):
        os.nice(5)


def _end_with_parent() -> None:
    """End this process once the one that started it is gone, however that came about."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
