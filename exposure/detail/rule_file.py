"""Rules of a country or an office: data read from a file, inputs asked in plain sentences.

A rule file (TOML) holds ``[rule]`` and ``[source]``, and four kinds of row:

``[[input]]``
    A question (``key``, ``question``, ``kind``: choice, number or yes or no, with ``choices`` or ``low``,
    ``high``, ``unit``), or a fact the program knows already (``key``, ``fact``). ``optional`` inputs may stay open.
``[[points]]``
    ``points`` of one ``factor`` when all conditions of ``when`` hold; the first row of a factor that holds counts.
``[[figure]]``
    A number worked out: ``key``, ``way`` (one of :data:`WAYS`), ``of`` (names or numbers). The first figure of
    a name whose parts are all known counts. With ``needs`` it is told only where that input is known.
``[[outcome]]``
    What follows when all conditions of ``when`` hold: ``says``, ``standing`` and, if wanted, ``asks`` (rows of the
    ladder and the least or most they must reach, each with a ``standing`` of its own where
    it differs; ``drawn`` is the figure the code draws its own details for; ``above`` a figure that the row has to pass by itself
    before it is asked),
    ``least_wetness``, ``specific_design``, and ``clause``, ``edition``, ``document``, ``look_again`` (a date). In
    one ``group`` only the first that holds counts.

A condition is ``{what = name, is = one of CONDITIONS, than = value}``. Nothing in a rule file is run as code.
"""

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from importlib.resources import files
from math import hypot
from typing import Any, NoReturn

from exposure.checks import RefusalError, sound_toml
from exposure.detail.corrosion import METAL, STRENGTHS
from exposure.detail.ladder import ladder_rows
from exposure.detail.open_answers import CONDITIONS
from exposure.detail.question import Question
from exposure.tables.standing import STANDINGS

LARGEST_FILE = 200_000  # characters of a rule file
WAYS: dict[str, Callable[..., float]] = {
    "as given": lambda value: float(value),
    "sum": lambda *values: float(sum(values)),
    "product": lambda first, *others: first * WAYS["product"](*others) if others else float(first),
    "larger": lambda *values: float(max(values)),
    "smaller": lambda *values: float(min(values)),
    # NBC appendix C form (from memory): wetting index and what drying leaves over
    "moisture index": lambda wetting, drying: hypot(wetting, 1 - drying),
}
POINTS = "sum of points"
ASK_WAYS = ("at least", "at most")


@dataclass(frozen=True)
class Rule:
    """A local rule as read from its file."""

    key: str
    name: str
    source: str
    document: str
    edition: str
    inputs: tuple[Question, ...]
    points: tuple[Mapping[str, Any], ...]
    figures: tuple[Mapping[str, Any], ...]
    outcomes: tuple[Mapping[str, Any], ...]

    @property
    def questions(self) -> tuple[Question, ...]:
        """The inputs that someone has to answer."""
        return tuple(one for one in self.inputs if one.kind != "fact")

    def citation(self, outcome: Mapping[str, Any]) -> str:
        """Document, clause and edition of one outcome; the rule's own source where it names no clause."""
        if "clause" not in outcome:
            return self.source
        document = outcome.get("document", self.document)
        return f"{document}, {outcome['clause']} ({outcome.get('edition', self.edition)})"


@cache
def local_rules() -> Mapping[str, Rule]:
    """The rules that come with the program, by key.

    Examples
    --------
    >>> sorted(local_rules())
    ['australia', 'canada', 'ireland', 'new zealand', 'united kingdom', 'united states']
    """
    rules = [read_rule_text(text, name=name) for name, text in _own_files()]
    return {rule.key: rule for rule in rules}


def rule_names() -> dict[str, str]:
    """Key and name of :func:`local_rules`, from the heads of their files alone, which takes no time.

    Examples
    --------
    >>> rule_names()["canada"]
    'Canada, National Building Code 9.27'
    """
    heads = [tomllib.loads(text.partition("[source]")[0])["rule"] for _, text in _own_files()]
    return {head["key"]: head["name"] for head in heads}


def _own_files() -> list[tuple[str, str]]:
    """Name and text of the rule files that come with the program."""
    folder = files("exposure.tables").joinpath("local_rules")
    found = sorted((one for one in folder.iterdir() if one.name.endswith(".toml")), key=lambda one: one.name)
    return [(one.name, one.read_text("utf-8")) for one in found]


def find_rule(key: str) -> Rule:
    """Rule ``key``, or a refusal that lists those that exist."""
    if key not in local_rules():
        raise RefusalError(
            f"local rules {key!r}", f"one of {', '.join(local_rules())}", "Correct local_rules."
        )
    return local_rules()[key]


def read_rule_text(text: str, *, name: str = "rule file") -> Rule:
    """Rule from the text of its file; every word it uses is checked.

    Raises
    ------
    RefusalError
        For text that is no TOML, and for words the evaluator does not know, each named.

    Examples
    --------
    >>> text = '''
    ... [rule]
    ... key = "our office"
    ... name = "Our office"
    ... [source]
    ... document = "Office handbook"
    ... place = "page 3"
    ... [[input]]
    ... key = "level"
    ... fact = "exposure_class"
    ... [[outcome]]
    ... when = [{what = "level", is = "is not", than = "sheltered"}]
    ... says = "We build no wall without a 20 mm cavity."
    ... standing = "ours"
    ... asks = [{row = "cav_depth", way = "at least", value = 20}]
    ... '''
    >>> read_rule_text(text).name
    'Our office'
    """
    if len(text) > LARGEST_FILE:
        raise RefusalError(
            f"{name} holds {len(text):,} characters",
            f"at most {LARGEST_FILE:,}",
            "Give a rule file, not a data file.",
        )
    try:
        raw = sound_toml(text)
    except ValueError as error:
        raise RefusalError(f"{name} is no TOML ({error})", "a rule file in TOML", "Mend that line.") from None
    try:
        return _rule(raw, name)
    except RefusalError:
        raise
    except (
        TypeError,
        KeyError,
        ValueError,
        AttributeError,
    ) as error:  # a list where a word belongs, and the like
        raise RefusalError(
            f"{name}: a value of a kind that does not belong there ({str(error)[:80]})",
            "the rows a rule file holds",
            "Correct the rule file.",
        ) from error


def _rule(raw: Mapping[str, Any], name: str) -> Rule:
    head, source = _table(raw, "rule", name), _table(raw, "source", name)
    inputs = tuple(_input(entry, name) for entry in _rows(raw, "input", name))
    figures, points = _rows(raw, "figure", name), _rows(raw, "points", name)
    outcomes = _rows(raw, "outcome", name)
    words = {one.key for one in inputs} | {str(figure.get("key")) for figure in figures}
    factors = {row.get("factor") for row in points}
    for row in (*points, *outcomes):
        _check_conditions(row.get("when"), words, name)
    for row in points:
        _number(row.get("points"), "points", name)
    for figure in figures:
        _text(figure, "key", name)
        if figure.get("way") not in (*WAYS, POINTS):
            _refuse(f"way {figure.get('way')!r}", f"one of {', '.join((*WAYS, POINTS))}", name)
        allowed = factors if figure["way"] == POINTS else words
        for part in figure.get("of", ()) or _refuse("a figure of nothing", "a list of names under of", name):
            if (isinstance(part, str) and part not in allowed) or isinstance(part, bool):
                _refuse(f"figure of {part!r}", f"one of {', '.join(sorted(map(str, allowed)))}", name)
        if not all(isinstance(word, str) for word in figure.get("scale", ())):
            _refuse(f"scale {figure['scale']!r}", "a list of names", name)
        if figure.get("needs", figure["key"]) not in words:
            _refuse(f"a figure that needs {figure['needs']!r}", f"one of {', '.join(sorted(words))}", name)
    for outcome in outcomes:
        _check_outcome(outcome, words, name)
    return Rule(
        key=_text(head, "key", name),
        name=_text(head, "name", name),
        source=f"{_text(source, 'document', name)}, {_text(source, 'place', name)}",
        document=_text(source, "document", name),
        edition=str(source.get("edition", "edition not known")),
        inputs=inputs,
        points=points,
        figures=figures,
        outcomes=outcomes,
    )


def _check_outcome(outcome: Mapping[str, Any], words: set[str], name: str) -> None:
    _text(outcome, "says", name)
    if "mark" in outcome:
        _refuse(f"mark {outcome['mark']!r}", f"standing instead of mark, one of {', '.join(STANDINGS)}", name)
    if outcome.get("standing") not in STANDINGS:
        _refuse(f"standing {outcome.get('standing')!r}", f"one of {', '.join(STANDINGS)}", name)
    if outcome.get("least_wetness", 1) not in (1, 2, 3, 4):
        _refuse(f"least_wetness {outcome['least_wetness']!r}", "a level from 1 to 4", name)
    for word in ("document", "clause", "edition"):
        if word in outcome:
            _text(outcome, word, name)
    if "look_again" in outcome and not isinstance(outcome["look_again"], date):
        _refuse(f"look_again {outcome['look_again']!r}", "a date, as 2027-11-30", name)
    known = {row.rule_key: row for row in ladder_rows()}
    for ask in outcome.get("asks", ()):
        if ask.get("standing", outcome["standing"]) not in STANDINGS:
            _refuse(f"standing {ask['standing']!r}", f"one of {', '.join(STANDINGS)}", name)
        for word in ("drawn", "above"):
            if word in ask:
                _number(ask[word], word, name)
        if ask.get("row") == METAL:
            if ask.get("value") not in STRENGTHS or ask.get("way") != "at least":
                _refuse(f"value {ask.get('value')!r} on {METAL}", "at least 1, 2 or 3", name)
            continue
        row = known.get(ask.get("row"))
        if row is None:
            _refuse(f"row {ask.get('row')!r}", f"one of {', '.join((*known, METAL))}", name)
        if ask.get("way") not in ASK_WAYS:
            _refuse(f"way {ask.get('way')!r}", "at least or at most", name)
        if row.direction != "ordered" and (ask["way"] == "at most") != row.less_is_stricter:
            _refuse(f"{ask['way']} on {row.key}", "the other way, so that a rule can only be stricter", name)
        value = ask.get("value")
        if isinstance(value, str):
            if value not in words:
                _refuse(f"value {value!r}", "a number, or the name of a figure", name)
        elif row.direction == "ordered":
            if value not in (1, 2, 3, 4) or ask["way"] != "at least":
                _refuse(f"value {value!r} on {row.key}", "at least a level from 1 to 4", name)
        else:
            _number(value, "value", name)


def _check_conditions(conditions: Any, words: set[str], name: str) -> None:
    if not isinstance(conditions, list):
        _refuse(f"when is {conditions!r}", "a list of conditions, empty for always", name)
    for condition in conditions:
        if not isinstance(condition, dict) or set(condition) != {"what", "is", "than"}:
            _refuse(f"condition {condition!r}", "what, is and than", name)
        if condition["what"] not in words:
            _refuse(f"a condition on {condition['what']!r}", f"one of {', '.join(sorted(words))}", name)
        if condition["is"] not in CONDITIONS:
            _refuse(f"condition {condition['is']!r}", f"one of {', '.join(CONDITIONS)}", name)
        if condition["is"] == "is one of" and not isinstance(condition["than"], list):
            _refuse(f"is one of {condition['than']!r}", "a list", name)


def _input(entry: Mapping[str, Any], name: str) -> Question:
    key = _text(entry, "key", name)
    optional = entry.get("optional") is True
    if "fact" in entry:
        return Question(
            key, str(entry.get("question", "")), "fact", fact=_text(entry, "fact", name), optional=optional
        )
    kind = entry.get("kind")
    if kind not in ("choice", "number", "yes or no"):
        _refuse(f"kind {kind!r}", "choice, number or yes or no", name)
    choices = entry.get("choices", [])
    if kind == "choice" and not (choices and all(isinstance(choice, str) for choice in choices)):
        _refuse(f"input {key!r} without choices", "a list of choices", name)
    low = _number(entry.get("low", float("-inf")), "low", name)
    high = _number(entry.get("high", float("inf")), "high", name)
    if not low <= high:
        _refuse(f"input {key!r} from {low:g} to {high:g}", "low at most high", name)
    return Question(
        key,
        _text(entry, "question", name),
        kind,
        tuple(choices),
        str(entry.get("unit", "")),
        low,
        high,
        optional=optional,
    )


def _table(raw: Mapping[str, Any], key: str, name: str) -> Mapping[str, Any]:
    value = raw.get(key)
    return value if isinstance(value, dict) else _refuse(f"no [{key}]", f"a table [{key}]", name)


def _rows(raw: Mapping[str, Any], key: str, name: str) -> tuple[Mapping[str, Any], ...]:
    rows = raw.get(key, [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        _refuse(f"{key} is no list of rows", f"rows [[{key}]]", name)
    return tuple(rows)


def _text(entry: Mapping[str, Any], key: str, name: str) -> str:
    value = entry.get(key)
    if not isinstance(value, str) or not value.strip():
        _refuse(f"{key} is {value!r}", "a text", name)
    return str(value)


def _number(value: object, what: str, name: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        _refuse(f"{what} is {value!r}", "a number", name)
    return float(value)


def _refuse(came: str, expected: str, name: str) -> NoReturn:
    raise RefusalError(f"{name}: {came}", expected, "Correct the rule file.")
