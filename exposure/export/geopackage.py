"""GeoPackages that keep the layers others put into them."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from exposure.checks import RefusalError
from exposure.in_place import filled_in_place, place_of

SQLITE = b"SQLite format 3\0"


@contextmanager
def layers_in_place(target: str | Path) -> Iterator[Path]:
    """Name of a GeoPackage to write layers into; it takes the place of ``target`` when the block ends well.

    It begins as a copy of the GeoPackage that stands there, so that a layer replaces the one of its name and others
    stay.

    Raises
    ------
    RefusalError
        When a file of another kind stands there.
    OSError
        As :func:`exposure.in_place.place_of` says.
    """
    stands = place_of(target)
    if stands.exists() and stands.stat().st_size:
        with stands.open("rb") as file:
            if file.read(len(SQLITE)) != SQLITE:
                raise RefusalError(
                    f"{target} is there and is no GeoPackage", "a new name or a GeoPackage", "Choose another."
                )
    with filled_in_place(target, ending=".gpkg") as part:
        if stands.exists() and stands.stat().st_size:
            shutil.copyfile(stands, part)
        yield part
