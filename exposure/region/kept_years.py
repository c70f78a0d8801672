"""The years of a pass, from those kept on disk and the state kept, and which of them count."""

from typing import NamedTuple

import numpy as np

from exposure.checks import RefusalError
from exposure.rain.coverage import FEW_YEARS, LEAST_COVERAGE
from exposure.rain.spells import SPELL_GAP
from exposure.rain.streaming import Streaming, YearOfCells
from exposure.rain.streaming_years import account_of
from exposure.region.checkpoint import check_years, finished_years, read_year, restore_state
from exposure.region.column_pass import Column, PassSettings
from exposure.region.grid import Grid
from exposure.region.tally import Tally, empty_tally


class KeptYears:
    """Years of a column, from those kept and the state kept."""

    def __init__(self, grid: Grid, settings: PassSettings) -> None:
        self.grid, self.settings, self.work = grid, settings, settings.work
        self.open: tuple[int, list[YearOfCells]] | None = (
            None  # the column last used, and its unfinished years
        )
        self.tally = empty_tally(0)

    def unfinished(self, column: Column) -> list[YearOfCells]:
        """Years whose spells may still go on, as they stand."""
        if self.open is None or self.open[0] != column.number:
            stream = Streaming(
                cells=column.cells,
                orientations=self.settings.orientations,
                wet_hour=self.settings.wet_hour,
                calendar=self.grid.calendar,
            )
            kept = restore_state(column.folder(self.work), stream)
            self.open = (column.number, stream.years_so_far())
            self.tally = empty_tally(column.cells) if kept is None else kept[1]
        return self.open[1]

    def tally_of(self, column: Column) -> Tally:
        """What the pass counted of a column."""
        self.unfinished(column)
        return self.tally

    def years_of(self, column: Column) -> list[int]:
        """Every year of a column."""
        return [*finished_years(column.folder(self.work)), *(year.year for year in self.unfinished(column))]

    def read(self, column: Column, cells: slice = slice(None), *, walls: bool = True) -> list[YearOfCells]:
        """Sums and largest spells of some cells, year by year; without the walls' where they are not wanted."""
        folder = column.folder(self.work)
        unfinished = [
            YearOfCells(year.year, *(part[cells] for part in year[1:])) for year in self.unfinished(column)
        ]
        return [
            *(read_year(folder, year, cells, walls=walls) for year in finished_years(folder)),
            *unfinished,
        ]


class CellCounts(NamedTuple):
    """How many cells there are, with few years that count, with a long unseen run."""

    cells: int
    few: int
    unseen: int


def years_that_count(
    grid: Grid, columns: list[Column], streams: KeptYears, record_years: list[int]
) -> tuple[set[int], CellCounts]:
    """Years that count somewhere, and the cells in doubt; the checksums of all kept years are looked at here."""
    counted: set[int] = set()
    few = unseen = cells = 0
    for column in columns:
        check_years(column.folder(streams.work))
        years = streams.read(column, walls=False)
        if [year.year for year in years] != record_years:
            raise RefusalError(
                f"column {column.number} holds the years {[year.year for year in years]}",
                f"{record_years}",
                "Remove its folder under work, and give the same command again.",
            )
        counts = account_of(years, grid.calendar).counts
        counted |= {year for i, year in enumerate(record_years) if counts[i].any()}
        number = counts.sum(0)
        few += int(np.count_nonzero((number > 0) & (number < FEW_YEARS)))
        runs = np.stack([year.longest_unseen for year in years])
        unseen += int(np.count_nonzero(((runs >= SPELL_GAP) & counts).any(0)))
        cells += column.cells
    if not counted:
        raise RefusalError(
            f"no year counts in any cell of {record_years[0]} to {record_years[-1]}",
            f"at least one year with rain known in {LEAST_COVERAGE:.0%} of its hours and wind in as much of its rain",
            "Use a longer or more complete record.",
        )
    return counted, CellCounts(cells, few, unseen)
