"""Short names for what files hold: other content, other name, so that kept work never answers for changed input."""

import hashlib
from functools import cache
from pathlib import Path

import exposure

HASHED_WHOLE = (
    64_000_000  # bytes; a larger file is known by size, time of change, place on the disk and samples
)
SAMPLES = 16  # places of a large file whose bytes go into its mark; our choice
SAMPLE_BYTES = 65_536
CODE = (".py", ".toml")


def mark(text: str) -> str:
    """A short name for ``text``; other text, other name.

    Examples
    --------
    >>> mark("a") == mark("a"), mark("a") == mark("b"), len(mark("a"))
    (True, False, 32)
    """
    return hashlib.sha256(text.encode()).hexdigest()[:32]


@cache
def code_mark(*parts: str) -> str:
    """A short name for the program's own words in files and folders of it: other code, other name.

    Examples
    --------
    >>> code_mark("rain") == code_mark("rain", "terms.toml")
    False
    """
    home = Path(exposure.__file__).parent
    whole = hashlib.sha256()
    for part in parts:
        one = home / part
        files = [one] if one.is_file() else sorted(path for path in one.rglob("*") if path.suffix in CODE)
        for path in files:
            whole.update(str(path.relative_to(home)).encode() + path.read_bytes())
    return whole.hexdigest()[:32]


def content_mark(path: Path, *, without: Path | None = None) -> str:
    """A file or folder by its content; a large one by sizes, times, places on the disk and samples of its bytes.

    Parameters
    ----------
    without
        A file that is left aside.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     one, other = Path(folder) / "one", Path(folder) / "other"
    ...     _ = one.write_bytes(b"rain"), other.write_bytes(b"rain")
    ...     content_mark(one) == content_mark(other)
    True
    """
    if path == without:
        return ""
    if path.is_file():
        return _file_mark(path, whole=path.stat().st_size <= HASHED_WHOLE)
    files = sorted(one for one in path.rglob("*") if one.is_file() and one != without)
    small = sum(one.stat().st_size for one in files) <= HASHED_WHOLE
    return mark(
        repr([(str(one.relative_to(path)), _file_mark(one, whole=small, samples=1)) for one in files])
    )


def _file_mark(path: Path, *, whole: bool, samples: int = SAMPLES) -> str:
    if whole:
        return hashlib.sha256(path.read_bytes()).hexdigest()[:32]
    told = path.stat()
    digest = hashlib.sha256(repr((told.st_size, told.st_mtime_ns, told.st_ino)).encode())
    with path.open("rb") as file:
        for k in range(samples):
            file.seek(max(told.st_size - SAMPLE_BYTES, 0) * k // max(samples - 1, 1))
            digest.update(file.read(SAMPLE_BYTES if samples > 1 else 512))
    return digest.hexdigest()[:32]
