"""Every limit of what is read: what passes it is one clear line, and what an unusual page holds is read all the same."""

import os
import zlib

import pytest
from click.testing import CliRunner
from PIL import Image

from handbook.base.errors import CONTROLS, FaultsError, PageError, UnforeseenError, printable
from handbook.folder import read_page as reading
from handbook.folder.file_names import name_faults
from handbook.folder.house_tables import house_tables
from handbook.folder.page_text import split_page
from site_build.cli.main import main
from site_build.reading.author_html import author_html
from site_build.reading.book import GENERATED
from site_build.reading.clean import clean_html
from site_build.reading.pictures import picture_faults, write_picture
from tests.growing import with_steps
from tests.hostile_pages import METHODS, SMALL, UNUSUAL
from tests.one_page import OnePage
from tests.site_build.harmless import harm
from tests.whole_book import read_book

PAGE = OnePage()
GOOD = SMALL.format(kind="cook", shape="slab", salting="immersion", more="name: brine", stage="cook")
STEP = "- {do: Wait, stage: prepare, time: 5 min}\n"
BAKE = "- {do: Bake, stage: cook, until: core, place: oven, chamber: 120 °C, core: 63 °C}\n"
REST = "- {do: Rest, stage: rest, time: 15 min, place: fridge}\n"


def in_prose(words: str) -> str:
    return GOOD + "\n" + words + "\n"


def faults_of(page: str | bytes) -> list[str]:
    data = page if isinstance(page, bytes) else page.encode("utf-8", "surrogatepass")
    return [str(each) for each in PAGE.read(data)[2]]


def test_the_good_page_is_good():
    """The page that the cases change reads without a fault."""
    assert faults_of(GOOD) == []


# What is done to the good page, and how the line begins after the file's name.
PASSED = [
    ("page too long", GOOD + "x" * 400_000, '1: file: read "400'),
    ("no text", GOOD.encode() + b"\xff", "43: file: read no UTF-8 text"),
    ("control character", GOOD + "a\x1b[31m", '43: file: read "the character U+001B"'),
    ("order turned", GOOD + "2 \u202e% 02\u202c", '43: file: read "the character U+202E"'),
    ("line separator", GOOD + "a\u2028b", '43: file: read "the character U+2028"'),
    ("order turned by an escape", GOOD.replace("summary: Short.", r'summary: "\u202eA"'), "5: summary: read"),
    ("too many steps", with_steps(STEP * 301), '29: steps: read a list of 301; allowed: a list of 1 to 300'),
    ("too many salt steps", with_steps("- {do: Salt, stage: salt, time: 1 h}\n" + REST * 100), '129: steps: read "101 steps"'),
    ("too many computed steps", with_steps(BAKE * 41), '69: steps.41.until: read "core"; allowed: at most 40'),
    ("too many repeats", GOOD.replace("every: 10 min", "every: 4 s"), '32: steps.4.repeat.every: read "4 s"; allowed: at most 500'),
    ("glaze in every second of a computed step",
     GOOD.replace("every: 10 min", "every: 1 min").replace("time: 35 min", "until: core"), "32: steps.4.repeat.every: read"),
    ("too many blocks", GOOD + "```glaze\nname: a\n```\n" * 30, '86: block: read "36 blocks"; allowed: at most 20'),
    ("too many ingredients", GOOD.replace('  - {item: "salt', '  - {item: "water, tap", amount: 2 L}\n' * 59 + '  - {item: "salt'),
     "20: salting.ingredients: read a list of 61; allowed: a list of 1 to 60"),
    ("too many batches", GOOD.replace("written_for: 2 kg", f"written_for: 2 kg\nshow: [{', '.join(['1 kg'] * 13)}]"),
     "37: batches.show: read a list of 13; allowed: a list of 1 to 12"),
    ("zero batches", GOOD.replace("written_for: 2 kg", "written_for: 2 kg\nshow: []"), "37: batches.show: read a list of 0"),
    ("a batch of nothing", GOOD.replace("written_for: 2 kg", "written_for: 0 kg"), '36: batches.written_for: read "0 kg"'),
    ("long value", GOOD.replace("summary: Short.", "summary: " + "a" * 5000), '5: front matter: read "a text of 5000 characters"'),
    ("thin as paper", GOOD.replace("20-25 mm", "0.1 mm"), '12: pieces.thickness: read "0.1 mm"; allowed: a length of 0.5 mm to 1 m'),
    ("block thinner than thick", GOOD.replace("slab", "block").replace("width: 40 mm", "width: 5 mm"),
     '11: pieces.width: read "5 mm"; allowed: at least the thickness'),
    ("a share of no water", GOOD.replace("amount: 1/2 cup", "amount: 5 % of water"),
     '26: glaze.ingredients.1.amount: read "5 % of water"; allowed: a share of food'),
    ("water to target", GOOD.replace("amount: 2 L", "amount: to target").replace("kind: immersion", "kind: immersion\ntarget_salt: 2 % of all"),
     '21: salting.ingredients.1.amount: read "to target"; allowed: an amount: only salt'),
    ("glaze to target", GOOD.replace("amount: 1/2 cup", "amount: to target"),
     '26: glaze.ingredients.1.amount: read "to target"; allowed: an amount: only salt'),
    ("core where nothing heats", GOOD.replace("{do: Rinse, stage: rinse, time: 5 min}", "{do: Rinse, stage: rinse, until: core}"),
     "30: steps.2.until: read"),
    ("open brackets", in_prose("[](" * 101), '44: text: read "more than 100 open brackets"'),
    ("long line", in_prose("word " * 1100), '44: text: read "a line of 5500 characters"'),
    ("long prose", in_prose("a word\n\n" * 8000), '15043: text: read "more than 60000 characters"'),
    ("quotes in quotes", in_prose("> " * 9 + "a"), '44: text: read "> > >'),
    ("lists in lists", in_prose("1. " * 9 + "a"), '44: text: read "1. 1.'),
    ("far to the right", in_prose(" " * 81 + "a"), '44: text: read "a line far to the right"'),
    ("headings", in_prose("# a\n" * 301), '344: text: read "more than 300 headings"'),
    ("signs in a paragraph", in_prose("*a *b\n" * 1501), '1544: text: read "more than 3000 signs"'),
    ("unsafe link", in_prose("[a](javascript:alert)"), '44: link: read "javascript:alert"'),
    ("link to a file of the system", in_prose("[a](file:///etc/passwd)"), '44: link: read "file:///etc/passwd"'),
    ("link up", in_prose("[a](../../etc/passwd)"), '44: link: read "../../etc/passwd"'),
    ("link by drive", in_prose("[a](c:\\secret)"), "44: link: read"),
    ("link to no address", in_prose("[a](<http://[>)"), '44: link: read "http://["'),
    ("more than faults", with_steps("- {x: y, z: w}\n" * 300), '79: file: read "more than 200 faults"'),
]  # fmt: skip


@pytest.mark.parametrize(("page", "line"), [row[1:] for row in PASSED], ids=[row[0] for row in PASSED])
def test_limit_is_one_line(page, line):
    """What passes a limit is told with the line it stands on; nothing else is thrown."""
    found = faults_of(page)
    assert any(each.startswith(f"methods/page.md:{line}") for each in found), found[:5]
    assert not any(CONTROLS.search(each) or len(each) > 1500 for each in found)


def test_plain_page_has_a_title_at_most():
    """A page of plain reading cannot choose a template or anything else of the generator by its front matter."""
    assert faults_of("---\ntitle: About us\n---\n# About us\n") == []
    assert faults_of("---\ntemplate: other.html\n---\nWords.\n") == [
        'methods/page.md:2: template: read "template"; allowed: title'
    ]
    assert faults_of("---\na: &a [*a, *a]\n---\nWords.\n")[0].startswith(
        'methods/page.md:2: front matter: read "an anchor'
    )


def test_faults_are_no_more_than_can_be_read():
    """A page of ten thousand mistakes is 200 lines and one that says so."""
    assert len(faults_of(with_steps("- {x: y, z: w}\n" * 300))) == 201


def test_fault_line_steers_no_terminal():
    """Keys, values and file names come out on one line without control characters, cut to length."""
    fault = PageError("a\x1b.md", 3, "key\n\x07" + "k" * 200, "\x9b31m\nread", "this")
    assert str(fault) == "a\ufffd.md:3: key \ufffd" + "k" * 72 + '...: read "\ufffd31m read"; allowed: this'
    assert printable("a" * 100) == "a" * 77 + "..."


def test_unforeseen_error_is_told_and_fails(monkeypatch):
    """An error of the program in one page is one line of that page, with its cause kept for whoever looks for it."""

    def stumble(*_):
        raise ZeroDivisionError("division by zero")

    monkeypatch.setattr(reading, "house_report", stumble)
    found = reading.read_page(PAGE.source(GOOD.encode()), PAGE.kitchen)
    (fault,) = found.faults
    assert isinstance(fault, UnforeseenError) and isinstance(fault.__cause__, ZeroDivisionError)
    assert str(fault).startswith(
        "methods/page.md:1: page: read no figures: ZeroDivisionError: division by zero; allowed:"
    )


# Markdown that takes Python-Markdown minutes, or its whole stack, when nobody stops it.
SLOW_MARKDOWN = (
    "[",
    "[](",
    "[a](<",
    "![a][",
    "<a ",
    "<![CDATA[",
    "<http://",
    "1. ",
    '"',
    "`a",
    "*a",
    "_a_ ",
    "| ",
    "\\",
)


@pytest.mark.parametrize("sign", SLOW_MARKDOWN)
def test_prose_that_chokes_markdown_is_refused(sign):
    """A page of nothing but such signs never reaches Markdown."""
    assert any(": text: " in each for each in faults_of(in_prose(sign * (50_000 // len(sign)))))


@pytest.mark.parametrize("sign", SLOW_MARKDOWN)
def test_prose_within_the_limits_is_rendered(sign):
    """A little of the same is what authors write: it is read, and rendered without harm."""
    page = in_prose("a " + sign * 6 + " b")
    assert not any(": text: " in each for each in faults_of(page))
    words, _ = author_html(split_page(page, "page.md")[0], "page.md", "page.md")
    assert harm("".join(words.shown)) == []


DIRTY = [
    ("<script>alert(1)</script>a", "a"),
    ("<b onclick=alert(1) style='x'>a</b>", "<b>a</b>"),
    ("<a href=javascript:alert(1)>a</a>", "<a>a</a>"),
    ("<a href='jAvA\tscript:alert(1)'>a</a>", "<a>a</a>"),
    ("<a href='data:text/html,x'>a</a>", "<a>a</a>"),
    ("<img src=x onerror=alert(1)>", '<img src="x">'),
    ("<svg><script>alert(1)</script></svg>a", "a"),
    ("<math><mi xlink:href='javascript:x'>a</mi></math>b", "b"),
    ("<style>*{color:red}</style>a", "a"),
    ("<iframe src=x></iframe><object data=x></object><embed src=x>a", "a"),
    ("<form action=x><input name=y></form>a", "a"),
    ("<base href=x><meta http-equiv=refresh content=0><link rel=stylesheet href=x>a", "a"),
    ("<!-- <script>x</script> -->a", "a"),
    ("<p title='\"><script>x</script>'>a</p>", '<p title="&quot;&gt;&lt;script&gt;x&lt;/script&gt;">a</p>'),
]


@pytest.mark.parametrize(("html", "clean"), DIRTY)
def test_clean_html(html, clean):
    """What is not on the list goes, the words stay; a browser finds nothing to run in what is left."""
    assert clean_html(html) == clean and harm(clean_html(html)) == []


@pytest.mark.parametrize(
    "html",
    ["<p onclick=x>", "<p style=x>", "<script>x</script>", "<script src='//x/assets/a.js'></script>", "<iframe>",
     "<a href=' javascript:x'>", "<svg><a xlink:href='javascript:x'/></svg>", "<form action=x>", "<style>x</style>",
     "<meta http-equiv=refresh content=0>", "<base href=x>", "<p srcdoc=x>"],
)  # fmt: skip
def test_harm_is_seen(html):
    """The check that the built pages pass is one that can fail."""
    assert harm(html)


NAMES = [
    (["a.html"], 'a.html:1: file: read ".html"'),
    (["drawing.svg"], 'drawing.svg:1: file: read ".svg"'),
    (["a.js"], 'a.js:1: file: read ".js"'),
    (["program"], "program:1: file: read no ending; allowed: pages (.md), pictures"),
    (["A.MD"], 'A.MD:1: file: read ".MD"'),
    (["char.md", "Char.md"], 'char.md:1: file: read "char.md"; allowed: a name that differs from Char.md'),
    (["fish/a.md", "Fish/b.md"], 'fish/a.md:1: file: read "fish"; allowed: a name that differs from Fish'),
    (["\u00e9.md", "e\u0301.md"], '\u00e9.md:1: file: read "\u00e9.md"; allowed: a name that differs'),
    (["Index.md"], 'Index.md:1: file: read "Index.md"; allowed: a name that differs from index.md'),
    (["fish/README.md"], "fish/README.md:1: file: read"),
    (["404.md"], "404.md:1: file: read"),
    (["assets/x.png"], "assets/x.png:1: file: read"),
    (["con.md"], 'con.md:1: file: read "con.md"; allowed: another name: Windows'),
    (["a:b.md"], 'a:b.md:1: file: read "a:b.md"; allowed: a name without'),
    (["a\\b.md"], "a\\b.md:1: file: read"),
    (["a .x/b.md", "b./c.md"], "b./c.md:1: file: read"),
    (["x" * 120 + ".md"], "x" * 69 + "...:1: file: read"),
    (["a\x1b.md"], "a\ufffd.md:1: file: read"),
    ([os.fsdecode(b"\xff.md")], "\ufffd.md:1: file: read"),
]


@pytest.mark.parametrize(("paths", "line"), NAMES, ids=[ascii(row[0])[:30] for row in NAMES])
def test_name_faults(paths, line):
    """Names that another system cannot hold or takes for one, and kinds of file that can carry script, are told."""
    found = [str(each) for each in name_faults("methods", paths, GENERATED)]
    assert len(found) == 1 and found[0].startswith(f"methods/{line}"), found


def test_names_of_the_world_are_names():
    """Letters of any script, blanks, CNAME for a forge's hosting: all welcome."""
    assert (
        name_faults("methods", ["白身魚.md", "דג.md", "my fish.md", "fish/ä.JPG", "CNAME", "note.txt"], GENERATED) == []
    )


@pytest.fixture
def folder(tmp_path):
    """A methods folder with a house file and the good page."""
    made = tmp_path / "methods"
    made.mkdir()
    for name in ("house.yml", "foods.csv"):
        (made / name).write_bytes((METHODS / name).read_bytes())
    (made / "page.md").write_text(GOOD, "utf-8")
    return made


def folder_faults(folder) -> list[str]:
    try:
        read_book(folder)
    except FaultsError as error:
        return str(error).splitlines()
    return []


@pytest.mark.parametrize("name", ["secret.md", "house.yml", "foods.csv", "secrets"])
def test_links_out_of_the_folder_are_refused(folder, name):
    """A link to a file or folder is one line, and nothing of what it leads to is told."""
    outside = folder.parent / "outside"
    outside.mkdir()
    (outside / "text").write_text("the secret: here\n", "utf-8")
    (folder / name).unlink(missing_ok=True)
    (folder / name).symlink_to(outside if name == "secrets" else outside / "text")
    found = folder_faults(folder)
    assert any(
        each.startswith(f'methods/{name}:1: file: read "a link"; allowed: the file or folder itself') for each in found
    ), found
    assert not any("the secret" in each for each in found)


def test_pipes_and_loops_are_refused(folder):
    """What is no file is not waited for; a folder inside itself is not walked for ever."""
    os.mkfifo(folder / "pipe.md")
    (folder / "loop").symlink_to(folder)
    found = folder_faults(folder)
    assert any(each.startswith("methods/pipe.md:1: file: read") for each in found), found
    assert any(each.startswith('methods/loop:1: file: read "a link"') for each in found), found


def png(width: int, height: int, *more: bytes) -> bytes:
    """A PNG of the stated size whose data breaks off at once (PNG 1.2: chunks of length, type, data, CRC)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return len(data).to_bytes(4, "big") + kind + data + zlib.crc32(kind + data).to_bytes(4, "big")

    head = width.to_bytes(4, "big") + height.to_bytes(4, "big") + b"\x08\x02\x00\x00\x00"
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + b"".join(more) + chunk(b"IDAT", zlib.compress(b"\0" * 100))


def test_pictures_that_are_bombs(tmp_path):
    """A small file of a huge picture, another format under a picture's name, and no picture at all are told."""
    made = tmp_path / "methods"
    made.mkdir()
    (made / "bomb.png").write_bytes(png(60_000, 60_000))
    Image.new("1", (8_000, 8_000)).save(made / "large.png")
    Image.new("RGB", (10, 10)).save(made / "really.tiff")
    (made / "really.tiff").rename(made / "tiff.png")
    (made / "script.jpg").write_text("%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n")
    (made / "page.gif").write_text("<script>alert(1)</script>")
    names = ["bomb.png", "large.png", "tiff.png", "script.jpg", "page.gif"]
    found = [str(each).partition("; allowed")[0] for each in picture_faults(made, names)]
    assert found == [
        "methods/bomb.png:1: picture: read no picture",
        'methods/large.png:1: picture: read "8000 × 8000 pixels"',
        "methods/tiff.png:1: picture: read no picture",
        "methods/script.jpg:1: picture: read no picture",
        "methods/page.gif:1: picture: read no picture",
    ]


def test_picture_that_breaks_off(folder):
    """A picture whose head is whole and whose end is missing stops the build with its name; no site is written."""
    Image.effect_noise((500, 500), 60).convert("RGB").save(folder / "half.jpg")
    (folder / "half.jpg").write_bytes((folder / "half.jpg").read_bytes()[:5000])
    with pytest.raises(PageError, match=r'half.jpg:1: picture: read "a broken picture"'):
        write_picture(folder, "half.jpg", folder.parent / "site")
    result = CliRunner().invoke(main, ["build", str(folder), "--into", str(folder.parent / "new"), "--quiet"])
    assert result.exit_code == 1 and 'half.jpg:1: picture: read "a broken picture"' in result.stderr
    assert not (folder.parent / "new").exists()


def test_house_table_of_any_size():
    """Thousands of rows are read one by one; twice the same name, endless cells and rows are told."""
    row = "{},fish,0.79,0.008,0.19,0,0.012,95,fish,wild,no\n"
    head = "name,food_class,water,fat,protein,carbohydrate,ash,sodium_mg_per_100g,allergen,parasite_risk,scombroid\n"
    many = (
        head
        + "".join(row.format(f"fish {number}") for number in range(2001))
        + row.format("fish 1")
        + row.format("x" * 201)
    )
    tables, faults = house_tables("methods", {"foods.csv": many.encode()})
    assert "fish 1999" in tables.foods and "fish 2000" not in tables.foods
    assert [str(each).split("; ")[0] for each in faults] == [
        'methods/foods.csv:2002: row: read "too many rows"',
    ]
    few = head + row.format("a") + row.format("a") + row.format("x" * 201)
    faults = house_tables("methods", {"foods.csv": few.encode()})[1]
    assert [str(each).partition(": row: ")[2][:8] for each in faults] == ['read "a"', 'read "na']


@pytest.mark.parametrize("words", [each for each in UNUSUAL if not CONTROLS.search(each)])
def test_unusual_words_are_words(words):
    """Other scripts, joined marks, emoji and very long words stand in titles and steps as written."""
    page = GOOD.replace("title: Char in a quick brine", f'title: "{words[:90]}"').replace(
        "do: Brine,", f'do: "{words}",'
    )
    text, method, faults = PAGE.read(page.encode())
    report, stops = PAGE.compute(method)
    assert not faults and not stops
    html = PAGE.html(text, report)
    assert " ".join(words.split()) in html and harm(html) == []


@pytest.mark.parametrize("end", ["\r\n", "\r"])
def test_line_ends_of_other_systems(end):
    """A page written on another system is the same page, its fault lines the same lines."""
    bad = GOOD.replace("kind: cook", "kind: cok")
    assert faults_of(bad.replace("\n", end)) == faults_of(bad) != []
    _, method, faults = PAGE.read(GOOD.replace("\n", end).encode())
    assert not faults and method == PAGE.read(GOOD.encode())[1]


def test_large_page_is_a_page():
    """300 steps and 40 ingredients are read, computed and rendered."""
    ingredients = "".join(f'  - {{item: "pepper, black, ground", amount: {number + 1} g}}\n' for number in range(38))
    page = with_steps("- {do: Salt, stage: salt, time: 1 h, place: fridge}\n" + STEP * 298 + BAKE)
    page = page.replace("amount: 90 g}\n", f"amount: 90 g}}\n{ingredients}")
    text, method, faults = PAGE.read(page.encode())
    assert not faults and len(method.steps) == 300 and len(method.saltings[0].ingredients) == 40
    report, _ = PAGE.compute(method)
    assert report is not None and PAGE.html(text, report).count("Wait") >= 298


def test_titles_that_meet_as_one_address(folder):
    """Titles that become the same words without capitals, blanks and signs are two methods; the same title is a fault."""
    for name, title in (("one", "Char: a test!"), ("two", "char a test"), ("three", "CHAR: A TEST!")):
        (folder / f"{name}.md").write_text(GOOD.replace("Char in a quick brine", f'"{title}"'), "utf-8")
    found = folder_faults(folder)
    assert len(found) == 1 and ": title: read" in found[0], found


def test_glaze_while_the_core_is_waited_for():
    """Basting goes on until the core is reached; the coats that would come later are left out."""
    page = GOOD.replace("time: 35 min", "until: core").replace("every: 10 min", "every: 5 min")
    page = page.replace("\n```glaze\n", "\n```glaze\nname: glaze\n")
    _, method, faults = PAGE.read(page.encode())
    report, stops = PAGE.compute(method)
    assert not faults and not stops and report.schedule.steps[3].repeats


def test_core_that_never_comes():
    """A thin piece in a chamber that is too cool dries for a day; its core is not reached, and that is all."""
    page = GOOD.replace("20-25 mm", "2 mm").replace("chamber: 120 °C", "chamber: 60 °C, humidity: 90 %")
    _, method, faults = PAGE.read(page.replace("time: 35 min", "until: core").encode())
    report, told = PAGE.compute(method)
    assert not faults and (report is None) == any(": steps" in str(each) for each in told)
    if report is not None:
        assert len(report.course.result.time) < 3000


def test_finished_food_is_frozen():
    """The heat curve of food that is frozen after cooking ends there; it begins after a freezing before."""
    freeze = "- {do: Freeze, stage: freeze, time: 2 days, place: freezer, temperature: -18 °C}\n"
    thaw = "- {do: Thaw, stage: thaw, time: 1 day, place: fridge}\n"
    lines = GOOD.split("```steps\n")[1].split("```")[0]
    for steps, first, count in ((lines + freeze, 1, 5), (freeze + thaw + lines + freeze + thaw, 3, 5)):
        text, method, faults = PAGE.read(with_steps(steps).encode())
        report, stops = PAGE.compute(method)
        assert not faults and not stops
        assert report.course.first == first and len(report.course.result.stages) == count
        assert harm(PAGE.html(text, report)) == []


def test_brine_that_does_not_dissolve():
    """More salt than dissolves is a page whose readings are not explained, and says why."""
    text, method, faults = PAGE.read(GOOD.replace("amount: 90 g", "amount: 900 g").encode())
    report, _ = PAGE.compute(method)
    assert not faults and "It contains more salt or sugar than dissolves" in PAGE.html(text, report)


def test_brine_of_syrup():
    """A brine that is syrup with a little salt: a reading of the salt is looked for where both dissolve."""
    page = GOOD.replace('"water, tap", amount: 2 L', '"syrup, birch", amount: 13 cups')
    text, method, faults = PAGE.read(page.encode())
    report, _ = PAGE.compute(method)
    assert not faults and harm(PAGE.html(text, report)) == []


def test_food_that_would_freeze_is_told():
    """A step below freezing is told with its own line: a brine as what no model follows, hot food as not cooled."""
    brine = GOOD.replace("place: fridge, temperature: 3 °C}", "place: fridge, temperature: -18 °C}", 1)
    _, method, faults = PAGE.read(brine.encode())
    report, told = PAGE.compute(method)
    assert not faults and report is None
    assert str(told[0]).startswith('methods/page.md:29: steps.1.temperature: read "-18 °C"; allowed: -1 °C or warmer')
    chill = GOOD.replace("time: 2 h, place: fridge, air: forced, temperature: 1 °C}",
                         "time: 2 h, place: freezer, temperature: -18 °C}")  # fmt: skip
    _, method, faults = PAGE.read(chill.encode())
    _, told = PAGE.compute(method)
    assert not faults and str(told[0]).startswith("methods/page.md:33: safety.cooling-stages: ")
