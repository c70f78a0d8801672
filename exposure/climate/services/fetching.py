"""Fetch a point record year by year: kept in a cache with checksums, resumed after a stop, joined at the end."""

import hashlib
import json
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

import platformdirs
import xarray as xr
from tqdm import tqdm

from exposure.checks import RefusalError
from exposure.climate.services.download import PieceMissingError
from exposure.climate.services.service import Place, Service
from exposure.doubts import doubt
from exposure.in_place import filled_in_place

MANIFEST = "manifest.json"
MOST_YEARS = 120


def cache_folder() -> Path:
    """The user's cache folder for fetched weather."""
    return Path(platformdirs.user_cache_dir("driving-rain-exposure")) / "fetched"


def fetch_point(
    service: Service, *, latitude: float, longitude: float, years: Sequence[int], folder: Path | None = None
) -> xr.Dataset:
    """Fetch ``years`` at a point and join them.

    Every year is one piece: written under a temporary name, moved into place, and entered in a manifest with its
    SHA-256, address, time and the attribution. A piece already there with the right checksum is not asked for
    again, so that a stopped run goes on where it was.

    Parameters
    ----------
    service
        From :func:`exposure.climate.services.service.find_service`.
    latitude, longitude
        The point. [degree]
    years
        Years wanted, each once.
    folder
        Where pieces are kept; the user's cache folder by default.

    Returns
    -------
    xarray.Dataset
        The climate of all years the service has, with a flag that names the others.

    Raises
    ------
    RefusalError
        When a year cannot be had after all tries, or the service has none of them.
    """
    wanted = sorted(set(years))
    if not 1 <= len(wanted) <= MOST_YEARS:
        raise RefusalError(f"{len(wanted)} years are asked for", f"1 to {MOST_YEARS}", "Correct the years.")
    if wanted[0] < service.source.first_year:
        raise RefusalError(
            f"the year {wanted[0]} is asked for",
            f"{service.source.first_year} or later",
            "Correct the years.",
        )
    place = Place(round(float(latitude), 4), round(float(longitude), 4))
    home = (folder or cache_folder()) / service.source.name / f"{place.latitude:.4f}_{place.longitude:.4f}"
    try:
        home.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise RefusalError(
            f"the folder {home.name} cannot be made ({error.strerror})", "a cache", "Name one."
        ) from error
    manifest = _manifest(home, service, place)
    missing = {}
    for year in tqdm(wanted, desc=f"fetching {service.source.name}", unit="year", leave=False):
        if _is_here(home, manifest, year):
            continue
        try:
            raw = service.ask(place, year)
            service.check(raw, place, year)
        except PieceMissingError as reason:
            missing[year] = str(reason)
            continue
        _keep(home, manifest, service, year, raw)
    present = [year for year in wanted if year not in missing]
    if not present:
        raise RefusalError(
            f"the service has none of the years ({next(iter(missing.values()))})",
            "years it has",
            "Choose others.",
        )
    parts = [
        service.read((home / manifest["pieces"][str(year)]["file"]).read_bytes(), place) for year in present
    ]
    return _joined(parts, service, missing)


def _manifest(home: Path, service: Service, place: Place) -> dict:
    """The manifest of a folder, fresh when there is none or it cannot be read."""
    try:
        found = json.loads((home / MANIFEST).read_text("utf-8"))
        if isinstance(found, dict) and isinstance(found.get("pieces"), dict):
            return found
    except (OSError, ValueError):
        pass
    return {
        "source": service.source.name,
        "address": service.address,
        "licence": service.source.licence,
        "attribution": service.source.attribution,
        "latitude": place.latitude,
        "longitude": place.longitude,
        "pieces": {},
    }


def _is_here(home: Path, manifest: dict, year: int) -> bool:
    entry = manifest["pieces"].get(str(year))
    if not isinstance(entry, dict) or Path(str(entry.get("file"))).name != entry.get("file"):
        return False
    try:
        return hashlib.sha256((home / entry["file"]).read_bytes()).hexdigest() == entry.get("sha256")
    except OSError:
        return False


def _keep(home: Path, manifest: dict, service: Service, year: int, raw: bytes) -> None:
    """Store a piece, then its line in the manifest, each moved into place when whole."""
    name = f"{year}{service.suffix}"
    _write(home / name, raw)
    manifest["pieces"][str(year)] = {
        "file": name,
        "sha256": hashlib.sha256(raw).hexdigest(),
        "bytes": len(raw),
        "address": service.address,
        "fetched": datetime.now(UTC).isoformat(timespec="seconds"),
    }
    _write(home / MANIFEST, json.dumps(manifest, indent=1).encode())


def _write(path: Path, raw: bytes) -> None:
    try:
        with filled_in_place(path) as part:
            part.write_bytes(raw)
    except OSError as error:
        raise RefusalError(
            f"{path.name} cannot be kept ({error.strerror})", "room in the cache", "Make room."
        ) from error


def _joined(parts: list[xr.Dataset], service: Service, missing: dict[int, str]) -> xr.Dataset:
    climate = xr.concat(parts, "time", combine_attrs="override", data_vars="minimal", join="outer")
    climate = climate.sortby("time")
    keep = ~climate.get_index("time").duplicated()
    climate = climate.isel(time=keep)
    flags = list(dict.fromkeys(flag for part in parts for flag in part.attrs["flags"]))
    if missing:
        flags.append(doubt("climate.years_absent", years=", ".join(map(str, sorted(missing)))))
    climate.attrs |= {
        "flags": flags,
        "source": service.source.title,
        "licence": service.source.licence,
        "attribution": service.source.attribution,
    }
    return climate
