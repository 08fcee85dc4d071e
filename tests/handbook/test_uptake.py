"""A whole run against scipy stage by stage, hand-worked balances, other samplings, and properties that must hold."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from scipy import stats

from handbook.base.errors import RangeError
from handbook.base.ranges import Range
from handbook.brine.equilibrium import equilibrium
from handbook.brine.make_up import IngredientMass, MakeUp
from handbook.catalogue.foods import Food
from handbook.catalogue.ingredients import Ingredient
from handbook.salt import uptake
from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
from handbook.salt.solute_stage import SATURATION
from handbook.salt.uptake import (
    Piece,
    Spread,
    Stage,
    depth_profile,
    freshening_minutes,
    hours_to_target,
    run,
    with_bath_scaled,
)
from tests.handbook.uptake_reference import Lines

exact = Range.exact
HOUR, DAY, COLD = 3600.0, 86400.0, 277.15
FEW = Spread(samples=8)
THICK = exact(0.02)
BATH = {"bath_water": exact(1.5), "bath_salt": exact(0.2)}
SATURATED = SATURATION["salt"] / (1 + SATURATION["salt"])
CLAIMED = 1e-3  # of the final uptake
CENTRE_CLAIMED = 2e-3  # of the difference between bath and food at the start


def piece(shape: str = "slab", thickness: Range = THICK, **more) -> Piece:
    given = {
        "water_fraction": exact(0.75),
        "native_salt_fraction": exact(0.002),
        "salt_diffusivity": salt_diffusivity("fish"),
        "sugar_diffusivity": sugar_diffusivity("fish"),
    }
    return Piece(shape=shape, thickness=thickness, **(given | more))


def soak(hours: float = 6, **more) -> Stage:
    return Stage(kind="soak", **({"duration": exact(hours * HOUR), "temperature": exact(COLD)} | BATH | more))


def typical(result, index: int = -1) -> float:
    return result.stages[index].salt_mass_fraction.typical


# Against an independent run


@pytest.mark.parametrize(("shape", "power"), [("slab", 0), ("cylinder", 1), ("sphere", 2)])
def test_run_against_method_of_lines(shape, power):
    """Soak, rinse, plain water changed once, rest and drying: scipy's solver gives the same salt and water at every step."""
    food = piece(shape)
    stages = [
        soak(),
        Stage(kind="rinse", duration=exact(30.0), temperature=exact(COLD)),
        Stage(kind="freshen", duration=exact(1800.0), temperature=exact(COLD), bath_water=exact(3.0), water_changes=1),
        Stage(kind="rest", duration=exact(12 * HOUR), temperature=exact(COLD), water_loss=exact(0.02)),
        Stage(kind="dry", duration=exact(4 * HOUR), temperature=exact(COLD), water_loss=exact(0.05)),
    ]
    result = run(food, stages, FEW)
    rate = food.salt_diffusivity.at(COLD).value / 0.01**2
    lines, water = Lines.of(power, 0.002), Lines.of(power, 0.75)
    scale = result.stages[0].salt_on_green_weight.typical

    def check(stage, bath=None):
        assert stage.salt_on_green_weight.typical == pytest.approx(lines.mean, abs=CLAIMED * scale)
        assert stage.water_phase_salt_centre.typical == pytest.approx(
            lines.centre / (lines.centre + water.centre), abs=CENTRE_CLAIMED * 0.2 / 1.5
        )
        surface = lines.values[-1] / (lines.values[-1] + water.values[-1])
        assert stage.water_phase_salt_surface.typical == pytest.approx(surface, abs=CENTRE_CLAIMED * 0.2 / 1.5)
        of_food = lines.mean / (0.248 + water.mean + lines.mean)
        assert stage.salt_mass_fraction.typical == pytest.approx(of_food, abs=CLAIMED * scale)
        if bath is not None:
            of_water = bath[0] / bath[1]
            assert stage.bath_water_phase_salt.typical == pytest.approx(of_water / (1 + of_water), abs=CLAIMED * scale)

    check(result.stages[0], (lines.bath(6 * HOUR * rate, 1.5 / 0.75, 0.2), 1.5))
    lines.hold(30 * rate, 0.0)
    check(result.stages[1])
    lines.bath(900 * rate, 3.0 / 0.75, 0.0)
    check(result.stages[2], (lines.bath(900 * rate, 3.0 / 0.75, 0.0), 3.0))
    lines.seal(12 * HOUR * rate)
    water.dry(12 * HOUR * rate, 0.02)
    check(result.stages[3])
    lines.seal(4 * HOUR * rate)
    water.dry(4 * HOUR * rate, 0.05)
    check(result.stages[4])


def test_dry_cure_against_method_of_lines():
    """While cure lies undissolved the surface is saturated; then the drawn brine goes on as a small bath."""
    food = piece()
    stage = Stage(
        kind="dry cure",
        duration=exact(20 * HOUR),
        temperature=exact(COLD),
        bath_salt=exact(0.03),
        drawn_water=exact(0.03),
    )
    result = run(food, [stage], FEW).end
    rate = food.salt_diffusivity.at(COLD).value / 0.01**2
    lines, passed, left = Lines.of(0, 0.002), Lines.of(0, 0.0), 20 * HOUR * rate
    passed.hold(left, 1.0)
    water = 0.75 - 0.03 / passed.mean  # at the surface, so that 0.03 has left by the end
    taken = lines.hold(left, SATURATION["salt"] * water, stop_at=0.002 + 0.03 - 0.03 * SATURATION["salt"])
    assert 0 < taken < left
    bath = lines.bath(left - taken, 0.03 / water, 0.032 - lines.mean)
    assert result.salt_on_green_weight.typical == pytest.approx(lines.mean, abs=CLAIMED * 0.032)
    assert result.bath_water_phase_salt.typical == pytest.approx(bath / (bath + 0.03), abs=2e-3)


def test_curve_and_times_against_method_of_lines():
    """The curve passes where the run does, and the times named are those at which it gets there."""
    food, stage = piece(), soak(10)
    result = run(food, [stage], FEW, target=0.025).end
    rate = food.salt_diffusivity.at(COLD).value / 0.01**2
    for at in (5, 10, 16, 20):
        lines = Lines.of(0, 0.002)
        lines.bath(result.curve.seconds[at] * rate, 2.0, 0.2)
        assert result.curve.salt_mass_fraction.typical[at] == pytest.approx(lines.mean / (0.998 + lines.mean), abs=5e-5)
    rest = 0.75 * 0.202 / 2.25
    for time, wanted in (
        (result.time_to_target, 0.025 / 0.975 * 0.998),
        (result.time_to_90, 0.9 * rest + 0.1 * 0.002),
        (result.time_to_95, 0.95 * rest + 0.05 * 0.002),
    ):
        lines = Lines.of(0, 0.002)
        lines.bath(time.typical * rate, 2.0, 0.2)
        assert lines.mean == pytest.approx(wanted, abs=CLAIMED * rest)
    lines = Lines.of(0, 0.002)
    lines.bath(result.time_to_even.typical * rate, 2.0, 0.2)
    assert lines.centre / lines.mean == pytest.approx(0.9, abs=2e-3)


# Hand-worked balances and limits


def test_soak_for_ever_hand_worked():
    """1 kg fish (750 g water, 2 g salt) in 1.5 kg water and 0.2 kg salt: 202 g / 2250 g water; 67.33 g in 1065.33 g."""
    result = run(piece(), [soak(300 * 24)], FEW).end
    assert result.salt_on_green_weight.typical == pytest.approx(0.0673333, abs=2e-6)
    assert result.salt_mass_fraction.typical == pytest.approx(67.3333 / 1065.3333, abs=2e-6)
    assert result.equilibrium_salt_mass_fraction.typical == pytest.approx(67.3333 / 1065.3333, abs=1e-7)
    assert result.water_phase_salt_centre.typical == pytest.approx(202 / 2452, abs=2e-6)
    assert result.bath_water_phase_salt.typical == pytest.approx(202 / 2452, abs=2e-6)


def test_equilibrium_is_that_of_the_brine_tables():
    """The end of a long soak is what the make-up tables call equilibrium, salt and sugar alike."""
    food = Food(
        name="x",
        food_class="fish",
        water=0.75,
        fat=0.05,
        protein=0.19,
        carbohydrate=0.0,
        ash=0.01,
        sodium=0.002 / (58.443 / 22.990),
        density=1050.0,
        ndb_number="",
        allergen="fish",
        is_scombroid=False,
        source="x",
    )
    made = (("water", 1, 0, 0, 1.5), ("salt", 0, 1, 0, 0.2), ("sugar", 0, 0, 1, 0.1))
    parts = tuple(
        IngredientMass(
            ingredient=Ingredient(
                name=name,
                kind="",
                kg_per_m3=None,
                pack_state="",
                water=water,
                salt=salt,
                sugars=sugar,
                sodium=0.0,
                nitrite=0.0,
                nitrate=0.0,
                piece_mass=None,
                allergens=(),
                source="x",
            ),
            mass=exact(mass),
            written="",
            by_volume=False,
            note="",
        )
        for name, water, salt, sugar, mass in made
    )
    table = equilibrium(MakeUp(parts=parts), food, 1.0)
    result = run(piece(), [soak(390 * 24, bath_sugar=exact(0.1))], FEW).end
    assert result.salt_mass_fraction.typical == pytest.approx(table.salt_mass_fraction.typical, abs=5e-6)
    assert result.sugar_mass_fraction.typical == pytest.approx(table.sugar_mass_fraction, abs=5e-6)
    assert result.bath_water_phase_salt.typical == pytest.approx(table.bath_water_phase_salt, abs=5e-6)


def test_zero_time_changes_nothing():
    """A stage of no time leaves the food as it was, salt and water."""
    result = run(piece(), [soak(0)], FEW).end
    assert result.salt_mass_fraction.typical == pytest.approx(0.002, abs=1e-9)
    assert result.food_mass_ratio.typical == pytest.approx(1, abs=1e-9)
    assert result.bath_water_phase_salt.typical == pytest.approx(0.2 / 1.7, abs=1e-9)


def test_injection_hand_worked():
    """10 % of a brine with 15 % salt: 15 + 2 g in 1100 g, even from the start; 100 g dried off: 17 in 1000 g."""
    stages = [
        Stage(
            kind="inject", duration=exact(DAY), temperature=exact(COLD), pump=exact(0.1), pump_salt_fraction=exact(0.15)
        ),
        Stage(kind="dry", duration=exact(HOUR), temperature=exact(COLD), water_loss=exact(0.1)),
    ]
    pumped, dried = run(piece("block", width=0.1, length=0.2), stages, FEW).stages
    assert pumped.salt_mass_fraction.typical == pytest.approx(17 / 1100, rel=1e-9)
    assert pumped.water_phase_salt_centre.typical == pytest.approx(17 / (17 + 835), rel=1e-6)
    assert dried.salt_mass_fraction.typical == pytest.approx(17 / 1000, rel=1e-9)
    assert dried.water_phase_salt_mean.typical == pytest.approx(17 / (17 + 735), rel=1e-9)
    assert dried.curve.salt_mass_fraction.typical[0] == pytest.approx(17 / 1100, rel=1e-9)


def test_dry_cure_takes_all_but_the_drawn_brine():
    """In the end 30 g of cure and 2 g of its own salt share 750 g of water, 30 g of it drawn out and left behind."""
    stage = Stage(
        kind="dry cure",
        duration=exact(200 * DAY),
        temperature=exact(COLD),
        bath_salt=exact(0.03),
        drawn_water=exact(0.03),
    )
    result = run(piece(), [stage], FEW).end
    assert result.salt_on_green_weight.typical == pytest.approx(0.032 * 720 / 750, abs=2e-6)
    assert result.food_mass_ratio.typical == pytest.approx(0.998 - 0.03 + 0.032 * 720 / 750, abs=2e-6)


def test_salt_box_ends_saturated():
    """With far more salt than can dissolve, the food rests at saturation and salt is left over."""
    stage = Stage(
        kind="dry cure",
        duration=exact(300 * DAY),
        temperature=exact(COLD),
        bath_salt=exact(0.8),
        drawn_water=exact(0.03),
    )
    result = run(piece(), [stage], FEW).end
    assert result.water_phase_salt_mean.typical == pytest.approx(SATURATED, abs=1e-6)
    assert result.bath_water_phase_salt.typical == pytest.approx(SATURATED, abs=1e-9)
    assert result.equilibrium_salt_mass_fraction.typical == pytest.approx(result.salt_mass_fraction.typical, abs=1e-6)


def test_weight_gain_is_water_and_solutes():
    """A stated gain of 6 % is the food's whole change of weight, salt included."""
    result = run(piece(), [soak(12, weight_gain=exact(0.06))], FEW).end
    assert result.food_mass_ratio.typical == pytest.approx(1.06, abs=1e-5)


def test_skin_side_closed_is_half_of_twice_as_thick():
    """A 10 mm side with its skin closed takes up salt like a 20 mm one with both faces open; depth runs to the skin."""
    one = run(piece(thickness=exact(0.01), skin_closed=True), [soak()], FEW)
    two = run(piece(thickness=exact(0.02)), [soak()], FEW)
    assert typical(one) == pytest.approx(typical(two), rel=1e-9)
    with pytest.raises(RangeError, match="depth"):
        depth_profile(one, 0, [0.011])
    at_skin = depth_profile(one, 0, [0.0, 0.005, 0.01]).typical
    assert at_skin[2] == pytest.approx(one.end.water_phase_salt_centre.typical, abs=1e-4)
    assert at_skin[0] == pytest.approx(one.end.bath_water_phase_salt.typical, abs=2e-3)
    assert at_skin[0] > at_skin[1] > at_skin[2]


def test_rinse_takes_the_outside_only():
    """Half a minute of running water thins the outer 3 mm; the centre does not notice."""
    before, after = run(
        piece(), [soak(), Stage(kind="rinse", duration=exact(30.0), temperature=exact(285.15))], FEW
    ).stages
    assert after.water_phase_salt_outer.typical < before.water_phase_salt_outer.typical
    assert after.water_phase_salt_centre.typical == pytest.approx(before.water_phase_salt_centre.typical, abs=1e-4)
    assert 0.93 < after.salt_mass_fraction.typical / before.salt_mass_fraction.typical < 1


def test_rinse_in_a_bowl_is_a_small_bath():
    """A rinse with a stated amount of water is a bath of that size."""
    bowl = Stage(kind="rinse", duration=exact(600.0), temperature=exact(COLD), bath_water=exact(2.0))
    fresh = Stage(kind="freshen", duration=exact(600.0), temperature=exact(COLD), bath_water=exact(2.0))
    got = [run(piece(), [soak(), last], FEW).end for last in (bowl, fresh)]
    assert got[0].salt_mass_fraction.typical == pytest.approx(got[1].salt_mass_fraction.typical, rel=1e-12)
    assert got[0].bath_water_phase_salt.typical > 0


def test_a_rest_evens_out():
    """Rest closes the gap between centre and outside and moves no salt."""
    first, last = run(
        piece(), [soak(), Stage(kind="rest", duration=exact(2 * DAY), temperature=exact(COLD))], FEW
    ).stages
    assert last.salt_on_green_weight.typical == pytest.approx(first.salt_on_green_weight.typical, rel=1e-9)
    gaps = [each.water_phase_salt_outer.typical - each.water_phase_salt_centre.typical for each in (first, last)]
    assert gaps[1] < 0.2 * gaps[0]
    assert last.time_to_target.typical is None
    assert 0 < last.time_to_even.typical < 10 * DAY


# Properties

pieces = st.builds(
    lambda shape, thickness, water, native: piece(
        shape,
        exact(thickness),
        water_fraction=exact(water),
        native_salt_fraction=exact(native),
        **({"width": 0.06, "length": 0.15} if shape == "block" else {}),
    ),
    st.sampled_from(["slab", "cylinder", "sphere", "block"]),
    st.floats(0.005, 0.05),
    st.floats(0.4, 0.9),
    st.floats(0, 0.01),
)
soaks = st.builds(
    lambda hours, water, per_water, temperature: soak(
        hours, bath_water=exact(water), bath_salt=exact(water * per_water), temperature=exact(temperature)
    ),
    st.floats(0.1, 60),
    st.floats(0.3, 20),
    st.floats(0, 0.35),
    st.floats(273.15, 298.15),
)


@settings(max_examples=50, deadline=None)
@given(pieces, soaks)
def test_salt_of_food_and_bath_is_conserved(food, stage):
    """What the food has gained the bath has lost, to 1e-9 of all salt, read from the results alone."""
    result = run(food, [stage], FEW).end
    strength = result.bath_water_phase_salt.typical
    total = food.native_salt_fraction.typical + stage.bath_salt.typical
    found = result.salt_on_green_weight.typical + strength / (1 - strength) * stage.bath_water.typical
    assert found == pytest.approx(total, rel=1e-9, abs=1e-12)
    assert result.salt_balance <= 1e-9


@settings(max_examples=25, deadline=None)
@given(pieces, soaks, st.integers(0, 3))
def test_salt_balance_through_all_stages(food, stage, changes):
    """Every kind of stage keeps its balance of salt to 1e-9."""
    wide = replace(
        stage,
        bath_water=Range(*(stage.bath_water.typical * at for at in (0.9, 1, 1.1))),
        duration=Range(0, stage.duration.typical, 2 * stage.duration.typical),
    )
    stages = [
        wide,
        Stage(
            kind="freshen", duration=exact(HOUR), temperature=exact(COLD), bath_water=exact(2.0), water_changes=changes
        ),
        Stage(kind="rest", duration=exact(DAY), temperature=exact(COLD), water_loss=Range(0, 0.01, 0.02)),
        Stage(kind="dry cure", duration=exact(DAY), temperature=exact(COLD), bath_salt=Range(0.01, 0.02, 0.03)),
        Stage(
            kind="inject",
            duration=exact(HOUR),
            temperature=exact(COLD),
            pump=exact(0.05),
            pump_salt_fraction=exact(0.1),
        ),
        Stage(kind="dry", duration=exact(HOUR), temperature=exact(300.0), water_loss=Range(0.05, 0.1, 0.15)),
    ]
    assert max(each.salt_balance for each in run(food, stages, Spread(samples=16)).stages) <= 1e-9


@settings(max_examples=40, deadline=None)
@given(pieces, soaks, st.floats(1.05, 3))
def test_uptake_rises_with_time_strength_and_temperature(food, stage, factor):
    """Longer, stronger and warmer each mean no less salt, while the bath is the stronger side."""
    stage = replace(stage, bath_salt=exact(max(stage.bath_salt.typical, 0.05 * stage.bath_water.typical)))
    base = typical(run(food, [stage], FEW))
    longer = replace(stage, duration=exact(stage.duration.typical * factor))
    stronger = replace(stage, bath_salt=exact(stage.bath_salt.typical * factor))
    warmer = replace(stage, temperature=exact(min(stage.temperature.typical + 5 * (factor - 1), 303.15)))
    slack = 1e-4 * (base + 0.01)
    for changed in (longer, stronger, warmer):
        assert typical(run(food, [changed], FEW)) >= base - slack


@settings(max_examples=25, deadline=None)
@given(st.floats(0.01, 0.05), st.floats(0.02, 0.2), soaks)
def test_block_holds_no_less_than_slab(thickness, width, stage):
    """Cut ends never make a piece less salty, up to the last per cent of the way (see test_diffusion)."""
    stage = replace(stage, bath_salt=exact(0.05 + stage.bath_salt.typical))
    slab = run(piece(thickness=exact(thickness)), [stage], FEW).end
    block = run(piece("block", exact(thickness), width=width, length=0.2), [stage], FEW).end
    rest = slab.equilibrium_salt_mass_fraction.typical
    assert block.salt_mass_fraction.typical >= min(slab.salt_mass_fraction.typical, 0.98 * rest) - 2e-4 * rest


def test_half_and_double_bath_of_the_same_strength():
    """More brine of one strength: saltier food; the limit is a bath without end."""
    small, same, large, vast = (
        typical(run(piece(), [with_bath_scaled(soak(24), factor)], FEW)) for factor in (0.5, 1.0, 2.0, 1e4)
    )
    assert small < same < large < vast
    twice = with_bath_scaled(soak(), 2.0)
    assert twice.bath_salt.typical / twice.bath_water.typical == pytest.approx(0.2 / 1.5, rel=1e-12)


# Tables for the page


def test_hours_to_target_square_law():
    """With one brine a slab twice as thick needs four times as long; a stated thickness agrees with the run."""
    rows = hours_to_target(piece(), soak(), 0.02, (0.01, 0.02, 0.04), FEW)
    hours = [each.hours.typical for each in rows]
    assert (hours[1] / hours[0], hours[2] / hours[1]) == pytest.approx((4, 4), rel=1e-6)
    from_run = run(piece(), [soak()], FEW, target=0.02).end.time_to_target.typical
    assert hours[1] == pytest.approx(from_run / HOUR, rel=1e-9)
    assert typical(run(piece(), [soak(hours[1])], FEW)) == pytest.approx(0.02, rel=2e-3)


def test_hours_to_target_never():
    """A target above what the brine can bring has no time, and one already met takes none."""
    weak = soak(bath_salt=exact(0.02))
    assert hours_to_target(piece(), weak, 0.03, (0.02,), FEW)[0].hours.typical is None
    assert hours_to_target(piece(), weak, 0.001, (0.02,), FEW)[0].hours.typical == 0


def test_hours_to_target_block_is_faster():
    """A strip reaches the target before an endless slab of the same thickness."""
    strip = hours_to_target(piece("block", width=0.03), soak(), 0.02, (0.02,), FEW)[0].hours.typical
    slab = hours_to_target(piece(), soak(), 0.02, (0.02,), FEW)[0].hours.typical
    assert strip < 0.8 * slab


def test_freshening_minutes_from_the_real_profile(monkeypatch):
    """The minutes named bring a second run, soaked and freshened, to the salt named."""
    salted = run(piece(), [soak(8)], FEW)
    monkeypatch.setattr(uptake, "FRESHENING_TEMPERATURE", COLD)
    steps = freshening_minutes(salted, 0)[:3]
    minutes = [each.minutes.typical for each in steps]
    assert minutes == sorted(minutes)
    for each in steps:
        fresh = Stage(
            kind="freshen", duration=exact(each.minutes.typical * 60), temperature=exact(COLD), bath_water=exact(3.0)
        )
        assert typical(run(piece(), [soak(8), fresh], FEW)) == pytest.approx(each.salt_mass_fraction, abs=3e-5)
    assert steps[0].salt_mass_fraction == pytest.approx(typical(salted) - 0.005, abs=1e-5)


def test_freshening_stops_before_nothing(monkeypatch):
    """Falls below no salt at all are not listed, and one that this little water cannot bring has no time."""
    salted = run(piece(), [soak(40)], FEW)
    for name, value in (("MOST_FALLS", 50), ("FALL", 0.01), ("FRESHENING_WATER", 0.2)):
        monkeypatch.setattr(uptake, name, value)
    steps = freshening_minutes(salted, 0)
    assert len(steps) == int(typical(salted) / 0.01)
    assert steps[-1].minutes.typical is None


# Spread


def test_no_spread_gives_no_band_but_diffusivity():
    """With every input exact only the diffusivity is left to spread, and it dominates."""
    end = run(piece(), [soak()], Spread(samples=64)).end
    assert end.dominating[0].name == "diffusivity"
    assert end.salt_mass_fraction.low < end.salt_mass_fraction.typical < end.salt_mass_fraction.high
    assert end.dominating[0].share > 0.99


def test_dominating_input_at_rest_is_the_amount():
    """At rest nothing but amounts matters, and the salt measure, far off here, comes first; shares sum to 1."""
    stage = soak(300 * 24, bath_salt=Range(0.15, 0.2, 0.25), bath_water=Range(1.45, 1.5, 1.55))
    end = run(piece(thickness=Range(0.015, 0.02, 0.025)), [stage]).end
    assert (end.dominating[0].name, end.dominating[0].stage_index) == ("salt amount", 0)
    assert end.dominating[0].share > 0.9
    assert sum(each.share for each in end.dominating) == pytest.approx(1, abs=1e-9)


def test_band_against_scipy_monte_carlo():
    """256 samples give the 5th and 95th percentile of 4000 random ones within what those are sure of.

    Random draws by scipy from the same log-normal inputs, each through scipy-free closed form: the plane sheet series
    in an endless bath, so the engine's own solution takes no part.
    """
    food = piece(thickness=Range(0.018, 0.02, 0.0222222222))
    stage = soak(12, bath_water=exact(1e5), bath_salt=exact(1e4))
    end = run(food, [stage]).end
    random = np.random.default_rng(20)
    z = stats.norm.ppf(random.random((2, 4000))) / 1.6448536269514722
    d = food.salt_diffusivity.at(COLD)
    factor = (d.high / d.low) ** 0.5
    fourier = d.value * factor ** z[0] * 12 * HOUR / (0.01 * (10 / 9) ** z[1]) ** 2
    q = (np.arange(60) + 0.5) * np.pi
    left = (2 / q**2 * np.exp(-np.outer(fourier, q**2))).sum(axis=1)
    salt = 0.075 - (0.075 - 0.002) * left
    expected = np.quantile(salt / (0.998 + salt), (0.05, 0.95))
    assert (end.salt_mass_fraction.low, end.salt_mass_fraction.high) == pytest.approx(expected, rel=0.03)


def test_more_samples_same_band():
    """Eight times as many samples move the band's ends by under 2 %."""
    stage = soak(
        8,
        bath_salt=Range(0.18, 0.2, 0.22),
        duration=Range(6 * HOUR, 8 * HOUR, 10 * HOUR),
        temperature=Range(275.15, 277.15, 280.15),
        weight_gain=Range(0.0, 0.04, 0.08),
    )
    food = piece(thickness=Range(0.018, 0.02, 0.023), water_fraction=Range(0.72, 0.75, 0.77))
    few, many = (run(food, [stage], Spread(samples=count)).end for count in (256, 2048))
    assert (few.salt_mass_fraction.low, few.salt_mass_fraction.high) == pytest.approx(
        (many.salt_mass_fraction.low, many.salt_mass_fraction.high), rel=0.02
    )
    assert few.salt_mass_fraction.typical == pytest.approx(many.salt_mass_fraction.typical, rel=1e-3)


def test_same_every_run():
    """Nothing random is left: two runs agree to the last digit."""
    stage = soak(8, bath_salt=Range(0.18, 0.2, 0.22))
    first, second = (run(piece(thickness=Range(0.018, 0.02, 0.022)), [stage]).end for _ in range(2))
    assert first.salt_mass_fraction == second.salt_mass_fraction


def test_time_range_is_stretched():
    """The curve of a stage runs to its typical time, the spread of the stated time included."""
    end = run(piece(), [soak(duration=Range(6 * HOUR, 12 * HOUR, 24 * HOUR))], Spread(samples=64)).end
    assert end.curve.seconds[-1] == 12 * HOUR
    assert end.curve.salt_mass_fraction.high[-1] == pytest.approx(end.salt_mass_fraction.high, rel=1e-4)


def test_timeline_joins_the_stages():
    """The timeline starts at 0, never turns back and ends with the last stage."""
    result = run(piece(), [soak(6), Stage(kind="rest", duration=exact(DAY), temperature=exact(COLD))], FEW)
    line = result.timeline
    assert line.seconds[0] == 0 and line.seconds[-1] == 6 * HOUR + DAY
    assert (np.diff(line.seconds) >= 0).all()
    assert line.salt_mass_fraction.typical[-1] == pytest.approx(typical(result), rel=1e-4)


# Marks and errors


def test_extrapolation_is_marked():
    """Warmer than the sources measured: the figure stands, marked; its band is wider."""
    warm = run(piece(), [soak(), Stage(kind="dry", duration=exact(HOUR), temperature=exact(325.0))], FEW)
    assert (warm.stages[0].extrapolated, warm.stages[1].extrapolated, warm.extrapolated) == (False, True, True)


@pytest.mark.parametrize(
    ("make", "named"),
    [
        (lambda: piece(thickness=exact(0.0)), "thickness"),
        (lambda: piece("block", width=-1.0), "width"),
        (lambda: piece(water_fraction=exact(1.2)), "water_fraction"),
        (lambda: soak(bath_water=exact(0.0)), "bath_water"),
        (lambda: soak(-1), "duration"),
        (
            lambda: Stage(
                kind="dry cure",
                duration=exact(DAY),
                temperature=exact(COLD),
                bath_salt=exact(0.02),
                drawn_water=exact(0.0),
            ),
            "drawn_water",
        ),
        (
            lambda: Stage(
                kind="freshen", duration=exact(DAY), temperature=exact(COLD), bath_water=exact(1.0), water_changes=-1
            ),
            "water_changes",
        ),
        (lambda: run(piece(), [soak(temperature=exact(400.0))], FEW), "temperature"),
        (
            lambda: run(
                piece(), [Stage(kind="dry", duration=exact(DAY), temperature=exact(COLD), water_loss=exact(0.75))], FEW
            ),
            "water_loss",
        ),
        (
            lambda: run(piece(water_fraction=exact(0.8), native_salt_fraction=exact(0.25)), [soak()], FEW),
            "water_fraction",
        ),
        (lambda: run(piece("block", exact(0.001), width=0.5, length=1.0), [soak()], FEW), "aspect"),
    ],
)
def test_out_of_range(make, named):
    """What cannot be is refused in one line that names it."""
    with pytest.raises(RangeError) as raised:
        make()
    assert raised.value.name == named


@pytest.mark.parametrize(
    "make",
    [
        lambda: piece("cone"),
        lambda: piece("sphere", skin_closed=True),
        lambda: Stage(kind="simmer", duration=exact(1.0), temperature=exact(COLD)),
        lambda: run(piece(), [], FEW),
    ],
)
def test_wrong_words(make):
    """Unknown shapes and kinds, and an empty method, are faults of the caller."""
    with pytest.raises(ValueError, match="allowed"):
        make()
