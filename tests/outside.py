"""Numbers from outside the code: published, worked by hand or remembered, each with its source, read in one place.

``cases/*.toml`` holds them. A test says what the code found with :func:`agrees` or :func:`compared`; with
``pytest --evidence FILE`` all that was said is written down, and ``exposure evidence`` makes a page of it.
"""

import itertools
import json
import tomllib
from pathlib import Path
from typing import Any

import numpy as np


def _rows(path: Path) -> list[dict[str, Any]]:
    rows = tomllib.loads(path.read_text("utf-8"))["check"]
    for before, row in itertools.pairwise(rows):
        if row["source"] == "same":
            row["source"] = before["source"]
    return rows


CHECKS: dict[str, dict[str, Any]] = {
    row["id"]: row | {"about": path.stem}
    for path in sorted((Path(__file__).parent / "cases").glob("*.toml"))
    for row in _rows(path)
}
HOW = {
    "read": "published, read there",
    "sec": "published, second hand",
    "der": "worked out from the source",
    "mem": "published, the figure from memory",
}
SAID: dict[str, dict[str, Any]] = {}
READ: set[str] = set()  # checks whose inputs were read


def checks_about(subject: str, start: str = "") -> list[str]:
    """Names of the checks of one file of ``cases/``, those that begin with ``start``."""
    return [name for name, row in CHECKS.items() if row["about"] == subject and name.startswith(start)]


def inputs_of(name: str) -> dict[str, Any]:
    """What goes into the check ``name``, by the names of what is asked; a test writes none of it again."""
    READ.add(name)
    return CHECKS[name]["inputs"]


def agrees(found: Any, name: str, *, turn: float | None = None) -> None:
    """Hold what the code found against the check ``name``; on a circle where ``turn`` says how far it goes round."""
    row = CHECKS[name]
    assert name in READ or not row["inputs"], f"the inputs of {name} stand in cases/ and were not read there"
    expected = row["expected"]
    _say(
        name,
        found,
        expected,
        about=row["about"],
        what=row.get("given", name),
        source=row["source"],
        how=HOW[row["tag"]],
        tolerance=row["tolerance"],
        unit=row.get("unit", ""),
        because=row.get("because", ""),
    )
    if isinstance(expected, bool) or (isinstance(expected, str) and isinstance(found, str)):
        assert found == expected
        return
    wanted = [float(one) for one in expected.split(",")] if isinstance(expected, str) else float(expected)
    off = np.asarray(found, dtype=float) - wanted
    if turn is not None:
        off = (off + turn / 2) % turn - turn / 2
    np.testing.assert_allclose(off, 0, atol=row["tolerance"] or 1e-12)


def compared(
    name: str,
    found: Any,
    expected: Any,
    *,
    within: float,
    about: str,
    what: str,
    source: str,
    how: str,
    unit: str = "1",
    because: str = "",
) -> None:
    """Hold a result, or a row of them, against a record, a library or code of its own kind, at most ``within`` apart.

    ``because`` says why they may lie that far apart, where it is more than rounding.
    """
    _say(
        name, found, expected,
        about=about, what=what, source=source, how=how, tolerance=within, unit=unit, because=because,
    )  # fmt: skip
    np.testing.assert_allclose(found, expected, rtol=0, atol=within)


def _say(name: str, found: Any, expected: Any, **words: Any) -> None:
    def plain(value: Any) -> Any:
        if isinstance(value, bool | str):
            return value
        numbers = [float(f"{one:.6g}") for one in np.atleast_1d(np.asarray(value, dtype=float)).ravel()]
        return numbers[0] if len(numbers) == 1 else numbers

    SAID[name] = {"name": name, **words, "expected": plain(expected), "found": plain(found)}


def write_said(path: Path) -> None:
    """Everything said so far, in the order of the files it stands in; what ``path`` holds of other runs stays."""
    kept = json.loads(path.read_text("utf-8")) if path.is_file() else []
    rows = {row["name"]: row for row in kept} | SAID
    place = {name: i for i, name in enumerate(CHECKS)}
    order = sorted(rows, key=lambda name: (place.get(name, len(place)), name))
    path.write_text(json.dumps([rows[name] for name in order], indent=1, ensure_ascii=False) + "\n", "utf-8")
