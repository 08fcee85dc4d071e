"""A review of a change made by a stranger: nothing that a build reads is hidden from it, and nothing of theirs runs."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import unicodedata
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner

from handbook.base.errors import FaultsError
from handbook.folder.source import read_source
from site_build.base.git_command import RevisionError
from site_build.base.programs import program
from site_build.cli.build_commands import check
from site_build.cli.paper_command import BROWSERS, find_browser
from site_build.cli.review_commands import NOT_DONE, compare, sign
from site_build.review.changes import STOPPED, StatedChange
from site_build.review.comparison import check_affected, review
from site_build.review.history import histories
from site_build.review.report_json import COMPARISON_SCHEMA, json_text
from site_build.review.report_markdown import markdown_text
from site_build.review.revisions import open_repository
from tests.site_build.review_edits import commit, forms, git, page_repository
from tests.site_build.review_edits import replace as edit

PAGE = "soy-eggs.md"


@pytest.fixture
def folder(tmp_path) -> Path:
    """A repository with one demo method."""
    return page_repository(tmp_path / "kitchen", PAGE)


def build_lines(folder: Path) -> list[str]:
    """What a build says of the folder's files."""
    return [str(each) for each in FaultsError(list(read_source(folder).faults)).faults]


# Hidden edits.


@pytest.mark.parametrize("is_committed", [False, True])
@pytest.mark.parametrize("name", [PAGE, "house.yml", "foods.csv", "new.md", "CNAME", "sub"])
def test_no_edit_hides_behind_a_link(folder, name, is_committed):
    """A page or house file that becomes a link, inside or outside the folder, is the fault that a build says."""
    (folder.parent / "elsewhere").mkdir()
    target = folder.parent / "elsewhere" / "it"
    target.write_bytes((folder / name).read_bytes() if (folder / name).is_file() else b"# x\n")
    (folder / name).unlink(missing_ok=True)
    (folder / name).symlink_to("../elsewhere" if name == "sub" else "../elsewhere/it")
    if is_committed:
        commit(folder)
    found = review(folder, "HEAD~1" if is_committed else "HEAD", "HEAD" if is_committed else None)
    said = [*found.faults, *(found.house.faults if found.house else ())]
    assert found.code == STOPPED and set(build_lines(folder)) <= set(said), said
    assert set(build_lines(folder)) <= set(check_affected(folder, "HEAD").faults)
    for text in forms(found).values():
        assert f"{name}:1: file" in text.replace("\\", "").replace("<wbr>", "") and "a link" in text


@pytest.mark.parametrize("bit", ["--assume-unchanged", "--skip-worktree"])
def test_no_edit_hides_behind_the_index(folder, bit):
    """Bits of the index, rules of what git leaves out, and attributes hide no edit."""
    git(folder, "update-index", bit, PAGE)
    (folder / ".gitignore").write_text("*\n")
    (folder / ".gitattributes").write_text("* -diff binary export-ignore filter=none\n")
    edit(folder, PAGE, "title: ", "title: Other ")
    (folder / "ignored.md").write_text("# Ignored\n", "utf-8")
    found = review(folder, "HEAD")
    assert [each.path for each in found.methods] == [PAGE]
    assert [each.key for each in found.other_pages] == ["ignored.md"]
    assert set(check_affected(folder, "HEAD").pages) == {PAGE, "ignored.md"}


def test_no_edit_hides_behind_time_and_size(folder):
    """An edit of the same size at the same moment is seen: bytes decide, not what git noted of a file."""
    state = (folder / PAGE).stat()
    text = (folder / PAGE).read_text("utf-8")
    (folder / PAGE).write_text(text.replace("e", "a", 1) if "title: e" not in text else text, "utf-8")
    os.utime(folder / PAGE, ns=(state.st_atime_ns, state.st_mtime_ns))
    found = review(folder, "HEAD")
    assert found.methods or found.other_pages


def test_replaced_and_grafted_objects(folder):
    """Objects that a repository puts in the place of others, and parents that it claims, are not believed."""
    old = git(folder, "rev-parse", "HEAD").strip()
    edit(folder, PAGE, "title: ", "title: Other ")
    new = commit(folder)
    git(folder, "replace", old, new)
    git(folder, "replace", git(folder, "rev-parse", f"HEAD~1:methods/{PAGE}").strip(), git(folder, "rev-parse", f"HEAD:methods/{PAGE}").strip())  # fmt: skip
    (folder.parent / ".git" / "info").mkdir(exist_ok=True)
    (folder.parent / ".git" / "info" / "grafts").write_text(f"{new} {new}\n")
    assert [each.path for each in review(folder, old, new).methods] == [PAGE]
    assert [each.path for each in review(folder, f"{new}~1", new).methods] == [PAGE]


def test_stored_file_under_a_wrong_id(folder):
    """A stored file that is not the one its id names is not compared."""
    blob = git(folder, "rev-parse", f"HEAD:methods/{PAGE}").strip()
    edit(folder, PAGE, "title: ", "title: Other ")
    other = git(folder, "hash-object", "-w", PAGE).strip()
    objects = folder.parent / ".git" / "objects"
    place, source = (objects / each[:2] / each[2:] for each in (blob, other))
    os.chmod(place, 0o644)
    shutil.copy(source, place)
    with pytest.raises(RevisionError, match=r"another content under this id"):
        review(folder, "HEAD")


def test_nested_repository(folder):
    """A repository nested in the methods is a fault in a commit and in the working tree."""
    inner = folder / "inner"
    inner.mkdir()
    (inner / "page.md").write_text("# Inner\n")
    git(inner, "init", "-q")
    commit(inner)
    line = 'methods/inner:1: file: read "a repository within the folder"; allowed: its files themselves'
    assert review(folder, "HEAD").faults == (line,)
    git(folder, "add", "inner")
    git(folder, "commit", "-q", "-m", "inner")
    assert review(folder, "HEAD~1", "HEAD").faults == (line,)


def test_names_that_differ_by_form(folder):
    """A name changed in capitals or in the encoding of its accents is a change."""
    (folder / "Brød é.md").write_text("# One\n", "utf-8")
    commit(folder)
    git(folder, "config", "core.ignorecase", "true")
    git(folder, "config", "core.precomposeunicode", "true")
    for name in ("brød é.md", unicodedata.normalize("NFD", "Brød é.md")):
        there = next(folder.glob("*é.md"), None) or next(folder.glob("*e\u0301.md"))
        there.rename(folder / name)
        found = review(folder, "HEAD")
        assert [each.key for each in found.other_pages] == [name], found.other_pages


FILES = ("CNAME", "data.CSV", "notes.TXT", "shore.JPG", "notes.txt", "extra.yml", "sub/picture.gif", "days/x.csv")


def test_every_file_is_named(folder):
    """Files that came, changed or went are each named in every form of the report, whatever their endings."""

    def write(text):
        for name in FILES:
            (folder / name).parent.mkdir(exist_ok=True)
            (folder / name).write_text(text)

    def remove():
        for name in FILES:
            (folder / name).unlink()

    for word, change in (
        ("added", lambda: write("kitchen.example.org\n")),
        ("changed", lambda: write("elsewhere.example.org\n")),
        ("removed", remove),
    ):
        change()
        found = review(folder, "HEAD")
        assert found.other_files == tuple(StatedChange(name, "", word) for name in sorted(FILES))
        for form, text in forms(found).items():
            assert word in text and all(name in text for name in FILES), form
        table = json.loads(json_text(found))
        jsonschema.validate(table, COMPARISON_SCHEMA)
        assert table["other_files"] == [{"path": name, "status": word} for name in sorted(FILES)]
        commit(folder)
        assert review(folder, "HEAD~1", "HEAD").other_files == found.other_files


def test_many_files_hide_no_other(folder):
    """Many pictures do not push the address of the site out of a report."""
    for number in range(400):
        (folder / f"a{number}.gif").write_text("x")
    (folder / "CNAME").write_text("x")
    for form, text in forms(review(folder, "HEAD")).items():
        assert "CNAME" in text, form
    assert len(markdown_text(review(folder, "HEAD"), 20_000).encode()) <= 20_000


def test_check_says_what_a_build_says(folder):
    """The check of what changed says faults of files that are no pages, as the whole check does."""
    (folder / "broken.png").write_bytes(b"no picture")
    (folder / "runs" / "no-method").mkdir(parents=True)
    (folder / "runs" / "no-method" / "2026-10-12.yml").write_text("on: 2026-10-12\n")
    (folder / "signed.yml").write_text("- {method: nobody, mark: 000000-000000, by: M, on: 2026-01-01}\n")
    (folder / "a%20b.md").write_text("# x\n")
    (folder / "twice.why.md").write_text("# x\n")
    faults = check_affected(folder, "HEAD").faults
    for start in ("broken.png:1: picture", "runs/no-method/2026-10-12.yml:1: run", "signed.yml:1: signed.method", "a%20b.md:1: file", "twice.why.md:1: file name"):  # fmt: skip
        assert any(each.startswith(f"methods/{start}") for each in faults), (start, faults)


# Programs of a repository.

PROGRAMS = {
    "core.fsmonitor": "{}", "core.hooksPath": "{hooks}", "core.pager": "{}", "core.editor": "{}", "core.sshCommand": "{}",
    "core.askPass": "{}", "core.gitProxy": "{}", "core.alternateRefsCommand": "{}", "diff.external": "{}",
    "diff.evil.command": "{}", "diff.evil.textconv": "{}", "filter.evil.clean": "{}; cat", "filter.evil.smudge": "{}; cat",
    "filter.evil.process": "{}", "filter.evil.required": "true", "merge.evil.driver": "{}", "gpg.program": "{}",
    "gpg.ssh.program": "{}", "gpg.x509.program": "{}", "log.showSignature": "true", "pager.log": "{}", "pager.diff": "{}",
    "pager.rev-parse": "{}", "alias.diff-tree": "!{}", "alias.ls-tree": "!{}", "alias.cat-file": "!{}",
    "alias.rev-parse": "!{}", "alias.rev-list": "!{}", "credential.helper": "!{}", "uploadpack.packObjectsHook": "{}",
    "sequence.editor": "{}", "interactive.diffFilter": "{}", "remote.origin.url": "ext::sh -c {}",
    "remote.origin.uploadpack": "{}", "remote.origin.vcs": "evil", "protocol.ext.allow": "always",
    "protocol.allow": "always", "remote.origin.promisor": "true", "extensions.partialClone": "origin",
    "core.repositoryformatversion": "1", "trace2.normalTarget": "{mark}", "trace2.eventTarget": "{mark}",
    "core.attributesFile": "{attributes}", "diff.renameLimit": "1", "diff.orderFile": "/dev/zero",
    "i18n.logOutputEncoding": "UTF-16", "log.mailmap": "true", "diff.ignoreSubmodules": "all", "core.quotepath": "true",
}  # fmt: skip


@pytest.fixture
def armed(folder, tmp_path):
    """The repository with every setting that can start a program, and a file that any of them would write."""
    mark, script, hooks = tmp_path / "was-run", tmp_path / "evil.sh", tmp_path / "hooks"
    script.write_text(f'#!/bin/sh\necho ran "$0" "$@" >> {mark}\n')
    script.chmod(0o755)
    hooks.mkdir()
    for name in ("post-index-change", "reference-transaction", "post-checkout", "pre-commit"):
        shutil.copy(script, hooks / name)
    attributes = tmp_path / "attributes"
    attributes.write_text("* diff=evil filter=evil merge=evil\n")
    edit(folder, PAGE, "title: ", "title: Other ")
    commit(folder)
    (folder / ".gitattributes").write_text("* diff=evil filter=evil merge=evil working-tree-encoding=UTF-16\n")
    more = folder.parent / ".git" / "more"
    lines = ["[include]", f"path = {more}", f'[includeIf "gitdir:{folder.parent}/"]', f"path = {more}"]
    with (folder.parent / ".git" / "config").open("a") as config:
        config.write("\n".join(lines) + "\n")
    for name, value in PROGRAMS.items():
        written = value.format(script, hooks=hooks, mark=mark, attributes=attributes)
        git(folder, "config", "-f", str(more), name, written)
    return folder, mark


def test_no_program_of_the_repository_runs(armed, monkeypatch, tmp_path):
    """Comparing, checking and the history run no filter, hook, alias, pager, signature program or transport."""
    folder, mark = armed
    for name in ("GIT_EXTERNAL_DIFF", "GIT_SSH_COMMAND", "GIT_PAGER", "GIT_ASKPASS", "GIT_EDITOR", "GIT_PROXY_COMMAND"):
        monkeypatch.setenv(name, str(tmp_path / "evil.sh"))
    monkeypatch.setenv("GIT_TRACE2", str(mark))
    edit(folder, PAGE, "title: Other ", "title: Third ")
    assert [each.path for each in review(folder, "HEAD").methods] == [PAGE]
    assert [each.path for each in review(folder, "HEAD~1", "HEAD").methods] == [PAGE]
    assert check_affected(folder, "HEAD").pages == (PAGE,)
    assert len(histories(folder)[PAGE]) == 3
    assert not mark.exists(), mark.read_text()


@pytest.mark.parametrize("path", [".", "", "tools", "./tools"])
def test_no_program_of_the_folder_runs(folder, tmp_path, monkeypatch, path):
    """A program of the clone is not taken for git or for the browser, even where the search path begins with its folder."""
    tools = folder.parent / path
    tools.mkdir(exist_ok=True)
    for name in ("git", *BROWSERS):
        (tools / name).write_text(f"#!/bin/sh\ntouch {tmp_path}/was-run\n")
        (tools / name).chmod(0o755)
    monkeypatch.chdir(folder.parent)
    installed = program("git"), program(BROWSERS[0])
    monkeypatch.setenv("PATH", os.pathsep.join([path, os.environ["PATH"]]))
    assert shutil.which("git") != installed[0] and (program("git"), program(BROWSERS[0])) == installed
    assert review(folder, "HEAD").methods == () and find_browser() == installed[1]
    assert not (tmp_path / "was-run").exists()


def test_missing_content_is_not_fetched(armed):
    """What a partial clone lacks is said, not fetched by a program that the repository names."""
    folder, mark = armed
    blob = git(folder, "rev-parse", f"HEAD~1:methods/{PAGE}").strip()
    place = folder.parent / ".git" / "objects" / blob[:2] / blob[2:]
    os.chmod(place, 0o644)
    place.unlink()
    with pytest.raises(RevisionError, match="its content is not in this clone"):
        review(folder, "HEAD~1", "HEAD")
    assert not mark.exists(), mark.read_text()


def test_bare_repository_in_the_clone(folder, tmp_path):
    """Files that look like a repository, which any clone can bring, are not taken for the one that holds the folder."""
    bare = tmp_path / "bare"
    git(tmp_path, "init", "-q", "--bare", str(bare))
    for name in ("HEAD", "config", "objects", "refs"):
        (shutil.copytree if (bare / name).is_dir() else shutil.copy)(bare / name, folder / name)
    with (folder / "config").open("a") as config:
        config.write(f'[core]\nfsmonitor = "touch {tmp_path}/was-run"\nworktree = /\n')
    assert open_repository(folder).root == folder.parent.resolve()
    assert review(folder, "HEAD").code == STOPPED  # "config" and "HEAD" are no files of a handbook
    assert not (tmp_path / "was-run").exists()


def test_repository_that_names_another_folder(folder, tmp_path):
    """A repository whose settings lead to another work tree is refused in one line."""
    (tmp_path / "other").mkdir()
    git(folder, "config", "core.worktree", str(tmp_path / "other"))
    with pytest.raises(RevisionError, match="a repository whose settings name another folder"):
        review(folder, "HEAD")


def test_linked_work_tree_and_submodule(folder, tmp_path):
    """Repositories that lie elsewhere and name their work tree are its own (gitrepository-layout(5))."""
    git(folder, "worktree", "add", "-q", str(tmp_path / "linked"))
    assert open_repository(tmp_path / "linked" / "methods").prefix == "methods"
    git(tmp_path, "init", "-q", "outer")
    more = ("-c", "protocol.file.allow=always", "submodule", "--quiet", "add", str(folder.parent), "inner")
    git(tmp_path / "outer", *more)
    assert review(tmp_path / "outer" / "inner" / "methods", "HEAD").methods == ()
    (tmp_path / "apart").mkdir()
    git(
        folder,
        "clone",
        "-q",
        "--separate-git-dir",
        str(tmp_path / "apart.git"),
        str(folder.parent),
        str(tmp_path / "apart"),
    )
    with pytest.raises(RevisionError, match=r"one whose core\.worktree is set to it"):
        open_repository(tmp_path / "apart" / "methods")
    git(tmp_path / "apart", "config", "core.worktree", str(tmp_path / "apart"))
    assert open_repository(tmp_path / "apart" / "methods").prefix == "methods"


ELSEWHERE = {
    "file": lambda here, other: here.write_text(f"gitdir: {other}\n"),
    "link": lambda here, other: here.symlink_to(other),
    "work tree": lambda here, other: here.write_text(f"gitdir: {next((other / 'worktrees').iterdir())}\n"),
    "common folder": lambda here, other: (here.mkdir(), (here / "HEAD").write_text("ref: refs/heads/main\n"), (here / "commondir").write_text(f"{other}\n")),
}  # fmt: skip


@pytest.mark.parametrize("way", ELSEWHERE)
def test_repository_of_the_readers(folder, tmp_path, way):
    """A folder unpacked from an archive whose ".git" leads to another repository of the reader's shows none of it."""
    edit(folder, PAGE, "title: ", "title: Secret ")
    git(folder, "worktree", "add", "-q", str(tmp_path / "linked"))
    (tmp_path / "archive").mkdir()
    shutil.copytree(folder, tmp_path / "archive" / "methods")
    ELSEWHERE[way](tmp_path / "archive" / ".git", folder.parent / ".git")
    with pytest.raises(RevisionError, match=r"^methods: read a repository elsewhere|^git rev-parse: fatal"):
        review(tmp_path / "archive" / "methods", "HEAD")
    assert histories(tmp_path / "archive" / "methods") == {}


@pytest.mark.parametrize("arguments", [["HEAD"], ["HEAD", "--into", "out/report.md"], ["HEAD", "--into", "report.md"]])
def test_no_link_on_the_way(folder, tmp_path, monkeypatch, arguments):
    """Neither the folder nor the file of a report is reached through a link of the clone."""
    monkeypatch.chdir(folder.parent)
    (tmp_path / "target").mkdir()
    (tmp_path / "target" / "kept").write_text("kept")
    Path("out").symlink_to(tmp_path / "target")
    Path("report.md").symlink_to(tmp_path / "target" / "kept")
    name = "methods"
    if len(arguments) == 1:
        Path("linked").symlink_to("methods")
        name = "linked"
    done = CliRunner().invoke(compare, [*arguments, "--folder", name])
    assert (
        done.exit_code == NOT_DONE
        and "read a link" in done.stderr.replace(chr(34), "")
        and len(done.stderr.splitlines()) == 1
    )
    assert [each.name for each in (tmp_path / "target").iterdir()] == ["kept"]
    assert (tmp_path / "target" / "kept").read_text() == "kept"
    if name == "linked":
        assert 'read "a link"' in CliRunner().invoke(check, [name]).stderr


def test_signatures_behind_a_link(folder, tmp_path):
    """Signing writes through no link."""
    (tmp_path / "kept").write_text("")
    (folder / "signed.yml").symlink_to(tmp_path / "kept")
    done = CliRunner().invoke(sign, [PAGE.removesuffix(".md"), "--by", "M", "--folder", str(folder)])
    assert done.exit_code == NOT_DONE and 'signed.yml:1: file: read "a link"' in done.stderr
    assert (tmp_path / "kept").read_text() == ""


# Repositories made by hand.


def test_history_with_any_names(folder):
    """Names and subjects that hold the signs which part fields elsewhere are read whole."""
    edit(folder, PAGE, "title: ", "title: Other ")
    git(folder, "add", "-A", ":/")
    git(folder, "commit", "-q", "--author", "A\x02b\x01c <a@example.org>", "-m", "one\x01two\x02::error::three")
    rows = histories(folder)[PAGE]
    assert len(rows) == 3 and rows[0].subject.endswith("::error::three") and rows[0].moved == ()


def _tree(folder: Path, raw: bytes) -> str:
    """The id of a tree of git with these very bytes, sound or not."""
    options = "hash-object", "-t", "tree", "-w", "--literally", "--stdin"
    done = subprocess.run(["git", *options], cwd=folder, input=raw, capture_output=True, check=True)
    return done.stdout.decode().strip()


def test_one_name_twice_in_a_commit(folder):
    """A commit that lists two files under one name is refused: which of them a checkout brings is git's choice."""
    ids = [git(folder, "rev-parse", f"HEAD:methods/{name}").strip() for name in (PAGE, "house.yml")]
    tree = _tree(folder, b"".join(b"100644 soy-eggs.md\0" + bytes.fromhex(each) for each in ids))
    root = _tree(folder, b"40000 methods\0" + bytes.fromhex(tree))
    made = git(folder, "commit-tree", root, "-p", "HEAD", "-m", "x").strip()
    with pytest.raises(RevisionError, match=r"^soy-eggs\.md: read twice in the list of"):
        review(folder, "HEAD", made)


def test_deep_commit(folder):
    """A commit with 300 folders within each other is told by fault lines."""
    blob = git(folder, "rev-parse", f"HEAD:methods/{PAGE}").strip()
    tree = _tree(folder, b"100644 x.md\0" + bytes.fromhex(blob))
    for name in (*["d"] * 300, "methods"):
        tree = _tree(folder, b"40000 " + name.encode() + b"\0" + bytes.fromhex(tree))
    made = git(folder, "commit-tree", tree, "-p", "HEAD", "-m", "x").strip()
    assert any("at most 100 characters, 200 with its folders" in each for each in review(folder, "HEAD", made).faults)


def test_large_page_in_a_commit(folder):
    """A page over its limit is told by its size in a commit as on disk, and its content is not asked for."""
    (folder / "big.md").write_bytes(b"a\n" * 300_000)
    line = 'methods/big.md:1: file: read "600000 bytes"; allowed: at most 400000 bytes'
    assert review(folder, "HEAD").faults == (line,)
    commit(folder)
    assert review(folder, "HEAD~1", "HEAD").faults == (line,)


def test_steps_laid_side_by_side():
    """Of two pages with 300 reworded steps, no more than so many pairs are laid side by side."""
    from site_build.record.figures import Figure, StepFigures
    from site_build.review import compare as module
    from site_build.review.compare import match_steps

    def steps(word: str) -> tuple[StepFigures, ...]:
        words = " ".join(f"w{number}" for number in range(30))
        return tuple(
            StepFigures(
                do=f"{word} {number} {words}",
                stage="salt",
                hands_on=True,
                is_computed=False,
                start=Figure(),
                duration=Figure(),
                stated={},
                figures={},
            )
            for number in range(300)
        )

    asked, real = [], module._likeness
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "_likeness", lambda old, new: asked.append(1) or real(old, new))
        pairs = match_steps(steps("Stir"), steps("Fold"))
    assert pairs == [(number, number) for number in range(300)] and len(asked) <= module.MOST_COMPARED
