"""Who takes which place so that all together pay least."""

from collections.abc import Sequence


def assigned(costs: Sequence[Sequence[float]]) -> list[int]:
    """For each row the column it takes, no column twice, with the least sum of costs (the Hungarian method).

    Parameters
    ----------
    costs
        At least as many columns as rows.

    Examples
    --------
    >>> assigned([[1, 2, 9], [1, 9, 9]])  # 2 + 1, where the first row alone would take the first column
    [1, 0]
    """
    rows, columns = len(costs), len(costs[0]) if costs else 0
    paid_rows, paid_columns = [0.0] * (rows + 1), [0.0] * (columns + 1)
    taker = [0] * (columns + 1)  # row that has a column, counted from 1; column 0 stands for none
    for row in range(1, rows + 1):
        taker[0], column = row, 0
        least, before, seen = [float("inf")] * (columns + 1), [0] * (columns + 1), [False] * (columns + 1)
        while taker[column]:
            seen[column] = True
            one, step, ahead = taker[column], float("inf"), 0
            for other in range(1, columns + 1):
                if seen[other]:
                    continue
                more = costs[one - 1][other - 1] - paid_rows[one] - paid_columns[other]
                if more < least[other]:
                    least[other], before[other] = more, column
                if least[other] < step:
                    step, ahead = least[other], other
            for other in range(columns + 1):
                if seen[other]:
                    paid_rows[taker[other]] += step
                    paid_columns[other] -= step
                else:
                    least[other] -= step
            column = ahead
        while column:
            taker[column] = taker[before[column]]
            column = before[column]
    chosen = [0] * rows
    for column in range(1, columns + 1):
        if taker[column]:
            chosen[taker[column] - 1] = column - 1
    return chosen
