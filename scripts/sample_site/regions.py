"""Invented counties around the site and records of plants in them, in local metres."""

from shapely.geometry import Point, box


def counties():
    """Key, name and shape: two hold the site, one adjoins them, one does not."""
    return [
        ("001", "Reed County (invented)", box(-14_000, -4_000, -6_000, 5_000)),
        ("003", "Quill County (invented)", box(-6_000, -4_000, 560, 5_000)),
        ("005", "Fen County (invented)", box(560, -4_000, 9_000, 5_000)),
        ("007", "Moss County (invented)", box(12_000, -4_000, 18_000, 5_000)),
    ]


def records():
    """Scientific name and place: drawn by hand, and nobody ever collected there."""
    places = [
        ("Acer rubrum", 1_210, 900),
        ("Quercus macrocarpa", 300, 700),
        ("Carex stricta", 950, 310),
        ("Asclepias incarnata", 3_400, 250),
        ("Asclepias tuberosa", -2_700, 1_800),
        ("Schizachyrium scoparium", 240, 640),
        ("Bouteloua curtipendula", -9_300, 400),
        ("Lindera benzoin", 1_330, 1_010),
        ("Adiantum pedatum", 14_500, 2_000),
    ]
    return [(name, Point(x, y)) for name, x, y in places]
