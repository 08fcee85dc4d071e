"""The house's own mark, colours, name and footer; addresses that outlive a rename; settings of a team's mkdocs.yml."""

import json
import shutil
import struct
import zlib
from pathlib import Path

import pytest
from mkdocs.commands.build import build as mkdocs_build
from mkdocs.config import load_config
from mkdocs.exceptions import Abort

from site_build.build.build_site import Choices, build_site, check_folder
from site_build.build.publish import BuildError
from site_build.reading.house_style import NIGHT_ICE, contrast, lightened
from tests.building import METHODS
from tests.site_build.pseudo_language import copy_of

QUICK = Choices(workers=1, shows_progress=False)


def picture(width: int, height: int) -> bytes:
    """A plain PNG of this size, written by hand (PNG 1.2, RFC 2083)."""
    rows = b"".join(b"\x00" + b"\x20\x60\x80" * width for _ in range(height))
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    parts = [(b"IHDR", head), (b"IDAT", zlib.compress(rows)), (b"IEND", b"")]
    chunks = [struct.pack(">I", len(d)) + k + d + struct.pack(">I", zlib.crc32(k + d)) for k, d in parts]
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunks)


@pytest.fixture
def folder(tmp_path) -> Path:
    """A handbook of one page of reading."""
    place = copy_of(METHODS, tmp_path / "methods", "about.md")
    (place / "about.md").write_text("# About\n\nWords.\n")
    return place


def _add(folder: Path, text: str) -> None:
    house = folder / "house.yml"
    house.write_text(house.read_text("utf-8") + f"\n{text}\n", "utf-8")


def _faults(folder: Path) -> list[str]:
    with pytest.raises(ValueError) as told:
        check_folder(folder, QUICK)
    return str(told.value).split("\n")


# ---- Mark, colours, footer


def test_the_house_shows_its_own_mark_colours_and_footer(folder, tmp_path):
    """Head, icon, manifest, style sheet and foot are the house's."""
    (folder / "mark.png").write_bytes(picture(96, 64))
    _add(folder, 'mark: mark.png\ncolours: {main: "#5a2d6e", wall: "#e9e2d0"}\nfooter: Open on Saturdays & by the lake')
    build_site(folder, tmp_path / "site", QUICK)
    page = (tmp_path / "site" / "about.html").read_text("utf-8")
    assert '<img class="mark mark-own" src="mark.png" alt="" width="96" height="64">' in page
    assert '<link rel="icon" type="image/png" href="mark.png">' in page
    assert '<p class="foot-house">Open on Saturdays &amp; by the lake</p>' in page
    manifest = json.loads((tmp_path / "site" / "manifest.webmanifest").read_text("utf-8"))
    assert manifest["icons"] == [{"src": "mark.png", "sizes": "96x64", "type": "image/png"}]
    assert manifest["theme_color"] == "#5a2d6e"
    style = (tmp_path / "site" / "assets" / "css" / "sheet.css").read_text("utf-8")
    assert ":root{--lake:#5a2d6e;--bar:#5a2d6e;--wall:#e9e2d0;}" in style
    (folder / "mark.png").write_bytes(picture(64, 64))
    build_site(folder, tmp_path / "site", QUICK)
    assert 'width="64" height="64"' in (tmp_path / "site" / "about.html").read_text("utf-8")


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("mark: mark.svg", 'mark: read "mark.svg"; allowed: a still picture of the folder'),
        ("mark: small.png", 'mark: read "small.png, 20 × 20 pixels"; allowed:'),
        ("mark: long.png", 'mark: read "long.png, 500 × 60 pixels"; allowed:'),
        ("mark: ../mark.png", 'mark: read "../mark.png"; allowed: a still picture of the folder'),
        (
            'colours: {main: "#9fb7c4"}',
            'colours.main: read "#9fb7c4, contrast 2.0 to the paper #fbfcfa"; allowed: a colour',
        ),
        ('colours: {wall: "#30424a"}', "colours.wall: read"),
        ("colours: {main: blue}", 'colours.main: read "blue"; allowed: a colour as six hexadecimal digits'),
        ('colours: {stop: "#00ff00"}', 'colours.stop: read "stop"; allowed: main, wall'),
    ],
)
def test_an_identity_that_cannot_be_used_is_one_line(folder, text, fault):
    """A mark must be a picture of the folder, and words in a colour must be read on what is behind them."""
    (folder / "small.png").write_bytes(picture(20, 20))
    (folder / "long.png").write_bytes(picture(500, 60))
    _add(folder, text)
    found = _faults(folder)
    assert len(found) == 1 and fault in found[0], found


def test_contrast_is_that_of_the_guidelines():
    """Two pairs whose ratios are widely printed: black on white 21, #767676 on white 4.54 (from memory)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)
    assert contrast(lightened("#5a2d6e", NIGHT_ICE, 7.0), NIGHT_ICE) >= 7.0


# ---- Earlier addresses


@pytest.fixture(scope="module")
def method(tmp_path_factory) -> Path:
    """A handbook of one method."""
    return copy_of(METHODS, tmp_path_factory.mktemp("renamed") / "methods", "brined-cucumbers.md")


def _with_was(method: Path, tmp_path: Path, was: str) -> Path:
    folder = shutil.copytree(method, tmp_path / "methods")
    page = folder / "brined-cucumbers.md"
    page.write_text(page.read_text("utf-8").replace("---\n", f"---\nwas: {was}\n", 1), "utf-8")
    return folder


def test_an_earlier_name_leads_on(method, tmp_path):
    """Its page and its further pages lead to where the method stands now, and say so without a script."""
    folder = _with_was(method, tmp_path, "[crock-pickles, old/sours]")
    build_site(folder, tmp_path / "site", QUICK)
    first = (tmp_path / "site" / "crock-pickles.html").read_text("utf-8")
    assert '<meta http-equiv="refresh" content="0; url=brined-cucumbers.html">' in first and "<script" not in first
    assert 'url=../brined-cucumbers.why.html"' in (tmp_path / "site" / "old" / "sours.why.html").read_text("utf-8")
    listed = json.loads((tmp_path / "site" / "build.json").read_text("utf-8"))["files"]
    assert {"crock-pickles.html", "crock-pickles.proof.html", "old/sours.html"} <= set(listed)


@pytest.mark.parametrize(
    ("was", "fault"),
    [
        ("[brined-cucumbers]", 'was: read "brined-cucumbers"; allowed: a name that no page has or had'),
        ("[index]", 'was: read "index"; allowed: a name that no page has or had'),
        ("[Weights]", 'was: read "Weights"; allowed: a name that no page has or had'),
        ("[old, old]", 'was: read "old"; allowed: a name that no page has or had'),
        ("[old.why]", 'was: read "old.why"; allowed: a name that no page has or had'),
        ("[../outside]", 'was.1: read "../outside"; allowed: the name that the page had in this folder'),
        ("[https://example.org]", "was.1: read"),
        ('["404"]', 'was: read "404"; allowed: a name that no page has or had'),
        ("[batches/2026]", 'was: read "batches/2026"; allowed: a name that no page has or had'),
        ("[inspection/x]", 'was: read "inspection/x"; allowed: a name that no page has or had'),
        ("[con]", 'was: read "con"; allowed: a name that no page has or had'),
        ("[brined-cucumbers.html/x]", 'was: read "brined-cucumbers.html/x"; allowed: a name that no page has or had'),
        ("[assets/first]", 'was: read "assets/first"; allowed: a name that no page has or had'),
    ],
)
def test_an_earlier_name_that_clashes_is_one_line(method, tmp_path, was, fault):
    """No name of a page that there is, no name twice, nothing outside the folder."""
    found = _faults(_with_was(method, tmp_path, was))
    assert len(found) == 1 and fault in found[0], found


# ---- A team's own mkdocs.yml


def _mkdocs(folder: Path, tmp_path: Path, text: str):
    config = tmp_path / "mkdocs.yml"
    config.write_text(f"docs_dir: {folder}\nsite_dir: {tmp_path / 'site'}\nplugins: [handbook]\n{text}\n", "utf-8")
    mkdocs_build(load_config(str(config)))


def test_a_mkdocs_file_of_the_team_builds(folder, tmp_path):
    """The settings that README.md names are enough."""
    kitchen = "The Net Loft, a teaching kitchen on Lake Ennisk"
    _mkdocs(folder, tmp_path, f"site_name: {kitchen}\nuse_directory_urls: false\ntheme: {{name: handbook}}")
    assert "Words." in (tmp_path / "site" / "about.html").read_text("utf-8")


def test_settings_that_would_change_nothing_are_refused_together(folder, tmp_path, caplog):
    """Each is one line that names the place to set it."""
    text = (
        "site_name: Another name\nsite_url: https://example.org/\ncopyright: ours\nnav: [about.md]\n"
        "repo_url: https://example.org/repo\nmarkdown_extensions: [footnotes]\ntheme: {name: handbook, locale: fr}"
    )
    with pytest.raises(Abort):
        _mkdocs(folder, tmp_path, text)
    lines = [line for record in caplog.records for line in record.getMessage().split("\n") if "mkdocs.yml" in line]
    named = [line.split(": ")[1] for line in lines]
    assert {
        "site_name",
        "site_url",
        "copyright",
        "nav",
        "repo_url",
        "use_directory_urls",
        "markdown_extensions",
    } <= set(named)
    assert "theme.locale" in named and not (tmp_path / "site" / "about.html").exists()


def test_a_broken_identity_leaves_the_last_site(folder, tmp_path):
    """The last good site stays as it was."""
    build_site(folder, tmp_path / "site", QUICK)
    before = (tmp_path / "site" / "about.html").read_bytes()
    _add(folder, "mark: nothing.png")
    with pytest.raises(BuildError):
        build_site(folder, tmp_path / "site", QUICK)
    assert (tmp_path / "site" / "about.html").read_bytes() == before
