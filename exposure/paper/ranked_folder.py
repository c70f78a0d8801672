"""The ranking as a folder: CSV, GeoPackage, JSON and the page, all or none of them."""

import shutil
import tempfile
from pathlib import Path

from exposure.assess.compare_sites import Comparison
from exposure.checks import RefusalError
from exposure.export.ranked_files import left_out_csv, ranked_csv, ranked_json, write_ranked_geopackage
from exposure.in_place import place_of
from exposure.paper.ranked_page import ranked_html


def write_ranked_folder(folder: str | Path, comparison: Comparison) -> list[Path]:
    """CSV, GeoPackage, JSON and the page into ``folder``, all made before the first is moved into place.

    Raises
    ------
    RefusalError
        When the folder cannot be written.
    """
    target = Path(folder)
    texts = {
        "comparison.csv": ranked_csv(comparison),
        "comparison.json": ranked_json(comparison),
        "comparison.html": ranked_html(comparison),
    }
    if comparison.left_out:
        texts["left_out.csv"] = left_out_csv(comparison)
    try:
        target.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".comparison-", dir=target) as beside:
            for name, words in texts.items():
                (Path(beside) / name).write_text(words, "utf-8", errors="replace")
            names = [*texts, "comparison.gpkg"]
            places = {name: place_of(target / name) for name in names}
            layers = Path(beside) / "comparison.gpkg"
            if places[layers.name].exists():
                shutil.copyfile(places[layers.name], layers)
            write_ranked_geopackage(layers, comparison)
            for name, place in places.items():
                (Path(beside) / name).replace(place)
            if not comparison.left_out:
                (target / "left_out.csv").unlink(missing_ok=True)
    except OSError as error:
        raise RefusalError(
            f"{target} cannot be written ({error.strerror})", "a folder you may write to", "Choose another."
        ) from error
    return [target / name for name in names]
