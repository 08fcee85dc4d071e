"""Git revisions of a methods folder, read through git's own commands without touching checkout or index.

Every path travels NUL-terminated, so that no name is quoted or cut; text filters and outside diff programs that a
repository may configure are never run.
"""

from __future__ import annotations

import os
import subprocess
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from handbook.errors import HandbookError
from site_build import deadline

_QUIET = ("-c", "core.fsmonitor=false", "-c", "core.quotepath=off", "-c", "color.ui=false")
_LINK, _SUBMODULE = "120000", "160000"
_LOG_FORMAT = "%x01%H%x02%an%x02%aI%x02%s%x02"


class RevisionError(HandbookError):
    """A revision cannot be read; the text says why and what to do."""


@dataclass(frozen=True)
class Entry:
    """One file of a revision: git's mode and the id of its content."""

    mode: str
    blob: str

    @property
    def is_link(self) -> bool:
        """Whether it is a symbolic link, whose content is its target."""
        return self.mode == _LINK


@dataclass(frozen=True)
class Change:
    """One file that differs: status A, D, M or R, content ids before and after ("" = not in git), and its paths."""

    status: str
    before: str
    after: str
    old_path: str
    path: str


@dataclass(frozen=True)
class Commit:
    """One commit: full id, author's name, moment as ISO 8601 text, subject line, and what it changed."""

    id: str
    author: str
    on: str
    subject: str
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class Repository:
    """The work tree that holds a methods folder. ``prefix`` is the folder's path in it, "" for the root itself."""

    root: Path
    prefix: str

    def commit_of(self, revision: str) -> str:
        """The full id of the commit that ``revision`` names.

        Raises RevisionError for what is no revision, an unborn branch, and a clone that does not reach back so far.
        """
        if not revision or revision.startswith("-") or "\0" in revision:
            raise RevisionError(f'revision: read "{revision}"; allowed: a commit, branch or tag')
        asked = "--verify", "--quiet", "--end-of-options", f"{revision}^{{commit}}"
        found = self._git("rev-parse", *asked, may_fail=True)
        commit = found.decode("ascii", "replace").strip()
        if commit and self._git("cat-file", "-t", commit, may_fail=True).strip() == b"commit":
            return commit
        raise RevisionError(self._why_missing(revision))

    def fork_of(self, base: str, head: str) -> str:
        """The commit in which ``head`` left ``base``, both full ids."""
        found = self._git("merge-base", base, head, may_fail=True).decode("ascii", "replace").split()
        if found:
            return found[0]
        more = " This clone is shallow: git fetch --unshallow origin" if self.is_shallow else ""
        raise RevisionError(f"revision: {base[:10]} and {head[:10]} have no commit in common.{more}")

    @property
    def is_shallow(self) -> bool:
        """Whether the clone holds only the newest part of the history."""
        return self._git("rev-parse", "--is-shallow-repository", may_fail=True).strip() == b"true"

    @cached_property
    def oldest_held(self) -> frozenset[str]:
        """Commits of a shallow clone whose parents it does not hold."""
        path = _text(self._git("rev-parse", "--git-path", "shallow", may_fail=True).rstrip(b"\n"))
        try:
            return frozenset((self.root / path).read_text("ascii").split()) if self.is_shallow else frozenset()
        except OSError:
            return frozenset()

    def parent_of(self, commit: str) -> str | None:
        """The first parent's full id, or None for a first commit."""
        found = self._git("rev-parse", "--verify", "--quiet", f"{commit}^1", may_fail=True)
        return found.decode("ascii").strip() or None

    def files(self, commit: str) -> dict[str, Entry]:
        """Every file below the methods folder in ``commit``, by path in the folder; nested repositories left out."""
        self._check_folder(commit)
        listed = self._git("ls-tree", "-r", "-z", "--full-tree", commit, *([f"{self.prefix}/"] if self.prefix else []))
        found = {}
        for row in filter(None, listed.split(b"\0")):
            head, _, name = row.partition(b"\t")
            mode, _, blob = head.decode("ascii").split()
            if mode != _SUBMODULE:
                found[self._inside(name)] = Entry(mode, blob)
        return found

    def changes(self, base: str, head: str | None) -> list[Change]:
        """Files that differ between two commits, renames found; ``head`` None means the working tree.

        Files of the working tree that git does not know, ignored ones too, count as added: a build reads them.
        """
        options = (
            "--raw",
            "-z",
            "-M",
            "--no-abbrev",
            "--no-ext-diff",
            "--no-textconv",
            "--ignore-submodules=all",
        )
        ends = (base,) if head is None else (base, head)
        found = self._changes_of(self._git("diff", *options, *ends, "--", *self._pathspec()))
        if head is None:
            listed = self._git("ls-files", "--others", "-z", "--", *self._pathspec())
            known = {each.path for each in found}
            paths = (self._inside(name) for name in listed.split(b"\0") if name)
            found += [Change("A", "", "", path, path) for path in paths if path not in known]
        return found

    def contents(self, blobs: list[str]) -> dict[str, bytes]:
        """The content of each blob by its id, from one git process."""
        wanted = list(dict.fromkeys(blobs))
        if not wanted:
            return {}
        data = self._git("cat-file", "--batch", given="\n".join(wanted).encode("ascii") + b"\n")
        found, at = {}, 0
        for blob in wanted:
            end = data.index(b"\n", at)
            head = data[at:end].split()
            if len(head) != 3:
                raise RevisionError(f"{blob[:10]}: its content is not in this clone; git fetch origin brings it")
            size = int(head[2])
            found[blob] = data[end + 1 : end + 1 + size]
            at = end + 1 + size + 1
        return found

    def log(self, commit: str, most: int = 200) -> list[Commit]:
        """The newest ``most`` commits that changed the methods folder, newest first, merges left out."""
        options = (
            "--raw",
            "-z",
            "-M",
            "--no-abbrev",
            "--no-ext-diff",
            "--no-textconv",
            "--no-merges",
            f"-n{most}",
        )
        data = self._git("log", *options, f"--format={_LOG_FORMAT}", commit, "--", *self._pathspec())
        return [self._commit(part) for part in data.split(b"\x01")[1:]]

    def _commit(self, part: bytes) -> Commit:
        # The subject may hold any sign but \x00; the last \x02 of the format ends it.
        name, author, on, rest = part.split(b"\x02", 3)
        subject, _, changed = rest.rpartition(b"\x02")
        words = [_text(each) for each in (name, author, on, subject)]
        return Commit(*words, tuple(self._changes_of(changed.lstrip(b"\0\n"))))

    def _changes_of(self, raw: bytes) -> list[Change]:
        fields = iter(raw.split(b"\0"))
        found = []
        for head in fields:
            if not head.strip(b"\n"):
                continue
            _, mode, before, after, status = head.decode("ascii").strip().lstrip(":").split()
            old = self._inside(next(fields))
            new = self._inside(next(fields)) if status[0] in "RC" else old
            if mode == _SUBMODULE:
                continue
            kind = status[0] if status[0] in "ADR" else "A" if status[0] == "C" else "M"
            found.append(Change(kind, _known(before), _known(after), old, new))
        return found

    def _inside(self, name: bytes) -> str:
        path = _text(name)
        return path[len(self.prefix) + 1 :] if self.prefix and path.startswith(f"{self.prefix}/") else path

    def _pathspec(self) -> tuple[str, ...]:
        return (f":(top,literal){self.prefix}",) if self.prefix else (":(top)",)

    def _check_folder(self, commit: str) -> None:
        if not self.prefix:
            return
        row = self._git("ls-tree", "-z", "--full-tree", commit, self.prefix)
        if row.startswith(_SUBMODULE.encode()):
            raise RevisionError(
                f"{self.prefix}: read a repository nested in {commit[:10]}; allowed: a folder of this repository. "
                f"Compare inside it: go into {self.prefix} and name its own revisions"
            )

    def _why_missing(self, revision: str) -> str:
        text = f'revision: read "{revision}"; allowed: a commit, branch or tag of this repository'
        if not self._git("rev-parse", "--verify", "--quiet", "HEAD", may_fail=True).strip():
            return f"{text}. This branch has no commit yet: commit first"
        if self.is_shallow:
            return (
                f"{text}. This clone is shallow and does not reach back so far: "
                f"git fetch --depth=50 origin <branch> brings a branch, git fetch --unshallow origin everything"
            )
        return f"{text}. A branch that only the server has: git fetch origin"

    def _git(self, *arguments: str, given: bytes | None = None, may_fail: bool = False) -> bytes:
        return run_git(self.root, *arguments, given=given, may_fail=may_fail)


def open_repository(folder: Path) -> Repository:
    """The repository that holds ``folder`` (which need not be there any more).

    Raises RevisionError where there is no repository or no git.
    """
    folder = folder.resolve()
    inside = next(each for each in (folder, *folder.parents) if each.is_dir())
    found = run_git(inside, "rev-parse", "--show-toplevel", may_fail=True)
    if not found.strip():
        raise RevisionError(f"{folder.name}: read a folder outside any git work tree; allowed: a folder kept in git")
    root = Path(_text(found.rstrip(b"\n"))).resolve()
    prefix = folder.relative_to(root).as_posix()
    return Repository(root, "" if prefix == "." else prefix)


def run_git(folder: Path, *arguments: str, given: bytes | None = None, may_fail: bool = False) -> bytes:
    """Standard output of one git command in ``folder``; an empty one where it failed and ``may_fail``."""
    ours = {"GIT_OPTIONAL_LOCKS": "0", "GIT_TERMINAL_PROMPT": "0", "LC_ALL": "C", "GIT_PAGER": "cat"}
    # What a hook's surroundings say of another repository must not lead us there.
    misleading = ("GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_PREFIX")
    theirs = {name: value for name, value in os.environ.items() if name not in misleading}
    try:
        done = subprocess.run(
            ["git", *_QUIET, *arguments],
            cwd=folder,
            env=theirs | ours,
            input=given,
            capture_output=True,
            check=False,
            timeout=deadline.GIT_SECONDS,
        )
    except subprocess.TimeoutExpired as error:
        read = f"more than {error.timeout:g} s"
        raise RevisionError(f"git {arguments[0]}: read {read}; allowed: a repository that git reads sooner") from None
    except FileNotFoundError:
        raise RevisionError("git: not found on this machine; comparing revisions needs it") from None
    if done.returncode == 0:
        return done.stdout
    if may_fail:
        return b""
    said = done.stderr.decode("utf-8", "replace").strip().splitlines()
    raise RevisionError(f"git {arguments[0]}: {said[-1] if said else 'failed'}")


def _known(blob: str) -> str:
    return "" if not blob.strip("0") else blob


def _text(name: bytes) -> str:
    return name.decode("utf-8", "surrogateescape")
