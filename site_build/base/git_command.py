"""Runs git with fixed settings and a fixed environment, so that a clone cannot decide which program runs.

A repository's settings may come from a stranger, such as an archive or a shared folder. Settings of the system and of
the user are ignored too, so that a report is the same on every machine; only the user's list of trusted folders counts.
"""

from __future__ import annotations

import os
import subprocess
import tempfile
from functools import lru_cache
from pathlib import Path

from handbook.base import deadline
from handbook.base.errors import HandbookError
from site_build.base.programs import program

#: Settings that could start a program, select another repository, or change the output.
_SETTINGS = {
    "core.fsmonitor": "false",
    "core.hooksPath": os.devnull,
    "core.attributesFile": os.devnull,
    "core.excludesFile": os.devnull,
    "core.pager": "cat",
    "core.quotepath": "off",
    "color.ui": "false",
    "diff.external": "",
    "diff.renames": "true",
    "diff.renameLimit": "1000",
    "log.showSignature": "false",
    "gpg.program": "false",
    "safe.bareRepository": "explicit",
    "protocol.allow": "never",
    "credential.helper": "",
}
_SURROUNDINGS = {
    "GIT_CONFIG_NOSYSTEM": "1",
    "GIT_CONFIG_SYSTEM": os.devnull,
    "GIT_CONFIG_GLOBAL": os.devnull,
    "GIT_ATTR_NOSYSTEM": "1",
    "GIT_NO_REPLACE_OBJECTS": "1",
    "GIT_GRAFT_FILE": os.devnull,
    # Missing objects are not fetched, because the place to fetch from can be a program.
    "GIT_NO_LAZY_FETCH": "1",
    "GIT_ALLOW_PROTOCOL": "none",
    "GIT_OPTIONAL_LOCKS": "0",
    "GIT_TERMINAL_PROMPT": "0",
    "GIT_ASKPASS": "",
    "GIT_SSH_COMMAND": "false",
    "GIT_PAGER": "cat",
    "GIT_LITERAL_PATHSPECS": "0",
    "LC_ALL": "C",
}


class RevisionError(HandbookError):
    """A revision cannot be read; the text gives the reason and the remedy."""


def run_git(folder: Path, *arguments: str, given: bytes | None = None, may_fail: bool = False) -> bytes:
    """Standard output of one git command in ``folder``; empty where the command fails and ``may_fail``."""
    settings = [part for key, value in _SETTINGS.items() for part in ("-c", f"{key}={value}")]
    settings += [part for place in _trusted() for part in ("-c", f"safe.directory={place}")]
    done = _run([*settings, "--no-pager", *arguments], folder, _bare_surroundings() | _SURROUNDINGS, given)
    if done.returncode == 0:
        return done.stdout
    if may_fail:
        return b""
    said = done.stderr.decode("utf-8", "replace").strip().splitlines()
    raise RevisionError(f"git {arguments[0]}: {said[0] if said else 'failed'}")


@lru_cache(maxsize=1)
def _trusted() -> tuple[str, ...]:
    """Folders of other owners that the user trusts, from the user's own settings, read outside any repository."""
    settings = {name: value for name, value in os.environ.items() if name.startswith("GIT_CONFIG")}
    away = _bare_surroundings() | settings | {"GIT_DIR": os.devnull}
    with tempfile.TemporaryDirectory() as nowhere:
        found = _run(["config", "-z", "--get-all", "safe.directory"], Path(nowhere), away).stdout
    return tuple(filter(None, found.decode("utf-8", "surrogateescape").split("\0")))


def _bare_surroundings() -> dict[str, str]:
    """The environment without git's own variables: those of a hook select another repository."""
    return {name: value for name, value in os.environ.items() if not name.startswith("GIT_")}


def _run(arguments: list[str], folder: Path, surroundings: dict[str, str], given: bytes | None = None):
    git = program("git")
    if git is None:
        raise RevisionError("git: not found on this machine; comparing revisions needs it")
    try:
        return subprocess.run(
            [git, *arguments],
            cwd=folder,
            env=surroundings,
            input=given,
            capture_output=True,
            check=False,
            timeout=deadline.GIT_SECONDS,
        )
    except subprocess.TimeoutExpired as error:
        read = f"more than {error.timeout:g} s"
        raise RevisionError(f"git: read {read} in a command; allowed: a repository that git reads sooner") from None
    except OSError as error:
        raise RevisionError(f"git: cannot be started ({error.strerror})") from None
