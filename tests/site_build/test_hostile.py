"""Pages made by mutation, and harmful text in every field: what comes out is a page or fault lines, and never harm."""

import json
import re
import warnings
from base64 import b64encode
from collections.abc import Iterator
from hashlib import sha256
from xml.etree import ElementTree

import icalendar
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from handbook.base.errors import CONTROLS
from site_build.build.build_site import Choices, build_site
from tests.hostile_pages import HARMFUL, METHODS, UNUSUAL, mutated, seed_pages
from tests.one_page import OnePage
from tests.site_build.harmless import harm, policy
from tests.site_build.test_page_tree import PICTURE

SEEDS = seed_pages()
PAGE = OnePage()
pages = st.builds(
    lambda seed, random, rounds: mutated(seed, SEEDS, random, rounds),
    st.sampled_from(SEEDS),
    st.randoms(use_true_random=False),
    st.integers(1, 6),
)
#: Payloads that a field may hold: those that are harmless as text, so that they reach the templates.
PAYLOADS = [each for each in (*HARMFUL, *UNUSUAL) if not CONTROLS.search(each) and len(each) <= 100]


def is_fault_line(fault) -> bool:
    """One line of the agreed form, with nothing that steers a terminal."""
    text = str(fault)
    return (
        text.startswith("methods/page.md:") and "; allowed: " in text and not CONTROLS.search(text) and "\n" not in text
    )


@settings(max_examples=400, suppress_health_check=list(HealthCheck))
@given(pages)
def test_mutated_page_is_read_or_told(page):
    """Whatever a page has become, reading it gives a method, a page of words, or fault lines."""
    _, _, faults = PAGE.read(page.encode("utf-8", "surrogatepass"))
    assert all(is_fault_line(each) for each in faults)


def without_one_line() -> Iterator[str]:
    """Each demo page without one line: every key of every block once for each shape of its pieces, the front matter's too."""
    tried = set()
    for seed in SEEDS:
        lines, block = seed.split("\n"), "front"
        shape = next((line for line in lines if line.startswith("shape:")), "")
        for number, line in enumerate(lines):
            if line.startswith("```"):
                block = "" if block else line
            elif number and line == "---":
                block = ""
            key = (shape, block, line.partition(":")[0])
            if block and not line.startswith("```") and key not in tried:
                tried.add(key)
                yield "\n".join(lines[:number] + lines[number + 1 :])


def test_a_page_without_one_line_is_read_or_told():
    """A key that is missing is a fault line or a default, never an error of the rules that would have read it."""
    pages = list(without_one_line())
    assert len(pages) > 300
    for page in pages:
        assert all(is_fault_line(each) for each in PAGE.read(page.encode())[2])


@settings(max_examples=40, suppress_health_check=list(HealthCheck))
@given(
    st.builds(
        lambda seed, random: mutated(seed, SEEDS, random), st.sampled_from(SEEDS), st.randoms(use_true_random=False)
    )
)
def test_mutated_page_is_computed_or_told(page):
    """A page that reads without a fault is computed and rendered without harm, or its figures are fault lines."""
    text, method, faults = PAGE.read(page.encode("utf-8", "surrogatepass"))
    if faults:
        return
    report = None
    if method is not None:
        report, faults = PAGE.compute(method)
        assert all(is_fault_line(each) for each in faults)
        if report is None:
            return
    assert harm(PAGE.html(text, report)) == []


def quoted(text: str) -> str:
    """A text as a double-quoted YAML scalar."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def armed_page(number: int, payload: str) -> str:
    """A method page with ``payload`` in every field that takes free text, and around it in its prose."""
    here = quoted(payload)
    short = quoted(payload[:40])
    # An unsafe link, a picture that is not there, an element left open before the blocks: each is a fault of its own.
    prose = "words that are refused" if payload.startswith(("[x](", '"><img', "--><b>")) else payload
    return f"""---
title: {quoted(f"{number} {payload}"[:100])}
food: {quoted("&lt; pike" if number % 2 else "char, Arctic")}
kind: cook
summary: {here}
keeper: {quoted(payload[:80])}
reviewed: 2026-10-02
portions: 8
tags: [{short}]
equipment: [{quoted(payload[:60])}]
---

Before {prose} after. A picture <img src="mark.png" alt="x" onerror="alert(1)" style="x"> and <a id="a" onclick="alert(1)">a</a>.

<svg onload="alert(1)"><script>alert(1)</script></svg><math><mi xlink:href="javascript:alert(1)">x</mi></math>

## {prose}

```pieces
shape: slab
thickness: 20-25 mm
mass: 200 g
sizes:
  - {{name: {short}, thickness: 22 mm, mass: 180 g}}
```

```salting
kind: equilibrium
name: {short}
target_salt: 1.5 % of food
temperature: 3 °C
container: {quoted("tub <b>")}
ingredients:
  - {{item: "water, tap", amount: 2 L, note: {here}}}
  - {{item: "salt, fine sea", amount: to target, note: {here}}}
  - {{item: {quoted("<i>spice</i>")}, amount: 5 g, note: {here}}}
```

```glaze
name: {quoted(("glaze " + payload)[:40])}
stays_on: 4 % of food
ingredients:
  - {{item: "syrup, birch", amount: 1/2 cup, note: {here}}}
```

```steps
- {{do: {here}, stage: salt, time: 30 h, place: fridge, temperature: 3 °C, use: {short}}}
- {{do: {here}, stage: cook, until: core, place: oven, chamber: 120 °C, core: 70 °C, repeat: {{every: 15 min, do: {here}}}}}
- {{do: {here}, stage: cool, time: 3 h, place: bench, temperature: 0 °C, air: water}}
- {{do: {here}, stage: serve, time: 5 min, hands_on: yes}}
```

```batches
written_for: 2 kg
```

```keeping
pack: air
temperature: 3 °C
time: 2 days
```
"""


@pytest.fixture(scope="module")
def armed_site(tmp_path_factory):
    """A site every text of which, in pages, house file, tables and signatures, is harmful."""
    top = tmp_path_factory.mktemp("armed")
    folder = top / "methods"
    folder.mkdir()
    house = (METHODS / "house.yml").read_text("utf-8")
    house = house.replace("kitchen: The Net Loft, a teaching kitchen on Lake Ennisk", f"kitchen: {quoted(HARMFUL[1])}")
    house = house.replace("currency: crowns", 'currency: "<b>\\"\'"')
    house = house.replace(
        "containers:\n", f"containers:\n  - {{name: {quoted('tub <b>')}, diameter: 40 cm, height: 40 cm}}\n"
    )
    house += (
        f"\nexceptions:\n  - {{method: armed-0, rule: pack-salt, by: {quoted(HARMFUL[1])}, "
        f"role: chef, process: P 1, until: 2099-12-31, on: 2026-10-01, reason: {quoted(HARMFUL[3])}}}\n"
    )
    (folder / "house.yml").write_text(house, "utf-8")
    (folder / "foods.csv").write_text(
        (METHODS / "foods.csv").read_text("utf-8") + '"&lt; pike",fish,0.79,0.008,0.19,0,0.012,95,fish,wild,no\n',
        "utf-8",
    )
    (folder / "mark.png").write_bytes(PICTURE)
    (folder / "ingredients.csv").write_text(
        "name,kind,water,salt,sugars,allergen\n<i>spice</i>,spice,0.1,0,0,none\n", "utf-8"
    )
    (folder / "signed.yml").write_text(
        f"- {{method: armed-0, mark: 04282d-604229, by: {quoted(HARMFUL[1])}, on: 2026-11-01}}\n", "utf-8"
    )
    for number, payload in enumerate(PAYLOADS):
        (folder / f"armed-{number}.md").write_text(armed_page(number, payload), "utf-8")
    (folder / "words.md").write_text(
        "# Words\n\n" + "\n\n".join(f"a {each} b" for each in PAYLOADS if "](" not in each and "<img" not in each),
        "utf-8",
    )
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        build_site(folder, top / "site", Choices(shows_progress=False, workers=1))
    return top / "site"


def test_armed_pages_hold_no_harm(armed_site):
    """No page of the site has a script, handler, style, frame or address that its own texts brought."""
    found = {path.name: harm(path.read_text("utf-8")) for path in sorted(armed_site.glob("*.html"))}
    assert {name: what for name, what in found.items() if what} == {}
    assert len(found) > len(PAYLOADS)


def test_armed_texts_are_shown_as_written(armed_site):
    """What looked like an element is there as words: escaped, not dropped."""
    html = (armed_site / "armed-0.html").read_text("utf-8")
    assert html.count("&lt;script&gt;alert(1)&lt;/script&gt;") > 10


def test_armed_data_files_parse(armed_site):
    """JSON, XML, SVG and calendars made of harmful texts are whole, and hold no element of theirs."""
    for path in (*armed_site.rglob("*.json"), armed_site / "manifest.webmanifest"):
        json.loads(path.read_text("utf-8"))
    drawings = [path for path in armed_site.rglob("*.svg") if "timing" in path.parts or "armed" in path.name]
    assert drawings
    for path in (*drawings, armed_site / "feed.xml"):
        for element in ElementTree.parse(path).iter():
            tag = element.tag.rpartition("}")[2]
            assert tag not in ("script", "foreignObject", "img", "x", "b", "style")
            assert not any(name.startswith("on") or name == "style" for name in element.attrib), path
    calendars = list(armed_site.glob("armed-*.ics"))
    for path in calendars:
        assert icalendar.Calendar.from_ical(path.read_bytes()).walk("VEVENT"), path
    assert len(calendars) == len(PAYLOADS)


def test_every_page_has_the_policy(demo_site, armed_site):
    """Every page lets in its own files only: no inline script or style, no form, no other base."""
    for site in (demo_site, armed_site):
        for path in set(site.rglob("*.html")) - {site / "404.html"}:
            found = policy(path.read_text("utf-8"))
            assert found["default-src"] == "'none'", path
            assert found["script-src"] == "'self'" and found["style-src"] == "'self'", path
            assert found["base-uri"] == "'none'" and found["form-action"] == "'none'", path


def test_page_for_a_wrong_address_has_its_own_policy(demo_site, armed_site):
    """The one page with a script of its own lets in this script alone, by its hash (CSP Level 3), and no other."""
    for site in (demo_site, armed_site):
        text = (site / "404.html").read_text("utf-8")
        found = policy(text)
        assert found["default-src"] == found["base-uri"] == found["form-action"] == "'none'"
        for kind, allowed in (("style", "'self' "), ("script", "")):
            (inline,) = re.findall(f"<{kind}>(.*?)</{kind}>", text, re.S)
            mark = b64encode(sha256(inline.encode()).digest()).decode()
            assert found[f"{kind}-src"] == f"{allowed}'sha256-{mark}'"


def test_demo_pages_hold_no_harm(demo_site):
    """The demo's own pages pass the same check, the generated ones included."""
    for name in ("index.html", "about.html", "404.html", "limits.html", "side-by-side.html", "pumped-ham.html"):
        assert harm((demo_site / name).read_text("utf-8")) == [], name


def test_armed_pages_run_nothing_in_a_browser(browser, armed_site):
    """Opened in Chromium, no page of the harmful site speaks, asks for anything, or is refused anything by its policy."""
    heard, asked = [], []
    with browser.new_page() as page:
        page.on("dialog", lambda dialog: (heard.append(dialog.message), dialog.dismiss()))
        page.on("console", lambda message: heard.append(message.text) if "Policy" in message.text else None)
        page.on("request", lambda request: asked.append(request.url))
        for path in sorted(set(armed_site.glob("*.html")) - {armed_site / "404.html"}):  # that one asks at the root
            page.goto(path.as_uri())
            for element in page.locator("img[alt=x]").all():
                element.hover(force=True)
    assert heard == []
    assert [url for url in asked if not url.startswith(armed_site.as_uri()) and not url.startswith("data:")] == []
