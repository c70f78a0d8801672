"""A brief for a laboratory: what it is to test under pressure, in which order, and what its report has to hold."""

from collections.abc import Sequence
from dataclasses import dataclass

from exposure.detail.openings import Opening
from exposure.detail.water_check import LEAST_CHAMBER, PASS_RULE, WaterCheck, by_rating
from exposure.detail.water_steps import MARGIN, WATCH, litres_by_size
from exposure.doubts import has_doubt
from exposure.figures import NO_BREAK, amount, listed, millimetres, number
from exposure.tables import load_table
from exposure.tables.standing import with_standing

TABLE = "laboratory_brief"
LEAST_MINUTES = 15.0  # min at the last pressure, ASTM E1105 by a laboratory's page (second hand)


@dataclass(frozen=True)
class BriefLine:
    """One line of the brief, with who says so."""

    where: str
    text: str
    source: str
    standing: str


@dataclass(frozen=True)
class LaboratoryBrief:
    """What a laboratory is asked for, on one page."""

    at_once: tuple[str, ...]  # elevations on which the chamber is asked before the other windows go in
    facts: tuple[BriefLine, ...]
    sequence: tuple[BriefLine, ...]
    report: tuple[BriefLine, ...]  # fields the report has to hold

    @property
    def in_words(self) -> tuple[str, ...]:
        """The whole brief as lines."""
        return (
            *(f"{line.where}: {line.text} [{line.source}]" for line in self.facts),
            *(f"{line.where}. {line.text} [{line.source}]" for line in self.sequence),
            "The report holds: "
            + "; ".join(f"{line.where.lower()}: {line.text}" for line in self.report)
            + ".",
        )


def laboratory_brief(checks: Sequence[WaterCheck], sizes: Sequence[Opening] = ()) -> LaboratoryBrief:
    """The brief of a house, from the water checks of its elevations.

    Parameters
    ----------
    checks
        From :func:`exposure.detail.water_check.water_check`, one for each elevation.
    sizes
        The building's openings, for the areas to wet.
    """
    rate = next(row["rate"] for row in load_table("water_test")["row"] if row["method"].endswith("E1105"))
    held = {by_rating(one.chamber) for one in checks if one.chamber}
    rated = all(pressure.rating is not None for one in checks for pressure in one.chamber)
    sent = {one.elevation for one in checks if one.chamber}
    minutes = max([LEAST_MINUTES, *(one.minutes for one in checks)])
    shown = {
        "which": _which(checks),
        "who": _who(checks),
        "margin": millimetres(MARGIN),
        "areas": litres_by_size(rate, [one for one in sizes if one.elevation in sent], pressed=True),
        "rate": amount(rate, "L/(m²·min)"),
        "pressures": _pressures(checks),
        "steps": held.pop() if rated and len(held) == 1 else "the pressure of its elevation and rating",
        "minutes": amount(minutes, "min"),
        "watch": amount(max(minutes, WATCH), "min"),
        "passed": PASS_RULE,
    }
    open_studs = any(one.film for one in checks)
    rows = [row for row in load_table(TABLE)["row"] if "needs" not in row or open_studs]

    def part(name: str) -> tuple[BriefLine, ...]:
        return tuple(
            BriefLine(
                row["where"],
                row["text"].format_map(shown).replace(" Pa", f"{NO_BREAK}Pa"),
                with_standing(row["source"], row["standing"]),
                row["standing"],
            )
            for row in rows
            if row["part"] == name
        )

    at_once = tuple(one.elevation for one in checks if one.pressures)
    return LaboratoryBrief(at_once, part("facts"), part("sequence"), part("report"))


def _how_many(check: WaterCheck) -> str:
    """How many openings of how many."""
    if check.of is None:
        return number(check.openings)
    if check.openings == check.of:
        return "its one opening" if check.of == 1 else f"all {number(check.of)}"
    return f"{number(check.openings)} of {number(check.of)}"


def _which(checks: Sequence[WaterCheck]) -> str:
    """Openings to test, at once or only after failures."""
    at_once = [one for one in checks if one.pressures]
    later = [one.elevation for one in checks if not one.pressures and one.chamber]
    wrong = [one.elevation for one in checks if one.stop]
    said = []
    if at_once:
        many = [
            f"{one.elevation} {_how_many(one)}" if one.of != 0 else f"{one.elevation} whatever there is"
            for one in at_once
        ]
        said.append(f"On {listed(many)}: the first of each type at once, the others once they are in.")
    if later:
        said.append(f"On {listed(later)} only after an opening leaked twice.")
    if wrong:
        said.append(
            f"Not on {listed(wrong)}: the window's rating is below the pressure, so another window comes first."
        )
    return " ".join(said) or "No opening of this house: none is sprayed at its levels."


def _who(checks: Sequence[WaterCheck]) -> str:
    """Which openings of those walls it is."""
    first, leaked = "on the first of each type", "on the one that leaked twice"
    at_once = any(one.pressures for one in checks)
    later = any(one.chamber and not one.pressures for one in checks)
    return f"{first}, else {leaked}" if at_once and later else first if at_once else leaked


def _pressures(checks: Sequence[WaterCheck]) -> str:
    """The last pressure on each elevation, those that share one together."""
    by_pressure: dict[str, list[str]] = {}
    for one in checks:
        if one.chamber:
            least = max(pressure.applied for pressure in one.chamber) == LEAST_CHAMBER
            said = f"{by_rating(one.chamber)}{', the first step of such a test' if least else ''}"
            by_pressure.setdefault(said, []).append(one.elevation)
    each = [f"{listed(names)} {said}" for said, names in by_pressure.items()]
    designed = [one.elevation for one in checks if has_doubt(one.flags, "detail.check_needs_design")]
    by_design = f" {listed(designed)}: whoever designs it may set another." if designed else ""
    return f"{'; '.join(each) or 'None'}. Never above the window's rating: ask for it first; two thirds of it where that is more.{by_design}"
