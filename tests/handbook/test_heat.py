"""The heat engine against scipy, wet-bulb libraries, limits, and what heat and mass must do."""

import numpy as np
import pytest
from CoolProp.CoolProp import HAPropsSI
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from handbook.base.ranges import Range
from handbook.catalogue.thermal_properties import Composition
from handbook.heat.heat_run import Coating, HeatPiece, HeatSpread, HeatStage, run
from handbook.heat.moisture_stepping import INSTANT
from handbook.heat.surroundings import surroundings
from handbook.heat.time_stepping import TimeStepper
from tests.handbook.heat_cases import ALONE, HOUR, LEAN, bath, chamber, exact, piece
from tests.heat_reference import properties, slab_run
from tests.published import rows

#: (dry bulb in degC, relative humidity, wet bulb in degC by PsychroLib)
WET_BULBS = [
    (float(row["dry_bulb[C]"]), float(row["relative_humidity[%]"]) / 100, float(row["wet_bulb_psychrolib[C]"]))
    for row in rows("psychrometrics.csv")[1::9]
    if float(row["dry_bulb[C]"]) <= 90
]

# ------------------------------------------------------------------ against an independent solution


@pytest.mark.parametrize(
    ("thickness", "stage"),
    [
        (0.022, chamber(77, 6, 0.2, 8)),
        (0.05, chamber(120, 3, 0.05, 15)),
        (0.03, chamber(70, 4, 0.6, 20)),
        (0.022, chamber(4, 6, 0.7, 5)),
        (0.03, chamber(50, 4, 0.3, 10, end_temperature=exact(363.15))),
    ],
    ids=["smoker", "oven", "humid", "fridge", "ramp"],
)
def test_run_agrees_with_scipy(thickness, stage):
    """Core within 0.35 K and mass within 0.1 % of scipy's solution of the same physics on cells."""
    salted = piece(thickness, salt_to_water_ratio=0.03)
    time, core, _, mass = slab_run(salted, stage, cells=80)  # 40 cells are too coarse for a crust
    result = run(salted, [stage], ALONE)
    np.testing.assert_allclose(result.core.typical, np.interp(result.time, time, core), atol=0.35)
    np.testing.assert_allclose(result.samples.mass[0], np.interp(result.time, time, mass), atol=0.001)


@pytest.mark.parametrize(
    "stage", [chamber(77, 4), bath(80, 1, heat_transfer_coefficient=exact(1000.0))], ids=["air", "bath"]
)
def test_no_evaporation_is_pure_conduction(stage):
    """A closed piece follows scipy's pure conduction: 0.2 K with properties at the mean temperature, as the engine has
    them, and 1 % of the rise with properties that change from place to place."""
    closed = piece(0.04, open_fraction=0.0)
    result = run(closed, [stage], ALONE)
    rise = stage.temperature.typical - 277.15
    for local, tolerance in ((False, 0.2), (True, 0.01 * rise)):
        time, core, _, _ = slab_run(closed, stage, dries=False, local=local)
        np.testing.assert_allclose(result.core.typical, np.interp(result.time, time, core), atol=tolerance)
    assert result.yield_ == exact(1.0)


@pytest.mark.parametrize(
    ("shape", "sizes"),
    [
        ("slab", {}),
        ("cylinder", {}),
        ("sphere", {}),
        ("block", {"width": 0.06, "length": 0.09}),
        ("cylinder", {"length": 0.1}),
    ],
)
def test_endless_film_holds_the_surface(shape, sizes):
    """With h -> infinity the surface is at the bath's temperature and the core gets there."""
    result = run(piece(0.03, shape, **sizes), [bath(60, 3, heat_transfer_coefficient=exact(1e5))], ALONE)
    assert result.surface.typical[2:] == pytest.approx(333.15, abs=0.1)
    assert result.core.typical[-1] == pytest.approx(333.15, abs=0.1)


def library_wet_bulb(celsius, humidity):
    """Wet bulb in K by CoolProp."""
    return HAPropsSI("B", "T", celsius + 273.15, "R", humidity, "P", 101325.0)


@pytest.mark.parametrize(("celsius", "humidity", "printed"), WET_BULBS)
def test_wet_surface_tends_to_the_wet_bulb(celsius, humidity, printed):
    """Without radiation a surface that stays wet settles on the thermodynamic wet bulb of PsychroLib, within 0.6 K.

    Moisture transport is made a hundred times faster, so that the surface does stay wet. A psychrometer's own wet bulb
    is a little below the thermodynamic one at a Lewis number of 0.88.
    """
    wet = HeatPiece(
        shape="slab",
        thickness=exact(0.004),
        composition=Composition(water=0.9, protein=0.1, fat=0.0),
        temperature=exact(283.15),
    )
    spread = HeatSpread(samples=0, emissivity=0.0, moisture_diffusivity=exact(100.0))
    result = run(wet, [chamber(celsius, 0.4, humidity, 12.0)], spread)
    assert result.surface.typical[-1] == pytest.approx(printed + 273.15, abs=0.6)


def test_radiation_lifts_the_wet_surface():
    """Warm walls keep a wet surface above the wet bulb but far below the chamber: the stall."""
    result = run(piece(0.01), [chamber(77, 1.0, 0.2)], ALONE)
    assert library_wet_bulb(77, 0.2) < result.surface.typical[-1] < 350.15 - 15


@pytest.mark.parametrize(
    "case",
    [
        [chamber(77, 5)],
        [chamber(120, 2, 0.05, 20)],
        [chamber(77, 3), bath(1, 0.5), chamber(4, 3, 0.7, 5)],
    ],
    ids=["smoker", "oven", "three stages"],
)
@pytest.mark.parametrize(("exudes", "kelvin", "mass"), [("none", 0.3, 0.002), ("fish", 1.5, 0.008)])
def test_long_steps_are_close_to_fine_ones(case, exudes, kelvin, mass, monkeypatch):
    """The marching is as close as heat.py claims to steps more than six times finer (regression on ourselves)."""
    body = piece(0.03, exudes=exudes)
    coarse = run(body, case, ALONE)
    monkeypatch.setattr("handbook.heat.stage_stepping._STEPS_PER_STAGE", 250)
    monkeypatch.setattr("handbook.heat.time_stepping._WARMING_PER_STEP", 0.4)
    monkeypatch.setattr("handbook.heat.time_stepping._DRYING_PER_STEP", 0.015)
    fine = run(body, case, ALONE)
    assert fine.time.size > 6 * coarse.time.size
    settled = coarse.time[1:] > 60.0
    core = np.interp(coarse.time, fine.time, fine.core.typical)
    np.testing.assert_allclose(coarse.core.typical[1:][settled], core[1:][settled], atol=kelvin)
    np.testing.assert_allclose(
        coarse.samples.mass[0], np.interp(coarse.time, fine.time, fine.samples.mass[0]), atol=mass
    )


# ------------------------------------------------------------------ conservation


def test_heat_taken_up_is_heat_let_in():
    """What flows in through the surface is what warms a closed piece, within 1 % (specific heat at the mean)."""
    stage, body = chamber(90, 3), piece(0.03, open_fraction=0.0)
    walker = TimeStepper(body, [stage], ALONE, 101325.0)
    around = surroundings(stage, walker.draws, 101325.0)
    walker.step(around, 0.0, INSTANT)
    let_in, elapsed, last = 0.0, 0.0, float(walker.state.heat_flow[0])
    for _ in range(120):
        elapsed += 60.0
        walker.step(around, elapsed, 60.0)
        flow = float(walker.state.heat_flow[0])
        let_in += 0.5 * (flow + last) * 60.0 * 2.0 / (0.03 * walker.green_density[0])
        last = flow
    warmed = np.linspace(277.15, float(walker.state.mean[0]), 50)
    assert let_in == pytest.approx(np.trapezoid(properties(LEAN, warmed)[1], warmed), rel=0.01)


def test_mass_balance():
    """What is lost is the loss of mass that is told, and it is water: the dry matter stays but for what is coated on."""
    coats = (
        Coating(
            times=(HOUR, 2 * HOUR),
            mass_on_green_weight=0.01,
            water_mass_fraction=0.4,
            sugar_mass_fraction=0.5,
            temperature=300.0,
        ),
    )
    result = run(piece(0.03, exudes="meat"), [chamber(90, 4, 0.3, coatings=coats)], ALONE)
    stage = result.stages[0]
    kept = result.samples.mass[0, -1]
    assert stage.coated == pytest.approx(0.02)
    assert stage.mass_lost.typical == pytest.approx(1.0 - kept)
    dry_matter = result.samples.mass[0] - result.samples.water[0]
    assert dry_matter[0] == pytest.approx(0.25)
    assert dry_matter[-1] == pytest.approx(0.25 + 0.02 * 0.6)


def test_evaporated_water_took_its_heat():
    """A piece at rest on its wet surface takes from the air what evaporates: q = L m, so the loss is known by hand.

    Thin, wet and long at the wet bulb: convection 12 W/m2K x (60 - 28.4) K / 2.43 MJ/kg, area 2 / (density x thickness).
    """
    wet = HeatPiece(
        shape="slab",
        thickness=exact(0.004),
        composition=Composition(water=0.9, protein=0.1, fat=0.0),
        temperature=exact(301.9),
    )
    spread = HeatSpread(samples=0, emissivity=0.0, moisture_diffusivity=exact(100.0))
    result = run(wet, [chamber(60, 0.4, 0.1, 12.0)], spread)
    settled = result.surface.typical[-1]
    by_hand = 12.0 * (333.15 - settled) / (2.501e6 - 2361 * (settled - 273.15)) * 2 / (1020 * 0.004) * 0.4 * HOUR
    assert result.stages[0].mass_lost.typical == pytest.approx(by_hand, rel=0.05)


# ------------------------------------------------------------------ what must be so

slow = settings(deadline=None, max_examples=25, suppress_health_check=[HealthCheck.too_slow])


@slow
@given(st.floats(0.008, 0.06), st.floats(1.1, 2.0), st.sampled_from(["slab", "cylinder", "sphere"]))
def test_thicker_is_slower(thickness, factor, shape):
    """A thicker piece is never warmer at the core while the chamber heats it, once past rounding."""
    stages = [chamber(77, 3)]
    thin, thick = (run(piece(each, shape), stages, ALONE) for each in (thickness, thickness * factor))
    at = np.linspace(300, 0.5 * HOUR, 12)
    cold = np.interp(at, thick.time, thick.core.typical)
    assert np.all(np.interp(at, thin.time, thin.core.typical) >= cold - 0.2)


@slow
@given(st.floats(60, 100), st.floats(0.05, 0.4), st.floats(0.08, 0.3))
def test_more_humid_air_means_a_hotter_surface(celsius, humidity, more):
    """Humid air evaporates less, so the surface is hotter after a while and less water is lost."""
    dry, humid = (run(piece(0.03), [chamber(celsius, 1.5, each)], ALONE) for each in (humidity, humidity + more))
    assert humid.surface.typical[-1] > dry.surface.typical[-1]
    assert humid.yield_.typical > dry.yield_.typical


@slow
@given(st.floats(50, 150), st.floats(5, 40))
def test_hotter_chamber_means_a_hotter_core(celsius, more):
    """A hotter chamber never leaves the core colder."""
    cool, hot = (run(piece(0.03, exudes="meat"), [chamber(each, 2, 0.02)], ALONE) for each in (celsius, celsius + more))
    assert hot.core.typical[-1] > cool.core.typical[-1]


@slow
@given(
    st.sampled_from(["slab", "block", "cylinder", "sphere"]),
    st.floats(0.01, 0.1),
    st.floats(8, 120),
    st.floats(0.0, 0.9),
    st.sampled_from(["still", "draught", "forced"]),
    st.sampled_from(["meat", "fish", "none"]),
)
def test_run_stays_physical(shape, thickness, celsius, humidity, air, exudes):
    """Temperatures stay between the coldest and the warmest around (the surface's first steps within 1.5 K), water is
    lost but for dew, nothing is NaN. Warming as much water to the wet bulb bounds the dew."""
    humidity *= min(1.0, 0.9 * 101325 / (611 * np.exp(17.3 * celsius / (celsius + 237.3))))
    body = HeatPiece(
        shape=shape,
        thickness=Range(0.9 * thickness, thickness, 1.1 * thickness),
        composition=LEAN,
        temperature=exact(278.15),
        width=0.2 if shape == "block" else None,
        exudes=exudes,
    )
    stage = HeatStage(
        name="any",
        medium="air",
        duration=3 * HOUR,
        temperature=exact(celsius + 273.15),
        air=air,
        relative_humidity=exact(humidity),
    )
    result = run(body, [stage], HeatSpread(samples=8))
    lowest = min(library_wet_bulb(max(celsius, 0.01), humidity), 278.15) - 1.5
    highest = max(celsius + 273.15, 278.15) + 1.5
    # The core of a block is right within 3 % of the step from a Fourier number of 0.05 on: see conduction.py.
    early = 0.03 * abs(celsius - 5) if shape == "block" else 0.0
    for values in (result.samples.core, result.samples.surface, result.samples.mean):
        assert np.all(np.isfinite(values))
        assert values.min() >= lowest - early
        assert values.max() <= highest
    dew = 3800.0 * max(library_wet_bulb(celsius, humidity) - 278.15, 0.0) / 2.2e6
    assert result.samples.water.max() <= 0.75 + dew + 1e-6
    assert result.samples.water.min() > 0


def test_one_face_is_a_slab_twice_as_thick():
    """A slab heated from one face behaves as one of twice its thickness heated from both."""
    once = run(piece(0.02, heated_faces=1), [chamber(77, 3)], ALONE)
    twice = run(piece(0.04), [chamber(77, 3)], ALONE)
    np.testing.assert_allclose(once.core.typical, twice.core.typical, atol=1e-6)


def test_long_block_is_a_rod_between_slab_and_cube():
    """A block heats faster than the slab of its thickness and slower than the cube."""
    cores = [
        run(piece(0.04, *shape), [chamber(77, 1)], ALONE).core.typical[-1]
        if len(shape) == 1
        else run(piece(0.04, shape[0], **shape[1]), [chamber(77, 1)], ALONE).core.typical[-1]
        for shape in (("slab",), ("block", {"width": 0.08}), ("block", {"width": 0.04, "length": 0.04}))
    ]
    assert cores[0] < cores[1] < cores[2]


def test_skin_on_one_side_halves_the_drying_at_first():
    """Half the surface open gives off about half the water while the surface is still wet."""
    both = run(piece(0.03), [chamber(77, 0.3, 0.05)], ALONE).stages[0].mass_lost.typical
    one = run(piece(0.03, open_fraction=0.5), [chamber(77, 0.3, 0.05)], ALONE).stages[0].mass_lost.typical
    assert 0.45 < one / both < 0.75


def test_fridge_and_ice_bath_cool():
    """Ice water cools faster than fridge air; both end at their temperature."""
    hot = piece(0.05, temperature=exact(343.15))
    ice = run(hot, [bath(0.1, 3)], ALONE)
    fridge = run(hot, [chamber(4, 20, 0.7, 5)], ALONE)
    assert np.all(np.diff(ice.core.typical) < 0.05)
    assert ice.core.typical[-1] == pytest.approx(273.25, abs=0.5)
    assert fridge.core.typical[-1] == pytest.approx(277.15, abs=1.5)
    cold = 283.15
    assert ice.time[np.argmax(ice.core.typical < cold)] < 0.3 * fridge.time[np.argmax(fridge.core.typical < cold)]


def test_steam_heats_faster_than_air():
    """Condensing steam beats dry air of the same temperature, and dries nothing."""
    steam = HeatStage(name="steam", medium="steam", duration=HOUR, temperature=exact(372.15))
    hot, dry = run(piece(), [steam], ALONE), run(piece(), [chamber(99, 1, 0.05)], ALONE)
    assert hot.core.typical[-1] > dry.core.typical[-1] + 10
    assert hot.yield_.typical + hot.stages[0].dripped.typical == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("exudes", ["none", "meat"])
def test_humid_air_condenses_on_a_cold_piece(exudes):
    """Air near saturation heats a cold piece faster than dry air, by the heat of the dew. Dew runs off: the food gains no
    weight by it, and what drips of the food is its own juice, as in steam."""
    humid, dry = (run(piece(0.03, exudes=exudes), [chamber(60, 2, each)], ALONE) for each in (0.97, 0.1))
    early = np.interp(300.0, humid.time, humid.surface.typical) - np.interp(300.0, dry.time, dry.surface.typical)
    assert early > 10
    steam = HeatStage(name="steam", medium="steam", duration=2 * HOUR, temperature=exact(333.15))
    steamed = run(piece(0.03, exudes=exudes), [steam], ALONE)
    assert humid.yield_.typical == pytest.approx(steamed.yield_.typical, abs=0.01)
    assert humid.yield_.typical + humid.stages[0].dripped.typical == pytest.approx(1.0, abs=0.002)


def test_a_dry_surface_takes_dew_up():
    """A piece that has dried in warm air gains a part of its water back where the air is humid."""
    result = run(piece(0.02), [chamber(60, 60, 0.1), chamber(20, 48, 0.95)], ALONE)
    assert 0.005 < -result.stages[1].mass_lost.typical < result.stages[0].mass_lost.typical


def test_ramp_through_set_points():
    """A ramp ends where many small set points end."""
    ramp = [chamber(40, 2, 0.3, end_temperature=exact(353.15))]
    steps = [chamber(40 + 40 * (number + 0.5) / 24, 2 / 24, 0.3) for number in range(24)]
    first, second = run(piece(), ramp, ALONE), run(piece(), steps, ALONE)
    assert first.core.typical[-1] == pytest.approx(second.core.typical[-1], abs=0.7)
    assert len(second.stages) == 24


def test_until_core_and_hold():
    """A stage that waits ends once the typical core has been at the target for the hold."""
    stage = chamber(95, 8, 0.4, 20, until_core=336.15, hold=30 * 60.0)
    result = run(piece(exudes="fish"), [stage, chamber(4, 2, 0.7, 5)], ALONE)
    first = result.stages[0]
    reached = result.core_time(336.15).typical
    assert first.end == pytest.approx(reached + 1800.0, abs=2.0)
    assert result.stages[1].start == first.end


def test_until_core_not_reached():
    """A target above what the chamber can do ends the stage at its time, and says so."""
    result = run(piece(), [chamber(60, 2, until_core=343.15)], HeatSpread(samples=8))
    assert result.stages[0].end == 2 * HOUR
    reached = result.core_time(343.15)
    assert (reached.low, reached.typical, reached.high, reached.status) == (None, None, None, "never")


def test_until_core_already_there():
    """A piece that is warm enough at the start only needs the hold."""
    result = run(piece(temperature=exact(340.15)), [bath(70, 2, until_core=336.15, hold=600.0)], ALONE)
    assert result.stages[0].end == pytest.approx(600.0)


def test_baste_adds_mass_and_cools_the_surface():
    """A baste adds what stays on and cools the surface for a while."""
    plain = run(piece(0.03), [chamber(77, 3)], ALONE)
    coat = Coating(
        times=(1.5 * HOUR,),
        mass_on_green_weight=0.03,
        water_mass_fraction=0.3,
        sugar_mass_fraction=0.7,
        temperature=277.15,
    )
    basted = run(piece(0.03), [chamber(77, 3, coatings=(coat,))], ALONE)
    soon = 1.5 * HOUR + 300
    surface = [np.interp(soon, each.time, each.surface.typical) for each in (plain, basted)]
    assert surface[0] - 3.0 < surface[1] < surface[0] - 0.2
    dry = [each.samples.mass[0, -1] - each.samples.water[0, -1] for each in (plain, basted)]
    assert dry[1] - dry[0] == pytest.approx(0.021)
    assert basted.yield_.typical > plain.yield_.typical + 0.02


def test_salt_slows_drying():
    """A salted piece gives off less water."""
    plain, salted = (run(piece(salt_to_water_ratio=each), [chamber(30, 12, 0.6)], ALONE) for each in (0.0, 0.1))
    assert salted.yield_.typical > plain.yield_.typical


def test_a_piece_dried_to_nothing_keeps_its_last_water():
    """A fat breast left in the smoker at 115 °C for four hours dries out; no sample goes below no water."""
    fat = Composition(water=0.48495, protein=0.11489, fat=0.39336, carbohydrate=0.0, ash=0.0068)
    size, start = Range(0.020, 0.022, 0.024), Range(274.65, 276.15, 277.65)
    breast = HeatPiece(
        shape="slab",
        thickness=size,
        composition=fat,
        temperature=start,
        open_fraction=0.5,
        exudes="meat",
        salt_to_water_ratio=0.04625,
    )
    heat, humidity = Range(383.4, 388.15, 392.9), Range(0.11, 0.135, 0.16)
    smoke = HeatStage(
        name="smoke", medium="air", duration=4 * 3600.0, temperature=heat, air="draught", relative_humidity=humidity
    )
    result = run(breast, [smoke], HeatSpread())
    assert np.isfinite(result.samples.mass).all()
    assert result.samples.water.min() > 0 and result.samples.mass.min() > 1 - fat.water
