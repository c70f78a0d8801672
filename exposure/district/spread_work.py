"""Parts of a town given to a cluster, to processes beside this one, or done here: the same results, in any order."""

from collections.abc import Callable, Iterator, Sequence
from typing import Any, TypeVar

from exposure.assess.processes import results_of

Job = TypeVar("Job")
Result = TypeVar("Result")


def spread_work(
    function: Callable[[Job], Result],
    jobs: Sequence[Job],
    *,
    workers: int,
    client: Any,
    look: Callable[[], None],
) -> Iterator[Result]:
    """What ``function`` makes of each job, as they become ready; ``look`` stops the work by raising.

    Raises
    ------
    RefusalError
        When a process, or the cluster, was lost.

    Examples
    --------
    >>> list(spread_work(abs, [-1, 2], workers=0, client=None, look=lambda: None))
    [1, 2]
    """
    if client is None:
        yield from results_of(function, jobs, workers=workers, look=look)
        return
    from exposure.region.cluster import answers_of

    for _, made in answers_of(client, function, jobs, lambda job: (job,)):
        look()
        yield made
