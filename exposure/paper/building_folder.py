"""A building's folder: everything a designer hands over, with a page that says what each file is for."""

from dataclasses import dataclass
from pathlib import Path

from jinja2 import DictLoader, Environment, StrictUndefined
from markupsafe import Markup

from exposure.assess.details_parts import BuildingDetails
from exposure.assess.from_files import Surveyed
from exposure.checks import RefusalError
from exposure.draw.lettering import clean
from exposure.export.building_files import assessment_json, write_building_geopackage
from exposure.export.details_files import costs_csv, details_csv, details_json, take_off_csv
from exposure.export.drawing_files import write_drawings
from exposure.junction.catalogue import Drawing, LeftOut, Run, drawings_of, runs_of
from exposure.junction.numbers import numbers_of
from exposure.junction.short_runs import short_runs_of
from exposure.map.contour_map import RegionField
from exposure.paper.pdf import pdf_at_hand, write_pdf
from exposure.paper.provenance import DO_NOT_BUILD, is_invented, record_words, version_words
from exposure.paper.register import register_json, register_of
from exposure.paper.sheet import annex_html, sheet_html, template_part, write_text
from exposure.paper.sheet_plan import sheet_plan
from exposure.paper.site_file import write_site_file

DRAWINGS = "drawings"
INVENTED_MARK = "invented_"
FILES = {  # name -> what it is for; in the order of use
    "sheets.html": "To print and to build from: every junction, each elevation, order of work, checks, doubts, openings to sign.",
    "sheets.pdf": "The same sheets as one PDF.",
    "annex.html": "Why: reason and source of every line, the figures step by step, the seasons. Printed on request.",
    "site.html": "For the phone on site: works without a network.",
    "register.json": "Every opening with its hold points: a record from the site is held against it.",
    "schedule.csv": "The schedule as a table.",
    "take_off.csv": "Lengths and areas to order, and what is not counted, as a table.",
    "costs.csv": "What the material of each level would cost, by the prices of your office, as a table.",
    "details.json": "Every line, reason and source, for other programs.",
    "exposure.json": "How exposed each elevation is, with every step; it can be read again as a building's file.",
    "building.gpkg": "Outline and elevations with their figures, for a map program.",
}


@dataclass(frozen=True)
class Written:
    """What lies in a building's folder."""

    files: tuple[Path, ...]
    drawings: tuple[Drawing, ...]
    left_out: tuple[LeftOut, ...]
    runs: tuple[Run, ...] = ()


def write_building_folder(
    folder: str | Path,
    details: BuildingDetails,
    surveyed: Surveyed,
    *,
    region: RegionField | None = None,
    invented: bool | None = None,
) -> Written:
    """Write sheets, site file, drawings, tables and layers of one building, and ``index.html`` last.

    Parameters
    ----------
    folder
        Made where it is missing. Each file is moved into place when it is whole.
    details, surveyed
        From :func:`exposure.detail_building` and :func:`exposure.survey_building`.
    region
        Index over the region around, for the map of the annex.
    invented
        Whether anything put in is made up, which every file then says; by default told from the record.

    Raises
    ------
    RefusalError
        When the folder cannot be written.
    """
    target = Path(folder)
    made_up = is_invented(details.assessment) if invented is None else invented
    numbers = {
        one.name: numbers_of(one.schedule, one.circumstances, one.pressure) for one in details.elevations
    }
    of_walls, left_out = drawings_of(list(numbers.items()))
    plan = sheet_plan(details)
    drawings = (*of_walls, *plan.one_sided_drawn)
    runs = runs_of([(one.name, numbers[one.name], one.schedule.steps) for one in details.elevations])
    runs += short_runs_of(list(numbers.items()))
    sheets = sheet_html(details, invented=made_up)
    mark = INVENTED_MARK if made_up else ""  # a table has no room to say it but its name
    texts = {
        f"{mark}schedule.csv": details_csv(details),
        f"{mark}take_off.csv": take_off_csv(details),
        "details.json": details_json(details),
        "exposure.json": assessment_json(details.assessment, surveyed),
        "register.json": register_json(register_of(plan), notice=DO_NOT_BUILD if made_up else ""),
    }
    if details.costs is not None:
        texts[f"{mark}costs.csv"] = costs_csv(details)
    try:
        (target / DRAWINGS).mkdir(parents=True, exist_ok=True)
        written = [write_text(target / "sheets.html", sheets)]
        if pdf_at_hand():
            written.append(write_pdf(target / "sheets.pdf", sheets))
        written.append(
            write_text(target / "annex.html", annex_html(details, region=region, invented=made_up))
        )
        written.append(write_site_file(details, target / "site.html", invented=made_up))
        written += [write_text(target / name, text) for name, text in texts.items()]
        write_building_geopackage(target / "building.gpkg", details.assessment, surveyed)
        written.append(target / "building.gpkg")
        written += write_drawings(drawings, left_out, target / DRAWINGS, runs=runs, invented=made_up)
    except OSError as error:
        raise RefusalError(
            f"{target} cannot be written ({error.strerror})", "a folder you may write to", "Choose another."
        ) from error
    found = Written(tuple(written), drawings, left_out, runs)
    write_text(target / "index.html", index_html(details, found, invented=made_up))
    return found


def index_html(details: BuildingDetails, written: Written, *, invented: bool) -> str:
    """The page of the folder: the answer in a line, then each file with what it is for."""
    assessment = details.assessment
    names = {path.name for path in written.files}
    worst = assessment.worst
    template = Environment(
        loader=DictLoader({"folder": template_part("folder.jinja")}),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    )
    return template.get_template("folder").render(
        title=clean(f"{assessment.building.name}, {assessment.site.name}", most=120),
        css=Markup(template_part("folder.css")),
        invented=DO_NOT_BUILD if invented else "",
        answer=clean(f"Worst: the {worst.wall.name} elevation, {worst.in_words}.", most=200),
        record=clean(record_words(assessment), most=300),
        version=version_words(),
        files=[
            (name, what)
            for plain, what in FILES.items()
            for name in (plain, f"{INVENTED_MARK}{plain}")
            if name in names
        ],
        drawings=[
            (
                one,
                clean(one.section.title, most=120),
                ", ".join(clean(each, most=60) for each in one.elevations),
            )
            for one in written.drawings
        ],
        runs=[(run, ", ".join(clean(each, most=60) for each in run.elevations)) for run in written.runs],
        folder=DRAWINGS,
        left_out=[clean(f"{one.title}: {one.why}", most=200) for one in written.left_out],
    )
