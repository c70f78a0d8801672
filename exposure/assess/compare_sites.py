"""A list of sites from their rows to the ranked comparison: weather, ground, the reference wall, the order.

Sites that share a weather cell share its reading, and all cells are read in one pass over the grid. What was worked out is kept by
content, so that a stopped run, or the same list with one row more, costs only what is new. A site that cannot be
used is set aside with its reason; the others go on.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from exposure.assess.kept_results import content_of, mark, prune
from exposure.assess.processes import results_of
from exposure.assess.ranking import RankedSite, rank_sites, shared_flags
from exposure.assess.reference_wall import DEPTH, ITSELF, LENGTH, WAYS, ReferenceWall, SiteOnWall
from exposure.assess.site_group import SiteGroup, assess_group, batches_of, with_weather
from exposure.assess.site_weather import GridWeather, OneRecord, close_grid, opened_grid, plain
from exposure.checks import RefusalError
from exposure.climate.grid_cells import Cell
from exposure.doubts import doubt
from exposure.rain.index import airfield_index, compass_orientations
from exposure.site.site_list import LeftOut, ListedSite, SiteList

TOGETHER = 8  # sites worked out in one go; a stop waits for no more
FEW = 8  # sites that are worked out in this process; more get processes of their own

Tell = Callable[[float, str], None]


@dataclass(frozen=True)
class Comparison:
    """A list compared.

    Parameters
    ----------
    ranked
        Hardest hit first.
    left_out
        Rows without an answer, in their order.
    notes
        On the reading of the list, and on the comparison as a whole.
    flags
        Doubts that hold for every site.
    wall
        Put on every site whose row names no other.
    """

    ranked: tuple[RankedSite, ...]
    left_out: tuple[LeftOut, ...]
    notes: tuple[str, ...]
    flags: tuple[str, ...]
    wall: ReferenceWall

    @property
    def sites(self) -> tuple[SiteOnWall, ...]:
        """In the order of their rank."""
        return tuple(one.site for one in self.ranked)


def compare_sites(
    listed: SiteList,
    weather: GridWeather | OneRecord | None,
    *,
    wall: ReferenceWall,
    told: Mapping[str, Any] | None = None,
    ground: str | Path | None = None,
    cover: str | Path | None = None,
    neighbours: str | Path | None = None,
    wet_hour: float | None = None,
    tell: Tell = lambda _share, _words: None,
    workers: int = 0,
    keep: str | Path | None = None,
) -> Comparison:
    """Put the reference wall on every site of a list, and rank them.

    Parameters
    ----------
    weather
        Of the sites whose row names no record of its own; None leaves those out.
    told
        How the records that rows name are read: arguments of :func:`exposure.climate.opening.open_climate`.
    ground, cover
        Rasters of ground height [m] and of land cover (ESA WorldCover classes); without them the ground is flat
        farmland wherever the list says nothing, and flagged.
    neighbours
        Vector file of the buildings around; without it the wall stands in the open.
    wet_hour
        See :func:`exposure.rain.index.airfield_index`. [mm]
    tell
        Called with the share done and a few words; may raise to stop the work.
    workers
        Processes beside this one; 0 works here.
    keep
        Folder for what is worked out, so that another run finds it; None keeps nothing.

    Raises
    ------
    RefusalError
        When the weather cannot be read, or no site is left.

    Examples
    --------
    >>> import numpy as np, xarray as xr
    >>> from exposure.assess.reference_wall import reference_wall
    >>> import pandas as pd
    >>> time = pd.date_range("2001-01-01T01", "2003-01-01", freq="h")
    >>> rain = np.where(np.arange(time.size) % 200 == 0, 1.0, 0.0)  # one hour of 1 mm, then a week without
    >>> climate = xr.Dataset(
    ...     {"rain": ("time", rain, {"units": "mm"}),
    ...      "wind_speed": ("time", np.full(time.size, 9.0), {"units": "m s-1"}),
    ...      "wind_from_direction": ("time", np.full(time.size, 240.0), {"units": "degree"})},
    ...     coords={"time": time}, attrs={"source": "made up", "licence": "none", "kind": "gauge", "flags": []})
    >>> sites = SiteList(
    ...     (ListedSite(2, "Town", 48.5, -29.6, ("IV",) * 12), ListedSite(3, "Shore", 48.4, -29.7, ("I",) * 12)), (), ())
    >>> found = compare_sites(sites, OneRecord(climate), wall=reference_wall("two-storey gable"))
    >>> shore, town = found.sites
    >>> shore.name, round(town.value / shore.value, 3)  # 0.24 ln(8 m / 0.5 m) over 0.17 ln(5.6 m / 0.01 m)
    ('Shore', 0.619)
    """
    try:
        tell(0.0, "Finding the weather of each site.")
        own = [one for one in listed.sites if one.record is not None]
        groups, left_out = _groups([one for one in listed.sites if one.record is None], weather)
        if keep is not None:
            prune(Path(keep))
        every = SiteGroup(
            (), None, None, None, wall, None if ground is None else str(ground),
            None if cover is None else str(cover), wet_hour, None if keep is None else str(keep), ("", ""),
            neighbours=None if neighbours is None else str(neighbours),
        )  # fmt: skip
        jobs = _jobs(groups, weather, every)
        of_records = _jobs(
            {
                path: [one for one in own if one.record == path]
                for path in dict.fromkeys(one.record for one in own)
            },
            None,
            every._replace(told=dict(told or {})),
        )
        found: list[SiteOnWall] = []
        total = len(listed.sites)
        so_far: list[float | str] = [0.0, f"{total:,} sites."]

        def look() -> None:
            tell(float(so_far[0]), str(so_far[1]))

        def reading(_share: float) -> None:
            tell(float(so_far[0]), "Reading the grid.")

        for batch in [*batches_of(jobs), *([of_records] if of_records else [])]:
            with TemporaryDirectory(prefix="exposure-cells-", ignore_cleanup_errors=True) as room:
                ready = with_weather(batch, Path(room), reading)
                for done in results_of(assess_group, ready, workers=workers if total > FEW else 0, look=look):
                    found += done.sites
                    left_out += done.left_out
                    so_far[:] = [(len(found) + len(left_out)) / total, f"{len(found):,} of {total:,} sites."]
                    look()
                close_grid()
        left_out = sorted([*listed.left_out, *left_out], key=lambda one: one.row)
    finally:
        close_grid()
    if not found:
        first = left_out[0]
        raise RefusalError(
            f"none of the {len(left_out):,} sites can be used; row {first.row}: {first.reason.came}",
            first.reason.expected,
            first.reason.cure,
            parameter=first.reason.parameter,
        )
    found.sort(key=lambda one: one.row or 0)
    notes = [*listed.notes, *notes_on(found)]
    if neighbours is not None:
        size = {"length": LENGTH, "depth": DEPTH, "itself": ITSELF}
        notes.append(doubt("assess.neighbours_in_comparison", Path(neighbours).name, **size))
    return Comparison(rank_sites(found), tuple(left_out), tuple(notes), shared_flags(found), wall)


def notes_on(sites: Sequence[SiteOnWall]) -> list[str]:
    """What to know of the comparison as a whole."""
    notes: list[str] = []
    if len({one.wall for one in sites}) > 1:
        notes.append(doubt("assess.walls_differ"))
    if len({one.years for one in sites}) > 1:
        notes.append(doubt("assess.years_differ"))
    if len(sites) > 1 and len({round(one.value, 6) for one in sites}) == 1:
        notes.append(doubt("assess.all_equal"))
    return notes


def _groups(
    sites: Sequence[ListedSite], weather: GridWeather | OneRecord | None
) -> tuple[dict[Cell | None, list[ListedSite]], list[LeftOut]]:
    """Sites by their weather cell, in the order of the cells."""
    if not sites:
        return {}, []
    if weather is None:
        return {}, [LeftOut(one.row, one.name, _without_weather(one)) for one in sites]
    if isinstance(weather, OneRecord):
        return {None: list(sites)}, []
    grid = opened_grid(weather)
    groups: dict[Cell, list[ListedSite]] = {}
    left_out = []
    for one in sites:
        try:
            groups.setdefault(grid.find((one.latitude, one.longitude)), []).append(one)
        except RefusalError as reason:
            left_out.append(LeftOut(one.row, one.name, reason))
    return {cell: groups[cell] for cell in sorted(groups)}, left_out


def _without_weather(one: ListedSite) -> RefusalError:
    return RefusalError(
        f"row {one.row} names no record, and no weather was given for all",
        "one of the two",
        "Write its record into the list, or give a grid or record for all.",
        parameter="climate",
    )


def _jobs(
    groups: Mapping[Any, list[ListedSite]],  # by weather cell, by path of a record, or None for all
    weather: GridWeather | OneRecord | None,
    every: SiteGroup,  # what all groups have alike
) -> list[SiteGroup]:
    grid = weather if isinstance(weather, GridWeather) else None
    if isinstance(weather, OneRecord):
        index = airfield_index(
            weather.climate, orientation=compass_orientations(WAYS), wet_hour=every.wet_hour
        )
        known = (index.to_dict() | {"attrs": plain(index.attrs)}, plain(weather.climate.attrs))
        every = every._replace(known=known)
    if every.keep:
        of_grid = (
            ""
            if grid is None
            else mark(repr((content_of(grid.source), grid.request, grid.flags, every.wet_hour)))
        )
        rasters = mark(
            repr((content_of(every.ground), content_of(every.cover), content_of(every.neighbours)))
        )
        every = every._replace(marks=(of_grid, rasters))
    return [
        every._replace(
            sites=tuple(sites[first : first + TOGETHER]),
            weather=grid,
            cell=None if isinstance(cell, str) else cell,
            record=cell if isinstance(cell, str) else None,
        )
        for cell, sites in groups.items()
        for first in range(0, len(sites), TOGETHER)
    ]
