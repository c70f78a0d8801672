"""The sheets one builds from: the building, each elevation in use, then junctions, work, check, doubts and openings.

Derived from the builder's and the designer's questions: where does which junction stand and how large is it, what is
nailed up by, what is filled in on site, what is doubtful. Why it is so stands in an annex of its own.

One HTML with print style, no script and no outside request; the same string goes to the printer and to the PDF writer,
which do the paging.
"""

from collections.abc import Sequence
from datetime import date
from functools import cache
from importlib.resources import files
from pathlib import Path

from jinja2 import DictLoader, Environment, StrictUndefined
from markupsafe import Markup

from exposure.assess.details_parts import BuildingDetails
from exposure.checks import RefusalError
from exposure.draw.lettering import clean
from exposure.draw.marked import mark_meanings, name
from exposure.in_place import filled_in_place
from exposure.map.contour_map import RegionField
from exposure.paper.page_foot import page_feet
from exposure.paper.provenance import DO_NOT_BUILD, input_mark, is_invented, made_words, version_words
from exposure.paper.sheet_annex import factor_part, laboratory_part, season_part
from exposure.paper.sheet_building import building_sheet
from exposure.paper.sheet_figures import figure_sheet
from exposure.paper.sheet_front import elevation_sheet
from exposure.paper.sheet_orders import junction_sheet
from exposure.paper.sheet_plan import sheet_plan
from exposure.paper.sheet_reasons import reason_part
from exposure.paper.sheet_register import register_sheet
from exposure.paper.sheet_work import check_sheet, work_sheet


def sheet_html(details: BuildingDetails, *, invented: bool | None = None, made: date | None = None) -> str:
    """The sheets of a building as one HTML document.

    Parameters
    ----------
    details
        From :func:`exposure.detail_building`.
    invented
        Whether anything put in is made up, which every sheet then says; by default told from the record.
    made
        Date on the sheets; today by default.
    """
    plan = sheet_plan(details)
    sheets = [
        building_sheet(plan),
        *(elevation_sheet(plan, one) for one in plan.fronts),
        junction_sheet(plan),
    ]
    if "work" in plan.numbers:
        sheets.append(work_sheet(plan))
    sheets += [check_sheet(plan), figure_sheet(plan), register_sheet(plan)]
    return _document(details, sheets, "Sheet", invented=invented, made=made)


def annex_html(
    details: BuildingDetails,
    *,
    region: RegionField | None = None,
    invented: bool | None = None,
    made: date | None = None,
) -> str:
    """Reasons and sources of everything on the sheets, for whoever checks or signs.

    Parameters
    ----------
    details, invented, made
        As for :func:`sheet_html`.
    region
        Index over the region around, for the map; without it the ground by direction is drawn.
    """
    parts = [
        factor_part(details, region=region),
        season_part(details),
        laboratory_part(details),
        reason_part(details),
    ]
    given = [part for part in parts if part]
    for number, part in enumerate(given, start=1):
        part["number"] = number
    return _document(details, given, "Annex", invented=invented, made=made)


def _document(
    details: BuildingDetails, sheets: Sequence[dict], word: str, *, invented: bool | None, made: date | None
) -> str:
    assessment = details.assessment
    made_up = is_invented(assessment) if invented is None else invented
    who = f"{assessment.building.name}, {assessment.site.name}"
    feet = page_feet(
        who,
        [(f"sheet-{one['number']}", one["kind"], f"{word} {one['number']}") for one in sheets],
        notice=DO_NOT_BUILD if made_up else "",
    )
    return (
        _environment()
        .get_template("sheet")
        .render(
            title=clean(f"Driving rain on {who}", most=120),
            css=Markup(template_part("sheet.css") + feet),
            sheets=sheets,
            word=word,
            who=name(who, most=60),
            invented=made_up,
            do_not_build=DO_NOT_BUILD,
            made=made_words(made or date.today()),
            version=version_words(),
            inputs=input_mark(details),
            marks=mark_meanings(),
        )
    )


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


def template_part(file: str) -> str:
    """A style, script or template that comes with the package."""
    return files("exposure.paper").joinpath("templates", file).read_text("utf-8")


@cache
def _environment() -> Environment:
    return Environment(
        loader=DictLoader({"sheet": template_part("sheet.jinja")}),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    )
