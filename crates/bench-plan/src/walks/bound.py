"""Judges a bound by itself: how long a closed walk must be that sees some places.

Shares nothing with the program: sight is an angular sweep over all sides of the map in double precision, ways are those of
a visibility graph over all corners, tested one by one with GEOS, and every order of the places is gone through. Reads
{"rings", "places", "piece"} and prints {"at_least", "at_most", "apart"}: no closed walk that sees the places is shorter than
at_least; one that comes to the edge of what each is seen from is at_most long; apart says whether each place shares no
view with some other one, so that nobody can stay where it is seen.
"""

import itertools
import json
import sys

import numpy as np
import shapely
from shapely.geometry import Polygon


def region(p, starts, ends, extent):
    """The outline of what is seen from p, and its windows: the parts of it along which one looks past a corner."""
    angles = np.unique(np.arctan2(starts[:, 1] - p[1], starts[:, 0] - p[0]))
    nexts = np.roll(angles, -1)
    nexts[-1] += 2 * np.pi
    outline = []
    for first, last in zip(angles, nexts):
        if last - first < 1e-13:
            continue
        a, b = nearest(p, (first + last) / 2, starts, ends, extent)
        outline.append((meet(p, first, a, b), meet(p, last, a, b)))
    windows = []
    for (_, r), (q, _) in zip(outline, outline[1:] + outline[:1]):
        if np.hypot(*(r - q)) > 1e-9 * extent:
            windows.append((r, q))
    return Polygon([point for ends in outline for point in ends]).buffer(0), windows


def nearest(p, angle, starts, ends, extent):
    d = np.array([np.cos(angle), np.sin(angle)])
    e, s = ends - starts, starts - p
    across = d[0] * e[:, 1] - d[1] * e[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (s[:, 0] * e[:, 1] - s[:, 1] * e[:, 0]) / across
        u = (s[:, 0] * d[1] - s[:, 1] * d[0]) / across
    t[~((t > 1e-9 * extent) & (u >= 0) & (u <= 1))] = np.inf
    side = int(np.argmin(t))
    return starts[side], ends[side]


def meet(p, angle, a, b):
    d = np.array([np.cos(angle), np.sin(angle)])
    e, s = b - a, a - p
    return p + (s[0] * e[1] - s[1] * e[0]) / (d[0] * e[1] - d[1] * e[0]) * d


def marks(windows, piece):
    """The middles of pieces of windows, and the longest piece."""
    out, longest = [], 0.0
    for a, b in windows:
        length = float(np.hypot(*(b - a)))
        count = int(np.ceil(length / piece))
        longest = max(longest, length / count)
        out.extend(a + (b - a) * (k + 0.5) / count for k in range(count))
    return np.array(out), longest


def straight(floor, these, those):
    """Straight ways over the floor; infinite where there is none."""
    pairs = np.empty((len(these), len(those), 2, 2))
    pairs[:, :, 0], pairs[:, :, 1] = these[:, None], those[None]
    lines = shapely.linestrings(pairs.reshape(-1, 2, 2))
    free = shapely.covers(floor, lines).reshape(len(these), len(those))
    lengths = np.hypot(*np.moveaxis(pairs[:, :, 0] - pairs[:, :, 1], -1, 0))
    return np.where(free | (lengths == 0), lengths, np.inf)


def least_plus(a, b):
    return np.stack([(row[:, None] + b).min(axis=0) for row in a])


def main():
    asked = json.load(sys.stdin)
    rings = [np.array(ring, dtype=float) for ring in asked["rings"]]
    floor = shapely.make_valid(Polygon(rings[0]))
    floor = floor.difference(shapely.union_all([shapely.make_valid(Polygon(r)) for r in rings[1:]]))
    starts = np.concatenate(rings)
    ends = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
    extent = float(np.max(np.ptp(starts, axis=0)))
    wide = floor.buffer(extent * 1e-9)
    shapely.prepare(wide)
    seen = [region(np.array(p), starts, ends, extent) for p in asked["places"]]
    shared = [[a.intersection(b).area for b, _ in seen] for a, _ in seen]
    apart = all(min(row) <= 1e-9 * floor.area for row in shared)
    cut = [marks(windows, asked["piece"]) for _, windows in seen]
    corners = np.unique(starts, axis=0)
    between = straight(wide, corners, corners)
    for via in range(len(corners)):
        between = np.minimum(between, between[:, via : via + 1] + between[via : via + 1])
    to_corners = [straight(wide, own, corners) for own, _ in cut]
    by_corners = [least_plus(own, between) for own in to_corners]
    count = len(cut)
    ways = {}
    for i, j in itertools.permutations(range(count), 2):
        direct = straight(wide, cut[i][0], cut[j][0])
        ways[i, j] = np.minimum(direct, least_plus(by_corners[i], to_corners[j].T))
    best = np.inf
    for order in itertools.permutations(range(1, count)):
        # The way round does not matter.
        if order[0] > order[-1]:
            continue
        so_far = ways[0, order[0]]
        for i, j in zip(order, order[1:]):
            so_far = least_plus(so_far, ways[i, j])
        best = min(best, float((so_far + ways[order[-1], 0].T).min()))
    # A walk comes in no farther than half a piece from a mark, and goes on from there.
    spare = sum(longest for _, longest in cut)
    print(json.dumps({"at_least": best - spare, "at_most": best, "apart": apart}))


main()
