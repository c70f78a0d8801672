"""The ranking as a folder: CSV, GeoPackage, JSON and the page, all or none of them."""

import tempfile
from pathlib import Path

from exposure.assess.compare_sites import Comparison
from exposure.checks import RefusalError
from exposure.export.ranked_files import left_out_csv, ranked_csv, ranked_json, write_ranked_geopackage
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
            write_ranked_geopackage(Path(beside) / "comparison.gpkg", comparison)
            names = [*texts, "comparison.gpkg"]
            for name in names:
                (Path(beside) / name).replace(target / name)
            if not comparison.left_out:
                (target / "left_out.csv").unlink(missing_ok=True)
    except OSError as error:
        raise RefusalError(
            f"{target} cannot be written ({error.strerror})", "a folder you may write to", "Choose another."
        ) from error
    return [target / name for name in names]
