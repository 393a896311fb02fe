"""Road salt by plain quadrature: spray and root zone of a project's `[road_salt]`, cell by cell with numpy.

Shares no code and no formula for a piece of road with the program: the Bessel function K0 of scipy is
summed along each piece with Gauss's rule. Knows what the sample site uses: rates, lanes, speeds and widths
as attributes, one wind, heights, one water surplus, and the defaults of the README for all else.
"""

import numpy as np
import shapely
from numpy.polynomial.legendre import leggauss
from scipy.special import k0

# The README's defaults.
NEAR_SHARE, NEAR_PER_M, FAR_PER_M = 0.75, 0.3, 0.04
LEE_SHARE = 0.65
FULL_SPRAY_KMH = 80.0
REACH_M = 130.0
RUNOFF_SHARE, STRIP_M = 0.2, 10.0
BANDS_G_M2 = [1.0, 5.0, 25.0, 100.0]
LEACHING = np.array([0.7, 0.6, 0.5, 0.4, 0.25, 0.15, 0.1])
ABOVE_M, HOLLOW_M, HOLLOW_FACTOR = 0.3, 1.0, 2.0
MG_PER_LITRE = 640.0
COMPASS = {"N": 0.0, "NE": 45.0, "E": 90.0, "SE": 135.0, "S": 180.0, "SW": 225.0, "W": 270.0, "NW": 315.0}

NODES, WEIGHTS = leggauss(24)
SAMPLES = 6


class Piece:
    """A straight piece of salted road."""

    def __init__(self, start, end, half_width_m, applied_g_m, speed_kmh, wind_from_deg):
        self.start, self.half_width_m, self.applied_g_m = np.array(start), half_width_m, applied_g_m
        along = np.array(end) - self.start
        self.length_m = float(np.hypot(*along))
        self.along = along / self.length_m
        # To the left of the way the piece runs.
        self.left = np.array([-self.along[1], self.along[0]])
        within_100 = 1.0 - NEAR_SHARE * np.exp(-100 * NEAR_PER_M) - (1 - NEAR_SHARE) * np.exp(-100 * FAR_PER_M)
        self.thrown_g_m = applied_g_m * 0.45 / within_100 * min(speed_kmh / FULL_SPRAY_KMH, 1.0) ** 2
        towards = np.radians(wind_from_deg + 180.0)
        lean = float(self.left @ [np.sin(towards), np.cos(towards)])
        self.left_share = 0.5 + (LEE_SHARE - 0.5) * lean

    def deposit(self, x, y, per_m, reach_m):
        """Grams on a square metre for a gram that each metre throws to a side: left, right, and where."""
        dx, dy = x - self.start[0], y - self.start[1]
        foot, across = dx * self.along[0] + dy * self.along[1], dx * self.left[0] + dy * self.left[1]
        off = np.maximum(np.abs(across) - self.half_width_m, 1e-2)
        within = np.sqrt(np.maximum(reach_m**2 - off**2, 0.0))
        back, ahead = np.maximum(-foot, -within), np.minimum(self.length_m - foot, within)
        ahead = np.maximum(ahead, back)
        # With s = off sinh t the integrand is smooth, also beside the edge.
        from_t, to_t = np.arcsinh(back / off), np.arcsinh(ahead / off)
        total = np.zeros_like(off)
        # Two halves, split where the piece is nearest.
        middle = np.clip(0.0, from_t, to_t)
        for low, high in ((from_t, middle), (middle, to_t)):
            half = (high - low) / 2.0
            for node, weight in zip(NODES, WEIGHTS, strict=True):
                far = off * np.cosh(low + half * (node + 1.0))
                total += weight * half * k0(per_m * far) * far
        return total * per_m * per_m / np.pi, across

    def may_reach(self, x, y, reach_m):
        """Whether points are near enough to matter; some that do not are among them."""
        middle = self.start + self.along * self.length_m / 2.0
        farthest = reach_m + self.half_width_m + self.length_m / 2.0
        return np.hypot(x - middle[0], y - middle[1]) <= farthest

    def spray(self, x, y):
        """Grams of spray on a square metre."""
        near, across = self.deposit(x, y, NEAR_PER_M, min(REACH_M, 18.0 / NEAR_PER_M))
        far, _ = self.deposit(x, y, FAR_PER_M, REACH_M)
        lean = np.clip(across / self.half_width_m, -1.0, 1.0)
        side = 0.5 + lean * (self.left_share - 0.5)
        return self.thrown_g_m * side * (NEAR_SHARE * near + (1.0 - NEAR_SHARE) * far)

    def runoff(self, x, y):
        """Grams of runoff on a square metre for a gram on a metre."""
        share, _ = self.deposit(x, y, 3.0 / STRIP_M, 2.0 * STRIP_M)
        return share


def pieces_of(shapes, fields, keys):
    """The salted pieces of a layer's lines, and the pavement they make."""
    pieces, pavement = [], []
    for index, shape in enumerate(shapes):
        lanes, speed = fields[keys["lanes_attribute"]][index], fields[keys["speed_attribute"]][index]
        rate, width = fields[keys["rate_attribute"]][index], fields[keys["width_attribute"]][index]
        assert keys["rate_unit"] == "kg/lane-km" and keys["speed_unit"] == "km/h"
        if rate <= 0.0:
            continue
        points = shapely.get_coordinates(shape)
        wind = COMPASS[keys["winter_wind_from"]]
        ends = zip(points[:-1], points[1:], strict=True)
        pieces += [Piece(start, end, width / 2.0, rate * lanes, speed, wind) for start, end in ends]
        pavement.append((shape, width / 2.0))
    return pieces, pavement


def edge_m(pavement, cells):
    """Metres from each centre to the nearest edge of a pavement, negative on it."""
    x, y = cells.centres
    edge = np.full(x.shape, np.inf)
    for shape, half in pavement:
        edge = np.minimum(edge, shapely.distance(shapely.points(x, y), shape) - half)
    return edge


def means(pieces, pavement, cells, quantity, reach_m):
    """The mean of a sum over pieces on the ground of each cell that is not pavement."""
    x, y = cells.centres
    edge = edge_m(pavement, cells)
    values = np.zeros(x.shape)
    ticks = (np.arange(SAMPLES) + 0.5) / SAMPLES - 0.5
    # Far from the road the field is straight enough within a cell for fewer samples.
    for lower, upper, steps in ((-np.inf, 20.0, ticks), (20.0, reach_m + cells.cell_m, np.array([-0.25, 0.25]))):
        chosen = (edge > lower) & (edge <= upper)
        total, bare = np.zeros(chosen.sum()), np.zeros(chosen.sum())
        whole = np.zeros(chosen.sum())
        for east in steps:
            for north in steps:
                px, py = x[chosen] + east * cells.cell_m, y[chosen] + north * cells.cell_m
                here = np.zeros(px.shape)
                for piece in pieces:
                    close = piece.may_reach(px, py, reach_m)
                    here[close] += quantity(piece, px[close], py[close])
                paved = np.zeros(px.shape, dtype=bool)
                for shape, half in pavement:
                    paved |= shapely.distance(shapely.points(px, py), shape) < half
                total += np.where(paved, 0.0, here)
                bare += ~paved
                whole += here
        values[chosen] = np.where(bare > 0, total / np.maximum(bare, 1), whole / len(steps) ** 2)
    return values


def bands(grams):
    """The class index of a deposit; on a limit it belongs beyond it."""
    return np.searchsorted(BANDS_G_M2, grams, side="right").astype(float)


def share_of_runoff(pavement, cells, heights, margin):
    """What the height over the nearest pavement does to runoff."""
    x, y = cells.centres
    nearest, best = np.full((*x.shape, 2), np.nan), np.full(x.shape, np.inf)
    for shape, half in pavement:
        points = shapely.points(x, y)
        off = shapely.distance(points, shape) - half
        foot = shapely.get_coordinates(shapely.line_interpolate_point(shape, shapely.line_locate_point(shape, points)))
        closer = off < best
        nearest[closer] = foot.reshape((*x.shape, 2))[closer]
        best = np.minimum(best, off)
    column, row = ~cells.corner @ (nearest[..., 0], nearest[..., 1])
    rows = np.clip(np.floor(row).astype(int) + margin, 0, heights.shape[0] - 1)
    columns = np.clip(np.floor(column).astype(int) + margin, 0, heights.shape[1] - 1)
    below = heights[rows, columns] - heights[margin:-margin, margin:-margin]
    lower = 1.0 + (HOLLOW_FACTOR - 1.0) * np.minimum(below / HOLLOW_M, 1.0)
    return np.where(below >= 0.0, lower, np.maximum(1.0 + below / ABOVE_M, 0.0))


def concentration(leaching):
    """FAO 29's factor, from memory, unverified: the quarters of the root zone give 40, 30, 20 and 10 % of the water."""
    drawn = np.array([0.0, 0.4, 0.7, 0.9, 1.0])
    return (1.0 / (1.0 - drawn * (1.0 - leaching[..., None]))).mean(axis=-1) / 2.0


def soil_salinity(pieces, pavement, cells, keys, spray, drainage, heights, margin):
    """dS/m of the saturation extract, the mean of the year."""
    root = keys["root_zone"]
    strip = 2.0 * STRIP_M
    share = share_of_runoff(pavement, cells, heights, margin)

    def salt(piece, x, y):
        return piece.applied_g_m * RUNOFF_SHARE / 2.0 * piece.runoff(x, y)

    def water(piece, x, y):
        return root["pavement_runoff_mm"] * piece.half_width_m * RUNOFF_SHARE * piece.runoff(x, y)

    grams = spray + means(pieces, pavement, cells, salt, strip) * share
    litres = root["water_surplus_mm"] + means(pieces, pavement, cells, water, strip) * share
    known = ~np.isnan(drainage)
    leaching = np.where(known, LEACHING[np.where(known, drainage, 0).astype(int)], np.nan)
    ece = concentration(leaching) * grams / litres * 1000.0 / MG_PER_LITRE
    return np.where(grams > 0.0, ece, 0.0)
