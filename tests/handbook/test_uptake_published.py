"""The uptake model beside published findings and the trade's rules: where it agrees, and where it does not.

The findings stand in tests/published/uptake_in_food.csv; the model is not fitted to them. A misfit is stated here as a
number and asserted as such, so that it cannot be lost; `python -m pytest -s` prints the comparison.
"""

import pytest

from handbook.base.ranges import Range
from handbook.report.usual_gain import usual_gain
from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
from handbook.salt.uptake import Piece, Stage, depth_profile, run
from tests.published import rows
from tests.uptake_points import points

exact = Range.exact
HOUR, DAY, CELSIUS = 3600.0, 86400.0, 273.15


def printed(key: str) -> dict[str, str]:
    return next(row for row in rows("uptake_in_food.csv") if row["key"] == key)


def piece(food_class: str, thickness: float, water: float, native: float = 0.0, shape: str = "slab", **more) -> Piece:
    return Piece(
        shape=shape,
        thickness=exact(thickness),
        water_fraction=exact(water),
        native_salt_fraction=exact(native),
        salt_diffusivity=salt_diffusivity(food_class),
        sugar_diffusivity=sugar_diffusivity(food_class),
        **more,
    )


def soak(hours: float, celsius: float, salt_mass_fraction: float, bath_per_food: float) -> Stage:
    """A bath of ``bath_per_food`` kg of brine of the given strength for each kg of food."""
    return Stage(
        kind="soak",
        duration=exact(hours * HOUR),
        temperature=exact(CELSIUS + celsius),
        bath_water=exact(bath_per_food * (1 - salt_mass_fraction)),
        bath_salt=exact(bath_per_food * salt_mass_fraction),
    )


def shares(stage) -> tuple[float, float, float]:
    """Low, typical and high mean salt as shares of equilibrium."""
    rest = stage.equilibrium_salt_mass_fraction.typical
    salt = stage.salt_mass_fraction
    return salt.low / rest, salt.typical / rest, salt.high / rest


def report(name: str, values) -> None:
    print(f"{name}: " + ", ".join(f"{value:.3g}" for value in values))


# Published findings


@pytest.mark.parametrize(("key", "brine"), [("feta_6_5", 0.065), ("feta_8_0", 0.080), ("feta_9_5", 0.095)])
def test_cheese_in_as_much_brine_as_cheese(key, brine):
    """100 g of cheese in 100 g of brine: salt in moisture at rest, for the stated span of moistures, as printed."""
    ends = []
    for moisture in (0.489, 0.508):
        end = run(piece("cheese", 0.02, moisture), [soak(300 * 24, 6, brine, 1.0)]).end
        share = end.water_phase_salt_mean.typical
        ends.append(100 * share / (1 - share))
    report(f"{key} salt per 100 g moisture, printed {printed(key)['printed']}", ends)
    assert min(ends) <= float(printed(key)["high"]) and max(ends) >= float(printed(key)["low"])


def test_reach_of_dry_salt_in_cheese():
    """After 24 h of dry salting no salt is found 2 cm in: the model has under 1 % of the surface's salt there."""
    stage = Stage(kind="dry cure", duration=exact(DAY), temperature=exact(CELSIUS + 12), bath_salt=exact(0.3))
    result = run(piece("cheese", 0.1, 0.45, skin_closed=True), [stage])
    at_face, at_reach = depth_profile(result, 0, [0.0, float(printed("goat_reach")["printed"]) / 100]).typical
    report("goat cheese, salt at 2 cm / at the face", [at_reach / at_face])
    assert at_reach / at_face < 0.01


def test_pork_cubes_in_the_first_hour():
    """1 cm cubes of pork: published, the change is mostly over in 1 h; the model says 52 % (40 to 66 %) of the way.

    The misfit is real: cubes gave ten times the diffusivity of slices elsewhere too. The model follows slices.
    """
    assert printed("pork_cube")["printed"] == "1"
    cube = piece("pork", 0.01, 0.73, 0.001, "block", width=0.01, length=0.01)
    low, typical, high = shares(run(cube, [soak(1, 5, 0.10, 10)]).end)
    report("pork cube after 1 h, share of equilibrium", (low, typical, high))
    assert (low, typical, high) == pytest.approx((0.40, 0.52, 0.66), abs=0.01)


def test_chicken_in_stirred_brine():
    """3.77 g of salt per 100 g of breast in 6 h at 1 degC: in the band of the model for brines of 14 to 20 %.

    The abstract gives no strength and half the salt was of potassium, so this only says that the order is right.
    """
    gained, covered = float(printed("chicken_gain")["printed"]), []
    for strength in (0.05, 0.10, 0.14, 0.20):
        end = run(piece("poultry", 0.02, 0.739, 0.0011), [soak(6, 1, strength, 10)]).end
        ends = [100 * (end_ - 0.0011) for end_ in (end.salt_on_green_weight.low, end.salt_on_green_weight.high)]
        report(f"chicken breast, 20 mm, brine of {100 * strength:.0f} %, gain in 6 h", ends)
        covered.append(ends[0] <= gained <= ends[1])
    assert covered == [False, False, True, True]


@pytest.mark.parametrize(
    ("key", "thickness"),
    [("fatty_19", 0.019), ("fatty_25", 0.0254), ("fatty_38", 0.038), ("fatty_51", 0.051), ("lean_25", 0.0254)],
)
def test_printed_brining_times_of_fish(key, thickness):
    """Printed times in a strong brine before cold smoking: the model gives 2 to 7 % salt, typical 3.4 to 4.5 %.

    1 1/4 cup of pickling salt per US quart is taken as 0.36 kg per 0.946 kg. The print gives no final salt. It adds
    about an hour for 6 mm; diffusion would ask for the square, so the thicker pieces end less salty here.
    """
    row = printed(key)
    stage = Stage(
        kind="soak",
        duration=exact(float(row["printed"]) * HOUR),
        temperature=exact(CELSIUS + 8),
        bath_water=exact(3.0),
        bath_salt=exact(3 * 0.36 / 0.946),
    )
    end = run(piece("fish", thickness, 0.70 if key.startswith("fatty") else 0.80, 0.0013), [stage]).end
    salt = end.salt_mass_fraction
    report(f"{row['food'][:24]}, {row['printed']} h, salt in %", (100 * salt.low, 100 * salt.typical, 100 * salt.high))
    assert 0.018 < salt.low < 0.028 and 0.032 < salt.typical < 0.046 and 0.05 < salt.high < 0.076


# Rules of the trade: common practice, no source


def fish_soak(thickness: float, hours: float, skin_closed: bool = False):
    food = piece("fish", thickness, 0.72, 0.0013, skin_closed=skin_closed)
    return run(food, [soak(hours, 3, 1 / 6, 1.8)]).end


def test_practice_twelve_hours_to_a_day_in_strong_brine():
    """19 to 25 mm fish, strong brine, fridge: 12 h at least, a day at most (common practice, no source).

    The model: 45 to 56 % of the way at 12 h, 59 to 72 % at 24 h (typical), both faces open. With the skin on, 25 to 31
    and 33 to 42 %. So the rule lies on the rising part of the curve, where a day is markedly saltier than 12 h.
    """
    expected = {(0.019, 12): 0.56, (0.019, 24): 0.72, (0.025, 12): 0.45, (0.025, 24): 0.59}
    for (thickness, hours), share in expected.items():
        low, typical, high = shares(fish_soak(thickness, hours))
        report(f"fish {1000 * thickness:.0f} mm, {hours} h, share of equilibrium", (low, typical, high))
        assert typical == pytest.approx(share, abs=0.02)
    for hours, share in ((12, 0.31), (24, 0.42)):
        assert shares(fish_soak(0.019, hours, skin_closed=True))[1] == pytest.approx(share, abs=0.02)


def test_practice_thin_piece_near_equilibrium():
    """A thin piece is near equilibrium after 12 to 24 h (common practice, no source): the model is more cautious.

    19 mm after 24 h: 47 to 95 % of the way, 72 % typical. Only the fast end of the band is near equilibrium; a piece
    under about 12 mm is there (90 %) typically.
    """
    low, typical, high = shares(fish_soak(0.019, 24))
    assert low < 0.55 and 0.65 < typical < 0.8 and high > 0.9
    assert shares(fish_soak(0.012, 24))[1] > 0.88


def test_practice_rinse_removes_the_outside():
    """A rinse only removes the outer brine (common practice, no source): 30 s takes 5 % of the salt, from outside."""
    food = piece("fish", 0.022, 0.72, 0.0013, skin_closed=True)
    salted, rinsed = run(
        food, [soak(4, 3, 1 / 6, 1.8), Stage(kind="rinse", duration=exact(30.0), temperature=exact(CELSIUS + 10))]
    ).stages
    lost = 1 - rinsed.salt_mass_fraction.typical / salted.salt_mass_fraction.typical
    report("rinse of 30 s, part of the salt lost", [lost])
    assert 0.02 < lost < 0.07
    assert rinsed.water_phase_salt_centre.typical == pytest.approx(salted.water_phase_salt_centre.typical, abs=2e-4)


@pytest.mark.parametrize(("thickness", "even_low", "even_high"), [(0.0254, 1, 7), (0.0508, 6, 27)])
def test_practice_a_week_an_inch_of_dry_cure(thickness, even_low, even_high):
    """Seven days per inch of weighed dry cure (common practice, no source): enough for 25 mm, not always for 50 mm.

    The model's days until the centre holds 90 % of the mean: 3.2 (1.6 to 6.6) for 25 mm, 13 (6.5 to 26) for 50 mm, as
    time goes with the square of thickness; the rule gives 7 and 14.
    """
    stage = Stage(
        kind="dry cure",
        duration=exact(7 * DAY * thickness / 0.0254),
        temperature=exact(CELSIUS + 3),
        bath_salt=exact(0.03),
    )
    end = run(piece("pork", thickness, 0.73, 0.0012), [stage]).end
    days = [end.time_to_even.low / DAY, end.time_to_even.typical / DAY, end.time_to_even.high / DAY]
    report(f"dry cure of {1000 * thickness:.0f} mm, days to evenness", days)
    assert even_low < days[0] and days[2] < even_high
    assert days[1] < 7 * thickness / 0.0254


# Weight gained or lost in brine, where a page states neither


def test_fatty_fish_gains_weight_in_strong_brine():
    """Herring fillets gained 10 to 12 % in a day in brines of 10, 16.5 and 25.5 %, less in the stronger: Birkeland et al.,
    J. Food Sci. 70, E418 (2005), abstract, read. Meat loses weight above 20 % (published signs)."""
    found = [usual_gain("fish", strength) for strength in (0.10, 0.165, 0.255)]
    assert all(each.high >= 0.10 for each in found)
    assert found[0].typical > found[1].typical > found[2].typical
    assert usual_gain("pork", 0.25).high < 0


def test_cheese_loses_water_in_strong_brine():
    """Water leaves at 0.5 to 2.4 times the rate at which salt comes in: Guinee and Fox (1983), abstract, read. For the
    1.6 to 2.2 % salt of a brined cheese (tests/published/salt_uptake.csv) that is a change of +1.1 to -3.1 % of its weight."""
    gain = usual_gain("cheese", 0.21)
    assert -0.031 - 0.02 < gain.low < gain.typical < gain.high <= 0.011
    assert -0.031 < gain.typical < 0
    assert usual_gain("cheese", 0.08) == exact(0.0)


def test_band_holds_published_points():
    """Nine in ten of the printed figures lie in the model's band, 85 to 97 % of them (sources: tests/published/salt_uptake.csv
    and the handbook's table of findings), also of those measured in food on which no constant rests."""
    found = points()
    held = [each for each in found if each.is_measured and each.is_held_out]
    assert len(found) > 25 and len(held) > 14
    for chosen in (found, held):
        assert 0.85 <= sum(each.is_in_band for each in chosen) / len(chosen) <= 0.97
