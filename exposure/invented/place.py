"""The invented place as files in the user's cache: made once, in under half a minute, and used again."""

import os
import shutil
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import platformdirs

from exposure.checks import RefusalError
from exposure.invented.geography import Place, island, places

RECIPE = 4  # goes up whenever a number of the invented place changes
CACHE_VARIABLE = "EXPOSURE_CACHE"
SOURCE = "invented weather of an invented island (fixed recipe, nothing measured)"
LICENCE = "CC0, invented data"
INVENTED_FLAG = "Invented weather in an invented place, for trying things out: do not build from it."


@dataclass(frozen=True)
class InventedPlace:
    """Where the files of the invented place lie."""

    folder: Path

    @property
    def climate(self) -> Path:
        """Zarr with hourly ``u10 v10 tp sf t2m d2m`` on 24 by 24 cells, 2011 to 2022."""
        return self.folder / "climate.zarr"

    @property
    def height(self) -> Path:
        """GeoTIFF of ground height. [m]"""
        return self.folder / "ground_height.tif"

    @property
    def cover(self) -> Path:
        """GeoTIFF of land cover, ESA WorldCover class codes."""
        return self.folder / "land_cover.tif"

    @property
    def houses(self) -> Path:
        """GeoJSON of footprints with ``name``, ``height`` [m], ``storeys``."""
        return self.folder / "houses.geojson"

    @property
    def coast(self) -> Path:
        """GeoJSON of the coast, one polygon."""
        return self.folder / "coast.geojson"

    @property
    def buildings(self) -> tuple[Path, ...]:
        """Building files in TOML, as examples."""
        return tuple(sorted(Path(__file__).with_name("buildings").glob("*.toml")))

    @property
    def places(self) -> tuple[Place, ...]:
        """The named places."""
        return places()

    @property
    def name(self) -> str:
        """Name of the island."""
        return island()["name"]

    def place(self, name: str) -> Place:
        """The named place ``name``."""
        for one in places():
            if one.name == name:
                return one
        known = ", ".join(one.name for one in places())
        raise RefusalError(f"place {name!r}", f"one of {known}", "Correct the name.")


def cache_folder() -> Path:
    """Folder the invented place is kept in: ``EXPOSURE_CACHE`` where set, else the user's cache."""
    given = os.environ.get(CACHE_VARIABLE)
    return Path(given) if given else Path(platformdirs.user_cache_dir("driving-rain-exposure"))


def invented_place(
    folder: str | Path | None = None, progress: bool | Callable[[float], None] = True
) -> InventedPlace:
    """The invented place, made now when it is not there yet.

    Parameters
    ----------
    folder
        Folder to keep it in; by default :func:`cache_folder`.
    progress
        Show a bar on standard error while it is made; or what is called with the share done, 0 to 1, as it grows.

    Raises
    ------
    RefusalError
        When the folder cannot be written.
    """
    home = (cache_folder() if folder is None else Path(folder)) / f"invented-{RECIPE}"
    if (home / "made.json").is_file():
        return InventedPlace(home)
    try:
        home.parent.mkdir(parents=True, exist_ok=True)
        part = Path(tempfile.mkdtemp(prefix=f".{home.name}-", dir=home.parent))
    except OSError as error:
        raise RefusalError(
            f"the folder {home.parent} cannot be written ({error.strerror})",
            f"a folder with room for about 200 MB (set {CACHE_VARIABLE} to choose it)",
            "Name another folder.",
        ) from error
    try:
        from exposure.invented.making import make_place

        make_place(InventedPlace(part), progress=progress)
        part.chmod(0o755)
        try:
            part.rename(home)
        except OSError:  # someone else finished it first, or left half of one behind
            if not (home / "made.json").is_file():
                shutil.rmtree(home, ignore_errors=True)
                part.rename(home)
    finally:
        shutil.rmtree(part, ignore_errors=True)
    return InventedPlace(home)
