"""Revisions are read from real repositories, whatever their state, and nothing in them is touched."""

from __future__ import annotations

from pathlib import Path

import pytest

from site_build.base.git_command import RevisionError, run_git
from site_build.review.edition import revision_edition, working_changes, working_edition
from site_build.review.revisions import open_repository
from tests.site_build.review_edits import commit, git

NAMES = (
    "plain.md",
    "blank in name.md",
    "røkt-ørret.md",
    "燻製.md",
    'quote".md',
    "tab\tname.md",
    "line\nbreak.md",
    "-dash.md",
)


@pytest.fixture
def folder(tmp_path) -> Path:
    """A methods folder with one file, in a repository on an unborn branch."""
    folder = tmp_path / "kitchen" / "methods"
    folder.mkdir(parents=True)
    git(folder, "init", "-q", "-b", "main", "..")
    (folder / "one.md").write_text("one\n" * 20)
    return folder


def state(folder: Path) -> tuple:
    """Everything of a repository that reading must leave alone: head, index, status, files with their times."""
    root = Path(git(folder, "rev-parse", "--show-toplevel").strip())
    files = {
        path: (path.stat().st_mtime_ns, path.read_bytes())
        for path in sorted(root.rglob("*"))
        if path.is_file() and (".git" not in path.parts or path.name in ("index", "HEAD", "ORIG_HEAD"))
    }
    return files, git(folder, "for-each-ref"), git(folder, "stash", "list")


def changes(folder: Path, base: str, head: str | None = None) -> set[tuple[str, str, str]]:
    """(status, old path, path) of what differs."""
    repository = open_repository(folder)
    older = repository.commit_of(base)
    if head is None:
        before = revision_edition(repository, folder, older, base)
        found = working_changes(before, working_edition(repository, folder, before, ""))
    else:
        found = repository.changes(older, repository.commit_of(head))
    return {(each.status, each.old_path, each.path) for each in found}


def texts(folder: Path, revision: str) -> dict[str, bytes]:
    """Every file of a revision."""
    repository = open_repository(folder)
    edition = revision_edition(repository, folder, repository.commit_of(revision), revision)
    edition.load(edition.paths)
    return {path: edition.content(path) for path in edition.paths}


def working_texts(folder: Path, base: str) -> dict[str, bytes]:
    """Every file of the working tree, read as what differs from a revision."""
    repository = open_repository(folder)
    found = repository.commit_of(base)
    before = revision_edition(repository, folder, found, base)
    after = working_edition(repository, folder, before, "")
    return {path: after.content(path) for path in after.paths}


@pytest.mark.parametrize("name", NAMES)
def test_any_name_is_read(folder, name):
    """A name with any sign in it is listed, read and compared as it stands."""
    commit(folder)
    (folder / name).write_bytes(name.encode())
    commit(folder)
    assert texts(folder, "HEAD")[name] == name.encode()
    assert changes(folder, "HEAD~1", "HEAD") == {("A", name, name)}
    (folder / name).write_bytes(b"dirty")
    assert working_texts(folder, "HEAD")[name] == b"dirty"


def test_untouched_checkout(folder):
    """Listing, reading and comparing leave files, index, references and stash as they were."""
    commit(folder)
    (folder / "one.md").write_text("two")
    (folder / "staged.md").write_text("staged")
    git(folder, "add", "staged.md")
    (folder / "new.md").write_text("new")
    before = state(folder)
    assert changes(folder, "HEAD") == {
        ("M", "one.md", "one.md"),
        ("A", "staged.md", "staged.md"),
        ("A", "new.md", "new.md"),
    }
    assert working_texts(folder, "HEAD") == {"one.md": b"two", "staged.md": b"staged", "new.md": b"new"}
    assert texts(folder, "HEAD") == {"one.md": b"one\n" * 20}
    assert state(folder) == before


def test_ignored_file_counts(folder):
    """A file that git ignores is read by a build, so it counts as added."""
    (folder / ".gitignore").write_text("secret.md\n")
    commit(folder)
    (folder / "secret.md").write_text("a page")
    assert ("A", "secret.md", "secret.md") in changes(folder, "HEAD")


def test_rename_and_delete(folder):
    """A renamed file is one change with both its paths; a deleted one is gone from the newer files."""
    (folder / "two.md").write_text("two\n" * 20)
    commit(folder)
    (folder / "one.md").rename(folder / "ett.md")
    (folder / "two.md").unlink()
    commit(folder)
    assert changes(folder, "HEAD~1", "HEAD") == {("R", "one.md", "ett.md"), ("D", "two.md", "two.md")}
    assert set(texts(folder, "HEAD")) == {"ett.md"}


def test_deleted_in_the_working_tree(folder):
    """A file removed from disk, but not from the index, is gone from the working tree."""
    (folder / "two.md").write_text("two")
    commit(folder)
    (folder / "two.md").unlink()
    assert set(working_texts(folder, "HEAD")) == {"one.md"}


def test_folder_deleted(folder):
    """A revision can be read when the folder itself is gone from disk."""
    (folder.parent / "other.txt").write_text("stays")
    commit(folder)
    (folder / "one.md").unlink()
    folder.rmdir()
    assert texts(folder, "HEAD") == {"one.md": b"one\n" * 20}
    assert working_texts(folder, "HEAD") == {}


def test_unborn_branch(folder):
    """A branch without a commit is said to be one."""
    with pytest.raises(RevisionError, match=r'read "HEAD"; allowed: .* This branch has no commit yet: commit first'):
        open_repository(folder).commit_of("HEAD")


@pytest.mark.parametrize(
    "name", ["nosuch", "", "--output=x", "-h", "HEAD:methods", "HEAD^{tree}", "a\0b", "HEAD\nHEAD"]
)
def test_no_revision(folder, name):
    """What names no commit is refused, and never taken for an option."""
    commit(folder)
    with pytest.raises(RevisionError, match="revision: read"):
        open_repository(folder).commit_of(name)


def test_shallow_clone(folder, tmp_path):
    """A base that a shallow clone does not hold is refused with the command that brings it."""
    first = commit(folder)
    (folder / "two.md").write_text("two")
    commit(folder)
    git(tmp_path, "clone", "-q", "--depth=1", f"file://{folder.parent}", "shallow")
    repository = open_repository(tmp_path / "shallow" / "methods")
    with pytest.raises(RevisionError, match=r"This clone is shallow .* git fetch --unshallow origin"):
        repository.commit_of(first)
    assert repository.commit_of("HEAD") in repository.oldest_held
    git(tmp_path / "shallow", "fetch", "-q", "--unshallow", "origin")
    assert open_repository(tmp_path / "shallow" / "methods").commit_of(first) == first


def test_shallow_fork(folder, tmp_path):
    """A fork point that lies before the clone's first commit is said to be out of reach."""
    commit(folder)
    git(folder, "checkout", "-q", "-b", "side")
    (folder / "two.md").write_text("two")
    commit(folder)
    git(folder, "checkout", "-q", "main")
    (folder / "one.md").write_text("newer")
    commit(folder)
    git(tmp_path, "clone", "-q", "--depth=1", "--no-single-branch", f"file://{folder.parent}", "shallow")
    repository = open_repository(tmp_path / "shallow" / "methods")
    main, side = repository.commit_of("origin/main"), repository.commit_of("origin/side")
    with pytest.raises(RevisionError, match=r"have no commit in common. This clone is shallow: git fetch --unshallow"):
        repository.fork_of(main, side)
    whole = open_repository(folder)
    assert whole.fork_of(main, side) == whole.commit_of("main~1")


def test_merge(folder):
    """Across a merge both sides' changes show; the log lists each side's own commit and not the merge."""
    commit(folder, "first")
    git(folder, "checkout", "-q", "-b", "side")
    (folder / "two.md").write_text("two")
    commit(folder, "side")
    git(folder, "checkout", "-q", "main")
    (folder / "one.md").write_text("newer")
    commit(folder, "ours")
    git(folder, "merge", "-q", "--no-ff", "-m", "merge", "side")
    assert changes(folder, "HEAD~2", "HEAD") == {("M", "one.md", "one.md"), ("A", "two.md", "two.md")}
    repository = open_repository(folder)
    log = repository.log(repository.commit_of("HEAD"))
    assert {each.subject for each in log} == {"first", "side", "ours"}
    assert {each.subject: [(one.status, one.path) for one in each.changes] for each in log}["side"] == [("A", "two.md")]


def test_log_with_any_signs(folder):
    """Names of people and subjects may hold the signs that part the fields, or any other."""
    subject = "salt: \x02 250 g → 350 g \x1b[31m"
    git(folder, "add", "-A", ":/")
    git(folder, "-c", "core.commentChar=;", "commit", "-q", "-m", subject)
    log = open_repository(folder).log("HEAD")
    assert [(each.author, each.subject, [one.path for one in each.changes]) for each in log] == [
        ("Marit Osk", subject, ["one.md"])
    ]


def test_inside_a_submodule(folder, tmp_path):
    """A folder in a nested repository is compared by that one's revisions; from outside it is refused with the way in."""
    commit(folder)
    outer = tmp_path / "outer"
    outer.mkdir()
    git(outer, "init", "-q", "-b", "main")
    git(outer, "-c", "protocol.file.allow=always", "submodule", "--quiet", "add", str(folder.parent), "kitchen")
    commit(outer)
    inner = outer / "kitchen" / "methods"
    (inner / "one.md").write_text("changed")
    assert changes(inner, "HEAD") == {("M", "one.md", "one.md")}
    repository = open_repository(outer)
    files = repository.files(repository.commit_of("HEAD"))
    assert {path for path, each in files.items() if not each.fault} == {".gitmodules"}
    (outer / "kitchen").rename(tmp_path / "elsewhere")
    with pytest.raises(RevisionError, match=r"read a repository nested in .* Compare inside it: go into kitchen"):
        repository = open_repository(outer / "kitchen")
        repository.files(repository.commit_of("HEAD"))


@pytest.mark.parametrize("setting", ["true", "input", "false"])
def test_crlf_checkout(folder, tmp_path, setting):
    """A checkout that only has other line ends than the commit differs in no method text."""
    commit(folder)
    git(folder.parent, "config", "core.autocrlf", setting)
    (folder / "one.md").write_bytes(b"one\r\n" * 20)
    lines = {path: data.splitlines() for path, data in working_texts(folder, "HEAD").items()}
    assert lines == {path: data.splitlines() for path, data in texts(folder, "HEAD").items()}


def test_links(folder):
    """A link is read neither from a revision nor from the folder, wherever it leads, and both say so alike."""
    (folder.parent / "outside.md").write_text("secret")
    (folder / "inner.md").symlink_to("one.md")
    (folder / "outer.md").symlink_to("../outside.md")
    commit(folder)
    assert texts(folder, "HEAD") == working_texts(folder, "HEAD") == {"one.md": b"one\n" * 20}
    repository = open_repository(folder)
    before = revision_edition(repository, folder, repository.commit_of("HEAD"), "HEAD")
    lines = [str(each) for each in before.file_faults]
    assert [each.split(":")[0] for each in lines] == ["methods/inner.md", "methods/outer.md"]
    assert lines == [str(each) for each in working_edition(repository, folder, before, "").file_faults]
    assert all('read "a link"; allowed: the file or folder itself' in each for each in lines)


def test_no_repository(tmp_path):
    """A folder outside git is said to be one."""
    with pytest.raises(RevisionError, match="read a folder outside any git work tree"):
        open_repository(tmp_path / "methods")


def test_programs_of_the_repository_are_not_run(folder, tmp_path):
    """Diff programs and text filters that a repository's configuration names are never started."""
    mark = tmp_path / "was-run"
    commit(folder)
    (folder / ".gitattributes").write_text("*.md diff=evil\n")
    git(folder.parent, "config", "diff.evil.command", f"touch {mark}")
    git(folder.parent, "config", "diff.evil.textconv", f"touch {mark}; cat")
    git(folder.parent, "config", "diff.external", f"touch {mark}")
    git(folder.parent, "config", "core.fsmonitor", f"touch {mark}")
    (folder / "one.md").write_text("changed")
    assert ("M", "one.md", "one.md") in changes(folder, "HEAD")
    open_repository(folder).log("HEAD")
    assert not mark.exists()


def test_a_hooks_surroundings_do_not_lead_astray(folder, tmp_path, monkeypatch):
    """Inside a hook of another repository, the folder's own repository is read."""
    commit(folder)
    other = tmp_path / "other"
    other.mkdir()
    git(other, "init", "-q")
    monkeypatch.setenv("GIT_DIR", str(other / ".git"))
    monkeypatch.setenv("GIT_INDEX_FILE", str(other / ".git" / "index"))
    assert set(texts(folder, "HEAD")) == {"one.md"}


def test_git_is_missing(folder, monkeypatch):
    """Without git, that is what the error says."""
    monkeypatch.setenv("PATH", "")
    with pytest.raises(RevisionError, match="git: not found"):
        run_git(folder, "status")
