"""The sheets: one A4 page for the building, one for each elevation, and behind them figures, work, checks and reasons.

One HTML with print style, no script and no outside request; the same string goes to the printer and to the PDF writer.
"""

from collections.abc import Sequence
from datetime import date
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from exposure.checks import RefusalError
from exposure.in_place import filled_in_place
from exposure.show.contour_map import RegionField
from exposure.show.lettering import clean
from exposure.show.marked import MARK_LETTERS, MARK_MEANINGS, name
from exposure.show.provenance import DO_NOT_BUILD, input_mark, is_invented, made_words, version_words
from exposure.show.sheet_annex import check_pages, figure_pages, season_pages, work_pages
from exposure.show.sheet_building import building_page
from exposure.show.sheet_front import elevation_pages
from exposure.show.sheet_reasons import reason_pages


def sheet_html(
    details: Any,
    *,
    region: RegionField | None = None,
    behind: bool = True,
    invented: bool | None = None,
    made: date | None = None,
) -> str:
    """All sheets of a building as one HTML document.

    Parameters
    ----------
    details
        A :class:`exposure.assess.details.BuildingDetails`.
    region
        Index over the region around, for the map; without it the ground by direction is drawn.
    behind
        False for the building's and the elevations' pages alone, without figures, work, checks and reasons.
    invented
        Whether anything put in is made up, which the title block then says; by default told from the record.
    made
        Date in the title block; today by default.
    """
    assessment = details.assessment
    fronts = [building_page(details, region=region)]
    for one in details.elevations:
        fronts.extend(elevation_pages(details, one))
    annex = [
        *figure_pages(details),
        *season_pages(details),
        *work_pages(details),
        *check_pages(details),
        *reason_pages(details),
    ]
    pages = [*fronts, *(annex if behind else ())]
    for number, page in enumerate(pages, start=1):
        page["number"] = number
    _point_behind(pages)
    return (
        _environment()
        .get_template("sheet")
        .render(
            title=clean(f"Driving rain on {assessment.building.name}, {assessment.site.name}", most=120),
            css=Markup(template_part("sheet.css")),
            pages=pages,
            who=name(f"{assessment.building.name}, {assessment.site.name}", most=44),
            where=Markup(""),
            invented=is_invented(assessment) if invented is None else invented,
            do_not_build=DO_NOT_BUILD,
            made=made_words(made or date.today()),
            version=version_words(),
            inputs=input_mark(details),
            marks=[(letter, words, MARK_MEANINGS[words]) for words, letter in MARK_LETTERS.items()],
        )
    )


def write_sheet(
    details: Any,
    path: str | Path,
    *,
    region: RegionField | None = None,
    invented: bool | None = None,
    made: date | None = None,
) -> Path:
    """Write the sheets to ``path`` (moved into place when whole) and return it."""
    return write_text(path, sheet_html(details, region=region, invented=invented, made=made))


def write_text(path: str | Path, words: str) -> Path:
    """Write ``words`` to a temporary name beside ``path`` and move it into place."""
    target = Path(path)
    try:
        with (
            filled_in_place(target) as part,
            part.open("w", encoding="utf-8", errors="replace", newline="") as file,
        ):
            file.write(words)
    except OSError as error:
        raise RefusalError(
            f"{target} cannot be written ({error.strerror})", "a folder with room", "Name another."
        ) from error
    return target


def _point_behind(pages: Sequence[dict]) -> None:
    """Tell each elevation's page on which sheets its reasons and its order of work start."""
    first: dict[tuple[str, str], int] = {}
    for page in pages:
        for elevation in page.get("names", ()):
            first.setdefault((page["kind"], elevation), page["number"])
    work = next((page["number"] for page in pages if page["kind"] == "work"), 0)
    for page in pages:
        if page["kind"] == "building":
            page["work_sheet"] = work
        if page["kind"] in ("elevation", "rest"):
            page["reasons_sheet"] = first.get(("reasons", page["elevation"]), 0)
            page["work_sheet"] = first.get(("work", page["elevation"]), 0)


def template_part(file: str) -> str:
    """A style, script or template that comes with the package."""
    return files("exposure.show").joinpath("templates", file).read_text("utf-8")


@cache
def _environment() -> Environment:
    from jinja2 import DictLoader

    return Environment(
        loader=DictLoader({"sheet": template_part("sheet.jinja")}),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    )
