"""Ten tasks of a cook on a phone: taps to the answer, and screens to scroll after the last tap.

Run: python -m tests.cook_tasks [built site]. A tap is a press on the page or on a key that ends an entry; typing a
number or words counts as one tap for the field and none for its letters. The screen is 360 x 740 CSS pixels.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import Locator, Page

from site_build.build.build_site import Choices, build_site
from tests.site_build.browser import ALL_NEAR, chromium

WIDTH, HEIGHT = 360, 740
METHOD = "hot-smoked-char-sides.html"


class Hand:
    """Taps on one page and counts them."""

    def __init__(self, page: Page) -> None:
        self.page, self.taps = page, 0

    def tap(self, what: str, text: str = "") -> None:
        """Press the first shown element that ``what`` selects and that holds ``text``."""
        found = self.page.locator(what).filter(has_text=text) if text else self.page.locator(what)
        found.filter(visible=True).first.click()
        self.taps += 1

    def write(self, field: str, text: str, *, ends: bool = False) -> None:
        """Fill one field; with ``ends``, press the key that ends the entry."""
        self.page.fill(field, text)
        self.taps += 1 + ends
        if ends:
            self.page.keyboard.press("Enter")

    def answer(self, what: str, text: str = "") -> float:
        """Screens to scroll until the answer is seen whole."""
        found: Locator = self.page.locator(what).filter(has_text=text) if text else self.page.locator(what)
        self.page.wait_for_timeout(300)
        self.page.evaluate(ALL_NEAR)
        box = found.filter(visible=True).first.bounding_box()
        assert box is not None, (what, text)
        return max(0.0, (box["y"] + min(box["height"], HEIGHT) - HEIGHT) / HEIGHT)


def batch_by_button(hand: Hand) -> float:
    """The amounts for a batch that the sheet offers."""
    hand.tap("#batch > summary")
    hand.tap("[data-size]", "5 kg")
    hand.page.keyboard.press("Escape")
    return hand.answer(".need-table .mass")


def batch_and_piece(hand: Hand) -> float:
    """The amounts for 7.3 kg of pieces of 30 mm."""
    hand.tap("#batch > summary")
    hand.write("#batch-weight", "7.3")
    hand.write("#piece-thickness", "30", ends=True)
    return hand.answer(".need-table .mass")


def fahrenheit(hand: Hand) -> float:
    """Degrees Fahrenheit first, in the step that heats."""
    hand.tap("#batch > summary")
    hand.tap("[data-choice=degrees] label", "°F first")
    hand.tap("#batch-form [type=submit]")
    return hand.answer("#steps li", "95 °C")


def too_salty_by_search(hand: Hand) -> float:
    """What to do about food that is too salty, by search."""
    hand.write("#find-field", "too salty")
    hand.tap(".find-result a")
    return hand.answer("main :is(h2, h3)")


def too_salty_by_list(hand: Hand) -> float:
    """What to do about food that is too salty, by the list of parts."""
    hand.tap(".bar-parts > summary")
    hand.tap(".bar-parts a", "Too salty")
    return hand.answer("#too-salty")


def alarm(hand: Hand) -> float:
    """A timer that rings with the page closed: the file that gives the step's end to the phone's own calendar."""
    hand.tap("[data-kitchen-open]")
    hand.tap("[data-kitchen-begin]")
    with hand.page.expect_download():
        hand.tap("[data-kitchen-alarms]")
    return 0.0


def limit(hand: Hand) -> float:
    """The document behind the limit of a step."""
    hand.tap("#steps a", "Limit")
    return hand.answer(".limit:target, .finding:target, :target")


def keeping(hand: Hand) -> float:
    """How long it keeps."""
    hand.tap(".bar-parts > summary")
    hand.tap(".bar-parts a", "Keep it")
    return hand.answer("#keeping")


def find_method(hand: Hand) -> float:
    """From the home page to the amounts of a method."""
    hand.page.goto(hand.page.url.replace(METHOD, "index.html"))
    hand.tap("main a", "Hot-smoked char sides")
    return hand.answer(".need-table .mass")


def wall_card(hand: Hand) -> float:
    """The wall card on paper."""
    hand.page.evaluate("window.print = () => { document.title = 'printed'; }")
    hand.tap("[data-print=card]")
    assert hand.page.title() == "printed"
    return 0.0


TASKS: tuple[Callable[[Hand], float], ...] = (
    find_method, batch_by_button, batch_and_piece, fahrenheit, too_salty_by_search, too_salty_by_list, alarm, limit,
    keeping, wall_card,
)  # fmt: skip


def measured(site: Path) -> list[tuple[str, int, float]]:
    """For each task: what it is, taps, screens to scroll after the last of them."""
    rows = []
    with chromium() as browser:
        for task in TASKS:
            with browser.new_context(viewport={"width": WIDTH, "height": HEIGHT}, has_touch=True) as context:
                hand = Hand(context.new_page())
                hand.page.goto((site / METHOD).as_uri())
                screens = task(hand)
                rows.append((" ".join((task.__doc__ or "").split()), hand.taps, screens))
    return rows


def main() -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as work:
        site = Path(sys.argv[1]).resolve() if sys.argv[1:] else Path(work) / "site"
        if not sys.argv[1:]:
            build_site(Path("methods"), site, Choices(shows_progress=False))
        for name, taps, screens in measured(site):
            print(f"{taps:3} taps {screens:5.1f} screens  {name}")


if __name__ == "__main__":
    main()
