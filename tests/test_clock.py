"""Hour numbers by the record's own calendar; expected numbers counted by hand or by the standard library."""

from datetime import datetime

import cftime
import numpy as np
import pytest
import xarray as xr

from exposure.checks import RefusalError
from exposure.clock import ascending_hours, hour_numbers


def stamps(*values) -> xr.DataArray:
    return xr.DataArray(np.array(values, dtype="datetime64[ns]"), dims="time")


def test_hours_agree_with_the_standard_library():
    found = hour_numbers(stamps("2012-02-29T23:00", "1969-12-31T22:00"))
    leap = (datetime(2012, 2, 29, 23) - datetime(1970, 1, 1)).total_seconds() / 3600
    assert found.tolist() == [leap, -2]


def test_a_calendar_without_leap_days_counts_none_by_hand():
    day = cftime.DatetimeNoLeap(1973, 1, 1)  # 1972 has no 29 February there: 3 x 365 days
    assert hour_numbers(xr.DataArray([day], dims="time")).tolist() == [3 * 365 * 24]


@pytest.mark.parametrize("off", ["2019-12-31T23:59:59.999", "2020-01-01T00:00:00.001"])
def test_a_stamp_rounded_by_its_file_is_taken_for_its_hour(off):
    assert hour_numbers(stamps(off)) == hour_numbers(stamps("2020-01-01T00:00"))


@pytest.mark.parametrize("off", ["2020-01-01T00:00:10", "2020-01-01T00:30"])
def test_stamps_off_the_hour_are_refused(off):
    with pytest.raises(RefusalError, match="not on the hour"):
        hour_numbers(stamps(off))
    with pytest.raises(RefusalError, match="not on the hour"):
        hour_numbers(xr.DataArray([cftime.DatetimeNoLeap(2020, 1, 1, 0, 30)], dims="time"))


def test_a_missing_stamp_is_refused():
    with pytest.raises(RefusalError, match="time stamp is missing"):
        hour_numbers(stamps("2020-01-01T00:00", "NaT"))


def test_repeated_and_turned_stamps_are_named():
    for second in ("2020-01-01T01:00", "2020-01-01T00:00"):
        with pytest.raises(RefusalError, match="repeats or goes back"):
            ascending_hours(stamps("2020-01-01T01:00", second))
    assert ascending_hours(stamps("2020-01-01T01:00", "2020-01-01T05:00")).size == 2
