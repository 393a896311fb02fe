"""The compiled peer's kernels."""

import math

import numba
import numpy as np

from .tolerances import CLASS_LIMITS, WANTED

STRIP = 128
S3, _, S1 = CLASS_LIMITS


def compile_all() -> None:
    """Compiles every kernel on a handful of cells."""
    tiny = np.zeros((4, 4), dtype=np.uint8)
    lacks = np.zeros(256, dtype=np.uint64)
    scores = np.ones((256, 1))
    suits, unknown, _ = rate(
        tiny,
        tiny.astype(np.int32),
        tiny,
        tiny,
        tiny.astype(np.float32),
        5.0,
        np.zeros(1, dtype=np.uint8),
        scores,
        lacks,
        scores,
        np.ones((8, 5, 1)),
        np.zeros((8, 5), dtype=np.uint64),
        np.zeros(1, dtype=np.int64),
        np.ones((1, 2, 2)),
    )
    patches(suits, unknown)


@numba.njit(inline="always")
def _on_curve(curve, value):
    points = curve.shape[1]
    if value < curve[0, 0]:
        return curve[1, 0]
    for point in range(points - 1):
        if value < curve[0, point + 1]:
            left, right = curve[0, point], curve[0, point + 1]
            if right == math.inf:
                return curve[1, point]
            low, high = curve[1, point], curve[1, point + 1]
            return low + (high - low) * ((value - left) / (right - left))
    return curve[1, points - 1]


@numba.njit(parallel=True)
def rate(
    inside,
    soil,
    canopy,
    salt,
    z,
    cell_m,
    ground,
    soil_scores,
    soil_lacks,
    canopy_scores,
    salt_scores,
    salt_lacks,
    with_slope,
    slope_curves,
):
    """The set that suits and the set that is unknown, of every cell, and each species' cells by class."""
    rows, cols = canopy.shape
    species = soil_scores.shape[1]
    suits = np.zeros((rows, cols), dtype=np.uint64)
    unknown = np.zeros((rows, cols), dtype=np.uint64)
    strips = (rows + STRIP - 1) // STRIP
    class_cells = np.zeros((strips, species, 4), dtype=np.int64)
    everything = np.uint64(0)
    for number in range(species):
        everything |= np.uint64(1) << np.uint64(number)
    slope_lacks = np.uint64(0)
    for number in with_slope:
        slope_lacks |= np.uint64(1) << np.uint64(number)
    # Up to here every curve is at its best.
    harmless = math.inf
    for curve in range(len(with_slope)):
        for point in range(slope_curves.shape[2]):
            if slope_curves[curve, 1, point] < 1:
                harmless = min(harmless, slope_curves[curve, 0, point - 1] if point > 0 else -math.inf)
                break
    for strip in numba.prange(strips):
        lowest = np.empty(species)
        counts = np.zeros((species, 4), dtype=np.int64)
        for row in range(strip * STRIP, min(rows, (strip + 1) * STRIP)):
            for col in range(cols):
                if inside[row, col] == 0:
                    unknown[row, col] = everything
                    continue
                polygon, cover, exposure = soil[row, col], canopy[row, col], salt[row, col]
                drainage = ground[polygon]
                for number in range(species):
                    score = min(soil_scores[polygon, number], canopy_scores[cover, number])
                    lowest[number] = min(score, salt_scores[drainage, exposure, number])
                lacks = soil_lacks[polygon] | salt_lacks[drainage, exposure]
                if row == 0 or col == 0 or row == rows - 1 or col == cols - 1:
                    lacks |= slope_lacks
                else:
                    slope = _slope_pct(z, row, col, cell_m)
                    if slope > harmless:
                        for curve in range(len(with_slope)):
                            number = with_slope[curve]
                            lowest[number] = min(lowest[number], _on_curve(slope_curves[curve], slope))
                held = np.uint64(0)
                below = np.uint64(0)
                for number in range(species):
                    bit = np.uint64(1) << np.uint64(number)
                    score = lowest[number]
                    if score < WANTED:
                        below |= bit
                    elif not lacks & bit:
                        held |= bit
                    if score < WANTED or not lacks & bit:
                        counts[number, (score >= S3) + (score >= WANTED) + (score >= S1)] += 1
                suits[row, col] = held
                unknown[row, col] = lacks & ~below
        class_cells[strip] = counts
    return suits, unknown, class_cells.sum(axis=0)


@numba.njit(inline="always")
def _slope_pct(z, row, col, cell_m):
    """After Horn 1981, in double precision, held in single."""
    a, b, c = np.float64(z[row - 1, col - 1]), np.float64(z[row - 1, col]), np.float64(z[row - 1, col + 1])
    d, f = np.float64(z[row, col - 1]), np.float64(z[row, col + 1])
    g, h, i = np.float64(z[row + 1, col - 1]), np.float64(z[row + 1, col]), np.float64(z[row + 1, col + 1])
    east = ((c + 2 * f + i) - (a + 2 * d + g)) / (8 * cell_m)
    south = ((g + 2 * h + i) - (a + 2 * b + c)) / (8 * cell_m)
    return np.float64(np.float32(100 * math.sqrt(east * east + south * south)))


@numba.njit(inline="always")
def _root(parents, cell):
    while parents[cell] != cell:
        parents[cell] = parents[parents[cell]]
        cell = parents[cell]
    return cell


@numba.njit(inline="always")
def _unite(parents, one, other):
    one, other = _root(parents, one), _root(parents, other)
    if one < other:
        parents[other] = one
    elif other < one:
        parents[one] = other


@numba.njit(parallel=True)
def patches(suits, unknown):
    """A label for each 4-connected patch of one pair of sets, its first cell and its number of cells.

    Union-find in strips of rows, which are then sewn together.
    """
    rows, cols = suits.shape
    s, u = suits.ravel(), unknown.ravel()
    parents = np.empty(rows * cols, dtype=np.int32)
    strips = (rows + STRIP - 1) // STRIP
    for strip in numba.prange(strips):
        for row in range(strip * STRIP, min(rows, (strip + 1) * STRIP)):
            for col in range(cols):
                cell = row * cols + col
                parents[cell] = cell
                if col > 0 and s[cell] == s[cell - 1] and u[cell] == u[cell - 1]:
                    parents[cell] = _root(parents, cell - 1)
                above = cell - cols
                if row > strip * STRIP and s[cell] == s[above] and u[cell] == u[above]:
                    _unite(parents, cell, above)
    for strip in range(1, strips):
        for cell in range(strip * STRIP * cols, strip * STRIP * cols + cols):
            if s[cell] == s[cell - cols] and u[cell] == u[cell - cols]:
                _unite(parents, cell, cell - cols)
    count = 0
    for cell in range(rows * cols):
        if parents[cell] == cell:
            count += 1
    firsts = np.empty(count, dtype=np.int64)
    sizes = np.zeros(count, dtype=np.int64)
    # Roots come before all other cells of their patch, so one sweep numbers all.
    labels = np.empty(rows * cols, dtype=np.int32)
    count = 0
    for cell in range(rows * cols):
        if parents[cell] == cell:
            labels[cell] = count
            firsts[count] = cell
            count += 1
        else:
            labels[cell] = labels[parents[cell]]
        sizes[labels[cell]] += 1
    return labels.reshape(rows, cols), firsts, sizes
