"""Files and tags for other programs: metadata in a page's head, feed, sitemap, link to a page's source."""

from __future__ import annotations

import json
from pathlib import Path
from urllib.parse import quote
from uuid import NAMESPACE_URL, uuid5
from xml.etree import ElementTree

from markupsafe import Markup

from handbook.base.formats import format_mass
from handbook.base.wording import ENGLISH
from handbook.brine.make_up import IngredientMass
from handbook.folder.kept_days import FOLDER
from handbook.folder.read_page import Page
from handbook.page.house import House
from handbook.page.salting import IngredientLine
from handbook.report.method_report import Report
from site_build.base.said_words import bare, own, said, say, say_count
from site_build.charts.share_picture import HEIGHT, WIDTH
from site_build.html.contents import Card
from site_build.reading.addresses import is_web
from site_build.reading.book import GENERATED, picture_path, url_of

FEED, SITEMAP = "feed.xml", "sitemap.xml"
#: Methods in the feed, the latest reviewed first.
MOST_IN_FEED = 50
_ATOM = "http://www.w3.org/2005/Atom"
_SITEMAP = "http://www.sitemaps.org/schemas/sitemap/0.9"


def plain_meta(url: str, title: str, house: House) -> Markup:
    """Metadata in the head of a page without a method: feed, canonical address, Open Graph.

    Tags that need a full address are omitted where the house file states no ``address``.
    """
    return _joined([*_address_parts(url, house), *_properties(_open_graph(url, title, house))])


def method_meta(page: Page, house: House) -> Markup:
    """Metadata of a method's page, with its timing picture and schema.org data."""
    sheet = page.report.method.front_matter
    properties = _open_graph(url_of(page.path), sheet.title, house)
    properties |= {"og:type": "article", "og:description": sheet.summary}
    if is_published(house):
        properties |= {
            "og:image": _absolute(house, picture_path(page.path, "png")),
            "og:image:type": "image/png",
            "og:image:width": str(WIDTH),
            "og:image:height": str(HEIGHT),
            "og:image:alt": picture_words(page.report),
        }
    # "<" is written as an escape, so that no text of a page can end the data block.
    data = json.dumps(recipe(page, house), ensure_ascii=False).replace("<", "\\u003c")
    script = Markup(f'<script type="application/ld+json">{data}</script>')
    return _joined([*_address_parts(url_of(page.path), house), *_properties(properties), script])


def recipe(page: Page, house: House) -> dict:
    """The method as a schema.org Recipe (a kind of HowTo), with the page's own statements."""
    report = page.report
    sheet = report.method.front_matter
    mixtures = report.mixtures
    lines = [line for each in mixtures for line in zip(each.mixture.ingredients, each.made.parts, strict=True)]
    food = f"{report.method.batches.written_for.text} {sheet.food}"
    data = {
        "@context": "https://schema.org",
        "@type": "Recipe",
        **({} if house.language == ENGLISH else {"inLanguage": house.language}),
        "name": sheet.title,
        "description": sheet.summary,
        "author": {"@type": "Person", "name": sheet.keeper},
        "publisher": {"@type": "Organization", "name": house.kitchen},
        "dateModified": sheet.reviewed.isoformat(),
        "recipeCategory": bare(said(sheet.kind)),
        "recipeYield": bare(say_count("%(num)s portion", "%(num)s portions", sheet.portions)),
        "totalTime": duration(report.schedule.total.typical),
        "recipeIngredient": [*([] if report.formula else [food]), *(_line_text(*line) for line in lines)],
        "recipeInstructions": [_step(each) for each in report.schedule.steps],
    }
    if sheet.tags:
        data["keywords"] = ", ".join(sheet.tags)
    if sheet.equipment:
        data["tool"] = [{"@type": "HowToTool", "name": name} for name in sheet.equipment]
    if is_published(house):
        data |= {
            "url": _absolute(house, url_of(page.path)),
            "image": [_absolute(house, picture_path(page.path, "png"))],
        }
    return data


def duration(seconds: float) -> str:
    """An ISO 8601 duration to the minute: ``P2DT3H30M``."""
    minutes = max(round(seconds / 60), 0)
    days, hours, rest = minutes // 1440, minutes // 60 % 24, minutes % 60
    clock = "".join(f"{value}{sign}" for value, sign in ((hours, "H"), (rest, "M")) if value)
    text = "P" + (f"{days}D" if days else "") + (f"T{clock}" if clock else "")
    return "PT0M" if text == "P" else text


def source_address(path: str, house: House) -> str:
    """The address at which the page's source is edited, or an empty text.

    The house's ``repository`` is the address of the methods folder in the house's forge. The page's path replaces
    ``{path}`` in it, or is appended.
    """
    if not is_web(house.repository) or path in GENERATED or path.startswith(f"{FOLDER}/"):
        return ""
    place = quote(path)
    if "{path}" in house.repository:
        return house.repository.replace("{path}", place)
    return f"{house.repository.rstrip('/')}/{place}"


def write_sharing(cards: list[Card], pages: list[tuple[str, str]], house: House, site: Path) -> None:
    """Write the feed into a finished site, and the sitemap where the house states an address.

    ``pages`` are the address and the day of review (or an empty text) of each page.
    """
    (site / FEED).write_bytes(feed(cards, house))
    for old in (SITEMAP, f"{SITEMAP}.gz"):
        (site / old).unlink(missing_ok=True)
    if is_published(house):
        (site / SITEMAP).write_bytes(sitemap(pages, house))


def picture_words(report: Report) -> str:
    """The timing picture in words."""
    title, steps = report.method.front_matter.title, len(report.schedule.steps)
    return bare(say("Timing of %(title)s: %(steps)s steps on one time axis", title=title, steps=steps))


def is_published(house: House) -> bool:
    """Whether the house file states the handbook's address on the web."""
    return is_web(house.address)


def feed(cards: list[Card], house: House) -> bytes:
    """An Atom feed (RFC 4287) of the methods by the day of their review, the latest first."""
    ElementTree.register_namespace("", _ATOM)
    root = ElementTree.Element(f"{{{_ATOM}}}feed")
    entries = sorted(cards, key=lambda each: each.url)
    entries = sorted(entries, key=lambda each: each.reviewed, reverse=True)[:MOST_IN_FEED]
    newest = entries[0].reviewed if entries else "1970-01-01"
    _add(root, "id", _name(house, ""))
    _add(root, "title", bare(say("%(kitchen)s: changed methods", kitchen=house.kitchen)))
    _add(root, "updated", f"{newest}T00:00:00Z")
    if is_published(house):
        _add(root, "link", rel="self", href=_absolute(house, FEED))
    _add(root, "link", rel="alternate", type="text/html", href=_link(house, "index.html"))
    for each in entries:
        root.append(_feed_element(each, house))
    ElementTree.indent(root)
    return ElementTree.tostring(root, "utf-8", xml_declaration=True)


def sitemap(pages: list[tuple[str, str]], house: House) -> bytes:
    """A sitemap (sitemaps.org 0.9) of every page; a method's day is the day of its review."""
    ElementTree.register_namespace("", _SITEMAP)
    root = ElementTree.Element(f"{{{_SITEMAP}}}urlset")
    for url, reviewed in pages:
        place = ElementTree.SubElement(root, f"{{{_SITEMAP}}}url")
        ElementTree.SubElement(place, f"{{{_SITEMAP}}}loc").text = _absolute(house, url)
        if reviewed:
            ElementTree.SubElement(place, f"{{{_SITEMAP}}}lastmod").text = reviewed
    ElementTree.indent(root)
    return ElementTree.tostring(root, "utf-8", xml_declaration=True)


def _feed_element(each: Card, house: House) -> ElementTree.Element:
    entry = ElementTree.Element(f"{{{_ATOM}}}entry")
    _add(entry, "id", _name(house, each.url))
    _add(entry, "title", each.title)
    _add(entry, "updated", f"{each.reviewed}T00:00:00Z")
    _add(_add(entry, "author"), "name", each.keeper)
    _add(entry, "link", rel="alternate", type="text/html", href=_link(house, each.url))
    _add(entry, "category", term=each.kind)
    _add(entry, "summary", each.summary)
    return entry


def _add(parent: ElementTree.Element, name: str, text: str = "", **attributes: str) -> ElementTree.Element:
    made = ElementTree.SubElement(parent, f"{{{_ATOM}}}{name}", attributes)
    made.text = text or None
    return made


def _open_graph(url: str, title: str, house: House) -> dict[str, str]:
    found = {"og:title": title, "og:site_name": house.kitchen, "og:type": "website"}
    return found | ({"og:url": _absolute(house, url)} if is_published(house) else {})


def _address_parts(url: str, house: House) -> list[Markup]:
    link = '<link rel="alternate" type="application/atom+xml" title="{}" href="{}">'
    parts = [
        Markup(link).format(
            say("Changed methods of %(kitchen)s", kitchen=own(house.kitchen)), "../" * url.count("/") + FEED
        )
    ]
    if is_published(house):
        parts.append(Markup('<link rel="canonical" href="{}">').format(_absolute(house, url)))
    return parts


def _properties(found: dict[str, str]) -> list[Markup]:
    return [Markup('<meta property="{}" content="{}">').format(*each) for each in found.items()]


def _joined(parts: list[Markup]) -> Markup:
    return Markup("\n  ").join(parts)


def _name(house: House, url: str) -> str:
    """A permanent id: the full address, or a UUID from the kitchen's name where there is none."""
    if is_published(house):
        return _absolute(house, url)
    return uuid5(NAMESPACE_URL, f"{house.kitchen}/{url}").urn


def _link(house: House, url: str) -> str:
    return _absolute(house, url) if is_published(house) else quote(url)


def _absolute(house: House, url: str) -> str:
    return f"{house.address.rstrip('/')}/{quote('' if url == 'index.html' else url)}"


def _line_text(line: IngredientLine, part: IngredientMass) -> str:
    """An ingredient as written with its mass, because a volume or a share alone is not useful elsewhere."""
    mass = format_mass(part.mass.typical)
    amount = mass if line.amount.text in (mass, "to target") else f"{line.amount.text} ({mass})"
    return f"{amount} {line.item}" + (f", {line.note}" if line.note else "")


def _step(timed) -> dict:
    return {"@type": "HowToStep", "name": bare(say("Step %(number)s", number=timed.number)), "text": timed.step.do}
