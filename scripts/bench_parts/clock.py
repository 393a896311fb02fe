"""Where a peer script's time goes, and what it hands to the comparison."""

import json
import time
from pathlib import Path

import numpy as np


class Clock:
    """Laps since the start."""

    def __init__(self) -> None:
        self._last = time.perf_counter()
        self.laps: list[tuple[str, float]] = []

    def lap(self, stage: str) -> None:
        """Ends a lap and names it."""
        now = time.perf_counter()
        self.laps.append((stage, now - self._last))
        self._last = now


def hand_over(folder: Path, clock: Clock, polygons: int, class_cells: np.ndarray) -> None:
    """Writes seconds by stage, and for each species the cells where it is known by class: N, S3, S2, S1."""
    told = {"stages": clock.laps, "polygons": polygons, "class_cells": class_cells.tolist()}
    (folder / "told.json").write_text(json.dumps(told))


def hand_over_sets(folder: Path, suits: np.ndarray, unknown: np.ndarray) -> None:
    """Writes the two sets of each cell, for a comparison cell by cell."""
    np.save(folder / "suits.npy", suits)
    np.save(folder / "unknown.npy", unknown)
