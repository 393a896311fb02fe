"""Fractal ground: waves of random height at fixed wavelengths, summed.

The wavelengths are fixed in cells, so that a county of any size has the same ground within a given distance, and a
strip of rows needs no other strip: any size fits in memory.
"""

import numpy as np


class Waves:
    """A random surface of mean 0, cut from wavelengths that halve from the longest to the shortest."""

    def __init__(self, side: int, seed: int, longest: int, shortest: int, roughness: float):
        """Amplitudes go as wavelength to the power of `roughness`, that of the longest is 1."""
        self.side = side
        self.waves = []
        wavelength = longest
        while wavelength >= shortest:
            knots = side // wavelength + 5
            heights = np.random.default_rng([seed, wavelength]).standard_normal((knots, knots), dtype=np.float32)
            heights *= np.float32((wavelength / longest) ** roughness)
            self.waves.append((wavelength, heights))
            wavelength //= 2

    def strip(self, first: int, rows: int) -> np.ndarray:
        """The surface in some rows."""
        surface = np.zeros((rows, self.side), dtype=np.float32)
        for wavelength, heights in self.waves:
            knots, weights = _spline(np.arange(first, first + rows), wavelength)
            lines = sum(weights[tap][:, None] * heights[knots + tap] for tap in range(4))
            knots, weights = _spline(np.arange(self.side), wavelength)
            for tap in range(4):
                surface += np.take(lines, knots + tap, axis=1) * weights[tap]
        return surface


def _spline(cells: np.ndarray, wavelength: int) -> tuple[np.ndarray, list[np.ndarray]]:
    """For each cell the first of four knots, and the weights of the four: the uniform cubic B-spline."""
    at = (cells + 0.5) / wavelength
    knot = np.floor(at).astype(np.intp)
    t = (at - knot).astype(np.float32)
    weights = [(1 - t) ** 3, 3 * t**3 - 6 * t**2 + 4, -3 * t**3 + 3 * t**2 + 3 * t + 1, t**3]
    return knot, [weight / np.float32(6) for weight in weights]
