"""``exposure draw``: the junctions of every elevation as dimensioned sections, for the screen and for CAD."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from exposure.checks import RefusalError
from exposure.cli.building_command import BUILDING_READS, add_building_arguments, assess_from_arguments
from exposure.cli.output import tell
from exposure.draw.lettering import clean
from exposure.wall.name_list import in_turn

if TYPE_CHECKING:
    from exposure.junction.catalogue import Drawing, LeftOut, Run

READS = BUILDING_READS
WRITES = {"out": ("drawings.json",)}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    add_building_arguments(parser)
    parser.add_argument(
        "--one-lower", action="store_true", help="beside each junction, draw what changes one level lower"
    )
    parser.add_argument("--out", metavar="FOLDER", required=True, help="where the drawings and their list go")


def run(options: argparse.Namespace) -> None:
    """Compute, draw and tell."""
    from exposure.assess.schedules import elevation_schedules, record_read
    from exposure.export.drawing_files import write_drawings
    from exposure.junction.catalogue import drawings_of, runs_of
    from exposure.junction.numbers import numbers_of
    from exposure.junction.short_runs import short_runs_of
    from exposure.paper.one_sided_corners import one_sided_of
    from exposure.paper.provenance import is_invented

    assessment, _, climate = assess_from_arguments(options)
    own, pressures, schedules = elevation_schedules(assessment, record_read(climate))
    names = [one.wall.name for one in assessment.elevations]
    numbers = [numbers_of(*each) for each in zip(schedules, own, pressures, strict=True)]
    drawings, left_out = drawings_of(list(zip(names, numbers, strict=True)))
    drawings += one_sided_of(drawings, [one.wall for one in assessment.elevations])
    named = list(zip(names, numbers, strict=True))
    runs = runs_of([(*each, schedule.steps) for each, schedule in zip(named, schedules, strict=True)])
    runs += short_runs_of(named)
    folder = _folder(Path(options.out))
    write_drawings(
        drawings, left_out, folder, runs=runs, lower=options.one_lower, invented=is_invented(assessment)
    )
    tell(drawings_report(drawings, left_out, runs, folder, lower=options.one_lower))


def drawings_report(
    drawings: "tuple[Drawing, ...]",
    left_out: "tuple[LeftOut, ...]",
    runs: "tuple[Run, ...]",
    folder: Path,
    *,
    lower: bool = False,
) -> str:
    """What was drawn, what clashes and what was left out, as lines for a reader."""
    lines = [
        f"{one.stem}: {one.section.title}, level {one.level}, for {in_turn([clean(name) for name in one.elevations])}"
        for one in drawings
    ]
    lines += [
        f"{run.stem}: {run.title[:1].lower()}{run.title[1:]} in {len(run.frames)} frames, "
        f"for {in_turn([clean(name) for name in run.elevations])}"
        for run in runs
    ]
    if lower:
        from exposure.junction.one_lower import one_lower

        for one in drawings:
            below = one_lower(one)
            lines.append(
                f"{one.stem}, one level lower: {' '.join(below.sentences) if below else 'the same.'}"
            )
    lines += [f"Doubt: {clean(one, most=600)}" for drawing in drawings for one in drawing.doubts]
    lines += [
        f"Left out: {one.title} of {in_turn([clean(name) for name in one.elevations])}: {one.why}."
        for one in left_out
    ]
    lines += [
        f"{len(drawings)} drawings, each as picture (svg) and for CAD (dxf), in {folder}; drawings.json lists them.",
        "Caution: local codes and licensed practice decide; a drawing informs, it does not prove.",
    ]
    return "\n".join(lines)


def _folder(folder: Path) -> Path:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise RefusalError(
            f"the folder {folder} cannot be made ({error.strerror})", "a folder of its own", "Name another."
        ) from error
    return folder
