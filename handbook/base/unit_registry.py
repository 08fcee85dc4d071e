"""The only unit registry: pint, with the units that a kitchen writes (data/units.txt).

Reading pint's own table of a thousand units takes longer than a small command. ``units.py`` imports this module when it
converts the first unit.
"""

from __future__ import annotations

from importlib.resources import files

import pint

registry: pint.UnitRegistry[float] = pint.UnitRegistry(
    files("handbook.data").joinpath("units.txt").read_text("utf-8").splitlines(),
    autoconvert_offset_to_baseunit=True,
    cache_folder=None,
)
