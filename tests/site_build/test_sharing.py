"""What a page says of itself to other programs, checked against schema.org, RFC 4287, ISO 8601 and sitemaps.org."""

import json
import re
from collections import defaultdict
from datetime import datetime
from io import BytesIO
from xml.etree import ElementTree

import pytest
from msgspec.structs import replace
from PIL import Image

from site_build.charts.share_picture import HEIGHT, WIDTH, png, svg, timing_shapes
from site_build.html.contents import card
from site_build.outputs.sharing import (
    duration,
    feed,
    method_meta,
    plain_meta,
    recipe,
    sitemap,
    source_address,
    write_sharing,
)
from site_build.reading.addresses import address_faults
from site_build.reading.book import GENERATED, url_of
from tests.published import rows

ATOM = "{http://www.w3.org/2005/Atom}"
ADDRESS = "https://loft.example/handbook/"


@pytest.fixture(scope="module")
def local(demo_book):
    """The demo handbook without an address."""
    return replace(demo_book, house=replace(demo_book.house, address="", repository=""))


@pytest.fixture(scope="module")
def published(local):
    """The demo handbook published at an address."""
    return replace(local, house=replace(local.house, address=ADDRESS, repository="https://forge.example/loft/methods"))


def vocabulary():
    """schema.org's types: their parents, and the types each property expects."""
    parents, properties = {}, defaultdict(dict)
    for row in rows("schema_org.csv"):
        parents[row["type"]] = row["parents"].split()
        properties[row["type"]][row["property"]] = row["expected_types"].split()
    return parents, properties


def ancestors(name, parents):
    """A type and every type above it."""
    return {name}.union(*(ancestors(each, parents) for each in parents.get(name, [])))


def schema_faults(data):
    """Where an object breaks schema.org: an unknown property, or a value of a type that the property does not expect."""
    parents, properties = vocabulary()
    known = {key: types for each in ancestors(data["@type"], parents) for key, types in properties[each].items()}
    faults = []
    for key, value in data.items():
        if key.startswith("@"):
            continue
        for each in value if isinstance(value, list) else [value]:
            if isinstance(each, dict):
                if not ancestors(each["@type"], parents) & set(known.get(key, [])):
                    faults.append(f"{data['@type']}.{key}: {each['@type']}")
                faults += schema_faults(each)
            elif not {"Text", "URL", "Date", "Duration"} & set(known.get(key, [])):
                faults.append(f"{data['@type']}.{key}: text")
    return faults


def test_recipe_keeps_to_schema_org(published):
    """Every property of every method's data belongs to its type and holds a value of an expected type."""
    assert schema_faults({"@type": "Recipe", "cookware": "pot"}) == ["Recipe.cookware: text"]
    for page in published.methods:
        assert schema_faults(recipe(page, published.house)) == [], page.path


def test_recipe_says_what_the_page_says(published):
    """Name, days, steps, ingredients and time are those of the method."""
    page = published.pages["hot-smoked-char-sides.md"]
    data, report = recipe(page, published.house), page.report
    assert (
        data["name"] == report.method.front_matter.title
        and data["dateModified"] == report.method.front_matter.reviewed.isoformat()
    )
    assert [each["text"] for each in data["recipeInstructions"]] == [each.do for each in report.method.steps]
    assert len(data["recipeIngredient"]) == 1 + len(report.method.saltings[0].ingredients)
    assert iso_seconds(data["totalTime"]) == pytest.approx(report.schedule.total.typical, abs=30)


def iso_seconds(text):
    """Seconds of an ISO 8601 duration of days, hours and minutes."""
    found = re.fullmatch(r"P(?:(\d+)D)?(?:T(?:(\d+)H)?(?:(\d+)M)?)?", text)
    days, hours, minutes = (int(each or 0) for each in found.groups())
    return ((days * 24 + hours) * 60 + minutes) * 60


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0, "PT0M"),
        (90 * 60, "PT1H30M"),
        (86400, "P1D"),
        (2 * 86400 + 3.5 * 3600, "P2DT3H30M"),
        (3600, "PT1H"),
        (59, "PT1M"),
    ],
)
def test_duration(seconds, text):
    """Durations have the form of ISO 8601, to the minute."""
    assert duration(seconds) == text


def test_head_meta_with_an_address(published):
    """A published method has a canonical address, Open Graph words and picture, and one data block."""
    head = method_meta(published.pages["hot-smoked-char-sides.md"], published.house)
    assert f'<link rel="canonical" href="{ADDRESS}hot-smoked-char-sides.html">' in head
    found = dict(re.findall(r'<meta property="([^"]+)" content="([^"]*)">', head))
    # The four properties that ogp.me asks of every page.
    assert {"og:title", "og:type", "og:image", "og:url"} <= set(found)
    assert found["og:image"] == f"{ADDRESS}assets/timing/hot-smoked-char-sides.png" and found["og:image:alt"]
    assert json.loads(re.search(r'<script type="application/ld\+json">(.*?)</script>', head)[1])["@type"] == "Recipe"


def test_head_meta_without_an_address(local):
    """Nothing is claimed of an address that is not known, and no other host is named but schema.org's context."""
    heads = [method_meta(page, local.house) for page in local.methods]
    heads += [plain_meta(url_of(path), "Brines", local.house) for path in (*GENERATED, "about.md", "fish/char.md")]
    for head in heads:
        assert "canonical" not in head and "og:url" not in head and "og:image" not in head
        assert set(re.findall(r"https?://[^/\"]+", head)) <= {"https://schema.org"}


def test_head_meta_text_cannot_break_out(published):
    """A title with markup stays text in attributes and cannot end the data block."""
    page = published.pages["hot-smoked-char-sides.md"]
    method = replace(page.report.method, front_matter=replace(page.report.method.front_matter, title='</script><b a="'))
    head = method_meta(replace(page, report=replace(page.report, method=method)), published.house)
    assert head.count("</script>") == 1 and "<b " not in head
    assert json.loads(re.search(r"json\">(.*?)</script>", head)[1])["name"] == '</script><b a="'


@pytest.mark.parametrize(
    ("repository", "address"),
    [
        ("", ""),
        ("javascript:alert(1)", ""),
        ("https://forge.example/loft/edit/methods/", "https://forge.example/loft/edit/methods/fish/my%20char.md"),
        ("https://forge.example/e?file={path}&x=1", "https://forge.example/e?file=fish/my%20char.md&x=1"),
    ],
)
def test_source_address(local, repository, address):
    """The link to a page's source is built from the house's repository, and only from a web address."""
    assert source_address("fish/my char.md", replace(local.house, repository=repository)) == address


def test_source_address_generated_page(published):
    """A page that the generator makes has no source of its own to change."""
    assert source_address("index.md", published.house) == ""


def test_address_faults(local):
    """An address that is not a web address is named with its key."""
    house = replace(local.house, address="ftp://x", repository="javascript:alert(1)")
    assert [fault.key for fault in address_faults(house, "methods")] == ["address", "repository"]
    assert address_faults(local.house, "methods") == []


@pytest.mark.parametrize("name", ["local", "published"])
def test_feed_is_atom(name, request):
    """The feed has what RFC 4287 demands: id, title, updated for feed and entries, an author for each entry."""
    book = request.getfixturevalue(name)
    root = ElementTree.fromstring(feed([card(page) for page in book.methods], book.house))
    entries = root.findall(f"{ATOM}entry")
    assert root.tag == f"{ATOM}feed" and len(entries) == len(book.methods)
    for each in (root, *entries):
        for part in ("id", "title", "updated"):
            assert len(each.findall(f"{ATOM}{part}")) == 1
        datetime.fromisoformat(each.find(f"{ATOM}updated").text.replace("Z", "+00:00"))
        assert re.match(r"https://|urn:uuid:", each.find(f"{ATOM}id").text)
        assert [link for link in each.findall(f"{ATOM}link") if link.get("rel") == "alternate"]
    assert all(each.find(f"{ATOM}author/{ATOM}name").text for each in entries)
    ids = [each.find(f"{ATOM}id").text for each in entries]
    assert len(set(ids)) == len(ids)
    days = [each.find(f"{ATOM}updated").text for each in entries]
    assert days == sorted(days, reverse=True) and root.find(f"{ATOM}updated").text == days[0]


def test_sitemap(published):
    """Every page stands once with its whole address; a method's day is that of its review (sitemaps.org 0.9)."""
    space = "{http://www.sitemaps.org/schemas/sitemap/0.9}"
    pages = [(url_of(path), "") for path in (*GENERATED, "about.md")]
    pages += [(page.url, card(page).reviewed) for page in published.methods]
    root = ElementTree.fromstring(sitemap(pages, published.house))
    places = {each.find(f"{space}loc").text: each.findtext(f"{space}lastmod") for each in root}
    assert root.tag == f"{space}urlset" and len(places) == len(pages)
    assert all(each.startswith(ADDRESS) for each in places)
    page = published.methods[0]
    assert places[ADDRESS + page.url] == page.report.method.front_matter.reviewed.isoformat()


def test_write_sharing_with_and_without_an_address(local, published, tmp_path):
    """Without an address there is no sitemap; the feed is there."""
    entries = [card(page) for page in local.methods]
    write_sharing(entries, [("index.html", "")], published.house, tmp_path)
    assert (tmp_path / "sitemap.xml").is_file()
    (tmp_path / "sitemap.xml.gz").write_bytes(b"")
    write_sharing(entries, [], local.house, tmp_path)
    assert not (tmp_path / "sitemap.xml").exists() and not (tmp_path / "sitemap.xml.gz").exists()
    assert (tmp_path / "feed.xml").is_file()


def test_every_method_has_its_picture(demo_site, demo_book):
    """Each method's timing picture stands in the site."""
    assert len(list(demo_site.glob("assets/timing/*.svg"))) == len(demo_book.methods)


def test_timing_picture(local):
    """The picture is of the size Open Graph readers expect, and its bars are as long as the steps."""
    report = local.pages["pumped-ham.md"].report
    shapes = timing_shapes(report, local.house.kitchen)
    picture = Image.open(BytesIO(png(shapes)))
    assert picture.size == (WIDTH, HEIGHT) == (1200, 630)
    root = ElementTree.fromstring(svg(shapes, "<words>"))
    bars = [
        each for each in root.iter("{http://www.w3.org/2000/svg}rect") if each.get("fill") in ("#0d1b21", "#e4edef")
    ]
    assert len(bars) == len(report.schedule.steps)
    span = max(each.start.typical + each.duration.high for each in report.schedule.steps)
    for bar, step in zip(bars, report.schedule.steps, strict=True):
        wanted = max(step.duration.low / span * 1120, 6)
        assert float(bar.get("width")) == pytest.approx(wanted, abs=0.051)
    assert "style" not in {name for each in root.iter() for name in each.attrib}
