"""What changes in a drawn junction one level lower: sizes, orders and parts, in words and as a section of its own."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from exposure.detail.inside_lines import KEY
from exposure.detail.ladder import CAVITY_ROWS, Row, ladder_rows
from exposure.figures import amount
from exposure.junction.catalogue import JUNCTIONS, Drawing, section_of
from exposure.junction.numbers import NumberMissingError, Numbers
from exposure.junction.scene import Section
from exposure.junction.window import NotDrawnError


@dataclass(frozen=True)
class Change:
    """A row that asks something else one level lower."""

    row: str
    here: float | str
    lower: float | str
    words: str  # the order as it is one level lower, with the figure that holds here


@dataclass(frozen=True)
class OneLower:
    """A junction one level lower beside the one that is drawn."""

    level: int
    changes: tuple[Change, ...]
    less: tuple[str, ...] = ()  # parts that are drawn here and not there
    more: tuple[str, ...] = ()
    section: Section | None = None  # none where the junction is not drawn one level lower
    why: str = ""  # why it is not
    changed: frozenset[str] = frozenset()  # keys of the section's layers that differ

    @property
    def sentences(self) -> tuple[str, ...]:
        """What changes, in words; empty where nothing does."""
        parts = [f"Not there: {name[:1].lower()}{name[1:]}." for name in self.less]
        parts += [f"There instead: {name[:1].lower()}{name[1:]}." for name in self.more]
        return (
            *([f"One level lower it is not drawn: {self.why}."] if self.why else []),
            *(one.words for one in self.changes),
            *parts,
        )


def numbers_below(numbers: Numbers) -> Numbers:
    """The same wall one level lower on both axes.

    What the level does not settle stays: the back that holds the water of this wall's wind, what snow or a rule asks.

    Examples
    --------
    >>> below = numbers_below(Numbers({"back_dam": 35.0, "tray_down": 75.0}, level=3, below={"back_dam": 35.0, "tray_down": 50}))
    >>> below.level, dict(below.values)
    (2, {'back_dam': 35.0, 'tray_down': 50})
    """
    wetness = max(numbers.wetness - 1, numbers.least_wetness) if numbers.wetness else 0
    pressure = max(numbers.pressure - 1, 1) if numbers.pressure else 0
    inside = {key: value for key, value in numbers.values.items() if key == KEY}  # every level asks the same
    return replace(
        numbers,
        values={**numbers.below, **inside},
        level=max(wetness, pressure) or max(numbers.level - 1, 1),
        wetness=wetness,
        pressure=pressure,
        words={},
        below={},
    )


def one_lower(drawing: Drawing) -> OneLower | None:
    """What changes in a drawing one level lower; None where it stands on the lowest level or nothing it shows changes."""
    numbers = drawing.numbers
    if numbers is None or numbers.level == 1 or not numbers.below:
        return None
    below = numbers_below(numbers)
    junction = next((one for one in JUNCTIONS if one.key == drawing.section.key), None)
    if junction is None:  # a corner between two walls, which one wall's numbers do not ask
        return None
    section, why = None, ""
    try:
        if junction.asked(below):
            section = section_of(junction, below)
        else:
            why = "the schedule does not ask it"
    except (NumberMissingError, NotDrawnError) as error:
        why = str(error)
    shown = dict.fromkeys([*drawing.section.rows, *(section.rows if section else ())])
    changes = tuple(filter(None, (_change(row, numbers, below) for row in ladder_rows() if row.key in shown)))
    if not changes and not why:
        return None
    here, there = _names(drawing.section), _names(section) if section else {}
    rows = {one.row for one in changes}
    return OneLower(
        below.level, changes,
        less=tuple(name for name in here if name not in there) if section else (),
        more=tuple(name for name in there if name not in here),
        section=section, why=why,
        changed=frozenset(layer.key for layer in section.layers if rows & set(layer.rows) or (there.get(layer.name) and layer.name not in here))
        if section else frozenset(),
    )  # fmt: skip


def _names(section: Section) -> Mapping[str, bool]:
    return {layer.name: True for layer in section.layers if layer.name}


def _change(row: Row, numbers: Numbers, below: Numbers) -> Change | None:
    here, lower = numbers.values.get(row.key), below.values.get(row.key)
    if here is None:
        return None
    if lower is None:
        if row.key in CAVITY_ROWS:
            return None  # gone with the cavity, which is said
        said = _sentence(row, here, numbers)
        return Change(row.key, here, "", f"Not asked there: {said[:1].lower()}{said[1:]}")
    said = _sentence(row, lower, below)
    if here == lower:
        return None if said == _sentence(row, here, numbers) else Change(row.key, here, lower, said)
    if not isinstance(here, str):
        said = f"{said.removesuffix('.')}; here {amount(here, row.unit)}."
    return Change(row.key, here, lower, said)


def _sentence(row: Row, value: float | str, numbers: Numbers) -> str:
    level, rows = numbers.on(row.axis), numbers.values
    build = row.build_for(value, level, numbers.circumstances, rows=rows)
    return build.replace("{v}", amount(value, row.unit))
