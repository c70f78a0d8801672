"""What each process beside the page does alike: read what is asked, tell how far it is, leave a result or a refusal.

Derived from the builder's minute on a phone: a file from anywhere is read where it can do the page no harm, and Stop
ends the reading itself, not only its result. See :mod:`exposure.page.work.beside`.
"""

import json
import os
import signal
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from exposure.checks import RefusalError
from exposure.in_place import filled_in_place

REQUEST, PROGRESS, REFUSED = "request.json", "progress", "refused.json"
MEMORY = 3 * 2**30  # bytes such a process may have; our choice

Do = Callable[[dict[str, Any], Path, Callable[[float, str], None]], None]


def answer_request(folder: Path, do: Do, *, expected: str) -> None:
    """Do what the folder's request asks; a refusal goes into the folder.

    Parameters
    ----------
    expected
        What is said that a file should have been which needs more memory than there is.
    """
    request = json.loads((folder / REQUEST).read_text("utf-8"))
    most = int(request.get("memory", MEMORY))
    limit_memory(most)

    def tell(share: float, words: str) -> None:
        with filled_in_place(folder / PROGRESS) as part:
            part.write_text(f"{share:.3f} {words}", "utf-8")

    try:
        do(request, folder, tell)
    except (RefusalError, MemoryError) as reason:
        refused = reason if isinstance(reason, RefusalError) else too_much_memory(most, expected)
        with filled_in_place(folder / REFUSED) as part:
            part.write_text(json.dumps(vars(refused)), "utf-8")


def limit_memory(most: int) -> None:
    """Let this process have at most ``most`` bytes: a small file can be unpacked to many times its size."""
    try:
        import resource
    except ImportError:  # no such limit on this system
        return
    resource.setrlimit(resource.RLIMIT_AS, (most, most))


def too_much_memory(most: int, expected: str) -> RefusalError:
    """What is said of a file that needs more memory than one reader may have.

    Examples
    --------
    >>> print(too_much_memory(3 * 2**30, "a smaller file").came)
    a file that needs more than 3.0 GB of memory once it is opened
    """
    return RefusalError(
        f"a file that needs more than {most / 2**30:.1f} GB of memory once it is opened",
        expected,
        "Cut it smaller, or use the command in the terminal.",
    )


def live_with_parent(main: Callable[[Path], None]) -> None:
    """Run ``main`` on the folder named by the command line; nothing stays behind when the page's server is gone."""
    signal.signal(
        signal.SIGTERM, lambda *_: sys.exit(1)
    )  # what stands half-written is cleared on the way out
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is the server's
    folder = Path(sys.argv[1])
    threading.Thread(target=_end_with_parent, args=(folder,), daemon=True).start()
    main(folder)


def _end_with_parent(folder: Path) -> None:
    import shutil

    parent = os.getppid()
    while os.getppid() == parent:
        time.sleep(0.5)
    shutil.rmtree(folder, ignore_errors=True)
    os._exit(1)
