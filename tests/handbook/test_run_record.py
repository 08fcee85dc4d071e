"""Every fault of a run's file, at its line; strength readings back to the salt that they stand for."""

import pytest

from handbook.base.errors import RangeError
from handbook.brine.hydrometer_scales import degrees_salometer, specific_gravity
from handbook.brine.instruments import instrument_value
from handbook.brine.strength_reading import StrengthReading, salt_from_reading
from handbook.runs.run_record import read_run
from tests.site_build.run_pages import METHODS, page_method

GOOD = "on: 2026-10-12\nbatch: 2 kg\n"
FAULTS = (
    ("batch: 2 kg\n", "x.yml:1: on: read nothing"),
    ("on: 2026-10-12\n", "x.yml:1: batch: read nothing"),
    ("on: 2026-10-13\nbatch: 2 kg\n", 'x.yml:1: on: read "2026-10-13"'),
    (GOOD + "wieght: 2 kg\n", 'x.yml:3: wieght: read "wieght"'),
    (GOOD + "steps:\n  - {step: 99, weight: 1 kg}\n", 'x.yml:4: steps.1.step: read "99"'),
    (GOOD + "steps:\n  - {step: 2, time: 2 h}\n  - {step: 2, time: 3 h}\n", 'x.yml:5: steps.2.step: read "2 twice"'),
    (GOOD + "steps:\n  - {step: 2, salt: _ %}\n", 'x.yml:4: steps.1.salt: read "_ %"'),
    (GOOD + "steps:\n  - {step: 6, hold: 3 min}\n", 'x.yml:4: steps.1.hold: read "3 min"'),
    (GOOD + "brines:\n  - {strength: 78 °SAL}\n", "x.yml:4: brines.1.at: read nothing"),
    (GOOD + "brines:\n  - {strength: 22 °Be, at: 4 °C}\n", 'x.yml:4: brines.1.strength: read "22 °Be"'),
    (GOOD + "brines:\n  - {use: other, strength: 12 %}\n", 'x.yml:4: brines.1.use: read "other"'),
    (GOOD + "brines:\n  - {strength: 0.992 SG, at: 4 °C}\n", 'x.yml:4: brines.1.strength: read "0.992 SG"'),
    (GOOD + "taste: {tasters: 3, salt: 3}\n", 'x.yml:3: taste.salt: read "3"'),
    (GOOD + "log: {begins_with: 5}\n", "x.yml:3: log: read no file beside it"),
)


@pytest.mark.parametrize(("text", "said"), FAULTS)
def test_read_run_faults(text, said):
    """One line with file, line and key for each mistake."""
    run, faults = read_run("2026-10-12", "x.yml", text, None, page_method("hot-smoked-char-sides"), "us")
    assert run is None and str(faults[0]).startswith(said) and "; allowed: " in str(faults[0])


def test_read_run_log_without_settings():
    """A log beside a run that does not say where it begins is asked about."""
    _, faults = read_run("2026-10-12", "x.yml", GOOD, "time\n", page_method("hot-smoked-char-sides"), "us")
    assert [each.key for each in faults] == ["log"]


def test_salometer_and_gravity_round_trip():
    """At 60 °F the reading of a plain brine is its salt; a sweet brine reads too strong until its sugar is known."""
    warm = 288.7055556
    for salt in (0.05, 0.15, 0.25):
        assert salt_from_reading(StrengthReading(value=degrees_salometer(salt), scale="°SAL"), warm) == pytest.approx(
            salt, abs=1e-6
        )
        gravity = StrengthReading(value=specific_gravity(salt), scale="SG")
        assert salt_from_reading(gravity, warm) == pytest.approx(salt, abs=1e-6)
    sweet = StrengthReading(value=specific_gravity(0.10, 0.05), scale="SG")
    assert salt_from_reading(sweet, warm, 0.5) == pytest.approx(0.10, abs=1e-6)
    assert salt_from_reading(sweet, warm) > 0.11


def test_refractometer_round_trip():
    """A refractometer's reading of a brine is its salt again, with the sugar in the recipe's proportion."""
    for salt, sugar in ((0.08, 0.0), (0.10, 0.04)):
        reading = StrengthReading(value=instrument_value("refractometer", salt, sugar, 293.15), scale="°Bx")
        assert salt_from_reading(reading, 277.15, sugar / salt) == pytest.approx(salt, abs=1e-4)


def test_cold_brine_reads_stronger():
    """The same float height in colder, denser brine means less salt."""
    reading = StrengthReading(value=60.0, scale="°SAL")
    assert salt_from_reading(reading, 276.15) < salt_from_reading(reading, 288.7)
    with pytest.raises(RangeError):
        salt_from_reading(StrengthReading(value=0.99, scale="SG"), 276.15)


def test_demo_pages_are_there():
    """The demo's 18 methods with runs have 26 of them."""
    assert len(list((METHODS / "runs").rglob("*.yml"))) == 26
