"""Git revisions of a methods folder, read with git's own commands without touching checkout or index.

Paths are NUL-terminated, so that no name is quoted or cut. A repository's settings may come from a stranger; therefore
only commands that run no program are used, in a fixed environment (``git_command.py``).
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from functools import cached_property
from hashlib import new as new_hash
from pathlib import Path

from msgspec import Struct

from handbook.base.errors import printable
from handbook.folder.file_names import LINK, NESTED, NO_FILE
from site_build.base.files import open_file
from site_build.base.git_command import RevisionError, run_git

_FILES, _LINK, _SUBMODULE = ("100644", "100755", "100664"), "120000", "160000"
#: Separated by NUL, the only character that no commit can contain.
_LOG_FORMAT = "%x00%an%x00%aI%x00%s%x00"
_RAW = ("-r", "--raw", "-z", "-M", "--no-abbrev", "--no-ext-diff", "--no-textconv", "--ignore-submodules=none")


class TreeEntry(Struct, frozen=True, kw_only=True):
    """One file of a revision: git's mode, the id of its content, and its size, None where this clone lacks the content."""

    mode: str
    blob: str
    size: int | None = None

    @property
    def fault(self) -> tuple[str, str] | None:
        """The reason why a build would read nothing of it, and what is allowed; None for a plain file."""
        if self.mode in _FILES:
            return None
        return {_LINK: LINK, _SUBMODULE: NESTED}.get(self.mode, NO_FILE)


class Change(Struct, frozen=True, kw_only=True):
    """One file that differs: status A, D, M or R, content ids before and after ("" = not in git), and its paths."""

    status: str
    before: str
    after: str
    old_path: str
    path: str


class Commit(Struct, frozen=True, kw_only=True):
    """One commit: full id, author's name, time as ISO 8601 text, subject line, and its changes."""

    id: str
    author: str
    on: str
    subject: str
    changes: tuple[Change, ...]


class Repository(Struct, frozen=True, kw_only=True, dict=True):
    """The work tree that contains a methods folder. ``prefix`` is the folder's path in it, "" for the root itself."""

    root: Path
    prefix: str

    def commit_of(self, revision: str) -> str:
        """The full id of the commit that ``revision`` names.

        Raises RevisionError for an unknown revision, a branch without commits, and a clone that does not reach back so
        far.
        """
        if not revision or revision.startswith("-") or "\0" in revision:
            raise RevisionError(f'revision: read "{printable(revision)}"; allowed: a commit, branch or tag')
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
        """Whether the clone contains only the newest part of the history."""
        return self._git("rev-parse", "--is-shallow-repository", may_fail=True).strip() == b"true"

    @cached_property
    def oldest_held(self) -> frozenset[str]:
        """Commits of a shallow clone whose parents it does not contain."""
        path = _text(self._git("rev-parse", "--git-path", "shallow", may_fail=True).rstrip(b"\n"))
        try:
            return frozenset((self.root / path).read_text("ascii").split()) if self.is_shallow else frozenset()
        except OSError:
            return frozenset()

    def parent_of(self, commit: str) -> str | None:
        """The first parent's full id, or None for a first commit."""
        found = self._git("rev-parse", "--verify", "--quiet", f"{commit}^1", may_fail=True)
        return found.decode("ascii").strip() or None

    def files(self, commit: str) -> dict[str, TreeEntry]:
        """All files below the methods folder in ``commit``, by path in the folder."""
        self._check_folder(commit)
        place = [f"{self.prefix}/"] if self.prefix else []
        listed = self._git("ls-tree", "-r", "-l", "-z", "--full-tree", commit, *place)
        found = {}
        for row in filter(None, listed.split(b"\0")):
            head, _, name = row.partition(b"\t")
            mode, _, blob, size = head.decode("ascii").split()
            path = self._inside(name)
            if path in found:  # git decides which of them a checkout contains
                raise RevisionError(f"{printable(path)}: read twice in the list of {commit[:10]}; git fsck says more")
            found[path] = TreeEntry(mode=mode, blob=blob, size=int(size) if size.isdigit() else None)
        return found

    def changes(self, base: str, head: str) -> list[Change]:
        """Files that differ between two commits, with renames detected."""
        return self._changes_of(self._git("diff-tree", *_RAW, base, head, "--", *self._pathspec()))

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
            if blob_id(found[blob], len(blob)) != blob:  # git does not verify the content
                raise RevisionError(f"{blob[:10]}: this clone holds another content under this id; git fsck says more")
            at = end + 1 + size + 1
        return found

    def log(self, commit: str, most: int = 200) -> list[Commit]:
        """The newest ``most`` commits that changed the methods folder, newest first, without merges."""
        options = "--no-merges", "--encoding=UTF-8", f"-n{most}", f"--format={_LOG_FORMAT}"
        data = self._git("rev-list", *options, commit, "--", *self._pathspec())
        fields = [_text(each) for each in data.split(b"\0")]
        ids = [each.split()[-1] for each in fields[:-1:4]]
        changes = self._changes_by_commit(ids)
        words = zip(ids, fields[1::4], fields[2::4], fields[3::4], strict=True)
        return [
            Commit(id=key, author=author, on=on, subject=subject, changes=tuple(changes.get(key, ())))
            for key, author, on, subject in words
        ]

    def _changes_by_commit(self, ids: list[str]) -> dict[str, list[Change]]:
        if not ids:
            return {}
        given = "\n".join(ids).encode("ascii") + b"\n"
        data = self._git("diff-tree", "--stdin", "--root", *_RAW, "--", *self._pathspec(), given=given)
        fields, found, at = iter(data.split(b"\0")), {}, []
        for head in filter(None, fields):
            if not head.startswith(b":"):
                at = found.setdefault(head.decode("ascii").strip(), [])
            elif change := self._change(head, fields):
                at.append(change)
        return found

    def _changes_of(self, raw: bytes) -> list[Change]:
        fields = iter(raw.split(b"\0"))
        return [change for head in filter(None, fields) if (change := self._change(head, fields))]

    def _change(self, head: bytes, fields: Iterator[bytes]) -> Change | None:
        """The change whose line begins with ``head``; its paths are taken from ``fields``."""
        was, mode, before, after, status = head.decode("ascii").lstrip(":").split()
        old = self._inside(next(fields))
        new = self._inside(next(fields)) if status[0] in "RC" else old
        if old == new and before == after and {was, mode} <= set(_FILES):
            return None  # the executable bit has no effect on a build
        kind = status[0] if status[0] in "ADR" else "A" if status[0] == "C" else "M"
        return Change(status=kind, before=_known(before), after=_known(after), old_path=old, path=new)

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
        text = f'revision: read "{printable(revision)}"; allowed: a commit, branch or tag of this repository'
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
    """The repository that contains ``folder``, which need not exist any more.

    Raises RevisionError where there is no repository or no git.
    """
    folder = folder.resolve()
    # The folder with ".git" in it. git itself also accepts a folder with the right files as a repository, which any
    # clone can contain, and the place that a repository's own settings name.
    root = next((each for each in (folder, *folder.parents) if os.path.lexists(each / ".git")), None)
    if root is None:
        raise RevisionError(
            f"{printable(folder.name)}: read a folder outside any git work tree; allowed: a folder kept in git"
        )
    found = _text(run_git(root, "rev-parse", "--show-toplevel").rstrip(b"\n"))
    if Path(found).resolve() != root:
        raise RevisionError(
            f"{printable(folder.name)}: read a repository whose settings name another folder; allowed: its own"
        )
    if not _is_own(root):
        raise RevisionError(
            f"{printable(folder.name)}: read a repository elsewhere that does not name this folder; allowed: its own, that of a "
            "linked work tree or submodule, or one whose core.worktree is set to it"
        )
    prefix = folder.relative_to(root).as_posix()
    return Repository(root=root, prefix="" if prefix == "." else prefix)


def _is_own(root: Path) -> bool:
    """Whether the repository of the work tree ``root`` lies in it, or lies elsewhere and names it back.

    An archive can bring a ".git" that leads to any repository of the reader's.
    """
    marker = root / ".git"
    kept, shared = (
        (root / _text(run_git(root, "rev-parse", each).rstrip(b"\n"))).resolve()
        for each in ("--git-dir", "--git-common-dir")
    )
    if marker.is_symlink():
        return False
    if marker.is_dir():
        return kept == shared == marker
    try:
        with open_file(kept / "gitdir") as back:  # written by git for a linked work tree
            return (kept / _text(back.read(10_000).rstrip(b"\n"))).resolve() == marker
    except (OSError, ValueError):
        return kept == shared and bool(run_git(root, "config", "--get", "core.worktree", may_fail=True).strip())


def blob_id(data: bytes, digits: int) -> str:
    """The id that git gives to a file's content, in a repository whose ids have ``digits`` digits."""
    kind = "sha256" if digits == 64 else "sha1"
    return new_hash(kind, b"blob %d\0" % len(data) + data, usedforsecurity=False).hexdigest()


def _known(blob: str) -> str:
    return "" if not blob.strip("0") else blob


def _text(name: bytes) -> str:
    return name.decode("utf-8", "surrogateescape")
