"""The shape of the ground: a creek valley, a terrace, a gravel ridge, a bluff.

Works in local metres, x to the east and y to the north, with the site within
0 to 1500 by 0 to 1200. Knows no CRS and no file.
"""

import numpy as np
from shapely.geometry import LineString

WIDTH_M = 1500.0
HEIGHT_M = 1200.0

RIDGE = LineString([(120, 560), (190, 640), (285, 700), (350, 790), (450, 850), (520, 950), (600, 1010)])
DRAW = LineString([(1120, 1140), (1128, 1050), (1105, 960), (1120, 870), (1150, 800)])
SEEP = (300.0, 262.0)


def creek_x(y):
    """Where the creek runs at a given y: two meanders laid over each other."""
    return 820.0 + 60.0 * np.sin(2 * np.pi * y / 520.0 + 0.6) + 22.0 * np.sin(2 * np.pi * y / 190.0)


def highway_y(x):
    """Where the highway runs at a given x."""
    return 210.0 + 22.0 * np.sin(x / 400.0)


def step(value, start, end):
    """From 0 at `start` to 1 at `end`, smooth at both."""
    t = np.clip((value - start) / (end - start), 0.0, 1.0)
    return t * t * (3.0 - 2.0 * t)


def rolling(x, y, rng, waves, shortest_m, longest_m):
    """A field of mean 0 and about unit spread, from waves of random direction."""
    field = np.zeros(np.broadcast(x, y).shape)
    for _ in range(waves):
        length = np.exp(rng.uniform(np.log(shortest_m), np.log(longest_m)))
        direction, phase = rng.uniform(0.0, 2 * np.pi, size=2)
        along = x * np.cos(direction) + y * np.sin(direction)
        field = field + np.sin(2 * np.pi * along / length + phase)
    return field * np.sqrt(2.0 / waves)


def distance_to(line, x, y):
    """Distance from each point to a line, metres."""
    import shapely

    return shapely.distance(shapely.points(x, y), line)


def elevation_m(x, y, seed):
    """Metres above sea level at each point."""
    rng = np.random.default_rng([seed, 1])
    from_creek = x - creek_x(y)
    floor = 248.0 + 0.004 * y + 0.0035 * np.abs(from_creek)
    channel = -1.6 * np.exp(-((from_creek / 9.0) ** 2))
    terrace = 5.0 * step(-from_creek, 110.0, 210.0)
    bluff = 24.0 * step(from_creek, 108.0, 228.0) * step(y, 440.0, 640.0)
    upland = 0.012 * np.maximum(from_creek - 228.0, 0.0) * step(y, 440.0, 640.0)
    ridge = 12.0 * np.exp(-((distance_to(RIDGE, x, y) / 42.0) ** 2))
    draw = -3.0 * np.exp(-((distance_to(DRAW, x, y) / 30.0) ** 2))
    seep = -2.2 * np.exp(-(((x - SEEP[0]) / 30.0) ** 2 + ((y - SEEP[1]) / 28.0) ** 2))
    # The flat in the south-east stays flat: the ground rolls elsewhere only.
    flat = step(from_creek, 60.0, 140.0) * (1.0 - step(y, 380.0, 480.0))
    roll = (1.0 - 0.85 * flat) * 0.9 * rolling(x, y, rng, 24, 90.0, 500.0)
    return floor + channel + terrace + bluff + upland + ridge + draw + seep + roll * step(np.abs(from_creek), 0, 120)
