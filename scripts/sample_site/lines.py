"""Roads, creek, pond and the boundary, in local metres."""

import numpy as np
from shapely.geometry import LineString, Point, Polygon

from .land import creek_x, highway_y


def highway():
    """The salted highway, from beyond the west edge to beyond the east edge."""
    x = np.arange(-220.0, 1721.0, 40.0)
    return LineString(np.column_stack([x, highway_y(x)]))


def lane():
    """The local road: from the highway north, up the bluff by a side valley."""
    start = (1300.0, float(highway_y(1300.0)))
    return LineString(
        [
            start,
            (1306, 300),
            (1322, 390),
            (1320, 480),
            (1296, 570),
            (1290, 680),
            (1330, 800),
            (1352, 930),
            (1340, 1080),
            (1362, 1260),
        ]
    )


def creek():
    """The creek, from the north edge to the south edge."""
    y = np.arange(1260.0, -61.0, -20.0)
    return LineString(np.column_stack([creek_x(y), y]))


def pond():
    """A pond on the poorly drained flat."""
    angle = np.linspace(0.0, 2 * np.pi, 28, endpoint=False)
    reach = 1.0 + 0.16 * np.sin(2 * angle + 0.4) + 0.08 * np.sin(3 * angle)
    return Polygon(
        np.column_stack([1110.0 + 44.0 * reach * np.cos(angle), 330.0 + 27.0 * reach * np.sin(angle)])
    )


def boundary():
    """The site: no rectangle, with a farmyard that is not part of it."""
    outside = [
        (40, 95),
        (410, 60),
        (700, 88),
        (960, 40),
        (1330, 62),
        (1462, 130),
        (1470, 520),
        (1425, 640),
        (1448, 1010),
        (1290, 1150),
        (930, 1168),
        (840, 1080),
        (655, 1140),
        (420, 1120),
        (230, 985),
        (60, 900),
        (28, 470),
    ]
    farmyard = [(1150, 455), (1250, 450), (1262, 528), (1158, 540)]
    return Polygon(outside, [farmyard])


def seep():
    """The small wet corner beside the highway: about 0.15 ha."""
    from .land import SEEP

    angle = np.linspace(0.0, 2 * np.pi, 18, endpoint=False)
    reach = 1.0 + 0.12 * np.sin(2 * angle + 1.0) + 0.06 * np.sin(5 * angle)
    return Polygon(
        np.column_stack([SEEP[0] + 24.0 * reach * np.cos(angle), SEEP[1] + 19.5 * reach * np.sin(angle)])
    )


def canopy_hole(x, y):
    """Where the canopy layer has no data: as if under a cloud."""
    return ((x - 560.0) / 62.0) ** 2 + ((y - 640.0) / 44.0) ** 2 < 1.0


def farmyard_trees():
    """Centre of the shelter trees at the farmyard."""
    return Point(1205, 495)
