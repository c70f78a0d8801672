"""What the arguments that refusals speak of are called in the terminal."""

from exposure.checks import RefusalError

OPTIONS = {
    "areas": "--areas FILE",
    "at": "--at LAT,LON",
    "climate": "--climate SOURCE",
    "columns": '--columns "TERM=NAME [unit],..."',
    "format": "--format NAME (the names: exposure sources)",
    "heights": "--heights RASTER",
    "height_column": "--height-column NAME",
    "weight_column": "--weight-column NAME",
    "kind": "--kind KIND",
    "leads": "--leads FIRST-LAST",
    "missing": "--missing NUMBER,...",
    "out": "--out FOLDER",
    "rain_rule": "--rain-rule RULE",
    "run_rain": '--run-rain "since start"',
    "spread_rain": "--spread-rain evenly",
    "squares": "--squares M",
    "update": "--update",
    "workers": "--workers N",
    "winds": "--winds grid|true",
    "where": "--where COLUMN=TEXT",
}


def in_terminal(refusal: RefusalError) -> str:
    """A refusal as one text, with the option its cure speaks of.

    Examples
    --------
    >>> print(in_terminal(RefusalError("two stations", "one", "Pick one: STN=...", parameter="where")))
    two stations; expected one. Pick one: STN=... Option: --where COLUMN=TEXT
    """
    option = OPTIONS.get(refusal.parameter)
    return str(refusal) if option is None else f"{refusal} Option: {option}"
