"""The engine's formats of figures, in the form of the house's language."""

from __future__ import annotations

from handbook.base import formats
from site_build.base.local_forms import localized

format_clock = localized(formats.format_clock)
format_length = localized(formats.format_length)
format_mass = localized(formats.format_mass)
format_number = localized(formats.format_number)
format_number_range = localized(formats.format_number_range)
format_percent = localized(formats.format_percent)
format_percent_range = localized(formats.format_percent_range)
format_signed_percent = localized(formats.format_signed_percent)
format_temperature = localized(formats.format_temperature)
format_temperature_range = localized(formats.format_temperature_range)
format_time = localized(formats.format_time)
format_time_range = localized(formats.format_time_range)
format_volume = localized(formats.format_volume)
