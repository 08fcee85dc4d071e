"""Brined, equilibrium-brined, injected and dry-cured meat and cheese. How each figure comes about stands beside it."""

from tests.trade.notebook import Note

NOTES = (
    Note(
        name="thighs-overnight",
        family="brined",
        says="2 kg of thighs, a gallon-pot brine of 3 kg water and 150 g sea salt, overnight, roasted hot.",
        page="""
food: chicken thigh, with skin
kind: cook
portions: 10
pieces: {shape: slab, thickness: 25 mm, mass: 160 g, skin: "on", form: cut}
saltings: {brine: {kind: immersion, temperature: 3 °C, items: {water: 3 kg, salt: 150 g}}}
steps: {trim: trim, brine: {part: brine, gain: 6 %}, rinse: rinse, air: air, roast: {part: roast, chamber: 200 °C}, serve: serve}
""",
        figures={
            "brine %": 4.6905,  # 100 * 150 * 0.985 / 3150: sea salt is 98.5 % salt
            "salometer": 17.77,  # 100 * 150 * 0.985 / 3150 / 0.26395: 26.4 % is 100 degrees
            "SG": 1.0343,  # table at 60 °F: 4 % 1.0290, 5 % 1.0363; 4.69 % between them
            # 100 * 1320.7 * (147.75 + 4.1) / (2997.8 + 1320.7) / (2000 - 4.1 + 1320.7 * (147.75 + 4.1) / (2997.8 +
            # 1320.7)): 2 kg hold 1320.7 g water and 4.1 g salt
            "salt settled %": 2.2738,
            # 100 * 1.06 * 0.98 * 0.85: 6 % from the brine, less 2 % on the rack and 15 % in the oven
            "yield %": 88.298,
            "portion g": 176.6,  # 2000 * 1.06 * 0.98 * 0.85 / 10
            "cost": 14.33,  # 2 * 7 + 0.15 * 2 + 3 * 0.01
        },
        verdicts={"home": "clear", "retail": "clear", "plant": "clear"},
    ),
    Note(
        name="thighs-in-warm-brine",
        family="brined",
        says="The same thighs and the same salt, but the tub stands on the bench overnight because the fridge is full.",
        page="""
food: chicken thigh, with skin
kind: cook
portions: 10
pieces: {shape: slab, thickness: 25 mm, mass: 160 g, skin: "on", form: cut}
saltings: {brine: {kind: immersion, temperature: 16 °C, items: {water: 3 kg, salt: 150 g}}}
steps: {trim: trim, brine: {part: brine, place: bench, temperature: 16 °C, gain: 6 %}, roast: {part: roast, chamber: 200 °C}, serve: serve}
""",
        figures={
            "brine %": 4.6905,  # 100 * 150 * 0.985 / 3150
            "salometer": 17.77,  # 100 * 150 * 0.985 / 3150 / 0.26395
            "weigh: salt": 150.0,
            # 100 * 1320.7 * (147.75 + 4.1) / (2997.8 + 1320.7) / (2000 - 4.1 + 1320.7 * (147.75 + 4.1) / (2997.8 +
            # 1320.7))
            "salt settled %": 2.2738,
            "yield %": 90.1,  # 100 * 1.06 * 0.85: 6 % from the brine, less 15 % in the oven
            "portion g": 180.2,  # 2000 * 1.06 * 0.85 / 10
            "cost": 14.33,  # 2 * 7 + 0.15 * 2 + 3 * 0.01
        },
        verdicts={"home": "stop", "retail": "stop", "plant": "stop"},
        finds=("cold",),
        mends=("fridge",),
    ),
    Note(
        name="chops-that-cannot-oversalt",
        family="equilibrium",
        says="1.5 kg of chops in 1.5 kg of water, salt for 1.5 % of meat and water together, two days, fried to 63 °C.",
        page="""
food: pork loin, whole, lean+fat
kind: cook
portions: 7
batch: 1.5 kg
pieces: {shape: slab, thickness: 28 mm, mass: 210 g, form: cut}
saltings: {brine: {kind: equilibrium, temperature: 3 °C, target_salt: 1.5 % of all, items: {water: 1.5 kg, salt: to target}}}
steps:
  trim: trim
  brine: {part: brine, time: 48 h, gain: 5 %}
  fry: {do: Fry on a hot plate., stage: cook, until: core, place: stove, chamber: 170 °C, core: 63 °C, hold: 5 min, loss: 14 %}
  serve: serve
""",
        figures={
            # 1500 * (0.03 - 0.0025413 * 0.5) / (0.985 - 0.015): 1.5 % of all: 0.985 s + 1.9 own = 1.5 % of (3000 +
            # s)
            "weigh: salt": 44.427,
            "brine %": 2.8336,  # 100 * 0.985 * 44.43 / 1544.43
            # 100 * 1001.8 * (0.985 * 44.43 + 1.9) / (1498.7 + 1001.8) / (1500 - 1.9 + 1001.8 * (0.985 * 44.43 +
            # 1.9) / (1498.7 + 1001.8)): 1001.8 g water in the meat, fat holds none
            "salt settled %": 1.2065,
            "yield %": 90.3,  # 100 * 1.05 * 0.86
            "portion g": 193.5,  # 1500 * 1.05 * 0.86 / 7
            "cost": 13.604,  # 1.5 * 9 + 0.04443 * 2 + 1.5 * 0.01
        },
        verdicts={"home": "clear", "retail": "clear", "plant": "clear"},
    ),
    Note(
        name="back-bacon-by-weight",
        family="dry-cured",
        says="3 kg of loin, 2.2 % salt, 0.2 % type 1, 1 % sugar of the meat, ten days in its bag; fried by the eater.",
        page="""
food: pork loin, whole, lean+fat
kind: dry cure
eaten: cooked by the eater
portions: 30
batch: 3 kg
pieces: {shape: slab, thickness: 50 mm, mass: 1.5 kg, form: cut}
saltings: {cure: {kind: dry cure, temperature: 3 °C, items: {salt: 2.2 % of food, type 1: 0.2 % of food, sugar: 1 % of food}}}
steps: {trim: trim, cure: {part: cure, time: 10 days, loss: 2 %}, rinse: rinse, air: {part: air, time: 24 h}, pack: pack}
keeping: {pack: air, temperature: 3 °C, time: 7 days, frozen: 30 days}
""",
        figures={
            "weigh: salt": 66.0,  # 3000 * 0.022
            "weigh: type 1": 6.0,  # 3000 * 0.002
            "weigh: sugar": 30.0,  # 3000 * 0.01
            "nitrite ppm": 125.0,  # 6 * 0.0625 / 3000 * 1,000,000: 6 g of 6.25 %
            # 100 * (3000 * 0.022 * 0.985 + 6 * 0.9375 + 3.8) / (3000 + 3000 * 0.022 * 0.985 + 5.6 + 29.9): all of
            # it goes in; the meat's own 3.8 g
            "salt settled %": 2.4007,
            "yield %": 96.04,  # 100 * 0.98 * 0.98
            "cost": 27.237,  # 3 * 9 + 0.066 * 2 + 0.006 * 10 + 0.03 * 1.5
            "hours": 264.92,  # 0.5 + 240 + 0.167 + 24 + 0.25
        },
        verdicts={"home": "clear", "retail": "act", "plant": "clear"},
    ),
    Note(
        name="ham-pumped-a-tenth",
        family="injected",
        says="4 kg of boned leg pumped 10 % with a pickle of 1 kg water, 180 g salt, 24 g type 1; two days; smoked and cooked to 69 °C.",
        page="""
food: pork leg (fresh ham), whole, lean+fat
kind: hot smoke
portions: 30
batch: 4 kg
pieces: {shape: cylinder, thickness: 90 mm, length: 200 mm, mass: 1.3 kg}
saltings: {pickle: {kind: injection, pump: 10 %, temperature: 3 °C, items: {water: 1 kg, salt: 180 g, type 1: 24 g}}}
steps:
  trim: trim
  pump: pump
  rest: {do: Leave bagged in the cold., stage: salt, time: 48 h, place: fridge, temperature: 3 °C, use: pickle}
  smoke: {part: hot smoke, chamber: 105 °C, humidity: 25 %, core: 69 °C, hold: 2 min, loss: 12 %}
  ice: {part: ice, time: 3 h}
  chill: {part: chill, time: 12 h}
  pack: pack
keeping: {pack: air, temperature: 3 °C, time: 5 days, frozen: 60 days}
""",
        figures={
            "brine %": 16.595,  # 100 * (180 * 0.985 + 24 * 0.9375) / 1204: the curing salt's own salt counts
            "nitrite ppm": 124.58,  # 24 * 0.0625 / 1204 * 0.10 * 1,000,000: share of the pickle, times the pump
            # 100 * (4000 * 0.00119 + 400 * (180 * 0.985 + 22.5) / 1204) / (4000 + 400): 0.12 % of its own, and 400
            # g of pickle
            "salt settled %": 1.6168,
            "yield %": 96.8,  # 100 * 1.10 * 0.88
            "portion g": 129.07,  # 4000 * 1.10 * 0.88 / 30
            "cost": 32.61,  # 4 * 8 + 0.18 * 2 + 0.024 * 10 + 1 * 0.01
            "weigh: type 1": 24.0,
        },
        verdicts={"home": "clear", "retail": "act", "plant": "act"},
    ),
    Note(
        name="ham-pumped-twice-as-much",
        family="injected",
        says="The same pickle, pumped to 120 % because the hams looked dry last time. Nothing else was changed.",
        page="""
food: pork leg (fresh ham), whole, lean+fat
kind: hot smoke
portions: 30
batch: 4 kg
pieces: {shape: cylinder, thickness: 90 mm, length: 200 mm, mass: 1.3 kg}
saltings: {pickle: {kind: injection, pump: 20 %, temperature: 3 °C, items: {water: 1 kg, salt: 180 g, type 1: 24 g}}}
steps:
  trim: trim
  pump: {part: pump, gain: 20 %}
  rest: {do: Leave bagged in the cold., stage: salt, time: 48 h, place: fridge, temperature: 3 °C, use: pickle}
  smoke: {part: hot smoke, chamber: 105 °C, humidity: 25 %, core: 69 °C, hold: 2 min, loss: 12 %}
  ice: {part: ice, time: 3 h}
  chill: {part: chill, time: 12 h}
  pack: pack
keeping: {pack: air, temperature: 3 °C, time: 5 days, frozen: 60 days}
""",
        figures={
            "brine %": 16.595,  # 100 * (180 * 0.985 + 24 * 0.9375) / 1204
            # 24 * 0.0625 / 1204 * 0.20 * 1,000,000: twice the pump is twice the nitrite: over 200
            "nitrite ppm": 249.17,
            "salt settled %": 2.8649,  # 100 * (4000 * 0.00119 + 800 * (180 * 0.985 + 22.5) / 1204) / (4000 + 800)
            "yield %": 105.6,  # 100 * 1.20 * 0.88
            "portion g": 140.8,  # 4000 * 1.20 * 0.88 / 30
            "cost": 32.61,  # 4 * 8 + 0.18 * 2 + 0.024 * 10 + 1 * 0.01
            "weigh: type 1": 24.0,
        },
        verdicts={"home": "stop", "retail": "stop", "plant": "stop"},
        finds=("nitrite", "249"),
        mends=("less",),
    ),
    Note(
        name="white-cheese-in-brine",
        family="cheese brine",
        says="2 kg of white cheese under 2 kg of water with 180 g of salt, ten days, kept under it.",
        page="""
food: cheese, feta
kind: brine
portions: 30
pieces: {shape: block, thickness: 40 mm, width: 60 mm, length: 80 mm, mass: 200 g, form: cut}
saltings: {brine: {kind: immersion, temperature: 4 °C, items: {water: 2 kg, salt: 180 g}}}
steps: {trim: trim, cure: {part: cure, use: brine, time: 10 days, temperature: 4 °C}}
keeping: {pack: brine, temperature: 4 °C, time: 40 days}
""",
        figures={
            "weigh: salt": 180.0,
            "brine %": 8.133,  # 100 * 180 * 0.985 / 2180
            "salometer": 30.813,  # 100 * 180 * 0.985 / 2180 / 0.26395
            "SG": 1.0596,  # table at 60 °F: 8 % 1.0582, 9 % 1.0656; 8.13 % between them, near 1.059
            "keeps days": 40.0,
            "hours": 240.5,  # 0.5 + 240
        },
        verdicts={"home": "act", "retail": "act", "plant": "act"},
    ),
)
