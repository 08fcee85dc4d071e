"""The theme keeps its promises: no inline code, nothing from elsewhere, readable colours, light weight."""

import re
from pathlib import Path

import pytest

import site_build.theme

THEME = Path(site_build.theme.__file__).parent
STYLES = sorted(THEME.glob("assets/css/*.css"))
TEMPLATES = sorted(THEME.rglob("*.html"))
LOST = THEME / "404.html"
TOKENS = (THEME / "assets/css/tokens.css").read_text(encoding="utf-8")

# Text and mark colours on the grounds they are used on.
TEXT_PAIRS = [
    *(("ink", ground) for ground in ("paper", "ice", "wall", "brass-tint")),
    *(("quiet", ground) for ground in ("paper", "ice", "wall")),
    *(("lake", ground) for ground in ("paper", "ice", "wall")),
    ("lingon", "paper"),
    ("paper", "lingon"),
    ("lingon", "lingon-tint"),
    ("brass", "brass-tint"),
    ("paper", "brass"),
    ("moss", "paper"),
    ("moss", "moss-tint"),
]
EDGE_PAIRS = [("edge", "paper"), ("edge", "wall"), ("lingon", "wall")]


def _colours(block):
    return dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6})", block))


def _palettes():
    day, device_night, night = (_colours(part) for part in re.split(r":root[^{]*\{", TOKENS)[1:4])
    return day, device_night, night


def _luminance(colour):
    """Relative luminance, WCAG 2.2 definition."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _contrast(one, other):
    """Contrast ratio, WCAG 2.2 definition."""
    dark, light = sorted((_luminance(one), _luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_contrast_black_on_white():
    """Black on white has the largest ratio, 21 (WCAG 2.2, definition of contrast ratio)."""
    assert _contrast("#000000", "#ffffff") == pytest.approx(21)


def test_palettes_night_is_one():
    """The night chosen by the device and by the reader are the same colours."""
    _, device_night, night = _palettes()
    assert device_night == night


@pytest.mark.parametrize(("pairs", "least"), [(TEXT_PAIRS, 4.5), (EDGE_PAIRS, 3.0)])
@pytest.mark.parametrize("palette", [0, 2], ids=["day", "night"])
def test_palettes_contrast(palette, pairs, least):
    """Every text colour reaches 4.5 (WCAG 2.2, 1.4.3) and every control edge 3 (1.4.11), day and night."""
    colours = _palettes()[palette]
    ratios = {(a, b): _contrast(colours[a], colours[b]) for a, b in pairs}
    assert {pair: ratio for pair, ratio in ratios.items() if ratio < least} == {}


@pytest.mark.parametrize("path", sorted({*TEMPLATES} - {LOST}), ids=lambda path: path.name)
def test_templates_no_inline_code(path):
    """No template holds a style attribute, a style element, an event attribute or an inline script."""
    text = re.sub(r"\{#.*?#\}", "", path.read_text(encoding="utf-8"), flags=re.S)
    assert re.findall(r"<style|\sstyle=|\son[a-z]+=|<script(?![^>]*\ssrc=)", text) == []


@pytest.mark.parametrize("path", [*STYLES, *TEMPLATES, THEME / "assets/site.js"], ids=lambda path: path.name)
def test_files_nothing_from_elsewhere(path):
    """No file of the theme points at another host."""
    assert re.findall(r"(?:https?:)?//[a-z0-9-]+\.[a-z]", path.read_text(encoding="utf-8")) == []


def test_fonts_weight_and_licences():
    """The fonts weigh under 70 kB together and stand beside their licences."""
    fonts = THEME / "assets/fonts"
    assert sum(path.stat().st_size for path in fonts.glob("*.woff2")) < 70_000
    for licence in ("text-licence.txt", "figures-licence.txt"):
        assert "SIL Open Font License" in (fonts / licence).read_text(encoding="utf-8")
