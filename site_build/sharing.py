"""How the handbook is found and passed on: words in a page's head, feed, sitemap, link to a page's source."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from urllib.parse import quote
from uuid import NAMESPACE_URL, uuid5
from xml.etree import ElementTree

from markupsafe import Markup

from handbook.brine import Part
from handbook.evaluate import Report
from handbook.formats import format_mass
from handbook.house import House
from handbook.method import Ingredient
from site_build.addresses import is_web
from site_build.book import GENERATED, Book, Page
from site_build.day_pages import day_sources
from site_build.days import FOLDER
from site_build.share_picture import HEIGHT, WIDTH, png, svg, timing_shapes

FEED, SITEMAP = "feed.xml", "sitemap.xml"
#: Methods in the feed, the latest reviewed first.
MOST_IN_FEED = 50
_ATOM = "http://www.w3.org/2005/Atom"
_SITEMAP = "http://www.sitemaps.org/schemas/sitemap/0.9"


def head_meta(path: str, book: Book) -> Markup:
    """What the head of the page at ``path`` says for other programs: canonical address, Open Graph, schema.org, feed.

    Addresses that must be whole are left out where the house file names no ``address``.
    """
    url, root = _url(path), "../" * path.count("/")
    page = book.pages.get(path)
    title = _title(path, book)
    parts = [
        Markup('<link rel="alternate" type="application/atom+xml" title="{}" href="{}">').format(
            f"Changed methods of {book.house.kitchen}", root + FEED
        )
    ]
    properties = {"og:title": title, "og:site_name": book.house.kitchen, "og:type": "website"}
    if is_web(book.house.address):
        parts.append(Markup('<link rel="canonical" href="{}">').format(_absolute(book, url)))
        properties["og:url"] = _absolute(book, url)
    if page and page.report:
        sheet = page.report.method.sheet
        properties |= {"og:type": "article", "og:description": sheet.summary}
        if is_web(book.house.address):
            properties |= {
                "og:image": _absolute(book, picture_path(page, "png")),
                "og:image:type": "image/png",
                "og:image:width": str(WIDTH),
                "og:image:height": str(HEIGHT),
                "og:image:alt": _picture_words(page.report),
            }
    parts += [Markup('<meta property="{}" content="{}">').format(*each) for each in properties.items()]
    if page and page.report:
        # "<" is written as an escape, so that no text of a page can end the data block.
        data = json.dumps(recipe(page, book), ensure_ascii=False).replace("<", "\\u003c")
        parts.append(Markup(f'<script type="application/ld+json">{data}</script>'))
    return Markup("\n  ").join(parts)


def recipe(page: Page, book: Book) -> dict:
    """The method as a schema.org Recipe (a kind of HowTo), with what the page itself states."""
    report = page.report
    sheet = report.method.sheet
    mixtures = (*report.saltings, *report.glazes)
    lines = [line for each in mixtures for line in zip(each.mixture.ingredients, each.made.parts, strict=True)]
    food = f"{report.method.batches.written_for.text} {sheet.food}"
    data = {
        "@context": "https://schema.org",
        "@type": "Recipe",
        "name": sheet.title,
        "description": sheet.summary,
        "author": {"@type": "Person", "name": sheet.keeper},
        "publisher": {"@type": "Organization", "name": book.house.kitchen},
        "dateModified": sheet.reviewed.isoformat(),
        "recipeCategory": sheet.kind,
        "recipeYield": f"{sheet.portions} portions",
        "totalTime": duration(report.schedule.total.typical),
        "recipeIngredient": [food, *(_line_text(*line) for line in lines)],
        "recipeInstructions": [_step(each) for each in report.schedule.steps],
    }
    if sheet.tags:
        data["keywords"] = ", ".join(sheet.tags)
    if sheet.equipment:
        data["tool"] = [{"@type": "HowToTool", "name": name} for name in sheet.equipment]
    if is_web(book.house.address):
        data |= {"url": _absolute(book, page.url), "image": [_absolute(book, picture_path(page, "png"))]}
    return data


def duration(seconds: float) -> str:
    """An ISO 8601 duration to the minute: ``P2DT3H30M``."""
    minutes = max(round(seconds / 60), 0)
    days, hours, rest = minutes // 1440, minutes // 60 % 24, minutes % 60
    clock = "".join(f"{value}{sign}" for value, sign in ((hours, "H"), (rest, "M")) if value)
    text = "P" + (f"{days}D" if days else "") + (f"T{clock}" if clock else "")
    return "PT0M" if text == "P" else text


def source_address(path: str, house: House) -> str:
    """Where the page's source is changed, or an empty text.

    The house's ``repository`` is the address of the methods folder in the house's forge; ``{path}`` in it marks where
    the page's path goes, else the path is put at its end.
    """
    if not is_web(house.repository) or path in GENERATED or path.startswith(f"{FOLDER}/"):
        return ""
    place = quote(path)
    if "{path}" in house.repository:
        return house.repository.replace("{path}", place)
    return f"{house.repository.rstrip('/')}/{place}"


def write_sharing(book: Book, site: Path) -> None:
    """Write feed, sitemap (where there is an address to map) and the timing pictures into a finished site."""
    for page in book.methods:
        shapes = timing_shapes(page.report, book.house.kitchen)
        _write(site / picture_path(page, "svg"), svg(shapes, _picture_words(page.report)).encode())
        if is_web(book.house.address):
            _write(site / picture_path(page, "png"), png(shapes))
    _write(site / FEED, feed(book))
    for old in (SITEMAP, f"{SITEMAP}.gz"):
        (site / old).unlink(missing_ok=True)
    if is_web(book.house.address):
        _write(site / SITEMAP, sitemap(book))


def picture_path(page: Page, kind: str) -> str:
    """The timing picture of a method, from the site's root."""
    return f"assets/timing/{page.path.removesuffix('.md')}.{kind}"


def feed(book: Book) -> bytes:
    """An Atom feed (RFC 4287) of the methods by the day they were reviewed, the latest first."""
    ElementTree.register_namespace("", _ATOM)
    root = ElementTree.Element(f"{{{_ATOM}}}feed")
    pages = sorted(book.methods, key=lambda page: page.path)
    pages = sorted(pages, key=lambda page: page.report.method.sheet.reviewed, reverse=True)[:MOST_IN_FEED]
    newest = pages[0].report.method.sheet.reviewed if pages else date(1970, 1, 1)
    _add(root, "id", _name(book, ""))
    _add(root, "title", f"{book.house.kitchen}: changed methods")
    _add(root, "updated", f"{newest.isoformat()}T00:00:00Z")
    if is_web(book.house.address):
        _add(root, "link", rel="self", href=_absolute(book, FEED))
    _add(root, "link", rel="alternate", type="text/html", href=_link(book, "index.html"))
    for page in pages:
        root.append(_feed_entry(page, book))
    ElementTree.indent(root)
    return ElementTree.tostring(root, "utf-8", xml_declaration=True)


def sitemap(book: Book) -> bytes:
    """A sitemap (sitemaps.org 0.9) of every page; a method's day is the day of its review."""
    ElementTree.register_namespace("", _SITEMAP)
    root = ElementTree.Element(f"{{{_SITEMAP}}}urlset")
    for path in [*GENERATED, *day_sources(book), *book.pages]:
        page = book.pages.get(path)
        place = ElementTree.SubElement(root, f"{{{_SITEMAP}}}url")
        ElementTree.SubElement(place, f"{{{_SITEMAP}}}loc").text = _absolute(book, _url(path))
        if page and page.report:
            ElementTree.SubElement(place, f"{{{_SITEMAP}}}lastmod").text = page.report.method.sheet.reviewed.isoformat()
    ElementTree.indent(root)
    return ElementTree.tostring(root, "utf-8", xml_declaration=True)


def _feed_entry(page: Page, book: Book) -> ElementTree.Element:
    sheet = page.report.method.sheet
    entry = ElementTree.Element(f"{{{_ATOM}}}entry")
    _add(entry, "id", _name(book, page.url))
    _add(entry, "title", sheet.title)
    _add(entry, "updated", f"{sheet.reviewed.isoformat()}T00:00:00Z")
    _add(_add(entry, "author"), "name", sheet.keeper)
    _add(entry, "link", rel="alternate", type="text/html", href=_link(book, page.url))
    _add(entry, "category", term=sheet.kind)
    _add(entry, "summary", sheet.summary)
    return entry


def _add(parent: ElementTree.Element, name: str, text: str = "", **attributes: str) -> ElementTree.Element:
    made = ElementTree.SubElement(parent, f"{{{_ATOM}}}{name}", attributes)
    made.text = text or None
    return made


def _name(book: Book, url: str) -> str:
    """A lasting name: the whole address, or where there is none a UUID from the kitchen's name."""
    if is_web(book.house.address):
        return _absolute(book, url)
    return uuid5(NAMESPACE_URL, f"{book.house.kitchen}/{url}").urn


def _link(book: Book, url: str) -> str:
    return _absolute(book, url) if is_web(book.house.address) else quote(url)


def _absolute(book: Book, url: str) -> str:
    return f"{book.house.address.rstrip('/')}/{quote('' if url == 'index.html' else url)}"


def _url(path: str) -> str:
    return path.removesuffix(".md") + ".html"


def _title(path: str, book: Book) -> str:
    page = book.pages.get(path)
    if page is None:
        return {**GENERATED, **day_sources(book)}.get(path, path) if path != "index.md" else book.house.kitchen
    return page.report.method.sheet.title if page.report else page.text.title or path.removesuffix(".md")


def _line_text(line: Ingredient, part: Part) -> str:
    """An ingredient as written with its mass beside it: a volume or a share alone says little elsewhere."""
    mass = format_mass(part.mass.typical)
    amount = mass if line.amount.text in (mass, "to target") else f"{line.amount.text} ({mass})"
    return f"{amount} {line.item}" + (f", {line.note}" if line.note else "")


def _step(timed) -> dict:
    return {"@type": "HowToStep", "name": f"Step {timed.number}", "text": timed.step.do}


def _picture_words(report: Report) -> str:
    return f"Timing of {report.method.sheet.title}: {len(report.schedule.steps)} steps on one time axis"


def _write(path: Path, data: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)
