"""Files that are never half-written: filled under another name beside their own, then moved into place."""

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from errno import EINVAL, EISDIR
from pathlib import Path


@contextmanager
def filled_in_place(target: str | Path, *, ending: str = ".part") -> Iterator[Path]:
    """Name of a file beside ``target`` to fill; it takes the place of ``target`` when the block ends well.

    A block that is left by an error or an interruption leaves nothing behind, and ``target`` as it was. The file
    is made the ordinary way, so its permissions follow the umask. A link is followed, and stays a link.

    Parameters
    ----------
    ending
        Of the name to fill, for libraries that tell a format from it.

    Raises
    ------
    OSError
        When ``target`` is a folder, a device or a pipe, which a file must not take the place of.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     with filled_in_place(Path(folder) / "index.json") as part:
    ...         _ = part.write_text("{}")
    ...     [path.name for path in Path(folder).iterdir()]
    ['index.json']
    """
    final = Path(target)
    final = final.resolve() if final.is_symlink() else final
    if final.is_dir():
        raise OSError(EISDIR, os.strerror(EISDIR), str(target))
    if final.exists() and not final.is_file():
        raise OSError(EINVAL, "no ordinary file", str(target))
    part = final.with_name(f".{final.name[:40]}.{os.getpid()}{ending}")
    try:
        part.unlink(missing_ok=True)
        yield part
        part.replace(final)
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)
