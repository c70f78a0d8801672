"""Files that are never half-written: filled under another name beside their own, then moved into place."""

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from errno import EACCES, EINVAL, EISDIR, ELOOP
from glob import escape
from pathlib import Path


@contextmanager
def filled_in_place(target: str | Path, *, ending: str = ".part") -> Iterator[Path]:
    """Name of a file beside ``target`` to fill; it takes the place of ``target`` when the block ends well.

    A block that is left by an error or an interruption leaves nothing behind, and ``target`` as it was; what a run
    that was killed left beside ``target`` is cleared away. The file is made the ordinary way, so its permissions
    follow the umask. A link is followed, and stays a link.

    Parameters
    ----------
    ending
        Of the name to fill, for libraries that tell a format from it.

    Raises
    ------
    OSError
        As :func:`place_of` says.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     with filled_in_place(Path(folder) / "index.json") as part:
    ...         _ = part.write_text("{}")
    ...     [path.name for path in Path(folder).iterdir()]
    ['index.json']
    """
    final = place_of(target)
    head = f".{final.name[:40]}."
    part = final.with_name(f"{head}{os.getpid()}{ending}")
    try:
        part.unlink(missing_ok=True)
        for left in final.parent.glob(f"{escape(head)}[0-9]*"):
            number = left.name.removeprefix(head).partition(".")[0]
            if number.isdigit() and not _runs(int(number)):  # what a run that was killed had not finished
                left.unlink(missing_ok=True)
        yield part
        part.replace(final)
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)


def _runs(process: int) -> bool:
    try:
        os.kill(process, 0)  # asks, and does nothing
    except (ProcessLookupError, OverflowError):
        return False
    except PermissionError:  # somebody else's
        return True
    return True


def place_of(target: str | Path) -> Path:
    """Where a file called ``target`` comes to stand, links followed.

    Raises
    ------
    OSError
        When it is a folder, a device or a pipe, which a file must not take the place of; when its links lead round
        in a ring; or when it stands there protected against writing.
    """
    final = Path(target)
    if final.is_symlink():
        try:
            final = final.resolve()
        except RuntimeError:  # how a ring of links was told before Python 3.13
            raise OSError(ELOOP, os.strerror(ELOOP), str(target)) from None
        if final.is_symlink():
            raise OSError(ELOOP, os.strerror(ELOOP), str(target))
    if final.is_dir():
        raise OSError(EISDIR, os.strerror(EISDIR), str(target))
    if not final.exists():
        return final
    if not final.is_file():
        raise OSError(EINVAL, "no ordinary file", str(target))
    if not final.stat().st_mode & 0o222 or not os.access(final, os.W_OK):
        raise OSError(EACCES, "it is protected against writing", str(target))
    return final
