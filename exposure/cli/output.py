"""Where a command's text goes: the screen, or a file that is never half-written."""

import sys
from pathlib import Path

from exposure.checks import RefusalError
from exposure.in_place import filled_in_place


def write_text(target: str | Path, text: str) -> None:
    """Write ``text`` to the file ``target``, or to standard output when it is ``-``.

    The text goes to a temporary name beside the target and is moved into place; a device or a pipe is written to.

    Raises
    ------
    RefusalError
        When the folder does not exist or cannot be written.
    """
    raw = text.encode("utf-8", errors="replace")
    if str(target) == "-":
        sys.stdout.write(raw.decode("utf-8"))
        sys.stdout.flush()
        return
    path = Path(target)
    try:
        if path.exists() and not path.is_file() and not path.is_dir():
            path.write_bytes(raw)
            return
        with filled_in_place(path) as part:
            part.write_bytes(raw)
    except OSError as error:
        raise RefusalError(
            f"{path} cannot be written ({error.strerror})",
            "a file name in a folder you may write to",
            "Choose another.",
        ) from error
