"""Catalogues of a few lines for the checks. The tolerances in them are invented and say nothing of the plants."""

import csv
from pathlib import Path

NAMES = {
    "panicum-virgatum": ("Panicum virgatum", "switchgrass", "grass"),
    "carex-stricta": ("Carex stricta", "upright sedge", "grass"),
    "asclepias-tuberosa": ("Asclepias tuberosa", "butterfly milkweed", "forb"),
}
SOURCE = "common-practice"


def write_catalogue(folder: Path, responses: dict[str, dict[str, str]]) -> Path:
    """Writes species.csv, tolerances.csv and sources.csv from {species: {factor: response}}."""
    folder.mkdir(parents=True, exist_ok=True)
    table(
        folder / "species.csv",
        ["id", "scientific_name", "common_name", "form"],
        [[name, *NAMES[name]] for name in responses],
    )
    rows = [
        [name, factor, "", response, SOURCE, "invented for a check"]
        for name, opinions in responses.items()
        for factor, response in opinions.items()
    ]
    table(folder / "tolerances.csv", ["species", "factor", "given", "response", "source", "note"], rows)
    head = ["id", "kind", "title", "author", "year", "publisher", "note"]
    table(folder / "sources.csv", head, [[SOURCE, "common practice", "invented for a check", "", "", "", ""]])
    return folder


def table(path: Path, head: list[str], rows: list[list[str]]) -> None:
    """A CSV file."""
    with open(path, "w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(head)
        writer.writerows(rows)
