"""Salt and the other barriers of packs without air."""

from __future__ import annotations

from msgspec.structs import replace

from handbook.base.formats import format_percent, format_percent_range, format_temperature_range, format_time_range
from handbook.base.ranges import Range
from handbook.catalogue.food_families import FISH
from handbook.page.finished_food import Keeping, Measured
from handbook.safety.case import SafetyCase
from handbook.safety.food_state import has_no_air, is_acid_food, is_only_frozen, is_pickled, is_vacuum_packed
from handbook.safety.judging import (
    COMPUTED,
    FAILS,
    MAY_FAIL,
    MEASURED,
    MET,
    STATED,
    UNKNOWN,
    Finding,
    Outcome,
    Rule,
    at_least,
    at_most,
    judge,
    shown,
)
from handbook.safety.limits import Limit, limits
from handbook.safety.limits import figure as figure_of
from handbook.safety.ripening import is_fermented
from handbook.safety.rules.shelf import barriers_text, is_shelf_dry
from handbook.safety.step_times import measurement, stated_ph

PACK_SALT = Rule(
    id="pack-salt",
    topic="salt",
    title="Water-phase salt of smoked fish in its pack",
    advice="Without enough salt in its water smoked fish can turn poisonous with no sign: salt it more, pack it with air "
    "for the fridge, or freeze it. A laboratory measures it in the loin.",
    on_unknown="stop",
    asks_analysis=True,
)
PACK_SALT_AIR = replace(PACK_SALT, advice="Eat it sooner, salt it more, or freeze it.", binds="own", on_unknown="act")
BARRIER = Rule(
    id="pack-barrier",
    topic="salt",
    title="A barrier in the pack besides cold",
    advice="Without air, botulism can grow with no sign: keep it colder, eat it soon, or freeze it.",
    on_unknown="stop",
    asks_analysis=True,
)
RETAIL = Rule(
    id="pack-retail",
    topic="salt",
    title="Packing without air at retail",
    advice="Freeze it, open the pack sooner, or get a variance.",
    binds="own",
    asks_analysis=True,
)
RULES = (PACK_SALT, BARRIER, RETAIL)


def pack_salt(case: SafetyCase) -> tuple[Finding, ...]:
    """Water-phase salt of smoked fish, with and without air."""
    if not case.pack or is_only_frozen(case) or case.method.keeping is None:
        return ()
    rule = PACK_SALT_AIR if case.pack == "air" else PACK_SALT
    measured = measurement(case, "water-phase salt")
    if measured:
        salt, line = Range.exact(measured.value), case.method.keeping.line
        said = f"water-phase salt {format_percent_range(salt)}, measured"
        return judge(case, rule, lambda limit: Outcome(limit, _salt(salt, limit), said, line=line, basis=MEASURED))
    figure = barriers_text(case.water_phase_salt, stated_ph(case), case.water_activity)
    return judge(case, rule, lambda limit: _by_place(case, limit, figure))


def pack_barrier(case: SafetyCase) -> tuple[Finding, ...]:
    """One of salt, acid, dryness or deep cold, for other packs without air that are kept cold.

    Vegetables soured or pickled in vinegar have their acid, and so has acid fruit; a short pack rests on cold alone, and the page says so.
    """
    keeping = case.method.keeping
    if not has_no_air(case) or is_only_frozen(case) or keeping is None or case.pack in ("can", "oil"):
        return ()
    if is_fermented(case) or is_pickled(case) or is_acid_food(case):
        return ()
    if keeping.time is not None and _is_short(case, keeping):
        limit, text = limits()["vacuum-days-uk"], f"{format_time_range(Range.of(keeping.time))} in the cold"
        kitchens = f"{case.house.audience} kitchens"
        message = f"No rule found for short packs of this food in {kitchens}: cold alone is relied on."
        level = "act" if case.house.audience == "retail" else "note"
        return (shown(BARRIER, limit, level, text, message, STATED),)
    return judge(case, BARRIER, lambda limit: replace(_barrier(case, keeping, limit), line=keeping.line))


def pack_retail(case: SafetyCase) -> tuple[Finding, ...]:
    """Packs without air that a retail kitchen may make without a variance."""
    keeping = case.method.keeping
    if not is_vacuum_packed(case) or keeping is None or is_shelf_dry(case):
        return ()
    return judge(case, RETAIL, lambda limit: _retail(case, keeping, limit))


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic."""
    return (*pack_salt(case), *pack_barrier(case), *pack_retail(case))


def _is_short(case: SafetyCase, keeping: Keeping) -> bool:
    """Whether a pack of food other than fish is kept cold no longer than the guidance for cold alone allows."""
    short = limits()["vacuum-days-uk"]
    if case.food.food_class in FISH or keeping.temperature is None or keeping.time is None:
        return False
    return keeping.temperature.high <= short.value("high") and keeping.time.high <= short.value("time")


def _salt(value: Range | None, limit: Limit) -> str:
    return at_least(value, limit.value("water_phase_salt"))


def _activity(case: SafetyCase) -> tuple[Range | None, Measured | None]:
    """The water activity, measured where the page states a measurement, else computed, and the measurement."""
    measured = measurement(case, "water activity")
    return (Range.exact(measured.value) if measured else case.water_activity), measured


def _by_place(case: SafetyCase, limit: Limit, figure: str) -> Outcome:
    """The outcome for the mean of the piece, with the centre's value beside it: a laboratory measures the whole loin."""
    of_mean, centre, more = _salt(case.water_phase_salt, limit), case.water_phase_salt_centre, ""
    if centre is not None:
        figure += f"; that is the mean of the piece, its centre has {format_percent_range(centre)}"
        if of_mean == MET != _salt(centre, limit):
            more = "Meets on average, the centre may not."
    return Outcome(limit, of_mean, figure, more, basis=COMPUTED)


def _barrier(case: SafetyCase, keeping: Keeping, limit: Limit) -> Outcome:
    figure = barriers_text(case.water_phase_salt, stated_ph(case), case.water_activity)
    activity, measured = _activity(case)
    results = [
        _salt(case.water_phase_salt, limit),
        at_most(activity, limit.value("water_activity")),
        FAILS if stated_ph(case) is None else at_most(stated_ph(case), limit.value("ph")),
    ]
    if measured:
        figure += f"; water activity {measured.value:g} measured"
    origin = MEASURED if measured or stated_ph(case) else COMPUTED
    if MET in results:
        return Outcome(limit, MET, figure, basis=origin)
    if limit.has("temperature") and keeping.temperature:
        kept = Range.of(keeping.temperature)
        figure += f"; kept at {format_temperature_range(kept, 1)}"
        if at_most(kept, limit.value("temperature")) == MET:
            return Outcome(limit, MET, figure, "Cold is the only barrier shown: the fridge must never be warmer.")
    # Salt and water activity describe the same barrier: one known failure without acid is a failure.
    known = [each for each in results[:2] if each != UNKNOWN]
    result = MAY_FAIL if MAY_FAIL in results else FAILS if known else UNKNOWN
    mend = (
        f"measure a water activity of {limit.value('water_activity'):g} or a pH of {limit.value('ph'):g} at most, bring the salt of "
        f"its water to {format_percent(limit.value('water_phase_salt'))}, pack it with air, or freeze it"
    )
    return Outcome(limit, result, figure, basis=origin, mend=mend)


def _retail(case: SafetyCase, keeping: Keeping, limit: Limit) -> Outcome:
    if is_only_frozen(case):
        return Outcome(limit, MET, "kept frozen only")
    time = Range.of(keeping.time) if keeping.time else None
    figure = f"{format_time_range(time)} in the fridge" if time else "no time is stated"
    if at_most(time, figure_of("pack-retail-fish", "time")) == MET:
        return Outcome(limit, MET, figure)
    if not limit.has("ph"):
        return Outcome(limit, FAILS if time else UNKNOWN, figure)
    activity, measured = _activity(case)
    barriers = (at_most(stated_ph(case), limit.value("ph")), at_most(activity, limit.value("water_activity")))
    figure += "; " + barriers_text(case.water_phase_salt, stated_ph(case), case.water_activity)
    if MET in barriers:
        basis = MEASURED if measured or barriers[0] == MET else COMPUTED
        return Outcome(limit, at_most(time, limit.value("time")), figure, basis=basis)
    return Outcome(limit, FAILS if FAILS in barriers else UNKNOWN, figure)
