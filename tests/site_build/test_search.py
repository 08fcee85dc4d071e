"""The search index: words, sections, figures, and what stands in the file."""

import json
import re

import pytest

from site_build.outputs.search import INDEX, index_data, index_script, indexed
from site_build.outputs.search_entries import (
    NAME,
    PLACES,
    SearchEntry,
    SearchFigure,
    Section,
    generated_entry,
    method_entry,
    plain_entry,
)
from site_build.outputs.search_words import plain, stem, words_of


@pytest.mark.parametrize(
    "forms",
    [
        ("brine", "brines", "brined", "brining"),
        ("cure", "cures", "cured", "curing"),
        ("smoke", "smoked", "smoking"),
        ("berry", "berries"),
        ("fish", "fishes"),
        ("box", "boxes"),
        ("potato", "potatoes"),
        ("dry", "dried", "drying"),
        ("glaze", "glazes", "glazed", "glazing"),
        ("mussel", "mussels"),
        ("net", "netted", "netting"),
        ("glass", "glasses"),
        ("slice", "slices", "sliced", "slicing"),
        ("rub", "rubbed", "rubbing"),
        ("chop", "chops", "chopped"),
    ],
)
def test_stem_forms_meet(forms):
    """Singular, plural and verb forms of one word have one stem."""
    assert len({stem(word) for word in forms}) == 1


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("herring", "here"),
        ("ham", "hamper"),
        ("salt", "sale"),
        ("citrus", "citron"),
        ("bed", "be"),
        ("gas", "gate"),
    ],
)
def test_stem_other_words_stay_apart(one, other):
    """Words that are not forms of one another keep their own stems."""
    assert stem(one) != stem(other)


def test_words_of_accents_and_signs():
    """Accents, ligatures and case do not matter; figures and single letters are no words."""
    assert words_of("Purée of Smørrebrød, 8 % salt; a “Straße”") == ["puree", "of", "smorrebrod", "salt", "strasse"]
    assert plain("ÅSE") == "ase"


def test_generated_entry_sections():
    """A section is what stands under an id, named by its first heading; navigation and charts are left out."""
    entry = generated_entry(
        "x.html",
        "X",
        '<nav id="n">menu</nav><main><p class="page-summary">In short.</p>'
        '<section id="a"><h2>First</h2><p>one</p><svg id="s"><text>drawn</text></svg></section>'
        '<div id="b"><dt>Second</dt><dd>two</dd></div></main><p id="c">foot</p>',
    )
    assert entry.summary == "In short."
    assert [(each.anchor, each.title, each.text.split()) for each in entry.sections] == [
        ("a", "First", ["one"]),
        ("b", "Second", ["two"]),
    ]


def test_method_entry_block_takes_the_heading(demo_book):
    """A heading over a computed block alone leads to the block, any other heading to itself."""
    page = demo_book.pages["hot-smoked-char-sides.md"]
    entry = method_entry(page, page.author, further=())
    anchors = {each.title: each.anchor for each in entry.sections}
    assert anchors["Day by day"] == "steps" and anchors["The fish"] == "the-fish"


def test_method_entry_figures(demo_book):
    """The figures of an entry are the computed ones of the method."""
    page = demo_book.pages["hot-smoked-char-sides.md"]
    found = {(each.unit, each.shown): each for each in method_entry(page, page.author, further=()).figures}
    strength = page.report.saltings[0].strength.salt_mass_fraction * 100
    brine = next(each for (unit, shown), each in found.items() if "salt in the brine" in shown)
    assert brine.low == brine.high == pytest.approx(strength)
    assert any(unit == "°C" and shown == "core 72 °C (162 °F)" for unit, shown in found)
    assert any(
        unit == "mm" and each.low == pytest.approx(18) and each.high == pytest.approx(22)
        for (unit, _), each in found.items()
    )


def test_plain_entry_title_and_summary(demo_book):
    """A page of plain reading is found by its title and shown with its first words."""
    page = demo_book.pages["about.md"]
    entry = plain_entry(page, page.author)
    assert entry.title == "About the kitchen" and entry.summary.startswith("The Net Loft is a teaching kitchen")


def test_every_anchor_of_the_index_is_on_its_page(demo_site):
    """Each section and figure of the index leads to an id of the finished page, or of the further page that it names."""
    index = read_index(demo_site)
    for url, _, _, _, _, sections, figures in index["entries"]:
        for anchor in {anchor for anchor, _ in sections} | {figure[4] for figure in figures}:
            layer, _, name = anchor.rpartition("#")
            page = demo_site / (url.replace(".html", f".{layer}.html") if layer else url)
            assert not name or f' id="{name}"' in page.read_text("utf-8"), (url, anchor)


def test_index_holds_every_page(demo_site):
    """Every page of the site but the contents, the not-found page and a method's further pages is in the index."""
    pages = {path.relative_to(demo_site).as_posix() for path in demo_site.rglob("*.html")}
    pages = {page for page in pages if not page.endswith((".why.html", ".proof.html"))}
    assert {entry[0] for entry in read_index(demo_site)["entries"]} == pages - {"index.html", "404.html"}


def test_index_data_postings():
    """Postings give back exactly the entries and the weightiest place of each word."""
    data = index_data(
        [*map(indexed, [entry("Ham", "salt ham"), entry("Cod", "ham"), *[entry("Leek", "salt") for _ in range(70)]])]
    )
    words = dict(zip(data["words"].split(" "), data["postings"].split(" "), strict=True))
    text_place = len(PLACES) + 1
    assert unpacked(words["ham"]) == [(0, NAME), (1, text_place)]
    assert unpacked(words["salt"]) == [(0, text_place), *[(number, text_place) for number in range(2, 72)]]


def test_index_data_shows_the_commonest_spelling():
    """Of several spellings of one stem the reader is shown the commonest."""
    data = index_data([indexed(entry("A b", "smoked smoked smoke smoking"))])
    assert "smoked" in data["words"].split(" ") and "smoke" not in data["words"].split(" ")


def test_index_script_is_one_safe_statement():
    """No text of a page can leave the string that the script holds."""
    script = index_script([indexed(entry("</script>'\"\\ \u2028", "x"))])
    assert "\u2028" not in script
    literal = re.fullmatch(r"window\.handbookIndex=JSON\.parse\((.*)\);\n", script)[1]
    assert json.loads(json.loads(literal))["entries"][0][1] == "</script>'\"\\ \u2028"


def entry(title, text):
    """An entry with one section."""
    return SearchEntry(
        url=f"{title}.html",
        title=title,
        kind="kind",
        food="food",
        summary="",
        words=((NAME, title),),
        sections=(Section(anchor="a", title="", text=text),),
        figures=(SearchFigure(unit="%", low=1, high=2, shown="1–2 %", anchor=""),),
    )


def unpacked(text):
    """The postings of a word, read by the printed rule: base 32, the last digit of a number marked."""
    digits = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz-_"
    numbers, value = [], 0
    for sign in text:
        digit = digits.index(sign)
        value = value * 32 + digit % 32
        if digit >= 32:
            numbers.append(value)
            value = 0
    entries, at = [], 0
    for distance, place in zip(numbers[::2], numbers[1::2], strict=True):
        at += distance
        entries.append((at, place))
    return entries


def read_index(site):
    """The index of a finished site."""
    literal = (site / INDEX).read_text("utf-8").removeprefix("window.handbookIndex=JSON.parse(").removesuffix(");\n")
    return json.loads(json.loads(literal))


@pytest.mark.parametrize(
    ("query", "url", "anchor"),
    [
        ("too salty", "hot-smoked-char-sides.html", "why#too-salty"),
        ("char too salty", "hot-smoked-char-sides.html", "why#too-salty"),
        ("brine is off", "hot-smoked-char-sides.html", "why#off"),
        ("30 mm", "hot-smoked-char-sides.html", "why#by-thickness"),
        ("30 millimetres", "hot-smoked-char-sides.html", "why#by-thickness"),
    ],
)
def test_tasks_are_found(tab, demo_site, query, url, anchor):
    """A task in the reader's words leads to the computed part that answers it."""
    found = searched(tab, demo_site, query)
    result = next(each for each in found if each["entry"][0] == url)
    assert anchor in [each["anchor"] for each in result["reasons"]]


def test_a_result_leads_to_the_part_that_answers(tab, demo_site):
    """Words of one part's title lead to that part, a thickness to the times by thickness; a weight alone to every method."""
    parts = [searched(tab, demo_site, query)[0]["part"] for query in ("too salty", "char too salty", "30 mm")]
    assert parts == ["why#too-salty", "why#too-salty", "why#by-thickness"]
    assert searched(tab, demo_site, "char")[0]["part"] == ""
    methods = searched(tab, demo_site, "7.3 kg")
    assert len(methods) > 20 and all(each["entry"][2] != "page" for each in methods)


def test_words_without_meaning_find_nothing(tab, demo_site):
    """Words such as "for" and a weight of food change no result; the weight is the batch that a method opens for."""
    plain = [each["entry"][0] for each in searched(tab, demo_site, "brine fish")]
    assert plain and plain == [each["entry"][0] for each in searched(tab, demo_site, "brine for 3 kg fish")]
    page = tab.open((demo_site / "index.html").as_uri())
    page.fill("#find-field", "char for 3 kg")
    page.wait_for_selector(".find-link")
    assert page.get_attribute(".find-link", "href").endswith("hot-smoked-char-sides.html?batch=3kg")


def searched(tab, site, query):
    """What the search of a site finds, best first."""
    address = (site / "index.html").as_uri()
    page = tab.page if tab.page.url == address else tab.open(address)
    page.fill("#find-field", query)  # what is typed first loads the index
    page.wait_for_selector(".find-result")
    return page.evaluate("query => handbookSearch.find(query)", query)
