"""What the invented place is made of: its files, and what they say of themselves."""

from dataclasses import dataclass
from pathlib import Path

from exposure.checks import RefusalError
from exposure.doubts import doubt
from exposure.invented.geography import Place, island, places

RECIPE = 4  # goes up whenever a number of the invented place changes
SOURCE = "invented weather of an invented island (fixed recipe, nothing measured)"
LICENCE = "CC0, invented data"
INVENTED_FLAG = doubt("climate.invented")


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
