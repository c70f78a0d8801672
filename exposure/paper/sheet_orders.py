"""Junctions that elevations share, and the orders no elevation's sheet has, with what differs from wall to wall."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from markupsafe import Markup

from exposure.detail import RuleResult, ScheduleLine
from exposure.detail.ladder import ladder_rows
from exposure.draw.marked import dimensions, mark, mark_letter, say, whole
from exposure.junction.catalogue import Drawing
from exposure.paper.built_otherwise import other_parts, other_sizes, other_words, otherwise
from exposure.paper.compared_drawings import own_drawings
from exposure.paper.one_sided_corners import ONE_SIDED
from exposure.paper.sheet_columns import CORNERS, DRAWN_TALL, SHARED_TALL, printed
from exposure.paper.sheet_corners import (
    AS_DRAWN,
    CAVITY,
    any_of,
    as_built,
    asked_at_corners,
    harder_drawings,
    not_drawn,
    sides_at_corners,
    told_by_corner,
    told_by_one_sided,
    told_on_another,
)
from exposure.paper.sheet_plan import SheetPlan, lines_of, ticked_lines
from exposure.tables.standing import weakest

CHECK_LINES = ("chk_", "smoke", "photo")  # lines that stand with the water check
WHOLE = ("sill_form", "cap_under", "seam_tape", "tape_prep", "reveal", "cav_top")  # two words are not enough
ALSO = ("chk_type", "smoke", "photo")  # those of them that no fact of it says
NUMBER = re.compile(r"\d(?:[\d,.]*\d)?(?:[\s\u00a0]?(?:mm²/m|mm|min|days?|storeys?|Pa|°C|°|%))?")
FIGURE = re.compile(r"^[\d,.]+[\s\u00a0]?")
SENTENCE = re.compile(r"(?<=\.) ")


def junction_sheet(plan: SheetPlan) -> dict:
    """Junctions the elevations share, drawn once, and every order that does not stand on the elevations' own sheets."""
    here = _not_ticked(plan)
    return {
        "kind": "junctions",
        "number": plan.numbers["junctions"],
        "short": "shared junctions and orders",
        "head": "Junctions the elevations share, and the other orders",
        "drawings": [drawn(one, plan, prefix=f"j-{one.stem}") for one in plan.common],
        "left_out": [whole(one.in_words(plan.named(one.elevations))) for one in plan.left_out],
        "orders": merged_orders(plan, lambda line: line.key in here, in_full=WHOLE),
        "rules": rules_once(plan),
        "cautions": line_cautions(plan),
    }


def _not_ticked(plan: SheetPlan) -> set[str]:
    """Rows that at least one elevation's sheet leaves out; the water check has its own."""
    left: set[str] = set()
    for sheet in plan.fronts:
        first = sheet.elevations[0]
        ticked = {line.key for line in ticked_lines(first)}
        left |= {line.key for line in lines_of(first) if not line.key.startswith(CHECK_LINES)} - ticked
    return left


def rules_once(plan: SheetPlan) -> list[dict]:
    """What local and office rules say, each sentence once with the codes of the elevations it holds for."""
    found: dict[tuple, tuple[RuleResult, dict[str, str], dict[str, str]]] = {}
    for one in plan.details.elevations:
        for rule in one.schedule.rules:
            _, said, figures = found.setdefault((rule.rule, rule.standing, rule.source), (rule, {}, {}))
            said[one.name] = " ".join([rule.result, *rule.taken])
            figures[one.name] = rule.figures
    return [
        {
            "rule": say(rule.rule, most=120),
            "result": Markup(" ").join(sentences_by_codes(plan, said)),
            "figures": _by_code(plan, figures),
            "source": Markup("{} {}").format(mark(rule.standing), say(rule.source, most=200)),
        }
        for rule, said, figures in found.values()
    ]


def _by_code(plan: SheetPlan, told: Mapping[str, str]) -> Markup:
    """Words by elevation, those alike once: without codes where all share them."""
    names: dict[str, list[str]] = {}
    for name, words in told.items():
        names.setdefault(words, []).append(name)
    return Markup("; ").join(
        (Markup("<b>{}:</b> ").format(codes) if (codes := plan.named(mine)) else Markup("")) + say(words)
        for words, mine in names.items()
    )


def sentences_by_codes(plan: SheetPlan, said: Mapping[str, str]) -> list[Markup]:
    """Texts by elevation, each sentence once: first what holds for all of them, then the others behind their codes."""
    found: dict[str, list[str]] = {}
    for name, words in said.items():
        for sentence in filter(None, SENTENCE.split(words.strip())):
            found.setdefault(sentence, []).append(name)
    groups: dict[str, list[str]] = {"": []}
    for sentence, names in found.items():
        groups.setdefault(plan.named(dict.fromkeys(names)), []).append(sentence)
    return [
        (Markup("<b>{}:</b> ").format(codes) if codes else Markup(""))
        + dimensions(" ".join(sentences).removesuffix(".") + ".")
        for codes, sentences in groups.items()
        if sentences
    ]


def drawn(drawing: Drawing, plan: SheetPlan, *, prefix: str, of: Sequence[str] = ()) -> dict:
    """A drawing with the names of its parts, as the sheet of some elevations prints it, or that of all."""
    shared = not of
    bare = printed(drawing.section, tallest=SHARED_TALL if shared else DRAWN_TALL, prefix=prefix)
    by_codes = shared and drawing.section.key != ONE_SIDED
    codes = plan.named(drawing.elevations) if by_codes else ""
    of_whom = f"{codes}: " if codes else ""
    others = [
        name
        for name, cell in plan.cells.get(drawing.section.key, {}).items()
        if cell is not None
        and cell.sheet == plan.numbers["junctions"]
        and name not in drawing.elevations
        and plan.shared_for(drawing.section.key, name) == drawing
    ]
    return {
        "key": bare["key"],
        "svg": Markup(bare["svg"]),
        "title": whole(f"{bare['title']}{f'. L{drawing.level}, {codes}' if codes else ''}"),
        "own": [
            whole(words)
            for words in (own_sizes(drawing, plan, others) if shared else harder_corners(drawing, plan, of))
        ],
        "warnings": [
            whole(f"{_holds_for(words, drawing, plan, others)}{words}" if by_codes else words)
            for words in bare["warnings"]
        ],
        "parts": [whole(part) for part in bare["parts"]],
        "notes": [whole(words) for words in bare["notes"]],
        "clashes": [whole(f"{of_whom}{one.words}") for one in drawing.section.conflicts],
    }


def _holds_for(words: str, drawing: Drawing, plan: SheetPlan, others: Sequence[str]) -> str:
    """Whose a warning beside a shared drawing is, by codes: of those drawn, and of the ``others`` whose own drawing has it too."""
    own = own_drawings(drawing.section.key, plan.drawings)
    alike = {name for name in others if name in own and words in own[name].section.warnings}
    codes = plan.named([name for name in plan.codes if name in alike or name in drawing.elevations])
    return f"{codes}: " if codes else ""


def own_sizes(drawing: Drawing, plan: SheetPlan, others: Sequence[str]) -> list[str]:
    """What other elevations build otherwise than drawn, by their own drawings: parts and sizes, those alike together."""
    key = drawing.section.key
    own = own_drawings(key, plan.drawings)
    if key == ONE_SIDED:
        return told_by_one_sided(plan, lambda mine: otherwise(drawing, mine))
    by_corner = key in CORNERS and bool(plan.corners)
    but = CAVITY * by_corner
    said = {
        name: _said(drawing, own[name], plan, but) if name in own else not_drawn(plan, name)
        for name in others
    }
    if by_corner:
        return told_by_corner(drawing, plan.but_one_sided(), own, said)
    found: dict[str, list[str]] = {}
    for name, words in said.items():
        found.setdefault(words, []).append(name)
    as_drawn = f"with {any_of(plan, drawing.elevations)} as drawn"
    rest = f"at a corner {as_drawn}" if len(found) == 1 else f"at any other by its harder wall, {as_drawn}"
    return [
        f"{', '.join(plan.codes[one] for one in names)}: {_where(key, names, plan)}, {words}; {rest}"
        if key in CORNERS and words != AS_DRAWN
        else f"{', '.join(plan.codes[one] for one in names)}: {words}"
        for words, names in found.items()
    ]


def _where(key: str, names: Sequence[str], plan: SheetPlan) -> str:
    """At which corners the milder build of some walls holds: where no wall of a higher level stands, told by those walls."""
    levels = {name: one.level for one in plan.drawings if one.section.key == key for name in one.elevations}
    mine = [levels[name] for name in names if name in levels]
    harder = [name for name, level in levels.items() if name not in names and mine and level > max(mine)]
    others = set(levels) - {*names, *harder}
    if harder and all(levels[name] < min(mine) for name in others):
        return f"where neither wall is {any_of(plan, [one for one in plan.codes if one in harder])}"
    both = f"where both walls are {any_of(plan, names)}"
    return "where its other wall is no harder" if len(names) == 1 else both


def _said(drawing: Drawing, mine: Drawing, plan: SheetPlan, but: str) -> str:
    """What is otherwise than drawn, one size left out; where parts are, an elevation's own sheet that draws the same ones."""
    if other_parts(drawing, mine):
        for sheet in plan.fronts:
            for one in sheet.drawings:
                if one.section.key == mine.section.key and not other_parts(one, mine):
                    sizes = ", ".join(other_sizes(one, mine, but))
                    where = f"as drawn on sheet {sheet.number} for {any_of(plan, one.elevations)}"
                    where += f", but {sizes}" * bool(sizes)
                    return ". ".join([where, *other_words(one, mine)])
    return otherwise(drawing, mine, but)


def harder_corners(drawing: Drawing, plan: SheetPlan, mine: Sequence[str]) -> list[str]:
    """Where a corner with a wall of a higher level is drawn, for a corner on the sheet of some elevations that meet it."""
    key = drawing.section.key
    harder: dict[int, list[str]] = {}
    for one in harder_drawings(drawing, plan.drawings) if key in CORNERS else ():
        if otherwise(drawing, one) != AS_DRAWN:
            for name in one.elevations:
                cell = plan.cells[key].get(name)
                met = [pair for pair in plan.corners_at(key) if name in pair and set(pair) & set(mine)]
                if cell is not None and (met or not plan.corners):
                    harder.setdefault(cell.sheet, []).append(name)
    said = [
        f"At a corner with {any_of(plan, names)}: as for that wall, sheet {sheet}"
        for sheet, names in harder.items()
    ]
    if key not in CORNERS:
        return said
    if any(one.section.key == key for one in plan.common):
        said += told_on_another(drawing, plan, mine, plan.numbers["junctions"])
    else:
        said += sides_at_corners(drawing, plan, mine, {name for names in harder.values() for name in names})
    return said


def merged_orders(
    plan: SheetPlan, keep: Callable[[ScheduleLine], bool], *, in_full: Sequence[str] = ()
) -> list[dict]:
    """Orders of all elevations by place: what differs from wall to wall behind the hardest one, by its codes.

    Parameters
    ----------
    in_full
        Rows told in whole sentences where otherwise a size or a few words are enough.
    """
    found: dict[str, dict[tuple[str, str, Markup], tuple[ScheduleLine, list[str]]]] = {}
    order: list[str] = []
    for one in plan.details.elevations:
        before, harder = -1, asked_at_corners(plan, one)
        for own in filter(keep, lines_of(one)):
            line = as_built(plan, one, own)
            if line.key not in found:
                found[line.key] = {}
                order.insert(before + 1, line.key)
            before = order.index(line.key)
            beside = line is own and harder.get(line.key)  # what walls ask that it meets at a corner
            more = Markup(" ") + dimensions(beside) if beside else Markup("")
            told, names = found[line.key].get((line.build, line.rule, more), (line, []))
            weaker = replace(told, standing=weakest((told.standing, line.standing)))
            found[line.key][line.build, line.rule, more] = (weaker, [*names, one.name])
    places: dict[str, list[Markup]] = {}
    for key in order:
        [((*_, more), (first, names)), *others] = found[key].items()
        codes = plan.named(names)
        words = _order(first, codes) + more
        for place, ((*_, more), (line, mine)) in enumerate(others, start=1):
            short = "" if key in in_full else _short(first, line)
            said = dimensions(short) + Markup(" ") + mark_letter(line.standing) if short else _order(line, "")
            end = ";" if short and not more and place < len(others) else ""
            words += Markup(" <b>{}:</b> {}{}").format(plan.named(mine), said, more or end)
        places.setdefault(first.where, []).append(words)
    return [{"where": say(where, most=60), "orders": orders} for where, orders in places.items()]


def line_cautions(plan: SheetPlan) -> list[Markup]:
    """Cautions of single orders that stand on no other sheet, each sentence once, with the places it belongs to."""
    said = {caution for one in plan.details.elevations for caution in one.schedule.cautions}
    ticked = {
        name: {line.caution for line in ticked_lines(sheet.elevations[0])}
        for sheet in plan.fronts
        for name in sheet.names
    }
    found: dict[str, dict[str, None]] = {}  # caution -> places, in order
    for one in plan.details.elevations:
        for line in lines_of(one):
            if line.caution and line.caution not in said | ticked.get(one.name, set()):
                found.setdefault(line.caution, {})[line.where] = None
    told: set[str] = set()
    cautions = []
    for caution, places in found.items():
        new = [sentence for sentence in SENTENCE.split(caution) if sentence not in told]
        told.update(new)
        if new:
            cautions.append(say(f"{', '.join(places)}: {' '.join(new)}"))
    return cautions


def _order(line: ScheduleLine, codes: str) -> Markup:
    head = Markup("<b>{}:</b> ").format(codes) if codes else Markup("")
    rule = Markup(' <span class="rule">{}</span>').format(say(line.rule)) if line.rule else Markup("")
    return head + dimensions(line.build) + Markup(" ") + mark_letter(line.standing) + rule


def _short(first: ScheduleLine, other: ScheduleLine) -> str:
    """What the other order asks in few words where the sentence before says the rest, empty where it does not."""
    if other.rule or first.rule:
        return ""
    if isinstance(first.value, str) and isinstance(other.value, str):
        # metals and the inside layer have no row; a wall with something of its own, a door say, has other words
        row = next((row for row in ladder_rows() if row.key == other.key), None)
        worded = row is not None and other.build not in row.build
        return "" if worded or other.value == first.value or other.value in first.build else other.value
    return other_numbers(first.build, other.build)


def other_numbers(first: str, other: str) -> str:
    r"""The numbers of a sentence that are not those of another, where the two differ in nothing else.

    Empty where another number of the same unit stays: nobody could tell which of them is meant.

    Examples
    --------
    >>> other_numbers("Hold it for 30 min.", "Hold it for 15 min."), other_numbers("Hold it.", "Leave it.")
    ('15 min', '')
    >>> other_numbers("In steps of 50 Pa to 310 Pa.", "In steps of 50 Pa to 210 Pa.")
    ''
    >>> other_numbers("Lap it 150 mm, tape 75 mm.", "Lap it 100 mm, tape 50 mm.")
    '100 mm, 50 mm'
    """
    if NUMBER.sub("#", first) != NUMBER.sub("#", other):
        return ""
    news = NUMBER.findall(other)
    differ = [new for old, new in zip(NUMBER.findall(first), news, strict=True) if old != new]
    units, told = ([FIGURE.sub("", one) for one in some] for some in (news, differ))
    if any(units.count(unit) > told.count(unit) for unit in told):
        return ""
    return ", ".join(differ)
