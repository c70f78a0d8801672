"""An office's own prices for what the take-off counts. The program holds none of its own."""

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite

from exposure.assess.table_text import FORMULA_STARTS, UNSEEN
from exposure.checks import RefusalError
from exposure.detail.materials import ITEMS as COUNTED
from exposure.figures import listed

COLUMNS = ("item", "unit", "price", "currency")
ITEMS = {  # what may be priced, and its unit
    **{one.name: one.unit for one in COUNTED},
    "membrane basic": "m2",
    "membrane w2": "m2",
    "membrane w1": "m2",
    "batten 10": "m",
    "batten 20": "m",
    "batten 25": "m",
    "batten 50": "m",
}
LARGEST = 100_000  # characters of a price file
MOST = 1e6  # a price


@dataclass(frozen=True)
class Prices:
    """Prices of one currency by item."""

    currency: str
    by_item: Mapping[str, float]

    def of(self, item: str, kind: str = "") -> float | None:
        """Price of an item, of its ``kind`` where that has a price of its own; None where it has none.

        Examples
        --------
        >>> Prices("XTS", {"batten": 1.0, "batten 50": 2.0}).of("batten", "50")
        2.0
        """
        return self.by_item.get(f"{item} {kind}".lower(), self.by_item.get(item))


def read_prices(text: str) -> Prices:
    r"""Prices from the text of a CSV file with the columns item, unit, price and currency.

    Raises
    ------
    RefusalError
        For a missing column, an unknown item, another unit, a price that is no number or below zero, a cell that would be a
        formula, an item twice, or two currencies.

    Examples
    --------
    >>> read_prices("item,unit,price,currency\nmembrane,m2,1.5,XTS").of("membrane", "w1")
    1.5
    """
    if len(text) > LARGEST:
        raise RefusalError(
            f"the price file holds {len(text):,} characters", f"at most {LARGEST:,}", "Shorten it."
        )
    plain = text.lstrip("\ufeff")
    first = plain.partition("\n")[0]
    comma = ";" if ";" in first and "," not in first else ","
    by_item: dict[str, float] = {}
    currencies: set[str] = set()
    try:
        rows = list(csv.reader(io.StringIO(plain), skipinitialspace=True, delimiter=comma, strict=True))
    except csv.Error as error:
        raise RefusalError(
            f"the price file cannot be read ({error})", "a CSV file", "Save it as CSV."
        ) from None
    header = [name.strip().lower() for name in rows[0]] if rows else []
    missing = [name for name in COLUMNS if name not in header]
    if missing:
        raise RefusalError(
            f"the price file has no column {missing[0]}",
            f"the columns {listed(list(COLUMNS))}",
            "Name them first.",
        )
    for line, row in enumerate(rows[1:], 2):
        if not any(cell.strip() for cell in row):
            continue
        if len(row) != len(header):
            raise RefusalError(
                f"{len(row)} cells on line {line} of the price file", f"{len(header)} cells", "Mend the line."
            )
        cells = {name: cell.strip() for name, cell in zip(header, row, strict=True)}
        item, price = _row(cells, line)
        if item in by_item:
            raise RefusalError(
                f"{item} has two prices, again on line {line}", "one price an item", "Take one out."
            )
        by_item[item] = price
        currencies.add(_currency(cells["currency"], line))
    if len(currencies) > 1:
        raise RefusalError(
            f"prices in {listed(sorted(currencies))}", "one currency", "Turn all prices into one currency."
        )
    if not by_item:
        raise RefusalError("no price in the price file", "at least one item with its price", "Fill it in.")
    return Prices(currencies.pop(), by_item)


def _row(cells: Mapping[str, str], line: int) -> tuple[str, float]:
    for name, cell in cells.items():
        starts = cell.lstrip(UNSEEN).startswith(FORMULA_STARTS)
        if starts and not (name == "price" and _number(cell) is not None):
            raise RefusalError(
                f"{name} on line {line} of the price file is {cell[:40]!r}, which a spreadsheet takes for a formula",
                "plain words and numbers",
                "Write the value itself.",
            )
    item = " ".join(cells["item"].lower().split())
    if item not in ITEMS:
        raise RefusalError(
            f"an item called {cells['item'][:40]!r} on line {line} of the price file",
            f"one of {', '.join(ITEMS)}",
            "Correct the item, or take the line out.",
        )
    if cells["unit"].lower().replace("²", "2") != ITEMS[item]:
        raise RefusalError(
            f"{item} priced by {cells['unit'][:20]!r} on line {line} of the price file",
            f"a price by {ITEMS[item]}",
            "Turn the price into that unit.",
        )
    price = _number(cells["price"])
    if price is None or not isfinite(price) or not 0 <= price <= MOST:
        raise RefusalError(
            f"price {cells['price'][:40]!r} on line {line} of the price file",
            f"a number from 0 to {MOST:,.0f}, with a point for the decimals",
            "Correct the price.",
        )
    return item, price


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


def _currency(text: str, line: int) -> str:
    if len(text) != 3 or not text.isascii() or not text.isalpha() or not text.isupper():
        raise RefusalError(
            f"currency {text[:20]!r} on line {line} of the price file",
            "three capitals, such as XTS",
            "Correct it.",
        )
    return text
