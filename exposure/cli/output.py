"""Where a command's text goes: the screen, or a file that is never half-written."""

import os
import sys
from pathlib import Path

from exposure.checks import RefusalError


def write_text(target: str | Path, text: str) -> None:
    """Write ``text`` to the file ``target``, or to standard output when it is ``-``.

    The text goes to a temporary name beside the target and is moved into place.

    Raises
    ------
    RefusalError
        When the folder does not exist or cannot be written.
    """
    if str(target) == "-":
        sys.stdout.write(text)
        sys.stdout.flush()
        return
    path = Path(target)
    part = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        part.write_text(text, "utf-8")
        part.replace(path)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise RefusalError(
            f"{path} cannot be written ({error.strerror})",
            "a file name in a folder you may write to",
            "Choose another.",
        ) from error
