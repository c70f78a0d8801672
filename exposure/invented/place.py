"""The invented place as files in the user's cache: made once, in some twenty seconds, and used again."""

import os
import shutil
import tempfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import platformdirs

from exposure.checks import RefusalError
from exposure.in_place import filled_in_place
from exposure.invented.place_files import RECIPE, InventedPlace

CACHE_VARIABLE = "EXPOSURE_CACHE"


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
        return _with_houses_of_today(InventedPlace(home))
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


def _with_houses_of_today(place: InventedPlace) -> InventedPlace:
    """The place with its houses written again where they are told otherwise by now; nothing else depends on them."""
    from exposure.invented.houses import houses_text

    with suppress(OSError):  # a folder that is only read keeps what it has
        if place.houses.read_text("utf-8") != houses_text():
            with filled_in_place(place.houses) as part:
                part.write_text(houses_text(), encoding="utf-8")
    return place
