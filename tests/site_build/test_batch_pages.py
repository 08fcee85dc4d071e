"""Batches through the command and on the site: nothing is lost, nothing is published that should not be."""

import re
import shutil
import subprocess
from datetime import date
from itertools import pairwise

import pytest

from handbook.batches.batch_record import MAX_ENTRIES, read_batch
from site_build.build import made_batches
from site_build.build.build_site import Choices, build_site
from tests.site_build.clone import METHODS, run
from tests.site_build.test_hostile_data import YAML, said, write

pytestmark = pytest.mark.usefixtures("kept_clone")
LOT = "soy-eggs-261102"
PATH = f"batches/2026/{LOT}.yml"
AT = "2026-11-02 08:00"


def text_of(clone, lot: str = LOT) -> str:
    return (clone / f"methods/batches/2026/{lot}.yml").read_text("utf-8")


def started(clone, *more: str) -> None:
    """A batch of soy eggs, begun by the command."""
    result = run(
        "batch", "start", "soy-eggs", "1.2kg", "--at", AT, "--by", "Ines Brovik", "--lot", "egg, whole=H-22", *more
    )
    assert result.exit_code == 0, result.output


def note(*arguments: str, lot: str = LOT):
    return run("batch", "note", lot, *arguments)


def site_of(clone, name: str = "site"):
    build_site(clone / "methods", clone.parent / name, Choices(shows_progress=False, workers=1))
    return clone.parent / name


def words_of(html: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", html.partition("<main")[2]).split())


def test_a_batch_from_start_to_end(clone):
    """Begun, noted, labelled, sold, ended: each command adds its line to the end of the file and changes nothing above."""
    started(clone)
    texts = [text_of(clone)]
    for arguments in (
        ("--step", "1", "--done", "--at", "2026-11-02 08:20"),
        ("--ph", "6.5", "--words", 'smells of "sea": good', "--at", "2026-11-02 09:00"),
        ("--went", "sold", "--amount", "400g", "--to", "Harbour school", "--at", "2026-11-04 09:00"),
        ("--taste", "4,0.5", "--at", "2026-11-04 19:00"),
    ):
        assert note(*arguments).exit_code == 0
        texts.append(text_of(clone))
    assert run("batch", "end", LOT, "--at", "2026-11-05 10:00").exit_code == 0
    texts.append(text_of(clone))
    for before, after in pairwise(texts):
        assert after.startswith(before) and after.count("\n") == before.count("\n") + 1
    record, faults = read_batch(LOT, PATH, texts[-1])
    assert not faults and record.entries[-1].ended and record.taste is None and record.entries[-2].taste.salt == 0.5
    assert record.amounts[0].lot == "H-22" and record.version and record.cook == "Ines Brovik"
    assert said(clone) == []


def test_a_second_batch_of_the_day_gets_a_letter(clone):
    """The lot of a batch that there is already is not written over."""
    started(clone)
    started(clone)
    assert text_of(clone).replace(LOT, f"{LOT}b") == text_of(clone, f"{LOT}b")


def test_a_faulty_line_writes_nothing(clone):
    """A wrong measurement, an unknown lot, an unknown item: one line, and the file as it was."""
    started(clone)
    before = text_of(clone)
    for result, words in (
        (note("--ph", "14", "--at", "2026-11-02 09:00"), "a measured pH, 2 to 9"),
        (note("--step", "1", "--done", "--at", "2025-11-02 09:00"), "sets a wrong clock right"),
        (note("--ph", "6", lot="soy-eggs-261103"), f"Did you mean {LOT}?"),
        (note(), "read nothing"),
        (run("batch", "start", "soy-egg", "1 kg"), "Did you mean soy-eggs?"),
        (run("batch", "start", "soy-eggs", "1 L"), "one number and a unit"),
        (run("batch", "start", "soy-eggs", "1 kg", "--lot", "eggs=1"), "with an item of the method"),
        (run("recall", "H-29"), "a lot that a batch names. Did you mean H-22?"),
    ):
        assert result.exit_code == 1 and words in result.stderr and "Traceback" not in result.output, result.output
    assert text_of(clone) == before


def test_a_clock_that_stands_before_the_last_line_is_said(clone):
    """A line of an earlier moment is kept, and the command says so."""
    started(clone)
    note("--ph", "6.5", "--at", "2026-11-02 12:00")
    result = note("--ph", "6.4", "--at", "2026-11-02 11:00")
    assert (
        result.exit_code == 0 and "stands before that of the last line" in result.stderr and "ph: 6.4" in text_of(clone)
    )


def test_two_people_on_one_batch(clone, tmp_path):
    """Two branches add a line each: git's conflict gives one line with its place; joined by union both lines stand."""
    started(clone)
    git(clone, "init", "-q", "-b", "main")
    commit(clone, "begun")
    for branch, words in (("one", "6.5"), ("two", "6.4")):
        git(clone, "checkout", "-q", "-b", branch, "main")
        assert note("--ph", words, "--at", f"2026-11-02 1{words[-1]}:00", "--by", branch).exit_code == 0
        commit(clone, branch)
    merged = subprocess.run(["git", "merge", "-q", "one"], cwd=clone, capture_output=True, check=False)
    assert merged.returncode == 1 and "<<<<<<<" in text_of(clone)
    first = text_of(clone).split("\n").index("<<<<<<< HEAD") + 1
    assert said(clone) == [
        f'methods/{PATH}:{first}: file: read "two people\'s changes that git could not join, lines {first} to {first + 4}"; '
        f"allowed: both changes, or one of them, without the marks of lines {first}, {first + 2} and {first + 4}"
    ]
    git(clone, "merge", "--abort")
    (clone / ".gitattributes").write_text("methods/batches/**/*.yml merge=union\n")
    git(clone, "merge", "-q", "one", "-m", "both")
    record, faults = read_batch(LOT, PATH, text_of(clone))
    assert not faults and {each.ph for each in record.entries} >= {6.4, 6.5} and said(clone) == []


def git(clone, *arguments: str) -> None:
    subprocess.run(
        ["git", "-c", "user.name=t", "-c", "user.email=t@t.invalid", *arguments],
        cwd=clone,
        check=True,
        capture_output=True,
    )


def commit(clone, words: str) -> None:
    git(clone, "add", "-A")
    git(clone, "commit", "-q", "-m", words)


def test_the_site_names_no_people_unless_the_house_says_so(clone):
    """Cooks and buyers stand in no page of the site; a house that wishes it shows them."""
    started(clone)
    note(
        "--went", "sold", "--amount", "400g", "--to", "Harbour school", "--by", "Ola Tveit", "--at", "2026-11-04 09:00"
    )
    run("batch", "start", "soy-eggs", "1kg", "--at", "2026-11-03 08:00", "--by", "Ines Brovik")
    run("batch", "end", "soy-eggs-261103", "--at", "2026-11-05 08:00")
    site = site_of(clone)
    everything = "".join(
        path.read_text("utf-8", "replace")
        for path in site.rglob("*")
        if path.suffix in (".html", ".json", ".js", ".xml")
    )
    assert LOT in everything and not any(name in everything for name in ("Brovik", "Harbour school", "Tveit"))
    house = clone / "methods/house.yml"
    house.write_text(house.read_text("utf-8") + "\npeople_on_site: yes\n", "utf-8")
    shown = "".join((site_of(clone) / page).read_text("utf-8") for page in ("in-progress.html", "batches/2026.html"))
    assert all(name in shown for name in ("Ines Brovik", "Harbour school", "Ola Tveit"))


def test_pages_in_progress_and_by_year(clone):
    """The page in progress holds open batches with their moments; ended and discarded ones stand in their year with why."""
    started(clone, "--reach", "pH 4.6")
    for day, ph in ((3, 6.2), (4, 5.7), (5, 5.3)):
        note("--ph", str(ph), "--at", f"2026-11-0{day} 08:00")
    run("batch", "start", "soy-eggs", "1kg", "--at", "2025-12-03 08:00")
    assert (
        run(
            "batch", "discard", "soy-eggs-251203", "--why", "the fridge <b>stood</b> open", "--at", "2025-12-04 08:00"
        ).exit_code
        == 0
    )
    site = site_of(clone)
    html = (site / "in-progress.html").read_text("utf-8")
    found = words_of(html)
    assert "soy-eggs-261102" in found and "soy-eggs-251203" not in found and "pH 4.6 : expected" in found
    assert re.search(r'data-due="2026-11-0\dT\d\d:\d\d:00" data-latest="', html) and "chart-svg" in html
    assert "soy-eggs-251203" in words_of((site / "batches/2025.html").read_text("utf-8"))
    assert "discarded: the fridge &lt;b&gt;stood&lt;/b&gt; open" in (site / "batches/2025.html").read_text("utf-8")
    assert "1 batch in progress" in words_of((site / "index.html").read_text("utf-8"))
    assert (site / "schemas/batch.schema.json").is_file()


def test_a_batch_of_a_method_that_has_changed_since(clone):
    """The version is pinned: another salt amount says so, the batch keeps its plan, and nothing is a fault."""
    started(clone)
    assert "another version" not in words_of((site_of(clone) / "in-progress.html").read_text("utf-8"))
    page = clone / "methods/soy-eggs.md"
    changed = re.sub(r"(time: )(\d+)", lambda found: f"{found[1]}{int(found[2]) + 1}", page.read_text("utf-8"), count=1)
    assert changed != page.read_text("utf-8")
    before = text_of(clone)
    page.write_text(changed, "utf-8")
    assert said(clone) == [] and "another version" in words_of((site_of(clone) / "in-progress.html").read_text("utf-8"))
    assert text_of(clone) == before


def test_a_build_reads_only_what_changed(clone, monkeypatch):
    """A second build reads no batch; after a line is added to one, that one, and the open one that its page shows."""
    started(clone)
    for day in ("03", "04"):
        run("batch", "start", "soy-eggs", "1kg", "--at", f"2026-11-{day} 08:00")
        run("batch", "end", f"soy-eggs-2611{day}", "--at", "2026-11-09 08:00")
    read = []
    old = made_batches.read_batch_file
    monkeypatch.setattr(
        made_batches, "read_batch_file", lambda source, path, measures: read.append(path) or old(source, path, measures)
    )
    site_of(clone)
    assert len(read) == 3
    read.clear()
    site_of(clone)
    assert read == []
    with (clone / "methods/batches/2026/soy-eggs-261104.yml").open("a", encoding="utf-8") as file:
        file.write("- {at: 2026-11-09 09:00, words: one was left}\n")
    read.clear()
    site_of(clone)
    assert read == [PATH, "batches/2026/soy-eggs-261104.yml"]


def test_a_review_follows_a_batch_to_its_page(clone):
    """A change of a batch concerns its method's page; a fault of a changed batch is told without a build."""
    started(clone)
    git(clone, "init", "-q", "-b", "main")
    commit(clone, "begun")
    assert note("--ph", "6.5", "--at", "2026-11-02 12:00").exit_code == 0
    result = run("check", "methods", "--changed-since", "main")
    assert result.exit_code == 0 and result.output.startswith("1 of 1 pages"), result.output
    with (clone / "methods" / PATH).open("a", encoding="utf-8") as file:
        file.write("- {at: 2026-11-02 13:00, ph: 14}\n")
    result = run("check", "methods", "--changed-since", "main")
    assert result.exit_code == 1 and f"methods/{PATH}:" in result.stderr and "a measured pH" in result.stderr


@pytest.mark.parametrize("name", YAML)
def test_batches_of_a_stranger(clone, name):
    """A batch, the shelf and the checks of thermometers in every odd YAML: fault lines of their own files, nothing runs."""
    data = YAML[name] if isinstance(YAML[name], bytes) else YAML[name].encode("utf-8", "surrogatepass")
    for file in (PATH, "batches/2026/stock.yml", "batches/2026/thermometers.yml"):
        write(clone, file, data)
    lines = said(clone)
    assert any(line.startswith(f"methods/{PATH}:") for line in lines) and all(
        "methods/batches/2026/" in line for line in lines
    )


def test_batch_files_in_wrong_places(clone):
    """A wrong year, a wrong name, a log without its batch, a page among them, too many lines: a line each."""
    started(clone)
    write(clone, "batches/2025/soy-eggs-261103.yml", text_of(clone).replace(LOT, "soy-eggs-261103"))
    write(clone, "batches/2026/notes.yml", "a: b\n")
    write(clone, "batches/2026/soy-eggs-261109.csv", "time,core\n")
    write(clone, "batches/2026.md", "# Mine\n")
    entries = "".join(
        f"- {{at: 2026-11-03 {n // 60 % 24:02d}:{n % 60:02d}, ph: {5 + n // 1440}}}\n" for n in range(MAX_ENTRIES + 1)
    )
    write(clone, "batches/2026/soy-eggs-261102c.yml", text_of(clone).replace(LOT, f"{LOT}c") + entries)
    lines = said(clone)
    assert len(lines) == 6, "\n".join(lines)
    for words in (
        "the folder 2025",
        'read "2026/notes.yml"',
        "beside its log",
        "the generator makes the pages of batches",
        f"a list of {MAX_ENTRIES + 2}",
    ):
        assert sum(words in line for line in lines) == 1, words


def test_harmful_words_stay_words(clone):
    """Markup, scripts, links and template signs in every text of a batch are shown as they are written, and lead nowhere."""
    bad = (
        "<script>alert(1)</script> [x](javascript:alert(1)) https://evil.invalid {{ 7*7 }} <img src=x onerror=alert(1)>"
    )
    started(clone)
    quoted = bad.replace('"', "'")
    text = text_of(clone).replace("title: ", "title: '" + quoted.replace("'", "''")[:100] + "' #")
    text += f'- {{at: 2026-11-02 09:00, words: "{quoted}"}}\n- {{at: 2026-11-02 10:00, went: sold, to: "{quoted}"}}\n- {{at: 2026-11-03 09:00, recalled: "{quoted}"}}\n'
    write(clone, PATH, text)
    write(
        clone,
        "batches/2026/thermometers.yml",
        f'- {{at: 2026-11-02 09:00, thermometer: "<b>probe</b>", in: ice water, read: 3 °C, done: "{quoted}"}}\n',
    )
    house = clone / "methods/house.yml"
    house.write_text(house.read_text("utf-8") + "\npeople_on_site: yes\n", "utf-8")
    page = clone / "methods/soy-eggs.md"
    page.write_text(page.read_text("utf-8").replace("\nportions:", "\ninspection: yes\nportions:", 1), "utf-8")
    site = site_of(clone)
    for name in ("in-progress.html", "batches/2026.html", "inspection/soy-eggs.html"):
        body = (site / name).read_text("utf-8").partition("<main")[2].partition("</main>")[0]
        assert (
            "<script>alert" not in body
            and "<img src=x" not in body
            and 'href="http' not in body
            and 'href="javascript' not in body
        ), name
        assert "&lt;script&gt;alert(1)" in body or "&lt;b&gt;probe" in body, name
    assert "{{ 7*7 }}" in (site / "in-progress.html").read_text("utf-8")
    sheet, label = clone.parent / "sheet.html", clone.parent / "label.html"
    assert run("recall", "H-22", "--into", sheet).exit_code == 0
    assert run("batch", "label", LOT, "--into", label).exit_code == 1  # it is called back
    assert "<script>" not in sheet.read_text("utf-8") and "&lt;script&gt;" in sheet.read_text("utf-8")


def test_due_recall_stock_and_thermometer_in_words(clone):
    """The lists in the terminal: what is due, what a lot touched, what the shelf should hold, a check written down."""
    started(clone)
    out = run("due", "--at", "2026-11-02 08:05").output
    assert "Today" in out and f"{LOT}: step 1" in out
    assert "Late" in run("due", "--at", "2026-11-20 08:00").output
    assert "1 batch touched" in run("recall", "h 22").output
    assert run("stock", "--item", "egg, whole", "--counted", "5 kg", "--at", "2026-11-01 08:00").exit_code == 0
    assert "3.80 kg  egg, whole" in run("stock", "--at", "2026-11-02 12:00").output
    assert run("stock", "--item", "eggs of dragons", "--counted", "5 kg").exit_code == 1
    assert run("thermometer", "core probe", "0.3 °C", "--at", "2026-11-02 07:00").exit_code == 0
    assert run("thermometer", "core probe", "warm", "--at", "2026-11-02 07:00").exit_code == 1
    assert (clone / "methods/batches/2026/thermometers.yml").read_text("utf-8").count("\n") == 1 and said(clone) == []
    assert run("recall", "H-22", "--why", "salmonella at the farm", "--at", "2026-11-03 08:00").exit_code == 0
    assert (
        "recalled: salmonella at the farm" in text_of(clone)
        and "called back" in run("due", "--at", "2026-11-03 09:00").output
    )


def test_a_day_plan_begins_its_batches(clone):
    """Each wish of a kept plan becomes a batch at the plan's own times."""
    shutil.rmtree(clone / "methods")
    shutil.copytree(METHODS, clone / "methods")
    shutil.rmtree(clone / "methods/batches")
    result = run("batch", "from-day", "methods/days/jetty-saturday.yml")
    assert result.exit_code == 0, result.output
    lots = sorted(path.stem for path in (clone / "methods/batches/2026").glob("*.yml"))
    assert lots == [
        "brined-chicken-thighs-261127",
        "glazed-whitefish-strips-261127",
        "hot-smoked-char-sides-261126",
        "smoked-mussels-261128",
    ]
    char, _ = read_batch(lots[2], "x.yml", text_of(clone, lots[2]))
    kept = (METHODS / "days/jetty-saturday.plan.yml").read_text("utf-8")
    starts = re.findall(r"hot-smoked-char-sides.*?step: 1, start: (\S+ \S+), end: (\S+ [\d:]+)", kept)
    assert (
        f"{char.plan[0].begin:%Y-%m-%d %H:%M}" == starts[0][0] and f"{char.plan[0].end:%Y-%m-%d %H:%M}" == starts[0][1]
    )
    assert char.on == date(2026, 11, 26) and char.batch.low == 6.0
