"""The same film, assembled and solved independently with NumPy and SciPy.

Reads a problem as JSON (file named on the command line): rings with a group for each piece, the grid, h^3 on 4 x 4 sub-cells.
Prints the matrix of conductances between groups (m3) as JSON, and the seconds that SciPy's sparse solver took.
"""
import json
import sys
import time

import numpy as np
import scipy.sparse as sparse
import scipy.sparse.csgraph
import scipy.sparse.linalg as linalg

LEAST_SHARE = 0.001
SUB = 4


def crossings(ring, line, axis):
    """Where a ring meets the line y = line (axis 0) or x = line (axis 1): places along it, and the groups of the pieces."""
    points = np.asarray(ring["xy"]).reshape(-1, 2)
    groups = np.asarray(ring["group"])
    after = np.roll(points, -1, axis=0)
    across, along = 1 - axis, axis
    low, high = points[:, across], after[:, across]
    hit = ((low <= line) & (line < high)) | ((high <= line) & (line < low))
    share = (line - low[hit]) / (high[hit] - low[hit])
    return points[hit, along] + share * (after[hit, along] - points[hit, along]), groups[hit]


def stretches(rings, line, axis):
    """Film on a line, as (from, to, group at from, group at to): inside ring 0 and outside all others."""
    events = []
    for number, ring in enumerate(rings):
        for place, group in zip(*crossings(ring, line, axis)):
            events.append((place, number, group))
    events.sort(key=lambda event: event[0])
    inside = [False] * len(rings)
    found, start = [], None
    for place, number, group in events:
        inside[number] = not inside[number]
        film = inside[0] and not any(inside[1:])
        if film and start is None:
            start = (place, group)
        elif not film and start is not None:
            found.append((start[0], place, start[1], group))
            start = None
    return found


def halves(cube, way):
    """Resistance of the half cell crossed on a way, one number a row of sub-cells; cube[row][column]."""
    half = SUB // 2
    part = {"right": cube[:, half:], "left": cube[:, :half], "up": cube[half:, :].T, "down": cube[:half, :].T}[way]
    return (1.0 / part).sum(axis=1) / SUB


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        problem = json.load(file)
    side, x0, y0 = problem["side"], problem["x0"], problem["y0"]
    cell = problem["size"] / side
    n_groups = problem["n_groups"]
    cubes = np.asarray(problem["cubes"]).reshape(side * SUB, side * SUB)
    rings = problem["rings"]
    centre = np.arange(side) + 0.5
    index = {}
    inner, border = [], []

    def cube_of(i, j):
        return cubes[j * SUB:(j + 1) * SUB, i * SUB:(i + 1) * SUB]

    for j in range(side):
        for begin, end, _, _ in stretches(rings, y0 + centre[j] * cell, 0):
            for i in range(side):
                if begin <= x0 + centre[i] * cell <= end:
                    index[(i, j)] = len(index)
    for axis, (forth, back) in enumerate((("right", "left"), ("up", "down"))):
        origin, other = ((x0, y0), (y0, x0))[axis]
        for line in range(side):
            for begin, end, first_group, last_group in stretches(rings, other + centre[line] * cell, axis):
                run = [k for k in range(side) if begin <= origin + centre[k] * cell <= end]
                run = [(k, line) if axis == 0 else (line, k) for k in run]
                run = [place for place in run if place in index]
                if not run:
                    continue
                for place, way, group, gap in ((run[0], back, first_group, origin + centre[run[0][axis]] * cell - begin),
                                               (run[-1], forth, last_group, end - origin - centre[run[-1][axis]] * cell)):
                    if group >= 0:
                        mobility = (0.5 / halves(cube_of(*place), way)).mean() / 12.0
                        border.append((index[place], group, mobility / min(max(gap / cell, LEAST_SHARE), 1.0)))
                for a, b in zip(run, run[1:]):
                    resistance = halves(cube_of(*a), forth) + halves(cube_of(*b), back)
                    inner.append((index[a], index[b], (1.0 / resistance).mean() / 12.0))

    n = len(index)
    a, b, g = (np.array(column) for column in zip(*inner))
    cells, groups, t = (np.array(column) for column in zip(*border))
    matrix = sparse.coo_matrix((np.concatenate((-g, -g, g, g, t)),
                                (np.concatenate((a, b, a, b, cells)), np.concatenate((b, a, a, b, cells)))), shape=(n, n)).tocsc()
    # Slivers that reach no fixed pressure carry no flow: they are left out.
    _, label = sparse.csgraph.connected_components(matrix, directed=False)
    keep = np.flatnonzero(np.isin(label, np.unique(label[cells])))
    matrix = matrix[keep][:, keep]
    place = np.full(n, -1)
    place[keep] = np.arange(len(keep))

    rhs = np.zeros((len(keep), n_groups))
    np.add.at(rhs, (place[cells], groups), t)
    begin = time.perf_counter()
    fields = linalg.spsolve(matrix, sparse.csc_matrix(rhs)).toarray() if n_groups > 1 else linalg.spsolve(matrix, rhs)
    seconds = time.perf_counter() - begin
    conductance = np.zeros((n_groups, n_groups))
    for unit in range(n_groups):
        np.add.at(conductance[unit], groups, t * ((groups == unit) - fields[place[cells], unit]))
    json.dump({"cells": len(keep), "conductance": conductance.ravel().tolist(), "seconds": seconds}, sys.stdout)


main()
