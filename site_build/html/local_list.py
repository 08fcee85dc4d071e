"""The list of a method's parts on its three pages, in order, with their addresses."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from handbook.folder.read_page import Page
from handbook.page.heated import has_curve
from handbook.report.method_report import Report
from site_build.base.said_words import later
from site_build.html.brine_help import wet_saltings
from site_build.reading.book import LAYERS, layer_path, url_of

MAKE = later("Make it")
PROOF_PARTS = (
    ("safety", later("Limits")),
    ("sources-here", later("Sources of this page")),
    ("history", later("Keeper, review, versions")),
)
#: Readers' other words for a part, for the search.
TASKS = {
    "salt": "how salty uptake diffusion how long in the brine water phase salt",
    "by-thickness": "thick thin piece how long in the brine mm",
    "middle": "centre core middle salt reached ham belly leave the cold",
    "too-salty": "too salty oversalted freshen desalt soak draw salt out test slice",
    "off": "brine off weak strong measure hydrometer salometer refractometer correct add salt used brine again",
    "heat": "core temperature curve how long to cook thermometer",
    "drying": "weight loss water activity aw dry rim case hardening humidity casing ripening degree-hours",
    "sour": "pH acid acidity vinegar pickle ferment lactic titratable",
    "warmth": "hot water cold water ice brine temperature cooler box chest hot rest towels",
    "change": "other salt substitute swap sugar honey sweetener frozen thawed thicker thinner",
    "amounts": "scale batch how much brine container strength cups equilibrium",
    "timing": "timeline hands-on waiting",
    "clock": "when to start ready by plan calendar night",
    "runs": "run log measured calibrated taste",
    "portion": "sodium sugar yield cost price per portion",
    "safety": "safe limit botulism parasite bacteria core cooling keeping",
    "sources-here": "source document reference",
    "history": "version review signed keeper changed",
}


class LocalPart(Struct, frozen=True, kw_only=True):
    """One part: its id and its name."""

    anchor: str
    title: str


class LocalLayer(Struct, frozen=True, kw_only=True):
    """One page of a method: its key ("" for the working sheet), name, relative address, parts."""

    key: str
    title: str
    address: str
    parts: tuple[LocalPart, ...]


class LocalList(Struct, frozen=True, kw_only=True):
    """All pages of one method. Addresses are relative to their folder."""

    layers: tuple[LocalLayer, ...]

    def address(self, anchor: str) -> str:
        """The address of a part, from another page of the method."""
        for layer in self.layers:
            if any(part.anchor == anchor for part in layer.parts):
                return f"{layer.address}#{anchor}"
        return self.layers[0].address


def local_list(page: Page) -> LocalList:
    """The parts of a method, without those that it does not have."""
    parts = {"": _make_parts(page), "why": _why_parts(page), "proof": PROOF_PARTS}
    titles = {"": MAKE, **LAYERS}
    paths = {"": page.path} | {key: layer_path(page.path, key) for key in LAYERS}
    return LocalList(
        layers=tuple(
            LocalLayer(
                key=key,
                title=title,
                address=url_of(paths[key]).rpartition("/")[2],
                parts=tuple(LocalPart(anchor=anchor, title=name) for anchor, name in parts[key]),
            )
            for key, title in titles.items()
        )
    )


def has_heat_section(report: Report) -> bool:
    """Whether a step heats or smokes the food; drying alone has a section of its own."""
    return report.course is not None and any(has_curve(step) for step in report.method.steps)


def _make_parts(page: Page) -> Sequence[tuple[str, str]]:
    keeping = (("keeping", later("Keep it")),) if page.report.method.keeping else ()
    return (("need", later("What you need")), ("steps", later("Steps")), *keeping)


def _why_parts(page: Page) -> Sequence[tuple[str, str]]:
    report, salted = page.report, page.report.salted
    parts = (
        ("salt", later("How salty, and when"), salted),
        ("by-thickness", later("By thickness"), salted and salted.by_thickness),
        ("too-salty", later("If it is too salty"), salted),
        ("middle", later("Has the salt reached the middle?"), salted and report.middle),
        ("off", later("If the brine is off"), wet_saltings(report)),
        ("heat", later("What the core does"), has_heat_section(report)),
        ("drying", later("How it dries"), report.drying),
        ("sour", later("How sour it gets"), report.sour),
        ("warmth", later("How warm it stands"), report.stands),
        ("change", later("If you change something"), True),
        ("amounts", later("Other batches, and the figures of the brine"), report.saltings or report.glazes),
        ("timing", later("Time on one axis"), True),
        ("clock", later("By the clock"), True),
        ("runs", later("Runs of this kitchen"), page.kitchen_runs),
        ("portion", later("Portion, yield and cost"), True),
    )
    return [(anchor, title) for anchor, title, has_it in parts if has_it]
