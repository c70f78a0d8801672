"""Doubts keep key and numbers wherever they travel, and each sentence stands once."""

import pickle
import re

import numpy as np
import pytest
import xarray as xr

from exposure.doubts import ROOMS, Doubt, as_attribute, doubt, flags_of, has_doubt, sentences


def test_a_doubt_reads_as_its_sentence_and_is_told_by_its_key():
    one = doubt("rain.few_years", years="3 years count", needed=10)
    assert one == "Only 3 years count; at least 10 are needed, so the figures are indicative."
    assert (one.key, one.numbers["needed"]) == ("rain.few_years", 10)
    assert has_doubt(["a sentence", one], "rain.few_years")
    assert not has_doubt([str(one)], "rain.few_years")


def test_an_unknown_key_or_a_missing_number_is_an_error():
    with pytest.raises(LookupError, match=r"exposure/doubts/rain\.toml"):
        doubt("rain.nothing_such")
    with pytest.raises(KeyError):
        doubt("rain.few_years", needed=10)


def test_a_doubt_survives_a_process_and_a_file(tmp_path):
    one = doubt("rain.calendar_360", "a record")
    back = pickle.loads(pickle.dumps(one))
    assert isinstance(back, Doubt)
    assert (back, back.key, back.subject) == (one, one.key, "a record")
    path = tmp_path / "record.nc"
    xr.Dataset(attrs={"flags": as_attribute([one, "words of a file"])}).to_netcdf(path)
    again = flags_of(xr.open_dataset(path).attrs)
    assert again == [one, "words of a file"]
    assert again[0].key == one.key


def test_a_single_sentence_stays_one_doubt():
    assert flags_of({"flags": "Only three years count."}) == ["Only three years count."]
    assert flags_of({"flags": np.array(["one", "two"])}) == ["one", "two"]
    assert flags_of({}) == []
    assert flags_of({"flags": as_attribute([])}) == []  # none written down is none read back


def test_every_sentence_is_one_paragraph_and_stands_once():
    seen = [text for room in ROOMS for text in sentences(room).values()]
    assert len(set(seen)) == len(seen) > 6
    for text in seen:
        assert text[0].isupper() or text[0] == "{", text
        assert text.endswith("."), text
        assert not re.search(r"--\w|\s\s", text), f"an option or a double blank stands in: {text}"
