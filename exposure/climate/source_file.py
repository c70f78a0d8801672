"""A source of weather as bytes, text or a folder, unpacked within limits and never trusted by its name."""

import gzip
import io
import os
import select
import zipfile
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import BinaryIO, Protocol

import numpy as np

from exposure.checks import RefusalError

HEAD_SIZE = 65_536  # bytes looked at to recognise a format
# Most bytes, unpacked; our choice. The worst text within them was read, or refused, in 1.6 GB of memory.
MOST_JSON = 50_000_000  # a hundred years of hours fit
MOST_TEXT = 160_000_000  # a hundred years of hours fit with forty columns, ten years of minutes with four
MOST_BYTES = 1_000_000_000  # a NetCDF or GRIB file in memory
MOST_ROWS = 6_000_000  # eleven years of minutes; our choice
BINARY = (b"\x89HDF", b"CDF", b"GRIB", b"\x1f\x8b", b"PK\x03\x04")  # how what is no text may start
PIPE_WAIT = 20.0  # seconds a pipe is waited for until somebody writes to it; our choice
FREE_BYTES = 64_000_000  # up to here any compression ratio is harmless; our choice
MOST_EXPANSION = 200  # unpacked over packed beyond that; hourly records reach about 30; our choice
LONGEST_LINE = 100_000  # characters; our choice
UPLOAD = "the upload"  # name of bytes that came without one
_PIECE = 1 << 20


@dataclass
class Source:
    """An opened source: its bytes or its folder or address, and a first look at them.

    Attributes
    ----------
    name
        Short name for messages, without folders.
    head
        First bytes, unpacked; empty for a folder or an address.
    path
        The file or folder itself, when it can be read in place.
    address
        Address of a remote store, as fsspec spells it.
    members
        Files of an archive that holds several, name -> bytes.
    """

    name: str
    head: bytes = b""
    path: Path | None = None
    address: str | None = None
    members: dict[str, bytes] = field(default_factory=dict)
    _bytes: bytes | None = None

    @property
    def given_name(self) -> str:
        """Name of the file as its owner gave it; empty for bytes or a stream that came without one."""
        return "" if self.name == UPLOAD or self.name.startswith("<") else self.name

    @property
    def is_folder(self) -> bool:
        """Whether the source is a folder."""
        return self.path is not None and self._bytes is None and self.path.is_dir()

    @property
    def is_text(self) -> bool:
        """Whether the first bytes look like text."""
        return bool(self.head) and (self.head[:2] in (b"\xff\xfe", b"\xfe\xff") or b"\0" not in self.head)

    @cached_property
    def first_lines(self) -> list[str]:
        """First lines of a text, at most :data:`HEAD_SIZE` bytes of it; none for anything else."""
        return _decode(self.head, self.name).splitlines() if self.is_text else []

    def read(self) -> bytes:
        """The whole content.

        Raises
        ------
        RefusalError
            When it is larger than its kind may be (:data:`MOST_JSON`, :data:`MOST_TEXT`, :data:`MOST_BYTES`).
        """
        if self._bytes is None:
            if self.path is None or self.path.is_dir():
                raise RefusalError(f"{self.name} is not a file", "a file", "Name the file.")
            if self.path.stat().st_size > _most_of(self.head):
                raise _too_large(self.name)
            with self.path.open("rb") as file:
                self._bytes = _read_limited(file, None, self.name)
        return self._bytes

    def text(self, *, long_lines: bool = False) -> str:
        """The whole content as text: UTF-8, UTF-16 with its mark, or else Latin-1.

        Parameters
        ----------
        long_lines
            Whether lines may be longer than :data:`LONGEST_LINE`, as in JSON.

        Raises
        ------
        RefusalError
            For bytes no text holds, or a line too long to be a record of weather.
        """
        raw = self.read()
        if b"\0" in raw[:_PIECE] and raw[:2] not in (b"\xff\xfe", b"\xfe\xff"):
            raise RefusalError(f"{self.name} holds binary data", "text", "Check what the file is.")
        if raw.count(b"\n") > MOST_ROWS:
            raise RefusalError(
                f"{self.name} has more than {MOST_ROWS:,} rows",
                "fewer: hours, or some years of minutes",
                "Sum the rain and average the wind to hours, or cut it to fewer years.",
            )
        if long_lines:
            return _decode(raw, self.name)
        ends = np.flatnonzero(np.frombuffer(raw, dtype=np.uint8) == ord("\n"))
        longest = int(np.max(np.diff(np.concatenate([[-1], ends, [len(raw)]])), initial=0))
        if longest > LONGEST_LINE:
            raise RefusalError(
                f"{self.name} has a line of {longest:,} characters",
                f"lines of at most {LONGEST_LINE:,}",
                "Keep the columns of time, wind and rain only, one hour a line.",
            )
        return _decode(raw, self.name)

    def file(self) -> Path | BinaryIO:
        """The file where it lies, or its unpacked bytes as a file in memory."""
        return self.path if self._bytes is None and self.path is not None else io.BytesIO(self.read())


def open_source(source: str | Path | bytes | BinaryIO | Source) -> Source:
    """Open a file, folder, address or the bytes of an upload; gzip and zip are unpacked within limits.

    Raises
    ------
    RefusalError
        When it is absent, empty, damaged or unpacks to too much.
    """
    if isinstance(source, Source):
        return source
    if isinstance(source, str) and "://" in source and not source.startswith("file://"):
        return Source(name=source.rstrip("/").rsplit("/", 1)[-1] or source, address=source)
    if isinstance(source, bytes):
        if len(source) > _most_of(source[:HEAD_SIZE]):
            raise _too_large(UPLOAD)
        return _unpacked(Source(UPLOAD, source[:HEAD_SIZE], _bytes=source))
    if not isinstance(source, str | Path):
        name = Path(str(getattr(source, "name", UPLOAD))).name
        raw = _read_limited(source, None, name)
        return _unpacked(Source(name, raw[:HEAD_SIZE], _bytes=raw))
    return _from_disk(Path(str(source).removeprefix("file://")))


def _from_disk(path: Path) -> Source:
    try:
        if path.is_dir():
            return Source(path.name or path.resolve().name or str(path), path=path)
        if path.is_char_device() or path.is_block_device():
            raise RefusalError(f"{path} is a device", "a file", "Name the file.")
        if path.is_fifo():  # gives its content once
            with _opened_pipe(path) as pipe:
                return open_source(pipe)
        with path.open("rb") as file:
            head = file.read(HEAD_SIZE)
    except RefusalError:
        raise
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "not a usable name"
        raise RefusalError(
            f"{path.name or path} cannot be opened ({reason.lower()})",
            "a file that exists",
            "Check the name.",
        ) from error
    return _unpacked(Source(path.name, head, path=path))


def _opened_pipe(path: Path) -> BinaryIO:
    """A pipe somebody writes to, or a refusal: without a writer it would be waited for without end."""
    number = os.open(path, os.O_RDONLY | os.O_NONBLOCK)
    if not select.select([number], [], [], PIPE_WAIT)[0]:
        os.close(number)
        raise RefusalError(
            f"{path.name} is a pipe that nothing writes to",
            "a file, or a pipe with content",
            "Name the file.",
        )
    os.set_blocking(number, True)
    return os.fdopen(number, "rb")


def _unpacked(source: Source) -> Source:
    if not source.head:
        raise RefusalError(f"{source.name} is empty", "hourly weather", "Check how the file was saved.")
    try:
        if source.head[:2] == b"\x1f\x8b":
            return _gunzip(source)
        if source.head[:4] == b"PK\x03\x04":
            return _unzip(source)
    except (RefusalError, MemoryError):
        raise
    except Exception as error:  # a damaged archive can stop its library anywhere; the cause stays chained
        raise RefusalError(
            f"{source.name} cannot be unpacked ({error})", "a whole gzip or zip file", "Get the file again."
        ) from error
    if source.head[:4] in (b"PK\x05\x06", b"7z\xbc\xaf", b"\xfd7zX", b"BZh9", b"\x28\xb5\x2f\xfd", b"Rar!"):
        raise RefusalError(
            f"{source.name} is an archive of another kind, or empty",
            "gzip, zip or the plain file",
            "Unpack it.",
        )
    return source


def _gunzip(source: Source) -> Source:
    packed = source.file()
    size = packed.stat().st_size if isinstance(packed, Path) else len(source.read())
    with gzip.open(packed, "rb") as stream:
        raw = _read_limited(stream, size, source.name)
    name = source.name.removesuffix(".gz")
    return _checked_content(Source(name, raw[:HEAD_SIZE], _bytes=raw), source.name)


def _unzip(source: Source) -> Source:
    with zipfile.ZipFile(source.file()) as archive:
        entries = [
            entry
            for entry in archive.infolist()
            if not entry.is_dir()
            and not entry.filename.startswith("__MACOSX/")
            and not Path(entry.filename).name.startswith(".")
        ]
        if not 1 <= len(entries) <= 50:
            raise RefusalError(
                f"{source.name} holds {len(entries)} files",
                "one file of weather",
                "Unpack it and name the file.",
            )
        if any(entry.flag_bits & 1 for entry in entries):
            raise RefusalError(f"{source.name} is locked with a password", "an open zip file", "Unpack it.")
        contents = {}
        left = MOST_BYTES
        for entry in entries:
            if entry.file_size > left:
                raise _too_large(source.name)
            with archive.open(entry) as stream:
                contents[entry.filename] = _read_limited(stream, entry.compress_size, source.name, left)
            left -= len(contents[entry.filename])
    if len(contents) == 1:
        ((name, raw),) = contents.items()
        inner = Source(Path(name).name, raw[:HEAD_SIZE], _bytes=raw)
        return _checked_content(inner, source.name)
    return Source(source.name, members=contents)


def _checked_content(inner: Source, outer: str) -> Source:
    if not inner.head:
        raise RefusalError(f"{outer} holds an empty file", "hourly weather", "Check how the file was saved.")
    if inner.head[:2] == b"\x1f\x8b" or inner.head[:4] == b"PK\x03\x04":
        raise RefusalError(f"{outer} holds another archive", "one file of weather", "Unpack it once.")
    return inner


class _Readable(Protocol):
    def read(self, size: int = ..., /) -> bytes: ...


def _most_of(head: bytes) -> int:
    """Most bytes that may follow ``head``, by what it looks like."""
    if head.startswith(BINARY):
        return MOST_BYTES
    return MOST_JSON if head.lstrip(b"\xef\xbb\xbf \t\r\n")[:1] in (b"{", b"[") else MOST_TEXT


def _read_limited(stream: _Readable, packed: int | None, name: str, most: int = MOST_BYTES) -> bytes:
    """Everything in ``stream``, stopped as soon as it grows beyond what its beginning may grow to.

    Parameters
    ----------
    packed
        Size of what it is unpacked from; None where it is not packed.
    most
        A lower limit besides.
    """
    pieces: list[bytes] = []
    total = 0
    while piece := stream.read(_PIECE):
        if not isinstance(piece, bytes):
            raise RefusalError(
                "the open file gives text", "a file opened for bytes", "Open it with mode 'rb'."
            )
        if not pieces:
            most = min(most, _most_of(piece[:HEAD_SIZE]))
        total += len(piece)
        bursting = packed is not None and total > FREE_BYTES and total > MOST_EXPANSION * max(packed, 1)
        if total > most or bursting:
            raise _too_large(name)
        pieces.append(piece)
    return b"".join(pieces)


def _too_large(name: str) -> RefusalError:
    return RefusalError(
        f"{name} is, or unpacks to, more than a record of weather can hold",
        f"at most {MOST_TEXT // 10**6} MB of text, {MOST_JSON // 10**6} MB of JSON, {MOST_BYTES // 10**6} MB of NetCDF "
        f"or GRIB, and {MOST_EXPANSION} times its packed size",
        "Cut it to the years and columns that are needed.",
    )


def _decode(raw: bytes, name: str) -> str:
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        try:
            return raw.decode("utf-16")
        except UnicodeDecodeError as error:
            raise RefusalError(
                f"{name} starts like UTF-16 but is not", "text in UTF-8", "Save it as UTF-8."
            ) from error
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return raw.decode("latin-1")
