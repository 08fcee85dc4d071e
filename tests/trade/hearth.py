"""From the fire and the oven: a second round of ordinary methods. Sums stand beside the figures."""

from tests.trade.notebook import Note

NOTES = (
    Note(
        name="brined-turkey",
        family="whole bird, brined and smoked",
        says="5.5 kg turkey a day in 5.4 % brine, dried, smoked at 135 °C to 75 °C; eaten hot.",
        page="""
food: turkey whole, meat and skin
kind: hot smoke
portions: 12
batch: 5.5 kg
pieces: {shape: bird, mass: 5.5 kg, skin: "on"}
saltings: {brine: {kind: immersion, temperature: 3 °C, items: {water: 8 kg, salt: 480 g, sugar: 240 g}}}
steps:
  trim: trim
  brine: {part: brine, time: 24 h, gain: 6 %}
  air: {part: air, loss: 1 %}
  smoke: {do: Smoke., stage: smoke, until: core, place: smoker, chamber: 135 °C, humidity: 20 %, air: draught, core: 75 °C, loss: 20 %}
  serve: {part: serve, loss: 0 %}
""",
        figures={
            "brine %": 5.422,  # 100 * 480 * 0.985 / (8000 + 480 + 240)
            # c = (472.8 + 5500 * 0.002847) / (8000 + 5500 * 0.71912) = 0.04086 in each water; 161.6 g in 5500 * 0.99715 +
            # 161.6 g and 79.4 g of the sugar
            "salt settled %": 2.824,
            "water-phase salt settled %": 3.925,
            "yield %": 83.95,  # 100 * 1.06 * 0.99 * 0.8
            "portion g": 384.8,  # 5500 * 0.8395 / 12
            "step hours: 2": 24.0,
            "cost": 1.40,  # 0.48 * 2 + 0.24 * 1.5 + 8 * 0.01: no price of a turkey, as the page says
        },
        verdicts={"home": "clear", "retail": "clear", "plant": "clear"},
    ),
    Note(
        name="dry-salted-fowl",
        family="roast bird, salted dry",
        says="A fowl of 1.4 kg, 1.2 % of salt for a day uncovered, roasted to 75 °C, carved hot.",
        page="""
food: chicken whole, meat and skin
portions: 4
batch: 1.4 kg
pieces: {shape: bird, mass: 1.4 kg, skin: "on"}
saltings: {cure: {kind: dry cure, temperature: 3 °C, items: {salt: 1.2 % of food}}}
steps:
  trim: trim
  cure: {part: cure, do: Salt and leave open., time: 24 h, air: draught, loss: 2 %}
  roast: {part: roast, chamber: 190 °C, loss: 22 %}
  serve: {part: serve, loss: 0 %}
""",
        figures={
            "weigh: salt": 16.8,  # 1400 * 0.012
            "salt settled %": 1.344,  # 100 * (16.8 * 0.985 + 1400 * 0.00178) / (1400 + 16.55)
            "yield %": 76.44,  # 100 * 0.98 * 0.78
            "portion g": 267.5,  # 1400 * 0.7644 / 4
            "cost": 8.43,  # 1.4 * 6 + 0.0168 * 2
            "step hours: 2": 24.0,
        },
        verdicts={"home": "clear", "retail": "clear", "plant": "clear"},
    ),
    Note(
        name="ribs-wrapped-and-glazed",
        family="barbecue",
        says="2 kg of ribs, 1.2 % salt and sugar rub, smoked, wrapped to 93 °C, glazed twice; 6 % of sauce stays on.",
        page="""
food: pork spareribs
kind: hot smoke
portions: 6
pieces: {shape: slab, thickness: 35 mm, bone: in}
saltings: {rub: {kind: dry cure, temperature: 3 °C, items: {salt: 1.2 % of food, sugar: 2 % of food, paprika: 1 % of food}}}
glazes: {sauce: {stays_on: 6 % of food, items: {honey: 100 g, vinegar: 90 g, salt: 10 g}}}
steps:
  trim: trim
  rub: {part: cure, do: Rub., time: 2 h, use: rub}
  smoke: {do: Smoke., stage: smoke, time: 3 h, place: smoker, chamber: 115 °C, humidity: 25 %, air: draught, loss: 14 %}
  wrap: {do: Wrap in foil., stage: cook, until: core, place: smoker, chamber: 115 °C, cover: foil, core: 93 °C, loss: 10 %}
  glaze: {do: Glaze and set., stage: glaze, use: sauce, time: 20 min, place: smoker, chamber: 120 °C, humidity: 25 %, air: draught, loss: 3 %}
  serve: {part: serve, loss: 0 %}
""",
        figures={
            "weigh: honey": 100.0,
            "weigh: salt": 34.0,  # 2000 * 0.012 + 10
            "weigh: sugar": 40.0,  # 2000 * 0.02
            # 100 * (24 * 0.985 + 2000 * 0.002059) / (2000 + 23.64 + 40)
            "salt settled %": 1.345,
            "step hours: 2": 2.0,
            "step hours: 3": 3.0,
            "cost": 1.508,  # 0.034 * 2 + 0.04 * 1.5 + 0.1 * 12 + 0.09 * 2: no price of ribs, as the page says
        },
        verdicts={"home": "clear", "retail": "clear", "plant": "clear"},
    ),
    Note(
        name="brisket-in-a-cold-box",
        family="barbecue, rested in a box",
        says="5 kg of brisket to 92 °C, then seven hours in a thin plastic box without towels while the guests are late.",
        page="""
food: beef brisket, whole, lean+fat
kind: hot smoke
portions: 20
batch: 5 kg
pieces: {shape: block, thickness: 70 mm, width: 250 mm, length: 400 mm, mass: 5 kg}
saltings: {rub: {kind: dry cure, temperature: 3 °C, items: {salt: 1 % of food, pepper: 1 % of food}}}
steps:
  trim: trim
  rub: {part: cure, do: Rub., time: 12 h, use: rub}
  smoke: {part: hot smoke, chamber: 120 °C, humidity: 25 %, core: 92 °C, hold: 5 min, loss: 34 %}
  rest: {do: Rest in the box., stage: hold, time: 7 h, place: bench, temperature: 85 °C, cover: paper, box: {wall: plastic, room: 12 °C, thickness: 3 mm}, loss: 0 %}
  serve: {part: serve, loss: 0 %}
""",
        figures={
            "weigh: salt": 50.0,  # 5000 * 0.01
            "weigh: pepper": 50.0,
            "salt settled %": 1.149,  # 100 * (50 * 0.985 + 5000 * 0.001754) / (5000 + 49.25)
            "step hours: 2": 12.0,
            "step hours: 4": 7.0,
            "food fat %": 19.167,
            "food water %": 61.424,
        },
        verdicts={"home": "stop", "retail": "clear", "plant": "clear"},
        finds=("out of the cold", "2.2 h"),
        mends=("off the time",),
    ),
    Note(
        name="goose-kept-in-its-fat",
        family="confit kept long",
        says="Goose legs cooked soft in their fat, potted under it and kept three weeks in the fridge, as it always was.",
        page="""
food: goose, meat and skin
portions: 5
pieces: {shape: slab, thickness: 40 mm, mass: 400 g, bone: in, skin: "on"}
saltings: {cure: {kind: dry cure, temperature: 3 °C, items: {salt: 1.8 % of food, garlic: 1 % of food}}}
steps:
  trim: trim
  cure: {part: cure, time: 18 h}
  cook: {do: Cook in fat., stage: cook, until: core, place: oven, chamber: 105 °C, medium: oil, core: 88 °C, loss: 20 %}
  cool: {part: ice, do: Bag and sink in ice and water., loss: 0 %}
  chill: {part: chill, loss: 0 %}
  pot: {do: Pot under melted fat., stage: pack, time: 20 min, hands_on: "yes", place: bench, temperature: 10 °C, medium: oil}
keeping: {pack: oil, temperature: 3 °C, time: 21 days}
""",
        figures={
            "weigh: salt": 36.0,  # 2000 * 0.018
            "weigh: garlic": 20.0,
            "salt settled %": 1.924,  # 100 * (36 * 0.985 + 2000 * 0.001856) / (2000 + 35.46)
            "step hours: 2": 18.0,
            "food fat %": 33.617,
            "keeps days": 21.0,
        },
        verdicts={"home": "stop", "retail": "stop", "plant": "stop"},
        finds=("oil", "21 days"),
        mends=("4 days",),
    ),
    Note(
        name="links-scalded-in-gut",
        family="scalded sausage",
        says="2.4 kg shoulder and 1.6 kg belly cut with a quarter of ice, 120 ppm; smoked half an hour, scalded to 72 °C, iced.",
        page="""
food: "pork shoulder, Boston blade, lean+fat"
kind: hot smoke
portions: 40
batch: 4 kg
formula: [{food: "pork shoulder, Boston blade, lean+fat", amount: 2.4 kg}, {food: pork belly, amount: 1.6 kg}]
pieces: {shape: cylinder, thickness: 24 mm, length: 140 mm, form: minced, casing: natural}
saltings: {mix: {kind: mixed in, temperature: 2 °C, items: {"water, ice": 25 % of meat block, salt: to 1.9 % in the meat, type 1: 120 ppm nitrite, pepper: 0.3 % of food}}}
steps:
  cut: {part: trim, do: Cut with the ice and fill., temperature: 8 °C, stage: salt, use: mix}
  smoke: {do: Smoke., stage: smoke, time: 30 min, place: smoker, chamber: 65 °C, humidity: 50 %, air: draught, loss: 3 %}
  scald: {do: Scald., stage: cook, until: core, place: stove, temperature: 78 °C, air: water, core: 72 °C, hold: 2 min, loss: 2 %}
  ice: {part: ice, time: 30 min, loss: 0 %}
  chill: {part: chill, loss: 1 %}
  pack: pack
keeping: {pack: air, temperature: 3 °C, time: 5 days}
""",
        figures={
            "weigh: type 1": 7.68,  # 0.00012 * 4000 / 0.0625
            "weigh: water, ice": 1000.0,  # 4000 * 0.25
            # (0.019 * all - own salt 2400 * 0.00155 - 1600 * 0.00081 - 7.68 * 0.9375) / 0.985, all = 4000 + 1000 + 12 + 7.7 + salt
            "weigh: salt": 86.1,
            "nitrite ppm": 120.0,
            "food fat %": 28.725,  # 0.6 * 12.386 + 0.4 * 53.234
            "yield %": 120.15,  # 100 * (4000 + 1000 + 86 + 7.7 + 12) / 4000 * 0.97 * 0.98 * 0.99
            "salt settled %": 1.9,
        },
        verdicts={"home": "act", "retail": "act", "plant": "act"},
    ),
    Note(
        name="brawn-in-a-mould",
        family="boiled and pressed",
        says="3 kg of leg three days in a cure of 150 ppm, simmered to 92 °C, picked into a mould, cooled by the clock.",
        page="""
food: "pork leg (fresh ham), whole, lean+fat"
portions: 20
batch: 3 kg
pieces: {shape: block, thickness: 70 mm, width: 100 mm, length: 250 mm, form: cut}
saltings: {brine: {kind: immersion, temperature: 3 °C, items: {water: 3 kg, salt: 240 g, type 1: 15 g}}}
steps:
  trim: trim
  brine: {part: brine, time: 72 h, gain: 4 %}
  cook: {do: Simmer until it falls., stage: cook, until: core, place: stove, temperature: 96 °C, air: water, core: 92 °C, loss: 28 %}
  pick: {do: Pick into the mould., stage: prepare, time: 30 min, hands_on: "yes", place: bench, temperature: 65 °C, loss: 5 %}
  first: {do: Stand the mould in ice and water., stage: cool, time: 2 h, core: 21 °C, place: bench, temperature: 0 °C, air: water, loss: 0 %}
  chill: {part: chill, time: 4 h, core: 5 °C, loss: 0 %}
  pack: pack
keeping: {pack: wrapped, temperature: 3 °C, time: 4 days}
""",
        figures={
            "brine %": 7.695,  # 100 * (240 * 0.985 + 15 * 0.9375) / 3255
            "nitrite ppm": 149.9,  # 15 * 0.0625 / (3000 + 3255) * 1,000,000
            # c = (250.46 + 3000 * 0.001195) / (3000 + 3000 * 0.6269) = 0.05205 in each water
            "salt settled %": 3.164,
            "water-phase salt settled %": 4.948,
            "yield %": 71.14,  # 100 * 1.04 * 0.72 * 0.95
            "portion g": 106.7,  # 3000 * 0.7114 / 20
        },
        verdicts={"home": "clear", "retail": "act", "plant": "act"},
    ),
    Note(
        name="green-tomato-pot",
        family="sauces and relishes",
        says="Green tomatoes and onions boiled down by a third with vinegar and brown sugar, cooled in jars, kept cold.",
        page="""
food: tomato, green
kind: cook
portions: 60
batch: 2 kg
formula: [{food: "tomato, green", amount: 1.5 kg}, {food: onion, amount: 0.5 kg}]
pieces: {shape: slab, thickness: 8 mm, form: mixed}
saltings: {pot: {kind: mixed in, items: {vinegar: 500 g, "sugar, brown, packed": 400 g, salt: 15 g, "mustard seed, whole": 10 g}}}
steps:
  chop: {part: trim, do: Chop., temperature: 18 °C}
  stir: {do: Stir it all together., stage: salt, time: 10 min, hands_on: "yes", place: stove, temperature: 20 °C, use: pot}
  boil: {do: Boil down open., stage: cook, time: 60 min, place: stove, temperature: 98 °C, loss: 35 %}
  fill: {do: Fill hot and close., stage: pack, time: 15 min, hands_on: "yes", place: bench, temperature: 85 °C}
  first: {do: Stand the jars in cold water., stage: cool, time: 2 h, core: 21 °C, place: bench, temperature: 8 °C, air: water, medium: jar}
  chill: {do: Chill., stage: cool, time: 4 h, core: 5 °C, place: fridge, temperature: 2 °C, medium: jar}
keeping: {pack: jar, temperature: 3 °C, time: 30 days}
""",
        figures={
            "weigh: salt": 15.0,
            "weigh: vinegar": 500.0,
            "yield %": 95.06,  # 100 * (2000 + 500 + 400 + 15 + 10) / 2000 * 0.65
            # (15 * 0.985 + 1500 * 0.00033 + 500 * 0.0001) / 2925: 13 and 4 mg of sodium in 100 g
            "salt settled %": 0.5238,
            "finished salt %": 0.8058,  # the same 15.32 g in 2925 * 0.65 g
            "portion g": 31.69,  # 2000 * 0.9506 / 60
            "keeps days": 30.0,
        },
        verdicts={"home": "act", "retail": "stop", "plant": "act"},
        finds=("packed without air", "30 days"),
        mends=("freeze",),
    ),
)
