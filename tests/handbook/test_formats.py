"""Figures as a cook reads them."""

import pytest

from handbook.base import formats
from handbook.base.ranges import Range


@pytest.mark.parametrize(
    ("shown", "wanted"),
    [
        (formats.format_mass(0.0133), "13.3 g"),
        (formats.format_mass(0.25), "250 g"),
        (formats.format_mass(0.9999), "1.00 kg"),
        (formats.format_mass(12.34), "12.3 kg"),
        (formats.format_volume(0.00025), "250 mL"),
        (formats.format_volume(0.0032), "3.20 L"),
        (formats.format_percent(0.0234), "2.3 %"),
        (formats.format_percent_range(Range(0.019, 0.023, 0.028)), "2.3 % (1.9–2.8)"),
        (formats.format_percent_range(Range(0.0231, 0.0232, 0.0233)), "2.3 %"),
        (formats.format_time(45), "0.8 min"),
        (formats.format_time(5400), "90 min"),
        (formats.format_time(7200), "2 h"),
        (formats.format_time(5.5 * 3600), "5.5 h"),
        (formats.format_time(4 * 86400), "4 days"),
        (formats.format_time_range(Range(43200, 64800, 86400)), "12–24 h"),
        (formats.format_time_range(Range(3600, 5400, 10800)), "60 min – 3 h"),
        (formats.format_clock(2700), "0:45"),
        (formats.format_clock(3 * 86400 + 4 * 3600), "3 d 04:00"),
        (formats.format_temperature(350.15), "77 °C (171 °F)"),
        (formats.format_temperature(253.15), "−20 °C (−4 °F)"),
        (formats.format_signed_percent(0.031), "+3.1 %"),
        (formats.format_signed_percent(-0.031), "−3.1 %"),
        (formats.format_signed_percent(-0.0001), "0.0 %"),
        (formats.format_length(0.02), "20 mm"),
        (formats.format_length(0.32), "32 cm"),
        (formats.format_money(3.5, "crowns"), "3.50 crowns"),
    ],
)
def test_format(shown, wanted):
    """Units, digits, true minus and en dash."""
    assert shown == wanted


@pytest.mark.parametrize(
    ("printed", "shown"),
    [
        ("refrigerator at 40 °F or below", "refrigerator at 40 °F [4.4 °C] or below"),
        ("reach 200-225 °F, cook", "reach 200-225 °F [93–107 °C], cook"),
        ("kept below a range of 80 to 90 °F", "kept below a range of 80 to 90 °F [27–32 °C]"),
        ("Ground meats 160 °F", "Ground meats 160 °F [71.1 °C]"),
        ("63 °C (145 °F) or above", "63 °C (145 °F) or above"),
        ("at 38 degrees Fahrenheit or less", "at 38 degrees Fahrenheit [3.3 °C] or less"),
        ("at −20 °C for 7 days", "at −20 °C [−4 °F] for 7 days"),
        ("2.5 percent water phase salt", "2.5 percent water phase salt"),
    ],
)
def test_other_scale_is_added(printed, shown):
    """A printed limit keeps its own figure; the other scale stands beside it in square brackets."""
    assert formats.add_other_scale(printed) == shown
