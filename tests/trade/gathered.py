"""Tongue, liver, olives, lemons and beans: foods that are neither cut, fish nor common vegetable. Sums stand beside the figures."""

from tests.trade.notebook import Note

NOTES = (
    Note(
        name="brined-tongue",
        family="organ meat",
        says="One ox tongue of 1.2 kg, four days in 3 kg of water with 240 g salt, simmered until 90 °C, peeled hot.",
        page="""
food: beef tongue
kind: brine
portions: 8
batch: 1.2 kg
pieces: {shape: block, thickness: 70 mm, width: 90 mm, length: 190 mm, mass: 1.2 kg, form: whole}
saltings: {brine: {kind: immersion, temperature: 3 °C, items: {water: 3 kg, salt: 240 g}}}
steps:
  trim: trim
  brine: {part: brine, time: 4 days, gain: 6 %}
  cook: {do: Simmer until it peels., stage: cook, until: core, place: stove, temperature: 94 °C, air: water, core: 90 °C, loss: 25 %}
  serve: serve
""",
        figures={
            "weigh: salt": 240.0,
            "weigh: water": 3000.0,
            "brine %": 7.2963,  # 100 * 240 * 0.985 / (3000 + 240)
            "yield %": 79.5,  # 1.06 * 0.75
            "portion g": 119.25,  # 1200 * 0.795 / 8
            "cost": 0.51,  # 0.24 * 2 + 3 * 0.01; the tongue has no price
        },
        verdicts={"home": "clear", "retail": "clear", "plant": "clear"},
    ),
    Note(
        name="rosy-liver-parfait",
        family="organ meat",
        says="1 kg of chicken livers with 1.5 % salt in a mould, taken out pink at 62 °C as the old card has it.",
        page="""
food: chicken liver
kind: cook
portions: 12
batch: 1 kg
pieces: {shape: block, thickness: 60 mm, width: 80 mm, length: 180 mm, mass: 1 kg, form: minced}
saltings: {cure: {kind: dry cure, temperature: 4 °C, items: {salt: 1.5 % of food}}}
steps:
  trim: {part: trim, temperature: 6 °C}
  mix: {do: Mince with the salt., stage: salt, time: 15 min, hands_on: "yes", place: bench, temperature: 8 °C, use: cure}
  cook: {part: roast, do: Cook in the mould., chamber: 140 °C, core: 62 °C, hold: 10 min, loss: 6 %}
  serve: serve
""",
        figures={
            "weigh: salt": 15.0,  # 1000 * 0.015
            # 100 * (15 * 0.985 + 1000 * 0.0018049) / 1014.775: 71 mg sodium per 100 g is 0.180 % salt
            "salt settled %": 1.6338,
            "yield %": 95.4,  # (1 + 0.015) * 0.94
            "portion g": 79.508,  # 1000 * 0.9541 / 12
            "cost": 0.03,  # 0.015 * 2
            "nitrite ppm": 0.0,
        },
        verdicts={"home": "stop", "retail": "stop", "plant": "stop"},
        finds=("165",),
        mends=("74",),
    ),
    Note(
        name="cracked-olives",
        family="olives",
        says="2 kg of green olives in 2 kg of water with 180 g salt, three months at 20 °C, then cold.",
        page="""
food: olive, green, raw
kind: ferment
portions: 40
batch: 2 kg
pieces: {shape: sphere, thickness: 20 mm, mass: 4 g, form: whole}
saltings: {brine: {kind: ferment brine, temperature: 20 °C, items: {water: 2 kg, salt: 180 g}}}
steps:
  trim: {part: trim, do: Sort and crack., temperature: 18 °C}
  lay: {do: Lay under the brine., stage: salt, time: 20 min, hands_on: "yes", place: bench, temperature: 18 °C, use: brine}
  ferment: {part: ferment, use: brine, time: 90 days, place: room, temperature: 20 °C}
  fill: fill
keeping: {pack: brine, temperature: 4 °C, time: 180 days}
""",
        figures={
            "weigh: salt": 180.0,
            "weigh: water": 2000.0,
            "brine %": 8.133,  # 100 * 180 * 0.985 / 2180
            "cost": 0.38,  # 0.18 * 2 + 2 * 0.01
            "hours": 2161.33,  # 0.5 + 0.333 + 90 * 24 + 0.5
            "portion g": 50.0,  # 2000 / 40
        },
        verdicts={"home": "clear", "retail": "act", "plant": "clear"},
    ),
    Note(
        name="lemons-in-salt",
        family="fruit in salt",
        says="1 kg of lemons with a tenth of salt, four weeks closed in the kitchen, then in the fridge.",
        page="""
food: lemon, without peel
kind: ferment
portions: 40
batch: 1 kg
pieces: {shape: sphere, thickness: 50 mm, mass: 60 g, form: cut}
saltings: {cure: {kind: dry-salted ferment, temperature: 18 °C, items: {salt: 10 % of food}}}
steps:
  trim: {part: trim, do: Wash and quarter., temperature: 18 °C}
  knead: {part: knead, do: Press into the jar with the salt.}
  stand: {do: Leave closed in the kitchen., stage: hold, time: 28 days, place: room, temperature: 20 °C, medium: jar}
keeping: {pack: jar, temperature: 4 °C, time: 180 days}
""",
        figures={
            "weigh: salt": 100.0,  # 1000 * 0.1
            "salt settled %": 8.972,  # 100 * (100 * 0.985 + 1000 * 0.0000508) / 1098.5
            "water-phase salt settled %": 9.951,  # 100 * 98.5 / (98.5 + 889.8 + 1.5)
            "nitrite ppm": 0.0,
            "cost": 0.2,  # 0.1 * 2
            "hours": 672.83,  # 0.5 + 0.333 + 28 * 24
        },
        verdicts={"home": "clear", "retail": "act", "plant": "clear"},
    ),
    Note(
        name="chickpeas-in-their-pot",
        family="pulses",
        says="1 kg of boiled chickpeas heated again and left in the pot on the bench until closing, then cold.",
        page="""
food: chickpea, boiled
kind: cook
portions: 8
batch: 1 kg
pieces: {shape: sphere, thickness: 11 mm, mass: 0.9 g, form: whole, state: cooked}
steps:
  cook: {do: Heat through., stage: cook, time: 30 min, place: stove, temperature: 96 °C, air: water, core: 92 °C, loss: 4 %}
  stand: {do: Leave to stand., stage: hold, time: 6 h, place: bench, temperature: 22 °C, loss: 2 %}
  chill: {part: chill, core: 4 °C, loss: 1 %}
  pack: pack
keeping: {pack: wrapped, temperature: 3 °C, time: 3 days}
""",
        figures={
            "yield %": 93.139,  # 0.96 * 0.98 * 0.99
            "portion g": 116.42,  # 1000 * 0.93139 / 8
            "cost": 0.0,
            "hours": 11.75,  # 0.5 + 6 + 5 + 0.25
            "step hours: 2": 6.0,
            "step hours: 3": 5.0,
        },
        verdicts={"home": "stop", "retail": "stop", "plant": "stop"},
        finds=("135 °f", "cooling"),
        mends=("ice and water",),
    ),
)
