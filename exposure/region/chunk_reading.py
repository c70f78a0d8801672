"""Chunks of one variable read straight into a caller's array, on the caller's thread, without copies in between.

A local Zarr array and a NetCDF4 (HDF5) variable are read chunk by chunk: the bytes of a chunk come from the
storage library, and are unpacked here by the well-kept codec libraries, which let other threads run meanwhile.
Everything else (remote stores, other codecs, classic NetCDF, extra dimensions) goes through xarray.
"""

import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple, Protocol

import h5py
import numba
import numpy as np
import xarray as xr
import zarr

from exposure.checks import RefusalError
from exposure.climate.grid.blocks import read_block
from exposure.climate.grid.names import GridVariables

OUR_CODECS = {"blosc", "zstd", "zlib", "gzip", "lz4"}
DEFLATE, SHUFFLE, CHECKSUM = h5py.h5z.FILTER_DEFLATE, h5py.h5z.FILTER_SHUFFLE, h5py.h5z.FILTER_FLETCHER32


class Packing(NamedTuple):
    """How stored numbers become values: number x scale + offset, missing where equal to one of ``missing``."""

    scale: float
    offset: float
    missing: tuple[float, ...]

    @property
    def is_plain(self) -> bool:
        """Whether stored numbers are the values."""
        return self.scale == 1.0 and self.offset == 0.0 and not self.missing


class Reader(Protocol):
    """Reads a box of one variable as float32, missing as NaN."""

    chunks: tuple[int, int, int]  # hours, rows, columns stored together

    def read_into(self, room: np.ndarray, hours: slice, rows: slice, columns: slice) -> None:
        """Fill ``room`` (hour, row, column), float32, contiguous, with the box named by the slices."""


def make_reader(dataset: xr.Dataset, names: GridVariables, name: str, path: Path | None) -> Reader:
    """The quickest reader that understands how ``name`` is stored."""
    variable = dataset[name]
    axes = (dataset[names.time].dims[0], names.latitude, names.longitude)
    plain = PlainReader(dataset, names, name)
    if path is None or variable.dims != axes:
        return plain
    packing = packing_of(variable)
    if path.is_dir():
        array = zarr.open_group(str(path), mode="r")[name]
        if isinstance(array, zarr.Array) and array.ndim == 3:
            unpack = zarr_unpacker(array)
            if unpack is not None:
                return ZarrReader(array, path / name, packing, unpack)
        return plain
    if variable.encoding.get("source") and h5py.is_hdf5(path):
        reader = Hdf5Reader(path, name, packing)
        if reader.is_understood and reader.data.shape == variable.shape:  # not cut along time
            return reader
    return plain


def file_of(variable: xr.DataArray) -> Path | None:
    """The file on this disk that a variable of a joined dataset comes from; None where it does not tell."""
    source = variable.encoding.get("source")
    return Path(source) if isinstance(source, str) and Path(source).is_file() else None


def packing_of(variable: xr.DataArray) -> Packing:
    """Scale, offset and missing numbers that the file declares, which xarray applies when it decodes."""
    encoding = variable.encoding
    missing = []
    for key in ("_FillValue", "missing_value"):
        for number in np.atleast_1d(encoding.get(key, np.nan)).astype(float):
            if not np.isnan(number) and number not in missing:
                missing.append(float(number))
    return Packing(
        float(encoding.get("scale_factor", 1.0)), float(encoding.get("add_offset", 0.0)), tuple(missing)
    )


def unpack_numbers(stored: np.ndarray, packing: Packing, room: np.ndarray) -> None:
    """Write the values of ``stored`` into ``room``, float32."""
    if packing.scale == 1.0 and packing.offset == 0.0:
        room[...] = stored
    else:
        room[...] = stored * np.float64(packing.scale) + packing.offset
    for number in packing.missing:
        room[stored == stored.dtype.type(number)] = np.nan


class PlainReader:
    """Any store xarray can open, through xarray."""

    def __init__(self, dataset: xr.Dataset, names: GridVariables, name: str) -> None:
        self.dataset, self.names, self.name = dataset, names, name
        variable = dataset[name]
        axes = (dataset[names.time].dims[0], names.latitude, names.longitude)
        preferred = variable.encoding.get("preferred_chunks") or {}
        stored = dict(zip(variable.dims, variable.encoding.get("chunksizes") or (), strict=False))
        hours, rows, columns = (
            int(preferred.get(axis, stored.get(axis, dataset.sizes[axis]))) for axis in axes
        )
        self.chunks: tuple[int, int, int] = (hours, rows, columns)

    def read_into(self, room: np.ndarray, hours: slice, rows: slice, columns: slice) -> None:
        """Fill ``room``; see :class:`Reader`."""
        try:
            room[...] = read_block(
                self.dataset, self.names, self.name, time=hours, latitude=rows, longitude=columns
            )
        except (OSError, RuntimeError, ValueError, zlib.error) as error:
            raise damaged(
                f"{self.name}, hours {hours.start} to {hours.stop} of the file",
                error,
                file_of(self.dataset[self.name]),
            ) from error


class ZarrReader:
    """A local Zarr array of three dimensions with one compressor."""

    def __init__(self, array: zarr.Array, folder: Path, packing: Packing, unpack: Callable) -> None:
        self.array, self.folder, self.packing, self.unpack = array, folder, packing, unpack
        self.chunks: tuple[int, int, int] = array.chunks  # type: ignore[assignment]  # of three dimensions, as said
        self.dtype = array.dtype
        self.size = int(np.prod(self.chunks)) * self.dtype.itemsize

    def read_into(self, room: np.ndarray, hours: slice, rows: slice, columns: slice) -> None:
        """Fill ``room``; see :class:`Reader`."""
        box = (hours, rows, columns)
        for place in chunks_in(box, self.chunks):
            inside, target = overlap(place, self.chunks, box)
            piece = room[target]
            direct = (
                self.packing.is_plain
                and self.dtype == np.float32
                and piece.shape == self.chunks
                and piece.flags.c_contiguous
            )
            stored = self._stored(place, piece if direct else None)
            if stored is None:
                fill = self.array.fill_value
                if fill is None:
                    piece[...] = np.nan
                else:
                    unpack_numbers(np.full(piece.shape, fill, self.dtype), self.packing, piece)
            elif not direct:
                unpack_numbers(stored[inside], self.packing, piece)

    def _stored(self, place: tuple[int, ...], room: np.ndarray | None) -> np.ndarray | None:
        """The numbers of one chunk, unpacked into ``room`` where given; None where none was written."""
        path = self.folder / self.array.metadata.encode_chunk_key(place)
        try:
            packed = path.read_bytes()
        except FileNotFoundError:
            return None
        try:
            if room is not None:
                self.unpack(packed, room.reshape(-1).view(np.uint8))
                return room
            numbers = np.empty(self.size, np.uint8)
            self.unpack(packed, numbers)
            return numbers.view(self.dtype).reshape(self.chunks)
        except (
            Exception
        ) as error:  # each codec fails in its own way on damaged bytes; the cause stays chained
            raise damaged(
                f"the chunk {path.relative_to(self.folder.parent)} ({len(packed):,} bytes)", error, path
            ) from error


def zarr_unpacker(array: zarr.Array) -> Callable | None:
    """A function (packed bytes, bytes to fill) for the compressor of ``array``; None where it is not ours."""
    from numcodecs.registry import get_codec

    metadata: Any = array.metadata
    if metadata.zarr_format == 2:
        if metadata.filters or metadata.order != "C" or array.dtype.byteorder == ">":
            return None
        codec = metadata.compressor
        if codec is not None and codec.codec_id not in OUR_CODECS:
            return None
    else:
        codecs = [entry.to_dict() for entry in metadata.codecs]
        kinds = [str(entry["name"]) for entry in codecs]
        if kinds[0] != "bytes" or len(kinds) > 2:
            return None
        if dict(codecs[0].get("configuration") or {}).get("endian", "little") != "little":
            return None
        if len(kinds) == 2 and kinds[1] not in OUR_CODECS:
            return None
        codec = get_codec({"id": kinds[1]}) if len(kinds) == 2 else None

    def unpack(packed: bytes, room: np.ndarray) -> None:
        if codec is None:
            room[:] = np.frombuffer(packed, np.uint8)
            return
        done = codec.decode(packed, out=room)
        if np.size(done) * np.asarray(done).itemsize != room.size:
            message = f"unpacks to {np.size(done)} bytes, not {room.size}"
            raise ValueError(message)

    return unpack


class Hdf5Reader:
    """A NetCDF4 variable stored in chunks with shuffle and deflate, or with neither."""

    def __init__(self, path: Path, name: str, packing: Packing) -> None:
        self.path, self.name, self.packing = path, name, packing
        self.file = h5py.File(path, "r")
        self.data = self.file[name]
        plist = self.data.id.get_create_plist()
        self.filters = [plist.get_filter(i)[0] for i in range(plist.get_nfilters())]
        self.dtype = self.data.dtype
        self.chunks: tuple[int, int, int] = self.data.chunks or self.data.shape
        self.is_understood = (
            self.data.chunks is not None
            and set(self.filters) <= {DEFLATE, SHUFFLE, CHECKSUM}
            and self.dtype.byteorder in "=<|"
        )

    def read_into(self, room: np.ndarray, hours: slice, rows: slice, columns: slice) -> None:
        """Fill ``room``; see :class:`Reader`."""
        box = (hours, rows, columns)
        for place in chunks_in(box, self.chunks):
            inside, target = overlap(place, self.chunks, box)
            stored = self._stored(place)
            if stored is None:
                room[target] = np.nan
            else:
                unpack_numbers(stored[inside], self.packing, room[target])

    def _stored(self, place: tuple[int, ...]) -> np.ndarray | None:
        corner = tuple(number * size for number, size in zip(place, self.chunks, strict=True))
        try:
            if self.data.id.get_chunk_info_by_coord(corner).byte_offset is None:
                return None
            skipped, packed = self.data.id.read_direct_chunk(corner)
            for i in reversed(range(len(self.filters))):
                if skipped & (1 << i):
                    continue
                if self.filters[i] == CHECKSUM:
                    packed = packed[:-4]
                elif self.filters[i] == DEFLATE:
                    packed = zlib.decompress(packed)
                elif self.dtype.itemsize > 1:
                    numbers = np.frombuffer(packed, np.uint8)
                    room = np.empty_like(numbers)
                    unshuffle(numbers, room, self.dtype.itemsize)
                    packed = room
            return np.frombuffer(packed, self.dtype).reshape(self.chunks)
        except (OSError, RuntimeError, ValueError, zlib.error) as error:
            raise damaged(
                f"the chunk of {self.name} at {corner} in {self.path.name}", error, self.path
            ) from error


@numba.njit(nogil=True, cache=True)
def unshuffle(shuffled, plain, size):
    """Undo the HDF5 shuffle filter: first all first bytes, then all second bytes, of numbers of ``size`` bytes."""
    count = shuffled.size // size
    for i in range(count):
        for b in range(size):
            plain[i * size + b] = shuffled[b * count + i]


def chunks_in(box: tuple[slice, ...], chunks: tuple[int, ...]) -> list[tuple[int, ...]]:
    """Positions of the chunks that a box touches.

    Examples
    --------
    >>> chunks_in((slice(5, 11), slice(0, 2), slice(2, 4)), (10, 2, 2))
    [(0, 0, 1), (1, 0, 1)]
    """
    ranges = [
        range(part.start // size, -(-part.stop // size)) for part, size in zip(box, chunks, strict=True)
    ]
    return [(t, y, x) for t in ranges[0] for y in ranges[1] for x in ranges[2]]


def overlap(
    place: tuple[int, ...], chunks: tuple[int, ...], box: tuple[slice, ...]
) -> tuple[tuple[slice, ...], tuple[slice, ...]]:
    """Where a chunk and a box overlap: as slices of the chunk, and of the box.

    Examples
    --------
    >>> overlap((1,), (10,), (slice(5, 17),))
    ((slice(0, 7, None),), (slice(5, 12, None),))
    """
    inside, target = [], []
    for number, size, part in zip(place, chunks, box, strict=True):
        start, stop = max(number * size, part.start), min((number + 1) * size, part.stop)
        inside.append(slice(start - number * size, stop - number * size))
        target.append(slice(start - part.start, stop - part.start))
    return tuple(inside), tuple(target)


class DamagedError(RefusalError):
    """A part of the grid that cannot be unpacked, and the file it lies in, where that is known."""

    file: Path | None = None


def damaged(what: str, error: Exception, file: Path | None) -> DamagedError:
    """The refusal of a chunk that cannot be unpacked."""
    refusal = DamagedError(
        f"{what} cannot be read ({type(error).__name__}: {str(error)[:80]})",
        "a whole chunk",
        "Get that part of the grid again and give the same command: what was finished is kept.",
    )
    refusal.file = file
    return refusal
