"""The list of methods: what each is sorted and filtered by."""

from __future__ import annotations

from dataclasses import dataclass

from handbook.evaluate import Report
from site_build.book import Book, Page

#: Places that not every kitchen has; a bench and a fridge are taken for granted.
SPECIAL_PLACES = ("smoker", "oven", "stove", "cellar", "freezer")
#: Bands of made-up brine strength: upper end as a salt fraction of the dissolved part, word, what it says.
BRINE_BANDS = (
    (0.05, "weak", "brine under 5 % salt"),
    (0.10, "middling", "brine of 5 to 10 %"),
    (0.20, "strong", "brine of 10 to 20 %"),
    (1.01, "very-strong", "brine over 20 %"),
)


@dataclass(frozen=True)
class Card:
    """One method in the list. Times in h, salt as percent of the salted food at rest, or None without a salting."""

    page: Page
    report: Report
    longest_hours: float
    hands_on_hours: float
    salt: float | None
    brine: tuple[str, ...]
    equipment: tuple[str, ...]
    places: tuple[str, ...]
    reviewed: int


def contents_values(book: Book) -> dict:
    """What the page of contents needs: the cards, and the choices that its methods offer."""
    cards = [_card(page) for page in book.methods]
    reports = [card.report for card in cards]
    bands = {word for card in cards for word in card.brine}
    return {
        "cards": cards,
        "classes": sorted({each.food.food_class for each in reports}),
        "kinds_present": sorted({each.method.sheet.kind for each in reports}),
        "bands": [(word, text) for _, word, text in (*BRINE_BANDS, (0, "dry", "dry, no brine")) if word in bands],
        "equipment": sorted({name for card in cards for name in card.equipment}, key=str.casefold),
        "places": [place for place in SPECIAL_PLACES if any(place in card.places for card in cards)],
        "allergens": sorted({allergen for each in reports for allergen in each.allergens}),
        "days": [(day.url, day.wish.title) for day in book.days],
        "plain_pages": [(page.url, page.text.title or page.path) for page in book.pages.values() if not page.report],
    }


def _card(page: Page) -> Card:
    report = page.report
    method = report.method
    return Card(
        page,
        report,
        round(report.schedule.total.high / 3600, 2),
        round(report.schedule.hands_on.typical / 3600, 2),
        round(report.salt.typical * 100, 2) if report.saltings else None,
        tuple(dict.fromkeys(_band(each) for each in report.saltings)),
        method.sheet.equipment,
        tuple(dict.fromkeys(step.place for step in method.steps)),
        method.sheet.reviewed.toordinal(),
    )


def _band(salting) -> str:
    if salting.strength is None:
        return "dry"
    return next(word for most, word, _ in BRINE_BANDS if salting.strength.salt_mass_fraction < most)
