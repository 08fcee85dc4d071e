"""The addresses in the house file: those of the site and of its sources."""

from __future__ import annotations

from handbook.base.errors import PageError
from handbook.page.house import House


def address_faults(house: House, folder: str) -> list[PageError]:
    """Faults of the house's two addresses. Only http and https are safe in a link."""
    return [
        PageError(f"{folder}/house.yml", house.line, key, value, "an address that starts with https:// or http://")
        for key, value in (("address", house.address), ("repository", house.repository))
        if value and not is_web(value)
    ]


def is_web(address: str) -> bool:
    """Whether ``address`` is a plain http(s) address."""
    return address.startswith(("https://", "http://")) and not any(each.isspace() for each in address)
