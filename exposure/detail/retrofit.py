"""A wall that stands: keep it, clad over it or strip it, by what opening it showed; and how new membrane meets old."""

from collections.abc import Mapping

from exposure.detail.circumstances import Circumstances
from exposure.detail.levels import is_framed
from exposure.detail.order import step_of, takes_row
from exposure.detail.schedule_parts import RetrofitPath
from exposure.tables import load_table

TABLE = "retrofit"
NOT_OPENED, SOUND, DAMP, SOFT = (
    "not opened yet",
    "dry and sound",
    "damp, but sound",
    "soft wood, or wet over more than one storey",
)
NAMES = {"keep": "Keep and mend", "overclad": "Clad over", "strip": "Strip", "meet": "Where new meets old"}


def retrofit_paths(
    circumstances: Circumstances, wetness: int, shown: Mapping[str, str]
) -> tuple[RetrofitPath, ...]:
    """The three ways and the joint of old and new; none for new work.

    What opening the wall showed decides which ways are open. Until it was opened none is, and stripping is to be
    reckoned with. Damp closes nothing in: both ways that leave the wall standing wait until it is dry.

    Parameters
    ----------
    wetness
        The elevation's wetness level, 1 to 4.
    shown
        Values of the schedule with their units, by key.

    Examples
    --------
    >>> rotten = Circumstances(work="standing wall", opened="soft wood, or wet over more than one storey")
    >>> [path.verdict for path in retrofit_paths(rotten, 2, {})][:2]
    ['Ruled out: what is soft has to come out.', 'Ruled out: what is soft has to come out.']
    """
    if circumstances.work != "standing wall":
        return ()
    said = verdicts(circumstances)
    found = []
    for key, name in NAMES.items():
        rows = [
            row
            for row in load_table(TABLE)["row"]
            if row["path"] == key and takes_row(row, circumstances, wetness, shown)
        ]
        if rows:
            found.append(
                RetrofitPath(key, name, said.get(key, ""), tuple(step_of(row, shown) for row in rows))
            )
    return tuple(found)


def verdicts(circumstances: Circumstances) -> dict[str, str]:
    """Whether each way is open, by what is known of the wall."""
    opened = circumstances.opened
    if opened == SOFT:
        out = "Ruled out: what is soft has to come out."
        return {"keep": out, "overclad": out, "strip": "This is the way; have a licensed person look first."}
    if opened == DAMP or (circumstances.frame_wet and is_framed(circumstances)):
        wait = "Only after the cause is mended and the wall is dry, its wood below 20 %."
        return {"keep": wait, "overclad": wait, "strip": "Open, and the quickest to dry."}
    if opened == NOT_OPENED:
        wait = "Not known before the wall is opened."
        return {
            "keep": wait,
            "overclad": wait,
            "strip": "Not known either: until then reckon with it in time and cost.",
        }
    if circumstances.bare_limit_passed:
        worn = "Ruled out: the membrane stood bare too long."
        return {"keep": worn, "overclad": "Open, with a new membrane outside.", "strip": "Open."}
    return {
        "keep": "Open: the least work.",
        "overclad": "Open.",
        "strip": "Open, but nothing found so far asks it.",
    }
