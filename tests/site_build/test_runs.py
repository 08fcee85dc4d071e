"""Runs on the page: the demo's kitchen is found again, predictions improve, safety is never loosened."""

from math import log
from pathlib import Path

import pytest
from click.testing import CliRunner
from msgspec.structs import replace

from handbook.folder.run_files import RunText, method_page, stray_runs
from handbook.runs.house_report import stricter
from handbook.runs.run_result import accuracies
from handbook.safety.findings import LEVELS
from site_build.cli.main import main
from site_build.html.local_list import local_list
from site_build.html.run_section import runs_html
from tests.demo_runs import HIDDEN
from tests.site_build.run_pages import METHODS, page
from tests.whole_book import read_book

NAMES = tuple(HIDDEN)


@pytest.mark.parametrize("name", NAMES)
def test_hidden_kitchen_is_found(name):
    """The factors that the demo's runs were made with lie inside the kitchen's bands, which are narrower than before."""
    figures, hidden = page(name).kitchen_runs.learned.calibration, HIDDEN[name]
    for figure, truth in ((figures.salt, hidden.rate), (figures.gain, hidden.gain)):
        assert figure.after.low <= truth <= figure.after.high
        # Three runs with one refractometer: its own error stays.
        assert figure.deviation < 0.85 * figure.prior_deviation
    assert figures.loss.deviation < 0.7 * figures.loss.prior_deviation


@pytest.mark.parametrize("name", NAMES)
def test_other_runs_predict_better(name):
    """Each run's salt is predicted more closely by the other runs than by the published figures."""
    salt = next(each for each in accuracies(page(name).kitchen_runs.runs) if each.key == "salt")
    assert salt.others < salt.published


@pytest.mark.parametrize("name", NAMES)
def test_page_bands_narrow(name):
    """The page's finished salt has a range narrower than the published one."""
    found = page(name)
    before, after = found.kitchen_runs.published.salt, found.report.salt
    assert log(after.high / after.low) < log(before.high / before.low)


@pytest.mark.parametrize("name", NAMES)
def test_safety_is_never_loosened(name):
    """No rule is judged milder with the runs than without."""
    found = page(name)
    shown = {(each.rule, each.limit, each.title): LEVELS.index(each.level) for each in found.report.findings}
    for each in found.kitchen_runs.published.findings:
        assert shown[each.rule, each.limit, each.title] <= LEVELS.index(each.level)


def test_stricter_takes_the_worse():
    """Of two verdicts on one rule the worse is shown, with its reason; a new stop is added, a new pass is not."""
    found = page(NAMES[0]).kitchen_runs.published.findings
    met = next(each for each in found if each.level == "met")
    stop = replace(met, level="stop")
    assert stricter((met,), (stop,))[0].level == "stop" and stricter((stop,), (met,)) == (stop,)
    other = replace(met, rule="other")
    assert len(stricter((), (stop, other))) == 1 and "own runs" in stricter((), (stop,))[0].message


def test_runs_without_measurements_change_nothing():
    """A run that holds only its batch leaves every figure as published."""
    bare = (RunText(name="2026-10-12", file="x.yml", data=b"on: 2026-10-12\nbatch: 2 kg\n", log=None),)
    found = page(NAMES[0], bare)
    assert found.kitchen_runs.learned.calibration.is_empty and found.report.salt == found.kitchen_runs.published.salt
    assert "too little to change" in runs_html(found.report, found.kitchen_runs, "", local_list(found), False)


def test_a_missed_limit_of_a_run_shows():
    """A logged core that stays at 60 °C is judged as missed by the method's own rule, and the page still builds."""
    log = "elapsed (min),core (°C)\n" + "".join(f"{at},{min(5 + at, 60)}\n" for at in range(0, 200, 5))
    text = b"on: 2026-10-12\nbatch: 2 kg\nsteps:\n  - {step: 5, time: 50 min}\n  - {step: 6, time: 100 min}\nlog: {begins_with: 5}\n"
    found = page(NAMES[0], (RunText(name="2026-10-12", file="x.yml", data=text, log=log.encode()),))
    assert not found.faults
    core = [each for each in found.kitchen_runs.runs[0].findings if each.rule == "core-temperature"]
    assert core and {each.level for each in core} <= {"stop", "act"}
    assert "missed" in runs_html(found.report, found.kitchen_runs, "", local_list(found), False)


def test_no_runs_no_section():
    """A page without runs says nothing of them."""
    found = page(NAMES[0], ())
    assert found.kitchen_runs is None and runs_html(found.report, None, "", local_list(found), False) == ""


def test_stray_files_are_faults():
    """Runs of no method, odd names and logs without a run are told."""
    paths = ("runs/ham/2026-01-02.yml", "runs/a/2026-01-02.csv", "runs/a/monday.yml", "runs/2026-01-02.yml")
    faults = [str(each) for each in stray_runs("m", paths, {"a.md", "hams.md"})]
    assert len(faults) == 4 and "Did you mean hams?" in "\n".join(faults)
    assert method_page("runs/fish/char/2026-01-02.yml") == "fish/char.md" and method_page("char.md") == ""


def _copy(folder: Path) -> None:
    for name in ("house.yml", "foods.csv", "about.md", "brined-cucumbers.md", "cellar-cabbage.md"):
        (folder / name).write_bytes((METHODS / name).read_bytes())


def test_record_starts_a_run(tmp_path):
    """``handbook record`` writes a starter with the method's steps that reads without a fault, once."""
    folder = tmp_path / "m"
    folder.mkdir()
    _copy(folder)
    arguments = ["record", str(folder / "brined-cucumbers.md"), "--on", "2026-10-12", "--batch", "2 kg"]
    assert CliRunner().invoke(main, arguments).exit_code == 0
    target = folder / "runs" / "brined-cucumbers" / "2026-10-12.yml"
    text = target.read_text("utf-8")
    assert text.count("- {step: ") == len(page("brined-cucumbers", ()).method.steps)
    again = CliRunner().invoke(main, arguments)
    assert again.exit_code == 1 and "files are not overwritten" in again.stderr and target.read_text("utf-8") == text


@pytest.mark.parametrize("option", (["--on", "12.10.2026"], ["--on", "2026-02-30"], ["--batch", "two"]))
def test_record_wrong_options(option):
    """A wrong day or weight is one line and exit 1."""
    result = CliRunner().invoke(main, ["record", str(METHODS / "brined-cucumbers.md"), *option])
    assert result.exit_code == 1 and result.stderr.startswith(f"{option[0]}: read ") and "\n" not in result.stderr[:-1]


def test_record_paper(tmp_path):
    """The sheet holds every step and the scale of taste."""
    sheet = tmp_path / "sheet.html"
    result = CliRunner().invoke(main, ["record", str(METHODS / "brined-cucumbers.md"), "--paper", str(sheet)])
    assert result.exit_code == 0 and "far too much" in sheet.read_text("utf-8")


def test_faults_of_runs_stop_the_book(tmp_path):
    """Faults of runs and logs are told with all others."""
    folder = tmp_path / "m"
    (folder / "runs" / "brined-cucumbers").mkdir(parents=True)
    _copy(folder)
    (folder / "runs" / "brined-cucumbers" / "2026-10-12.yml").write_text("on: 2026-10-12\nbatch: 2\n", "utf-8")
    with pytest.raises(ValueError, match=r"m/runs/brined-cucumbers/2026-10-12.yml:2: batch: read \"2\""):
        read_book(folder)
