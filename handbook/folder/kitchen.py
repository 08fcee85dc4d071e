"""A handbook's house data: its settings, and the foods and ingredients that its pages may name."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from functools import cached_property, lru_cache

from msgspec import Struct

from handbook.base.errors import FaultsError, PageError
from handbook.base.wording import ENGLISH, PLAIN_ENGLISH, Wording
from handbook.catalogue.name_resolver import food_names, ingredient_names
from handbook.catalogue.tables import Tables
from handbook.folder.house_tables import OWN_TABLES, house_tables
from handbook.folder.read_text import decode_page
from handbook.folder.words_file import WORDS_FILE, read_wording
from handbook.page.house import House, read_house, vocabulary
from handbook.page.vocabulary import Vocabulary
from handbook.safety.limits import rules_and_limits

HOUSE_FILE = "house.yml"
#: Files of house data. Their content can change every method.
HOUSE_FILES = (HOUSE_FILE, *OWN_TABLES, WORDS_FILE)


class Kitchen(Struct, frozen=True, kw_only=True, dict=True):
    """The house data of one version of a handbook."""

    house: House
    tables: Tables
    wording: Wording = PLAIN_ENGLISH

    @cached_property
    def words(self) -> Vocabulary:
        """The names that its pages may use."""
        return vocabulary(self.house, food_names(self.tables), ingredient_names(self.tables))


def read_kitchen(
    folder_name: str, contents: Mapping[str, bytes], unread: Collection[str] = ()
) -> tuple[Kitchen | None, list[PageError]]:
    """The house data in the ``contents`` of HOUSE_FILES, or None and its faults; ``folder_name`` is the folder in them.

    The result is None where one of these files is among ``unread``, whose fault is reported elsewhere.
    """
    file = f"{folder_name}/{HOUSE_FILE}"
    if not set(HOUSE_FILES).isdisjoint(unread):
        return None, []
    if HOUSE_FILE not in contents:
        return None, [PageError(file, 1, "house", "nothing", f"a house file {HOUSE_FILE} in the methods folder")]
    text, fault = decode_page(contents[HOUSE_FILE], file)
    if fault:
        return None, [fault]
    tables, faults = house_tables(folder_name, contents)
    house, found = read_house(text, file, food_names(tables), ingredient_names(tables), rules_and_limits())
    faults = [*faults, *found]
    language = house.language if house else ENGLISH
    wording, found = read_wording(contents.get(WORDS_FILE), f"{folder_name}/{WORDS_FILE}", language)
    faults += found if house else []
    if house is None or faults:
        return None, faults
    return Kitchen(house=house, tables=tables, wording=wording), []


@lru_cache(maxsize=4)
def kept_kitchen(folder_name: str, contents: tuple[tuple[str, bytes], ...]) -> Kitchen:
    """The house data of (name, bytes) pairs without faults, cached for the next page of a worker and
    the next build of a preview."""
    kitchen, faults = read_kitchen(folder_name, dict(contents))
    if kitchen is None:
        raise FaultsError(faults)
    return kitchen
