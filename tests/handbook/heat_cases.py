"""Pieces and stages that the tests of the heat engine share."""

from handbook.base.ranges import Range
from handbook.catalogue.thermal_properties import Composition
from handbook.heat.heat_run import HeatPiece, HeatSpread, HeatStage

HOUR = 3600.0
LEAN = Composition(water=0.75, protein=0.21, fat=0.03, carbohydrate=0.0, ash=0.01)
FAT_FISH = Composition(water=0.65, protein=0.20, fat=0.135, carbohydrate=0.0, ash=0.015)
#: The typical piece alone, with the properties of the equations as they are.
ALONE = HeatSpread(samples=0, conductivity=Range.exact(1.0))
exact = Range.exact


def piece(thickness=0.022, shape="slab", **more):
    """A lean piece from the fridge."""
    values = {"composition": LEAN, "temperature": exact(277.15), **more}
    return HeatPiece(shape=shape, thickness=exact(thickness), **values)


def chamber(celsius=77.0, hours=4.0, humidity=0.2, coefficient=8.0, **more):
    """Air at one temperature."""
    values = {"relative_humidity": exact(humidity), "heat_transfer_coefficient": exact(coefficient), **more}
    return HeatStage(name="smoke", medium="air", duration=hours * HOUR, temperature=exact(celsius + 273.15), **values)


def bath(celsius=60.0, hours=2.0, **more):
    """Stirred water at one temperature."""
    return HeatStage(
        name="bath",
        medium="water",
        duration=hours * HOUR,
        temperature=exact(celsius + 273.15),
        air="stirred water",
        **more,
    )
