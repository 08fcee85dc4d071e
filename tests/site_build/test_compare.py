"""What a change does to the computed figures: told whole, told once, and not told where nothing moved."""

from __future__ import annotations

import json
import re

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import asdict, replace

from handbook.base.errors import FaultsError
from handbook.folder.read_page import read_page
from handbook.page.house import House
from handbook.report.evaluate import evaluate
from site_build.build.build_site import Choices, build_site
from site_build.cli.review_commands import NOT_DONE, compare, sign
from site_build.record.dependencies import depends_on
from site_build.record.figures import (
    FILE,
    MOST_NUMBER,
    Figure,
    Recorded,
    StepFigures,
    method_lines,
    printed_step,
    read_figures,
    record_parts,
)
from site_build.record.method_figures import method_figures
from site_build.review import edition, history
from site_build.review.changes import CHANGED, SAME, STOPPED, FigureChange
from site_build.review.compare import compare_recorded, compare_steps, match_steps, moved
from site_build.review.comparison import check_affected, review
from site_build.review.edition import Reader, folder_edition, method_of
from site_build.review.history import histories
from site_build.review.signed import CHANGED as CHANGED_SINCE
from site_build.review.signed import NEVER, SIGNED, WORDS, read_signed, sign_states
from tests.site_build.review_edits import METHODS, apply, commit, demo_repository, git
from tests.site_build.review_edits import replace as edit
from tests.whole_book import read_book

FEW = ("cellar-cabbage.md", "soy-eggs.md", "winter-smoked-trout.md", "equilibrium-pork-chops.md")


@pytest.fixture
def folder(tmp_path):
    """A repository with four demo methods, all links between them and others taken out."""
    folder = demo_repository(tmp_path / "kitchen", FEW)
    for path in folder.glob("*.md"):
        text = path.read_text("utf-8")
        for other in METHODS.glob("*.md"):
            if other.name not in FEW:
                text = text.replace(f"({other.name})", "(soy-eggs.md)")
        path.write_text(text, "utf-8")
    commit(folder, "links inside")
    return folder


def changed(folder, **options):
    """Path -> change of the working tree against main."""
    found = review(folder, "main", **options)
    return {each.path: each for each in found.methods}, found


def test_nothing_changed(folder):
    """Equal trees compare as equal, with code 0 and every page counted."""
    _, found = changed(folder)
    assert (found.methods, found.house, found.code, found.unchanged) == ((), None, SAME, 4)


def test_comment_and_spacing(folder):
    """A comment, other line ends and blank lines in a block change no figure and give code 0."""
    path = folder / "cellar-cabbage.md"
    text = path.read_text("utf-8").replace("kind: dry-salted ferment", "# by weight\nkind:   dry-salted ferment")
    path.write_bytes(text.replace("\n", "\r\n").encode())
    found, whole = changed(folder)
    assert whole.code == SAME and found == {}


def test_prose_is_counted(folder):
    """Changed words are counted by paragraph and move no figure."""
    edit(folder, "cellar-cabbage.md", "Cabbage, salt, time.", "Cabbage, salt, and much time.")
    found, whole = changed(folder)
    prose = found["cellar-cabbage.md"].prose
    assert (prose.gone, prose.new, prose.words_after - prose.words_before) == (1, 1, 2)
    assert whole.code == SAME and not found["cellar-cabbage.md"].is_computed


def test_hand_worked_salt(folder):
    """Salt from 2.25 to 2.75 % of food: both ends of the ingoing salt are the shares as written, by definition."""
    edit(folder, "cellar-cabbage.md", "amount: 2.25 % of food", "amount: 2.75 % of food")
    found, whole = changed(folder)
    figures = {each.key: each for each in found["cellar-cabbage.md"].figures}
    ingoing = figures["cure: ingoing salt on green weight"]
    assert ingoing.before.value == pytest.approx(2.25, abs=0.01) and ingoing.after.value == pytest.approx(
        2.75, abs=0.01
    )
    assert ingoing.size == "+0.5 points, +22 %"
    line = found["cellar-cabbage.md"].ingredients[0]
    assert line.texts[0].startswith("2.25 % of food = ") and line.size == "+22 %"
    assert whole.code == CHANGED


def test_new_stop(folder):
    """A rule that the edit breaks comes first, loudest, and gives code 2; taking it back gives none."""
    apply(folder, "shorter-freezing")
    found, whole = changed(folder)
    first = found["winter-smoked-trout.md"].findings[0]
    assert (
        first.is_new_stop and first.severity == 0 and "8 days" in first.before.figure and "5 days" in first.after.figure
    )
    assert whole.code == STOPPED and whole.methods[0].has_new_stop
    commit(folder)
    edit(folder, "winter-smoked-trout.md", "time: 5 days", "time: 8 days")
    back = {each.path: each for each in review(folder, "HEAD").methods}["winter-smoked-trout.md"]
    assert back.code == CHANGED and any(each.is_better for each in back.findings)


def test_standing_stop_is_no_new_one(folder):
    """A stop that stood before is told by its figures and gives code 1."""
    apply(folder, "shorter-freezing")
    commit(folder)
    edit(folder, "winter-smoked-trout.md", "time: 5 days", "time: 4 days")
    found = review(folder, "HEAD")
    assert found.code == CHANGED and not found.methods[0].has_new_stop


def test_page_that_does_not_parse(folder):
    """A page that cannot be read is a fault with its line, and the others are compared all the same."""
    edit(folder, "soy-eggs.md", "```steps", "```stepps")
    edit(folder, "cellar-cabbage.md", "time: 60 min", "time: 90 min")
    found, whole = changed(folder)
    assert found["soy-eggs.md"].no_longer_builds and "block" in found["soy-eggs.md"].faults[0]
    assert found["cellar-cabbage.md"].code == CHANGED and whole.code == STOPPED
    commit(folder)
    edit(folder, "soy-eggs.md", "```stepps", "```steps")
    again = review(folder, "HEAD").methods[0]
    assert again.code == CHANGED and again.faults == () and again.faults_before


def test_house_file_that_does_not_parse(folder):
    """A house file that cannot be read stops everything and says so; in the older version it only hides its effect."""
    edit(folder, "house.yml", "fridge: 3 °C", "fridge: cold")
    _, whole = changed(folder)
    assert whole.code == STOPPED and "fridge" in whole.house.faults[0]
    commit(folder)
    edit(folder, "house.yml", "fridge: cold", "fridge: 3 °C")
    edit(folder, "cellar-cabbage.md", "time: 60 min", "time: 90 min")
    found = review(folder, "HEAD")
    assert [each.path for each in found.methods] == ["cellar-cabbage.md"]
    assert found.code == CHANGED and found.house.faults_before


def test_added_removed_renamed(folder):
    """Methods that came, went and were renamed are told apart, with git or without its knowing of them."""
    (folder / "cellar-cabbage.md").rename(folder / "crock-cabbage.md")
    (folder / "winter-smoked-trout.md").unlink()
    new = (folder / "soy-eggs.md").read_text("utf-8").replace("title: ", "title: Other ")
    (folder / "eggs.md").write_text(new, "utf-8")
    for is_committed in (False, True):
        if is_committed:
            commit(folder, "moves")
        base, head = ("main~1", "main") if is_committed else ("main", None)
        found = {each.path: each for each in review(folder, base, head).methods}
        statuses = {path: each.status for path, each in found.items()}
        assert statuses == {"crock-cabbage.md": "renamed", "winter-smoked-trout.md": "removed", "eggs.md": "added"}
        assert found["crock-cabbage.md"].old_path == "cellar-cabbage.md" and not found["crock-cabbage.md"].is_computed


def test_links_to_what_went(folder):
    """A page that did not change, but links to one that went, is a new fault with its line."""
    edit(folder, "cellar-cabbage.md", "## ", "See [eggs](soy-eggs.md).\n\n## ")
    commit(folder)
    (folder / "soy-eggs.md").unlink()
    found = review(folder, "main")
    assert found.code == STOPPED and any("cellar-cabbage.md" in each and "soy-eggs.md" in each for each in found.faults)


def test_same_title(folder):
    """A title that another page has already is a fault."""
    edit(folder, "cellar-cabbage.md", "title: Cellar cabbage", "title: Soy eggs")
    found, whole = changed(folder)
    assert whole.code == STOPPED and "a title of its own (soy-eggs.md has it)" in found["cellar-cabbage.md"].faults[0]


def test_house_change_lists_what_it_moves(folder):
    """A price moves the pages that buy it, told apart from the page's own change; in its own house it is one change."""
    edit(
        folder,
        "house.yml",
        '{item: "cabbage, green", price: 1.10 per kg}',
        '{item: "cabbage, green", price: 2.20 per kg}',
    )
    edit(folder, "cellar-cabbage.md", "time: 60 min", "time: 90 min")
    found, whole = changed(folder)
    assert [each.key for each in whole.house.stated] == ["prices: cabbage, green"]
    assert [each.path for each in whole.house.methods] == ["cellar-cabbage.md"]
    assert {each.key.split(":")[0] for each in whole.house.methods[0].figures} == {"cost"}
    assert not any(each.key.startswith("cost") for each in found["cellar-cabbage.md"].figures)
    found, whole = changed(folder, house="own")
    keys = {each.key.split(":")[0] for each in found["cellar-cabbage.md"].figures}
    assert {"cost", "time"} <= keys and whole.house.methods == ()


def test_house_ingredient(folder):
    """The density of a house's own salt moves the pages that measure it, and no other."""
    own = (
        "name,kind,water,salt,sugars,allergen,g_per_cup_low,g_per_cup,g_per_cup_high,source,trust\n"
        "salt of the shed,salt,0,1,0,none,{},{},{},house-figures,second-hand\n"
    )
    (folder / "ingredients.csv").write_text(own.format(200, 220, 240))
    line = '"salt, pickling/canning (fine, no additives)", amount: 2.25 % of food'
    edit(folder, "cellar-cabbage.md", line, '"salt of the shed", amount: 1/4 cup')
    commit(folder)
    (folder / "ingredients.csv").write_text(own.format(260, 280, 300))
    _, whole = changed(folder)
    moved_by_it = {each.path: each for each in whole.house.methods}
    change = next(each for each in moved_by_it["cellar-cabbage.md"].ingredients)
    assert change.after.mass / change.before.mass == pytest.approx(280 / 220, rel=1e-4)
    assert all("other crystals" in each.key for path, one in moved_by_it.items() if path != "cellar-cabbage.md"
               for each in one.figures)  # fmt: skip


def test_from_fork(folder):
    """From the fork on, what the base's branch did since does not show."""
    git(folder, "checkout", "-q", "-b", "side")
    edit(folder, "cellar-cabbage.md", "time: 60 min", "time: 90 min")
    commit(folder)
    git(folder, "checkout", "-q", "main")
    edit(folder, "soy-eggs.md", "title: ", "title: Best ")
    commit(folder)
    assert {each.path for each in review(folder, "main", "side").methods} == {"cellar-cabbage.md", "soy-eggs.md"}
    assert {each.path for each in review(folder, "main", "side", from_fork=True).methods} == {"cellar-cabbage.md"}


def test_affected_methods(folder):
    """Only what a change can affect is checked: a page by its text, a price by who buys it, a fridge by everybody."""
    assert check_affected(folder, "main").pages == ()
    edit(folder, "soy-eggs.md", "title: ", "title: Best ")
    assert check_affected(folder, "main").pages == ("soy-eggs.md",)
    edit(
        folder,
        "house.yml",
        '{item: "cabbage, green", price: 1.10 per kg}',
        '{item: "cabbage, green", price: 2.20 per kg}',
    )
    assert check_affected(folder, "main").pages == ("cellar-cabbage.md", "soy-eggs.md")
    edit(folder, "house.yml", "fridge: 3 °C", "fridge: 4 °C")
    assert set(check_affected(folder, "main").pages) == set(FEW)


def test_check_affected(folder):
    """The check of what changed says stops and faults as the whole check does."""
    apply(folder, "shorter-freezing")
    edit(folder, "soy-eggs.md", "kind: ", "kindd: ")
    found = check_affected(folder, "main")
    assert found.pages == ("soy-eggs.md", "winter-smoked-trout.md") and found.of == 4
    assert any("safety.parasite-freezing" in each for each in found.faults)
    assert any("soy-eggs.md" in each and "kindd" in each for each in found.faults)


class _Watched(House, dict=True):
    """A house that notes which of its settings are read."""

    def __getattribute__(self, name):
        if name in _SETTINGS:
            object.__getattribute__(self, "__dict__").setdefault("_read", set()).add(name)
        return super().__getattribute__(name)

    def price_of(self, item):
        found = super().price_of(item)
        self.__dict__["_read"].discard("prices")
        self.__dict__.setdefault("_prices", set()).add(item)
        return found


_SETTINGS = set(House.__struct_fields__) - {"line"}


def test_dependencies_cover_what_the_engine_reads():
    """Every setting that the engine reads while it computes a method is one that the method is said to depend on."""
    edition = folder_edition(METHODS, "")
    kitchen, _ = edition.kitchen()
    for path in edition.pages:
        method = method_of(edition, path, kitchen)
        if method is None:
            continue
        house = _Watched(**asdict(kitchen.house))
        house.__dict__["_read"] = set()
        evaluate(method, house, kitchen.tables)
        several = {"containers": "containers: any", "exceptions": f"exceptions: {method.name}: any"}
        read = {several.get(each, each) for each in house.__dict__["_read"]}
        read |= {f"prices: {each}" for each in house.__dict__.get("_prices", ())}
        missed = {each for each in read if not depends_on(method, each)}
        # Looking at all containers of the house for a dry cure, or at the batches of a page with its own, moves nothing.
        assert missed <= {"containers: any", "batches"}, (path, missed)
        assert len(read) > 3


# Figures and rounding.


@pytest.mark.parametrize(
    ("unit", "old", "new", "is_moved"),
    [
        ("%", 2.10, 2.14, False), ("%", 2.10, 2.15, True), ("g", 12.40, 12.44, False), ("g", 12.40, 12.45, True),
        ("g", 250.0, 250.4, False), ("g", 250.0, 250.5, True), ("g", 5400.0, 5404.0, False), ("g", 5400.0, 5405.0, True),
        ("°C", 62.0, 62.4, False), ("°C", 62.0, 62.5, True), ("min", 90.0, 90.4, False), ("min", 90.0, 90.5, True),
        ("min", 600.0, 602.9, False), ("min", 600.0, 603.0, True), ("ppm", 120.0, 120.4, False), ("ppm", 120.0, 120.5, True),
    ],
)  # fmt: skip
def test_moved_beyond_rounding(unit, old, new, is_moved):
    """A figure has moved from half its last printed digit on."""
    assert (
        moved(Figure(value=old, low=old, high=old, unit=unit), Figure(value=new, low=new, high=new, unit=unit))
        is is_moved
    )


@settings(deadline=None)
@given(st.floats(1e-3, 1e5), st.floats(-1, 1), st.sampled_from(["%", "g", "°C", "min", "L", "ppm", "mm", ""]))
def test_shown_figures_differ(value, part, unit):
    """Two figures that count as moved never print alike in the report."""
    other = value + part * 20 * printed_step(value, unit)
    if other <= 0:
        return
    old, new = (
        Figure(value=value, low=value, high=value, unit=unit),
        Figure(value=other, low=other, high=other, unit=unit),
    )
    if moved(old, new):
        before, after = FigureChange(key="x", before=old, after=new).texts
        assert before != after


def _text(recorded):
    """A record as a build writes it."""
    return "".join(
        record_parts(
            recorded.engine,
            recorded.house,
            (method_lines(path, recorded.methods[path]) for path in sorted(recorded.methods)),
        )
    )


@settings(max_examples=30, deadline=None)
@given(
    st.dictionaries(st.text(max_size=8), st.floats(-MOST_NUMBER, MOST_NUMBER), max_size=4),
    st.text(max_size=20),
)
def test_figures_read_back(values, words):
    """What is written is what is read, whatever the words."""
    method = _recorded_method()
    found = {key: Figure(value=value, low=value, high=value, unit="%", words=words) for key, value in values.items()}
    recorded = Recorded(
        engine="1",
        house="abc",
        methods={"x.md": replace(method, figures=found, title=words, prose=(words,))},
    )
    assert read_figures(_text(recorded), "f") == recorded


def test_figures_lines():
    """Each figure takes one line, keys are sorted, and two runs write the same text."""
    text = _text(Recorded(engine="1", house="abc", methods={path: _recorded_method(path) for path in FEW}))
    assert text == _text(Recorded(engine="1", house="abc", methods={path: _recorded_method(path) for path in FEW}))
    lines = [line.strip() for line in text.splitlines()]
    assert any(
        line.startswith('"cure: ingoing salt on green weight": {"high": ') and line.endswith("},") for line in lines
    )
    paths = [line for line in text.splitlines() if line.startswith('  "') and line.endswith("{")]
    assert paths == sorted(paths) and len(paths) == 4
    assert json.loads(text)["format"] == 1


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{}",
        "[]",
        "null",
        '{"format": 1}',
        '{"format": 1, "engine": "", "house": "", "methods": {"a": 1}}',
        "[" * 99999,
    ],
)
def test_no_record(text):
    """A file that is no record is refused in one line."""
    with pytest.raises(ValueError, match=r"^f: read "):
        read_figures(text, "f")


def test_recorded_builds():
    """Two builds' figures compare as their pages would: an engine's change is told method by method."""
    old = {path: _recorded_method(path) for path in FEW}
    moved_one = old["soy-eggs.md"].figures | {"food: salt finished": Figure(value=9.0, low=8.0, high=10.0, unit="%")}
    new = dict(old) | {"soy-eggs.md": replace(old["soy-eggs.md"], figures=moved_one)}
    found = compare_recorded(
        Recorded(engine="0.1", house="h", methods=old),
        Recorded(engine="0.2", house="h", methods=new),
        ("old.json", "new.json"),
    )
    assert [each.path for each in found.methods] == ["soy-eggs.md"]
    assert (found.engines, found.code, found.unchanged) == (("0.1", "0.2"), CHANGED, 3)
    renamed = {f"x-{path}": each for path, each in old.items()}
    found = compare_recorded(
        Recorded(engine="0.1", house="h", methods=old), Recorded(engine="0.1", house="h", methods=renamed), ("a", "b")
    )
    assert {each.status for each in found.methods} == {"renamed"} and found.code == SAME


def _step(do: str, minutes: float = 10.0, stage: str = "rest") -> StepFigures:
    time = Figure(value=minutes, low=minutes, high=minutes, unit="min")
    return StepFigures(
        do=do, stage=stage, hands_on=False, is_computed=False, start=time, duration=time, stated={}, figures={}
    )


def test_steps_matched():
    """A step put in, one taken out, one moved and one reworded are each told as that."""
    old = [_step(each) for each in ("Weigh the fish", "Brine it cold", "Rinse", "Dry on racks over night", "Smoke")]
    new = [
        _step(each) for each in ("Weigh the fish", "Rinse", "Brine it cold", "Dry on the racks over one night", "Pack")
    ]
    kinds = {
        (each.kind, (each.after or each.before).do, each.is_reworded)
        for each in compare_steps(tuple(old), tuple(new))[0]
    }
    assert ("changed", "Dry on the racks over one night", True) in kinds
    assert ("added", "Pack", False) in kinds and ("removed", "Smoke", False) in kinds
    assert {kind for kind, _, _ in kinds} == {"changed", "added", "removed", "moved"}


@given(st.lists(st.sampled_from("abcdefg"), max_size=7), st.lists(st.sampled_from("abcdefg"), max_size=7))
def test_steps_matched_once(old, new):
    """No step is paired twice, and pairs point to steps that are there."""
    pairs = match_steps(tuple(_step(each) for each in old), tuple(_step(each) for each in new))
    assert len({i for i, _ in pairs}) == len({j for _, j in pairs}) == len(pairs)
    assert all(0 <= i < len(old) and 0 <= j < len(new) for i, j in pairs)


# Version marks, sign-off, history.


def test_marks(folder):
    """The mark's first half follows the figures, the second every word and the settings that the figures rest on; the
    same text gives the same mark, at any price.
    """
    mark = _mark(folder)
    assert mark == _mark(folder)
    edit(folder, "house.yml", "kitchen: ", "# a comment\nkitchen: ")
    assert _mark(folder) == mark
    edit(folder, "cellar-cabbage.md", "Cabbage, salt, time.", "Cabbage and salt.")
    words = _mark(folder)
    assert words[:6] == mark[:6] and words[7:] != mark[7:]
    edit(folder, "house.yml", '"cabbage, green", price: 1.10', '"cabbage, green", price: 1.90')
    edit(folder, "house.yml", "kitchen: The Net Loft", "kitchen: The Boat Loft")
    assert _mark(folder) == words
    edit(folder, "house.yml", "scale_step: 1 g", "scale_step: 2 g")
    assert _mark(folder)[:6] == mark[:6] and _mark(folder)[7:] != words[7:]
    edit(folder, "cellar-cabbage.md", "amount: 2.25 % of food", "amount: 2.5 % of food")
    assert _mark(folder)[:6] != mark[:6]


def test_sign_off(folder):
    """A signed version is reviewed until a figure changes, and again when the figure is taken back or signed anew."""
    runner = CliRunner()
    arguments = ["cellar-cabbage", "--by", 'Odd "Varga"', "--on", "2026-11-01", "--folder", str(folder)]
    assert _sign_state(folder) == NEVER
    assert runner.invoke(sign, arguments).exit_code == 0
    assert _sign_state(folder) == SIGNED
    edit(folder, "cellar-cabbage.md", "Cabbage, salt, time.", "Cabbage and salt.")
    assert _sign_state(folder) == WORDS
    edit(folder, "cellar-cabbage.md", "amount: 2.25 % of food", "amount: 2.5 % of food")
    assert _sign_state(folder) == CHANGED_SINCE
    assert runner.invoke(sign, arguments).exit_code == 0
    assert _sign_state(folder) == SIGNED
    wrong = runner.invoke(sign, ["nosuch", "--by", "x", "--folder", str(folder)])
    assert wrong.exit_code == NOT_DONE and 'METHOD: read "nosuch"' in wrong.stderr


@pytest.mark.parametrize(
    ("text", "line", "part"),
    [
        ("- {method: nosuch, mark: 04282d-604229, by: x, on: 2026-01-01}", 1, "a method of the handbook"),
        ("- {method: soy-eggs, mark: latest, by: x, on: 2026-01-01}", 1, "a version mark as printed on the page"),
        ("\n- {method: soy-eggs, mark: 04282d-604229, by: x}", 2, "year-month-day"),
        ("signed: yes", 1, "a list"),
        ("- [", 2, "well-formed YAML"),
    ],
)
def test_signed_faults(text, line, part):
    """Each fault of the file of reviews names its line and what is allowed."""
    with pytest.raises(ValueError, match=part) as caught:
        read_signed(text, "methods/signed.yml", {"soy-eggs"})
    assert str(caught.value).startswith(f"methods/signed.yml:{line}: ")


def test_history(folder, tmp_path):
    """Each commit of a page is a row with its figures, across a rename, kept for the next run."""
    edit(folder, "cellar-cabbage.md", "amount: 2.25 % of food", "amount: 2.75 % of food")
    commit(folder, "saltier")
    (folder / "cellar-cabbage.md").rename(folder / "crock.md")
    commit(folder, "a shorter name")
    edit(
        folder,
        "house.yml",
        '{item: "cabbage, green", price: 1.10 per kg}',
        '{item: "cabbage, green", price: 2.20 per kg}',
    )
    commit(folder, "dear cabbage")
    kept = tmp_path / "kept.json"
    rows = histories(folder, kept=kept)["crock.md"]
    whats = [(row.subject, row.what) for row in rows]
    assert whats[:3] == [
        ("dear cabbage", "moved by the house data"),
        ("a shorter name", "renamed"),
        ("saltier", "changed"),
    ]
    assert whats[-1] == ("the first season", "written")
    assert "food: salt finished: 2.2 % (2.2 to 2.3 %) → 2.7 %" in rows[2].moved and rows[2].by == "Marit Osk"
    assert rows[0].mark == _mark(folder, "crock.md")
    assert histories(folder, kept=kept)["crock.md"] == rows and kept.is_file()
    kept.write_text("{broken")
    assert histories(folder, kept=kept)["crock.md"] == rows


def test_history_is_kept(folder, tmp_path, monkeypatch):
    """Rows that are kept are not computed again."""
    edit(folder, "cellar-cabbage.md", "amount: 2.25 % of food", "amount: 2.75 % of food")
    commit(folder, "saltier")
    kept = tmp_path / "kept.json"
    rows = histories(folder, kept=kept)
    monkeypatch.setattr(history, "compare_editions", lambda *_: pytest.fail("computed again"))
    assert histories(folder, kept=kept) == rows


def test_history_of_a_shallow_clone(folder, tmp_path):
    """Where the clone ends, the row says that older changes are not here instead of calling the page new."""
    git(tmp_path, "clone", "-q", "--depth=1", f"file://{folder.parent}", "shallow")
    rows = histories(tmp_path / "shallow" / "methods")["cellar-cabbage.md"]
    assert [row.what for row in rows] == ["before"]


def test_no_history(tmp_path):
    """A folder outside git, and one without a commit, have no history and no error."""
    (tmp_path / "methods").mkdir()
    assert histories(tmp_path / "methods") == {}
    git(tmp_path, "init", "-q")
    assert histories(tmp_path / "methods") == {}


# The command.


def run(folder, *arguments):
    """The command's result in a folder."""
    return CliRunner().invoke(compare, [*arguments, "--folder", str(folder)])


@pytest.mark.parametrize(
    ("edits", "gate", "code"),
    [
        ((), "changes", 0), (("stronger",), "changes", 1), (("stronger",), "stops", 0), (("stronger",), "none", 0),
        (("stop",), "changes", 2), (("stop",), "stops", 2), (("stop",), "none", 0), (("broken",), "stops", 2),
    ],
)  # fmt: skip
def test_gates(folder, edits, gate, code):
    """The exit code follows what changed and which gate was chosen."""
    texts = {
        "stronger": ("cellar-cabbage.md", "amount: 2.25 % of food", "amount: 2.75 % of food"),
        "stop": ("winter-smoked-trout.md", "time: 8 days", "time: 5 days"),
        "broken": ("soy-eggs.md", "```steps", "```stepps"),
    }
    for each in edits:
        edit(folder, *texts[each])
    assert run(folder, "main", "--gate", gate).exit_code == code


@pytest.mark.parametrize(
    ("arguments", "part"),
    [
        (("nosuch",), 'revision: read "nosuch"'),
        ((), "BASE: read nothing; allowed: a revision BASE, or --recorded with two files"),
        (("main", "--recorded", "a", "b"), "BASE: read both"),
        (("--recorded", "nosuch.json", "nosuch.json"), "nosuch.json: cannot be read"),
    ],
)
def test_cannot_compare(folder, arguments, part):
    """What cannot be compared exits with 3 and one line, without a traceback."""
    result = run(folder, *arguments)
    assert result.exit_code == NOT_DONE and part in result.stderr and "Traceback" not in result.output


def test_into_a_file(folder, tmp_path):
    """A report goes into a file without colour codes, and the command says in a line what came of it."""
    apply(folder, "shorter-freezing")
    file = tmp_path / "report.txt"
    result = run(folder, "main", "--into", str(file))
    assert "NEW STOP" in file.read_text("utf-8") and "\x1b" not in file.read_text("utf-8")
    assert result.stdout == "" and "a new stop or a page that no longer builds" in result.stderr
    failed = run(folder, "main", "--into", str(tmp_path / "no" / "folder"))
    assert failed.exit_code == NOT_DONE and "cannot be written" in failed.stderr


def test_thousand_methods(folder, monkeypatch):
    """One change among a thousand methods: no other page is read."""
    for number in range(1000):
        text = (folder / FEW[number % 4]).read_text("utf-8")
        (folder / f"no-{number}.md").write_text(text.replace("title: ", f"title: No {number} ", 1), "utf-8")
    commit(folder)
    edit(folder, "no-500.md", "title: No 500 ", "title: Number 500 ")
    edit(folder, "no-500.md", "time: ", "time: 1")
    pages = []
    monkeypatch.setattr(edition, "read_page", lambda *given: pages.append(given[0].path) or read_page(*given))
    found = review(folder, "main")
    assert [each.path for each in found.methods] == ["no-500.md"] and found.unchanged == 1003
    assert pages == ["no-500.md"] * 2  # before and after


def _recorded_method(path: str = "cellar-cabbage.md"):
    if path not in _METHODS:
        edition = folder_edition(METHODS, "")
        kitchen, _ = edition.kitchen()
        page = read_page(edition.page(path), kitchen)
        _METHODS[path] = method_figures(page.report, page.text, kitchen.house, kitchen.tables)
    return _METHODS[path]


_METHODS: dict = {}


def _recorded(folder) -> Recorded:
    edition = folder_edition(folder, "")
    kitchen, _ = edition.kitchen()
    methods = {}
    for path in ("cellar-cabbage.md", "crock.md"):
        if path in edition.paths:
            page = read_page(edition.page(path), kitchen)
            methods[path] = method_figures(page.report, page.text, kitchen.house, kitchen.tables)
    return Recorded(engine="", house="", methods=methods)


def _mark(folder, path: str = "cellar-cabbage.md") -> str:
    return _recorded(folder).methods[path].mark


def _sign_state(folder) -> str:
    path = folder / "signed.yml"
    text = path.read_text("utf-8") if path.is_file() else ""
    signatures = read_signed(text, "signed.yml", {"cellar-cabbage"})
    return sign_states({"cellar-cabbage.md": _mark(folder)}, signatures)["cellar-cabbage.md"].state


def test_fault_with_its_cause(folder):
    """A page that can be read but no longer computed still says which stated things changed."""
    edit(folder, "equilibrium-pork-chops.md", "target_salt: 1.2 %", "target_salt: 0.01 %")
    found, whole = changed(folder)
    change = found["equilibrium-pork-chops.md"]
    assert change.no_longer_builds and whole.code == STOPPED
    assert [each.key for each in change.stated] == ["brine: target_salt"]


def test_engine_failure_is_told(folder, monkeypatch):
    """A page that the engine stumbles over is a fault of that page alone; the others are compared."""

    def stumble(method, *more, **named):
        if method.name == "soy-eggs":
            raise ZeroDivisionError("division by zero")
        return evaluate(method, *more, **named)

    edit(folder, "soy-eggs.md", "portions: ", "portions: 1")
    edit(folder, "cellar-cabbage.md", "time: 60 min", "time: 90 min")
    monkeypatch.setattr("handbook.runs.house_report.evaluate", stumble)
    found, _ = changed(folder)
    assert (
        "no figures: ZeroDivisionError: division by zero; allowed: a page that the handbook can"
        in found["soy-eggs.md"].faults[0]
    )
    assert found["cellar-cabbage.md"].code == CHANGED


def test_reads_as_a_build_does(folder):
    """Each page read for a comparison has the figures, and the faults, that a build finds."""
    apply(folder, "shorter-freezing")
    with pytest.raises(FaultsError) as caught:
        read_book(folder)
    built = {str(each) for each in caught.value.faults if not each.key.startswith("safety.")}
    edition = folder_edition(folder, "")
    kitchen, _ = edition.kitchen()
    versions = [Reader().version(edition, path, kitchen, ()) for path in edition.pages]
    assert {fault for each in versions for fault in each.faults} == built
    edit(folder, "winter-smoked-trout.md", "time: 5 days", "time: 8 days")
    for path in folder.glob("*.md"):
        path.write_text(re.sub(r"\]\([a-z-]+\.md\)", "](soy-eggs.md)", path.read_text("utf-8")), "utf-8")
    build_site(folder, folder.parent / "site", Choices(shows_progress=False, workers=1))
    built, edition = read_figures((folder.parent / "site" / FILE).read_text("utf-8"), FILE), folder_edition(folder, "")
    assert len(built.methods) == len(FEW)
    for path, figures in built.methods.items():
        assert Reader().version(edition, path, kitchen, ()).figures == figures
