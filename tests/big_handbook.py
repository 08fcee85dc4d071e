"""Write a handbook of any number of invented methods, for measuring: the same seed gives the same bytes.

Run: python -m tests.big_handbook 1000 FOLDER [--seed 7]

Each page is a variation of one of the fourteen demo methods inside bounds that stay safe: other foods of the same
class, pieces somewhat thinner, brines somewhat stronger, other seasonings, batches, steps, words, links, pictures.
A handbook of N methods is the beginning of every larger one with the same seed: links go to earlier pages only.
"""

from __future__ import annotations

import re
from pathlib import Path
from posixpath import dirname, relpath
from random import Random

import click
import yaml
from msgspec import Struct

from handbook.folder.page_text import split_page
from tests.big_pictures import write_picture
from tests.big_words import EQUIPMENT, KEEPERS, TAGS, closing_section, extra_steps, paragraphs, place_name, reworded

METHODS = Path(__file__).resolve().parent.parent / "methods"
HOUSE_DATA = ("house.yml", "foods.csv")
#: One plain page after so many methods, and one picture in so many.
METHODS_PER_NOTE, METHODS_PER_PICTURE = 25, 5
#: So many names of places there are.
MOST_METHODS = 8000
_SPICES = (
    "juniper berry, whole",
    "coriander seed",
    "mustard seed, whole",
    "allspice, whole",
    "caraway seed",
    "dill seed",
    "fennel seed",
    "pepper, black, ground",
    "pepper, white, ground",
    "thyme, dried leaves",
    "rosemary, dried",
    "peppercorn, whole black",
)
_WHITE = ("cod, Atlantic", "haddock", "halibut", "whitefish, mixed", "char, Arctic", "trout, rainbow, farmed")
_LEAN_PORK = ("pork loin, whole, lean+fat", "pork loin, whole, lean", "pork tenderloin, lean")
_ROOTS = ("cabbage, green", "cabbage, red", "cabbage, napa/pe-tsai", "turnip", "carrot", "radish", "beet")


class Pattern(Struct, frozen=True, kw_only=True):
    """A demo method, where its variations stand, what they are called, and the foods that suit it."""

    demo: str
    folder: str
    title: str
    foods: tuple[str, ...]
    scales_salt: bool = True


PATTERNS = (
    Pattern(demo="hot-smoked-char-sides", folder="smoke/lake", title="Smoked {food} sides of {place}", foods=_WHITE),
    Pattern(
        demo="glazed-whitefish-strips",
        folder="smoke/lake",
        title="Lacquered {food} strips, {place} fashion",
        foods=_WHITE,
    ),
    Pattern(
        demo="winter-smoked-trout",
        folder="smoke/winter",
        title="Cold {food} of {place}",
        foods=("trout, rainbow, wild", "char, Arctic"),
    ),
    Pattern(demo="smoked-mussels", folder="smoke", title="{place} smoked shellfish", foods=("mussel, blue",)),
    Pattern(
        demo="dry-cured-duck",
        folder="cure",
        title="{place} cured {food}",
        foods=("duck, domesticated, meat and skin", "duck, domesticated, meat only", "goose, meat and skin"),
        scales_salt=False,
    ),
    Pattern(
        demo="pumped-ham",
        folder="cure",
        title="Pumped {food} from {place}",
        foods=("pork leg (fresh ham), whole, lean+fat", "pork shoulder, whole, lean+fat", "pork loin, whole, lean+fat"),
        scales_salt=False,
    ),
    Pattern(
        demo="cured-brisket",
        folder="cure",
        title="{place} pot {food}",
        foods=("beef brisket, whole, lean+fat",),
        scales_salt=False,
    ),
    Pattern(demo="equilibrium-pork-chops", folder="oven", title="{food} chops for {place}", foods=_LEAN_PORK),
    Pattern(
        demo="brined-chicken-thighs", folder="oven", title="{place} roast {food}", foods=("chicken thigh, with skin",)
    ),
    Pattern(
        demo="whole-brined-bird",
        folder="oven",
        title="The {place} bird",
        foods=("chicken whole, meat and skin", "turkey whole, meat and skin"),
    ),
    Pattern(demo="brined-white-cheese", folder="", title="White cheese of {place}", foods=("cheese, feta",)),
    Pattern(demo="soy-eggs", folder="", title="{place} brown eggs", foods=("egg, whole",)),
    Pattern(demo="cellar-cabbage", folder="cellar", title="{place} crock of {food}", foods=_ROOTS),
    Pattern(
        demo="brined-cucumbers", folder="cellar", title="Sour {food} as in {place}", foods=("cucumber, with peel",)
    ),
)


class Invented(Struct, frozen=True, kw_only=True):
    """What is settled of a method before it is written: other pages link to it."""

    number: int
    pattern: Pattern
    food: str
    place: str
    title: str

    @property
    def path(self) -> str:
        """The page's path in the folder."""
        name = re.sub(r"[^a-z0-9]+", "-", self.title.casefold().replace("å", "a")).strip("-")
        return f"{self.pattern.folder}/{name}.md".lstrip("/")


@click.command()
@click.argument("methods", type=click.IntRange(1, MOST_METHODS))
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
@click.option("--seed", default=7, show_default=True, help="Another seed, another handbook.")
def main(methods: int, folder: Path, seed: int) -> None:
    """Write a handbook of METHODS invented methods into FOLDER."""
    write_handbook(methods, folder, seed)
    click.echo(f"{methods} methods in {folder}")


def write_handbook(methods: int, folder: Path, seed: int = 7) -> list[str]:
    """Write the pages, pictures and house data into ``folder``. Returns the methods' paths in the order made."""
    folder.mkdir(parents=True, exist_ok=True)
    for name in HOUSE_DATA:
        (folder / name).write_bytes((METHODS / name).read_bytes())
    invented = [_invented(number, seed) for number in range(methods)]
    for each in invented:
        _write(folder / each.path, _method_text(each, invented, folder, seed))
        if each.number % METHODS_PER_NOTE == 0:
            note = _note_path(each.number)
            _write(folder / note, _note_text(note, each, invented[: each.number + 1], seed))
    return [each.path for each in invented]


def _invented(number: int, seed: int) -> Invented:
    rng = Random(f"{seed}/what/{number}")
    # Every kind comes once in each round of fourteen, so that any number of methods has the same mixture.
    order = Random(f"{seed}/round/{number // len(PATTERNS)}").sample(PATTERNS, len(PATTERNS))
    pattern = order[number % len(PATTERNS)]
    food, place = rng.choice(pattern.foods), place_name(number)
    title = pattern.title.format(food=_short(food), place=place)
    return Invented(number=number, pattern=pattern, food=food, place=place, title=title[0].upper() + title[1:])


def _method_text(each: Invented, invented: list[Invented], folder: Path, seed: int) -> str:
    rng = Random(f"{seed}/text/{each.number}")
    page, faults = split_page((METHODS / f"{each.pattern.demo}.md").read_text("utf-8"), each.pattern.demo)
    assert not faults, faults
    words = _short(each.food), each.place
    parts = [f"---\n{_yaml(_sheet(yaml.load(page.head.text, yaml.BaseLoader), each, rng))}---"]
    parts.append(paragraphs(rng, *words, 1, 4))
    if each.number % METHODS_PER_PICTURE == 2:
        parts.append(_picture(each, folder, rng))
    for block in page.blocks:
        data = yaml.load(block.text, yaml.BaseLoader)
        parts += [f"## {block.kind.capitalize()}"] if block.kind in ("pieces", "steps") else []
        parts.append(f"```{block.kind}\n{_yaml(_varied(block.kind, data, each, rng))}```")
        parts += [paragraphs(rng, *words, 1, 2)] if rng.random() < 0.5 else []
    parts += [closing_section(rng, *words) for _ in range(rng.randint(1, 3))]
    parts.append(_links(each.path, each, invented, rng))
    return "\n\n".join(parts) + "\n"


def _sheet(sheet: dict, each: Invented, rng: Random) -> dict:
    return sheet | {
        "title": each.title,
        "food": each.food,
        "summary": f"{sheet['kind'].capitalize()} as it is done at {each.place}, lot {each.number + 1} of the notebook.",
        "keeper": rng.choice(KEEPERS),
        "reviewed": f"{rng.randint(2024, 2026)}-{rng.randint(1, 10):02}-{rng.randint(1, 28):02}",
        "portions": str(rng.randint(4, 40)),
        "tags": rng.sample(TAGS, rng.randint(1, 5)),
        "equipment": rng.sample(EQUIPMENT, rng.randint(2, 6)),
    }


def _varied(block: str, data, each: Invented, rng: Random):
    vary = {"pieces": _pieces, "steps": _steps, "batches": _batches, "keeping": _keeping}.get(block, _mixture)
    return vary(data, each, rng)


def _pieces(data: dict, each: Invented, rng: Random) -> dict:
    factor = rng.uniform(0.86, 1.0)  # thinner is quicker to salt, to cook and to cool
    origin = {"origin": "wild" if "wild" in each.food or "char" in each.food else "unknown"}
    data |= {key: _scaled(data[key], factor, 1) for key in ("thickness", "mass") if key in data}
    data |= origin if "origin" in data else {}
    if "sizes" in data:
        data["sizes"] = [
            size | {key: _scaled(size[key], factor, 1) for key in ("thickness", "mass") if key in size}
            for size in data["sizes"]
        ]
    return data


def _mixture(data: dict, each: Invented, rng: Random) -> dict:
    """Salt and aim up to a twentieth higher, seasonings freely, what cures never."""
    stronger = rng.uniform(1.0, 1.05) if each.pattern.scales_salt else 1.0
    if "target_salt" in data:
        data["target_salt"] = _scaled(data["target_salt"], stronger, 2)
    lines = []
    for line in data["ingredients"]:
        if line["item"].startswith("salt,") and re.match(r"[\d.]+ (g|% of food)$", line["amount"]):
            line = line | {"amount": _scaled(line["amount"], stronger, 2)}
        elif line["item"] in _SPICES:
            if rng.random() < 0.2:
                continue
            line = {"item": line["item"], "amount": _scaled(line["amount"], 1.0, 2)}
        lines.append(line)
    spare = [name for name in _SPICES if all(line["item"] != name for line in lines)]
    if each.pattern.demo != "pumped-ham":  # spices block a needle
        lines += [{"item": name, "amount": f"{rng.randint(2, 12)} g"} for name in rng.sample(spare, rng.randint(0, 3))]
    return data | {"ingredients": lines}


def _steps(steps: list[dict], each: Invented, rng: Random) -> list[dict]:
    first = [
        {"do": do, "stage": "prepare", "time": f"{rng.randint(2, 6) * 5} min", "hands_on": "yes", "place": "bench"}
        for do in extra_steps(rng)
    ]
    made = []
    for step in steps:
        step = step | {"do": reworded(rng, step["do"])}
        if step["stage"] in ("prepare", "pack") and step.get("hands_on") == "yes":
            step["time"] = _scaled(step["time"], rng.uniform(0.8, 1.2), 0)
        if step["place"] == "oven" and re.fullmatch(r"\d+ °C", step.get("chamber", "")):
            step["chamber"] = f"{int(step['chamber'].split()[0]) + rng.randint(0, 4)} °C"
        made.append(step)
    return first + made


def _batches(data: dict, each: Invented, rng: Random) -> dict:
    factors = sorted({1.0, *rng.sample((0.5, 0.75, 1.5, 2.0, 2.5, 3.0), rng.randint(1, 4))})
    return data | {"show": [_scaled(data["written_for"], factor, 2) for factor in factors]}


def _keeping(data: dict, each: Invented, rng: Random) -> dict:
    return data | {"time": _scaled(data["time"], rng.uniform(0.6, 1.0), 0)}


def _scaled(text: str, factor: float, digits: int = 3) -> str:
    """Every number of a quantity's text times ``factor``."""
    return re.sub(r"\d+(?:\.\d+)?(?![\d/])", lambda found: _number(float(found[0]) * factor, digits), text)


def _number(value: float, digits: int) -> str:
    return f"{value:.{digits}f}".rstrip("0").rstrip(".") if digits else f"{max(round(value), 1)}"


def _picture(each: Invented, folder: Path, rng: Random) -> str:
    file = each.path.removesuffix(".md").rsplit("/", 1)[-1] + rng.choice((".jpg", ".jpg", ".png"))
    write_picture(folder / dirname(each.path) / file, rng)
    return f"![{_short(each.food).capitalize()} laid out on the bench, lot {each.number + 1}]({file})"


def _links(path: str, each: Invented, invented: list[Invented], rng: Random) -> str:
    note = _note_path(each.number - each.number % METHODS_PER_NOTE)
    targets = [(note, "the notes of that year")]
    if each.number:
        chosen = rng.sample(range(each.number), min(each.number, rng.randint(1, 3)))
        targets += [(invented[number].path, invented[number].title) for number in chosen]
    return "See also " + ", ".join(f"[{words}]({relpath(target, dirname(path))})" for target, words in targets) + "."


def _note_path(number: int) -> str:
    return f"notes/notes-{number // METHODS_PER_NOTE + 1}.md"


def _note_text(path: str, each: Invented, invented: list[Invented], seed: int) -> str:
    rng = Random(f"{seed}/note/{each.number}")
    words = _short(each.food), each.place
    links = [f"- [{one.title}]({relpath(one.path, dirname(path))})" for one in invented[-12:]]
    parts = [
        f"# Notes from {each.place}",
        paragraphs(rng, *words, 2, 6),
        closing_section(rng, *words),
        "\n".join(links),
    ]
    return "\n\n".join(parts) + "\n"


def _short(food: str) -> str:
    return re.split(r"[,(]", food)[0].strip()


def _yaml(data) -> str:
    return yaml.safe_dump(data, allow_unicode=True, sort_keys=False, width=10**6)


def _write(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, "utf-8", newline="\n")


if __name__ == "__main__":
    main()
