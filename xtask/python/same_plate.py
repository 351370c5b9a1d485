"""Holds plates that were stopped and rescued against the undisturbed plate, with shapely as the geometry library.

Reads plates as `crates/rescue/examples/plates.rs` writes them, one a line. A kerf is the torch's path widened by half
its width on either side. Each plate must hold, after the stop and the rescue:

- every part that was not given up, as a piece by itself, of the same shape;
- nothing else, but for the lead-ins of fresh pierces in scrap and the paths that are left uncut for parts given up.

Prints how many were held against each other; ends with status 1 and the differences if any plate is not the same.
"""

import json
import math
import sys

import shapely
from shapely.geometry import LineString, Point, box
from shapely.ops import unary_union

# Paths may differ by this much, in millimetres: what the proof allows a new path to lie from the promised one.
PATH_MM = 0.05
# Corners of a polygon that stands for an arc lie on the arc, and its sides this far off it at most, in millimetres.
FLAT_MM = 0.001
# A kerf's round ends are given by so many corners a quarter turn.
QUARTER = 32


def points(path):
    """The corners of a line of straight pieces that stands for a path."""
    corners = []
    for kind, *numbers in path:
        if kind == "line":
            x0, y0, x1, y1 = numbers
            corners += [(x0, y0), (x1, y1)]
            continue
        x0, y0, cx, cy, sweep = numbers
        radius, begins = math.hypot(x0 - cx, y0 - cy), math.atan2(y0 - cy, x0 - cx)
        step = 2.0 * math.acos(max(0.0, 1.0 - FLAT_MM / max(radius, FLAT_MM)))
        pieces = max(1, math.ceil(abs(sweep) / step))
        for k in range(pieces + 1):
            angle = begins + sweep * k / pieces
            corners.append((cx + radius * math.cos(angle), cy + radius * math.sin(angle)))
    return corners


def kerf(path, half_mm):
    """The metal that a path takes away."""
    corners = points(path)
    corners = [p for k, p in enumerate(corners) if k == 0 or p != corners[k - 1]]
    line = LineString(corners) if len(corners) > 1 else Point(corners[0])
    return line.buffer(half_mm, quad_segs=QUARTER)


def kerfs(paths, half_mm):
    return unary_union([kerf(path, half_mm) for path in paths if path])


def pieces(metal):
    return [piece for piece in getattr(metal, "geoms", [metal]) if not piece.is_empty]


def piece_at(metal_pieces, place):
    """The piece of metal in which a place lies."""
    found = [piece for piece in metal_pieces if piece.contains(Point(place))]
    return found[0] if found else None


def wider_than(difference, mm):
    """What of a difference is wider than so much."""
    return difference.buffer(-mm / 2.0)


def differences(plate):
    """What is not as it should be, a sentence each; and how many parts were compared."""
    half = plate["kerf_mm"] / 2.0
    sheet = box(-50.0, -50.0, plate["plate_mm"][0] + 50.0, plate["plate_mm"][1] + 50.0)
    undisturbed = sheet.difference(kerfs(plate["undisturbed"], half))
    rescued = sheet.difference(kerfs(plate["before"] + plate["rescue"], half))
    was, now = pieces(undisturbed), pieces(rescued)
    # A sliver this wide lies between two edges that are off by what a path may be off, one on either side.
    sliver = 2.0 * PATH_MM + 2.0 * FLAT_MM
    wrong = []
    for place in plate["parts"]:
        before, after = piece_at(was, place), piece_at(now, place)
        if before is None:
            wrong.append(f"the undisturbed plate has no part at {place}")
        elif after is None:
            wrong.append(f"the rescue cut the part at {place}")
        else:
            off = wider_than(before.symmetric_difference(after), sliver)
            if not off.is_empty:
                wrong.append(f"the part at {place} differs by {off.area:.3f} mm² at {off.centroid.wkt}")
    meant = [kerf(path, half + PATH_MM) for path in plate["leads"] + plate["left"] if path]
    rest = undisturbed.symmetric_difference(rescued)
    rest = wider_than(rest.difference(unary_union(meant)) if meant else rest, sliver)
    if not rest.is_empty:
        wrong.append(f"elsewhere the plates differ by {rest.area:.3f} mm² at {rest.centroid.wkt}")
    return wrong, len(plate["parts"])


def main():
    plates = parts = failures = leads = 0
    for line in sys.stdin:
        plate = json.loads(line)
        wrong, compared = differences(plate)
        plates, parts, leads = plates + 1, parts + compared, leads + len(plate["leads"])
        if wrong:
            failures += 1
            print(f"{plate['name']}\n  " + "\n  ".join(wrong))
    print(f"shapely {shapely.__version__}: {plates} plates after stop and rescue, {parts} parts, "
          f"{leads} fresh lead-ins, {failures} not as undisturbed")
    # With nothing to compare nothing has been checked.
    return 1 if failures or parts == 0 else 0


if __name__ == "__main__":
    sys.exit(main())
