"""Whether bytes are a photo: JPEG or PNG by their own structure, never by a name or a label."""

import zlib

MOST_PIXELS = 40_000_000  # our choice; a phone scales its photos to a thirtieth of it
PNG_START = b"\x89PNG\r\n\x1a\n"
SIZES = set(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}  # markers of a JPEG that tell width and height
BARE = {0x01, *range(0xD0, 0xD8)}  # markers without a length


def photo_type(content: bytes) -> str:
    """``image/jpeg`` or ``image/png``.

    Raises
    ------
    ValueError
        Saying why the bytes are no such photo: another kind, cut short, or of more pixels than a photo may have.

    Examples
    --------
    >>> photo_type(b"<svg onload='alert(1)'/>")
    Traceback (most recent call last):
    ValueError: it is neither JPEG nor PNG
    """
    if content.startswith(b"\xff\xd8"):
        size = _jpeg_size(content)
    elif content.startswith(PNG_START):
        size = _png_size(content)
    else:
        raise ValueError("it is neither JPEG nor PNG")
    if size is None:
        raise ValueError("it is cut short or damaged")
    if not 0 < size[0] * size[1] <= MOST_PIXELS:
        raise ValueError(f"it has {size[0]:,} × {size[1]:,} pixels")
    return "image/png" if content.startswith(PNG_START) else "image/jpeg"


def _jpeg_size(content: bytes) -> tuple[int, int] | None:
    """Width and height from the frame's head; None unless every segment before the picture is whole and it ends."""
    size, at = None, 2
    while at + 4 <= len(content) and content[at] == 0xFF:
        marker = content[at + 1]
        if marker == 0xFF:
            at += 1
            continue
        if marker in BARE:
            at += 2
            continue
        long = int.from_bytes(content[at + 2 : at + 4], "big")
        if long < 2 or at + 2 + long > len(content):
            return None
        if marker in SIZES and long >= 8:
            tall, wide = (int.from_bytes(content[at + k : at + k + 2], "big") for k in (5, 7))
            size = wide, tall
        if marker == 0xDA:
            return size if content.rstrip(b"\0").endswith(b"\xff\xd9") else None
        at += 2 + long
    return None


def _png_size(content: bytes) -> tuple[int, int] | None:
    """Width and height from the first chunk; None unless every chunk is whole, up to the last."""
    size, at, data = None, len(PNG_START), False
    while at + 12 <= len(content):
        long = int.from_bytes(content[at : at + 4], "big")
        name, body = content[at + 4 : at + 8], content[at + 8 : at + 8 + long]
        ends = at + 12 + long
        if ends > len(content) or zlib.crc32(name + body) != int.from_bytes(content[ends - 4 : ends], "big"):
            return None
        if size is None:
            if name != b"IHDR" or long != 13:
                return None
            size = int.from_bytes(body[:4], "big"), int.from_bytes(body[4:8], "big")
        data = data or name == b"IDAT"
        if name == b"IEND":
            return size if data else None
        at = ends
    return None
