"""A deliberately unsafe copy of each demo method stops the build, with the right rule and its source."""

import re
import shutil

import pytest
from click.testing import CliRunner

from handbook.base.sources import sources
from site_build.cli.main import main

# Page, what is made unsafe, (pattern, replacement) pairs, the rule that must stop it.
UNSAFE = [
    (
        "hot-smoked-char-sides",
        "too little salt in a vacuum pack",
        [(r"pack: air", "pack: vacuum"), (r"target_salt: [\d.]+ % of food", "target_salt: 0.6 % of food")],
        "pack-salt",
    ),
    ("glazed-whitefish-strips", "a core that is only warm", [(r"core: 72 °C", "core: 55 °C")], "core-temperature"),
    (
        "smoked-mussels",
        "too little salt in a vacuum pack",
        [(r"pack: air", "pack: vacuum"), (r'"salt, fine sea", amount: 110 g', '"salt, fine sea", amount: 11 g')],
        "pack-salt",
    ),
    (
        "winter-smoked-trout",
        "cold-smoked without freezing",
        [(r"- do: Freeze.*?(?=- do: Weigh)", "")],
        "parasite-freezing",
    ),
    ("brined-chicken-thighs", "poultry under temperature", [(r"core: 80 °C", "core: 62 °C")], "core-temperature"),
    ("whole-brined-bird", "poultry under temperature", [(r"core: 75 °C", "core: 60 °C")], "core-temperature"),
    ("pumped-ham", "nitrite times ten", [(r"amount: 13\.3 g", "amount: 133 g")], "nitrite-maximum"),
    (
        "pumped-ham",
        "cooled too slowly",
        [
            (
                r"time: 2 h\n  place: bench\n  temperature: 0 °C\n  air: water",
                "time: 12 h\n  place: room\n  temperature: 24 °C\n  air: still",
            )
        ],
        "cooling-stages",
    ),
    ("cured-brisket", "nitrite times ten", [(r"amount: 10\.2 g", "amount: 102 g")], "nitrite-maximum"),
    (
        "dry-cured-duck",
        "nitrite times ten: 6.25 % salt in place of 0.6 %",
        [(r"curing salt, 0\.6 % nitrite \(continental type\)", "curing salt, 6.25 % sodium nitrite (type 1)")],
        "nitrite-maximum",
    ),
    ("equilibrium-pork-chops", "pork under temperature", [(r"core: 63 °C", "core: 50 °C")], "core-temperature"),
    ("cellar-cabbage", "a tenth of the salt", [(r"2\.25 % of food", "0.2 % of food")], "ferment-salt"),
    ("brined-cucumbers", "a tenth of the salt", [(r"amount: 2/3 cup", "amount: 1 tbsp")], "ferment-salt"),
    (
        "brined-white-cheese",
        "brined in a warm room for weeks",
        [(r"place: fridge\n  temperature: 4 °C", "place: room\n  temperature: 22 °C")],
        "cold-work",
    ),
    (
        "soy-eggs",
        "brined in a warm room for days",
        [(r"place: fridge\n  temperature: 3 °C", "place: room\n  temperature: 22 °C")],
        "growth-range-time",
    ),
    ("smoked-shoulder", "a core that is only warm", [(r"core: (?:74|92) °C", "core: 50 °C")], "core-temperature"),
    ("feast-duck", "poultry under temperature", [(r"core: 80 °C", "core: 60 °C")], "core-temperature"),
    ("legs-in-fat", "poultry under temperature", [(r"core: 88 °C", "core: 60 °C")], "core-temperature"),
    ("smokehouse-sausage", "minced meat under temperature", [(r"core: 72 °C", "core: 55 °C")], "core-temperature"),
    ("venison-strips", "dried without being heated", [(r"core: 72 °C", "core: 50 °C")], "core-temperature"),
    ("larder-bacon", "nitrite times ten", [(r"amount: 0\.2 % of food", "amount: 2 % of food")], "nitrite-maximum"),
    ("winter-beef", "nitrite times ten", [(r"amount: 0\.25 % of food", "amount: 2.5 % of food")], "nitrite-maximum"),
    ("kitchen-sausage", "raw mince kept for a fortnight", [(r"time: 2 days", "time: 14 days")], "keeping-time"),
    (
        "crock-carrots",
        "a tenth of the salt",
        [(r"target_salt: [\d.]+ % of all", "target_salt: 0.3 % of all")],
        "ferment-salt",
    ),
    (
        "quartered-cabbage",
        "a tenth of the salt",
        [(r"target_salt: [\d.]+ % of all", "target_salt: 0.3 % of all")],
        "ferment-salt",
    ),
    ("ember-sauce", "a pH that lets spores grow", [(r'value: "3\.4"', 'value: "5.2"')], "ferment-ph"),
    (
        "salt-burbot",
        "salted and dried in a warm room",
        [(r"place: fridge\n  temperature: [\d-]+ °C", "place: room\n  temperature: 22 °C")],
        "cold-work",
    ),
    (
        "cellar-beets",
        "vinegar thinned to water",
        [(r"5 %\", amount: 5 cups", '5 %", amount: 1/4 cup')],
        "vinegar-strength",
    ),
]


@pytest.mark.parametrize(("page", "what", "changes", "rule"), UNSAFE, ids=[f"{row[0]}: {row[1]}" for row in UNSAFE])
def test_unsafe_copy_stops(page, what, changes, rule, tmp_path, methods_folder):
    """The build ends with 1 and names page, rule, figure, limit and source; no site is written."""
    folder = tmp_path / "methods"
    folder.mkdir()
    for name in ("house.yml", "foods.csv"):
        shutil.copy(methods_folder / name, folder)
    text = (methods_folder / f"{page}.md").read_text("utf-8")
    text = re.sub(r"\[([^\]]*)\]\([a-z-]+\.md[^)]*\)", r"\1", text)
    for pattern, new in changes:
        text, count = re.subn(pattern, new, text, flags=re.S)
        assert count, f"the demo page changed: nothing matches {pattern}"
    (folder / f"{page}.md").write_text(text, "utf-8")
    result = CliRunner().invoke(main, ["build", str(folder), "--into", str(tmp_path / "site")])
    assert result.exit_code == 1, result.output
    lines = [line for line in result.stderr.splitlines() if f": safety.{rule}: " in line]
    assert lines, result.stderr
    assert lines[0].startswith(f"methods/{page}.md:")
    assert any(key in lines[0] for key in sources())
    assert not (tmp_path / "site").exists()


def test_every_demo_method_has_its_unsafe_copy(methods_folder):
    """No method of the demo is left out."""
    pages = {path.stem for path in methods_folder.glob("*.md")} - {"about"}
    assert pages == {row[0] for row in UNSAFE}


def test_a_signed_exception_publishes_and_shows(tmp_path, methods_folder):
    """A stop that the house signs away is published as something to act on, with name, day and reason."""
    folder = tmp_path / "methods"
    folder.mkdir()
    house = (methods_folder / "house.yml").read_text("utf-8")
    house = re.sub(r"(?m)^inspected: .*$", "", house)  # the other pages are not in this folder
    house += (
        "\nexceptions:\n  - {method: hot-smoked-char-sides, rule: core-temperature, by: Ilse Korhonen, "
        "role: process authority, process: Char 4, on: 2026-11-01, until: 2099-12-31, "
        "reason: trial under the eye of the inspector}\n"
    )
    (folder / "house.yml").write_text(house, "utf-8")
    shutil.copy(methods_folder / "foods.csv", folder)
    text = (methods_folder / "hot-smoked-char-sides.md").read_text("utf-8")
    text = re.sub(r"\[([^\]]*)\]\([a-z-]+\.md[^)]*\)", r"\1", text)
    (folder / "hot-smoked-char-sides.md").write_text(text.replace("core: 72 °C", "core: 67 °C"), "utf-8")
    result = CliRunner().invoke(main, ["build", str(folder), "--into", str(tmp_path / "site")])
    assert not [line for line in result.stderr.splitlines() if "safety.core-temperature" in line], result.stderr
    assert result.exit_code == 0, result.stderr
    html = (tmp_path / "site/hot-smoked-char-sides.html").read_text("utf-8")
    assert "Ilse Korhonen" in html and "trial under the eye of the inspector" in html
