"""The words that readers meet: all in the catalogue, each text with the language that it is in."""

import json
import re
from datetime import date, datetime
from html.parser import HTMLParser
from pathlib import Path

import pytest
from babel import Locale
from babel.numbers import get_decimal_symbol
from jinja2 import Environment
from lxml import html

import handbook
import site_build
from handbook.base.wording import Wording
from handbook.folder.kitchen import read_kitchen
from handbook.folder.words_file import read_wording
from handbook.page.salting import USUAL_NAMES
from handbook.safety.findings import RULES
from site_build.base.languages import NEUTRAL, mark_languages
from site_build.base.local_forms import (
    local,
    local_alone,
    local_day,
    local_long_day,
    local_moment,
    local_money,
    local_time,
)
from site_build.base.said_words import BEGIN, END, called, for_script, say, worded
from site_build.build.build_site import Choices, build_site
from site_build.html.overview import glossary
from site_build.outputs.word_list import all_messages, closed_words, missing, standing_texts, template, updated
from tests.building import METHODS
from tests.site_build.browser import ALL_NEAR
from tests.site_build.pseudo_language import CLOSE, LANGUAGE, OPEN, catalogue, copy_of, pseudo, translate

PACKAGE = Path(site_build.__file__).parent
#: Pages with no frame of the site: reports for reviewers, the manual and the cover on paper, which are English and say so.
ENGLISH_TEMPLATES = {"report_page.html", "report_parts.html", "manual.html", "paper.html"}
TEMPLATES = sorted(
    path
    for folder in ("templates", "theme")
    for path in (PACKAGE / folder).rglob("*.html")
    if path.name not in ENGLISH_TEMPLATES
)
SPOKEN = ("aria-label", "title", "alt", "placeholder", "data-label")
HOUSE = (METHODS / "house.yml").read_bytes()
TABLES = {path.name: path.read_bytes() for path in METHODS.glob("*.csv")}


class _Words(HTMLParser):
    """Collects the words of a template that no message says."""

    def __init__(self):
        super().__init__()
        self.found, self._code = [], False

    def handle_starttag(self, tag, attrs):
        self._code = tag in ("script", "style", "code")  # a command is one in every language
        self.found += [value for name, value in attrs if name in SPOKEN and _has_words(value or "")]

    def handle_endtag(self, tag):
        self._code = False

    def handle_data(self, data):
        text = re.sub(r'[\w-]+="[^"]*"', "", data)  # attributes of a macro that stands within a tag
        if not self._code and _has_words(text):
            self.found.append(data.strip())


def _has_words(text: str) -> bool:
    return any(len(word) > 1 and word.isalpha() and word not in NEUTRAL for word in re.findall(r"[^\W\d_]+", text))


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_no_template_holds_a_word_of_its_own(path):
    """Every fixed word of a template is a message of the catalogue."""
    tokens = Environment(extensions=["jinja2.ext.i18n"]).lex(path.read_text("utf-8"))
    words = _Words()
    words.feed(
        "".join(value if kind == "data" else "0" if kind.endswith("_begin") else "" for _, kind, value in tokens)
    )
    assert words.found == []


def test_a_word_of_its_own_would_be_found():
    """The search above finds a word in a text and in a spoken attribute."""
    words = _Words()
    words.feed('<p aria-label="0">0</p><p title="Core">now 3 kg</p>')
    assert words.found == ["Core", "now 3 kg"]


@pytest.fixture(scope="module")
def pseudo_site(tmp_path_factory) -> Path:
    """Three pages of the demo in the pseudo-language."""
    place = tmp_path_factory.mktemp("pseudo")
    folder = copy_of(METHODS, place / "methods", "hot-smoked-char-sides.md", "brined-cucumbers.md", "about.md")
    (folder / "about.md").write_text("# About\n\nOwn words.\n")
    translate(folder)
    build_site(folder, place / "site", Choices(workers=1, shows_progress=False))
    return place / "site"


def _texts(site: Path, wanted=_has_words):
    """(page, language, tag, text) of every ``wanted`` text of the site, with the language that the elements around it say."""
    for page in sorted(site.rglob("*.html")):
        for element in html.parse(page, html.HTMLParser(encoding="utf-8")).getroot().iter():
            if not isinstance(element.tag, str) or element.tag in ("script", "style"):
                continue
            for owner, text in ((element, element.text), *((element, child.tail) for child in element)):
                if text and wanted(text):
                    said = next(each.get("lang") for each in (owner, *owner.iterancestors()) if each.get("lang"))
                    yield page.name, said, owner.tag, " ".join(text.split())


def _every_message() -> set[str]:
    return {each for message in all_messages() for each in (message if isinstance(message, tuple) else (message,))}


#: Whole labels, ends of lists and notes that begin as the middle of a sentence would.
WHOLE_LABELS = {
    "and %(pages)s more", "and %(used)s", "as it should be", "as printed", "as the device", "as written", "by",
    "by %(whom)s", "by kind and food", "by name", "by the formula", "from step %(first)s on",
    "from step %(first)s on; shaded: estimated range", "its page does not say", "made %(salt_mass_fraction)s", "on",
    "or portions", "or what my container holds", "then brought to %(brought)s",
}  # fmt: skip


def test_no_message_is_a_part_of_a_sentence():
    """A translator needs whole sentences and labels: the order of their parts is that of the language."""
    closed = {word.replace("%", "%%") for word in (*closed_words(), *standing_texts())}
    part = re.compile(
        r"[,.;:)]|(?:and|or|is|are|was|that|which|by|on|asks|stands|from|as|of|then|with|means|has|made|its)\b"
    )
    found = {each for each in _every_message() - closed if part.match(each)}
    assert found == WHOLE_LABELS


def test_no_fixed_word_is_missed(pseudo_site):
    """No text that says to be English is a message of the catalogue, whole or as a heading, label or button."""
    # Words of the trade are told by name on other pages too. Beside each limit stand the name of its rule, as the house
    # file says it, and the section of the document, as printed.
    told = {*glossary(), *RULES}
    messages = {each for each in _every_message() if each.casefold() not in map(str.casefold, told)}
    messages = {each.replace("%%", "%").strip(" :").casefold() for each in messages if len(each) > 3}
    missed = {
        (page, tag, text)
        for page, said, tag, text in _texts(pseudo_site)
        if said == "en" and text.strip(" :").casefold() in messages and (page, tag) != ("limits.html", "span")
    }
    assert missed == set()
    fixed = {
        (page, tag, text)
        for page, said, tag, text in _texts(pseudo_site)
        if said == "en" and tag in ("button", "label", "legend", "summary", "h1", "dt", "nav", "option", "figcaption")
    }
    assert fixed == set()


def test_what_says_to_be_translated_is(pseudo_site):
    """Every text in the language of the page is a translation or the author's own."""
    locale = Locale.parse(LANGUAGE)
    own = "".join(path.read_text("utf-8") for path in METHODS.rglob("*.md")) + HOUSE.decode() + "About Own words"
    dates = [
        names for kind in (locale.days, locale.months) for width in kind["format"].values() for names in width.values()
    ]
    known = set(re.findall(r"[^\W\d_]+", f"{own} {' '.join(dates)}".casefold()))
    # A message around elements has texts of its own between them.
    known |= {word for message in _every_message() for word in re.findall(r"[^\W\d_]+", pseudo(message).casefold())}
    for page, said, tag, text in _texts(pseudo_site):
        if said == LANGUAGE:
            rest = re.sub(f"{OPEN}[^{OPEN}{CLOSE}]*{CLOSE}|{OPEN}.*{CLOSE}", "", text)
            words = {
                word for word in re.findall(r"[^\W\d_]+", rest.casefold()) if word.isalpha() and word not in NEUTRAL
            }
            assert words <= known or OPEN in text or CLOSE in text, (page, tag, text)


def test_no_figure_has_a_decimal_point_where_the_language_has_a_comma(pseudo_site):
    """On no page, outside of code, of English that says so, of its author's sentences and of a translator's own figures."""
    sentences = " ".join(" ".join(path.read_text("utf-8").split()) for path in METHODS.glob("*.md"))
    every = " ".join(
        each for message in all_messages() for each in ([message] if isinstance(message, str) else message)
    )
    theirs = set(re.findall(r"\d+\.\d+", every))
    found = [
        (page, tag, text)
        for page, said, tag, text in _texts(pseudo_site, re.compile(r"\d\.\d").search)
        if said == LANGUAGE and tag != "code" and not (text in sentences and len(text.split()) > 3)
    ]
    assert [each for each in found if not set(re.findall(r"\d+\.\d+", each[2])) <= theirs] == []


def test_a_mixture_is_called_in_its_own_language():
    """The author's name is the house's language; the engine's own, untranslated, says in pages and scripts that it is English."""
    wording, _ = read_wording(_po('msgid "cure"\nmsgstr "suola"'), "words.po", "fi")
    with worded(wording):
        assert [called(each) for each in ("cure", "brine", "Kesä")] == [
            f"{BEGIN}suola{END}",
            "brine",
            f"{BEGIN}Kesä{END}",
        ]
        assert for_script(called("brine")) == "\ufdd2brine\ufdd3" and for_script(called("cure")) == f"{BEGIN}suola{END}"
    assert called("brine") == for_script("brine") == "brine"
    assert {*USUAL_NAMES, *map(str.capitalize, USUAL_NAMES)} <= set(closed_words())


def test_no_frame_leaves_the_generator(pseudo_site):
    """The characters that frame translations stand in no file."""
    for path in pseudo_site.rglob("*"):
        if path.is_file() and path.suffix in (".html", ".js", ".json", ".ics", ".xml", ".svg", ".css", ".webmanifest"):
            text = path.read_text("utf-8")
            assert BEGIN not in text and END not in text, path.name


def test_figures_have_the_decimal_sign_of_the_language(pseudo_site):
    """Masses of the pages and those that the scripts draw; the sign is that of the Unicode locale data."""
    sign = get_decimal_symbol(LANGUAGE)
    page = (pseudo_site / "hot-smoked-char-sides.html").read_text("utf-8")
    masses = re.findall(r'class="mass">([^<]*)<', page)
    assert sign == "," and "3,80 kg" in masses and not any("." in mass for mass in masses)
    script = (pseudo_site / "assets" / "first.js").read_text("utf-8")
    shipped = json.loads(re.match(r"window\.handbookWords=(.*);\n", script)[1])
    assert shipped["decimal"] == sign and shipped["messages"]["In the %(vessel)s"] == pseudo("In the %(vessel)s")


def test_a_message_without_translation_says_that_it_is_english(tmp_path):
    """``lang`` never lies: what the catalogue leaves out is marked as English."""
    folder = copy_of(METHODS, tmp_path / "methods", "about.md")
    (folder / "about.md").write_text("# About\n\nOwn words.\n")
    translate(folder, "Find")
    build_site(folder, tmp_path / "site", Choices(workers=1, shows_progress=False))
    text = (tmp_path / "site" / "about.html").read_text("utf-8")
    assert f'<html lang="{LANGUAGE}">' in text and '<label for="find-field" lang="en">Find</label>' in text


#: Messages of scripts, one of each kind of place: a line of text, a table's head, an option, an attribute, with values.
UNTRANSLATED = (
    "Write a number above 0 in kg, g, lb or oz, such as 2.5 kg; for thousands no comma.",
    "Begin %(moment)s.",
    "Ready %(finish)s: begin %(start)s.",
    "a new run",
    "Step %(number)s of %(all)s",
    "less than half of one",
    "In the %(vessel)s",
    "brine",
    "fridge",
)


def test_what_a_script_says_untranslated_is_english(tmp_path, tab):
    """The same for the words that scripts put into a page: each says that it is English, and no frame is seen."""
    folder = copy_of(METHODS, tmp_path / "methods", "hot-smoked-char-sides.md", "about.md")
    (folder / "about.md").write_text("# About\n\nOwn words.\n")
    translate(folder, *UNTRANSLATED)
    build_site(folder, tmp_path / "site", Choices(workers=1, shows_progress=False))
    page = tab.open((tmp_path / "site" / "hot-smoked-char-sides.html").as_uri())
    page.click("#batch summary")
    page.fill("#batch-weight", "2,5")
    page.fill("#ready-by", "2026-11-21T18:00")
    page.fill("#batch-portions", "none")
    page.fill("#batch-weight", "none")
    for place, words in (
        ("#batch-weight-note", UNTRANSLATED[0]),
        ("[data-when] >> nth=0", "Begin "),
        ("[data-vessel] >> nth=0", "In the "),
    ):
        assert page.locator(place).inner_text().startswith(words), place
        assert page.locator(f"{place} >> [lang=en] >> nth=0").inner_text().startswith(words.strip()), place
    assert page.locator("[data-vessel] b").count() >= 1
    # Names in translated sentences: the data of the page say that they are English.
    page.fill("#batch-weight", "2,5")
    page.wait_for_selector("#batch-status:not(:empty)", state="attached")
    assert page.inner_text("#batch-status").startswith(OPEN)
    assert page.locator("#batch-status [lang=en]").all_inner_texts() == ["brine"]
    assert page.locator(".work-facts [lang=en]", has_text="fridge").count() >= 1
    assert not re.search("[\ufdd0-\ufdef]", page.inner_text("body"))
    assert tab.wrong == []


# ---- The marks of languages


@pytest.mark.parametrize(
    ("text", "marked"),
    [
        ("<p>Salt</p>", '<p lang="en">Salt</p>'),
        (f"<p>{BEGIN}Suola{END}</p>", "<p>Suola</p>"),
        (f"<p>{BEGIN}Suola{END}: salt, fine sea</p>", '<p>Suola<span lang="en">: salt, fine sea</span></p>'),
        (f"<p>{BEGIN}Ota {END}salt{BEGIN} nyt{END}</p>", '<p>Ota <span lang="en">salt</span> nyt</p>'),
        ("<p>2 kg, 3 °C, ½ L</p>", "<p>2 kg, 3 °C, ½ L</p>"),
        ("<p>Lay the fish</p>", "<p>Lay the fish</p>"),
        ("<th>2. Lay the fish</th>", "<th>2. Lay the fish</th>"),
        ('<p lang="fr">Saler</p>', '<p lang="fr">Saler</p>'),
        ('<input placeholder="Search">', '<input placeholder="Search" lang="en">'),
        (
            f'<section aria-label="Chart"><b>{BEGIN}Suola{END}</b></section>',
            '<section aria-label="Chart" lang="en"><b lang="fi">Suola</b></section>',
        ),
        (f"<svg><text>{BEGIN}nyt{END} now</text></svg>", '<svg><text>nyt <tspan lang="en">now</tspan></text></svg>'),
        (f"<script>{BEGIN}x{END}</script><!--cost-->", "<script>x</script><!--cost-->"),
        (f"<div>{BEGIN}<p>Oma <b>sana</b></p>{END}</div>", "<div><p>Oma <b>sana</b></p></div>"),
    ],
)
def test_every_text_gets_its_language(text, marked):
    """Translations and the author's words are the page's language, all other words English, figures neither."""
    wording, _ = read_wording(b"", "words.po", "fi")
    with worded(wording):
        assert mark_languages(text, ["Lay the fish."]) == marked


# ---- A catalogue is data


_COUNTED = 'msgid "%(num)s limit"\nmsgid_plural "%(num)s limits"\n'


def _po(row: str, head: str = "") -> bytes:
    return f'msgid ""\nmsgstr ""\n"Language: fi\\n"\n{head}\n{row}'.encode()


@pytest.mark.parametrize(
    ("data", "fault"),
    [
        (_po('msgid "Salt"\nmsgstr "<b>Suola</b>"'), 'words.po:5: msgstr: read "<b>Suola</b>"; allowed: plain words'),
        (_po('msgid "%(mass)s salt"\nmsgstr "suolaa"'), "allowed: the placeholders of its message: %(mass)s"),
        (_po('msgid "Salt"\nmsgstr "%(mass)s"'), "allowed: the placeholders of its message: no placeholder"),
        (_po('msgid "60 %%"\nmsgstr "60 %"'), "allowed: %% for a percent sign"),
        (_po('msgid "Salt"\nmsgstr "%s"'), "allowed: %% for a percent sign"),
        (_po('msgid "Salt"\nmsgstr "Su\\nola"'), "allowed: one line without control characters"),
        (_po(f'msgid "Salt"\nmsgstr "{"s" * 2001}"'), 'read "2001 characters"; allowed: at most 2000'),
        (_po('msgid "Salt'), "words.po:5: catalogue: read"),
        (_po("Salt"), "words.po:5: catalogue: read"),
        (b"\xff\xfe", "words.po:1: file: read no UTF-8 text"),
        (b"x" * 400_001, 'words.po:1: file: read "400001 bytes"'),
        (_po("", "\"Plural-Forms: nplurals=2; plural=__import__('os');\\n\""), "words.po:4: Plural-Forms: read"),
        (b'msgid ""\nmsgstr ""\n"Language: sv\\n"\n', 'words.po:3: Language: read "sv"; allowed: fi'),
        (b'msgid ""\nmsgstr "Language: sv\\n"\n', 'words.po:2: Language: read "sv"; allowed: fi'),
        (_po("", '"Plural-Forms: nplurals=2; plural=1/n;\\n"'), "words.po:4: Plural-Forms: read"),
        (_po("", '"Plural-Forms: nplurals=2; plural=1%(n-7);\\n"'), "words.po:4: Plural-Forms: read"),
        (
            _po(f'{_COUNTED}msgstr[0] "%(num)s"', '"Plural-Forms: nplurals=2000000000; plural=0;\\n"'),
            "Plural-Forms: read",
        ),
        (_po(_COUNTED.replace("limits", "%(evil)s") + 'msgstr[0] "%(num)s %(evil)s"'), "of its message: %(num)s"),
        (
            _po('msgid "Salt"\nmsgstr "A"\n\nmsgid "Salt"\nmsgstr "B"'),
            'words.po:8: msgid: read "Salt"; allowed: each message once',
        ),
        (_po('msgctxt "x"\nmsgid "Salt"\nmsgstr "B"'), 'words.po:6: msgctxt: read "x"; allowed: no context'),
        (_po('msgid "Salt"\nmsgstr " "'), "read nothing that can be seen; allowed: words that can be read"),
        (_po('msgid "Salt"\nmsgstr "\u200b\U000e0041\u3164"'), "read nothing that can be seen"),
        (_po(f'msgid "%(mass)s salt"\nmsgstr "{"%(mass)s" * 4}"'), "allowed: each placeholder at most 3 times"),
    ],
)
def test_a_fault_of_the_catalogue_is_one_line(data, fault):
    """Each fault names its line; none of it reaches a page."""
    wording, faults = read_wording(data, "words.po", "fi")
    assert len(faults) == 1 and fault in str(faults[0]), [str(each) for each in faults]
    assert not wording.messages and "\n" not in str(faults[0])


def test_a_faulty_catalogue_stops_the_house_data():
    """A build tells the faults of the catalogue with those of the house file."""
    _, faults = read_kitchen("methods", {**TABLES, "house.yml": HOUSE, "words.po": _po('msgid "Salt"\nmsgstr "<"')})
    assert [each.file for each in faults] == ["methods/words.po", "methods/words.po"]  # its language, its markup


@pytest.mark.parametrize("tag", ["klingon", "e", "en_GB", "../fi", "qq"])
def test_a_language_without_locale_data_is_a_fault(tag):
    """The house file names a language that dates and numbers have forms for."""
    _, faults = read_kitchen("methods", {**TABLES, "house.yml": HOUSE + f"\nlanguage: {tag}\n".encode()})
    assert [each.key for each in faults] == ["language"]


def test_the_template_of_messages_round_trips():
    """What is extracted can be read back; a new message is added empty and a translation stays."""
    assert 'msgid "Weight of food"\nmsgstr ""' in template(LANGUAGE)
    head = template(LANGUAGE).split("\n\n")[0]
    assert f"Project-Id-Version: cook-method-handbook {handbook.__version__}" in head
    assert not re.search("EMAIL|ADDRESS|AUTHOR|LL@|ORGANIZATION|Date", head)
    old = template(LANGUAGE).replace('msgid "Find"\nmsgstr ""', 'msgid "Find"\nmsgstr "Trovu"')
    old = old.replace('msgid "Sources"\nmsgstr ""\n', "")
    old = old.replace('"Language:', '"Last-Translator: Ilse\\n"\n"Language:', 1)
    new = updated(old, LANGUAGE)
    assert '"Last-Translator: Ilse\\n"' in new  # whoever translates may sign
    assert 'msgid "Find"\nmsgstr "Trovu"' in new and 'msgid "Sources"\nmsgstr ""' in new
    wording, faults = read_wording(new.encode(), "words.po", LANGUAGE)
    assert not faults and "Find" not in missing(wording) and "Sources" in missing(wording)


def test_words_said_later_are_messages():
    """Closed lists and standing texts are in the list of messages with their percent signs doubled."""
    known = set(all_messages())
    for word in (*closed_words(), *standing_texts()):
        assert word.replace("%", "%%") in known


# ---- Numbers, dates, money. The expected forms are those of CLDR 48, as other software with it writes them (from memory).


@pytest.mark.parametrize(
    ("language", "figure", "day", "long_day", "money"),
    [
        ("en", "2.5 kg", "Sat 21 Nov 2026", "Saturday 21 Nov 2026", "1.90 EUR"),
        ("en-GB", "2.5 kg", "Sat, 21 Nov 2026", "Saturday, 21 November 2026", "€1.90"),
        ("en-US", "2.5 kg", "Sat, Nov 21, 2026", "Saturday, November 21, 2026", "€1.90"),
        ("de", "2,5 kg", "Sa., 21. Nov. 2026", "Samstag, 21. November 2026", "1,90\xa0€"),
        ("fi", "2,5 kg", "la 21.11.2026", "lauantai 21. marraskuuta 2026", "1,90\xa0€"),
    ],
)
def test_the_locale_writes_numbers_dates_and_money(language, figure, day, long_day, money):
    """Decimal sign, order of a date, place of the currency."""
    wording, _ = read_wording(None, "words.po", language)
    saturday = date(2026, 11, 21)
    with worded(wording):
        found = [local("2.5 kg"), local_day(saturday), local_long_day(saturday), local_money(1.9, "EUR")]
        assert [re.sub(f"[{BEGIN}{END}]", "", each) for each in found] == [figure, day, long_day, money]


def test_every_language_writes_days_and_moments():
    """Each language of the locale data: most have no form of their own for a day with its time."""
    from babel.localedata import locale_identifiers

    at, bare = datetime(2026, 11, 21, 18, 5), []
    for language in (each.replace("_", "-") for each in locale_identifiers()):
        with worded(Wording(language=language)):
            said = [
                local_day(at.date()),
                local_long_day(at.date()),
                local_time(at),
                local_moment(at),
                local_money(1.9, "EUR"),
            ]
            bare += [(language, each) for each in said if not re.sub(f"[{BEGIN}{END}]", "", each).strip()]
    assert bare == []


def test_a_language_from_right_to_left(tmp_path, tab):
    """The page says its direction, is mirrored, and does not run over a phone's edge; what is English keeps its own."""
    folder = copy_of(METHODS, tmp_path / "methods", "brined-cucumbers.md", "about.md")
    (folder / "about.md").write_text("# About\n\nOwn words.\n")
    translate(folder, "Find", language="he")
    build_site(folder, tmp_path / "site", Choices(workers=1, shows_progress=False))
    page = tab.open((tmp_path / "site" / "brined-cucumbers.html").as_uri(), width=390, height=800)
    page.evaluate(ALL_NEAR)
    assert page.evaluate("document.documentElement.dir") == "rtl"
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    box = page.locator(".standing").bounding_box()
    border = page.evaluate("(([left, right]) => [left, right])([...['left', 'right']].map(s => "
                           "parseFloat(getComputedStyle(document.querySelector('.standing'))[`border-${s}-width`])))")  # fmt: skip
    assert border[1] > border[0] and box["x"] >= 0
    assert page.evaluate("getComputedStyle(document.querySelector('label[for=find-field]')).direction") == "ltr"


def test_a_figure_with_words_is_an_english_sentence():
    """What stands alone has the sign of the language; a sentence of the engine keeps its points."""
    with worded(Wording(language="fi")):
        assert local_alone("3.0 °C (37.4 °F)") == "3,0 °C (37,4 °F)"
        assert local_alone("at most 3.0 °C, as stated") == "at most 3.0 °C, as stated"


def test_a_plural_follows_the_rule_of_the_language():
    """Three forms of a count, by the rule of the catalogue's own head (Polish, from the gettext manual)."""
    rule = "nplurals=3; plural=(n==1 ? 0 : n%10>=2 && n%10<=4 && (n%100<10 || n%100>=20) ? 1 : 2);"
    row = 'msgid "%(num)s limit"\nmsgid_plural "%(num)s limits"\n' + "".join(
        f'msgstr[{n}] "%(num)s {w}"\n' for n, w in enumerate(("limit", "limity", "limitów"))
    )
    data = f'msgid ""\nmsgstr ""\n"Language: pl\\n"\n"Plural-Forms: {rule}\\n"\n\n{row}'.encode()
    wording, faults = read_wording(data, "words.po", "pl")
    assert not faults
    assert [wording.counted("%(num)s limit", n) for n in (1, 3, 5)] == [
        "%(num)s limit",
        "%(num)s limity",
        "%(num)s limitów",
    ]


def test_a_value_never_enters_a_message_as_a_format():
    """A percent sign in a value stays as it is."""
    assert say("%(mass)s salt", mass="5 % (s)") == "5 % (s) salt"
    assert pseudo("60 %% of %(mass)s").endswith(f"%(mass)s{CLOSE}") and "Find" in catalogue()


# ---- Scripts


def test_scripts_speak_the_language(pseudo_site, tab):
    """What a script draws is translated, with the decimal sign of the language; a comma is read as one."""
    page = tab.open((pseudo_site / "hot-smoked-char-sides.html").as_uri())
    page.click("#batch summary")
    page.fill("#batch-weight", "2,5")
    page.fill("#piece-thickness", "40")
    page.fill("#ready-by", "2026-11-21T18:00")
    assert page.inner_text("#brine .mass >> nth=0") == "3,17 kg"
    said = page.inner_text("[data-piece-said]")
    assert said.startswith(OPEN) and CLOSE in said and "40 mm" in said
    assert OPEN in page.inner_text("[data-said-ready]") and OPEN in page.inner_text("[data-when] >> nth=0")
    page.wait_for_timeout(700)  # the live words wait until the typing stops
    assert page.inner_text("#batch-status").startswith(OPEN)
    page.fill("#batch-weight", "none")
    assert page.inner_text("#batch-weight-note").startswith(OPEN)
    page.fill("#find-field", "brine")
    page.wait_for_selector(".find-result")
    assert OPEN in page.inner_text(".find-count")
    page.goto((pseudo_site / "side-by-side.html").as_uri())
    assert page.inner_text("[data-side-by-side-table] thead th >> nth=0") == pseudo("Figure")
    assert page.get_attribute("[data-side-by-side-table] td span", "lang") == "en"
    assert tab.wrong == []
