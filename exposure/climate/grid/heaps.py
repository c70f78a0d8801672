"""A look at the heaps of an HDF5 file, where its library would read on for ever once one is damaged."""

import mmap
from pathlib import Path
from typing import BinaryIO

COLLECTION = b"GCOL\x01\0\0\0"  # signature, version 1 and three bytes kept free
HEAD = 16  # bytes before the objects of a collection, and before each object; with lengths of 8 bytes
LARGEST = 64 * 2**20  # bytes of a file looked through, so that a large one is not read twice; our choice


def stuck_heap(file: Path | BinaryIO) -> bool:
    """Whether a collection of the file holds free space smaller than its head; at one of no size the library never goes on.

    By the published format: a collection has its own size at byte 8; objects follow with their number (2 bytes),
    references (2), 4 bytes kept free and their size (8), each filled up to 8 bytes. Number 0 is free space, whose size
    holds its own head.

    Examples
    --------
    >>> from io import BytesIO
    >>> heap = COLLECTION + (64).to_bytes(8, "little") + bytes(8)
    >>> stuck_heap(BytesIO(heap + (48).to_bytes(8, "little") + bytes(32))), stuck_heap(BytesIO(heap + bytes(40)))
    (False, True)
    """
    if isinstance(file, Path):
        if not 0 < file.stat().st_size <= LARGEST:
            return False
        with file.open("rb") as opened, mmap.mmap(opened.fileno(), 0, access=mmap.ACCESS_READ) as content:
            return _stuck(content)
    file.seek(0)
    held = file.read(LARGEST)
    file.seek(0)
    return _stuck(held)


def _stuck(content: bytes | mmap.mmap) -> bool:
    at = content.find(COLLECTION)
    while at >= 0:
        end = min(at + int.from_bytes(content[at + 8 : at + HEAD], "little"), len(content))
        place = at + HEAD
        while place + HEAD <= end:
            number = int.from_bytes(content[place : place + 2], "little")
            size = int.from_bytes(content[place + 8 : place + HEAD], "little")
            if number == 0 and size < HEAD:
                return True
            place += size if number == 0 else HEAD + (size + 7) // 8 * 8
        at = content.find(COLLECTION, max(place, at + HEAD))
    return False
