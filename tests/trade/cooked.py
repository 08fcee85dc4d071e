"""Roasts, baths, stuffed birds, food in its fat. Sums stand beside the figures."""

from tests.trade.notebook import Note

NOTES = (
    Note(
        name="leg-of-lamb",
        family="roast",
        says="2.4 kg of boned leg, 1.1 % salt overnight, 130 °C until 60 °C inside and held, eaten at once.",
        page="""
food: lamb leg, lean+fat
kind: cook
portions: 10
batch: 2.4 kg
pieces: {shape: roll, thickness: 100 mm, mass: 2.4 kg, form: whole}
saltings: {cure: {kind: dry cure, temperature: 3 °C, items: {salt: 1.1 % of food, pepper: 0.3 % of food}}}
steps:
  trim: trim
  cure: {part: cure, do: Rub and leave overnight., time: 14 h}
  roast: {part: roast, chamber: 130 °C, core: 63 °C, hold: 4 min, loss: 18 %}
  serve: serve
""",
        figures={
            "weigh: salt": 26.4,  # 2400 * 0.011
            "weigh: pepper": 7.2,  # 2400 * 0.003
            "yield %": 82.0,
            "portion g": 196.8,  # 2400 * 0.82 / 10
            "step hours: 2": 14.0,
            # 100 * (26.4 * 0.985 + 2400 * 0.00142) / (2400 + 26.4 * 0.985): 56 mg sodium per 100 g is 0.142 %
            "salt settled %": 1.2124,
        },
        verdicts={"home": "clear", "retail": "clear", "plant": "clear"},
    ),
    Note(
        name="bird-with-bread-in-it",
        family="stuffed bird",
        says="A 2 kg bird, salted a day, stuffed just before the oven, roasted until the middle of the stuffing says 75 °C.",
        page="""
food: chicken whole, meat and skin
kind: cook
portions: 6
pieces: {shape: bird, mass: 2 kg, skin: "on", form: stuffed}
saltings: {cure: {kind: dry cure, temperature: 3 °C, items: {salt: 1.2 % of food}}}
steps:
  trim: trim
  cure: {part: cure, do: Salt inside and out., time: 24 h}
  roast: {part: roast, do: "Stuff loosely, roast with a probe in the middle of the stuffing.", chamber: 170 °C, core: 75 °C, loss: 24 %}
  serve: serve
""",
        figures={
            "weigh: salt": 24.0,  # 2000 * 0.012
            # 100 * (24 * 0.985 + 2000 * 0.00178) / (2000 + 24 * 0.985): 70 mg sodium per 100 g is 0.178 %
            "salt settled %": 1.3441,
            "yield %": 76.0,
            "portion g": 253.33,  # 2000 * 0.76 / 6
            "cost": 12.048,  # 2 * 6 + 0.024 * 2
            "cost per kg": 7.9263,  # (2 * 6 + 0.024 * 2) / (2 * 0.76)
        },
        verdicts={"home": "clear", "retail": "clear", "plant": "clear"},
    ),
    Note(
        name="bird-stuffed-the-night-before",
        family="stuffed bird",
        says="The same bird, probed in the breast only, taken out at 70 °C so that the breast stays moist; the stuffing is in it.",
        page="""
food: chicken whole, meat and skin
kind: cook
portions: 6
pieces: {shape: bird, mass: 2 kg, skin: "on", form: stuffed}
saltings: {cure: {kind: dry cure, temperature: 3 °C, items: {salt: 1.2 % of food}}}
steps:
  trim: trim
  cure: {part: cure, do: "Salt, stuff and leave in the cold.", time: 24 h}
  roast: {part: roast, chamber: 170 °C, core: 70 °C, loss: 22 %}
  serve: serve
""",
        figures={
            "weigh: salt": 24.0,  # 2000 * 0.012
            "salt settled %": 1.3441,  # 100 * (24 * 0.985 + 2000 * 0.00178) / (2000 + 24 * 0.985)
            "yield %": 78.0,
            "portion g": 260.0,  # 2000 * 0.78 / 6
            "cost": 12.048,  # 2 * 6 + 0.024 * 2
            "cost per kg": 7.7231,  # (2 * 6 + 0.024 * 2) / (2 * 0.78)
        },
        verdicts={"home": "stop", "retail": "stop", "plant": "stop"},
        finds=("stuff",),
        mends=("74",),
    ),
    Note(
        name="breast-in-the-bath",
        family="water bath",
        says="2 kg of skinless breast, 1 % salt, bagged, 65 °C bath until 64 °C inside and held 25 minutes, eaten at once.",
        page="""
food: chicken breast, meat only
kind: cook
portions: 11
pieces: {shape: slab, thickness: 30 mm, mass: 180 g}
saltings: {cure: {kind: dry cure, temperature: 3 °C, items: {salt: 1 % of food}}}
steps:
  trim: trim
  cure: {part: cure, do: Salt and bag., time: 12 h}
  bath: {part: bath, medium: vacuum, core: 64 °C, hold: 25 min}
  serve: serve
""",
        figures={
            "weigh: salt": 20.0,  # 2000 * 0.01
            # 100 * (20 * 0.985 + 2000 * 0.00114) / (2000 + 20 * 0.985): 45 mg sodium per 100 g is 0.114 %
            "salt settled %": 1.0883,
            "water-phase salt settled %": 1.4688,  # 100 * (19.7 + 2.3) / (19.7 + 2.3 + 2000 * 0.73789)
            "step hours: 2": 12.0,
            "food fat %": 2.616,
            "food water %": 73.789,
        },
        verdicts={"home": "stop", "retail": "stop", "plant": "clear"},
        finds=("64 °C",),
        mends=("74",),
    ),
    Note(
        name="thighs-in-a-lukewarm-bath",
        family="water bath",
        says="Thighs eight hours in a 54 °C bath, as for beef: after eight hours nothing can be alive.",
        page="""
food: chicken thigh, meat only
kind: cook
portions: 11
pieces: {shape: slab, thickness: 30 mm, mass: 180 g}
saltings: {cure: {kind: dry cure, temperature: 3 °C, items: {salt: 1 % of food}}}
steps:
  trim: trim
  cure: {part: cure, do: Salt and bag., time: 12 h}
  bath: {do: Cook bagged in the water bath., stage: cook, time: 8 h, place: stove, temperature: 54 °C, air: water, medium: vacuum, core: 53.5 °C, hold: 6 h}
  serve: serve
""",
        figures={
            "weigh: salt": 20.0,  # 2000 * 0.01
            # 100 * (20 * 0.985 + 2000 * 0.00241) / (2000 + 20 * 0.985): 95 mg sodium per 100 g is 0.241 %
            "salt settled %": 1.214,
            "step hours: 2": 12.0,
            "step hours: 3": 8.0,
            "food fat %": 4.081,
            "hours": 20.667,  # 0.5 + 12 + 8 + 0.167
        },
        verdicts={"home": "stop", "retail": "stop", "plant": "stop"},
        finds=("poultry",),
        mends=("74",),
    ),
    Note(
        name="legs-in-fat-cold",
        family="confit kept cold and short",
        says="2.2 kg of duck legs, 1.5 % salt a night, 105 °C in fat for three hours, iced, wrapped, three days in the cold.",
        page="""
food: "duck, domesticated, meat and skin"
kind: cook
portions: 8
batch: 2.2 kg
pieces: {shape: slab, thickness: 38 mm, mass: 280 g, skin: "on", bone: in}
saltings: {cure: {kind: dry cure, temperature: 3 °C, items: {salt: 1.5 % of food}}}
steps:
  trim: trim
  cure: {part: cure, do: Salt overnight., time: 20 h}
  cook: {do: Cook soft in fat., stage: cook, until: core, place: oven, chamber: 105 °C, medium: oil, core: 85 °C, hold: 30 min, loss: 20 %}
  ice: {part: ice, do: "Drain, bag and sink in ice and water.", time: 75 min}
  chill: chill
  pack: pack
keeping: {pack: wrapped, temperature: 3 °C, time: 3 days, frozen: 60 days}
""",
        figures={
            "weigh: salt": 33.0,  # 2200 * 0.015
            "yield %": 80.0,
            "portion g": 220.0,  # 2200 * 0.80 / 8
            "step hours: 4": 1.25,
            "keeps days": 3.0,
            # 100 * (33 * 0.985 + 2200 * 0.0016) / (2200 + 33 * 0.985): 63 mg sodium per 100 g is 0.160 %
            "salt settled %": 1.6137,
        },
        verdicts={"home": "clear", "retail": "act", "plant": "act"},
    ),
    Note(
        name="garlic-in-its-oil",
        family="confit kept cold and short",
        says="Peeled garlic stewed soft in oil, two weeks in the fridge under it. It is cooked, it is cold: what could happen?",
        page="""
food: garlic
kind: cook
portions: 40
batch: 500 g
pieces: {shape: sphere, thickness: 15 mm, mass: 4 g, form: whole}
steps:
  trim: {part: trim, do: Peel., temperature: 18 °C}
  cook: {do: Stew in oil until soft., stage: cook, time: 45 min, place: stove, temperature: 95 °C, air: water, medium: oil}
  ice: ice
keeping: {pack: oil, temperature: 3 °C, time: 14 days}
""",
        figures={
            "hours": 2.75,  # 0.5 + 0.75 + 1.5
            "keeps days": 14.0,
            "food water %": 58.6,
            "food fat %": 0.5,
            "step hours: 2": 0.75,
            "step hours: 3": 1.5,
        },
        verdicts={"home": "stop", "retail": "stop", "plant": "stop"},
        finds=("oil",),
        mends=("4 days",),
        within={"food water %": 0.02, "food fat %": 0.1},
    ),
)
