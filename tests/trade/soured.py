"""Vinegar pickles, sauces, ferments, pickled fish and eggs. Sums stand beside the figures."""

from tests.trade.notebook import Note

NOTES = (
    Note(
        name="cabbage-shredded",
        family="kraut-like",
        says="5 kg of shreds, 2.3 % salt, six weeks in the cellar at 17 °C.",
        page="""
food: cabbage, green
kind: ferment
portions: 50
batch: 5 kg
pieces: {shape: slab, thickness: 3 mm}
saltings: {cure: {kind: dry-salted ferment, temperature: 17 °C, items: {salt: 2.3 % of food, caraway seed: 0.3 % of food}}}
steps: {trim: {part: trim, do: Shred and weigh., temperature: 18 °C}, knead: knead, ferment: {part: ferment, loss: 10 %}, fill: fill}
keeping: {pack: brine, temperature: 3 °C, time: 180 days}
""",
        figures={
            "weigh: salt": 115.0,  # 5000 * 0.023
            "weigh: caraway seed": 15.0,  # 5000 * 0.003
            # 100 * (115 * 0.985 + 5000 * 0.000457) / (5000 + 115 * 0.985 + 0): 18 mg sodium per 100 g is 0.046 %
            "salt settled %": 2.26,
            "yield %": 90.0,
            "portion g": 90.0,  # 5000 * 0.9 / 50
            "cost": 5.23,  # 5 * 1 + 0.115 * 2
            "hours": 1009.3,  # 0.5 + 0.333 + 42 * 24 + 0.5
        },
        verdicts={"home": "clear", "retail": "act", "plant": "clear"},
    ),
    Note(
        name="cabbage-by-the-handful",
        family="kraut-like",
        says="The same crock, salted by the handful in a hurry: it came to 50 g. It foamed well and smells right.",
        page="""
food: cabbage, green
kind: ferment
portions: 50
batch: 5 kg
pieces: {shape: slab, thickness: 3 mm}
saltings: {cure: {kind: dry-salted ferment, temperature: 17 °C, items: {salt: 50 g}}}
steps: {trim: {part: trim, do: Shred and weigh., temperature: 18 °C}, knead: knead, ferment: {part: ferment, loss: 10 %}, fill: fill}
keeping: {pack: brine, temperature: 3 °C, time: 180 days}
""",
        figures={
            "weigh: salt": 50.0,
            "salt settled %": 1.0206,  # 100 * (50 * 0.985 + 5000 * 0.000457) / (5000 + 50 * 0.985)
            "yield %": 90.0,
            "portion g": 90.0,  # 5000 * 0.9 / 50
            "cost": 5.1,  # 5 * 1 + 0.05 * 2
            "hours": 1009.3,  # 0.5 + 0.333 + 42 * 24 + 0.5
        },
        verdicts={"home": "stop", "retail": "stop", "plant": "stop"},
        finds=("salt",),
        mends=("salt",),
    ),
    Note(
        name="napa-with-radish",
        family="kraut-like",
        says="3 kg of napa, 2.5 % salt, garlic and chili, four days in the room, two weeks in the cold.",
        page="""
food: cabbage, napa/pe-tsai
kind: ferment
portions: 40
batch: 3 kg
pieces: {shape: slab, thickness: 8 mm}
saltings: {cure: {kind: dry-salted ferment, temperature: 18 °C, items: {salt: 2.5 % of food, garlic: 2 % of food, chili flakes: 1 % of food}}}
steps:
  trim: {part: trim, do: Cut and weigh., temperature: 18 °C}
  knead: knead
  ferment: {part: ferment, time: 4 days, place: room, temperature: 18 °C, final_ph: "4.2"}
  cold: {do: Ripen in the cold., stage: ferment, time: 14 days, place: fridge, temperature: 3 °C, loss: 8 %}
  fill: fill
keeping: {pack: brine, temperature: 3 °C, time: 60 days}
""",
        figures={
            "weigh: salt": 75.0,  # 3000 * 0.025
            "weigh: garlic": 60.0,  # 3000 * 0.02
            "weigh: chili flakes": 30.0,  # 3000 * 0.01
            "yield %": 92.0,
            "portion g": 69.0,  # 3000 * 0.92 / 40
            "hours": 433.33,  # 0.5 + 0.333 + 96 + 336 + 0.5
        },
        verdicts={"home": "clear", "retail": "act", "plant": "clear"},
    ),
    Note(
        name="carrots-in-brine",
        family="brined ferment",
        says="1.5 kg of carrots, 1.2 kg of water, salt for 2.6 % of both, four weeks at 19 °C.",
        page="""
food: carrot
kind: ferment
portions: 20
batch: 1.5 kg
pieces: {shape: block, thickness: 14 mm, width: 15 mm, length: 110 mm, mass: 20 g}
saltings: {brine: {kind: ferment brine, temperature: 19 °C, target_salt: 2.6 % of all, items: {water: 1.2 kg, salt: to target}}}
steps:
  trim: {part: trim, do: Peel and cut., temperature: 18 °C}
  lay: {do: Lay under the brine., stage: salt, time: 15 min, hands_on: "yes", place: bench, temperature: 18 °C, use: brine}
  ferment: {part: ferment, use: brine, time: 28 days, temperature: 19 °C, place: room, loss: 2 %}
  fill: fill
keeping: {pack: brine, temperature: 3 °C, time: 120 days}
""",
        figures={
            # (0.026 * 2700 - 1500 * 0.00175) / (0.985 - 0.026): 0.985 s + 2.6 of its own = 2.6 % of (2700 + s)
            "weigh: salt": 70.464,
            "brine %": 5.4658,  # 100 * 0.985 * 70.5 / 1270.5
            "salometer": 20.708,  # 100 * 0.985 * 70.5 / 1270.5 / 0.26395
            "yield %": 98.0,
            "portion g": 73.5,  # 1500 * 0.98 / 20
            "cost": 1.953,  # 1.5 * 1.2 + 0.0705 * 2 + 1.2 * 0.01
            "hours": 673.25,  # 0.5 + 0.25 + 28 * 24 + 0.5
        },
        verdicts={"home": "clear", "retail": "act", "plant": "clear"},
    ),
    Note(
        name="beets-in-vinegar",
        family="vinegar pickles",
        says="2 kg of boiled beets sliced into 1.2 kg vinegar of 5 %, 400 g water, 200 g sugar, 40 g salt; a week in the cold.",
        page="""
food: beet
kind: pickle
portions: 30
pieces: {shape: slab, thickness: 6 mm, mass: 12 g}
saltings: {brine: {kind: immersion, temperature: 4 °C, items: {vinegar: 1.2 kg, water: 400 g, sugar: 200 g, salt: 40 g}}}
steps:
  cook: {do: Boil until soft., stage: cook, time: 50 min, place: stove, temperature: 98 °C, air: water, loss: 8 %}
  cool: {part: ice, time: 60 min}
  trim: {part: trim, do: Skin and slice.}
  cure: {do: Lay under the cold vinegar., stage: salt, time: 7 days, place: fridge, temperature: 4 °C, use: brine}
keeping: {pack: brine, temperature: 4 °C, time: 60 days}
""",
        figures={
            "weigh: vinegar": 1200.0,
            "weigh: sugar": 200.0,
            "brine acid %": 3.2609,  # 100 * 1200 * 0.05 / 1840: 5 % of the vinegar, in all of the brine
            "acid settled %": 1.5625,  # 100 * 1200 * 0.05 / 3840: in beets and brine together
            "pH settled": 3.9,  # acid of 0.26 mol/kg with the beet's buffering: between 3.6 and 4.1 (common practice, no source)
            "yield %": 92.0,
            "cost": 5.784,  # 2 * 1.5 + 1.2 * 2 + 0.4 * 0.01 + 0.2 * 1.5 + 0.04 * 2
            "hours": 170.33,  # 50 / 60 + 1 + 0.5 + 168
        },
        verdicts={"home": "clear", "retail": "clear", "plant": "clear"},
        within={"pH settled": 0.08},
    ),
    Note(
        name="beets-for-the-pantry",
        family="vinegar pickles",
        says="The same beets, milder: 300 g vinegar to 1.3 kg of water, closed hot in jars, on the pantry shelf until spring.",
        page="""
food: beet
kind: pickle
portions: 30
pieces: {shape: slab, thickness: 6 mm, mass: 12 g}
saltings: {brine: {kind: immersion, temperature: 18 °C, items: {vinegar: 300 g, water: 1.3 kg, sugar: 200 g, salt: 40 g}}}
steps:
  cook: {do: Boil until soft., stage: cook, time: 50 min, place: stove, temperature: 98 °C, air: water, loss: 8 %}
  cool: {part: ice, time: 60 min}
  trim: {part: trim, do: Skin and slice.}
  cure: {do: Pour over and close., stage: salt, time: 7 days, place: cellar, temperature: 18 °C, use: brine}
keeping: {pack: jar, temperature: 18 °C, time: 180 days}
""",
        figures={
            "weigh: vinegar": 300.0,
            "weigh: sugar": 200.0,
            "brine acid %": 0.81522,  # 100 * 300 * 0.05 / 1840
            "acid settled %": 0.39062,  # 100 * 300 * 0.05 / 3840
            "yield %": 92.0,
            "cost": 3.993,  # 2 * 1.5 + 0.3 * 2 + 1.3 * 0.01 + 0.2 * 1.5 + 0.04 * 2
        },
        verdicts={"home": "stop", "retail": "stop", "plant": "stop"},
        finds=("jar",),
        mends=("fridge",),
    ),
    Note(
        name="cucumbers-quick",
        family="vinegar pickles",
        says="2 kg of cucumbers under 1.2 kg vinegar, 800 g water, 60 g salt; cold from the first hour.",
        page="""
food: cucumber, with peel
kind: pickle
portions: 20
pieces: {shape: cylinder, thickness: 30 mm, length: 90 mm, mass: 60 g, skin: "on", form: whole}
saltings: {brine: {kind: immersion, temperature: 4 °C, items: {vinegar: 1.2 kg, water: 800 g, salt: 60 g, sugar: 80 g}}}
steps:
  trim: {part: trim, do: Wash and trim., temperature: 18 °C}
  cure: {do: Lay under the cold vinegar., stage: salt, time: 10 days, place: fridge, temperature: 4 °C, use: brine, gain: 2 %}
keeping: {pack: brine, temperature: 4 °C, time: 30 days}
""",
        figures={
            "weigh: salt": 60.0,
            "brine %": 2.7617,  # 100 * 60 * 0.985 / 2140
            "brine acid %": 2.8037,  # 100 * 1200 * 0.05 / 2140
            "acid settled %": 1.4493,  # 100 * 1200 * 0.05 / 4140
            "yield %": 102.0,
            "hours": 240.5,  # 0.5 + 240
            "keeps days": 30.0,
        },
        verdicts={"home": "clear", "retail": "clear", "plant": "clear"},
    ),
    Note(
        name="ember-sauce",
        family="sauces",
        says="1 kg of red chilies mashed with 3 % salt, three weeks, thinned with 500 g of vinegar of 5 %, bottled cold, measured.",
        page="""
food: "hot chili, red"
kind: ferment
portions: 100
batch: 1 kg
pieces: {shape: slab, thickness: 3 mm}
saltings: {cure: {kind: dry-salted ferment, temperature: 20 °C, items: {salt: 3 % of food, garlic: 4 % of food}}}
glazes: {vinegar: {stays_on: 50 % of food, items: {vinegar: 500 g}}}
steps:
  mash: {part: knead, do: Chop with the salt.}
  ferment: {part: ferment, time: 21 days, place: room, temperature: 20 °C, final_ph: "3.9"}
  thin: {do: Blend with the vinegar and sieve., stage: glaze, time: 25 min, hands_on: "yes", place: bench, temperature: 18 °C, use: vinegar, gain: 30 %}
  fill: fill
measured: [{what: pH, value: "3.4", where: through the piece, how: meter, record: "2026-10-09, bottle 3"}]
keeping: {pack: bottle, temperature: 3 °C, time: 180 days}
""",
        figures={
            "weigh: salt": 30.0,
            "weigh: garlic": 40.0,
            "weigh: vinegar": 500.0,
            "yield %": 130.0,
            "portion g": 13.0,  # 1000 * 1.3 / 100
            "hours": 505.25,  # 0.333 + 21 * 24 + 25 / 60 + 0.5
        },
        verdicts={"home": "clear", "retail": "stop", "plant": "clear"},
        finds=("180 days",),
    ),
    Note(
        name="herring-under-vinegar",
        family="pickled fish",
        says="2 kg of herring fillets frozen eight days, a night in strong salt, a week under 1.2 kg vinegar with 600 g water and 300 g sugar.",
        page="""
food: herring, Atlantic
kind: pickle
portions: 20
pieces: {shape: slab, thickness: 8 mm, mass: 60 g, origin: wild}
saltings:
  brine: {kind: immersion, temperature: 3 °C, items: {water: 2 kg, salt: 400 g}}
  vinegar: {kind: immersion, temperature: 3 °C, items: {vinegar: 1.2 kg, water: 600 g, sugar: 300 g, salt: 60 g}}
steps:
  trim: trim
  freeze: freeze
  thaw: thaw
  salt: {part: brine, time: 24 h}
  rinse: rinse
  cure: {do: Lay under the cold vinegar., stage: salt, time: 7 days, place: fridge, temperature: 3 °C, use: vinegar}
keeping: {pack: brine, temperature: 3 °C, time: 28 days}
""",
        figures={
            "brine %: brine": 16.417,  # 100 * 400 * 0.985 / 2400
            "salometer: brine": 62.196,  # 100 * 400 * 0.985 / 2400 / 0.26395
            "weigh: salt": 460.0,  # 400 g in the brine, 60 g in the vinegar
            "weigh: vinegar": 1200.0,
            "brine acid %": 2.7778,  # 100 * 1200 * 0.05 / 2160
            "hours": 408.67,  # 0.5 + 192 + 24 + 24 + 0.167 + 168
            "keeps days": 28.0,
        },
        verdicts={"home": "clear", "retail": "clear", "plant": "clear"},
    ),
    Note(
        name="herring-straight-from-the-boat",
        family="pickled fish",
        says="The same herring, never frozen: vinegar kills everything.",
        page="""
food: herring, Atlantic
kind: pickle
portions: 20
pieces: {shape: slab, thickness: 8 mm, mass: 60 g, origin: wild}
saltings: {vinegar: {kind: immersion, temperature: 3 °C, items: {vinegar: 1.2 kg, water: 600 g, sugar: 300 g, salt: 60 g}}}
steps:
  trim: trim
  cure: {do: Lay under the cold vinegar., stage: salt, time: 7 days, place: fridge, temperature: 3 °C, use: vinegar}
keeping: {pack: brine, temperature: 3 °C, time: 28 days}
""",
        figures={
            "weigh: salt": 60.0,
            "weigh: vinegar": 1200.0,
            "weigh: sugar": 300.0,
            "brine %": 2.7361,  # 100 * 60 * 0.985 / 2160
            "brine acid %": 2.7778,  # 100 * 1200 * 0.05 / 2160
            "hours": 168.5,  # 0.5 + 168
        },
        verdicts={"home": "stop", "retail": "stop", "plant": "stop"},
        finds=("parasite",),
        mends=("freez",),
    ),
    Note(
        name="eggs-under-vinegar",
        family="pickled eggs",
        says="800 g of hard-boiled eggs, 1 kg of vinegar, 15 g salt, 25 g sugar, two weeks in the cold.",
        page="""
food: egg, whole
kind: pickle
portions: 16
batch: 800 g
pieces: {shape: sphere, thickness: 44 mm, mass: 50 g, form: whole}
saltings: {brine: {kind: immersion, temperature: 4 °C, items: {vinegar: 1 kg, salt: 15 g, sugar: 25 g}}}
steps:
  cook: {do: Boil hard., stage: cook, until: core, place: stove, temperature: 97 °C, air: water, core: 75 °C}
  cool: {part: ice, time: 20 min}
  trim: {part: trim, do: Peel.}
  cure: {do: Lay under the cold vinegar., stage: salt, time: 14 days, place: fridge, temperature: 4 °C, use: brine}
keeping: {pack: brine, temperature: 4 °C, time: 60 days}
""",
        figures={
            "weigh: salt": 15.0,
            "weigh: sugar": 25.0,
            "brine %": 1.4207,  # 100 * 15 * 0.985 / 1040
            "brine acid %": 4.8077,  # 100 * 1000 * 0.05 / 1040
            "acid settled %": 2.7174,  # 100 * 1000 * 0.05 / 1840
            "cost": 6.0675,  # 0.8 * 5 + 1 * 2 + 0.015 * 2 + 0.025 * 1.5
            "keeps days": 60.0,
        },
        verdicts={"home": "clear", "retail": "clear", "plant": "clear"},
    ),
    Note(
        name="eggs-on-the-counter",
        family="pickled eggs",
        says="The same jar on the counter for a fortnight, because the vinegar is so sharp.",
        page="""
food: egg, whole
kind: pickle
portions: 16
batch: 800 g
pieces: {shape: sphere, thickness: 44 mm, mass: 50 g, form: whole}
saltings: {brine: {kind: immersion, temperature: 20 °C, items: {vinegar: 1 kg, salt: 15 g, sugar: 25 g}}}
steps:
  cook: {do: Boil hard., stage: cook, until: core, place: stove, temperature: 97 °C, air: water, core: 75 °C}
  cool: {part: ice, time: 20 min}
  trim: {part: trim, do: Peel.}
  cure: {do: Lay under the vinegar., stage: salt, time: 14 days, place: bench, temperature: 20 °C, use: brine}
keeping: {pack: brine, temperature: 20 °C, time: 30 days}
""",
        figures={
            "weigh: salt": 15.0,
            "brine %": 1.4207,  # 100 * 15 * 0.985 / 1040
            "brine acid %": 4.8077,  # 100 * 1000 * 0.05 / 1040
            "acid settled %": 2.7174,  # 100 * 1000 * 0.05 / 1840
            "cost": 6.0675,  # 0.8 * 5 + 1 * 2 + 0.015 * 2 + 0.025 * 1.5
            "keeps days": 30.0,
        },
        verdicts={"home": "stop", "retail": "stop", "plant": "stop"},
        finds=("egg",),
        mends=("fridge",),
    ),
    Note(
        name="chilies-thinned",
        family="hot sauce",
        says="1 kg of chilies, 5 % salt, garlic; soured, then thinned with a fifth of vinegar and passed through nothing.",
        page="""
food: hot chili, red
kind: ferment
portions: 60
batch: 1 kg
pieces: {shape: slab, thickness: 3 mm, form: cut}
saltings: {cure: {kind: dry-salted ferment, temperature: 21 °C, items: {salt: 5 % of food, garlic: 3 % of food}}}
glazes: {vinegar: {stays_on: 20 % of food, items: {vinegar: 200 g}}}
steps:
  chop: {do: Chop with salt and garlic., stage: salt, time: 30 min, hands_on: "yes", place: bench, temperature: 18 °C}
  sour: {do: Sour under an airlock., stage: ferment, time: 14 days, place: room, temperature: 21 °C, final_ph: "4.0"}
  thin: {do: Blend with the vinegar., stage: glaze, use: vinegar, time: 10 min, hands_on: "yes", place: bench, temperature: 18 °C}
  fill: fill
measured: [{what: pH, value: "3.6", where: through the piece, how: meter, record: "bottle 2"}]
keeping: {pack: bottle, temperature: 3 °C, time: 90 days}
""",
        figures={
            "weigh: salt": 50.0,  # 1000 * 0.05
            "weigh: vinegar": 200.0,
            # 50 * 0.985 = 49.25 g of salt and 9 mg of sodium in 100 g, 0.23 g, in 1000 + 50 + 200 g; garlic floats along
            "finished salt %": 3.86,
            # 200 * 0.05 = 10 g in 200 + 50 + 30 g
            "brine acid %": 3.571,
            "hours": 337.17,  # 0.5 + 14 * 24 + 0.17 + 0.5
            "keeps days": 90.0,
        },
        within={"finished salt %": 0.03},
        verdicts={"home": "act", "retail": "stop", "plant": "act"},
        finds=("without air",),
    ),
    Note(
        name="crock-topped-up",
        family="kraut-like",
        says="10 kg of shreds at 2.3 % salt, six weeks at 18 °C; half way a litre of 2 % brine tops the crock up.",
        page="""
food: cabbage, green
kind: ferment
portions: 100
batch: 10 kg
pieces: {shape: slab, thickness: 3 mm}
saltings: {cure: {kind: dry-salted ferment, temperature: 18 °C, items: {salt: 2.3 % of food}}}
glazes: {top-up: {items: {water: 980 g, salt: 20 g}}}
steps:
  trim: {part: trim, do: Shred and weigh., temperature: 18 °C}
  knead: knead
  first: {do: Sour., stage: ferment, time: 20 days, place: cellar, temperature: 18 °C}
  top: {do: Top up with the brine., stage: prepare, use: top-up, time: 10 min, hands_on: "yes", place: cellar, temperature: 18 °C}
  ferment: {do: Sour on., stage: ferment, time: 22 days, place: cellar, temperature: 18 °C, final_ph: "3.7"}
  fill: fill
keeping: {pack: brine, temperature: 3 °C, time: 180 days}
""",
        figures={
            "weigh: salt": 250.0,  # 10000 * 0.023 + 20
            # 100 * (230 * 0.985 + 4.57) / (10000 + 230 * 0.985): 18 mg sodium per 100 g is 0.0457 %
            "salt settled %": 2.26,
            # 100 * (250 * 0.985 + 4.57) / (10000 + 230 * 0.985 + 1000): the litre counts from then on
            "finished salt %": 2.234,
            # (10000 - 300 of juice, the 3 % that a cure usually draws, + 220 of the salt, + 1000 of brine) / 100
            "portion g": 109.2,
            "hours": 1009.5,
            "keeps days": 180.0,
        },
        verdicts={"home": "clear", "retail": "act", "plant": "clear"},
    ),
)
