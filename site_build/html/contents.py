"""The list of methods, with the values for sorting and filtering."""

from __future__ import annotations

from msgspec import Struct

from handbook.folder.read_page import Page
from site_build.base.said_words import later
from site_build.html.render import render
from site_build.html.standing import standing_of
from site_build.reading.book import url_of

#: Places that not every kitchen has. Every kitchen has a bench and a fridge.
SPECIAL_PLACES = ("smoker", "oven", "stove", "cellar", "freezer")
#: Number of methods named as recently changed.
LATEST = 5
#: Bands of made-up brine strength: upper end as a salt fraction of the dissolved part, word, what it says.
BRINE_BANDS = (
    (0.05, "weak", later("brine under 5 % salt")),
    (0.10, "middling", later("brine of 5 to 10 %")),
    (0.20, "strong", later("brine of 10 to 20 %")),
    (1.01, "very-strong", later("brine over 20 %")),
)


class Card(Struct, frozen=True, kw_only=True):
    """One method in a list of all: its HTML and its choices in the list of contents, its words in the feed.

    ``reviewed`` is an ISO 8601 day.
    """

    html: str
    title: str
    url: str
    summary: str
    keeper: str
    reviewed: str
    tags: list[str]
    food_class: str
    kind: str
    brine: list[str]
    equipment: list[str]
    places: list[str]
    allergens: list[str]


def card(page: Page) -> Card:
    """The card of one method. Its times are in h, its salt is percent of the salted food at equilibrium."""
    report = page.report
    method = report.method
    brine = list(dict.fromkeys(_band(each) for each in report.saltings))
    places = list(dict.fromkeys(step.place for step in method.steps))
    html = render(
        "card.html",
        url=url_of(page.path),
        report=report,
        longest_hours=round(report.schedule.total.high / 3600, 2),
        hands_on_hours=round(report.schedule.hands_on.typical / 3600, 2),
        salt=round(report.salt.typical * 100, 2) if report.saltings and not report.unknown_salt else None,
        brine=brine,
        places=places,
        reviewed=method.front_matter.reviewed.toordinal(),
        standing=standing_of(report.findings),
    )
    sheet = method.front_matter
    return Card(
        html=html,
        title=sheet.title,
        url=url_of(page.path),
        summary=sheet.summary,
        keeper=sheet.keeper,
        reviewed=sheet.reviewed.isoformat(),
        tags=list(sheet.tags),
        food_class=report.food.food_class,
        kind=sheet.kind,
        brine=brine,
        equipment=list(sheet.equipment),
        places=places,
        allergens=list(report.allergens),
    )


def contents_values(cards: list[Card]) -> dict:
    """Values of the page of contents: the cards, and the choices for its methods."""
    bands = {word for card in cards for word in card.brine}
    places = {place for card in cards for place in card.places}
    return {
        "cards": sorted(cards, key=lambda card: (card.kind, card.food_class, card.title.casefold())),
        "latest": sorted(cards, key=lambda card: (card.reviewed, card.title), reverse=True)[:LATEST],
        "tags": sorted({tag for card in cards for tag in card.tags}, key=str.casefold),
        "classes": sorted({card.food_class for card in cards}),
        "kinds_present": sorted({card.kind for card in cards}),
        "bands": [
            (word, text) for _, word, text in (*BRINE_BANDS, (0, "dry", later("dry, no brine"))) if word in bands
        ],
        "equipment": sorted({name for card in cards for name in card.equipment}, key=str.casefold),
        "places": [place for place in SPECIAL_PLACES if place in places],
        "allergens": sorted({allergen for card in cards for allergen in card.allergens}),
    }


def _band(salting) -> str:
    if salting.strength is None:
        return "dry"
    return next(word for most, word, _ in BRINE_BANDS if salting.strength.salt_mass_fraction < most)
