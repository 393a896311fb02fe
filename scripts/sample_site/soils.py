"""The soil map: polygons that share their borders and nowhere overlap.

Shapes are laid on top of each other like cut paper, all their outlines are
noded together, and each piece goes to the topmost shape that covers it.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon, box

from . import lines
from .land import DRAW, RIDGE, creek_x


@dataclass
class Unit:
    """One soil polygon with what a survey would say of it."""

    code: str
    name: str
    drainage: str | None
    texture: str | None
    flooding: str | None
    ph: float | None
    shape: Polygon


def beside_creek(from_m, to_m, south, north):
    """The strip between two offsets from the creek (east positive)."""
    y = np.linspace(south, north, 60)
    near = np.column_stack([creek_x(y) + from_m + 14.0 * np.sin(y / 57.0), y])
    far = np.column_stack([creek_x(y) + to_m + 18.0 * np.sin(y / 83.0 + 1.0), y])
    return Polygon(np.vstack([near, far[::-1]]))


def blob(points, round_m=40.0):
    """A polygon with rounded corners and a winding outline, as a surveyor would draw it."""
    rounded = Polygon(points).buffer(-round_m / 2).buffer(round_m).buffer(-round_m / 2)
    return shapely.transform(rounded.simplify(0.5).segmentize(25.0), wind)


def wind(xy):
    """Shifts points by up to some 15 m, neighbours alike."""
    x, y = xy[:, 0], xy[:, 1]
    aside = 9.0 * np.sin(x / 47.0 + y / 61.0) + 6.0 * np.sin(y / 29.0 - x / 35.0)
    return np.column_stack([x + aside, y + 9.0 * np.sin(x / 58.0 - y / 43.0) + 6.0 * np.sin(x / 31.0 + 2.0)])


def layers():
    """The units from the bottom of the pile to the top."""
    creek = LineString(
        np.column_stack([creek_x(np.arange(-90.0, 1300.0, 15.0)), np.arange(-90.0, 1300.0, 15.0)])
    )
    north_creek = shapely.intersection(creek.buffer(24.0), box(0, 760, 1500, 1290))
    sand = blob([(-75, 40), (560, 50), (640, 190), (600, 400), (430, 480), (200, 470), (-75, 520)], 90.0)
    flat = blob([(880, -140), (1620, -140), (1580, 440), (1290, 470), (1050, 425), (930, 300)], 70.0)
    fill = blob([(1335, 560), (1440, 570), (1430, 660), (1325, 650)], 24.0)
    return [
        Unit(
            "Me",
            "Terrace meadow loam",
            "Moderately well drained",
            "SIL",
            "F0",
            6.6,
            box(-80, -80, 1580, 1280),
        ),
        Unit("Ul", "Upland loam", "Well drained", "L", "F0", 6.3, beside_creek(180, 900, 400, 1300)),
        Unit("Os", "Outwash sand", "Well drained", "LS", "F0", 6.2, sand),
        Unit(
            "Bf",
            "Bluff face",
            "Somewhat excessively drained",
            "SL",
            "F0",
            7.3,
            beside_creek(104, 232, 455, 1300),
        ),
        Unit(
            "Vf",
            "Valley floor",
            "Somewhat poorly drained",
            "SIL",
            "F2",
            7.0,
            beside_creek(-125, 118, -90, 1300),
        ),
        Unit("Pf", "Clay flat", "Poorly drained", "SICL", "F1", 7.1, flat),
        Unit("Gr", "Gravel ridge", "Excessively drained", "S", "F0", 7.2, RIDGE.buffer(40.0)),
        Unit("Al", "Creek alluvium", "Poorly drained", "SIL", "F3", 6.9, creek.buffer(24.0)),
        Unit("Ax", "Creek alluvium, pH not measured", "Poorly drained", "SIL", "F3", None, north_creek),
        Unit("Dw", "Wooded draw", "Somewhat poorly drained", "SIL", "F1", 5.7, DRAW.buffer(34.0)),
        Unit("Mp", "Pond margin muck", "Very poorly drained", None, "F3", 6.8, lines.pond().buffer(20.0)),
        Unit("Ms", "Seep muck", "Very poorly drained", None, "F1", 6.5, lines.seep()),
        Unit("Fx", "Filled ground, not surveyed", None, None, None, None, fill),
    ]


def soil_map():
    """The units cut to a coverage: one row a polygon, outlines to the centimetre."""
    pile = layers()
    frame = box(-60, -60, 1560, 1260)
    outlines = [shapely.set_precision(unit.shape, 0.01).intersection(frame).boundary for unit in pile]
    noded = shapely.unary_union([*outlines, frame.boundary], grid_size=0.01)
    pieces = [piece for piece in shapely.polygonize([noded]).geoms if piece.area > 0]
    belongs = [[] for _ in pile]
    for piece in pieces:
        inside = piece.representative_point()
        top = max(i for i, unit in enumerate(pile) if unit.shape.contains(inside))
        belongs[top].append(piece)

    rows = []
    for unit, own in zip(pile, belongs, strict=True):
        whole = shapely.coverage_union_all(own)
        parts = sorted(shapely.get_parts(whole), key=lambda part: (-part.bounds[3], part.bounds[0]))
        rows.extend((unit, shapely.normalize(part)) for part in parts)
    return rows
