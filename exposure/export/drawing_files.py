"""A building's drawn junctions as files: a picture and a CAD drawing of each, and a list of what they show."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from exposure.draw.junction_svg import DrawnFor, junction_picture, one_lower_picture
from exposure.draw.lettering import clean
from exposure.draw.work_frames import work_picture
from exposure.export.junction_dxf import Sheet, junction_dxf
from exposure.in_place import filled_in_place
from exposure.junction.catalogue import Drawing, LeftOut, Run
from exposure.junction.one_lower import one_lower

LIST = "drawings.json"
CAUTION = "Follow local rules and the maker's instructions; a drawing informs, it does not prove."


def level_words(drawing: Drawing) -> str:
    """The level of a drawing."""
    return drawing.level_name.capitalize() or f"Level {drawing.level}"


def write_drawings(
    drawings: Sequence[Drawing],
    left_out: Sequence[LeftOut],
    folder: Path,
    *,
    runs: Sequence[Run] = (),
    lower: bool = False,
    invented: bool = False,
) -> list[Path]:
    """Write every drawing as SVG and DXF into ``folder``, the order of work as SVG, and the list of them last.

    Parameters
    ----------
    lower
        Whether to draw beside each junction what changes one level lower; the list says it in any case.
    invented
        True for the demo's invented houses; every drawing then says so.
    """
    written = []
    sheet = Sheet()
    house = {name for one in drawings for name in one.elevations}
    house |= {name for one in left_out for name in one.elevations}
    for one in drawings:
        elevations = [clean(name, most=60) for name in one.elevations]
        drawn_for = DrawnFor(level_words(one), elevations, every={*one.elevations} == house)
        svg = junction_picture(
            one.section,
            lines=dict(one.words),
            drawn_for=drawn_for,
            invented=invented,
            prefix=one.stem,
        )
        heading = [
            drawn_for.words,
            CAUTION,
            *(["Invented demo data."] if invented else []),
        ]
        heading += [f"Clash: {clash.words}" for clash in one.section.conflicts]
        dxf = junction_dxf(one.section, heading=heading, sheet=sheet)
        texts = {f"{one.stem}.svg": svg, f"{one.stem}.dxf": dxf}
        below = one_lower(one) if lower else None
        if below:
            texts[lower_name(one)] = one_lower_picture(
                one.section, below, elevations=elevations, invented=invented, prefix=f"{one.stem}-lower"
            )
        for name, text in texts.items():
            path = folder / name
            with filled_in_place(path) as part:
                part.write_text(text, "utf-8")
            written.append(path)
    for run in runs:
        names = ", ".join(clean(name, most=60) for name in run.elevations)
        title = f"{run.title}, level {run.numbers.level}, for {names}{', invented' if invented else ''}"
        path = folder / f"{run.stem}.svg"
        with filled_in_place(path) as part:
            part.write_text(work_picture(run.frames, run.numbers, title=title, prefix=run.stem), "utf-8")
        written.append(path)
    path = folder / LIST
    with filled_in_place(path) as part:
        part.write_text(
            json.dumps(
                drawing_list(drawings, left_out, runs, lower=lower, invented=invented),
                indent=1,
                ensure_ascii=False,
            ),
            "utf-8",
        )
    return [*written, path]


def lower_name(drawing: Drawing) -> str:
    """Name of the picture of what changes one level lower."""
    return f"{drawing.stem}-one-lower.svg"


def _one_lower(drawing: Drawing, *, drawn: bool) -> dict[str, Any] | None:
    """What changes one level lower; None where nothing does."""
    found = one_lower(drawing)
    if found is None:
        return None
    return {
        "level": found.level,
        "picture": lower_name(drawing) if drawn else None,
        "drawn": found.section is not None,
        "why_not": found.why,
        "changes": [
            {"row": one.row, "here": one.here, "lower": one.lower, "words": one.words}
            for one in found.changes
        ],
        "parts_less": list(found.less),
        "parts_more": list(found.more),
    }


def drawing_list(
    drawings: Sequence[Drawing],
    left_out: Sequence[LeftOut],
    runs: Sequence[Run] = (),
    *,
    lower: bool = False,
    invented: bool = False,
) -> dict[str, Any]:
    """What the drawings show, as plain words and numbers."""
    return {
        "invented": invented,
        "units": "mm, unless an axis says otherwise",
        "caution": CAUTION,
        "drawings": [
            {
                "picture": f"{one.stem}.svg",
                "cad": f"{one.stem}.dxf",
                "junction": one.section.key,
                "title": one.section.title,
                "level": one.level,
                "elevations": list(one.elevations),
                "dimensions": [
                    {"row": size.key, "value": size.value, "axis": size.axis}
                    for size in one.section.dimensions
                ],
                "rows": list(one.section.rows),
                "one_lower": _one_lower(one, drawn=lower),
                "clashes": [
                    {"rows": list(clash.rows), "words": clash.words} for clash in one.section.conflicts
                ],
            }
            for one in drawings
        ],
        "order_of_work": [
            {
                "picture": f"{run.stem}.svg",
                "work": run.title,
                "level": run.numbers.level,
                "elevations": list(run.elevations),
                "steps": [
                    {
                        "step": frame.number,
                        "words": frame.words,
                        "sizes": {size.row: run.numbers.length(size.row) for size in frame.sizes},
                    }
                    for frame in run.frames
                ],
            }
            for run in runs
        ],
        "left_out": [
            {"junction": one.junction, "title": one.title, "elevations": list(one.elevations), "why": one.why}
            for one in left_out
        ],
    }
