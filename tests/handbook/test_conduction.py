"""Conduction modes against published tables, worked examples, exact series and scipy's special functions."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.special import jv

from handbook.base.errors import RangeError
from handbook.heat.conduction import bessel, modes, propagators, roots
from tests.published import rows

SHAPES = {"wall": "slab", "cylinder": "cylinder", "sphere": "sphere"}
TABLE = [row for row in rows("transient_conduction.csv") if row["Bi[-]"] != "inf"]


def unaccomplished(own, fourier: float, weights: np.ndarray) -> float:
    """(T - T_medium) / (T_start - T_medium) after one step in constant surroundings."""
    decay, _, _ = propagators(own.rate, np.array([fourier]))
    return float((decay @ weights)[0])


def exact_series(shape: str, biot: float, fourier: float) -> float:
    """Centre of a body by 200 terms with the textbook's own C_m, from roots found by scipy."""
    total = 0.0
    for zeta in roots(shape, biot, 200):
        if shape == "slab":
            factor = 4 * np.sin(zeta) / (2 * zeta + np.sin(2 * zeta))
        elif shape == "cylinder":
            factor = 2 / zeta * jv(1, zeta) / (jv(0, zeta) ** 2 + jv(1, zeta) ** 2)
        else:
            factor = 4 * (np.sin(zeta) - zeta * np.cos(zeta)) / (2 * zeta - np.sin(2 * zeta))
        total += factor * np.exp(-(zeta**2) * fourier)
    return total


@pytest.mark.parametrize("column", SHAPES)
@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"Bi {row['Bi[-]']}")
def test_first_mode_is_the_one_term_table(row, column):
    """The slowest mode has the tables' zeta1 and C1."""
    own = modes(SHAPES[column], float(row["Bi[-]"]))
    assert np.sqrt(own.rate[0]) == pytest.approx(float(row[f"{column}_zeta1[rad]"]), abs=2e-9)
    assert own.core[0] == pytest.approx(float(row[f"{column}_C1[-]"]), abs=2e-9)


@pytest.mark.parametrize("column", SHAPES)
def test_first_mode_at_the_limit_of_no_film(column):
    """At Bi 1e5 the modes are those of a surface held at the medium's temperature, within 1/Bi."""
    row = next(row for row in rows("transient_conduction.csv") if row["Bi[-]"] == "inf")
    own = modes(SHAPES[column], 1e5)
    assert np.sqrt(own.rate[0]) == pytest.approx(float(row[f"{column}_zeta1[rad]"]), rel=2e-5)
    assert own.core[0] == pytest.approx(float(row[f"{column}_C1[-]"]), rel=2e-5)


@pytest.mark.parametrize("row", rows("transient_conduction_examples.csv"), ids=lambda row: row["id"])
def test_boiled_egg_examples(row):
    """The textbook's eggs: the printed answer within 1 % (coarse Biot grid), the exact one-term time within its rest."""
    value = {name: float(text) for name, text in row.items() if name not in ("id", "shape", "origin") and text}
    own = modes(row["shape"], value["Bi[-]"])
    radius, wanted = value["diameter[m]"] / 2, value["T_centre_target[C]"]

    def centre(time: float) -> float:
        share = unaccomplished(own, value["alpha[m2/s]"] * time / radius**2, own.core)
        return value["T_medium[C]"] + (value["T_initial[C]"] - value["T_medium[C]"]) * share - wanted

    time = brentq(centre, 300, 3000)
    if "printed_time[s]" in value:
        assert time == pytest.approx(value["printed_time[s]"], rel=0.01)
    one_term = value["C1[-]"] * np.exp(-(value["zeta1[rad]"] ** 2) * value["Fo[-]"])
    assert unaccomplished(own, value["Fo[-]"], own.core) - one_term == pytest.approx(
        value["series_minus_one_term[-]"], abs=1e-5
    )


@pytest.mark.parametrize("shape", SHAPES.values())
@pytest.mark.parametrize("biot", [0.1, 1.0, 20.0])
@pytest.mark.parametrize("fourier", [0.02, 0.1, 1.0])
def test_centre_is_the_exact_series(shape, biot, fourier):
    """Fourteen modes and their rest give the full series from the shortest step on."""
    own = modes(shape, biot)
    assert unaccomplished(own, fourier, own.core) == pytest.approx(exact_series(shape, biot, fourier), abs=2e-5)


def test_mean_and_surface_of_a_slab_worked_by_hand():
    """At Bi 1 the first root is 0.8603 (published): mean C sin(z)/z = 0.9861 and surface C cos(z) = 0.7299 by hand."""
    own = modes("slab", 1.0)
    assert own.mean[0] == pytest.approx(1.1191 * np.sin(0.8603) / 0.8603, abs=1e-4)
    assert own.surface[0] == pytest.approx(1.1191 * np.cos(0.8603), abs=1e-4)


@pytest.mark.parametrize("biot", [0.2, 1.0, 30.0])
def test_block_and_short_cylinder_are_products(biot):
    """In constant surroundings a block is the product of three slabs, a short cylinder of cylinder and slab."""
    fourier = 0.15
    core = lambda shape, ratio: unaccomplished(  # noqa: E731
        modes(shape, biot * ratio), fourier / ratio**2, modes(shape, biot * ratio).core
    )
    block = modes("block", biot, (1.5, 3.0))
    assert unaccomplished(block, fourier, block.core) == pytest.approx(
        core("slab", 1.0) * core("slab", 1.5) * core("slab", 3.0), abs=1e-4
    )
    short = modes("cylinder", biot, (2.0,))
    assert unaccomplished(short, fourier, short.core) == pytest.approx(
        core("cylinder", 1.0) * core("slab", 2.0), abs=1e-4
    )


@given(st.sampled_from(["slab", "cylinder", "sphere", "block"]), st.floats(0.01, 500))
def test_modes_conserve_heat(shape, biot):
    """In each mode what enters through the surface is what the mean gains, and the weights share out the whole."""
    own = modes(shape, round(biot, 3), (2.0, 4.0) if shape == "block" else ())
    np.testing.assert_allclose(own.mean * own.rate, own.biot * own.area_factor * own.surface, rtol=1e-9, atol=1e-12)
    assert own.mean.sum() == pytest.approx(1.0)
    assert own.core.sum() == pytest.approx(1.0)
    assert 0.0 <= own.surface_tail < 1.0


@given(st.floats(0.001, 5), st.floats(0.5, 200))
def test_propagators_are_exact_for_a_ramp(fourier, rate):
    """A mode that starts at rest under a straight ramp ends where the textbook's ramp response puts it."""
    decay, old, new = (each[0, 0] for each in propagators(np.array([rate]), np.array([fourier])))
    ramp = 1.0 - -np.expm1(-rate * fourier) / (rate * fourier)
    assert new == pytest.approx(ramp, rel=1e-9, abs=1e-12)
    assert decay + old + new == pytest.approx(1.0)


@pytest.mark.parametrize("order", [0, 1])
def test_bessel_against_scipy(order):
    """The Bessel functions agree with scipy's."""
    x = np.linspace(0, 60, 301)
    np.testing.assert_allclose(bessel(order, x), jv(order, x), atol=1e-13)


@pytest.mark.parametrize(("biot", "shape"), [(0.0, "slab"), (2e5, "sphere"), (-1.0, "block")])
def test_biot_out_of_range(biot, shape):
    """A Biot number of 0 or beyond 1e5 is an error."""
    with pytest.raises(RangeError, match="Biot number"):
        modes(shape, biot)


def test_unknown_shape():
    """An unknown shape is an error that lists the known ones."""
    with pytest.raises(ValueError, match="allowed: slab, block, cylinder, sphere"):
        modes("cone", 1.0)


@pytest.mark.parametrize("biot", [2.0, 20.0, 100.0])
@pytest.mark.parametrize(("shape", "aspects"), [("cylinder", (2.2,)), ("cylinder", (4.0,)), ("block", (2.0, 3.3))])
def test_core_of_a_product_stands_still_at_first(shape, aspects, biot):
    """After a step of the surroundings the core has moved by less than 0.3 % of it at Fo 0.001 to 0.01, as the product of the
    exact series does; before, the modes left out moved it by up to a tenth."""
    found = modes(shape, biot, aspects)
    for fourier in (0.001, 0.003, 0.01):
        moved = 1.0 - float((found.core * np.exp(-found.rate * fourier)).sum())
        assert abs(moved) < 3e-3
