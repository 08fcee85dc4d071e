"""What can go wrong around a build, each as a function of a standing site: it does the harm, then checks the site.

A fault raises AssertionError when the site is not whole, the message not clear, or the next build does not mend.
"""

from __future__ import annotations

import ctypes
import os
import resource
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from random import Random

from tests.building import assert_clear, assert_same, assert_whole, tree
from tests.standing import Stand, move_in

#: Where the build is ended: before its n-th event of a kind that touches files. Python's audit events tell of them.
_ENDING = """
import atexit, os, signal, sys
kinds, number, note, way = sys.argv[1].split(","), int(sys.argv[2]), sys.argv[3], sys.argv[4]
seen, first = 0, os.getpid()
def touched(event, arguments):
    global seen
    writes = event == "open" and isinstance(arguments[2], int) and arguments[2] & (os.O_WRONLY | os.O_RDWR | os.O_CREAT)
    if not (writes or event in ("os.rename", "os.remove", "os.rmdir", "os.mkdir", "os.symlink", "os.link")):
        return
    if event in kinds or "any" in kinds:
        seen += 1
        if seen == number:
            os.killpg(0, signal.SIGKILL)
if number == 0:
    def write_down():
        text = str(seen)  # before the note itself is opened, which would count
        if os.getpid() == first:
            open(note, "w").write(text)
    atexit.register(write_down)
from site_build.build import publish
from site_build.cli.main import main
if way == "two steps":
    publish._exchange = lambda *_: False
sys.argv = ["handbook", *sys.argv[5:]]
sys.addaudithook(touched)
main()
"""
_CAP_DAC_OVERRIDE, _CAP_DAC_READ_SEARCH, _PR_CAPBSET_DROP = 1, 2, 24


# ---- ended at any moment ----


def killed_at_random(stand: Stand, rng: Random, sign: int = signal.SIGKILL, earliest: float = 0.0) -> None:
    """The whole process group is ended at a random moment of a build, after ``earliest`` of its usual time."""
    running = stand.start()
    time.sleep(rng.uniform(earliest, 1.05) * stand.trees.seconds)
    if running.poll() is None:
        os.killpg(running.pid, sign)
    _, errors = running.communicate(timeout=60)
    assert "Traceback" not in errors, errors
    stand.assert_good()
    stand.assert_mends()


def interrupted(stand: Stand, rng: Random) -> None:
    """Ctrl-C at a random moment: the site is whole and no traceback is shown."""
    killed_at_random(stand, rng, signal.SIGINT, 0.6)  # before, Python itself is still starting and speaks for itself


def terminated(stand: Stand, rng: Random) -> None:
    """A polite request to end, as a machine that shuts down sends it."""
    killed_at_random(stand, rng, signal.SIGTERM)


def count_events(stand: Stand, kinds: str = "any", way: str = "one step") -> int:
    """How often an undisturbed build touches files in these ways, in the process that was started.

    ``way`` is how the site changes: in "one step", or in "two steps" as where the system cannot exchange two folders.
    """
    note = stand.place / "count"
    assert _run_until(stand, kinds, 0, note, way) == 0
    number = int(note.read_text())
    note.unlink()
    return number


def killed_before(stand: Stand, number: int, kinds: str = "any") -> None:
    """The process group is ended just before a process touches files for the ``number``-th time."""
    assert _run_until(stand, kinds, number, stand.place / "count") in (0, -signal.SIGKILL)
    stand.assert_good()
    stand.assert_mends()


def killed_between_two_steps(stand: Stand, number: int) -> None:
    """The same before the ``number``-th renaming where two folders cannot be exchanged: for a moment no site stands.

    The next build brings the old one back before it does anything, were it to fail itself.
    """
    assert _run_until(stand, "os.rename", number, stand.place / "count", "two steps") in (0, -signal.SIGKILL)
    if not stand.site.is_dir():
        house = (stand.folder / "house.yml").read_bytes()
        (stand.folder / "house.yml").write_text("kitchen: [\n", "utf-8")
        stand.assert_ended_well(stand.build())
        (stand.folder / "house.yml").write_bytes(house)
    stand.assert_good()
    stand.assert_mends()


def _run_until(stand: Stand, kinds: str, number: int, note: Path, way: str = "one step") -> int:
    command = (sys.executable, "-c", _ENDING, kinds, str(number), str(note), way)
    running = stand.start(command=command)
    running.communicate(timeout=180)
    return running.returncode


# ---- no room, no right ----


def file_size_limited(stand: Stand, most_bytes: int) -> None:
    """No file may grow beyond ``most_bytes``: the write fails as on a full disk, whoever runs it."""
    ended = stand.build(before=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, most_bytes)))
    stand.assert_ended_well(ended)
    stand.assert_mends()


def disk_full(stand: Stand, room: int) -> None:
    """The disk that holds handbook, cache and site has ``room`` bytes left. Needs the right to mount."""
    with small_disk(stand.place, room):
        ended = stand.build()
        stand.assert_ended_well(ended)
        shutil.copytree(stand.place, stand.place.with_name("kept"), symlinks=True)
    kept = Stand(place=stand.place.with_name("kept"), trees=stand.trees)
    move_in(kept, stand.place)
    kept.assert_mends()
    shutil.rmtree(kept.place)


@contextmanager
def small_disk(place: Path, room: int) -> Iterator[None]:
    """Put what ``place`` holds on a disk of its own, with ``room`` bytes left."""
    held = place.with_name("held")
    shutil.copytree(place, held, symlinks=True)
    pages = sum(-(-path.lstat().st_size // 4096) + 1 for path in held.rglob("*"))
    _mount(place, pages * 4096 + room)
    try:
        shutil.copytree(held, place, symlinks=True, dirs_exist_ok=True)
        yield
    finally:
        subprocess.run(["umount", str(place)], check=True)
        shutil.rmtree(held)


def may_mount(place: Path) -> bool:
    """Whether a small disk can be had here."""
    place.mkdir()
    try:
        _mount(place, 65536)
    except (OSError, subprocess.CalledProcessError):
        return False
    subprocess.run(["umount", str(place)], check=True)
    return True


def _mount(place: Path, size: int) -> None:
    options = ["-t", "tmpfs", "-o", f"size={size}", "tmpfs"]
    subprocess.run(["mount", *options, str(place)], check=True, capture_output=True)


def bound_by_modes() -> None:
    """For a new process: file modes bind it, root too, who then has no right to override them."""
    library = ctypes.CDLL(None, use_errno=True)
    for right in (_CAP_DAC_OVERRIDE, _CAP_DAC_READ_SEARCH):
        if os.geteuid() == 0 and library.prctl(_PR_CAPBSET_DROP, right, 0, 0, 0):
            raise OSError(ctypes.get_errno(), "the right to override file modes could not be given up")


def read_only(stand: Stand, what: str) -> None:
    """The folder around the site, the site, or the cache may not be written."""
    targets = {"around": [stand.work], "site": _folders(stand.site), "cache": _folders(stand.cache.parent)}[what]
    assert all(path.is_dir() for path in targets), f"no {what} to protect"
    for path in targets:
        path.chmod(0o555)
    try:
        _assert_binds(targets[0])
        ended = stand.build(before=bound_by_modes)
    finally:
        for path in _folders(stand.place):  # a build may have moved them
            path.chmod(0o755)
    stand.assert_ended_well(ended)
    stand.assert_mends()


def _folders(root: Path) -> list[Path]:
    return [root, *(path for path in root.rglob("*") if path.is_dir() and not path.is_symlink())]


def _assert_binds(folder: Path) -> None:
    probe = [sys.executable, "-c", "import sys; open(sys.argv[1], 'w')", str(folder / "probe")]
    tried = subprocess.run(probe, capture_output=True, preexec_fn=bound_by_modes)
    assert tried.returncode != 0, "the folder can be written all the same: this check would show nothing"


# ---- odd files ----


def unreadable_page(stand: Stand) -> None:
    """A page that may not be read is named in one line."""
    page = stand.folder / "soy-eggs.md"
    page.chmod(0)
    ended = stand.build(before=bound_by_modes)
    page.chmod(0o644)
    assert_clear(ended)
    assert "soy-eggs.md" in ended.errors, ended.errors
    assert_same(tree(stand.site), stand.trees.before)
    stand.assert_mends()


def _pipe(path: Path) -> None:
    os.mkfifo(path)


def _socket(path: Path) -> None:
    here = os.getcwd()
    with socket.socket(socket.AF_UNIX) as opened:
        os.chdir(path.parent)  # the address of a socket must be short
        try:
            opened.bind(path.name)
        finally:
            os.chdir(here)


#: Things that are no file, each by how it is made.
ODD = {
    "folder": lambda path: path.mkdir(),
    "link to nothing": lambda path: path.symlink_to("nowhere"),
    "link to itself": lambda path: path.symlink_to(path.name),
    "pipe": _pipe,
    "socket": _socket,
}


def odd_file(stand: Stand, kind: str, name: str) -> None:
    """A thing that is no file stands under a page's or picture's name: passed over or named in one line, never waited for."""
    path = stand.folder / name
    ODD[kind](path)
    ended = stand.build()
    stand.assert_ended_well(ended)
    path.rmdir() if kind == "folder" else path.unlink()
    stand.assert_mends()


# ---- at the same time ----


def changed_meanwhile(stand: Stand, name: str, rng: Random) -> None:
    """A file is written again and again, then taken away and put back, while the build runs."""
    path = stand.folder / name
    good = path.read_bytes()
    other = good[:-20] + b"\n" if path.suffix != ".yml" else good.replace(b"price: 2.10", b"price: 2.30")
    running = stand.start()
    while running.poll() is None:
        for data in (other, None, good):
            if data is None:
                path.unlink(missing_ok=True)
            else:
                path.write_bytes(data)
            time.sleep(rng.uniform(0, 0.01))
    _, errors = running.communicate()
    path.write_bytes(good)
    assert "Traceback" not in errors, errors
    assert running.returncode in (0, 1), errors
    if running.returncode == 1:
        assert errors.strip() and all(":" in line for line in errors.strip().splitlines()), errors
    assert_whole(stand.site)
    stand.assert_mends()


def built_twice(stand: Stand, wait: float) -> None:
    """Two builds of one handbook into one site, the second ``wait`` seconds later: one at least does it."""
    running = []
    for _ in range(2):
        running.append(stand.start())
        time.sleep(wait)
    said = [each.communicate(timeout=180)[1] for each in running]
    for each, errors in zip(running, said, strict=True):
        assert "Traceback" not in errors, errors
        assert each.returncode == 0 or (each.returncode == 1 and len(errors.strip().splitlines()) == 1), errors
    assert any(each.returncode == 0 for each in running), said
    assert_same(tree(stand.site), stand.trees.after)
    stand.assert_mends()


def built_into_two_sites(stand: Stand) -> None:
    """Two builds of one handbook into two sites, one cache between them: both are done."""
    sites = (stand.site, stand.work / "second")
    running = [stand.start(site=site) for site in sites]
    for each, site in zip(running, sites, strict=True):
        _, errors = each.communicate(timeout=180)
        assert each.returncode == 0 and errors == "", errors
        assert_same(tree(site), stand.trees.after)
    shutil.rmtree(sites[1])
    stand.assert_mends()
