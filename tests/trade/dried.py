"""Meat and fish that keep because water leaves or salt is everywhere. Sums stand beside the figures."""

from tests.trade.notebook import Note

NOTES = (
    Note(
        name="round-from-the-cellar",
        family="dried",
        says="2.8 kg of eye of round, 2.6 % salt, 0.25 % of the salt for long cures, two weeks; cased, hung until 40 % is gone; measured.",
        page="""
food: "beef eye of round, lean+fat"
kind: dried
portions: 40
batch: 2.8 kg
pieces: {shape: cylinder, thickness: 75 mm, length: 280 mm, mass: 1.4 kg, form: whole, casing: fibrous}
saltings: {cure: {kind: dry cure, temperature: 3 °C, items: {salt: 2.6 % of food, type 2: 0.25 % of food, sugar: 0.8 % of food}}}
steps:
  trim: trim
  cure: {part: cure, time: 14 days, loss: 2 %}
  dry: {do: Hang to dry., stage: dry, until: weight loss 40 %, time: 42 days, place: cellar, temperature: 13 °C, humidity: 75 %, air: still, medium: cased}
  pack: pack
measured:
  - {what: water activity, value: "0.90", where: thickest place, how: lab, record: "2026-03-24, piece 2"}
  - {what: weight loss, value: 40 %, where: whole piece, how: scale, record: "2026-03-24, piece 2"}
keeping: {pack: vacuum, temperature: 3 °C, time: 30 days}
""",
        figures={
            "weigh: salt": 72.8,  # 2800 * 0.026
            "weigh: type 2": 7.0,  # 2800 * 0.0025
            "nitrite ppm": 156.25,  # 7 * 0.0625 / 2800 * 1,000,000
            "nitrate ppm": 100.0,  # 7 * 0.04 / 2800 * 1,000,000
            # 100 * (72.8 * 0.985 + 7 * 0.8975 + 2800 * 0.00147) / (2800 + 72.8 * 0.985 + 7 * 0.8975 + 22.4): 58 mg
            # sodium per 100 g is 0.147 %
            "salt settled %": 2.8309,
            # 100 * (72.8 * 0.985 + 7 * 0.8975 + 2800 * 0.00147) * (0.6927 - 0.051) / 0.6927 / (2800 * 0.6): in 60 %
            # of the weight; of 69.3 % water 5.1 % ran off with its salt
            "finished salt %": 4.5275,
            "yield %": 60.0,
            "cost": 39.463,  # 2.8 * 14 + 0.0728 * 2 + 0.007 * 12 + 0.0224 * 1.5
        },
        verdicts={"home": "clear", "retail": "act", "plant": "clear"},
        within={"finished salt %": 0.03},
    ),
    Note(
        name="round-not-measured",
        family="dried",
        says="The same muscle without curing salt, in the warm cellar; sealed and sold from the shelf, since dry meat keeps.",
        page="""
food: "beef eye of round, lean+fat"
kind: dried
portions: 40
batch: 2.8 kg
pieces: {shape: cylinder, thickness: 75 mm, length: 280 mm, mass: 1.4 kg, form: whole, casing: fibrous}
saltings: {cure: {kind: dry cure, temperature: 3 °C, items: {salt: 2.6 % of food, sugar: 0.8 % of food}}}
steps:
  trim: trim
  cure: {part: cure, time: 14 days, loss: 2 %}
  dry: {do: Hang to dry., stage: dry, until: weight loss 30 %, time: 30 days, place: cellar, temperature: 18 °C, humidity: 75 %, air: still, medium: cased}
  pack: pack
keeping: {pack: vacuum, temperature: 20 °C, time: 60 days}
""",
        figures={
            "weigh: salt": 72.8,  # 2800 * 0.026
            "weigh: sugar": 22.4,  # 2800 * 0.008
            "nitrite ppm": 0.0,
            "salt settled %": 2.6199,  # 100 * (72.8 * 0.985 + 2800 * 0.00147) / (2800 + 72.8 * 0.985 + 22.4)
            "yield %": 70.0,
            "cost": 39.379,  # 2.8 * 14 + 0.0728 * 2 + 0.0224 * 1.5
        },
        verdicts={"home": "stop", "retail": "stop", "plant": "stop"},
        finds=("water activity",),
        mends=("measure",),
    ),
    Note(
        name="strips-heated-first",
        family="jerky",
        says="2 kg of round in 5 mm strips, 1.8 % salt, heated to 72 °C while wet, dried at 62 °C to 45 % of the weight; measured.",
        page="""
food: "beef top round, lean+fat"
kind: dried
portions: 30
pieces: {shape: slab, thickness: 5 mm, mass: 35 g}
saltings: {cure: {kind: dry cure, temperature: 3 °C, items: {salt: 1.8 % of food, pepper: 0.5 % of food}}}
steps:
  trim: trim
  cure: {part: cure, time: 14 h}
  heat: {part: roast, do: Heat the strips on racks over steaming water., chamber: 140 °C, humidity: 18 %, core: 72 °C, hold: 5 min, loss: 15 %}
  dry: {do: Dry on racks., stage: dry, until: weight loss 55 %, time: 5 h, place: oven, chamber: 62 °C, humidity: 15 %, air: forced}
  pack: pack
measured: [{what: water activity, value: "0.79", where: thickest place, how: lab, record: "2026-10-01, tray 2"}]
keeping: {pack: vacuum, temperature: 4 °C, time: 30 days}
""",
        figures={
            "weigh: salt": 36.0,  # 2000 * 0.018
            "weigh: pepper": 10.0,  # 2000 * 0.005
            # 100 * (36 * 0.985 + 2000 * 0.0014) / (2000 + 36 * 0.985): 55 mg sodium per 100 g is 0.14 %
            "salt settled %": 1.8797,
            "yield %": 45.0,
            "portion g": 30.0,  # 2000 * 0.45 / 30
            "keeps days": 30.0,
        },
        verdicts={"home": "clear", "retail": "act", "plant": "clear"},
    ),
    Note(
        name="strips-dried-only",
        family="jerky",
        says="The same strips straight onto the racks at 57 °C for eight hours: hotter than any germ likes, one would think.",
        page="""
food: "beef top round, lean+fat"
kind: dried
portions: 30
pieces: {shape: slab, thickness: 5 mm, mass: 35 g}
saltings: {cure: {kind: dry cure, temperature: 3 °C, items: {salt: 1.8 % of food, pepper: 0.5 % of food}}}
steps:
  trim: trim
  cure: {part: cure, time: 14 h}
  dry: {do: Dry on racks., stage: dry, time: 8 h, place: oven, chamber: 57 °C, humidity: 12 %, air: forced, loss: 55 %}
  pack: pack
keeping: {pack: air, temperature: 4 °C, time: 14 days}
""",
        figures={
            "weigh: salt": 36.0,  # 2000 * 0.018
            "weigh: pepper": 10.0,  # 2000 * 0.005
            "salt settled %": 1.8797,  # 100 * (36 * 0.985 + 2000 * 0.0014) / (2000 + 36 * 0.985)
            "yield %": 45.0,
            "portion g": 30.0,  # 2000 * 0.45 / 30
            "hours": 22.75,  # 0.5 + 14 + 8 + 0.25
        },
        verdicts={"home": "stop", "retail": "stop", "plant": "stop"},
        finds=("core",),
        mends=("160 °F",),
    ),
    Note(
        name="cod-in-salt",
        family="salt fish",
        says="4 kg of cod sides in 1.2 kg of salt for eleven days, a quarter of the weight runs off, dried to 55 %; soaked and cooked by the eater.",
        page="""
food: cod, Atlantic
kind: dried
eaten: cooked by the eater
portions: 20
batch: 4 kg
pieces: {shape: slab, thickness: 20 mm, mass: 600 g, skin: "on", origin: wild}
saltings: {cure: {kind: dry cure, temperature: 3 °C, items: {salt: 30 % of food}}}
steps:
  trim: trim
  cure: {part: cure, do: Leave under salt., time: 11 days, loss: 24 %}
  dry: {do: Dry in the cold draught., stage: dry, until: weight loss 45 %, time: 12 days, place: fridge, temperature: 4 °C, humidity: 65 %, air: draught}
  pack: pack
keeping: {pack: wrapped, temperature: 3 °C, time: 90 days}
""",
        figures={
            "weigh: salt": 1200.0,  # 4000 * 0.30
            "yield %": 55.0,
            "portion g": 110.0,  # 4000 * 0.55 / 20
            # 100 * (0.3587 * (0.80527 - 0.392)) / 0.55: salt that the water left in it can hold: 0.76 = 1 + 0.3587
            # (0.805 - d) - d gives d = 0.391
            "finished salt %": 26.953,
            "cost": 50.4,  # 4 * 12 + 1.2 * 2
            "cost per kg": 22.909,  # (4 * 12 + 1.2 * 2) / (4 * 0.55)
        },
        verdicts={"home": "clear", "retail": "act", "plant": "clear"},
        within={"finished salt %": 0.15},  # the middle has a little less than all it can hold
    ),
)
