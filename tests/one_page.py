"""One page taken through the whole program in memory, in two steps: read, then computed and rendered."""

from __future__ import annotations

from functools import cached_property
from pathlib import Path

from msgspec import Struct, field

from handbook.base.errors import PageError
from handbook.catalogue.name_resolver import food_names, ingredient_names
from handbook.folder.handbook import open_handbook
from handbook.folder.kitchen import Kitchen
from handbook.folder.page_text import PageText
from handbook.folder.read_page import Page, PageSource, stated_page
from handbook.folder.read_text import decode_page
from handbook.page.house import read_house, vocabulary
from handbook.page.method import Method
from handbook.report.evaluate import evaluate
from handbook.report.safety_inputs import stop_faults
from handbook.safety.limits import rules_and_limits
from site_build.build.made_page import made_page
from site_build.html.pages import method_html
from site_build.html.priced import cost_html
from site_build.reading.author_html import author_faults, author_html
from site_build.review.signed import sign_states

METHODS = Path(__file__).resolve().parent.parent / "methods"


class OnePage(Struct, kw_only=True, dict=True):
    """A handbook of one page. Nothing is caught here but the errors that a page may cause: the rest is a crash."""

    file: str = "methods/page.md"
    path: str = "page.md"
    known: set[str] = field(default_factory=lambda: {path.name for path in METHODS.iterdir()} | {"weights.md"})

    @cached_property
    def tables(self):
        """The engine's foods and ingredients, and those of the demo kitchen."""
        return open_handbook(METHODS).catalogue

    @cached_property
    def house(self):
        """The demo kitchen."""
        text = (METHODS / "house.yml").read_text("utf-8")
        house, faults = read_house(
            text, "house.yml", tuple(self.tables.foods), tuple(self.tables.ingredients), rules_and_limits()
        )
        assert not faults, faults
        return house

    @cached_property
    def words(self):
        """The names that the page may use."""
        return vocabulary(self.house, food_names(self.tables), ingredient_names(self.tables))

    def read(self, data: bytes) -> tuple[PageText | None, Method | None, list[PageError]]:
        """The page's text, its method if it is one without a fault, and every fault."""
        _, fault = decode_page(data, self.file)
        if fault:
            return None, None, [fault]
        page = stated_page(self.source(data), self.kitchen)
        faults = author_faults(page.text, self.file, self.path, self.known)
        return page.text, page.method, [*page.faults, *faults]

    def source(self, data: bytes) -> PageSource:
        """The page as a build hands it on."""
        return PageSource(folder=self.file.rpartition("/")[0], path=self.path, data=data)

    @cached_property
    def kitchen(self) -> Kitchen:
        """The demo's house data."""
        return Kitchen(house=self.house, tables=self.tables)

    def compute(self, method: Method):
        """The method's report, or its faults: a figure that cannot be computed. Stops are told apart by their key."""
        try:
            report = evaluate(method, self.house, self.tables)
        except PageError as error:
            return None, [error]
        return report, stop_faults(method, report.findings)

    def html(self, text: PageText, report) -> str:
        """The contents of all of the page's layers, one after the other."""
        return "".join(self.layers(text, report))

    def layers(self, text: PageText, report) -> tuple[str, ...]:
        """The contents as the plugin makes them; calendar, picture and search entry beside them are made too."""
        words, _ = author_html(text, self.file, self.path)
        made, files = made_page(
            Page(path=self.path, text=text, method=report and report.method, report=report),
            words,
            self.kitchen,
        )
        if report is None:
            return tuple(each.html for each in files.words)
        mark = made.method.mark
        sign = sign_states({self.path: mark}, ())[self.path]
        cost = cost_html(made.method.bill, self.kitchen.house)
        return tuple(method_html(files.parts, files.words, self.path, mark, cost, sign, ()))
