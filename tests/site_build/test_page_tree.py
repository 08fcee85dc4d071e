"""Each computed part of a method stands once over its pages, in its place and to be seen, whatever HTML its author writes
around the blocks; the author's words stand in their own frames on the first page and nowhere else."""

import re
import warnings
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from pathlib import Path
from threading import Barrier

import html5lib
import pytest
from markdown import Markdown

import site_build.theme
from handbook.folder.page_text import split_page
from site_build.base.html_tree import inner_html, parse_html
from site_build.build.build_site import Choices, build_site
from site_build.reading.author_html import author_html
from site_build.reading.clean import UnstableHtmlError, clean_html
from site_build.reading.own_ids import FRAME_IDS, METHOD_IDS
from tests.hostile_pages import METHODS, SMALL
from tests.one_page import OnePage
from tests.site_build.harmless import harm

PAGE = OnePage()
GOOD = SMALL.format(kind="cook", shape="slab", salting="immersion", more="name: brine", stage="cook")
#: What the sheet shows of the page's blocks, in the order of the sheet (the block of batches shows nothing of its own).
PARTS = ["pieces", "brine", "glaze", "steps", "keeping"]
LAYERS = ("", ".why", ".proof")
FRAMES = ("lead", "words-body")
FAKE = "<table><tr><th>Salt</th></tr><tr><td>5 g, meets the limit</td></tr></table>"

#: What an author writes before and after the block of brine, so that its part is hidden, doubled, moved or replaced.
AROUND = {
    "comment": ("<!--", "-->\n" + FAKE),
    "comment never closed": ("<!--", ""),
    "comment closed oddly": ("<!--", "--!>\n" + FAKE),
    "comment of two dashes": ("<!-->", "-->"),
    "declaration": ("<!x", ">"),
    "instruction": ("<?x", "?>" + FAKE),
    "character data": ("<![CDATA[", "]]>" + FAKE),
    "script": ("<script>", "</script>\n" + FAKE),
    "script never closed": ("<script>", ""),
    "script in a comment": ("<script><!--<script>", "</script>--></script>"),
    "style": ("<style>", "</style>"),
    "pre": ("<pre>", "</pre>"),
    "pre in a line": ("a <pre>", "b </pre>"),
    "xmp": ("<xmp>", "</xmp>"),
    "plain text": ("<plaintext>", ""),
    "listing": ("<listing>", "</listing>"),
    "details": ("<details><summary>more</summary>", "</details>"),
    "details never closed": ("<details>", FAKE),
    "details with an empty line": ("<details>\n\n", "\n\n</details>"),
    "table": ("<table><tr><td>", "</td></tr></table>"),
    "table never closed": ("<table>", FAKE),
    "table with an empty line": ("<table><tr>\n\n", "\n\n</tr></table>"),
    "cell in a paragraph": ("a <table><tr><td>\n\n", "\n\nb</table>"),
    "caption": ("<table><caption>", "</caption></table>"),
    "columns": ("<table><colgroup>\n\n", "\n\n</colgroup></table>"),
    "template": ("<template>", "</template>" + FAKE),
    "template in a line": ("a <template>\n\n", "\n\n</template>"),
    "text field": ("<textarea>", "</textarea>"),
    "text field in a line": ("a <textarea>\n\n", ""),
    "title": ("<title>", "</title>"),
    "choice": ("<select><option>", "</option></select>"),
    "choice in a line": ("a <select>\n\n", "\n\n</select>"),
    "drawing": ("<svg>", "</svg>"),
    "drawing in a line": ("a <svg><desc>\n\n", "\n\n</desc></svg>"),
    "foreign words": ("<svg><foreignObject>\n\n", "\n\n</foreignObject></svg>"),
    "formula": ("<math><mtext>", "</mtext></math>"),
    "formula in a line": ("a <math>\n\n", "\n\n</math>"),
    "frame": ("<iframe>", "</iframe>"),
    "no script": ("<noscript>", "</noscript>"),
    "no frames": ("<noframes>\n\n", "\n\n</noframes>"),
    "object": ("<object>\n\n", "\n\n</object>"),
    "video": ("<video>\n\n", "\n\n</video>"),
    "canvas": ("<canvas>\n\n", "\n\n</canvas>"),
    "hidden": ("<div hidden>", "</div>" + FAKE),
    "hidden with an empty line": ("<div hidden>\n\n", "\n\n</div>"),
    "style attribute": ('<div style="display:none">\n\n', "\n\n</div>"),
    "dialog": ("<dialog>\n\n", "\n\n</dialog>"),
    "form": ("<form>\n\n", "\n\n</form>"),
    "frame set": ("<frameset>\n\n", "</frameset>"),
    "body": ("<body hidden>\n\n", ""),
    "html": ("</body></html>\n\n", ""),
    "attribute never closed": ('<div title="', '">' + FAKE),
    "attribute in a line": ('a <b title="\n\n', '\n\n">b</b>'),
    "apostrophe never closed": ("<img src=x alt='", "'>"),
    "angle never closed": ("<div ", ">"),
    "end tag never closed": ("</div ", ">"),
    "div": ("<div>", "</div>"),
    "end of a div too many": ("</div></div></div>\n\n", ""),
    "end of main": ("</section></div></main>\n\n", "<main>"),
    "paragraph": ("<p>", "</p>"),
    "bold never closed": ("a <b>b", ""),
    "bold closed after": ("a <b>b\n\n", "\n\n</b>"),
    "link never closed": ("a <a href='page.md'>b", ""),
    "link closed after": ("<a href='page.md'>\n\n", "\n\n</a>"),
    "heading never closed": ("<h2>", ""),
    "button": ("a <button>\n\n", "\n\n</button>"),
    "ruby": ("<ruby><rt>\n\n", "\n\n</rt></ruby>"),
    "bullet": ("- a\n-", "- b"),
    "bullet with an empty line": ("- a\n\n", "- b"),
    "number": ("1. a\n2.", ""),
    "bullet far in": ("-       a\n\n", ""),
    "quote": ("> a\n>", "> b"),
    "quote without an end": ("> a", "b"),
    "list of words": ("a\n:", ""),
    "footnote": ("a[^1]\n\n[^1]:", ""),
    "definition": ("[a]:", ""),
    "definition in an angle": ("[a]: <", ">"),
    "open bracket": ("![a", "](x.png)"),
    "open link": ("[a](page.md", ")"),
    "code in a line": ("a `", "` b"),
    "code of many ticks": ("a ``````", "`````` b"),
    "fence of the other kind": ("    ~~~", "    ~~~"),
    "fence in a quote": ("> ~~~", "> ~~~"),
    "fence in a list": ("- ~~~", "- ~~~"),
    "fence with a setting": ("x ``` {#a .b hidden}", "```"),
    "code by its margin": ("    code", "    code"),
    "heading by a line below": ("a", "==="),
    "table of Markdown": ("| a | b |\n|---|---|", "| c | d |"),
    "underscores": ("__a", "b__"),
    "escape": ("a\\", "\\"),
    "mark of old": ("handbook-block-1-here", "handbook-block-1-here"),
    "mark of another": ("handbook-block-3-here\n\n", "\n\nhandbook-block-0-here"),
    "mark in an attribute": ('<p title="handbook-block-1-here">handbook-block-1-here</p>', ""),
    "placeholder of Markdown": ("\u0002wzxhzdk:0\u0003", ""),
    "placeholder as an escape": ("&#2;wzxhzdk:0&#3;", "<div>a</div>"),
    "id of the part": ('<h2 id="brine">Salt</h2>' + FAKE, ""),
    "section of its own": ('<section class="block wide" id="brine"><h2>Brine</h2>' + FAKE + "</section>", ""),
    "ids of scripts": ('<p id="method-data">{}</p><p id="batch-form">x</p><p id="kitchen">x</p>', ""),
    "names of the window": ('<p id="handbookIndex">x</p><p id="sheet">x</p><p id="find-slip">x</p>', ""),
    "contents": ("[TOC]", "# brine\n\n# brine"),
    "alt words": ("![<section id=brine>](mark.png)", ""),
    "alt words as escapes": ("![&lt;/p&gt;&lt;script&gt;](mark.png)", ""),
    "null": ("<div title=&#0;>", "</div>"),
    "elements in their hundreds": ("<div>" * 90 + "\n\n", "\n\n" + "</div>" * 90),
    "tables in tables": ("<table><tr><td>" * 30 + "</table>" * 30 + "\n\n", ""),
    "bold in bold": ("<b>" * 40 + "<p>a</p>\n\n", "\n\n" + "</b>" * 40),
}  # fmt: skip


def page_with(before: str, after: str) -> str:
    """The good page with lines of words right before and after its block of brine."""
    start = GOOD.index("```salting")
    end = GOOD.index("```", start + 3) + 4
    return GOOD[:start] + before + "\n" + GOOD[start:end] + after + "\n" + GOOD[end:]


@pytest.fixture(scope="module")
def tried(tmp_path_factory):
    """Fault lines of each page, and a site of those that have none: name -> faults, name -> HTML."""
    top = tmp_path_factory.mktemp("tree")
    folder = top / "methods"
    folder.mkdir()
    for name in ("house.yml", "foods.csv"):
        (folder / name).write_bytes((METHODS / name).read_bytes())
    (folder / "mark.png").write_bytes(PICTURE)
    known = OnePage(known={"page.md", "mark.png"})
    faults, names = {}, {}
    for number, (name, around) in enumerate(AROUND.items()):
        page = page_with(*around)
        faults[name] = [str(each) for each in known.read(page.encode())[2]]
        if not faults[name]:
            names[name] = f"try-{number}"
            text = page.replace("title: Char in a quick brine", f"title: Char {number}").replace("page.md", "index.md")
            (folder / f"try-{number}.md").write_text(text, "utf-8")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        build_site(folder, top / "site", Choices(shows_progress=False, workers=1))
    return faults, {
        name: [(top / "site" / f"{path}{layer}.html").read_text("utf-8") for layer in LAYERS]
        for name, path in names.items()
    }


#: A PNG of one pixel (PNG 1.2).
PICTURE = bytes.fromhex(
    "89504e470d0a1a0a0000000d49484452000000010000000108060000001f15c489"
    "0000000d49444154789c6360606060000000050001a5f645400000000049454e44ae426082"
)


@pytest.mark.parametrize("name", AROUND)
def test_part_is_shown_or_told(tried, name):
    """The page has its parts once, in order and to be seen, or a fault that names the block's own line."""
    faults, pages = tried
    if name not in pages:
        lines = page_with(*AROUND[name]).split("\n")
        hidden = [int(each.split(":")[1]) for each in faults[name] if ": block: read" in each]
        assert faults[name] and all(lines[number - 1].startswith("```") for number in hidden), faults[name]
        return
    trees = [html5lib.parse(html, namespaceHTMLElements=False) for html in pages[name]]
    make, *further = trees
    assert [each.get("id") for each in content(make).iter() if each.get("id") in PARTS] == PARTS
    assert all(is_open(make, each) for each in PARTS)
    assert not any({"hidden", "style", "class"} & each.attrib.keys() for each in authors(make))
    assert [sections(tree) for tree in further] == [sections(tree) for tree in expected()]
    assert all(is_open(tree, each) for tree in further for each in sections(tree))
    outside = "".join("".join(tree.itertext()) for tree in further) + without_authors(make)
    assert "meets the limit</td>" not in outside and "5 g, meets the limit" not in outside
    for tree, html in zip(trees, pages[name], strict=True):
        ids = [each.get("id") for each in tree.iter() if each.get("id")]
        assert len(ids) == len(set(ids))
        assert not re.search(r"b[0-9a-f]{32}n", html) and harm(html) == []


@cache
def expected():
    """The further pages of the good page, as they are computed without a line of words around its blocks."""
    text, method, faults = PAGE.read(GOOD.encode())
    assert faults == []
    made = PAGE.layers(text, PAGE.compute(method)[0])
    return [html5lib.parse(f'<div class="sheet-body">{each}</div>', namespaceHTMLElements=False) for each in made][1:]


def content(tree):
    """What the theme's frame holds."""
    return next(each for each in tree.iter("div") if each.get("class") == "sheet-body")


def sections(tree):
    """The computed sections of a further page, in order."""
    return [each.get("id") for each in content(tree) if each.tag == "section"]


def is_open(tree, wanted):
    """Whether nothing that hides, folds or quotes stands around the element with an id."""
    parents = {child: each for each in tree.iter() for child in each}
    each = next(each for each in tree.iter() if each.get("id") == wanted)
    while each is not None:
        if "hidden" in each.attrib or each.tag in ("details", "template", "dialog", "noscript", "svg", "select"):
            return False
        each = parents.get(each)
    return True


def authors(tree):
    """The elements of the author's on the first page: those in the frames of words."""
    frames = [each for each in tree.iter("div") if each.get("class") in FRAMES]
    return [each for frame in frames for each in frame.iter() if each is not frame]


def without_authors(tree):
    """The text of a page outside of the frames of words and of the headings over them."""
    if tree.get("class") in (*FRAMES, "words"):
        return tree.tail or ""
    inner = "".join(without_authors(each) for each in tree if isinstance(each.tag, str))
    return (tree.text or "") + inner + (tree.tail or "")


def test_both_ends_are_met(tried):
    """Some of the pages are built and some are told: neither half of the test is empty."""
    faults, pages = tried
    assert len(pages) > 20 and len([name for name in faults if faults[name]]) > 20


def test_every_hidden_block_is_told():
    """Blocks hidden by one comment are faults each, beside the page's other faults, in one run."""
    page = GOOD.replace("```pieces", "<!--\n```pieces").replace("food: char, Arctic", "food: chair") + "-->\n"
    found = [str(each) for each in PAGE.read(page.encode())[2]]
    assert sum(": block: read" in each for each in found) == 6 and any(": food: read" in each for each in found)


def test_words_around_the_blocks_stay_as_they_are():
    """Words between blocks come out in the author's order; a plain heading over a block gives way to the part's own."""
    page = page_with("Before.\n\n## The brine\n", "\nAfter *it*.")
    author, faults = author_html(split_page(page, "page.md")[0], "page.md", "page.md")
    assert faults == [] and len(author.shown) == 7
    assert (
        author.shown[1].split() == ["<p>Before.</p>"] and author.shown[2].split("\n")[1] == "<p>After <em>it</em>.</p>"
    )


def test_threads_share_no_renderer(monkeypatch):
    """A Markdown object holds the page that it renders: two threads that render at the same time use two."""
    together, used, convert = Barrier(2, timeout=60), set(), Markdown.convert

    def convert_together(self, source):
        used.add(id(self))
        together.wait()
        return convert(self, source)

    monkeypatch.setattr(Markdown, "convert", convert_together)
    texts = [split_page(page_with(word, ""), "page.md")[0] for word in ("One.", "Two.")]
    with ThreadPoolExecutor(2) as executor:
        found = list(executor.map(lambda text: author_html(text, "page.md", "page.md"), texts))
    assert len(used) == 2 and [author.shown[1].split() for author, _ in found] == [["<p>One.</p>"], ["<p>Two.</p>"]]


def test_ids_of_scripts_are_kept_for_them():
    """Every id that a script looks for is one that no author's element may bear, and so is each of the frame's."""
    theme = Path(site_build.theme.__file__).parent
    scripts = "".join(path.read_text("utf-8") for path in theme.rglob("*.js"))
    wanted = set(re.findall(r'getElementById\("([^"]+)"\)', scripts))
    assert len(wanted) > 8 and wanted <= FRAME_IDS | METHOD_IDS
    frame = "".join(path.read_text("utf-8") for path in theme.rglob("*.html"))
    assert set(re.findall(r'\sid="([^"{]+)"', frame)) <= FRAME_IDS


#: Words within the limits of prose whose elements would be many times as many, or deeper than a browser follows.
OVERGROWN = {
    "deep": "\n".join(["<div>" * 400] * 3),
    "deep in a link": "<a href=page.md>" + "\n".join(["<div>" * 400] * 5),
    "deep tables": "\n".join(["<table><tr><td>" * 200] * 4),
    "reopened in each paragraph": "<p>x"
    + "\n".join(["".join(f"<b id=a{i}q{j}>" for i in range(200)) for j in range(5)])
    + "</p><table>\n"
    + "\n".join(["<p>x</p>" * 100] * 7),
}


@pytest.mark.parametrize("name", OVERGROWN)
def test_overgrown_html_is_one_line(name):
    """HTML that a browser would open again and again, or not to its end, is one fault, before it is made."""
    found = [str(each) for each in PAGE.read(f"# A\n\n{OVERGROWN[name]}\n".encode())[2]]
    assert len(found) == 1 and found[0].startswith("methods/page.md:3: text: read "), found


SETTLING = [
    "<p>a<p>b</p></p>",
    "<a href='x.md'><div><a href='y.md'>b</a></div></a>",
    "<table><p>a</p><tr><td>b</table>",
    "<b><p>a</b>b</p>",
    "<h1><h2>a</h2></h1>",
    "<svg><p>a</p></svg>",
    "<a><svg><a>b</a></svg></a>",
    "<table><svg><td>a</td></svg></table>",
    "<pre>\n\na</pre>",
    "<ul><li>a<li>b</ul>",
    "<math><mi><table></table></mi></math>",
    "<form><table><form><tr><td>x",
    "<table><a href='x.md'>a<table><a href='y.md'>b",
    "<p><table><tr><td><p>a</table>b",
    '<img alt="<p>&lt;b&gt;&amp;amp;</p>" src="a.png">',
    "a&nbsp;&amp;lt; &lt;b&gt; \u00a0",
]  # fmt: skip


@pytest.mark.parametrize("html", SETTLING)
def test_tree_is_what_a_browser_reads(html):
    """The tree written out is read by html5lib (the WHATWG algorithm) as the very same tree."""
    try:
        root = parse_html(clean_html(html))
    except UnstableHtmlError:
        pytest.fail("does not settle")
    written = inner_html(root)
    browser = html5lib.parseFragment(written, container="div", namespaceHTMLElements=False)
    assert flat(browser) == flat(root) and harm(written) == []


def flat(element):
    """An element's name, attributes, words and children, two texts in a row as one."""
    return [element.text or "", *((each.tag, each.attrib, flat(each), each.tail or "") for each in element)]
