"""The sheets: one A4 page for the building, one for each elevation, and behind them work, checks, figures and reasons.

Derived from the builder's and the designer's questions: what is nailed up by comes first, then what is filled in on
site, then why.

One HTML with print style, no script and no outside request; the same string goes to the printer and to the PDF writer.
"""

from collections.abc import Sequence
from datetime import date
from functools import cache
from importlib.resources import files
from pathlib import Path

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from exposure.assess.details import BuildingDetails
from exposure.checks import RefusalError
from exposure.draw.lettering import clean
from exposure.draw.marked import mark_meanings, name
from exposure.in_place import filled_in_place
from exposure.map.contour_map import RegionField
from exposure.paper.provenance import DO_NOT_BUILD, input_mark, is_invented, made_words, version_words
from exposure.paper.sheet_annex import check_pages, figure_pages, season_pages, work_pages
from exposure.paper.sheet_building import building_page
from exposure.paper.sheet_drawn import drawn_pages
from exposure.paper.sheet_front import elevation_pages
from exposure.paper.sheet_reasons import reason_pages

KIND_NAMES = {
    "work": "order of work",
    "drawn": "drawn sections",
    "check": "water checks",
    "figures": "figures",
    "seasons": "through the year",
    "reasons": "reasons and sources",
}


def sheet_html(
    details: BuildingDetails,
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
        False for the building's and the elevations' pages alone, without work, checks, figures and reasons.
    invented
        Whether anything put in is made up, which the title block then says; by default told from the record.
    made
        Date in the title block; today by default.
    """
    assessment = details.assessment
    fronts = [building_page(details, region=region, behind=behind)]
    for one in details.elevations:
        fronts.extend(elevation_pages(details, one, behind=behind))
    annex = [
        *work_pages(details),
        *drawn_pages(details),
        *check_pages(details),
        *figure_pages(details),
        *season_pages(details),
    ]
    pages = [*fronts, *annex, *reason_pages(details)] if behind else fronts
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
            marks=mark_meanings(),
        )
    )


def write_sheet(
    details: BuildingDetails,
    path: str | Path,
    *,
    region: RegionField | None = None,
    behind: bool = True,
    invented: bool | None = None,
    made: date | None = None,
) -> Path:
    """Write the sheets to ``path`` (moved into place when whole) and return it."""
    made_html = sheet_html(details, region=region, behind=behind, invented=invented, made=made)
    return write_text(path, made_html)


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


def sheets_listed(kinds: Sequence[str]) -> str:
    """What the sheets are, in one sentence; ``kinds`` of all pages in order.

    Examples
    --------
    >>> sheets_listed(["building", "elevation", "elevation", "work", "reasons"])
    '5 sheets. 1 building; 2 to 3 elevations, to build from. Behind them: 4 order of work; 5 reasons and sources.'
    >>> sheets_listed(["building", "elevation"])
    '2 sheets. 1 building; 2 elevations, to build from. Order of work, water checks and reasons are a print of their own.'
    """
    spans: dict[str, list[int]] = {}
    for number, kind in enumerate(kinds, start=1):
        spans.setdefault("elevation" if kind == "rest" else kind, []).append(number)
    parts = [
        f"{_from_to(numbers)} {KIND_NAMES[kind]}"
        for kind, numbers in spans.items()
        if kind not in ("building", "elevation")
    ]
    head = "1 sheet" if len(kinds) == 1 else f"{len(kinds)} sheets"
    front = f"{head}. 1 building"
    if "elevation" in spans:
        front += f"; {_from_to(spans['elevation'])} elevations, to build from"
    if not parts:
        return f"{front}. Order of work, water checks and reasons are a print of their own."
    return f"{front}. Behind them: {'; '.join(parts)}."


def _from_to(numbers: Sequence[int]) -> str:
    return f"{numbers[0]}" if len(numbers) == 1 else f"{numbers[0]} to {numbers[-1]}"


def _point_behind(pages: Sequence[dict]) -> None:
    """Tell the building's page what the sheets are, each elevation's where its reasons and order of work start."""
    first: dict[tuple[str, str], int] = {}
    for page in pages:
        for elevation in page.get("names", ()):
            first.setdefault((page["kind"], elevation), page["number"])
    work = next((page["number"] for page in pages if page["kind"] == "work"), 0)
    for page in pages:
        if page["kind"] == "building":
            page["work_sheet"] = work
            page["sheets"] = sheets_listed([one["kind"] for one in pages])
        if page["kind"] in ("elevation", "rest"):
            for kind in ("work", "check", "reasons"):
                page[f"{kind}_sheet"] = first.get((kind, page["elevation"]), 0)


def template_part(file: str) -> str:
    """A style, script or template that comes with the package."""
    return files("exposure.paper").joinpath("templates", file).read_text("utf-8")


@cache
def _environment() -> Environment:
    from jinja2 import DictLoader

    return Environment(
        loader=DictLoader({"sheet": template_part("sheet.jinja")}),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    )
