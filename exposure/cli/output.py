"""Where a command's output goes: the screen, or files that are never half-written and never those it reads."""

import argparse
import glob
import os
import sys
from collections.abc import Iterator, Mapping, Sequence
from errno import EACCES
from pathlib import Path

from exposure.checks import RefusalError
from exposure.in_place import filled_in_place, place_of

FAR = 50.0  # km from a place to its weather worth the first lines; our choice


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


def far_words(away: float | None) -> list[str]:
    """The line that says the weather is of another place, or none.

    Examples
    --------
    >>> far_words(1198.4), far_words(12.0), far_words(None)
    (['This weather is from 1,198 km away: it may be of another climate.'], [], [])
    """
    if away is None or away < FAR:
        return []
    return [f"This weather is from {away:,.0f} km away: it may be of another climate."]


def write_text(target: str | Path, text: str) -> None:
    """Write ``text`` as UTF-8 to the file ``target``, or to standard output when it is ``-``.

    The text goes to a temporary name beside the target and is moved into place; a device or a pipe is written to.
    Standard output gets the same bytes as a file, whatever letters the screen knows.

    Raises
    ------
    RefusalError
        When the folder does not exist or cannot be written.
    """
    raw = text.encode("utf-8", errors="replace")
    if str(target) == "-":
        sys.stdout.flush()
        if hasattr(sys.stdout, "buffer"):
            sys.stdout.buffer.write(raw)
        else:
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


def make_folder(folder: str | Path) -> Path:
    """The folder to write into, made where it is missing, before the work whose results it takes.

    Raises
    ------
    RefusalError
        When it cannot be made or written to.
    """
    path = Path(folder)
    try:
        path.mkdir(parents=True, exist_ok=True)
        if not os.access(path, os.W_OK):
            raise PermissionError(EACCES, os.strerror(EACCES))
    except OSError as error:
        raise RefusalError(
            f"the folder {path} cannot be written ({error.strerror})",
            "a folder you may write to",
            "Choose another.",
        ) from error
    return path


def check_outputs(
    options: argparse.Namespace, *, reads: Sequence[str], writes: Mapping[str, Sequence[str]]
) -> None:
    """Stop before any work when an output would replace, or lie in, something the command reads.

    Parameters
    ----------
    reads
        Options that name files, folders or patterns to read.
    writes
        Options that name outputs; of one that names a folder, what is written in it (a folder ends with ``/``).

    Raises
    ------
    RefusalError
        When an output is the same as, inside of or around an input, by name or through a link; when two outputs are
        one file; when an output cannot be written there.
    """
    inputs = [path for name in reads for given in _listed(options, name) for path in _paths_read(given)]
    patterns = [given for name in reads for given in _listed(options, name) if glob.has_magic(given)]
    taken: dict[Path, str] = {}
    for name, inside in writes.items():
        flag = f"--{name.replace('_', '-')}"
        for given in _listed(options, name):
            for target in [Path(given) / one for one in inside] or [Path(given)]:
                for source in inputs:
                    if _touch(target, source):
                        raise RefusalError(
                            f"{target} would be written over or into {source}, which is read",
                            "outputs apart from what is read",
                            f"Name another place with {flag}.",
                        )
                if any(target.absolute().match(str(Path(one).absolute())) for one in patterns):
                    raise RefusalError(
                        f"{target} would be read by the same pattern the next time",
                        "outputs apart from what is read",
                        f"Name another folder with {flag}.",
                    )
            if not inside:
                _check_file(given, flag, taken)
        for given in _listed(options, name) if inside else ():
            for one in inside:
                target = Path(given) / one
                if target.exists() and target.is_dir() != one.endswith("/"):
                    raise RefusalError(
                        f"{target} is a {'folder' if target.is_dir() else 'file'}",
                        f"room for the {'folder' if one.endswith('/') else 'file'} of that name",
                        f"Move it away, or name another folder with {flag}.",
                    )


def _check_file(given: str, flag: str, taken: dict[Path, str]) -> None:
    """Stop unless a file may come to stand at ``given``; each place once."""
    path = Path(given)
    if path.exists() and not path.is_file() and not path.is_dir():
        return  # a device or a pipe is written to
    try:
        final = place_of(path).absolute()
        if not final.parent.is_dir():
            raise OSError(0, "there is no such folder")
    except OSError as error:
        raise RefusalError(
            f"{given} cannot be written ({error.strerror})",
            "a file name in a folder you may write to",
            f"Choose another {flag}.",
        ) from error
    if final in taken:
        raise RefusalError(
            f"{taken[final]} and {flag} name one file, {given}", "a file for each", f"Choose another {flag}."
        )
    taken[final] = flag


def _listed(options: argparse.Namespace, name: str) -> list[str]:
    """What the option ``name`` was given, without what is standard input or output."""
    given = getattr(options, name, None)
    several = given if isinstance(given, list) else [given]
    return [one for one in several if isinstance(one, str) and one != "-"]


def _paths_read(given: str) -> Iterator[Path]:
    """Files and folders on this machine that ``given`` names: itself, or what its pattern finds."""
    path = Path(given.removeprefix("file://"))
    if path.exists():
        yield path
    elif glob.has_magic(given):
        yield from (Path(one) for one in glob.iglob(given))  # noqa: PTH207 - the pattern may be absolute


def _touch(target: Path, source: Path) -> bool:
    """Whether writing ``target`` would change ``source``: one file, one in the other, or two names of one."""
    try:
        if target.exists() and target.samefile(source):
            return True
        one, other = target.resolve(), source.resolve()
    except (OSError, RuntimeError):
        return False  # links in a ring, told when the file is written
    return one == other or one in other.parents or (source.is_dir() and other in one.parents)
