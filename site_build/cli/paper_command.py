"""``handbook paper`` and ``handbook inspection``: the whole handbook, or one inspector's folder, as a PDF by Chromium."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from importlib.resources import files as resource_files
from importlib.util import find_spec
from pathlib import Path

import click

from handbook.base.errors import FaultsError, HandbookError
from handbook.batches.batch_summary import batch_summary
from handbook.folder.batch_files import batch_path, read_batch_files, thermometer_checks
from handbook.folder.file_names import INSPECTION
from site_build.base.files import write_file
from site_build.base.places import one_line, own_tree
from site_build.base.programs import program
from site_build.build.assembly import site_files
from site_build.build.build_site import Choices, build_site
from site_build.cli.method_page import method_page
from site_build.cli.methods_folder import MethodsFolder
from site_build.cli.terminal import fail, say
from site_build.html.inspection_page import inspection_html, records_html, with_records
from site_build.outputs.bundles import join_assets
from site_build.outputs.closed_server import KINDS, ClosedServer, closed_server
from site_build.outputs.paper import SIZES, paper_document, paper_style, single_document

BROWSERS = ("chromium", "chromium-browser", "chrome", "google-chrome")
SECONDS = 600
DOCUMENT = "whole-handbook.html"


class PaperError(HandbookError):
    """The PDF could not be made."""


def register(main: click.Group) -> None:
    """Add the command to the group."""
    main.add_command(paper)
    main.add_command(inspection)


@click.command()
@click.argument("folder", type=MethodsFolder(), default="methods")
@click.option(
    "--into",
    "target",
    type=click.Path(path_type=Path, dir_okay=False),
    default="handbook.pdf",
    show_default=True,
    help="The PDF to write.",
)
@click.option("--size", type=click.Choice(list(SIZES)), default="A4", show_default=True, help="Size of the paper.")
@click.option("--browser", type=click.Path(path_type=Path, dir_okay=False), help="The Chromium to print with.")
@click.option(
    "--dossier", "with_dossiers", is_flag=True, help="Print each method's further pages after its working sheet."
)
@click.option("--cache", type=click.Path(path_type=Path), metavar="DIR", help="Folder for what builds keep.")
def paper(folder: Path, target: Path, size: str, browser: Path | None, with_dossiers: bool, cache: Path | None) -> None:
    """Print the working sheets of FOLDER with contents and page numbers into one PDF. Needs the Chromium browser."""
    try:
        sheets = write_paper(folder, target, size, find_browser(browser), cache, with_dossiers)
    except HandbookError as error:
        fail(str(error))
    say([f"{sheets} pages, {size}: {one_line(target)}"])


@click.command()
@click.argument("page", type=click.Path(path_type=Path))
@click.option(
    "--into",
    "target",
    type=click.Path(path_type=Path, dir_okay=False),
    help="The PDF to write; default: METHOD-inspection.pdf.",
)
@click.option("--size", type=click.Choice(list(SIZES)), default="A4", show_default=True, help="Size of the paper.")
@click.option("--browser", type=click.Path(path_type=Path, dir_okay=False), help="The Chromium to print with.")
def inspection(page: Path, target: Path | None, size: str, browser: Path | None) -> None:
    """The inspector's folder of the method PAGE as one PDF: a draft for licensed people, with blanks to fill in.

    A page that says `inspection: yes` has it on the site too. Needs the Chromium browser.
    """
    try:
        handbook, report = method_page(page)
        source = handbook.source
        summaries = [
            batch_summary(batch_path(each.lot), each) for each in read_batch_files(source, handbook.house.measures)
        ]
        checks, faults = thermometer_checks(source)
        if faults:
            raise FaultsError(faults)
        newest = sorted(summaries, key=lambda each: (each.begun, each.lot), reverse=True)
        records = records_html(report.method.name, newest, checks, handbook.house.people_on_site)
        html = with_records(inspection_html(report, handbook.kitchen), records)
        target = target or Path(f"{report.method.name.replace('/', '-')}-inspection.pdf")
        print_page(
            html,
            f"{report.method.front_matter.title}: inspector's folder",
            target,
            size,
            find_browser(browser),
            own_tree(source.folder),
        )
    except HandbookError as error:
        fail(str(error))
    say([f"{size}: {one_line(target)}"])


def print_page(html: str, title: str, target: Path, size: str, browser: str, tree: Path) -> None:
    """Print the content of one page into ``target``. Raises PaperError, or PlaceError for a link on the way."""
    with tempfile.TemporaryDirectory(prefix="handbook-paper-") as work:
        site, made = Path(work) / "site", Path(work) / "page.pdf"
        shutil.copytree(Path(str(resource_files("site_build.theme"))) / "assets", site / "assets")
        join_assets(site)
        with (site / "assets/css/whole.css").open("a", encoding="utf-8") as style:
            style.write(paper_style(size))
        files = _loaded_files(site)
        files[DOCUMENT] = single_document(html, f"{INSPECTION}page.html", title).encode()
        with closed_server(files) as server:
            _print(server, browser, made, Path(work) / "profile")
        try:
            write_file(target, made.read_bytes(), tree)
        except OSError as error:
            raise PaperError(f"{one_line(target)}: cannot be written ({error.strerror})") from None


def find_browser(named: Path | None = None) -> str:
    """The Chromium for printing: the named one, otherwise the first on the search path.

    Raises PaperError where there is none.
    """
    found = shutil.which(str(named)) if named else next(filter(None, map(program, BROWSERS)), None)
    if found is None:
        read = f"no program {one_line(named)}" if named else "no Chromium on this machine"
        raise PaperError(f"browser: read {read}; allowed: an installed Chromium, or its path after --browser")
    return found


def write_paper(folder: Path, target: Path, size: str, browser: str, cache: Path | None, with_dossiers: bool) -> int:
    """Build ``folder`` and print it into ``target``; its number of pages.

    Raises
    ------
    HandbookError   a fault of the methods
    PaperError      the browser failed, or the library that reads page numbers is not installed
    """
    if find_spec("pypdf") is None:
        raise PaperError("paper: read no pypdf library; allowed: the package installed with its extra [paper]")
    with tempfile.TemporaryDirectory(prefix="handbook-paper-") as work:
        site, made = Path(work) / "site", Path(work) / "handbook.pdf"
        build_site(folder, site, Choices(cache=cache))
        sheets = print_site(site, made, size, browser, with_dossiers)
        try:
            write_file(target, made.read_bytes(), own_tree(folder))
        except OSError as error:
            raise PaperError(f"{one_line(target)}: cannot be written ({error.strerror})") from None
    return sheets


def print_site(site: Path, target: Path, size: str, browser: str, with_dossiers: bool = False) -> int:
    """Print a built site, which is changed by it: twice, the second time with page numbers; its number of pages."""
    from pypdf import PdfReader

    with (site / "assets/css/whole.css").open("a", encoding="utf-8") as style:
        style.write(paper_style(size))
    files = _loaded_files(site)
    with closed_server(files) as server:
        files[DOCUMENT] = paper_document(site, None, with_dossiers).encode()
        _print(server, browser, target, site.parent / "profile")
        pages = chapter_pages(target)
        files[DOCUMENT] = paper_document(site, pages, with_dossiers).encode()
        _print(server, browser, target, site.parent / "profile")
    if chapter_pages(target) != pages:
        raise PaperError("paper: the page numbers moved between two printings")
    return len(PdfReader(target).pages)


def chapter_pages(pdf: Path) -> dict[str, int]:
    """The page of ``pdf``, from 1, on which each chapter begins, by the chapter's id."""
    from pypdf import PdfReader

    reader = PdfReader(pdf)
    return {
        name.lstrip("/"): reader.get_destination_page_number(place) + 1
        for name, place in reader.named_destinations.items()
        if name.lstrip("/").startswith("c") and name.lstrip("/")[1:].isdigit()
    }


def _loaded_files(site: Path) -> dict[str, bytes]:
    """Files that a printed page may load: styles, fonts and pictures of the site, except links."""
    paths = (path for path in site_files(site) if Path(path).suffix.lower() in KINDS and not path.endswith(".html"))
    return {path: (site / path).read_bytes() for path in paths if not (site / path).is_symlink()}


def _print(server: ClosedServer, browser: str, target: Path, profile: Path) -> None:
    target.unlink(missing_ok=True)
    command = [
        browser,
        "--headless=new",
        "--disable-gpu",
        "--no-first-run",
        "--disable-background-networking",
        "--disable-extensions",
        "--disable-component-update",
        "--disable-sync",
        "--no-pings",
        # Every request goes to the closed server, including those to this machine's own addresses; no name is resolved.
        f"--proxy-server={server.proxy}",
        "--proxy-bypass-list=<-loopback>",
        "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
        "--disable-quic",
        "--no-pdf-header-footer",
        "--generate-pdf-document-outline",
        f"--user-data-dir={profile}",
        f"--print-to-pdf={target}",
        server.address(DOCUMENT),
    ]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        command.insert(1, "--no-sandbox")  # Chromium refuses its sandbox to root
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=SECONDS, check=False)
    except (OSError, subprocess.TimeoutExpired) as error:
        raise PaperError(f"browser: {Path(browser).name} did not print ({type(error).__name__})") from None
    if not target.is_file():
        lines = done.stderr.strip().splitlines() or ["no message"]
        raise PaperError(f"browser: {Path(browser).name} did not print ({lines[-1]})")
