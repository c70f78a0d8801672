"""Where on the page the arguments stand that refusals speak of."""

from exposure.checks import RefusalError

FIELDS = {
    "areas": "Or shares of your districts",
    "at": "the position under Where is it?",
    "columns": "Columns",
    "default_height": "Height of buildings that tell none",
    "height_column": "Property that holds the height",
    "kind": "Kind of record",
    "missing": "Numbers that stand for missing",
    "rain_rule": "How its rain adds up",
    "squares": "Shares",
    "terrain": "Ground round buildings that tell none",
    "weight_column": "Property to sum buildings by",
    "where": "Rows",
}


def cure_on_page(refusal: RefusalError) -> str:
    """What to do, with the field of the form it speaks of; what has none can be said in the terminal.

    Examples
    --------
    >>> cure_on_page(RefusalError("two stations", "one", "Pick one: STN=...", parameter="where"))
    'Pick one: STN=... Field: Rows.'
    >>> cure_on_page(RefusalError("an unknown file", "weather", "Name its format.", parameter="format"))
    'Name its format. This page has no field for it: use the command in the terminal.'
    """
    if not refusal.parameter:
        return refusal.cure
    field = FIELDS.get(refusal.parameter)
    if field is None:
        return f"{refusal.cure} This page has no field for it: use the command in the terminal."
    return f"{refusal.cure} Field: {field}."
