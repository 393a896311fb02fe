"""Whether groundfit and a peer say the same: cell by cell on a small county, by species on any."""

from pathlib import Path

import numpy as np
import rasterio

from .tolerances import WANTED

UNKNOWN = 255
SHOWN = 5
# A stored byte is the rating x 200, rounded down.
WANTED_BYTE = round(WANTED * 200)


def cell_by_cell(ratings: Path, peer: Path) -> tuple[int, list[str]]:
    """Counts the cells whose sets differ from a peer's, and shows the first ones."""
    suits, unknown = np.load(peer / "suits.npy"), np.load(peer / "unknown.npy")
    differ = np.zeros(suits.shape, dtype=np.uint64)
    shown: list[str] = []
    with rasterio.open(ratings) as file:
        for number, species in enumerate(file.descriptions):
            byte = file.read(number + 1)
            bit = np.uint64(number)
            mine = np.where(byte == UNKNOWN, 2, byte >= WANTED_BYTE)
            theirs = np.where(unknown >> bit & np.uint64(1), 2, suits >> bit & np.uint64(1))
            apart = mine != theirs
            differ |= apart.astype(np.uint64) << bit
            for row, col in np.argwhere(apart)[: SHOWN - len(shown)]:
                words = ["does not suit", "suits", "unknown"]
                x, y = file.xy(row, col)
                shown.append(
                    f"row {row} column {col} (x {x} y {y}), {species}: groundfit says "
                    f"{words[int(mine[row, col])]} (byte {byte[row, col]}), the peer {words[int(theirs[row, col])]}"
                )
    return int(np.count_nonzero(differ)), shown


def cells_by_species(merges: Path) -> tuple[np.ndarray, np.ndarray]:
    """Cells where each species is known and where it suits, as rated, summed over the zones of a merge log."""
    with merges.open() as lines:
        if (head := next(lines).split())[0] != "groundfit-merges":
            raise RuntimeError(f"{merges} is no merge log: it begins with {head}")
        while not (line := next(lines)).startswith("species "):
            pass
        species = int(line.split()[1])
        for _ in range(species):
            next(lines)
        zones = int(next(lines).split()[1])
        known_cells, suited_cells = np.zeros(species, dtype=np.int64), np.zeros(species, dtype=np.int64)
        for _ in range(zones + 1):
            place, known, suits, *_ = next(lines).split("|")
            cells = place.split()[-1]
            known = [cells if word == "=" else word for word in known.split()]
            suits = [whole if word == "=" else word for word, whole in zip(suits.split(), known, strict=True)]
            known_cells += np.array(known, dtype=np.int64)
            suited_cells += np.array(suits, dtype=np.int64)
    return known_cells, suited_cells


def by_species(merges: Path, told: dict) -> list[str]:
    """The species for which the numbers of cells differ, told."""
    known, suits = cells_by_species(merges)
    theirs = np.array(told["class_cells"])
    their_known, their_suits = theirs.sum(axis=1), theirs[:, 2:].sum(axis=1)
    return [
        f"species {number + 1}: groundfit has {known[number]} cells known and {suits[number]} suited, "
        f"the peer {their_known[number]} and {their_suits[number]}"
        for number in np.flatnonzero((known != their_known) | (suits != their_suits))
    ]
