"""A station's record as CSV whose header names quantity and unit, such as ``wind_speed [m/s]``."""

import csv
import re

import numpy as np
import pandas as pd

from exposure.checks import RefusalError
from exposure.climate.formats.delimited import as_file, check_widths
from exposure.climate.record import CLIMATE_TERMS, WANTED, Columns
from exposure.climate.request import KINDS, Request, kind_of
from exposure.climate.source_file import Source
from exposure.climate.station_times import station_times
from exposure.climate.units import QUANTITY, Conversion, conversion, unit_name
from exposure.doubts import doubt
from exposure.figures import counted

MOST_COLUMNS = 2_000  # our choice
DELIMITERS = ",;\t|"
BLANK = {"", "na", "nan", "n/a", "null", "none", "-", "--", "missing", "m"}
TRACE = {"t", "trace"}
PLACE = ("latitude", "longitude", "ground_height", "mast_height")


def recognises(source: Source) -> bool:
    """Whether the first line that is no comment is a header with a time and one of our terms."""
    header = next((line for line in source.first_lines if line.strip() and not line.startswith("#")), "")
    names = {_taken_apart(cell)[0].lower() for cell in _cells(header, _delimiter(header))}
    return "time" in names and bool(names & set(WANTED))


def read_columns(source: Source, request: Request) -> Columns:
    """Take the columns of a station CSV out, in our units.

    The header names each column's quantity and unit: ``time``, ``wind_speed [m/s]``,
    ``wind_from_direction [degree]``, ``rain [mm]`` and, where there, ``air_temperature [degC]``,
    ``relative_humidity [%]``, ``snowfall [mm]``, ``convective_rain [mm]``. Lines that start with ``#`` before
    the header may give ``source``, ``licence``, ``kind``, ``latitude``, ``longitude``, ``ground_height`` and
    ``mast_height`` [m], e.g. ``# licence: CC0``. Times are ISO 8601; without zone they are UTC.

    Raises
    ------
    RefusalError
        For a missing column or unit, text where numbers belong, or times that are not ISO 8601.
    """
    text = source.text()
    notes, start = _notes(text)
    body = text[start:]
    header_line, _, rows = body.partition("\n")
    if not header_line.strip():
        raise RefusalError(
            f"{source.name} has no header", "a line of column names", "Add a header with units."
        )
    if not rows.strip():
        raise RefusalError(
            f"{source.name} has a header and no rows", "hourly weather below it", "Use another file."
        )
    delimiter = _delimiter(header_line)
    header = _cells(header_line, delimiter)
    if len(header) > MOST_COLUMNS:
        raise RefusalError(
            f"{source.name} has {len(header)} columns", f"at most {MOST_COLUMNS}", "Keep time, wind and rain."
        )
    if len(set(header)) < len(header):
        twice = next(name for name in header if header.count(name) > 1)
        raise RefusalError(f"the header names {twice[:40]!r} twice", "each column once", "Rename one.")
    chosen = _chosen_columns(header, request)
    check_widths(rows, delimiter, len(header))
    frame = _read_frame(body, delimiter, header, chosen, request)
    flags: list[str] = []
    time = station_times(frame, chosen["time"][0], request, flags)
    values = {
        term: _numbers(frame[columns[0]], term, unit, flags, request.missing)
        for term, (columns, unit) in chosen.items()
        if unit
    }
    attrs: dict[str, object] = {name: _place(name, notes[name]) for name in PLACE if name in notes}
    kind = kind_of(notes["kind"]) if "kind" in notes else None
    if kind is not None and kind not in KINDS:
        raise RefusalError(
            f"the file says kind: {kind[:40]!r}", f"one of {', '.join(KINDS)}", "Correct the line."
        )
    return Columns(
        time,
        values,
        kind=kind,
        source=notes.get("source", source.name),
        licence=notes.get("licence", "not named"),
        attrs=attrs,
        flags=flags,
        codes_done=True,
        rates=frozenset(term for term, (_, unit) in chosen.items() if unit and unit.rate),
    )


def _notes(text: str) -> tuple[dict[str, str], int]:
    """``# key: value`` lines before the header, and where the header starts."""
    notes, start = {}, 0
    while start < len(text):
        end = text.find("\n", start)
        end = len(text) if end < 0 else end
        line = text[start:end].strip()
        if line and not line.startswith("#"):
            break
        key, colon, value = line.lstrip("# ").partition(":")
        if colon and len(line) < 500:
            notes[key.strip().lower()] = value.strip()
        start = end + 1
    return notes, start


def _place(name: str, text: str) -> float:
    try:
        value = float(text.split()[0])
    except (ValueError, IndexError):
        value = np.nan
    if not np.isfinite(value):
        raise RefusalError(f"the file says {name}: {text[:40]!r}", "a number", "Correct the line.")
    return value


def _delimiter(header: str) -> str:
    return max(DELIMITERS, key=header.count)


def _cells(line: str, delimiter: str) -> list[str]:
    try:
        return [cell.strip() for cell in next(csv.reader([line.rstrip("\r\n")], delimiter=delimiter), [])]
    except csv.Error:
        return []


def _taken_apart(cell: str) -> tuple[str, str | None]:
    """Name and unit of a header cell; None for no unit. It takes time in step with the length of the cell.

    Examples
    --------
    >>> _taken_apart("rain [mm]"), _taken_apart("rain (0.1 mm)"), _taken_apart("rain")
    (('rain', 'mm'), ('rain', '0.1 mm'), ('rain', None))
    """
    plain = cell.strip()
    for opening, closing in ("[]", "()"):
        if plain.endswith(closing):
            at = plain.find(opening, plain.rfind(closing, 0, -1) + 1)
            if at >= 0:
                return plain[:at].strip(), plain[at + 1 : -1]
    return plain, None


def _chosen_columns(header: list[str], request: Request) -> dict[str, tuple[list[str], Conversion | None]]:
    """Term -> columns of the file and how to convert them; ``time`` may be several columns."""
    unknown = set(request.columns) - {"time", *CLIMATE_TERMS}
    if unknown:
        raise RefusalError(
            f"the columns name {sorted(unknown)[0][:40]!r}",
            f"time or one of {', '.join(CLIMATE_TERMS)}",
            "Correct the name before the equals sign.",
        )
    plain: dict[str, str] = {}
    for cell in header:
        name = _taken_apart(cell)[0].lower()
        if name in plain and name not in request.columns and name in ("time", *CLIMATE_TERMS):
            raise RefusalError(
                f"the header has both {plain[name][:60]!r} and {cell[:60]!r}",
                f"one column of {name}",
                f'Rename one, or say which it is: "{name}=NAME".',
                parameter="columns",
            )
        plain.setdefault(name, cell)
    chosen: dict[str, tuple[list[str], Conversion | None]] = {}
    for term in ("time", *CLIMATE_TERMS):
        told = request.columns.get(term)
        if told is None and term not in plain:
            if term in ("time", *WANTED):
                raise RefusalError(
                    f"the header has no {term} (it names {', '.join(header)[:200]})",
                    "time, wind_speed [m/s], wind_from_direction [degree] and rain [mm]",
                    f'Rename the column, or say which it is: "{term}=NAME [unit]".',
                    parameter="columns",
                )
            continue
        if term == "time":
            names = [_column(part, header, plain) for part in (told or plain["time"]).split("+")]
            chosen["time"] = (names, None)
            continue
        wanted, unit = _taken_apart(told) if told and told not in header else (told or plain[term], None)
        name = _column(wanted, header, plain)
        declared = _taken_apart(name)[1]
        if unit and declared and unit_name(unit) != unit_name(declared):
            raise RefusalError(
                f"{name[:60]!r} declares one unit and the mapping {unit!r}", "one unit", "Leave one out."
            )
        called = _taken_apart(name)[0] or term
        chosen[term] = ([name], conversion(unit or declared, QUANTITY[term], name=called))
    return chosen


def _column(wanted: str, header: list[str], plain: dict[str, str]) -> str:
    wanted = wanted.strip()
    if wanted in header:
        return wanted
    found = plain.get(wanted.lower())
    if found is None:
        raise RefusalError(
            f"the header has no column {wanted[:60]!r}",
            f"one of {', '.join(header)[:300]}",
            "Correct the name.",
        )
    return found


def _read_frame(
    body: str,
    delimiter: str,
    header: list[str],
    chosen: dict[str, tuple[list[str], Conversion | None]],
    request: Request,
) -> pd.DataFrame:
    """Read the wanted columns: numbers straight away where they are, text otherwise."""
    used = {name for names, _ in chosen.values() for name in names}
    picks = {
        _column(name, header, {cell.lower(): cell for cell in header}): text
        for name, text in request.where.items()
    }
    decimal = "," if delimiter == ";" and re.search(r";-?\d+,\d", body[:20_000]) else "."
    as_text = {*chosen["time"][0], *picks}

    def read(dtype: dict[str, type[str]]) -> pd.DataFrame:
        return pd.read_csv(
            as_file(body),
            sep=delimiter,
            header=0,
            names=header,
            usecols=sorted({*used, *picks}, key=header.index),
            dtype=dtype,
            index_col=False,
            skipinitialspace=True,
            na_values=["-", "--", "missing", "M"],
            decimal=decimal,
            low_memory=False,
            on_bad_lines="error",
        )

    frame = read({})  # a column found to be text is read three times as fast as one told to be
    if any(frame[name].dtype.kind != "O" for name in as_text):
        frame = read(dict.fromkeys(as_text, str))
    for name, text in picks.items():
        stripped = frame[name].astype("string").str.strip()
        keep = stripped == text
        if not keep.any():
            known = ", ".join(stripped.dropna().unique()[:6])
            raise RefusalError(
                f"no row has {text[:40]!r} in {name[:40]}",
                f"one of its values, such as {known[:200]}",
                "Correct it.",
            )
        frame = frame[keep.fillna(False)]
    return frame


def _numbers(
    column: pd.Series, term: str, unit: Conversion, flags: list[str], missing: tuple[float, ...]
) -> np.ndarray:
    """Numbers of a column in our unit; codes for missing are in the file's own."""
    if column.dtype.kind in "fiu":
        return unit.apply(_without_codes(column.to_numpy(dtype=float), missing))
    if column.dtype.kind == "b":
        column = column.astype(str)
    text = column.astype("string").str.strip()
    lower = text.str.lower()
    text = text.mask(lower.isin(BLANK))
    if term == "rain":
        trace = lower.isin(TRACE).fillna(False)
        if trace.any():
            flags.append(
                doubt("climate.trace_rain", hours=int(trace.sum()), spell=counted(int(trace.sum()), "hour"))
            )
            text = text.mask(trace, "0")
    numbers = pd.to_numeric(text, errors="coerce")
    bad = (numbers.isna() & text.notna()).to_numpy(dtype=bool)
    if bad.any():
        row = int(np.argmax(bad))
        raise RefusalError(
            f"row {int(column.index[row]) + 1} holds {str(text.iloc[row])[:40]!r} for {term}",
            "a number, or nothing where it is missing",
            "Correct the value or leave it blank.",
        )
    return unit.apply(_without_codes(numbers.to_numpy(dtype=float, na_value=np.nan), missing))


def _without_codes(values: np.ndarray, missing: tuple[float, ...]) -> np.ndarray:
    return np.where(np.isin(values, missing), np.nan, values) if missing else values
