"""Builds as a user starts them: the command in a process of its own, and what its site must be afterwards.

Everything here goes through the ``handbook`` command and the files it leaves, so that it measures and attacks any way
of building alike.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from functools import cache
from hashlib import sha256
from html.parser import HTMLParser
from pathlib import Path
from tempfile import TemporaryFile
from urllib.parse import unquote, urlsplit

from msgspec import Struct

from tests import ready

ROOT = Path(__file__).resolve().parent.parent
METHODS = ROOT / "methods"
COMMAND = (sys.executable, "-m", "site_build.cli.main")
#: The folder of what builds keep, in the user's cache folder; the site's own list of its files.
CACHE, LIST, WORKER = "cook-method-handbook", "build.json", "service-worker.js"
#: A build that takes longer than this hangs.
PATIENCE = 90
#: The moment that all builds of a test are made at, for dates in files: 1 November 2026, 12:00 UTC.
MOMENT = "1793534400"
#: The server of ready commands (tests/ready.py), where a test has one.
served: Path | None = None


class Ended(Struct, frozen=True, kw_only=True):
    """How a command ended: exit code (negative: the signal), standard output, standard error."""

    code: int
    output: str
    errors: str


def environment(**more: str) -> dict[str, str]:
    """The environment of a build: this code, a fixed moment, and ``more``; an empty value takes a variable out."""
    found = os.environ | {
        "PYTHONPATH": str(ROOT),
        "SOURCE_DATE_EPOCH": MOMENT,
        "PYTHONDONTWRITEBYTECODE": "1",
        "PYTHONIOENCODING": "utf-8:backslashreplace",
    }
    return {name: value for name, value in (found | more).items() if value != ""}


def handbook(*arguments: str | Path, cwd: Path | None = None, env: dict | None = None, before=None) -> Ended:
    """Run the command to its end. ``before`` runs in the new process, to put limits on it.

    Raises subprocess.TimeoutExpired when it hangs; the whole process group is then ended.
    """
    if served and before is None and ready.is_as_started(env or environment(), environment()):
        return _served(arguments, cwd, env or environment())
    started = start(*arguments, cwd=cwd, env=env, before=before)
    try:
        output, errors = started.communicate(timeout=PATIENCE)
    except subprocess.TimeoutExpired:
        os.killpg(started.pid, 9)
        started.communicate()
        raise
    return Ended(code=started.returncode, output=output, errors=errors)


def _served(arguments, cwd: Path | None, env: dict[str, str]) -> Ended:
    with open(os.devnull) as nothing, TemporaryFile("w+") as output, TemporaryFile("w+") as errors:
        files = [each.fileno() for each in (nothing, output, errors)]
        command = ready.Command(served, [*map(str, arguments)], str(cwd or Path.cwd()), env, files)
        try:
            code = command.wait(PATIENCE)
        except TimeoutError:
            os.killpg(command.pid, 9)
            raise subprocess.TimeoutExpired("handbook", PATIENCE) from None
        said = [os.pread(each, 1 << 30, 0).decode("utf-8", "backslashreplace") for each in files[1:]]
    return Ended(code=code, output=said[0], errors=said[1])


def start(
    *arguments: str | Path, cwd: Path | None = None, env: dict | None = None, before=None, command=COMMAND
) -> subprocess.Popen:
    """Start the command in a process group of its own."""
    return subprocess.Popen(
        [*command, *map(str, arguments)],
        cwd=cwd,
        env=env or environment(),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        errors="backslashreplace",
        start_new_session=True,
        preexec_fn=before,
    )


def build(folder: Path, site: Path, *options: str, **more) -> Ended:
    """``handbook build FOLDER --into SITE --quiet``."""
    return handbook("build", folder, "--into", site, "--quiet", *options, **more)


@cache
def has_option(option: str) -> bool:
    """Whether ``handbook build`` knows this option."""
    return re.search(rf"^\s+.*{re.escape(option)}\b", handbook("build", "--help").output, re.M) is not None


def clean_build(folder: Path, place: Path, **more) -> Path:
    """The site that ``folder`` gives where nothing was built before: a copy of it in the new folder ``place``."""
    shutil.copytree(folder, place / folder.name, symlinks=True)
    more["env"] = (more.get("env") or environment()) | {"XDG_CACHE_HOME": str(place / "kept")}
    ended = build(place / folder.name, place / "site", **more)
    assert ended.code == 0, ended
    return place / "site"


def tree(site: Path) -> dict[str, str]:
    """The SHA-256 of every file of a folder by its path."""
    return {
        path.relative_to(site).as_posix(): sha256(path.read_bytes()).hexdigest()
        for path in sorted(site.rglob("*"))
        if path.is_file()
    }


def assert_same(found: dict[str, str], wanted: dict[str, str]) -> None:
    """The two trees hold the same files with the same bytes."""
    different = sorted(path for path in found.keys() & wanted.keys() if found[path] != wanted[path])
    missing, more = sorted(wanted.keys() - found.keys()), sorted(found.keys() - wanted.keys())
    said = [f"{word}: {', '.join(paths[:6])}" for word, paths in _named(different, missing, more) if paths]
    assert not said, "; ".join(said)


def _named(different, missing, more):
    return ("other bytes", different), ("missing", missing), ("too many", more)


def assert_whole(site: Path) -> None:
    """The site is all of one build: every file is as the build listed it, and every link leads to a file and an id."""
    assert site.is_dir(), f"{site.name} is gone"
    listed = listed_files(site)
    assert listed, "the site lists no files"
    hashes = tree(site)
    for path, start_of_hash in listed.items():
        assert path in hashes, f"{path} is listed and missing"
        assert hashes[path].startswith(start_of_hash), f"{path} is not as it was listed"
    if (site / LIST).is_file():
        assert set(hashes) <= set(listed) | {LIST}, f"not listed: {sorted(set(hashes) - set(listed))[:5]}"
    dead = dead_links(site)
    assert not dead, dead[:5]


def listed_files(site: Path) -> dict[str, str]:
    """The build's own list, each file with (the start of) its SHA-256; of the list or, without one, of the worker."""
    if (site / LIST).is_file():
        return json.loads((site / LIST).read_text("utf-8"))["files"]
    script = (site / WORKER).read_text("utf-8")
    return json.loads(re.search(r"^const FILES = (\{.*?\});$", script, re.S | re.M)[1])


def dead_links(site: Path) -> list[str]:
    """Addresses of pages that lead to no file of the site, or to an id that its page has not."""
    pages = {path: _Parts.of(path) for path in sorted(site.rglob("*.html"))}
    dead = []
    for path, parts in pages.items():
        for address in parts.addresses:
            split = urlsplit(address)
            if split.scheme or split.netloc or path.name == "404.html":  # the latter is served at any address
                continue
            target = (path.parent / unquote(split.path)).resolve() if split.path else path
            if not target.is_file() or (split.fragment and target in pages and not pages[target].has(split.fragment)):
                dead.append(f"{path.relative_to(site)}: {address}")
    return dead


class _Parts(HTMLParser):
    """The addresses and ids of one page."""

    def __init__(self):
        super().__init__()
        self.addresses: list[str] = []
        self.ids: set[str] = set()

    @classmethod
    def of(cls, path: Path) -> _Parts:
        parts = cls()
        parts.feed(path.read_text("utf-8"))
        return parts

    def handle_starttag(self, tag, attrs):
        attributes = dict(attrs)
        self.addresses += [attributes[name] or "" for name in ("href", "src") if name in attributes]
        self.addresses += [part.split()[0] for part in attributes.get("srcset", "").split(",") if part.strip()]
        if "id" in attributes:
            self.ids.add(attributes["id"])

    def has(self, fragment: str) -> bool:
        return unquote(fragment) in self.ids


def assert_clear(ended: Ended, most_lines: int = 1) -> None:
    """The command said in at most ``most_lines`` lines why it could not be done, without a traceback, and nothing else."""
    assert ended.code == 1, ended
    lines = ended.errors.strip().splitlines()
    assert 1 <= len(lines) <= most_lines, ended.errors
    assert "Traceback" not in ended.errors and "Error:" not in ended.errors, ended.errors
    assert all(":" in line for line in lines), ended.errors


def small_handbook(folder: Path) -> Path:
    """Five demo methods of five kinds and a plain page with a picture, whole in themselves, in the new ``folder``."""
    from random import Random

    from tests.big_pictures import write_picture

    names = ("brined-cucumbers", "cellar-cabbage", "dry-cured-duck", "brined-chicken-thighs", "soy-eggs")
    folder.mkdir(parents=True)
    for name in ("house.yml", "foods.csv"):
        (folder / name).write_bytes((METHODS / name).read_bytes())
    there = {f"{name}.md" for name in names}
    for name in names:
        text = (METHODS / f"{name}.md").read_text("utf-8")
        dead = [found for found in re.finditer(r"\[([^\]]+)\]\(([^)#]+\.md)[^)]*\)", text) if found[2] not in there]
        for found in dead:  # words stay where the page they led to is not here
            text = text.replace(found[0], found[1])
        (folder / f"{name}.md").write_text(text, "utf-8")
    (folder / "notes").mkdir()
    (folder / "notes" / "bench.md").write_text(
        "# The bench\n\n![Knives and boards on the bench](bench.jpg)\n\nSee [the eggs](../soy-eggs.md).\n", "utf-8"
    )
    write_picture(folder / "notes" / "bench.jpg", Random("bench"))
    return folder
