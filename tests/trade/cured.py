"""Cured, pickled and dried: a second round of ordinary methods. Sums stand beside the figures."""

from tests.trade.notebook import Note

NOTES = (
    Note(
        name="spiced-brisket",
        family="equilibrium cure, smoked and steamed",
        says="2.5 kg of brisket in 3 kg of cure, 11 g of type 1 for 121 ppm of all; smoked to 68 °C, steamed soft, iced in slices.",
        page="""
food: beef brisket, whole, lean+fat
kind: hot smoke
portions: 12
batch: 2.5 kg
pieces: {shape: block, thickness: 60 mm, width: 200 mm, length: 350 mm, mass: 2.5 kg}
saltings: {cure: {kind: equilibrium, temperature: 3 °C, target_salt: 2.1 % of all, items: {water: 3 kg, salt: 110 g, type 1: 11 g, sugar: 60 g}}}
steps:
  trim: trim
  cure: {part: cure, do: Into the cure., time: 14 days, gain: 3 %}
  rinse: rinse
  smoke: {part: hot smoke, core: 68 °C, hold: 5 min, loss: 12 %}
  steam: {do: Steam soft., stage: cook, until: core, place: oven, chamber: 100 °C, air: steam, core: 92 °C, loss: 18 %}
  ice: {part: ice, do: "Slice, bag and sink in ice and water.", loss: 0 %}
  chill: {part: chill, loss: 0 %}
  pack: pack
keeping: {pack: wrapped, temperature: 3 °C, time: 4 days, frozen: 60 days}
""",
        figures={
            "brine %": 3.730,  # 100 * (110 * 0.985 + 11 * 0.9375) / (3000 + 110 + 11 + 60)
            # 11 * 0.0625 / (2500 + 3181) * 1,000,000: at equilibrium the meat has the share that it has of all
            "nitrite ppm": 121.0,
            # c = (118.7 + 2500 * 0.001754) / (3000 + 2500 * 0.61424) = 0.02713 in each water; 41.66 g in 2500 * 0.99825
            # + 41.66 g and 20.3 g of the sugar, a third of the water being the meat's
            "salt settled %": 1.629,
            "water-phase salt settled %": 2.641,  # 100 * 0.02713 / 1.02713
            "yield %": 74.32,  # 100 * 1.03 * 0.88 * 0.82
            "portion g": 154.8,  # 2500 * 0.7432 / 12
            "step hours: 2": 336.0,
        },
        verdicts={"home": "clear", "retail": "act", "plant": "act"},
    ),
    Note(
        name="boiled-ham-with-its-bone",
        family="pumped ham",
        says="A leg of 7 kg pumped with 12 % of pickle that gives 150 ppm, four days, simmered to 68 °C, cooled by the clock.",
        page="""
food: "pork leg (fresh ham), whole, lean+fat"
portions: 35
batch: 7 kg
pieces: {shape: joint, mass: 7 kg, bone: in, skin: "on"}
saltings: {pickle: {kind: injection, pump: 12 %, temperature: 3 °C, items: {water: 5 kg, salt: 700 g, type 1: 150 ppm nitrite, sugar: 200 g}}}
steps:
  trim: trim
  pump: {part: pump, gain: 12 %}
  rest: {do: Leave in the cold., stage: salt, time: 4 days, place: fridge, temperature: 3 °C, use: pickle}
  cook: {do: Simmer., stage: cook, until: core, place: stove, temperature: 80 °C, air: water, core: 69 °C, hold: 2 min, loss: 10 %}
  first: {do: Cool in running water., stage: cool, time: 2 h, core: 21 °C, place: bench, temperature: 4 °C, air: water}
  chill: {part: chill, time: 4 h, core: 5 °C}
  pack: pack
keeping: {pack: wrapped, temperature: 3 °C, time: 5 days}
""",
        figures={
            # x in the pickle: 0.00015 / 0.0625 / 0.12 = 0.02 of it; 0.02 / 0.98 * 5900
            "weigh: type 1": 120.4,
            "nitrite ppm": 150.0,
            "brine %": 13.33,  # 100 * (700 * 0.985 + 120.4 * 0.9375) / 6020.4
            # 100 * (0.12 * 0.1333 + 0.001195) / 1.12
            "salt settled %": 1.535,
            "hours": 108.9,  # 0.5 + 0.5 + 96 + what the core takes + 2 + 4 + 0.25, the core computed
            "keeps days": 5.0,
        },
        within={"hours": 0.06},
        verdicts={"home": "clear", "retail": "act", "plant": "act"},
    ),
    Note(
        name="corned-flat",
        family="wet cure by immersion",
        says="Lean brisket seven days in 3 kg of pickle with 12 g of type 1, simmered and eaten hot.",
        page="""
food: beef brisket, whole, lean
portions: 8
batch: 1.5 kg
pieces: {shape: slab, thickness: 50 mm, mass: 1.5 kg}
saltings: {brine: {kind: immersion, temperature: 3 °C, items: {water: 3 kg, salt: 250 g, type 1: 12 g, sugar: 100 g}}}
steps:
  trim: trim
  brine: {part: brine, time: 7 days, gain: 4 %}
  cook: {do: Simmer., stage: cook, until: core, place: stove, temperature: 92 °C, air: water, core: 85 °C, loss: 28 %}
  serve: serve
""",
        figures={
            "brine %": 7.659,  # 100 * (250 * 0.985 + 12 * 0.9375) / (3000 + 250 + 12 + 100)
            # c = (257.5 + 1500 * 0.00201) / (3000 + 1500 * 0.70715) = 0.06415 in each water; 68.05 g in 1500 * 0.998 + 68.05 and
            # 26.1 g of the sugar
            "salt settled %": 4.277,
            "water-phase salt settled %": 6.029,
            # 12 * 0.0625 / (1500 + 3362) * 1,000,000: of meat and pickle together
            "nitrite ppm": 154.3,
            "yield %": 74.88,  # 100 * 1.04 * 0.72
            "step hours: 2": 168.0,
        },
        verdicts={"home": "clear", "retail": "act", "plant": "clear"},
    ),
    Note(
        name="trout-under-salt-and-sugar",
        family="cured fish",
        says="Farmed trout sides frozen a week, 4 % salt and 4 % sugar, pressed two days, 8 % lighter; eaten within four.",
        page="""
food: trout, rainbow, farmed
kind: dry cure
portions: 20
batch: 1.6 kg
pieces: {shape: slab, thickness: 20 mm, skin: "on", origin: farmed}
saltings: {cure: {kind: dry cure, temperature: 3 °C, items: {salt: 4 % of food, sugar: 4 % of food, pepper: 0.3 % of food}}}
steps:
  trim: trim
  freeze: freeze
  thaw: thaw
  cure: {part: cure, do: Press flesh to flesh., time: 48 h, loss: 7-9 %}
  pack: pack
keeping: {pack: wrapped, temperature: 3 °C, time: 4 days}
""",
        figures={
            "weigh: salt": 64.0,  # 1600 * 0.04
            "weigh: sugar": 64.0,
            "weigh: pepper": 4.8,  # 1600 * 0.003
            # 100 * (64 * 0.985 + 1600 * 0.0012965) / (1600 + 63.04 + 64): salt and sugar stay on the side
            "salt settled %": 3.770,
            "yield %": 92.0,  # as weighed: 8 % lighter
            "portion g": 73.6,  # 1600 * 0.92 / 20
            "step hours: 4": 48.0,
        },
        verdicts={"home": "act", "retail": "act", "plant": "act"},
    ),
    Note(
        name="wild-char-smoked-cold",
        family="cold smoked fish",
        says="Wild char, 3 % salt a night, smoked twelve hours at 4 °C and wrapped; the lake is cold, so nobody freezes it.",
        page="""
food: char, Arctic
kind: cold smoke
portions: 15
batch: 1.5 kg
pieces: {shape: slab, thickness: 20 mm, skin: "on", origin: wild}
saltings: {cure: {kind: dry cure, temperature: 3 °C, items: {salt: 3 % of food, sugar: 1 % of food}}}
steps:
  trim: trim
  cure: {part: cure, time: 24 h, loss: 4 %}
  rinse: rinse
  smoke: cold smoke
  pack: pack
keeping: {pack: wrapped, temperature: 3 °C, time: 4 days}
""",
        figures={
            "weigh: salt": 45.0,  # 1500 * 0.03
            "weigh: sugar": 15.0,  # 1500 * 0.01
            "salt settled %": 2.983,  # 100 * (45 * 0.985 + 1500 * 0.001271) / (1500 + 44.325 + 15)
            "yield %": 94.08,  # 100 * 0.96 * 0.98
            "portion g": 94.1,  # 1500 * 0.9408 / 15
            "cost": 30.13,  # 1.5 * 20 + 0.045 * 2 + 0.015 * 1.5
            "hours": 36.92,  # 0.5 + 24 + 0.167 + 12 + 0.25
        },
        verdicts={"home": "stop", "retail": "stop", "plant": "stop"},
        finds=("parasite", "not frozen"),
        mends=("freeze it 7 days",),
    ),
    Note(
        name="herring-in-vinegar",
        family="pickled fish",
        says="Herring frozen three days in the household freezer, salted, watered, under half-strength vinegar for five days.",
        page="""
food: herring, Atlantic
kind: pickle
portions: 15
batch: 1.5 kg
pieces: {shape: slab, thickness: 10 mm, skin: "on"}
saltings:
  brine: {kind: immersion, temperature: 3 °C, items: {water: 2 kg, salt: 300 g}}
  pickle: {kind: immersion, temperature: 3 °C, items: {vinegar: 1 kg, water: 0.5 kg, sugar: 300 g}}
steps:
  trim: trim
  freeze: {part: freeze, time: 3 days}
  thaw: thaw
  brine: {part: brine, time: 12 h, gain: 5 %}
  water: {do: Water it., stage: freshen, time: 2 h, place: fridge, temperature: 3 °C, water: 200 % of food}
  pickle: {do: Pickle., stage: salt, time: 5 days, place: fridge, temperature: 3 °C, use: pickle, loss: 3 %}
  fill: {part: fill, use: pickle}
keeping: {pack: brine, temperature: 3 °C, time: 14 days}
""",
        figures={
            "weigh: salt": 300.0,
            "weigh: vinegar": 1000.0,
            "brine %: brine": 12.85,  # 100 * 300 * 0.985 / 2300
            # c = (295.5 + 1500 * 0.002288) / (2000 + 1500 * 0.71684) = 0.09721 in each water; 104.5 g in 1496.6 + 104.5
            "salt settled %: 1": 6.528,
            "step hours: 4": 12.0,
            "step hours: 6": 120.0,
            "keeps days": 14.0,
        },
        verdicts={"home": "stop", "retail": "stop", "plant": "stop"},
        finds=("3 days",),
        mends=("longer",),
    ),
    Note(
        name="hung-strips",
        family="dried meat of warm countries",
        says="Beef in vinegar, salt and coriander, a night cold, hung four days at 28 °C until half is gone; kept in a cloth bag.",
        page="""
food: beef top round, lean+fat
kind: dried
portions: 20
batch: 2 kg
pieces: {shape: block, thickness: 20 mm, width: 40 mm, length: 200 mm}
saltings: {cure: {kind: dry cure, temperature: 3 °C, items: {salt: 2.2 % of food, vinegar: 3 % of food, coriander seed: 1 % of food}}}
steps:
  trim: trim
  cure: {part: cure, time: 12 h}
  hang: {do: Hang in the box., stage: dry, until: weight loss 50 %, time: 4 days, place: room, temperature: 28 °C, humidity: 40 %, air: draught}
  pack: pack
keeping: {pack: air, temperature: 18 °C, time: 14 days}
""",
        figures={
            "weigh: salt": 44.0,  # 2000 * 0.022
            "weigh: vinegar": 60.0,  # 2000 * 0.03
            # c = (44 * 0.985 + 2000 * 0.001525) / (60 * 0.95 + 2000 * 0.6895) = 0.0323 in the water of meat and vinegar; 44.55 g
            # in 2000 - 3.05 + 44.55
            "salt settled %": 2.182,
            "yield %": 50.0,
            "portion g": 50.0,  # 2000 * 0.5 / 20
            "keeps days": 14.0,
            "step hours: 2": 12.0,
        },
        verdicts={"home": "stop", "retail": "stop", "plant": "stop"},
        finds=("28",),
        mends=("measure it",),
    ),
    Note(
        name="cheese-from-the-tub",
        family="cheese brine",
        says="2 kg of young white cheese a month at 4 °C in 7.3 % brine with a little calcium.",
        page="""
food: cheese, feta
kind: brine
portions: 20
pieces: {shape: block, thickness: 60 mm, width: 80 mm, length: 100 mm}
saltings: {brine: {kind: immersion, temperature: 4 °C, items: {water: 2 kg, salt: 160 g, "calcium chloride, dihydrate (food grade)": 4 g}}}
steps:
  cut: {part: trim, do: Cut., temperature: 4 °C}
  brine: {part: brine, time: 30 days, temperature: 4 °C, loss: 0 %}
  pack: {part: fill, temperature: 4 °C, use: brine}
keeping: {pack: brine, temperature: 4 °C, time: 30 days}
""",
        figures={
            "brine %": 7.283,  # 100 * 160 * 0.985 / (2000 + 160 + 4)
            # c = (157.6 + 2000 * 0.023311) / (2000 + 2000 * 0.5522) = 0.06579: 917 mg sodium per 100 g are 2.33 % salt
            "salt settled %": 3.586,
            "water-phase salt settled %": 6.172,
            "yield %": 100.0,
            "portion g": 100.0,
            "hours": 721.0,  # 0.5 + 720 + 0.5
        },
        verdicts={"home": "act", "retail": "act", "plant": "act"},
    ),
    Note(
        name="beet-water",
        family="brined ferment",
        says="Beets for their sour water: 800 g under two litres with a spoonful of salt, six days in the kitchen.",
        page="""
food: beet
kind: ferment
portions: 10
batch: 800 g
pieces: {shape: block, thickness: 25 mm, width: 25 mm, length: 25 mm}
saltings: {brine: {kind: ferment brine, temperature: 20 °C, items: {water: 2 kg, salt: 20 g}}}
steps:
  cut: {part: trim, do: Cut., temperature: 18 °C}
  ferment: {part: ferment, time: 6 days, place: room, temperature: 20 °C, final_ph: "4.0", use: brine}
  fill: {part: fill, use: brine}
keeping: {pack: brine, temperature: 3 °C, time: 21 days}
""",
        figures={
            "brine %": 0.9752,  # 100 * 20 * 0.985 / 2020
            # c = (19.7 + 800 * 0.001983) / (2000 + 800 * 0.8758) = 0.007882 in each water
            "salt settled %": 0.6869,
            "water-phase salt settled %": 0.782,
            "step hours: 2": 144.0,
            "hours": 145.0,  # 0.5 + 144 + 0.5
            "cost": 1.26,  # 0.8 * 1.5 + 0.02 * 2 + 2 * 0.01
        },
        within={"salt settled %": 0.015},
        verdicts={"home": "stop", "retail": "stop", "plant": "stop"},
        finds=("0.7 %",),
        mends=("more salt",),
    ),
    Note(
        name="garlic-under-oil",
        family="vegetables in oil",
        says="Cloves a night in 9 % brine, drained, under oil on the shelf: the brine was strong enough for anything.",
        page="""
food: garlic
kind: pickle
portions: 20
batch: 1 kg
pieces: {shape: oval, thickness: 15 mm}
saltings: {brine: {kind: immersion, temperature: 3 °C, items: {water: 500 g, salt: 50 g}}}
steps:
  brine: {part: brine, time: 24 h}
  fill: {part: fill, medium: oil}
keeping: {pack: oil, temperature: 18 °C, time: 30 days}
""",
        figures={
            "brine %": 8.955,  # 100 * 50 * 0.985 / 550
            "salometer": 33.93,  # 8.955 / 0.26395
            # c = (49.25 + 0.432) / (500 + 585.8): 58.58 g of water and 17 mg of sodium in 100 g (USDA SR28, read)
            "salt settled %": 2.61,
            "water-phase salt settled %": 4.375,
            "hours": 24.5,
            "keeps days": 30.0,
        },
        within={"salt settled %": 0.02, "water-phase salt settled %": 0.02},
        verdicts={"home": "stop", "retail": "stop", "plant": "stop"},
        finds=("oil", "botulism"),
        mends=("colder",),
    ),
    Note(
        name="cucumbers-for-tomorrow",
        family="vinegar pickles",
        says="Sliced cucumbers a day under half vinegar, half water, salt and sugar; two weeks in the fridge.",
        page="""
food: cucumber, peeled
kind: pickle
portions: 20
batch: 1 kg
pieces: {shape: slab, thickness: 4 mm}
saltings: {brine: {kind: immersion, temperature: 3 °C, items: {vinegar: 500 g, water: 500 g, salt: 25 g, sugar: 100 g}}}
steps:
  cut: {part: trim, do: Slice., temperature: 18 °C}
  brine: {part: brine, do: Pour over cold., time: 24 h}
keeping: {pack: brine, temperature: 3 °C, time: 14 days}
""",
        figures={
            "brine acid %": 2.222,  # 100 * 500 * 0.05 / 1125
            "acid settled %": 1.176,  # 100 * 25 / 2125: in food and pickle together
            "brine %": 2.189,  # 100 * 25 * 0.985 / 1125
            # c = (24.6 + 0.05) / (974 + 967.3) = 0.0127 in each water; 12.29 g in 1000 + 12.3 g and 49.9 g of the sugar
            "salt settled %": 1.157,
            "water-phase salt settled %": 1.254,
            "hours": 24.5,
            "keeps days": 14.0,
        },
        within={"brine acid %": 0.02, "acid settled %": 0.02},
        verdicts={"home": "clear", "retail": "clear", "plant": "clear"},
    ),
    Note(
        name="eel-over-alder",
        family="hot smoked fish",
        says="Eels eight hours at 60 salometer, dried, smoked to 72 °C for half an hour at 95 °C; four days in the cold.",
        page="""
food: eel, mixed
kind: hot smoke
portions: 10
batch: 2.8 kg
pieces: {shape: cylinder, thickness: 40 mm, length: 600 mm, skin: "on", mass: 700 g, gutted: "yes"}
saltings: {brine: {kind: immersion, temperature: 3 °C, items: {water: 3 kg, salt: 60 salometer}}}
steps:
  trim: trim
  brine: {part: brine, time: 8 h, gain: 4 %}
  air: air
  smoke: {part: hot smoke, humidity: 40 %, loss: 12 %}
  chill: {part: chill, loss: 1 %}
  pack: pack
keeping: {pack: wrapped, temperature: 3 °C, time: 4 days}
""",
        figures={
            # 60 degrees are 15.837 % (tests/published/salometer.csv): 3000 * 0.15837 / (0.985 - 0.15837)
            "weigh: salt": 574.8,
            "brine %": 15.837,
            "salometer": 60.0,
            "SG": 1.118,
            "yield %": 88.80,  # 100 * 1.04 * 0.98 * 0.88 * 0.99
            "portion g": 248.6,  # 2800 * 0.888 / 10
            "step hours: 2": 8.0,
        },
        verdicts={"home": "clear", "retail": "act", "plant": "act"},
    ),
    Note(
        name="duck-breast-with-its-slip",
        family="dried meat",
        says="1.4 kg of duck breast, 3 % salt and a quarter percent of type 2, three days; hung to 30 % and measured at 0.90.",
        page="""
food: duck breast, domestic, skinless
kind: dried
portions: 28
batch: 1.4 kg
pieces: {shape: slab, thickness: 25 mm, mass: 350 g}
saltings: {cure: {kind: dry cure, temperature: 3 °C, items: {salt: 3 % of food, type 2: 0.25 % of food, pepper: 0.5 % of food}}}
steps:
  trim: trim
  cure: {part: cure, time: 3 days}
  hang: {do: Hang., stage: dry, until: weight loss 30 %, time: 18 days, place: cellar, temperature: 12 °C, humidity: 75 %, air: still}
  pack: pack
measured: [{what: water activity, value: "0.90", where: thickest place, how: lab, record: "2026-10-20, piece 3"}]
keeping: {pack: wrapped, temperature: 3 °C, time: 14 days}
""",
        figures={
            "weigh: type 2": 3.5,  # 1400 * 0.0025
            "nitrite ppm": 156.25,  # 3.5 * 0.0625 / 1400 * 1,000,000
            "nitrate ppm": 100.0,  # 3.5 * 0.04 / 1400 * 1,000,000
            # 100 * (42 * 0.985 + 3.5 * 0.8975 + 1400 * 0.001652) / (1400 + 44.5)
            "salt settled %": 3.242,
            "yield %": 70.0,
            "portion g": 35.0,  # 1400 * 0.7 / 28
            "step hours: 2": 72.0,
        },
        verdicts={"home": "clear", "retail": "act", "plant": "clear"},
    ),
    Note(
        name="cheese-in-cold-smoke",
        family="smoked cheese",
        says="A kilogram of hard cheese smoked three hours at 15 °C, then a week wrapped in paper. Nobody salts it: it is salted.",
        page="""
food: cheese, cheddar
kind: cold smoke
portions: 20
batch: 1 kg
pieces: {shape: block, thickness: 50 mm, width: 80 mm, length: 120 mm}
steps:
  face: {do: Dry the face., stage: rest, time: 12 h, place: fridge, temperature: 4 °C, loss: 0 %}
  smoke: {do: Smoke., stage: smoke, time: 3 h, place: smoker, chamber: 15 °C, humidity: 70 %, air: draught, loss: 1 %}
  rest: {do: Rest wrapped., stage: rest, time: 7 days, place: fridge, temperature: 4 °C, medium: wrapped, loss: 0 %}
keeping: {pack: wrapped, temperature: 4 °C, time: 30 days}
""",
        figures={
            "finished salt %": 1.654,  # 644 mg of sodium in 100 g are 1.637 g of salt; in 99 % of the weight
            "yield %": 99.0,
            "portion g": 49.5,  # 1000 * 0.99 / 20
            "food fat %": 33.82,
            "food water %": 37.1,
            "hours": 183.0,  # 12 + 3 + 168
        },
        verdicts={"home": "act", "retail": "act", "plant": "act"},
    ),
    Note(
        name="wilted-leaves-in-red-paste",
        family="brined and pasted ferment",
        says="3 kg of napa wilted four hours in 9 % brine, rinsed, rubbed with a paste, two days warm and two weeks cold.",
        page="""
food: cabbage, napa/pe-tsai
kind: ferment
portions: 30
batch: 3 kg
pieces: {shape: slab, thickness: 30 mm}
saltings:
  brine: {kind: immersion, temperature: 18 °C, items: {water: 3 kg, salt: 300 g}}
  paste: {kind: dry-salted ferment, temperature: 18 °C, items: {fish sauce: 3 % of food, chili flakes: 4 % of food, garlic: 3 % of food}}
steps:
  cut: {part: trim, temperature: 18 °C}
  wilt: {part: brine, do: Wilt., time: 4 h, place: room, temperature: 18 °C, loss: 15 %}
  rinse: {part: rinse, do: Rinse twice and drain.}
  rub: {do: Rub with the paste and pack., stage: salt, time: 30 min, hands_on: "yes", place: bench, temperature: 18 °C, use: paste}
  sour: {part: ferment, time: 2 days, place: room, temperature: 20 °C, final_ph: "4.4", use: paste}
  ripen: {part: ferment, time: 14 days, place: fridge, temperature: 3 °C, use: paste}
keeping: {pack: brine, temperature: 3 °C, time: 60 days}
""",
        figures={
            "weigh: fish sauce": 90.0,  # 3000 * 0.03
            "weigh: chili flakes": 120.0,
            "weigh: garlic": 90.0,
            "brine %: brine": 8.955,  # 100 * 300 * 0.985 / 3300
            # c = (295.5 + 3000 * 0.000229) / (3000 + 3000 * 0.9439) = 0.05079: 9 mg of sodium, 94.39 g of water in 100 g
            "salt settled %: 1": 4.575,
            "step hours: 2": 4.0,
            "hours": 389.17,  # 0.5 + 4 + 0.167 + 0.5 + 48 + 336
        },
        verdicts={"home": "clear", "retail": "act", "plant": "clear"},
    ),
    Note(
        name="strips-from-the-dryer",
        family="jerky",
        says="Beef strips in soy, salt and sugar overnight, six hours in the dryer at 55 °C until half is gone; never heated.",
        page="""
food: beef top round, lean+fat
kind: dried
portions: 10
batch: 1 kg
pieces: {shape: slab, thickness: 5 mm}
saltings: {cure: {kind: dry cure, temperature: 3 °C, items: {soy sauce: 3 % of food, salt: 1 % of food, sugar: 2 % of food}}}
steps:
  trim: trim
  cure: {part: cure, time: 8 h}
  dry: {do: Dry., stage: dry, time: 6 h, place: oven, chamber: 55 °C, humidity: 25 %, air: forced, loss: 50 %}
  pack: pack
keeping: {pack: wrapped, temperature: 3 °C, time: 14 days}
""",
        figures={
            "weigh: soy sauce": 30.0,
            "weigh: salt": 10.0,
            "weigh: sugar": 20.0,
            "step hours: 2": 8.0,
            "step hours: 3": 6.0,
            "hours": 14.75,  # 0.5 + 8 + 6 + 0.25
            "food fat %": 7.92,
        },
        verdicts={"home": "stop", "retail": "stop", "plant": "stop"},
        finds=("never heated",),
        mends=("off the time",),
    ),
)
