"""The pages of a built handbook as plain Markdown, and what other builds make of it, to measure beside ours.

Taken are the authors' pages, methods and plain ones, with every computed heading, paragraph, list and table; charts,
scripts and the tools' controls are left out, and so are the pages that only the generator makes. All pages of a method
are taken: the sheet that the cook works from, its reasons and its proof. The one-file theme,
no search and no plugin make the other build as light as MkDocs can be.
"""

from __future__ import annotations

import shutil
import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from bs4 import BeautifulSoup, Tag
from markdownify import MarkdownConverter

from handbook.folder.file_names import FURTHER

_LEFT_OUT = "script, style, svg, template, button, input, select, output, form, dialog, label, fieldset"
_THEME = "<!doctype html><title>{{ page.title }}</title>{{ page.content }}"
#: What follows the name of a page in the names of its built pages.
_ENDINGS = ("", *(f".{ending}" for ending in FURTHER))
EXTENSIONS = ("tables", "toc", "smarty", "def_list")
_CONFIG = """site_name: plain
docs_dir: docs
site_dir: site
use_directory_urls: false
plugins: []
theme: {{name: null, custom_dir: theme}}
markdown_extensions: [{extensions}]
validation: {{links: {{not_found: ignore, absolute_links: ignore, unrecognized_links: ignore, anchors: ignore}},
  nav: {{omitted_files: ignore, not_found: ignore}}}}
"""
_FLOOR = """
import sys
from pathlib import Path
import markdown
docs, site = Path(sys.argv[1]), Path(sys.argv[2])
converter = markdown.Markdown(extensions=sys.argv[3:])
for path in sorted(docs.rglob("*.md")):
    target = (site / path.relative_to(docs)).with_suffix(".html")
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_text(converter.reset().convert(path.read_text("utf-8")), "utf-8")
"""


def reading_matter(html: str) -> Tag:
    """What is read of one built page; a list whose items have headings of their own becomes sections."""
    sheet = BeautifulSoup(html, "lxml").find("main")
    for each in sheet.select(_LEFT_OUT):
        each.decompose()
    for each in sheet.select("ol:has(h3), ul:has(h3), li:has(h3)"):
        each.name = "div"
    return sheet


def plain_markdown(html: str) -> str:
    """The reading matter of one built page as Markdown with tables and definition lists."""
    sheet = reading_matter(html)
    return MarkdownConverter(heading_style="ATX", bullets="-").convert_soup(sheet).strip() + "\n"


def write_plain(folder: Path, site: Path, work: Path) -> int:
    """Write docs, theme and configuration of the plain build into ``work``. Returns the number of pages."""
    docs, theme = work / "docs", work / "theme"
    theme.mkdir(parents=True)
    (theme / "main.html").write_text(_THEME)
    (work / "plain.yml").write_text(_CONFIG.format(extensions=", ".join(EXTENSIONS)))
    jobs = []
    for path in sorted(folder.rglob("*")):
        target = docs / path.relative_to(folder)
        if not path.is_file() or path.suffix in (".yml", ".csv"):
            continue
        target.parent.mkdir(parents=True, exist_ok=True)
        if path.suffix == ".md":
            built = (site / path.relative_to(folder)).with_suffix("")
            pages = [built.with_name(f"{built.name}{ending}.html") for ending in _ENDINGS]
            jobs += [(page, target.with_name(page.stem + ".md")) for page in pages if page.is_file()]
        else:
            shutil.copyfile(path, target)
    with ProcessPoolExecutor() as pool:
        list(pool.map(_convert, jobs, chunksize=8))
    return len(jobs)


def mkdocs_command(work: Path) -> list[str]:
    """A bare MkDocs build of the plain pages."""
    return [sys.executable, "-m", "mkdocs", "build", "--quiet", "--config-file", str(work / "plain.yml")]


def markdown_command(work: Path) -> list[str]:
    """Python-Markdown alone over the same texts: what no build with it can undercut."""
    return [sys.executable, "-c", _FLOOR, str(work / "docs"), str(work / "floor"), *EXTENSIONS]


def _convert(job: tuple[Path, Path]) -> None:
    page, target = job
    target.write_text(plain_markdown(page.read_text("utf-8")), "utf-8")
