"""The sheet that is filled in by hand: hold points of each opening to sign, blank lines for those no list has, water checks."""

from markupsafe import Markup

from exposure.draw.marked import dimensions, name, say
from exposure.junction.catalogue import JUNCTIONS
from exposure.paper.register import register_of
from exposure.paper.sheet_plan import SheetPlan

BLANK = 2  # least lines for openings that are on no list
LINES = 12  # of a register that is kept on one page
CHECKS = 3  # least lines for the water check
STANDS_ON = {"deck-door": "the closed deck", "slats-door": "the slats"}
ON_DECK = {one.key: one.title for one in JUNCTIONS if one.key in STANDS_ON}
WHO, RESULT, PHOTO = "Who, when", "Result", "OK, photo"  # to fill in at a hold point
MANY = 6  # columns of hold points that hold these words; in more each word has a line of its own


def register_sheet(plan: SheetPlan) -> dict:
    """The register of openings as a sheet."""
    register = register_of(plan)
    points: dict[tuple[int, str], list[str]] = {}
    for wall in register.walls:
        for point in wall.points:
            points.setdefault((point.step, point.words), []).append(wall.name)
    photographed = {step for step, words in points if "hotograph" in words}
    decks = {  # a door that stands on one is built by that drawing
        wall: {"title": title, "sheet": cell.sheet, "on": STANDS_ON[key]}
        for key, title in ON_DECK.items()
        for wall, cell in plan.cells.get(key, {}).items()
        if cell is not None
    }
    rows = [
        _row(one.mark, one.elevation, one.kind, one.size, one.asked, one.offered or "ask", one.sheet)
        | {"deck": decks.get(one.elevation) if one.kind.startswith("door") else None}
        for one in register.openings
    ]
    held = {wall.name: wall.points for wall in register.walls}
    for row, one in zip(rows, register.openings, strict=True):
        door = one.kind.startswith("door")
        row["steps"] = {point.step for point in held[one.elevation] if door or not point.door}
    if rows:
        silent = [wall for wall in register.walls if not register.of(wall.name)]
        rows += [_row(wall.code, wall.name, "", "", wall.asked, "", wall.sheet) for wall in silent]
    checks = [one.water_check for one in plan.details.elevations]
    given = len(register.openings)
    rows += [_row()] * max(BLANK, LINES - len(rows))
    listed = (
        f"{given} opening{'' if given == 1 else 's'} on the list; blank lines are for those it leaves out."
        if given
        else "No list of openings was given: fill in wall and size of each."
    )
    steps = sorted({step for step, _ in points})
    lines: dict[int, tuple[str, ...]] = {
        step: (WHO, PHOTO if step in photographed else RESULT) for step in steps
    }
    if len(steps) > MANY:
        lines = {step: tuple(", ".join(said).split(", ")) for step, said in lines.items()}
    return {
        "kind": "openings",
        "number": plan.numbers["openings"],
        "short": "register of openings",
        "head": "Register of openings",
        "lead": say(f"{listed} {plan.details.window.in_words}", most=900),
        "points": [
            {"step": step, "codes": plan.named(names), "words": dimensions(words)}
            for (step, words), names in sorted(points.items())
        ],
        "columns": [{"step": step, "asked": lines[step]} for step in steps],
        "many": len(steps) > MANY,
        "rows": rows,
        "short_list": len(rows) <= LINES,
        "check_columns": [say(column) for column in checks[0].record_columns],
        "check_rows": max(CHECKS, sum(one.openings for one in checks)),
    }


def _row(
    mark: str = "",
    wall: str = "",
    kind: str = "",
    size: str = "",
    asked: str = "",
    offered: str = "",
    sheet: int | None = None,
) -> dict:
    return {
        "mark": mark,
        "wall": name(wall, most=24) if wall else Markup(""),
        "kind": kind,
        "size": size,
        "asked": asked,
        "offered": offered,
        "sheet": sheet,
        "deck": None,
        "steps": None,
    }
