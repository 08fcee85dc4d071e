"""``handbook paper``: the whole handbook as one PDF, printed by Chromium."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from importlib.util import find_spec
from pathlib import Path

import click

from handbook.base.errors import HandbookError
from site_build.base.files import write_file
from site_build.base.places import one_line, own_tree
from site_build.base.programs import program
from site_build.build.assembly import site_files
from site_build.build.build_site import Choices, build_site
from site_build.cli.methods_folder import MethodsFolder
from site_build.cli.terminal import fail, say
from site_build.outputs.closed_server import KINDS, ClosedServer, closed_server
from site_build.outputs.paper import SIZES, paper_document, paper_style

BROWSERS = ("chromium", "chromium-browser", "chrome", "google-chrome")
SECONDS = 600
DOCUMENT = "whole-handbook.html"


class PaperError(HandbookError):
    """The PDF could not be made."""


def register(main: click.Group) -> None:
    """Add the command to the group."""
    main.add_command(paper)


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


def find_browser(named: Path | None = None) -> str:
    """The Chromium for printing: the named one, otherwise the first on the search path.

    Raises PaperError where there is none.
    """
    found = shutil.which(str(named)) if named else next(filter(None, map(program, BROWSERS)), None)
    if found is None:
        read = f"no program {one_line(named)}" if named else "no Chromium on this machine"
        raise PaperError(f"browser: read {read}; allowed: an installed Chromium, or its path after --browser")
    return found


def write_paper(
    folder: Path, target: Path, size: str, browser: str, cache: Path | None = None, with_dossiers: bool = False
) -> int:
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
