"""NetCDF files and Zarr stores opened lazily, within bounds, and never with code inside them."""

import inspect
import warnings
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.grid.heaps import stuck_heap

ZARR_MARKS = ("zarr.json", ".zgroup", ".zmetadata")
LONGEST_AXIS = 20_000_000  # steps; our choice
LARGEST_CHUNK = 500_000_000  # bytes that one chunk may unpack to; our choice
SAFE_CODECS = {
    "blosc", "zlib", "gzip", "zstd", "lz4", "lzma", "bz2", "shuffle", "delta", "fixedscaleoffset", "quantize",
    "bitround", "astype", "packbits", "bytes", "transpose", "crc32c", "sharding_indexed", "endian", "vlen-utf8",
    "numcodecs.blosc", "numcodecs.zlib", "numcodecs.gzip", "numcodecs.zstd", "numcodecs.lz4", "numcodecs.shuffle",
    "numcodecs.delta", "numcodecs.fixedscaleoffset", "numcodecs.quantize", "numcodecs.bitround", "numcodecs.astype",
    "scale_offset", "cast_value",
}  # fmt: skip


def open_netcdf(file: Path | BinaryIO, name: str) -> xr.Dataset:
    """Open a NetCDF file lazily, CF decoded, after a look at the sizes it declares.

    Raises
    ------
    RefusalError
        When it cannot be opened or declares more than a climate grid can hold.
    """
    magic = _magic(file)
    if magic[:4] == b"\x89HDF":
        from xarray.backends import H5netcdfBackendEntrypoint

        opener = _named_engine(H5netcdfBackendEntrypoint)
    elif magic[:4] in (b"CDF\x01", b"CDF\x02"):
        from xarray.backends import ScipyBackendEntrypoint

        opener = _named_engine(ScipyBackendEntrypoint)
    else:
        raise RefusalError(f"{name} is not a NetCDF file", "NetCDF 3 or 4", "Check what the file is.")
    try:
        if magic[:4] == b"\x89HDF":
            if stuck_heap(file):
                raise RefusalError(f"{name} is damaged inside", "a whole NetCDF file", "Get the file again.")
            _try_hdf5(file, name)
        else:
            with xr.open_dataset(file, engine=opener, decode_cf=False, create_default_indexes=False) as bare:
                _check_sizes(bare, name)
            if not isinstance(file, Path):
                file.seek(0)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", xr.SerializationWarning)  # stamps far off keep their own calendar
            return xr.open_dataset(file, engine=opener)
    except RefusalError:
        raise
    except ImportError as error:
        raise _lacks_grid(name, error) from error
    except Exception as error:  # a damaged file can stop the library anywhere; the cause stays chained
        raise RefusalError(
            f"{name} cannot be opened as NetCDF ({type(error).__name__}: {str(error)[:100]})",
            "a whole NetCDF file",
            "Get the file again.",
        ) from error


def open_zarr_store(address: str, name: str) -> xr.Dataset:
    """Open a Zarr store at a path or any fsspec address lazily, after a look at its codecs and sizes.

    Raises
    ------
    RefusalError
        When it cannot be reached or opened, holds pickled objects, or declares more than a grid can hold.
    """
    try:
        import zarr
    except ImportError as error:
        raise _lacks_grid(name, error) from error
    try:
        group = zarr.open_group(address, mode="r")
        for array_name, array in group.arrays():
            _check_codecs(array, f"{name}: {array_name}")
            size = int(np.prod(array.chunks, dtype=float)) * array.dtype.itemsize
            if max(array.shape, default=0) > LONGEST_AXIS or size > LARGEST_CHUNK:
                raise _too_large(f"{name}: {array_name}")
        with warnings.catch_warnings():
            warnings.simplefilter(
                "ignore"
            )  # a store without consolidated metadata is slower to open, not wrong
            return xr.open_zarr(group.store, chunks=None, consolidated=None)
    except RefusalError:
        raise
    except Exception as error:  # any file system or codec may fail in its own way; the cause stays chained
        raise RefusalError(
            f"{name} cannot be opened as Zarr ({type(error).__name__}: {str(error)[:120]})",
            "a Zarr store with CF names",
            "Check the address; a store behind http needs consolidated metadata and the package aiohttp.",
        ) from error


def _try_hdf5(file: Path | BinaryIO, name: str) -> None:
    """Open and close the file with the library below; its error is clean where the one above stumbles.

    The sizes it declares are looked at here too. A field of which parts were never written reads as zero there; where
    the file declares no number for missing, nothing tells it from a calm and dry time.
    """
    import h5py

    with h5py.File(file, "r") as whole:
        for field in whole.values():
            if not isinstance(field, h5py.Dataset):
                continue
            if max(field.shape or (), default=0) > LONGEST_AXIS:
                raise _too_large(name)
            if field.chunks is None:
                continue
            if float(np.prod(field.chunks, dtype=float)) * max(field.dtype.itemsize, 1) > LARGEST_CHUNK:
                raise _too_large(name)
            if "_FillValue" in field.attrs:
                continue
            expected = int(
                np.prod([-(-n // step) for n, step in zip(field.shape, field.chunks, strict=True)])
            )
            written = field.id.get_num_chunks()
            if written < expected:
                raise RefusalError(
                    f"{name}: {expected - written:,} of {expected:,} chunks of {field.name.lstrip('/')} were never written",
                    "a whole file, or one that declares a number for missing",
                    "Get the file again.",
                )
    if not isinstance(file, Path):
        file.seek(0)


def _named_engine(entry: Any) -> Any:
    """Give the engine itself to xarray, which otherwise loads every engine installed to find one by name."""
    if entry.open_dataset_parameters is None:
        names = [name for name in inspect.signature(entry.open_dataset).parameters if name != "self"]
        entry.open_dataset_parameters = tuple(names)
    return entry


def _check_codecs(array: Any, name: str) -> None:
    described = array.metadata.to_dict()
    found = []
    for key in ("filters", "compressor", "codecs"):
        entries = described.get(key) or []
        entries = [entries] if isinstance(entries, dict) else entries
        for entry in entries:
            plain = entry if isinstance(entry, dict) else getattr(entry, "get_config", dict)()
            found.append(str(plain.get("id", plain.get("name", type(entry).__name__))).lower())
    unsafe = [codec for codec in found if codec not in SAFE_CODECS]
    if unsafe or array.dtype.kind == "O":
        raise RefusalError(
            f"{name} is stored by {unsafe[0][:40]!r}" if unsafe else f"{name} holds objects",
            "numbers stored by a plain codec",
            "Write the store anew with numeric variables only.",
        )


def _check_sizes(bare: xr.Dataset, name: str) -> None:
    for size in bare.sizes.values():
        if size > LONGEST_AXIS:
            raise _too_large(name)
    for variable in bare.variables.values():
        chunks = variable.encoding.get("chunksizes") or ()
        if np.prod(chunks, dtype=float) * max(variable.dtype.itemsize, 1) > LARGEST_CHUNK:
            raise _too_large(name)


def _magic(file: Path | BinaryIO) -> bytes:
    if isinstance(file, Path):
        with file.open("rb") as stream:
            return stream.read(8)
    first = file.read(8)
    file.seek(0)
    return first


def _too_large(name: str) -> RefusalError:
    return RefusalError(
        f"{name} declares an axis or chunk larger than a climate grid has",
        f"axes up to {LONGEST_AXIS:,} steps and chunks up to {LARGEST_CHUNK // 10**6} MB",
        "Check the file; write it anew in smaller chunks.",
    )


def _lacks_grid(name: str, error: ImportError) -> RefusalError:
    return RefusalError(
        f"{name} needs a package that is not installed ({error.name or error})",
        "the packages for grids",
        "Install them: pip install 'driving-rain-exposure[grid]'.",
    )
