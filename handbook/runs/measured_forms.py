"""Forms of the measurements of a run or a batch, shared so that a weight, a core or a pH always means the same."""

from __future__ import annotations

from handbook.base.forms import Number
from handbook.base.units import kelvin
from handbook.page.measure_forms import measure

WARM = measure("temperature", kelvin(-40), kelvin(350), 'a temperature, -40 to 350 °C, such as "77 °C"')
BRINE = measure("temperature", kelvin(0), kelvin(40), 'the temperature of the brine read, 0 to 40 °C, such as "12 °C"')
TIME = measure("time", 0, 400 * 86400, 'a time above 0 and up to 400 days, such as "7.5 h"')
TIME_OR_ZERO = measure("time", 0, 400 * 86400, 'a time of 0 to 400 days, such as "7.5 h"', may_be_zero=True)
WEIGHT = measure("mass", 0, 5000, 'the weight of all pieces together, above 0 and up to 5000 kg, such as "2.84 kg"')
AMOUNT = measure("mass", 0, 5000, 'a weight above 0 and up to 5000 kg, such as "220 g"')
PART = measure("mass", 0, 5000, 'a weight of 0 to 5000 kg, such as "220 g"', may_be_zero=True)
THICKNESS = measure("length", 0, 1.0, 'a measured thickness, such as "19-22 mm"', may_range=True)
SALT = measure("fraction", 0.0, 0.3, 'salt of the food as it then is, 0 to 30 %, such as "2.3 %"', may_be_zero=True)
PH = Number(low=2.0, high=9.0, what="a measured pH")
AW = Number(low=0.3, high=1.0, what="a measured water activity")
SCORE = Number(low=-2.0, high=2.0, what="a mean score (-2 far too little, 0 right, 2 far too much)")
