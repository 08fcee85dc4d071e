"""Forms of times and hours of a day in wish files and kept plans."""

from __future__ import annotations

from datetime import datetime, time

from handbook.base.errors import UnitError
from handbook.base.forms import Form, Reading
from handbook.base.yaml_text import Text
from handbook.page.clock import parse_moment
from handbook.page.equipment import parse_hours


class MomentForm(Form, frozen=True):
    """``2026-11-28 18:00``."""

    allowed = "a day and a time, such as 2026-11-28 18:00, in the years 1970 to 2099"

    def read_text(self, node: Text, key: str, reading: Reading) -> datetime | None:
        try:
            return parse_moment(node.value)
        except UnitError:
            self._fault(node, key, reading)
            return None


class DayHoursForm(Form, frozen=True):
    """``07:00-19:00``."""

    allowed = "two different times of day, such as 07:00-19:00"

    def read_text(self, node: Text, key: str, reading: Reading) -> tuple[time, time] | None:
        hours = parse_hours(node.value)
        if hours is None:
            self._fault(node, key, reading)
        return hours
