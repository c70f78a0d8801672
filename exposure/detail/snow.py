"""Snow against a wall: how far above it things stay clear, and where it may lie though nobody told."""

from exposure.detail.inside_climate import OutsideMonths

CLEAR = 100.0  # mm over the usual depth of snow; our choice, no source was found
FREEZING = 0.0  # degC, mean of the coldest month from which snow lies; our choice
THAWING = 5.0  # degC, mean of the coldest month above which none is looked for on high ground; our choice
HIGH = 500.0  # m above the sea from which snow is looked for; our choice


def why_snow_may_lie(months: OutsideMonths | None, ground_height: float | None) -> str:
    """Why snow may lie here, as a clause; empty where nothing speaks for it.

    Parameters
    ----------
    months
        Outdoor air by month; None is not known.
    ground_height
        Above the sea; None is not known. [m]

    Examples
    --------
    >>> why_snow_may_lie(None, 900.0), why_snow_may_lie(None, 20.0)
    ('the ground lies 900 m above the sea', '')
    """
    coldest = None if months is None else min(months.temperature)
    if coldest is not None and coldest <= FREEZING:
        return f"the coldest month of the record is {coldest:.0f} °C on average".replace("-", "−")
    if ground_height is not None and ground_height >= HIGH and (coldest is None or coldest < THAWING):
        return f"the ground lies {ground_height:,.0f} m above the sea"
    return ""
