"""Shapes of the trade: sizes from masses, and the solids that stand for them, against tables and an eigenvalue solver."""

from math import pi, sqrt

import numpy as np
import pytest
from scipy.sparse import diags
from scipy.sparse.linalg import eigsh

from handbook.base.ranges import Range
from handbook.base.units import Quantity
from handbook.page.method import PieceShape
from handbook.page.piece_size import BUILDS, solid_of, with_sizes


def pieces(shape, mass=None, **lengths):
    """A pieces block of this shape, mass in kg, lengths in mm."""
    values = dict.fromkeys(("thickness", "width", "length"))
    for name, value in lengths.items():
        values[name] = Quantity(low=value / 1000, high=value / 1000, dimension="length", text=f"{value} mm")
    weight = mass and Quantity(low=mass, high=mass, dimension="mass", text=f"{mass} kg")
    return PieceShape(shape=shape, mass=weight, skin="off", origin="unknown", form="whole", sizes=(), line=1, **values)


def solid(shape, mass=None, **lengths):
    """The solid that the models take."""
    known = with_sizes(pieces(shape, mass, **lengths))
    return solid_of(known, Range(known.thickness.low, known.thickness.middle, known.thickness.high))


def slowest_rate(axes, cells=24):
    """Slowest rate of conduction [x alpha / a^2] of an ellipsoid with half axes 1, b, c held at its surface: finite
    differences on the grid points inside one octant, by SciPy's eigenvalue solver."""
    step = 1.0 / cells
    counts = [int(axis * cells) + 1 for axis in axes]
    centres = [(np.arange(count) + 0.5) * step for count in counts]
    x, y, z = np.meshgrid(*centres, indexing="ij")
    inside = ((x / axes[0]) ** 2 + (y / axes[1]) ** 2 + (z / axes[2]) ** 2 < 1.0).ravel()
    size, rows = inside.size, np.arange(inside.size)
    matrix = diags([np.zeros(size)], [0], format="csr")
    for axis, count in enumerate(counts):
        stride = int(np.prod(counts[axis + 1 :]))
        place = rows // stride % count
        main = np.where(place == 0, 1.0, 2.0)  # no flow through the planes of symmetry
        off = np.where(place[:-stride] < count - 1, -1.0, 0.0)
        matrix = matrix + diags([main, off, off], [0, stride, -stride], format="csr") / step**2
    own = matrix[inside][:, inside]
    # By products with the matrix alone: its factors, in three dimensions, take ten times as long.
    return float(eigsh(own, k=1, which="SA", tol=1e-6, return_eigenvectors=False)[0])


@pytest.mark.parametrize("axes", [(1.0, 1.0, 1.0), (1.0, 1.35, 2.2), (1.0, 1.5, 2.2), (1.0, 1.3, 5.0)])
def test_the_sphere_of_an_ellipsoid_cools_as_slowly(axes):
    """Rate of the sphere with 3 / R^2 = 1 / a^2 + 1 / b^2 + 1 / c^2 beside that of the ellipsoid itself, within 12 %."""
    found = solid("oval", thickness=100, width=100 * axes[1], length=100 * axes[2])
    rate = pi**2 * (0.1 / found.thickness.typical) ** 2
    assert rate == pytest.approx(slowest_rate(axes), rel=0.12)


@pytest.mark.parametrize("name", ["joint", "bird"])
def test_the_sphere_has_the_surface_of_its_ellipsoid(name):
    """Surface per volume within 3 % of Knud Thomsen's formula for ellipsoids (from memory, itself within 1.1 %)."""
    build = BUILDS[name]
    b, c, p = build.width, build.length, 1.6075
    area = 4 * pi * ((b**p + c**p + (b * c) ** p) / 3) ** (1 / p)
    ellipsoid = area / (4 / 3 * pi * b * c)
    sphere = 3.0 / sqrt(3.0 / (1 + b**-2 + c**-2))
    assert sphere == pytest.approx(ellipsoid, rel=0.03)


@pytest.mark.parametrize(
    ("shape", "mass", "printed"),
    [("joint", 6.8, 0.203), ("joint", 5.44, 0.165), ("joint", 3.75, 0.13), ("roll", 2.7, 0.11), ("roll", 4.54, 0.114)],
)
def test_thickness_from_the_mass_is_near_the_printed_one(shape, mass, printed):
    """Diameters and heights of cooked joints: James and James, Meat Refrigeration (2002), tables 16.4 and 16.7."""
    found = with_sizes(pieces(shape, mass)).thickness
    assert found.is_estimated
    assert found.low * 0.95 <= printed <= found.high * 1.05


@pytest.mark.parametrize(("mass", "printed"), [(0.57, 0.35), (2.7, 0.76)])
def test_a_tenderloin_is_as_long_as_printed(mass, printed):
    """Pork of 450 to 680 g, 30 to 40 cm; beef of 2.3 to 3.2 kg, about 76 cm (a page for home cooks, read), within 17 %."""
    thickness = with_sizes(pieces("tenderloin", mass)).thickness.middle
    assert BUILDS["tenderloin"].length * thickness == pytest.approx(printed, rel=0.17)
    assert solid("tenderloin", mass).thickness.typical < solid("loin", mass).thickness.typical


def test_a_bird_is_thinner_than_a_joint_of_its_mass():
    """Two sides round a hollow; stuffed, the sides are thicker; the mass itself decides, not the shape's name alone."""
    bird, joint = solid("bird", 5.0), solid("joint", 5.0)
    assert bird.shape == joint.shape == "sphere"
    assert bird.thickness.typical < 0.9 * joint.thickness.typical
    assert solid("bird", 10.0).thickness.typical == pytest.approx(2 ** (1 / 3) * bird.thickness.typical)


def test_a_joint_of_written_thickness_is_as_long_as_its_mass():
    """A roll of 110 mm and 2.7 kg (Meat Refrigeration, table 16.7) is a cylinder of that volume at 1060 kg/m3."""
    found = solid("roll", 2.7, thickness=110)
    assert found.shape == "cylinder"
    assert found.length * pi / 4 * 0.11**2 == pytest.approx(2.7 / 1060, rel=1e-6)
    assert solid("cylinder", thickness=110).length is None
