"""Where a command's text goes: the screen, or a file that is never half-written."""

import sys
from pathlib import Path

from exposure.checks import RefusalError
from exposure.in_place import filled_in_place


def for_the_screen(text: str) -> str:
    r"""``text`` without what steers a terminal or turns a line around: names in files and of files are others' words.

    Examples
    --------
    >>> for_the_screen("a\x1b[31mb\u202e\nc")
    'a [31mb \nc'
    """
    return "".join(letter if letter == "\n" or letter.isprintable() else " " for letter in text)


def tell(text: str) -> None:
    """Print ``text`` as :func:`for_the_screen` leaves it."""
    print(for_the_screen(text))


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
