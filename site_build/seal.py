"""A seal on what is kept from build to build: what this user's builds did not write here themselves is worth nothing.

The cache lies beside the methods, where a clone can bring one along. Without the seal it could bring forged pages, and
a method that a safety rule stops would pass every check.
"""

from __future__ import annotations

import hmac
import os
import secrets
from contextlib import suppress
from functools import lru_cache
from pathlib import Path

from platformdirs import user_state_path

FILE, _BYTES = "cache-secret", 32


def seal(data: bytes, about: str = "") -> str:
    """The seal of ``data`` kept under the name ``about``: HMAC-SHA-256 (RFC 2104), in hexadecimal."""
    return hmac.digest(_secret(), about.encode() + b"\0" + data, "sha256").hex()


def is_sealed(data: bytes, mark: str, about: str = "") -> bool:
    """Whether ``mark`` is the seal of ``data`` under that name."""
    return hmac.compare_digest(seal(data, about).encode(), mark.encode("utf-8", "surrogatepass"))


@lru_cache
def _secret() -> bytes:
    """This user's secret on this machine; where none can be kept, one for this process."""
    path = user_state_path("cook-method-handbook", appauthor=False) / FILE
    with suppress(OSError):
        found = path.read_bytes()
        if len(found) == _BYTES:
            return found
    made = secrets.token_bytes(_BYTES)
    with suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        _write(path, made)
        return path.read_bytes()  # of two first builds at once the later one's
    return made


def _write(path: Path, data: bytes) -> None:
    beside = path.with_name(f"{path.name}-{os.getpid()}")
    with os.fdopen(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
        file.write(data)
    beside.replace(path)
