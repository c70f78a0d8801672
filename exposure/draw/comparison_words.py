"""How do these places compare, in a sentence. Bands that meet are said to meet; a place is never a bare "second".

Answers the planner's question.
"""

from collections.abc import Sequence

from exposure.assess.compare_sites import Comparison
from exposure.assess.ranking import RankedSite, bands_meet, class_counts
from exposure.doubts import has_doubt
from exposure.draw.lettering import clean
from exposure.figures import share_words, whole
from exposure.rain.uncertainty import same

MOST_NAMED = 4  # names a sentence lists; a longer group is named by its ends
COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def comparison_sentence(order: Sequence[RankedSite]) -> str:
    """Who is hit hardest, in groups whose neighbours in the order cannot be told apart; empty for a single place.

    E.g. ``Hardest hit is A; then come B and C, which lie close. A gets 2.1 times what C gets.``
    """
    if len(order) < 2:
        return ""
    first, last = (clean(one.name, most=60) for one in (order[0], order[-1]))
    if same(order[0].site.value, order[-1].site.value):
        return (
            f"{'Both' if len(order) == 2 else f'All {_count(len(order))}'} get the same: none is hit harder."
        )
    runs: list[list[RankedSite]] = [[order[0]]]
    for one in order[1:]:
        if bands_meet(runs[-1][-1].site.band, one.site.band):
            runs[-1].append(one)
        else:
            runs.append([one])
    if len(runs) == 1:
        return (
            f"{first} and {last} lie close: either may be hit harder."
            if len(order) == 2
            else f"All {_count(len(order))} lie close, from {first} down to {last}: neighbours in this order may change places."
        )
    words = f"Hardest hit {_group(runs[0])}"
    close = len(runs[0]) > 1
    at = 1
    while at < len(runs):
        alone = at
        while alone < len(runs) and len(runs[alone]) == 1:
            alone += 1
        if alone - at > 1:  # several places, each clear of the next
            words += f"; then {_names([run[0] for run in runs[at:alone]])}, each clear of the next"
            at = alone
            continue
        words += f"; then {_group(runs[at], come=True)}" + (" too" if close and len(runs[at]) > 1 else "")
        close = close or len(runs[at]) > 1
        at += 1
    return f"{words}.{_times(order, first, last)}"


def _times(order: Sequence[RankedSite], first: str, last: str) -> str:
    if order[-1].site.value < 1:
        return ""
    times = order[0].site.value / order[-1].site.value
    return f" {first} gets {times:.{0 if times >= 9.95 else 1}f} times what {last} gets."


def _group(run: Sequence[RankedSite], *, come: bool = False) -> str:
    one = len(run) == 1
    verb = ("comes" if one else "come") if come else ("is" if one else "are")
    return f"{verb} {_names(run)}" + ("" if one else ", which lie close")


def _names(run: Sequence[RankedSite]) -> str:
    names = [clean(one.name, most=60) for one in run]
    if len(names) > MOST_NAMED:
        return f"{_count(len(names))} from {names[0]} down to {names[-1]}"
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _count(number: int) -> str:
    return COUNTS[number] if number < len(COUNTS) else whole(number)


def wall_sentence(comparison: Comparison) -> str:
    """Which wall stands on the places, and why one wall: a sentence for beside the ranking."""
    others = any(one.wall != comparison.wall for one in comparison.sites)
    among = has_doubt(comparison.notes, "assess.neighbours_in_comparison")
    stands = "among the buildings around" if among else "without neighbours"
    return (
        f"The same wall stands on every place{' whose row names no other' if others else ''}: "
        f"{comparison.wall.in_words}, {stands}, turned to its hardest facing; so the order tells of "
        "places and not of buildings."
    )


def list_sentence(ranked_sites: Sequence[RankedSite]) -> str:
    """A long list's answer: how many may be the hardest hit, and how the classes fall.

    The few that may be hardest are named; a larger group is counted.
    """
    first = ranked_sites[0]
    name = clean(first.name, most=60)
    total = len(ranked_sites)
    if total == 1:
        return f"{name} is the only site: nothing to rank."
    level = [one.name for one in ranked_sites if one.rank == first.rank]
    classes = ", ".join(f"{whole(count)} {kind}" for kind, count in class_counts(ranked_sites).items())
    if len(level) == total:
        return f"All {_count(total)} sites get the same: none comes out harder hit. By class: {classes}."
    close = len([one for one in first.close_to if one not in level])
    if len(level) > 1:
        who = (
            f"both {_listed(level)}"
            if len(level) == 2
            else f"{_count(len(level))} sites, {_listed(level[:MOST_NAMED])}"
        )
        words = (
            f"Hardest hit of {whole(total)} {'are' if len(level) == 2 else 'come'} {who}, which get the same"
        )
    else:
        words = f"{name} comes out hardest hit of {whole(total)}"
    if first.kept is not None:
        words += f", in {share_words(first.kept)} resamples of the years"
    if close == 0:
        words += "; no other band meets its own."
    elif close == total - len(level):
        words += "; but every other band meets its own: they all lie close."
    elif close <= MOST_NAMED:
        words += f"; {_listed([one for one in first.close_to if one not in level])} {'lies' if close == 1 else 'lie'} close: {'its band meets' if close == 1 else 'their bands meet'} its own."
    else:
        words += (
            f"; {whole(close)} others lie close, from {clean(first.close_to[0], most=60)} to "
            f"{clean(first.close_to[-1], most=60)}: their bands meet its own."
        )
    return f"{words} By class: {classes}."


def _listed(names: Sequence[str]) -> str:
    short = [clean(one, most=60) for one in names]
    return short[0] if len(short) == 1 else f"{', '.join(short[:-1])} and {short[-1]}"
