"""A written thickness means one thing in both models and on both charts."""

import numpy as np
import pytest

from handbook.base.ranges import Range
from handbook.catalogue.thermal_properties import Composition
from handbook.folder.handbook import open_handbook
from handbook.heat.heated_piece import HeatPiece
from handbook.report.heat_stages import thickness_range
from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
from handbook.salt.uptake import Piece, Stage
from handbook.salt.uptake_inputs import uncertain_inputs
from site_build.html.curves import heat_html, salt_html
from tests.one_page import METHODS

BOOK = open_handbook(METHODS)
WRITTEN = Range(0.020, 0.0225, 0.025)


def test_both_models_sample_the_written_range_alike():
    """20 to 25 mm: nine in ten lie inside, one in twenty each side, by ratio, in the salt as in the heat."""
    muscle = Composition(water=0.72, protein=0.2, fat=0.065, ash=0.015)
    heated = HeatPiece(shape="slab", thickness=WRITTEN, composition=muscle, temperature=Range.exact(277.15))
    salted = Piece(
        shape="slab",
        thickness=WRITTEN,
        water_fraction=Range.exact(0.72),
        native_salt_fraction=Range.exact(0.001),
        salt_diffusivity=salt_diffusivity("fish"),
        sugar_diffusivity=sugar_diffusivity("fish"),
    )
    rest = Stage(kind="rest", duration=Range.exact(60.0), temperature=Range.exact(277.15))
    of_salt = next(each for each in uncertain_inputs(salted, [rest]) if each.name == "thickness")
    of_heat = heated.thickness_input
    places = np.linspace(-2, 2, 41)
    assert of_salt.at(places) == pytest.approx(of_heat.at(places), rel=1e-12)
    assert of_salt.at(np.array([-1.0, 0.0, 1.0])) == pytest.approx([0.020, 0.0225, 0.025], rel=1e-12)


@pytest.mark.parametrize("name", ["hot-smoked-char-sides", "equilibrium-pork-chops"])
def test_both_charts_name_the_written_range(name):
    """The two charts of a page are for pieces of the same thickness, and both say which."""
    report, house = BOOK.report(name), BOOK.house
    said = thickness_range(report.method, house)
    assert report.salted.result.piece.thickness == said
    text = f"{said.low * 1000:.0f}"
    for html in (heat_html(report, house, ""), salt_html(report, house, "")):
        lead = html.split("Computed for a piece of", 1)[1][:60]
        assert text in lead and f"{said.high * 1000:.0f}" in lead
