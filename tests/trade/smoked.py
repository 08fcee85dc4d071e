"""Fish and meat in smoke, cold, hot and over a barbecue. Sums stand beside the figures."""

from tests.trade.notebook import Note

NOTES = (
    Note(
        name="char-in-the-shed",
        family="hot smoked",
        says="3 kg of char sides, 18 h in 3 kg water with 180 g salt, a night on the rack, smoked and held at 72 °C for half an hour.",
        page="""
food: char, Arctic
kind: hot smoke
portions: 18
batch: 3 kg
pieces: {shape: slab, thickness: 20 mm, mass: 700 g, skin: "on", origin: farmed}
saltings: {brine: {kind: immersion, temperature: 3 °C, items: {water: 3 kg, salt: 180 g}}}
steps: {trim: trim, brine: {part: brine, time: 18 h, gain: 2 %}, rinse: rinse, air: air, smoke: hot smoke, ice: {part: ice, time: 45 min}, chill: chill, pack: pack}
keeping: {pack: air, temperature: 3 °C, time: 7 days, frozen: 60 days}
""",
        figures={
            "weigh: salt": 180.0,
            "brine %": 5.5755,  # 100 * 180 * 0.985 / 3180
            "salometer": 21.123,  # 100 * 180 * 0.985 / 3180 / 0.26395
            # 100 * 2149.3 * (177.3 + 3.8) / (2997.9 + 2149.3) / (3000 - 3.8 + 2149.3 * (177.3 + 3.8) / (2997.9 +
            # 2149.3)): 2149.3 g water in the fish
            "salt settled %": 2.4618,
            "yield %": 89.964,  # 100 * 1.02 * 0.98 * 0.90
            "portion g": 149.94,  # 3000 * 1.02 * 0.98 * 0.90 / 18
            "cost": 60.39,  # 3 * 20 + 0.18 * 2 + 3 * 0.01
        },
        verdicts={"home": "clear", "retail": "act", "plant": "stop"},
        finds=("water-phase salt", "packed with air"),
        mends=("not less than 3 %",),
    ),
    Note(
        name="char-sealed-for-the-shop",
        family="hot smoked",
        says="The same char in vacuum packs, three weeks in the shop's fridge. It tastes right.",
        page="""
food: char, Arctic
kind: hot smoke
portions: 18
batch: 3 kg
pieces: {shape: slab, thickness: 20 mm, mass: 700 g, skin: "on", origin: farmed}
saltings: {brine: {kind: immersion, temperature: 3 °C, items: {water: 3 kg, salt: 90 g}}}
steps: {trim: trim, brine: {part: brine, time: 8 h, gain: 2 %}, rinse: rinse, air: air, smoke: hot smoke, ice: {part: ice, time: 45 min}, chill: chill, pack: pack}
keeping: {pack: vacuum, temperature: 4 °C, time: 21 days}
""",
        figures={
            "weigh: salt": 90.0,
            "brine %": 2.8689,  # 100 * 90 * 0.985 / 3090
            "salometer": 10.869,  # 100 * 90 * 0.985 / 3090 / 0.26395
            # 100 * 2149.3 * (88.65 + 3.8) / (2997.5 + 2149.3) / (3000 - 3.8 + 2149.3 * (88.65 + 3.8) / (2997.5 +
            # 2149.3))
            "salt settled %": 1.2721,
            "yield %": 89.964,  # 100 * 1.02 * 0.98 * 0.90
            "cost": 60.21,  # 3 * 20 + 0.09 * 2 + 3 * 0.01
            "keeps days": 21.0,
        },
        verdicts={"home": "stop", "retail": "stop", "plant": "stop"},
        finds=("water-phase salt",),
        mends=("freeze",),
    ),
    Note(
        name="trout-in-cold-smoke",
        family="cold smoked",
        says="2 kg of wild trout sides, frozen eight days at -22 °C, 2.8 % salt by weight, one freezing night in smoke.",
        page="""
food: trout, rainbow, wild
kind: cold smoke
portions: 20
pieces: {shape: slab, thickness: 18 mm, mass: 550 g, skin: "on", origin: wild}
saltings: {cure: {kind: dry cure, temperature: 3 °C, items: {salt: 3 % of food, sugar: 1 % of food}}}
steps: {trim: trim, freeze: freeze, thaw: thaw, cure: {part: cure, time: 48 h, loss: 4 %}, rinse: rinse, air: {part: air, time: 18 h}, smoke: cold smoke, pack: pack}
keeping: {pack: air, temperature: 3 °C, time: 5 days, frozen: 60 days}
""",
        figures={
            "weigh: salt": 60.0,  # 2000 * 0.03
            "weigh: sugar": 20.0,  # 2000 * 0.01
            "salt settled %": 2.9195,  # 100 * (60 * 0.985 + 1.6) / (2000 + 60 * 0.985 + 20): as if all went in
            # 100 * (60 * 0.985 + 1.6) / (60 * 0.985 + 1.6 + 1480): 2 kg hold 1480 g water
            "water-phase salt settled %": 3.9398,
            "yield %": 92.198,  # 100 * 0.96 * 0.98 * 0.98
            "portion g": 92.198,  # 2000 * 0.96 * 0.98 * 0.98 / 20
            "cost": 36.15,  # 2 * 18 + 0.06 * 2 + 0.02 * 1.5
            "hours": 294.92,  # 0.5 + 192 + 24 + 48 + 0.167 + 18 + 12 + 0.25
        },
        verdicts={"home": "clear", "retail": "act", "plant": "act"},
    ),
    Note(
        name="trout-frozen-over-the-weekend",
        family="cold smoked",
        says="The same trout, but frozen for two days in the house freezer at -18 °C: frozen is frozen.",
        page="""
food: trout, rainbow, wild
kind: cold smoke
portions: 20
pieces: {shape: slab, thickness: 18 mm, mass: 550 g, skin: "on", origin: wild}
saltings: {cure: {kind: dry cure, temperature: 3 °C, items: {salt: 3 % of food, sugar: 1 % of food}}}
steps: {trim: trim, freeze: {part: freeze, time: 2 days, temperature: -18 °C}, thaw: thaw, cure: {part: cure, time: 48 h, loss: 4 %}, rinse: rinse, air: {part: air, time: 18 h}, smoke: cold smoke, pack: pack}
keeping: {pack: air, temperature: 3 °C, time: 5 days, frozen: 60 days}
""",
        figures={
            "weigh: salt": 60.0,  # 2000 * 0.03
            "weigh: sugar": 20.0,  # 2000 * 0.01
            "salt settled %": 2.9195,  # 100 * (60 * 0.985 + 1.6) / (2000 + 60 * 0.985 + 20)
            "yield %": 92.198,  # 100 * 0.96 * 0.98 * 0.98
            "cost": 36.15,  # 2 * 18 + 0.06 * 2 + 0.02 * 1.5
            "hours": 150.92,  # 0.5 + 48 + 24 + 48 + 0.167 + 18 + 12 + 0.25
        },
        verdicts={"home": "stop", "retail": "stop", "plant": "stop"},
        finds=("parasite",),
        mends=("-20 °C", "7 days"),
    ),
    Note(
        name="shoulder-pulled",
        family="barbecue",
        says="3 kg of shoulder rubbed with 1.2 % salt overnight, 120 °C until 93 °C inside, an hour in a hot box, pulled and eaten.",
        page="""
food: "pork shoulder, Boston blade, lean+fat"
kind: hot smoke
portions: 14
batch: 3 kg
pieces: {shape: joint, mass: 3 kg, form: whole}
saltings: {cure: {kind: dry cure, temperature: 3 °C, items: {salt: 1.2 % of food, sugar: 1 % of food, paprika: 0.5 % of food}}}
steps:
  trim: trim
  cure: {part: cure, do: Rub and leave overnight., time: 14 h}
  smoke: {do: Smoke over oak., stage: smoke, until: core, place: smoker, chamber: 120 °C, humidity: 12 %, air: draught, core: 93 °C, loss: 38 %}
  rest: {do: Rest wrapped in a hot box., stage: hold, time: 60 min, place: oven, chamber: 65 °C, cover: foil}
  serve: {part: serve, do: Pull and serve.}
""",
        figures={
            "weigh: salt": 36.0,  # 3000 * 0.012
            "weigh: sugar": 30.0,  # 3000 * 0.01
            "weigh: paprika": 15.0,  # 3000 * 0.005
            "yield %": 62.0,
            "portion g": 132.86,  # 3000 * 0.62 / 14
            "cost": 18.117,  # 3 * 6 + 0.036 * 2 + 0.03 * 1.5
            "cost per kg": 9.7403,  # (3 * 6 + 0.036 * 2 + 0.03 * 1.5) / (3 * 0.62)
        },
        verdicts={"home": "clear", "retail": "clear", "plant": "clear"},
    ),
    Note(
        name="shoulder-left-on-the-bench",
        family="barbecue",
        says="The same shoulder, done early and left wrapped on the bench from breakfast until supper.",
        page="""
food: "pork shoulder, Boston blade, lean+fat"
kind: hot smoke
portions: 14
batch: 3 kg
pieces: {shape: joint, mass: 3 kg, form: whole}
saltings: {cure: {kind: dry cure, temperature: 3 °C, items: {salt: 1.2 % of food, sugar: 1 % of food, paprika: 0.5 % of food}}}
steps:
  trim: trim
  cure: {part: cure, do: Rub and leave overnight., time: 14 h}
  smoke: {do: Smoke over oak., stage: smoke, until: core, place: smoker, chamber: 120 °C, humidity: 12 %, air: draught, core: 93 °C, loss: 38 %}
  rest: {do: Rest wrapped on the bench., stage: rest, time: 10 h, place: bench, temperature: 20 °C, cover: foil}
  serve: {part: serve, do: Pull and serve.}
""",
        figures={
            "weigh: salt": 36.0,  # 3000 * 0.012
            "weigh: sugar": 30.0,  # 3000 * 0.01
            "weigh: paprika": 15.0,  # 3000 * 0.005
            "yield %": 62.0,
            "portion g": 132.86,  # 3000 * 0.62 / 14
            "cost": 18.117,  # 3 * 6 + 0.036 * 2 + 0.03 * 1.5
        },
        verdicts={"home": "stop", "retail": "stop", "plant": "stop"},
        finds=("time out of the cold",),
        mends=("off the time",),
    ),
    Note(
        name="whitefish-lacquered",
        family="glazes",
        says="1.5 kg of whitefish strips, 4 h in brine, smoked, brushed with honey and soy: a twelfth of the weight stays on.",
        page="""
food: whitefish, mixed
kind: hot smoke
portions: 12
batch: 1.5 kg
pieces: {shape: slab, thickness: 15 mm, mass: 60 g, origin: farmed}
saltings: {brine: {kind: immersion, temperature: 3 °C, items: {water: 2 kg, salt: 120 g}}}
glazes: {glaze: {stays_on: 8 % of food, items: {honey: 160 g, soy sauce: 40 g}}}
steps:
  trim: trim
  brine: {part: brine, time: 4 h}
  rinse: rinse
  air: air
  smoke: hot smoke
  glaze: {do: Brush on and let it set., stage: glaze, time: 20 min, place: smoker, chamber: 95 °C, humidity: 30 %, air: draught, use: glaze}
  serve: serve
""",
        figures={
            "weigh: salt": 120.0,
            "weigh: honey": 160.0,
            "weigh: soy sauce": 40.0,
            "brine %": 5.5755,  # 100 * 120 * 0.985 / 2120
            "salometer": 21.123,  # 100 * 120 * 0.985 / 2120 / 0.26395
            # 100 * 1104.4 * (118.2 + 1.9) / (1998.6 + 1104.4) / (1500 - 1.9 + 1104.4 * (118.2 + 1.9) / (1998.6 +
            # 1104.4)): 1104.4 g water in the fish
            "salt settled %": 2.7741,
        },
        verdicts={"home": "clear", "retail": "clear", "plant": "clear"},
    ),
)
