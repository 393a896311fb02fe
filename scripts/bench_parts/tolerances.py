"""What the peer scripts know of the catalogue: scores and what is unknown, by factor.

Follows the meaning that groundfit's own documents give: the lowest score decides; a species without an opinion is
unknown on a decisive factor (drainage, pH, canopy, spray salt from moderate up) and not limited on a helpful one (slope).
"""

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from .soils import DRAINAGE

SALT = ["none", "slight", "moderate", "heavy", "severe"]
SALT_ENDS_M = [11, 21, 46, 121]
SALT_BY_DISTANCE = [4, 3, 2, 1, 0]
HARMLESS_SALT = 2
WANTED = 0.60
CLASS_LIMITS = [0.40, 0.60, 0.85]


@dataclass
class Tolerance:
    """One species: a curve is a pair of arrays (values, scores); not a number stands for unknown."""

    name: str
    drainage: np.ndarray
    ph: tuple[np.ndarray, np.ndarray]
    canopy: tuple[np.ndarray, np.ndarray]
    salt: np.ndarray
    slope: tuple[np.ndarray, np.ndarray] | None

    def slope_scores(self, values: np.ndarray) -> np.ndarray | None:
        """Scores of slopes, or nothing where the species has no opinion."""
        return None if self.slope is None else along(self.slope, values)


def along(curve: tuple[np.ndarray, np.ndarray], values: np.ndarray) -> np.ndarray:
    """Scores of values on a curve, of nine decimals as scores are; not a number stays so."""
    return np.round(np.interp(values.astype(np.float64), *curve), 9)


def read(county: Path) -> list[Tolerance]:
    """The tolerances of all species, in the catalogue's order."""
    with (county / "catalogue" / "species.csv").open(newline="", encoding="utf-8") as lines:
        species = [row["id"] for row in csv.DictReader(lines)]
    with (county / "catalogue" / "tolerances.csv").open(newline="", encoding="utf-8") as lines:
        opinions = list(csv.DictReader(lines))
    return [_of(name, [row for row in opinions if row["species"] == name]) for name in species]


def _of(name: str, opinions: list[dict[str, str]]) -> Tolerance:
    by_factor = {factor: [row for row in opinions if row["factor"] == factor] for factor in ("spray_salt", "slope")}
    single = {row["factor"]: row for row in opinions}
    for factor in ("drainage", "ph", "canopy"):
        if single[factor]["given"]:
            raise ValueError(f"{name} has a condition on its {factor}, and the peer scripts know none there")
    slope = by_factor["slope"]
    return Tolerance(
        name,
        _classes(single["drainage"]["response"], DRAINAGE),
        _curve(single["ph"]["response"]),
        _curve(single["canopy"]["response"]),
        _salt(by_factor["spray_salt"]),
        _curve(slope[0]["response"]) if slope else None,
    )


def _curve(response: str) -> tuple[np.ndarray, np.ndarray]:
    points = np.array([[float(number) for number in part.split(":")] for part in response.split()[1:]])
    return points[:, 0].copy(), points[:, 1].copy()


def _classes(response: str, names: list[str]) -> np.ndarray:
    scores = np.full(len(names), np.nan)
    for part in response.removeprefix("classes").split(";"):
        name, score = part.rsplit("=", 1)
        scores[names.index(name.strip())] = float(score)
    return scores


def _salt(opinions: list[dict[str, str]]) -> np.ndarray:
    """Scores by drainage (the last row: not known) and class of spray salt."""
    scores = np.full((len(DRAINAGE) + 1, len(SALT)), np.nan)
    scores[:, :HARMLESS_SALT] = 1.0
    for row in opinions:
        ground = range(len(DRAINAGE) + 1)
        if row["given"]:
            factor, names = row["given"].split(":")
            if factor.strip() != "drainage":
                raise ValueError(f"the peer scripts know conditions on drainage only, not on {factor}")
            ground = [DRAINAGE.index(word.strip()) for word in names.split(",")]
        scores[list(ground)] = _classes(row["response"], SALT)
    return scores
