"""A hash of everything that determines a result: engine, generator and the libraries that produce parts of pages."""

from __future__ import annotations

import platform
from functools import lru_cache
from hashlib import sha256
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import handbook
import site_build

#: Libraries that determine the bytes of a page.
LIBRARIES = ("numpy", "pint", "PyYAML", "mkdocs", "Markdown", "Jinja2", "MarkupSafe", "nh3", "pillow")


@lru_cache
def fingerprint() -> str:
    """A hash of code, data files, library versions and kind of machine. Results cached under another value are stale."""
    mark = sha256()
    for package in (Path(handbook.__file__).parent, Path(site_build.__file__).parent):
        for path in sorted(package.rglob("*")):
            if path.is_file() and "__pycache__" not in path.parts:
                mark.update(path.relative_to(package).as_posix().encode() + b"\0")
                mark.update(sha256(path.read_bytes()).digest())
    known = [f"{name} {_version(name)}" for name in LIBRARIES]
    mark.update("\n".join([handbook.__version__, platform.python_version(), platform.machine(), *known]).encode())
    return mark.hexdigest()


def key_of(*parts: str | bytes) -> str:
    """A key for a result that this version of the engine computes from ``parts``."""
    data = [part.encode("utf-8", "surrogatepass") if isinstance(part, str) else part for part in parts]
    lengths = ",".join([str(len(each)) for each in data])
    return sha256(b"".join([fingerprint().encode(), lengths.encode(), b";", *data])).hexdigest()


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "none"
