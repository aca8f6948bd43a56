"""Judges a walk by itself: what is seen from its viewpoints, how long it is, and whether it stays on the floor.

Shares nothing with the program: sight is an angular sweep over all sides of the map in double precision, areas and
unions are GEOS. Reads {"rings", "range", "walk", "viewpoints"} and prints {"length", "unseen_area", "floor_area",
"off_floor", "off_walk"}.
"""

import json
import sys

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon

CIRCLE_QUARTER = 512


def visible(p, starts, ends, corners):
    """The polygon seen from p: between two neighbouring corner directions one side is the nearest."""
    angles = np.unique(np.arctan2(corners[:, 1] - p[1], corners[:, 0] - p[0]))
    nexts = np.roll(angles, -1)
    nexts[-1] += 2 * np.pi
    middles = (angles + nexts) / 2
    nearest = nearest_side(p, middles, starts, ends)
    triangles = []
    for first, last, side in zip(angles, nexts, nearest):
        if side < 0 or last - first < 1e-13:
            continue
        a, b = starts[side], ends[side]
        q, r = meet(p, first, a, b), meet(p, last, a, b)
        triangles.append(Polygon([p, q, r]))
    return triangles


def nearest_side(p, directions, starts, ends):
    """Sides nearer than rounding are passed: behind them is no floor, so nothing is gained."""
    eps = 1e-9 * float(np.max(np.ptp(starts, axis=0)))
    out = np.full(len(directions), -1)
    e = ends - starts
    s = starts - p
    for k, angle in enumerate(directions):
        d = np.array([np.cos(angle), np.sin(angle)])
        across = d[0] * e[:, 1] - d[1] * e[:, 0]
        with np.errstate(divide="ignore", invalid="ignore"):
            t = (s[:, 0] * e[:, 1] - s[:, 1] * e[:, 0]) / across
            u = (s[:, 0] * d[1] - s[:, 1] * d[0]) / across
        t[~((t > eps) & (u >= 0) & (u <= 1))] = np.inf
        side = int(np.argmin(t))
        if np.isfinite(t[side]):
            out[k] = side
    return out


def meet(p, angle, a, b):
    d = np.array([np.cos(angle), np.sin(angle)])
    e, s = b - a, a - p
    across = d[0] * e[1] - d[1] * e[0]
    t = (s[0] * e[1] - s[1] * e[0]) / across
    return p + t * d


def parts_of(triangles):
    """One star-shaped ring out of the sectors, or the sectors one by one where rounding folds the ring over itself.

    They are never united: GEOS may lose needles that share their sides. Taking one after another away is safe.
    """
    ring = []
    for triangle in triangles:
        ring.extend(list(triangle.exterior.coords)[1:3])
    region = Polygon(ring) if len(ring) >= 3 else Polygon()
    return [region] if region.is_valid else triangles


def main():
    asked = json.load(sys.stdin)
    rings = [np.array(ring, dtype=float) for ring in asked["rings"]]
    floor = Polygon(rings[0])
    floor = shapely.make_valid(floor)
    holes = [shapely.make_valid(Polygon(ring)) for ring in rings[1:]]
    if holes:
        floor = floor.difference(shapely.union_all(holes))
    starts = np.concatenate(rings)
    ends = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
    extent = float(np.max(np.ptp(starts, axis=0)))
    walk, viewpoints = asked["walk"], asked["viewpoints"]
    unseen = floor
    for p in viewpoints:
        p = np.array(p, dtype=float)
        for part in parts_of(visible(p, starts, ends, starts)):
            if asked["range"] is not None:
                part = part.intersection(Point(p).buffer(asked["range"], quad_segs=CIRCLE_QUARTER))
            unseen = unseen.difference(part.buffer(extent * 1e-10))
    line = LineString(walk) if len(walk) > 1 else None
    length = sum(
        float(np.hypot(b[0] - a[0], b[1] - a[1])) for a, b in zip(walk, walk[1:])
    )
    closed = len(walk) < 2 or walk[0] == walk[-1]
    wide = floor.buffer(extent * 1e-9)
    off_floor = line.difference(wide).length if line else 0.0
    off_walk = max((line.distance(Point(p)) for p in viewpoints), default=0.0) if line else 0.0
    print(
        json.dumps(
            {
                "length": length,
                "closed": closed,
                "unseen_area": unseen.area,
                "floor_area": floor.area,
                "off_floor": off_floor,
                "off_walk": off_walk,
            }
        )
    )


main()
