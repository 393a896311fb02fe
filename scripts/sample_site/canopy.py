"""The canopy: per cent cover of trees at each point, noise included."""

import numpy as np

from . import lines
from .land import RIDGE, creek_x, distance_to, highway_y, rolling, step


def cover_pct(x, y, seed):
    """Per cent cover without noise."""
    rng = np.random.default_rng([seed, 2])
    from_creek = x - creek_x(y)
    ragged = 22.0 * rolling(x, y, rng, 18, 60.0, 260.0)
    wood = 84.0 * step(from_creek + ragged, 120.0, 165.0) * step(y + ragged, 560.0, 610.0)
    gaps = 1.0 - 0.35 * step(rolling(x, y, rng, 30, 45.0, 120.0), 1.1, 1.9)

    # Savanna: clumps of trees scattered on the ground between ridge and creek.
    clumps = step(rolling(x, y, rng, 40, 40.0, 95.0), 0.3, 1.4)
    between = step(y, 640.0, 760.0) * step(-from_creek, 40.0, 120.0) * (1.0 - step(-from_creek, 430.0, 560.0))
    savanna = between * (12.0 + 45.0 * clumps)

    bank = 58.0 * np.exp(-((from_creek / 24.0) ** 2)) * step(rolling(x, y, rng, 30, 60.0, 160.0), -0.4, 0.6)
    bank = bank * step(y, 330.0, 420.0)
    oaks = 16.0 * np.exp(-((distance_to(RIDGE, x, y) / 40.0) ** 2)) * clumps
    yard = 70.0 * np.exp(-((distance_to(lines.farmyard_trees(), x, y) / 32.0) ** 2))
    cover = 3.0 + np.maximum.reduce([wood * gaps, savanna, bank, oaks, yard])

    # No trees on roads and in the pond.
    cover = cover * step(np.abs(y - highway_y(x)), 8.0, 24.0)
    cover = cover * step(distance_to(lines.lane(), x, y), 3.0, 12.0)
    return cover * step(distance_to(lines.pond(), x, y), 0.0, 8.0)


def noisy_pct(x, y, seed, spread=3.0):
    """Whole per cent as a sensor would give it: noise on each cell, 255 in the hole."""
    rng = np.random.default_rng([seed, 3])
    noise = rng.normal(0.0, spread, size=np.shape(x))
    percent = np.clip(np.rint(cover_pct(x, y, seed) + noise), 0, 100).astype(np.uint8)
    percent[lines.canopy_hole(x, y)] = 255
    return percent
