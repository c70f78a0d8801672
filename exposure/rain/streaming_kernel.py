"""The compiled inside of :mod:`exposure.rain.streaming`, where the idea is explained: read that first.

Every function works on plain arrays, lets other threads run while it works, and is compiled once and kept
on disk. Arrays are float32 as grids store them; sums are float64, so that a record of any length, cut into
any blocks, gives the same bits.
"""

import math

import numba
import numpy as np

from exposure.climate.grid.blocks import PACKING_NOISE
from exposure.rain.hour import (
    EDGE_COSINE,
    HOUR_COEFFICIENT,
    LEAST_HEAD_ON,
    RAIN_EXPONENT,
    TERRAIN_SECTORS,
)
from exposure.rain.spells import SPELL_GAP
from exposure.terms import TERMS

NEVER = np.int32(-(2**30))  # hour number before any record
NOT_DUE = np.int32(2**30)  # hour number after any record
UNSIGNED = np.uint64
U0, U1, U2 = np.uint64(0), np.uint64(1), np.uint64(2)
LANES_BITS = np.uint64(5)
LANES = 2**5
LANES_LESS_ONE = np.uint64(LANES - 1)
PARTED = np.int32(SPELL_GAP + 1)  # hours from one hit to the first that starts a new spell
MOST_RAIN = np.float32(TERMS["rain"]["high"])
MOST_WIND_SQUARED = np.float32(TERMS["wind_speed"]["high"] ** 2)
LEAST_RAIN = np.float32(-PACKING_NOISE)  # mm; rain this little below zero is rounding of packed numbers
LEAST_SQUARED = LEAST_HEAD_ON**2
DOUBT = 1e-5  # share of LEAST_SQUARED within which float32 may decide wrongly, so float64 decides
ONE = np.int32(1)
ZERO = np.int32(0)
CLASS_BITS = np.int32(10)  # an hour and a class (fewer than 1024) share a number in the queues
CLASS_MASK = np.int32(2**10 - 1)
NONE = np.float32(0.0)
NINTH = np.float32(1 / 9)
TEN_NINTHS = np.float32(10 / 9)
NINTH_ROOT_START = np.float32(10 / 9 * 127 * 2**23 - 440_000)  # first guess within 3 %, found by trial
COEFFICIENT = np.float32(HOUR_COEFFICIENT)

compiled = numba.njit(nogil=True, cache=True, error_model="numpy")
compiled_in_place = numba.njit(nogil=True, cache=True, error_model="numpy", inline="always")


@compiled
def advance(rain, east, north, speed, hours, least_rain, sector_weight, dial, state, scratch):
    """Take in a block of hours, rows in order of time, one column a cell; ``speed`` may have no rows."""
    if speed.shape[0] == 0:
        account(rain, east, north, hours, state)
    else:
        account_variable(rain, east, north, speed, hours, least_rain, sector_weight, state)
    cells = rain.shape[1]
    for c in range(cells):
        scratch.queued[c] = 0
    for t in range(rain.shape[0]):
        wet = pick_wet(rain[t], east[t], north[t], least_rain, scratch)
        weigh(
            wet,
            scratch.rain,
            scratch.root,
            scratch.root.view(np.int32),
            scratch.rain.view(np.int32),
            scratch.weight,
        )
        turn(wet, scratch.east, scratch.north, np.float32(dial.wall_east.size), scratch.step)
        file_driving(wet, np.int32(t), sector_weight, dial, scratch)
    take_queues(cells, hours, dial, state, scratch)


@compiled
def account(rain, east, north, hours, state):
    """Count known hours, rain, rain whose wind is unknown, and runs in which a hit would go unseen.

    Most hours are known everywhere; those are only checked, counted, and their rain added.
    """
    whole = np.int32(0)
    running = state.unseen_run.max() > 0
    for t in range(rain.shape[0]):
        if hours[t, 1] == 0 and is_known_everywhere(rain[t], east[t], north[t]):
            whole += ONE
            add_rain(rain[t], state.rain)
            if running:
                state.unseen_run[:] = 0
                running = False
        else:
            account_rain(rain[t], state.hours_known, state.rain)
            account_wind(rain[t], east[t], north[t], state.rain_without_wind)
            account_unseen(rain[t], east[t], north[t], hours[t, 1], state.unseen_run, state.longest_unseen)
            running = True
    for c in range(rain.shape[1]):
        state.hours_known[c] += whole


@compiled
def is_known_everywhere(rain, east, north):
    """Whether every cell knows rain and wind in one hour; short loops like this become vector instructions."""
    missing = np.int32(0)
    for c in range(rain.size):
        is_known = (rain[c] >= LEAST_RAIN) & (rain[c] <= MOST_RAIN)
        has_wind = east[c] * east[c] + north[c] * north[c] <= MOST_WIND_SQUARED
        missing += np.int32(not (is_known & has_wind))
    return missing == 0


@compiled
def add_rain(rain, total):
    """Add one hour's rain where all is known."""
    for c in range(rain.size):
        total[c] += max(rain[c], NONE)


@compiled
def account_rain(rain, known, total):
    """Add one hour to the hours and the rain known."""
    for c in range(rain.size):
        is_known = (rain[c] >= LEAST_RAIN) & (rain[c] <= MOST_RAIN)
        known[c] += np.int32(is_known)
        total[c] += rain[c] if (rain[c] > NONE) & is_known else NONE


@compiled
def account_wind(rain, east, north, without):
    """Add one hour's rain to the rain whose wind is unknown, where it is."""
    for c in range(rain.size):
        is_wet = (rain[c] > NONE) & (rain[c] <= MOST_RAIN)
        has_wind = east[c] * east[c] + north[c] * north[c] <= MOST_WIND_SQUARED
        without[c] += rain[c] if is_wet & (not has_wind) else NONE


@compiled
def account_unseen(rain, east, north, absent, run, longest):
    """Lengthen or end each cell's run of hours in which a hit would go unseen; ``absent`` hours came before."""
    for c in range(rain.size):
        is_dry = (rain[c] >= LEAST_RAIN) & (rain[c] <= NONE)
        is_known = (rain[c] >= LEAST_RAIN) & (rain[c] <= MOST_RAIN)
        has_wind = east[c] * east[c] + north[c] * north[c] <= MOST_WIND_SQUARED
        seen = is_dry | (is_known & has_wind)
        longest[c] = max(longest[c], run[c] + absent + (ZERO if seen else ONE))
        run[c] = ZERO if seen else run[c] + absent + ONE


@compiled
def pick_wet(rain, east, north, least_rain, scratch):
    """Write the cells wet enough in this hour, with rain and wind, side by side; return how many."""
    cell = scratch.cell
    wet = 0
    for c in range(rain.size):  # no branch: a dry cell is overwritten by the next one
        cell[wet] = c
        wet += rain[c] >= least_rain
    for i in range(wet):
        c = cell[i]
        scratch.rain[i] = rain[c]
        scratch.east[i] = east[c]
        scratch.north[i] = north[c]
    return wet


@compiled
def weigh(wet, rain, root, root_bits, rain_bits, weight):
    """Driving rain of each wet hour for a wind of 1 m/s, (2/9) r^(8/9), within 3e-7.

    r^(8/9) is r times r^(-1/9), and z = r^(-1/9) is found by Newton's rule z (10 - r z^9) / 9, three times
    from a first guess made by scaling the exponent bits of r.
    """
    for i in range(wet):
        root_bits[i] = np.int32(NINTH_ROOT_START - np.float32(rain_bits[i]) * NINTH)
    for i in range(wet):
        z = root[i]
        for _ in range(3):
            z2 = z * z
            z4 = z2 * z2
            z = z * (TEN_NINTHS - (rain[i] * NINTH) * (z4 * z4 * z))
        weight[i] = COEFFICIENT * rain[i] * z


@compiled
def turn(wet, east, north, orientations, step):
    """Where each wind comes from, as a step of the diamond angle: 0 north, K east, 2K south, 3K west.

    The diamond angle replaces the circle by the square |x| + |y| = 1, so it needs no trigonometry and only
    picks the place in the table from which the exact test starts.
    """
    for i in range(wet):
        from_east, from_north = -east[i], -north[i]
        share = from_east / (abs(from_east) + abs(from_north))
        front = share + np.float32(4) if from_east < NONE else share
        step[i] = np.int32(orientations * (np.float32(2) - share if from_north < NONE else front))


@compiled
def file_driving(wet, row, sector_weight, dial, scratch):
    """Put each hour that drives into its cell's queue, with the class of its direction."""
    for i in range(wet):
        east, north, weight = (
            np.float64(scratch.east[i]),
            np.float64(scratch.north[i]),
            np.float64(scratch.weight[i]),
        )
        squared = east * east + north * north
        head_on = weight * weight * squared
        if not (
            head_on >= LEAST_SQUARED * (1 - DOUBT)
            and squared <= MOST_WIND_SQUARED
            and scratch.rain[i] <= MOST_RAIN
        ):
            continue
        if head_on < LEAST_SQUARED * (1 + DOUBT) and not drives(scratch.rain[i], squared):
            continue
        edge = dial.guess[scratch.step[i]]
        near = EDGE_COSINE * math.sqrt(squared)
        beyond = (
            north * dial.edge_east[edge] - east * dial.edge_north[edge]
        )  # speed x sine of the turn past it
        beyond_next = north * dial.edge_east[edge + 1] - east * dial.edge_north[edge + 1]
        passed = np.int32(beyond > near) + np.int32(beyond_next >= -near) + np.int32(beyond_next > near)
        place = dial.place[4 * edge + passed]
        c = scratch.cell[i]
        n = scratch.queued[c]
        scratch.queued[c] = n + 1
        scratch.queue_when[n, c] = (row << CLASS_BITS) | place
        factor = scratch.weight[i]
        if sector_weight.shape[0] > 0:
            factor *= sector_weight[c, terrain_sector(east, north)]
        scratch.queue_amount[n, c, 0] = factor * scratch.east[i]
        scratch.queue_amount[n, c, 1] = factor * scratch.north[i]


@compiled_in_place
def drives(rain, speed_squared):
    """Whether an hour reaches the least head-on rain, decided in float64 as the plain form does."""
    return HOUR_COEFFICIENT * math.sqrt(speed_squared) * np.float64(rain) ** RAIN_EXPONENT >= LEAST_HEAD_ON


@compiled
def terrain_sector(east, north):
    """The 30 degree sector the wind comes from, as :func:`exposure.rain.hour.terrain_sector`."""
    direction = (270.0 - math.degrees(math.atan2(north, east))) % 360.0
    width = 360.0 / TERRAIN_SECTORS
    return math.floor((direction + width / 2) / width) % TERRAIN_SECTORS


@compiled
def take_queues(cells, stamps, dial, state, scratch):
    """Add each cell's driving hours to its sums; close spells first where one may have ended."""
    sums, last_hit, next_closing, looked_at = state.sums, state.last_hit, state.next_closing, state.looked_at
    closed_at, largest = state.closed_at, state.largest
    east, north = dial.wall_east, dial.wall_north
    queued, when, amounts = scratch.queued, scratch.queue_when, scratch.queue_amount
    hits, runs, gathered, wall_hit = scratch.hits, scratch.runs, scratch.gathered, scratch.wall_hit
    for c in range(cells):
        due = next_closing[c]
        for i in range(queued[c]):
            hour = stamps[when[i, c] >> CLASS_BITS, 0]
            place = when[i, c] & CLASS_MASK
            if hour >= due and last_hit[c, place] <= hour - PARTED:
                latest_of_walls(c, last_hit, hits, wall_hit)
                due, closing = find_ended(hour, looked_at[c], wall_hit)
                if closing > 0:
                    gathered_by_walls(c, sums, runs, gathered)
                    close(c, hour, looked_at[c], wall_hit, gathered, closed_at, largest, east, north)
                looked_at[c] = hour
            sums[c, 2 * place] += amounts[i, c, 0]
            sums[c, 2 * place + 1] += amounts[i, c, 1]
            last_hit[c, place] = hour
            due = min(due, hour + PARTED)
        next_closing[c] = due


@compiled
def find_ended(hour, looked_at, wall_hit):
    """When to look next, and how many spells ended since last looked."""
    ended = np.int32(hour - PARTED)
    ended_before = np.int32(looked_at - PARTED)
    due = NOT_DUE
    closing = np.int32(0)
    for k in range(wall_hit.size):
        hit = wall_hit[k]
        due = min(due, np.int32(hit + PARTED) if hit > ended else NOT_DUE)
        closing += np.int32((hit <= ended) & (hit > ended_before))
    return due, closing


@compiled_in_place
def whole_lanes(length):
    """``length`` rounded up to 32, so that a short loop is vector instructions to its end; the rooms hold as many."""
    return ((length + LANES_LESS_ONE) >> LANES_BITS) << LANES_BITS


@compiled
def latest_of_walls(c, last_hit, room, wall_hit):
    """Find each wall's latest hit, among the K - 1 classes of its half-plane.

    These are K/2 - 1 sectors each with the edge that ends it, and one sector more. The latest of a run of
    1, 2, 4 ... sectors is found for all starts at once, each from two runs of half the length, from one half
    of the room into the other; two of the longest runs, laid so that they overlap, then cover any half-plane.
    Unsigned numbers spare the question whether an index counts from the end.
    """
    walls = UNSIGNED(wall_hit.size)
    more = (walls >> U1) - U1
    here, there = U0, UNSIGNED(room.size) >> U1
    for j in range(walls):
        room[j] = max(last_hit[c, j], last_hit[c, walls + j])
    for j in range(more):
        room[walls + j] = room[j]
    run = U1
    while run + run <= more:
        later = here + run
        for j in range(whole_lanes(walls + more - run)):
            room[there + j] = max(room[here + j], room[later + j])
        here, there = there, here
        run += run
    later = here + more - run
    for k in range(walls):
        wall_hit[k] = max(room[here + k], room[later + k])
    for k in range(walls - more):
        wall_hit[k] = max(wall_hit[k], last_hit[c, more + k])
    for k in range(more):
        wall_hit[walls - more + k] = max(wall_hit[walls - more + k], last_hit[c, k])


@compiled
def gathered_by_walls(c, sums, room, gathered):
    """Sum the classes of each wall's half-plane, from runs of sectors as :func:`latest_of_walls`.

    Sums must not overlap: a half-plane is put together from runs of different lengths, end to end.
    """
    numbers = UNSIGNED(sums.shape[1]) >> U1
    more = (numbers >> U2) - U1
    here, there = U0, UNSIGNED(room.size) >> U1
    for j in range(numbers):
        room[j] = sums[c, j] + sums[c, numbers + j]
    for j in range(more + more):
        room[numbers + j] = room[j]
        gathered[numbers - more - more + j] = sums[c, j]
    for j in range(numbers - more - more):
        gathered[j] = sums[c, more + more + j]
    run, covered = U1, U0
    while True:
        if more & run:
            part = here + covered + covered
            for j in range(whole_lanes(numbers)):
                gathered[j] += room[part + j]
            covered += run
        if run + run > more:
            break
        later = here + run + run
        for j in range(whole_lanes(numbers + more + more - run - run)):
            room[there + j] = room[here + j] + room[later + j]
        here, there = there, here
        run += run


@compiled
def close(c, hour, looked_at, wall_hit, gathered, closed_at, largest, east, north):
    """Close the spells that ended since last looked: what the wall gathered since its closing before."""
    ended = np.int32(hour - PARTED)
    ended_before = np.int32(looked_at - PARTED)
    for k in range(wall_hit.size):
        total = east[k] * gathered[2 * k] + north[k] * gathered[2 * k + 1]
        is_closing = (wall_hit[k] <= ended) & (wall_hit[k] > ended_before)
        largest[c, k] = max(largest[c, k], total - closed_at[c, k]) if is_closing else largest[c, k]
        closed_at[c, k] = total if is_closing else closed_at[c, k]


@compiled
def end_year_of_sums(dial, state, scratch, annual):
    """Write each wall's sum since the year began, [L m-2], and start the next year from zero.

    Hours along a wall, within the edge tolerance, start no spell; the hair of rain they bring is added here.
    """
    east, north = dial.wall_east, dial.wall_north
    walls = east.size
    closed_at = state.closed_at
    for c in range(annual.shape[0]):
        sums = state.sums[c]
        edges = sums[2 * walls :]
        gathered_by_walls(c, state.sums, scratch.runs, scratch.gathered)
        for k in range(walls):
            gathered = east[k] * scratch.gathered[2 * k] + north[k] * scratch.gathered[2 * k + 1]
            closed_at[c, k] -= gathered
            start, end = (k + walls - 1) % walls, (k + walls // 2 - 1) % walls
            along_start = max(0.0, east[k] * edges[2 * start] + north[k] * edges[2 * start + 1])
            along_end = max(0.0, east[k] * edges[2 * end] + north[k] * edges[2 * end + 1])
            annual[c, k] = gathered + along_start + along_end + state.unassigned_share[c]
        sums[:] = 0.0


@compiled
def end_year_of_spells(hour, dial, state, scratch, spell):
    """Close what ended before ``hour``, write each wall's largest spell, and start the next year's."""
    for c in range(spell.shape[0]):
        latest_of_walls(c, state.last_hit, scratch.hits, scratch.wall_hit)
        due, closing = find_ended(hour, state.looked_at[c], scratch.wall_hit)
        if closing > 0:
            gathered_by_walls(c, state.sums, scratch.runs, scratch.gathered)
            close(
                c,
                hour,
                state.looked_at[c],
                scratch.wall_hit,
                scratch.gathered,
                state.closed_at,
                state.largest,
                dial.wall_east,
                dial.wall_north,
            )
        state.next_closing[c] = due
        state.looked_at[c] = hour
        for k in range(spell.shape[1]):
            spell[c, k] = state.largest[c, k]
            state.largest[c, k] = 0.0


@compiled
def account_variable(rain, east, north, speed, hours, least_rain, sector_weight, state):
    """Account as :func:`account`, where a wind may have a speed and no direction (variable wind)."""
    for t in range(rain.shape[0]):
        for c in range(rain.shape[1]):
            r, v = rain[t, c], speed[t, c]
            is_known = (r >= LEAST_RAIN) & (r <= MOST_RAIN)
            fell = r if is_known & (r > NONE) else NONE
            has_wind = (v >= NONE) & (v * v <= MOST_WIND_SQUARED)
            state.hours_known[c] += np.int32(is_known)
            state.rain[c] += fell
            seen = is_known and (has_wind or fell == NONE)
            run = state.unseen_run[c] + hours[t, 1] + (0 if seen else 1)
            state.longest_unseen[c] = max(state.longest_unseen[c], run)
            state.unseen_run[c] = 0 if seen else run
            if fell > NONE and not has_wind:
                state.rain_without_wind[c] += fell
            elif fell > NONE and not math.isfinite(east[t, c] + north[t, c]):
                state.unassigned[c] += fell
                if r >= least_rain and drives(r, np.float64(v) * np.float64(v)):
                    mean_weight = 1.0
                    if sector_weight.shape[0] > 0:
                        mean_weight = sector_weight[c].mean()
                    amount = HOUR_COEFFICIENT * v * np.float64(r) ** RAIN_EXPONENT
                    state.unassigned_share[c] += amount * mean_weight / math.pi
