"""Curves are written short and still drawn to a fraction of a line's width."""

import math
import re
from itertools import pairwise

import pytest

from site_build.charts.line_chart import STRAIGHT, path_data, straightened

WAVE = [(x / 2, 150 + 140 * math.exp(-x / 300) * math.cos(x / 25)) for x in range(900)]
CORNER = [(float(x), 0.0 if x < 200 else 90.0) for x in range(400)]


def read(data):
    """The points of path data made of one move and relative lines (SVG 2, 9.3)."""
    numbers = [float(each) for each in re.findall(r"-?[\d.]+", data)]
    points = [(numbers[0], numbers[1])]
    for across, down in zip(numbers[2::2], numbers[3::2], strict=True):
        points.append((points[-1][0] + across, points[-1][1] + down))
    return points


def away(point, line):
    """How far ``point`` is from the nearest place of a line of straight pieces."""
    return min(_from_piece(point, one, other) for one, other in pairwise(line))


def _from_piece(point, one, other):
    across, down = other[0] - one[0], other[1] - one[1]
    share = ((point[0] - one[0]) * across + (point[1] - one[1]) * down) / (across**2 + down**2)
    share = min(max(share, 0.0), 1.0)
    return math.hypot(point[0] - one[0] - share * across, point[1] - one[1] - share * down)


@pytest.mark.parametrize("points", [WAVE, CORNER, WAVE[:2]])
def test_written_curve_is_the_curve(points):
    """Every computed point lies within the tolerance and half a written digit of the drawn line; the ends stay."""
    kept = straightened(points)
    drawn = read(path_data(kept))
    assert kept[0] == points[0] and kept[-1] == points[-1]
    assert max(away(point, drawn) for point in points) <= STRAIGHT + math.hypot(0.05, 0.05) + 1e-9


def test_straight_points_are_left_out():
    """A straight run is its two ends, a corner four points."""
    assert straightened([(float(x), 2.0 * x) for x in range(50)]) == [(0.0, 0.0), (49.0, 98.0)]
    assert len(straightened(CORNER)) == 4
    assert path_data([(1.0, 2.0), (1.04, 2.04)]) == "M1 2"
