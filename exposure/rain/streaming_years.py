"""What is known of each year of many cells, as the stream hands them out; the rule is that of one place."""

from collections.abc import Sequence

import numpy as np

from exposure.rain.coverage import YearAccount, account_of_years
from exposure.rain.streaming import YearOfCells


def account_of(years: Sequence[YearOfCells], calendar: str) -> YearAccount:
    """The account of a list of years as the stream hands them out, arrays of shape (year, cell)."""
    rain = np.stack([year.rain for year in years])
    return account_of_years(
        years=[year.year for year in years],
        calendar=calendar,
        hours_known=np.stack([year.hours_known for year in years]),
        rain=rain,
        rain_with_wind=rain - np.stack([year.rain_without_wind for year in years]),
    )
