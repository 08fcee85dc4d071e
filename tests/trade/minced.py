"""Minced and mixed meat, fresh, cased, smoked, soured: the salt is even in it at once. Sums stand beside the figures."""

from tests.trade.notebook import Note

NOTES = (
    Note(
        name="fresh-links",
        family="minced and cased",
        says="8 parts shoulder, 2 parts belly, 1.5 % salt, 4 % ice water; raw, fried by whoever eats them.",
        page="""
food: "pork shoulder, Boston blade, lean+fat"
kind: cook
eaten: cooked by the eater
portions: 20
formula: [{food: "pork shoulder, Boston blade, lean+fat", amount: 80 %}, {food: pork belly, amount: 20 %}]
pieces: {shape: cylinder, thickness: 28 mm, length: 140 mm, mass: 100 g, form: mixed, casing: natural}
saltings: {mix: {kind: mixed in, temperature: 2 °C, items: {salt: 1.5 % of food, water: 4 % of food, pepper: 0.3 % of food}}}
steps:
  trim: {part: trim, do: "Cut, chill and mince."}
  mix: {do: Mix until it sticks., stage: salt, time: 20 min, hands_on: "yes", place: bench, temperature: 8 °C, use: mix}
  fill: {part: trim, do: Fill., time: 40 min}
  rest: {do: Rest on a rack., stage: rest, time: 10 h, place: fridge, temperature: 3 °C, loss: 1 %}
  pack: pack
keeping: {pack: wrapped, temperature: 3 °C, time: 2 days, frozen: 60 days}
""",
        figures={
            "weigh: salt": 30.0,  # 2000 * 0.015
            "weigh: water": 80.0,  # 2000 * 0.04
            "weigh: pepper": 6.0,  # 2000 * 0.003
            "food fat %": 20.556,  # 0.8 * 12.386 + 0.2 * 53.234: the fat of the meat block
            "food water %": 62.84,  # 0.8 * 69.326 + 0.2 * 36.895
            # 100 * (30 * 0.985 + 2000 * (0.8 * 0.00155 + 0.2 * 0.00081)) / (2000 + 30 + 80 + 6 - 0.45): everything
            # that was mixed in
            "salt settled %": 1.5293,
            "yield %": 104.74,  # 100 * (2000 + 30 + 80 + 6) / 2000 * 0.99
            "cost": 12.661,  # 1.6 * 6 + 0.4 * 7.5 + 0.03 * 2 + 0.08 * 0.01
        },
        verdicts={"home": "clear", "retail": "clear", "plant": "clear"},
    ),
    Note(
        name="smoked-links",
        family="hot smoked sausage",
        says="3 kg shoulder, 1 kg belly; 1.7 % salt, 0.22 % type 1; dried, smoked, scalded to 72 °C, into ice.",
        page="""
food: "pork shoulder, Boston blade, lean+fat"
kind: hot smoke
portions: 36
batch: 4 kg
formula: [{food: "pork shoulder, Boston blade, lean+fat", amount: 3 kg}, {food: pork belly, amount: 1 kg}]
pieces: {shape: cylinder, thickness: 32 mm, length: 150 mm, mass: 120 g, form: mixed, casing: natural}
saltings: {mix: {kind: mixed in, temperature: 2 °C, items: {salt: 1.7 % of food, type 1: 0.22 % of food, water: 5 % of food}}}
steps:
  trim: {part: trim, do: "Cut, chill and mince."}
  mix: {do: Mix until it sticks., stage: salt, time: 20 min, hands_on: "yes", place: bench, temperature: 8 °C, use: mix}
  hang: {part: air, do: Hang to dry., time: 12 h, loss: 3 %}
  smoke: {do: Smoke., stage: smoke, time: 60 min, place: smoker, chamber: 62 °C, humidity: 40 %, air: draught, loss: 4 %}
  scald: {do: Scald in hot water., stage: cook, until: core, place: stove, temperature: 77 °C, air: water, medium: cased, core: 72 °C, hold: 2 min, loss: 1 %}
  ice: {part: ice, time: 30 min}
  chill: {part: chill, loss: 2 %}
  pack: pack
keeping: {pack: air, temperature: 3 °C, time: 5 days, frozen: 60 days}
""",
        figures={
            "weigh: salt": 68.0,  # 4000 * 0.017
            "weigh: type 1": 8.8,  # 4000 * 0.0022
            "weigh: water": 200.0,  # 4000 * 0.05
            "nitrite ppm": 137.5,  # 8.8 * 0.0625 / 4000 * 1,000,000: of the meat block
            "food fat %": 22.598,  # 0.75 * 12.386 + 0.25 * 53.234
            # 100 * (68 * 0.985 + 8.8 * 0.9375 + 4000 * (0.75 * 0.00155 + 0.25 * 0.00081)) / (4000 + 68 + 8.8 + 200)
            "salt settled %": 1.8867,
            "yield %": 96.597,  # 100 * (4000 + 68 + 8.8 + 200) / 4000 * 0.97 * 0.96 * 0.99 * 0.98
            "cost": 25.726,  # 3 * 6 + 1 * 7.5 + 0.068 * 2 + 0.0088 * 10 + 0.2 * 0.01
        },
        verdicts={"home": "act", "retail": "act", "plant": "act"},
    ),
    Note(
        name="smoked-links-with-the-ham-spoon",
        family="hot smoked sausage",
        says="The same links. The curing salt was weighed as for whole hams in the cellar: 0.4 % of the meat.",
        page="""
food: "pork shoulder, Boston blade, lean+fat"
kind: hot smoke
portions: 36
batch: 4 kg
formula: [{food: "pork shoulder, Boston blade, lean+fat", amount: 3 kg}, {food: pork belly, amount: 1 kg}]
pieces: {shape: cylinder, thickness: 32 mm, length: 150 mm, mass: 120 g, form: mixed, casing: natural}
saltings: {mix: {kind: mixed in, temperature: 2 °C, items: {salt: 1.5 % of food, type 1: 0.4 % of food, water: 5 % of food}}}
steps:
  trim: {part: trim, do: "Cut, chill and mince."}
  mix: {do: Mix until it sticks., stage: salt, time: 20 min, hands_on: "yes", place: bench, temperature: 8 °C, use: mix}
  hang: {part: air, do: Hang to dry., time: 12 h, loss: 3 %}
  scald: {do: Scald in hot water., stage: cook, until: core, place: stove, temperature: 77 °C, air: water, medium: cased, core: 72 °C, hold: 2 min, loss: 1 %}
  ice: {part: ice, time: 30 min}
  chill: {part: chill, loss: 2 %}
  pack: pack
keeping: {pack: air, temperature: 3 °C, time: 5 days, frozen: 60 days}
""",
        figures={
            "weigh: type 1": 16.0,  # 4000 * 0.004
            "weigh: salt": 60.0,  # 4000 * 0.015
            "nitrite ppm": 250.0,  # 16 * 0.0625 / 4000 * 1,000,000: minced meat may have 156
            # 100 * (60 * 0.985 + 16 * 0.9375 + 4000 * (0.75 * 0.00155 + 0.25 * 0.00081)) / (4000 + 60 + 16 + 200)
            "salt settled %": 1.8606,
            "yield %": 100.6,  # 100 * (4000 + 60 + 16 + 200) / 4000 * 0.97 * 0.99 * 0.98
            "cost": 25.782,  # 3 * 6 + 1 * 7.5 + 0.06 * 2 + 0.016 * 10 + 0.2 * 0.01
        },
        verdicts={"home": "stop", "retail": "stop", "plant": "stop"},
        finds=("nitrite", "250", "156"),
        mends=("less",),
    ),
    Note(
        name="terrine-with-thigh-in-it",
        family="minced and mixed",
        says="Pork terrine stretched with a third of chicken thigh, baked to 72 °C as the pork terrine always was.",
        page="""
food: "pork shoulder, Boston blade, lean+fat"
kind: cook
portions: 16
formula: [{food: "pork shoulder, Boston blade, lean+fat", amount: 70 %}, {food: "chicken thigh, meat only", amount: 30 %}]
pieces: {shape: block, thickness: 70 mm, width: 90 mm, length: 250 mm, mass: 1.5 kg, form: mixed}
saltings: {mix: {kind: mixed in, temperature: 2 °C, items: {salt: 1.4 % of food, pepper: 0.3 % of food}}}
steps:
  trim: {part: trim, do: "Mince cold."}
  mix: {do: Mix and press into the tin., stage: salt, time: 20 min, hands_on: "yes", place: bench, temperature: 8 °C, use: mix}
  bake: {do: Bake covered., stage: cook, until: core, place: oven, chamber: 150 °C, cover: lid, core: 71.5 °C, loss: 8 %}
  serve: serve
""",
        figures={
            "weigh: salt": 28.0,  # 2000 * 0.014
            "weigh: pepper": 6.0,  # 2000 * 0.003
            "food fat %": 9.8945,  # 0.7 * 12.386 + 0.3 * 4.081
            "food water %": 71.179,  # 0.7 * 69.326 + 0.3 * 75.503
            "yield %": 93.564,  # 100 * (2000 + 28 + 6) / 2000 * 0.92
            "portion g": 116.95,  # (2000 + 28 + 6) * 0.92 / 16
        },
        verdicts={"home": "stop", "retail": "stop", "plant": "clear"},
        finds=("poultry", "chicken thigh"),
        mends=("74",),
    ),
    Note(
        name="dry-sausage-with-its-sheet",
        family="cased, soured and dried",
        says="3 kg of shoulder frozen three weeks, minced; "
        "3.3 % salt, 0.24 % type 1, 0.5 % dextrose; two days at 24 °C, five weeks in the cellar; measured.",
        page="""
food: "pork shoulder, Boston blade, lean+fat"
kind: ferment
portions: 60
batch: 3 kg
pieces: {shape: cylinder, thickness: 50 mm, length: 300 mm, mass: 600 g, form: minced, casing: fibrous}
saltings: {mix: {kind: mixed in, temperature: 3 °C, items: {salt: 3.3 % of food, type 1: 0.24 % of food, dextrose (monohydrate powder): 0.5 % of food}}}
steps:
  freeze: {part: freeze, time: 21 days}
  thaw: thaw
  trim: {part: trim, do: "Mince, mix with the salt and fill.", use: mix, stage: salt}
  cure: {do: Hang in the cold., stage: rest, time: 12 h, place: fridge, temperature: 3 °C}
  ferment: {do: Hang in the warm., stage: ferment, time: 48 h, place: room, temperature: 24 °C, humidity: 90 %}
  dry: {do: Hang to dry., stage: dry, until: weight loss 36 %, time: 35 days, place: cellar, temperature: 13 °C, humidity: 75 %, air: draught, medium: cased}
  pack: pack
measured:
  - {what: pH, value: "4.9", where: through the piece, how: meter, record: "2026-08-12, run 6"}
  - {what: water activity, value: "0.87", where: thickest place, how: lab, record: "2026-09-18, run 6"}
  - {what: weight loss, value: 36 %, where: whole piece, how: scale, record: "2026-09-18, run 6"}
keeping: {pack: vacuum, temperature: 4 °C, time: 60 days}
""",
        figures={
            "weigh: salt": 99.0,  # 3000 * 0.033
            "weigh: type 1": 7.2,  # 3000 * 0.0024
            "weigh: dextrose (monohydrate powder)": 15.0,  # 3000 * 0.005
            "nitrite ppm": 150.0,  # 7.2 * 0.0625 / 3000 * 1,000,000
            "salt settled %": 3.4895,  # 100 * (99 * 0.985 + 7.2 * 0.9375 + 3000 * 0.00155) / (3000 + 99 + 7.2 + 15)
            "yield %": 66.586,  # 100 * (3000 + 99 + 7.2 + 15) / 3000 * 0.64: 36 % of the weight as filled
            "portion g": 33.293,  # (3000 + 99 + 7.2 + 15) * 0.64 / 60
            "cost": 18.27,  # 3 * 6 + 0.099 * 2 + 0.0072 * 10
        },
        verdicts={"home": "clear", "retail": "stop", "plant": "clear"},
        finds=("60 days", "packed without air"),
        mends=("freeze",),
    ),
    Note(
        name="links-for-the-counter",
        family="fresh sausage",
        says="3 kg of butt, 1.7 % salt, a little ice water, minced, mixed and filled in one go; sold raw.",
        page="""
food: pork shoulder, Boston blade, lean+fat
kind: cook
eaten: cooked by the eater
portions: 25
batch: 3 kg
pieces: {shape: cylinder, thickness: 30 mm, length: 120 mm, form: minced, casing: natural}
saltings: {mix: {kind: mixed in, items: {salt: 1.7 % of food, pepper: 0.3 % of food, "water, ice": 3 % of food}}}
steps:
  fill: {do: "Mince, mix with all of it, fill.", stage: prepare, time: 60 min, hands_on: "yes", place: bench, temperature: 4 °C}
  rest: {do: Rest open., stage: rest, time: 12 h, place: fridge, temperature: 3 °C, loss: 1 %}
  wrap: {do: Wrap and label., stage: pack, time: 15 min, hands_on: "yes", place: bench, temperature: 4 °C}
keeping: {pack: air, temperature: 3 °C, time: 1 days}
""",
        figures={
            "weigh: salt": 51.0,  # 3000 * 0.017
            "weigh: water, ice": 90.0,  # 3000 * 0.03
            # No step says that it salts: 51 * 0.985 g, and 61 mg of sodium in 100 g of the meat are 4.65 g, in 3150 g.
            "salt settled %": 1.742,
            "finished salt %": 1.759,  # the same 54.9 g in 3150 * 0.99
            "yield %": 103.95,  # 100 * 3150 / 3000 * 0.99
            "portion g": 124.7,  # 3150 * 0.99 / 25
            "hours": 13.25,  # 1 + 12 + 0.25
        },
        verdicts={"home": "clear", "retail": "clear", "plant": "clear"},
    ),
)
