"""What can go wrong with what builds keep, and with clocks, each as a function of a standing site (see build_faults.py)."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable
from pathlib import Path
from random import Random

from tests.building import assert_clear, assert_same, clean_build, tree
from tests.standing import Stand


def _each(change: Callable[[Path, Random], None]) -> Callable[[list[Path], Random], None]:
    def spoil(files: list[Path], rng: Random) -> None:
        for path in files:
            change(path, rng)

    return spoil


def _instead(make: Callable[[Path], None]) -> Callable[[Path, Random], None]:
    def put(path: Path, rng: Random) -> None:
        path.unlink()
        make(path)

    return put


def _rotated(files: list[Path], rng: Random) -> None:
    contents = [path.read_bytes() for path in files]
    for path, data in zip(files, contents[1:] + contents[:1], strict=True):
        path.write_bytes(data)


def _one_bit(path: Path, rng: Random) -> None:
    data = bytearray(path.read_bytes())
    if data:
        data[rng.randrange(len(data))] ^= 1 << rng.randrange(8)
    path.write_bytes(data)


#: Ways to spoil the files of a cache.
SPOILT = {
    "cut short": _each(lambda path, rng: os.truncate(path, path.stat().st_size // 2)),
    "emptied": _each(lambda path, rng: os.truncate(path, 0)),
    "random bytes": _each(lambda path, rng: path.write_bytes(rng.randbytes(path.stat().st_size))),
    "one bit turned": _each(_one_bit),
    "changed places": _rotated,
    "removed": _each(lambda path, rng: path.unlink()),
    "folder instead": _each(_instead(lambda path: path.mkdir())),
    "link to nothing instead": _each(_instead(lambda path: path.symlink_to("nowhere"))),
    "link to itself instead": _each(_instead(lambda path: path.symlink_to(path.name))),
    "pipe instead": _each(_instead(os.mkfifo)),
}


def spoilt_cache(stand: Stand, how: str, rng: Random, share: float = 1.0, keeps_site: bool = True) -> None:
    """Files of the cache are spoilt; the build gives the same site all the same."""
    files = sorted(path for path in stand.cache.rglob("*") if path.is_file())
    assert files, "builds keep no cache yet"
    SPOILT[how](files if share == 1.0 else rng.sample(files, max(1, round(len(files) * share))), rng)
    if not keeps_site:
        shutil.rmtree(stand.site)
    ended = stand.build()
    assert ended.code == 0, ended
    assert_same(tree(stand.site), stand.trees.after)
    stand.assert_mends()


def cache_is_no_folder(stand: Stand, kind: str) -> None:
    """In the place of the cache stands a file or a link to nothing: the build does without, or says so in one line."""
    shutil.rmtree(stand.cache, ignore_errors=True)
    if kind == "file":
        stand.cache.write_text("no cache")
    else:
        stand.cache.symlink_to("nowhere/at-all")
    stand.assert_ended_well(stand.build())
    stand.cache.unlink(missing_ok=True) if not stand.cache.is_dir() else None
    stand.assert_mends()


def spoilt_record(stand: Stand, how: str, rng: Random) -> None:
    """The record of the site is spoilt: nothing shows any more that a build made it, so that it stays; once it is
    removed by hand, the build makes it anew.
    """
    SPOILT[how]([path for path in stand.records.iterdir() if path.suffix == ".json"], rng)
    ended = stand.build()
    stand.assert_ended_well(ended)
    if ended.code:
        assert "allowed: an empty folder or an earlier site" in ended.errors, ended.errors
        shutil.rmtree(stand.site)
        for path in stand.records.iterdir():
            path.rmdir() if path.is_dir() and not path.is_symlink() else path.unlink()
    stand.assert_mends()


def cache_of_another_version(stand: Stand) -> None:
    """The cache and the site come from another version of the engine: nothing of it is taken over."""
    code = "import handbook; handbook.__version__ = '0.0.1'; from site_build.cli.main import main; main()"
    running = stand.start(command=(sys.executable, "-c", code))
    _, errors = running.communicate(timeout=180)
    assert running.returncode == 0, errors
    assert tree(stand.site) != stand.trees.after, "a site says by which version it was made"
    stand.assert_mends()


def damaged_site(stand: Stand, rng: Random) -> None:
    """Files of the site itself were cut, lost or added since: the next build mends them, in the pages that stay too."""
    pages = sorted(stand.site.rglob("*.html"))
    for path in rng.sample(pages, 3):
        os.truncate(path, path.stat().st_size // 2)
    (stand.site / "assets/method.js").unlink()
    (stand.site / "stranger.html").write_text("who put this here?")
    stand.assert_mends()


# ---- wrong clocks ----


def wrong_times(stand: Stand, moment: float) -> None:
    """Every file of handbook, cache and site bears the time ``moment``."""
    for path in stand.place.rglob("*"):
        os.utime(path, (moment, moment), follow_symlinks=False)
    stand.assert_mends()


def change_that_keeps_size_and_time(stand: Stand) -> None:
    """A page whose size and time stay as they were is read again when its words change."""
    stand.assert_mends()
    page = stand.folder / "soy-eggs.md"
    was, text = page.stat(), page.read_text("utf-8")
    page.write_text(text.replace("target_salt: 1.7 % of all", "target_salt: 1.8 % of all"), "utf-8")
    os.utime(page, ns=(was.st_atime_ns, was.st_mtime_ns))
    assert page.stat().st_size == was.st_size
    assert stand.build().code == 0
    clean = clean_build(stand.folder, stand.place.with_name("clean"))
    assert_same(tree(stand.site), tree(clean))
    shutil.rmtree(clean.parent)
    page.write_text(text, "utf-8")
    stand.assert_mends()


def told_moment(stand: Stand, moment: str) -> None:
    """SOURCE_DATE_EPOCH is another than at the last build: the site follows it, or a wrong one is named in one line."""
    ended = stand.build(env=stand.environment(SOURCE_DATE_EPOCH=moment))
    if moment.isdecimal() and int(moment) < 253402300800:  # the year 10000
        assert ended.code == 0, ended
        clean = clean_build(
            stand.folder, stand.place.with_name("clean"), env=stand.environment(SOURCE_DATE_EPOCH=moment)
        )
        assert_same(tree(stand.site), tree(clean))
        shutil.rmtree(clean.parent)
    else:
        assert_clear(ended)
        assert "SOURCE_DATE_EPOCH" in ended.errors, ended.errors
        assert_same(tree(stand.site), stand.trees.before)
    stand.assert_mends()
