"""The register of openings: each with its wall, size, rating asked, and hold points to sign; blank lines for the rest."""

from collections import Counter
from dataclasses import dataclass
from itertools import count

from markupsafe import Markup

from exposure.assess.openings import opening_orders
from exposure.draw.marked import dimensions, name, say
from exposure.figures import pascals
from exposure.paper.sheet_plan import SheetPlan

BLANK = 2  # lines for openings that are on no list
BLANK_ALONE = 12  # where there is no list
ASKED = ("Who, when", "Result, photo")


@dataclass(frozen=True)
class RegisterRow:
    """One opening, or a blank line."""

    mark: str  # on the plan and in the record: code of the wall and a number
    wall: str
    kind: str = ""
    size: str = ""
    asked: str = ""
    offered: str = ""


def register_rows(plan: SheetPlan) -> list[RegisterRow]:
    """Every opening of the list by itself, then blank lines: one for each elevation the list says nothing of, and more."""
    details = plan.details
    rows: list[RegisterRow] = []
    running: Counter[str] = Counter()
    for order in opening_orders(details, details.openings, rating=details.rating):
        wall = order.opening.elevation
        for _ in range(order.opening.count):
            running[wall] += 1
            rows.append(
                RegisterRow(
                    f"{plan.codes[wall]}{running[wall]}", wall, order.kind,
                    f"{order.opening.width:g} × {order.opening.height:g}",
                    f"{order.to_order}, {pascals(order.gust)}",
                    "ask" if order.rated is None else f"{pascals(order.rated)}: {order.verdict}",
                )
            )  # fmt: skip
    silent = [one for one in details.elevations if not running[one.name]]
    if details.openings:
        rows += [
            RegisterRow(
                plan.codes[one.name], one.name, asked=f"{one.window.to_order}, {pascals(one.window.pressure)}"
            )
            for one in silent
        ]
    blanks = BLANK if details.openings else BLANK_ALONE
    return [*rows, *(RegisterRow("", "") for _ in range(blanks))]


def hold_points(plan: SheetPlan) -> list[dict]:
    """What is recorded before it is covered, numbered by its step of the order of work, with the elevations."""
    found: dict[tuple[int, str], list[str]] = {}
    for one in plan.details.elevations:
        for number, step in zip(count(1), one.schedule.steps, strict=False):
            if step.hold:
                found.setdefault((number, step.hold), []).append(one.name)
    return [
        {"step": number, "codes": plan.named(names), "words": dimensions(words)}
        for (number, words), names in sorted(found.items())
    ]


def register_sheet(plan: SheetPlan) -> dict:
    """The register of openings as a sheet."""
    details = plan.details
    points = hold_points(plan)
    given = sum(one.count for one in details.openings)
    listed = (
        f"{given} opening{'' if given == 1 else 's'} on the list; blank lines are for those it leaves out."
        if given
        else "No list of openings was given: fill in wall and size of each."
    )
    return {
        "kind": "openings",
        "number": plan.numbers["openings"],
        "short": "register of openings",
        "head": "Register of openings",
        "lead": say(f"{listed} {details.window.in_words}", most=900),
        "points": points,
        "columns": sorted({point["step"] for point in points}),
        "asked": ASKED,
        "rows": [
            {
                "mark": row.mark, "wall": name(row.wall, most=24) if row.wall else Markup(""), "kind": row.kind,
                "size": row.size, "asked": row.asked, "offered": row.offered,
            }
            for row in register_rows(plan)
        ],
    }  # fmt: skip
