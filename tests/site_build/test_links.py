"""Links are checked where a browser finds them: in the cleaned HTML of a page, however they are written."""

import re
import shutil

import pytest

from site_build.build.build_site import Choices, build_site
from site_build.reading.book import GENERATED
from site_build.reading.link_lines import LinkLines
from site_build.reading.links import Link, check_links, link_target, site_address
from site_build.reading.pictures import dress_pictures
from tests.building import dead_links
from tests.one_page import OnePage
from tests.site_build.test_page_tree import PICTURE

PAGE = OnePage(known={"page.md", "fish/char.md", "mark.png", "note.txt", "foods.csv", *GENERATED}, path="page.md")
#: Addresses that lead out of the folder, to hidden files, to other hosts or to nothing.
REFUSED = [
    "/etc/passwd",
    "/assets/x.png",
    "//host.example/x.png",
    "///host.example/x.png",
    "\\\\host.example\\x.png",
    "/\\host.example/x.png",
    "\\/host.example/x.png",
    "../secret.png",
    "../../etc/passwd",
    "fish/../../secret.png",
    "..%2fsecret.png",
    "%2e%2e/secret.png",
    "%2E%2E%2Fsecret.png",
    ".%2e/secret.png",
    "%5c%5chost.example",
    "..%5csecret.png",
    "%2fetc/passwd",
    ".git/config",
    "fish/.secret/x.png",
    "%2egit/config",
    "fish/../.git/config",
    "./.env",
    "javascript:alert(1)",
    "JaVaScRiPt:alert(1)",
    "data:image/png;base64,AAAA",
    "file:///etc/passwd",
    "vbscript:x",
    "blob:x",
    "ftp://host.example/x",
    "view-source:x",
    "x-unknown:y",
    "http:page.md",
    "https:/host.example",
    "https:\\\\host.example",
    "https:///host.example",
    "c:/secret",
    "nowhere.md",
    "nowhere.png",
    "page.md/x",
    "foods.csv",
    ".",
    "./",
    "..",
    "fish",
    "fish/",
    "page.html",
    "%00",
    "mark.png%00.md",
    "page%252emd",
]
#: Ways to write a link to an address.
WAYS = {
    "inline": "a [b]({}) c",
    "reference": "a [b][r] c\n\n[r]: {}",
    "reference in an angle": "a [b] c\n\n[b]: <{}> 'title'",
    "raw": '<a href="{}">b</a>',
    "raw without quotes": "a <a href={}>b</a>",
    "raw in a block": '<div>\n<a\nhref="{}">b</a>\n</div>',
    "in a table": "| a |\n|---|\n| [b]({}) |",
    "in a list in a quote": "> - [b]({})",
    "in a heading": "## a [b]({})",
}
PICTURES = {
    "inline": "![b]({})",
    "reference": "![b][r]\n\n[r]: {}",
    "raw": '<img src="{}" alt="b">',
    "raw in a link": '[<img alt="b" src="{}">](page.md)',
}
#: Ways to write letters of an address otherwise.
DISGUISED = [
    ('<a href="&#47;etc/passwd">b</a>', "/etc/passwd"),
    ('<a href="&#x2f;&sol;host.example">b</a>', "//host.example"),
    ('<a href="java&#115;cript:alert(1)">b</a>', "javascript:alert(1)"),
    ('<a href="javascript&colon;alert(1)">b</a>', "javascript:alert(1)"),
    ('<a href="java&Tab;script:alert(1)">b</a>', "java\tscript:alert(1)"),
    ('<a href="java\nscript:alert(1)">b</a>', "java\nscript:alert(1)"),
    ('<a href=" &#1;javascript:alert(1)">b</a>', "javascript:alert(1)"),
    ('<a href="/&Tab;/host.example">b</a>', "/\t/host.example"),
    ('<a href="&period;&period;/x.png">b</a>', "../x.png"),
    ('<a href=".&NewLine;./x.png">b</a>', ".\n./x.png"),
    ('<a href="&bsol;&bsol;host.example">b</a>', "\\\\host.example"),
    ("[b](\\/etc/passwd)", "\\/etc/passwd"),
    ("[b](&#47;etc/passwd)", "/etc/passwd"),
    ("<javascript:alert(1)>", ""),
    ("<file:///etc/passwd>", ""),
    ("<ftp://host.example/x>", "ftp://host.example/x"),
    ("[b](<../x y.png>)", "../x y.png"),
    ("<a href=http://[>b</a>", "http://["),
]


def link_faults(words: str, before: int = 3) -> list[str]:
    """The fault lines of a plain page of these words, which begin on line ``before`` + 1."""
    page = "# Words\n" + "\n" * (before - 1) + words + "\n"
    return [str(each) for each in PAGE.read(page.encode())[2]]


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("address", REFUSED)
def test_refused_link(address, way):
    """One fault on the line on which the address is written."""
    words = WAYS[way].format(address)
    if way == "in a table" and "|" in address:
        words = WAYS["inline"].format(address)
    found = link_faults(words)
    assert len(found) == 1 and ": link: read " in found[0], found
    line = next(number for number, text in enumerate(words.split("\n"), 4) if address in text)
    assert found[0].startswith(f"methods/page.md:{line}: "), found


@pytest.mark.parametrize("way", PICTURES)
@pytest.mark.parametrize("address", [*REFUSED, "page.md", "note.txt", "https://host.example/x.png", "#top", "?x"])
def test_refused_picture(address, way):
    """The same for pictures, which must be pictures of the folder."""
    found = link_faults(PICTURES[way].format(address))
    assert len(found) == 1 and ": picture: read " in found[0], found


@pytest.mark.parametrize(("words", "address"), DISGUISED)
def test_disguised_link(words, address):
    """Escapes, blanks and line ends within an address hide nothing: a fault, or words that are no link."""
    found = link_faults(words)
    if address:
        assert len(found) == 1 and found[0].startswith("methods/page.md:4: link: read "), found
    else:
        text = PAGE.read(f"# Words\n\n{words}\n".encode())[0]
        assert found or "<a" not in PAGE.html(text, None)


@pytest.mark.parametrize(
    "address",
    ["page.md", "fish/char.md", "./fish/char.md", "fish/../page.md", "note.txt", "mark.png", "index.md", "#id", "?a=b",
     "page.md#id", "fish%2Fchar.md", "https://host.example/a?b#c", "http://host.example", "mailto:a@host.example", "HTTPS://host.example"],
)  # fmt: skip
@pytest.mark.parametrize("way", WAYS)
def test_good_link(address, way):
    """What a page may lead to is no fault, however it is written."""
    assert link_faults(WAYS[way].format(address)) == []


def test_every_link_of_a_page_is_told_on_its_line():
    """Each of many dead links has its own line, those to one address too."""
    words = "[a](x.md)\n\n[b](y.md)\n\n<a href=x.md>c</a>\n\n![d](x.png)\n\n[e][r] and [f](x.md)\n\n[r]: z.md"
    lines = [(int(each.split(":")[1]), each.split(": ")[2].split('"')[1]) for each in link_faults(words)]
    assert lines == [(4, "x.md"), (6, "y.md"), (8, "x.md"), (10, "x.png"), (14, "z.md"), (12, "x.md")]


def test_code_and_comments_hold_no_links():
    """What a browser does not show as a link is none."""
    words = "`[a](/x)` and\n\n```text\n[a](/x)\n```\n\n    <a href=/x>\n\n<!-- [a](/x) <img src=/x> -->\n\n\\[a](/x)"
    assert link_faults(words) == []


def test_line_of_an_address_that_is_not_found():
    """An address that stands in no line gets its words' line, or that of the link before."""
    lines = LinkLines([(5, "a"), (6, "the [words](one.md)"), (7, "b")])
    assert [lines.next_of("one.md", "x"), lines.next_of("gone.md", "words"), lines.next_of("gone.md", "?")] == [6, 6, 6]


def test_pictures_outside_are_not_opened(tmp_path, monkeypatch):
    """A picture that is not in the folder is left as written: nothing is opened, whatever check was left out."""
    folder = tmp_path / "methods"
    (folder / ".git").mkdir(parents=True)
    for place in (tmp_path / "x.png", folder / ".git" / "x.png", folder / "x.png"):
        place.write_bytes(PICTURE)
    opened = []
    monkeypatch.setattr("site_build.reading.pictures.picture_size", lambda path: opened.append(path) or (1, 1))
    monkeypatch.setattr("site_build.reading.pictures.moves", lambda path: True)
    written = (f"{tmp_path}/x.png", "../x.png", "%2e%2e/x.png", ".git/x.png", "..%5cx.png", "//x.png")
    for address in written:
        image = f'<img src="{address}" alt="d">'
        assert dress_pictures(image, "page.md", folder) == image
    assert opened == []
    dress_pictures('<img src="x.png" alt="d">', "page.md", folder)
    assert opened == [folder / "x.png"]


@pytest.mark.parametrize(
    ("page", "address", "wanted"),
    [
        ("a.md", "b.md#c", "b.html#c"),
        ("fish/a.md", "../b.md?x", "../b.html?x"),
        ("fish/a.md", "b.md", "b.html"),
        ("a.md", "my fish/ä#1.md".replace("#", "%23"), "my%20fish/%C3%A4%231.html"),
        ("a.md", "https://host.example/b.md", "https://host.example/b.md"),
        ("a.md", "#c", "#c"),
    ],
)
def test_site_address(page, address, wanted):
    """Links to pages lead to their HTML in the site."""
    assert site_address(page, address) == wanted


def test_link_target_stays_inside():
    """No address resolves to a place outside the folder."""
    for address in REFUSED:
        target = link_target("fish/char.md", address)
        assert not target.startswith(("..", "/")) and "/../" not in target and "\\" not in target, address


def test_check_links_of_no_words():
    """A picture needs words for those who cannot see it, in raw HTML too."""
    faults = check_links("p.md", "page.md", [Link(target="mark.png", words=" ", is_picture=True, line=3)], {"mark.png"})
    assert [str(each).split(";")[0] for each in faults] == ["p.md:3: picture: read no words for mark.png"]


def test_links_of_a_built_site(tmp_path, methods_folder, take_over):
    """Raw, referenced and inline links of a page in a folder lead to files of the site."""
    folder = tmp_path / "methods"
    shutil.copytree(methods_folder, folder)
    take_over(folder)
    (folder / "fish").mkdir()
    (folder / "fish" / "mark.png").write_bytes(PICTURE)
    words = "# Here\n\n[a](../about.md) <a href='../soy-eggs.md#steps'>b</a> [c][r] ![d](mark.png) <img src=mark.png alt=e>\n\n[r]: ../days/jetty-saturday.md\n"
    (folder / "fish" / "here.md").write_text(words, "utf-8")
    build_site(folder, tmp_path / "site", Choices(strict=True, shows_progress=False))
    html = (tmp_path / "site" / "fish" / "here.html").read_text("utf-8")
    content = html[html.index("<h1") : html.index("</main>")]
    assert re.findall(r'href="([^"]+)"', content) == [
        "../about.html",
        "../soy-eggs.html#steps",
        "../days/jetty-saturday.html",
    ]
    assert content.count("<picture>") == 2 and dead_links(tmp_path / "site") == []
