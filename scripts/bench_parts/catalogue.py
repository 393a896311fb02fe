"""The county's catalogue: made-up species, whose limits are those of the sample catalogue, shifted."""

import csv
import random as chance
from pathlib import Path

SAMPLE = Path(__file__).resolve().parents[2] / "sample-data" / "catalogue"
FACTORS = ["drainage", "ph", "canopy", "spray_salt", "slope"]


def write(folder: Path, species: int, seed: int) -> None:
    """Writes species.csv, tolerances.csv and sources.csv. The first ones have the sample's own limits."""
    folder.mkdir(parents=True, exist_ok=True)
    sample = _rows(SAMPLE / "species.csv")
    opinions = [row for row in _rows(SAMPLE / "tolerances.csv") if row["factor"] in FACTORS]
    random = chance.Random(seed)
    names, tolerances = [], []
    for number in range(1, species + 1):
        model = sample[(number - 1) % len(sample)]
        shift = 0.0 if number <= len(sample) else 1.0
        shifts = {factor: shift * random.uniform(-1, 1) for factor in FACTORS}
        species_id = f"bench-{number}"
        names.append([species_id, f"bench{number} species", f"bench species {number}", model["form"]])
        for row in opinions:
            if row["species"] == model["id"]:
                response = shifted(row["response"], row["factor"], shifts[row["factor"]])
                tolerances.append([species_id, row["factor"], row["given"], response, "invented"])
    _write(folder / "species.csv", ["id", "scientific_name", "common_name", "form"], names)
    _write(folder / "tolerances.csv", ["species", "factor", "given", "response", "source"], tolerances)
    head = ["id", "kind", "title", "author", "year", "publisher", "note"]
    _write(folder / "sources.csv", head, [["invented", "from memory", "Invented for timing", "", "", "", ""]])


def shifted(response: str, factor: str, shift: float) -> str:
    """A response with its limits moved by a share of what is plausible; scores of classes move by up to 0.1."""
    word, *parts = response.split(" ")
    if shift == 0:
        return response
    if word == "classes":
        pairs = [part.rsplit("=", 1) for part in response[len(word) :].split(";")]
        scores = [min(1.0, max(0.0, float(score) + 0.1 * shift)) for _, score in pairs]
        return "classes " + "; ".join(f"{name.strip()}={score:.2f}" for (name, _), score in zip(pairs, scores))
    if word != "curve":
        raise ValueError(f"the sample catalogue has a response that the county does not shift: {response}")
    pairs = [part.split(":") for part in parts]
    return "curve " + " ".join(f"{_moved(float(value), factor, shift):g}:{score}" for value, score in pairs)


def _moved(value: float, factor: str, shift: float) -> float:
    match factor:
        case "ph":
            return round(value + 0.3 * shift, 2)
        case "canopy":
            # The ends of the scale stay where they are.
            return round(value + 16 * shift * value * (100 - value) / 2500, 1)
        case _:
            return round(value * (1 + 0.25 * shift), 1)


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open(newline="", encoding="utf-8") as lines:
        return list(csv.DictReader(lines))


def _write(path: Path, head: list[str], rows: list[list[str]]) -> None:
    with path.open("w", newline="", encoding="utf-8") as lines:
        csv.writer(lines, lineterminator="\n").writerows([head, *rows])
