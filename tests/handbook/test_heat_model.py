"""What pieces, stages and runs refuse, and how they say it."""

import pytest

from handbook.base.errors import RangeError
from handbook.heat import heat_run
from handbook.heat.heat_run import Coating, HeatSpread, HeatStage, run
from tests.handbook.heat_cases import ALONE, bath, chamber, exact, piece
from tests.published import rows


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: piece(2.0), "thickness: read 2; allowed: 0.0001 to 1 m"),
        (lambda: piece(temperature=exact(200.0)), "start temperature: read 200; allowed: 233.15 to 373.15 K"),
        (lambda: piece(open_fraction=1.5), "open fraction: read 1.5; allowed: 0 to 1"),
        (lambda: piece(shape="sphere", heated_faces=1), "heated faces: read 1; allowed: 1 or 2 for a slab, else 2"),
        (lambda: chamber(400), "air temperature: read 673.15; allowed: 272.15 to 573.15 K"),
        (lambda: bath(120), "water temperature: read 393.15; allowed: 272.15 to 378.15 K"),
        (lambda: chamber(humidity=1.2), "relative humidity: read 1.2; allowed: 0 to 1"),
        (lambda: chamber(hours=0), "duration: read 0; allowed: 1 to 3.456e+07 s"),
        (
            lambda: Coating(
                times=(0.0,),
                mass_on_green_weight=0.7,
                water_mass_fraction=0.5,
                sugar_mass_fraction=0.5,
                temperature=300.0,
            ),
            "coating on green weight: read 0.7; allowed: 0 to 0.5",
        ),
        (
            lambda: Coating(
                times=(0.0,),
                mass_on_green_weight=0.1,
                water_mass_fraction=0.8,
                sugar_mass_fraction=0.5,
                temperature=300.0,
            ),
            "coating: read 1.3; allowed: water + sugar of at most 1",
        ),
        (
            lambda: chamber(
                coatings=(
                    Coating(
                        times=(1e6,),
                        mass_on_green_weight=0.1,
                        water_mass_fraction=0.5,
                        sugar_mass_fraction=0.5,
                        temperature=300.0,
                    ),
                )
            ),
            "coating time: read 1e+06; allowed: 0 to 14400 s",
        ),
        (
            lambda: run(piece(), [chamber(180, 1, 0.5)], ALONE),
            "humidity: read 0.5; allowed: at most 10% at 180 °C: air hotter than boiling water holds no more",
        ),
        (lambda: run(piece(), [chamber()], ALONE, pressure=1e4), "pressure: read 10000; allowed: 40000 to 120000 Pa"),
        (lambda: HeatSpread(samples=-1), "samples: read -1; allowed: 0 to 100000"),
    ],
)
def test_out_of_range_messages(call, message):
    """Each figure outside its range raises with its name, its value and what is allowed."""
    with pytest.raises(RangeError) as caught:
        call()
    assert str(caught.value).rstrip() == message


def test_burnt_piece_is_out_of_range():
    """A piece that dries out and goes past 150 degC throughout is not computed on."""
    with pytest.raises(RangeError, match="mean temperature of the piece"):
        run(piece(0.004), [chamber(260, 6, 0.0, 40)], ALONE)


@pytest.mark.parametrize(
    ("call", "allowed"),
    [
        (lambda: piece(shape="cone"), "allowed: slab, block, cylinder, sphere"),
        (lambda: piece(exudes="egg"), "allowed: meat, fish, minced, none"),
        (
            lambda: HeatStage(name="x", medium="oil", duration=60.0, temperature=exact(300.0)),
            "allowed: air, water, steam",
        ),
        (
            lambda: HeatStage(name="x", medium="air", duration=60.0, temperature=exact(300.0), air="steam"),
            "allowed: still, draught, forced",
        ),
        (lambda: run(piece(), []), "allowed: at least one"),
    ],
)
def test_unknown_words(call, allowed):
    """An unknown word is an error that lists the known ones."""
    with pytest.raises(ValueError, match=allowed):
        call()


def test_short_words_for_media():
    """Water takes still, forced or water for its air class; steam needs none."""
    assert bath().air_class == "stirred water"
    assert (
        HeatStage(name="x", medium="water", duration=60.0, temperature=exact(300.0), air="water").air_class
        == "still water"
    )
    assert (
        HeatStage(name="x", medium="water", duration=60.0, temperature=exact(300.0), air="forced").air_class
        == "stirred water"
    )
    assert (
        HeatStage(name="x", medium="steam", duration=60.0, temperature=exact(370.0), air="draught").air_class == "steam"
    )


def test_every_published_row_is_used():
    """The tables this file reads are not empty."""
    assert rows("cooking_loss.csv")
    assert heat_run.AIR_CLASSES
