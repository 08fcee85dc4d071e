"""From notes and answers to everything a method page needs, and the questions that are still open.

Each value remembers where it comes from. A figure that can hurt somebody (core temperature, curing salt, how long it
keeps) is never filled in: the notes or an answer state it, or the page says nothing of it.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping
from dataclasses import dataclass

from handbook.draft_ingredients import draft_ingredients
from handbook.draft_steps import draft_steps
from handbook.errors import PageError
from handbook.foods import Food
from handbook.forms import Choice, Name, Reading, Record
from handbook.house import House, vocabulary
from handbook.method import Vocabulary, block_form, sheet_record
from handbook.notes import LINE_KINDS, Notes, read_notes
from handbook.notes_figures import HOUSEHOLD, Read
from handbook.notes_ingredients import NoteIngredient
from handbook.notes_names import exact_name, head_word, is_salt, near_names, words_of
from handbook.questions import NONE, Desk, OrNone, OrWords, Question, Settled
from handbook.resolve import ingredient_names
from handbook.tables import Tables
from handbook.units import MEASURES
from handbook.yaml_text import Text

SMALLEST = "smallest"
_KEYS = re.compile(
    r"title|food|kind|summary|keeper|reviewed|portions|measures|batches\.written_for|pieces\.[a-z]+|keeping\.[a-z]+"
    r"|line \d{1,4}(?:\.\d{1,2})?\.[a-z_]+"
)


@dataclass(frozen=True)
class Kitchen:
    """What a draft is made for: the house and the tables of its handbook."""

    house: House
    tables: Tables

    @property
    def words(self) -> Vocabulary:
        """The names that its pages may use."""
        return vocabulary(self.house, tuple(self.tables.foods), ingredient_names(self.tables))


@dataclass(frozen=True)
class Mixture:
    """One salting or glaze of the page: its fields and its ingredients, each a table of settled values."""

    block: str
    fields: dict[str, Settled]
    ingredients: tuple[dict[str, Settled], ...]
    line: int


@dataclass(frozen=True)
class Draft:
    """A page in the making. It can be written when no question is open and no answer is faulty."""

    notes: Notes
    sheet: dict[str, Settled]
    pieces: dict[str, Settled]
    mixtures: tuple[Mixture, ...]
    steps: tuple[dict[str, Settled], ...]
    batches: dict[str, Settled]
    keeping: dict[str, Settled]
    values: dict[str, Settled]
    questions: tuple[Question, ...]
    faults: tuple[PageError, ...]


def make_draft(
    text: str, file: str, answers: Mapping[str, Text], answers_file: str, kitchen: Kitchen, today: datetime.date
) -> Draft:
    """Settle what ``text`` and ``answers`` settle. Raises PageError where the notes are no readable text.

    ``file`` and ``answers_file`` are named in faults; ``today`` is offered as the day of review.
    """
    desk = Desk(answers, Reading(answers_file, kitchen.house.measures))
    notes = _notes(text, file, desk)
    food_line = _food_line(notes, kitchen.tables)
    sheet = _sheet(notes, food_line, desk, kitchen, today)
    food = kitchen.tables.foods.get(sheet["food"].value) if "food" in sheet else None
    pieces = _pieces(notes, food_line, food, desk, kitchen)
    batches = _batches(food_line, desk, kitchen)
    convert = _measures(notes, desk, kitchen)
    mixtures = []
    for block, group, parts in draft_ingredients(notes, food_line, desk, kitchen.tables, convert):
        name = _mixture_name(block, group.heading, [each.fields for each in mixtures])
        fields = _mixture(block, group, name, notes, desk, kitchen)
        mixtures.append(Mixture(block, fields, parts, group.line))
    names = {
        block: tuple(each.fields["name"].value for each in mixtures if each.block == block)
        for block in ("salting", "glaze")
    }
    steps = draft_steps(notes, names, desk, kitchen.words, kitchen.house)
    keeping = _keeping(notes, desk, kitchen)
    desk.check_keys(_KEYS)
    return Draft(
        notes, sheet, pieces, tuple(mixtures), steps, batches, keeping, desk.values, tuple(desk.questions),
        tuple(desk.reading.faults),
    )  # fmt: skip


def _notes(text: str, file: str, desk: Desk) -> Notes:
    """The notes, read again where answers say what a line is."""
    first = read_notes(text, file)
    kinds = Choice(LINE_KINDS)
    said = {}
    for number in range(1, len(first.lines) + 1):
        value = desk.take(f"line {number}.is", kinds, None)
        if value is not None:
            said[number] = value.value
    notes = read_notes(text, file, said) if said else first
    known = {each.line for each in notes.facts.values()} | set(said)
    for number in notes.unread:
        if number not in known and re.search(r"\d", notes.lines[number - 1]):
            desk.settle(
                f"line {number}.is", kinds, "What is this line?", "it holds a figure and was not understood",
                quoted=notes.lines[number - 1].strip(), line=number,
            )  # fmt: skip
    return notes


def _food_line(notes: Notes, tables: Tables) -> NoteIngredient | None:
    """The ingredient line that names the food itself: the one of the title, or the only one that may be a food."""
    heads = {head_word(name) for name in tables.foods}
    heads |= {word for name in tables.foods if head_word(name) == "cheese" for word in words_of(name)[1:2]}
    open_lines = [
        each for each in notes.ingredients if not exact_name(each.item, tables.ingredients) and not is_salt(each.item)
    ]
    found = [each for each in open_lines if heads & set(words_of(each.item))] or [
        each for each in open_lines if heads & set(words_of(each.words))
    ]
    title = set(words_of(notes.title.value)) if notes.title else set()
    named = [each for each in found if heads & title & set(words_of(each.item))]
    few = named or found
    return few[0] if len(few) == 1 else None


def _sheet(notes: Notes, food_line: NoteIngredient | None, desk: Desk, kitchen: Kitchen, today) -> dict[str, Settled]:
    forms = _forms(sheet_record(kitchen.words))
    title = notes.title
    written = food_line.item if food_line else (title.value if title else "")
    line = food_line.line if food_line else (title.line if title else 0)
    exact = exact_name(written, kitchen.tables.foods) or (
        exact_name(title.value, kitchen.tables.foods) if title else ""
    )
    near = near_names(f"{written} {title.value if title else notes.lines[0][:200]}", kitchen.tables.foods)
    kind = notes.facts.get("kind")
    asked = {
        "title": desk.settle("title", forms["title"], "What is the method called?", "its page needs a title", title),
        "food": desk.settle(
            "food", forms["food"], "Which food of the handbook is it?", "water, fat and salt of the food decide the figures",
            Read(exact, written, line) if exact else None, choices=near, quoted=written, line=line,
        ),
        "kind": desk.settle("kind", forms["kind"], "What kind of method is it?", "safety rules go by it", kind),
        "summary": desk.settle("summary", forms["summary"], "One line for the contents page?", "readers choose by it"),
        "keeper": desk.settle("keeper", forms["keeper"], "Who keeps the page?", "somebody answers for it"),
        "reviewed": desk.settle(
            "reviewed", forms["reviewed"], "When was it last reviewed?", "readers see how fresh it is",
            default=today.isoformat(), default_from="today, as on a starter page",
        ),
        "portions": desk.settle(
            "portions", forms["portions"], "How many portions does the batch give?", "salt and cost are told by the portion",
            notes.facts.get("portions"),
        ),
    }  # fmt: skip
    return {key: value for key, value in asked.items() if value is not None}


def _pieces(notes: Notes, food_line, food: Food | None, desk: Desk, kitchen: Kitchen) -> dict[str, Settled]:
    forms = _forms(block_form("pieces", kitchen.words))
    facts = notes.facts
    hint = "the smallest way through; the diameter of a cylinder or sphere"
    found = {
        "shape": desk.settle("pieces.shape", forms["shape"], "What shape is one piece?", "salt and heat go in by the shape"),
        "thickness": desk.settle(
            "pieces.thickness", forms["thickness"], f"How thick is one piece? ({hint})",
            "time in brine and in the smoker goes by its square", facts.get("pieces.thickness"),
        ),
    }  # fmt: skip
    if found["shape"] and found["shape"].value in ("block", "cylinder"):
        optional = found["shape"].value == "cylinder"
        for side in ("width", "length")[optional:]:
            form = OrNone(forms[side]) if optional else forms[side]
            found[side] = desk.settle(
                f"pieces.{side}", form, f"What is the {side} of one piece?", f"the shape is a {found['shape'].value}"
            )
    for side in ("width", "length", "mass"):
        if side not in found:
            found[side] = desk.take(f"pieces.{side}", forms[side], None)
    skin = facts.get("pieces.skin")
    found["skin"] = desk.settle(
        "pieces.skin",
        forms["skin"],
        "Is the skin or shell on?",
        "salt hardly passes it",
        skin,
        "off",
        "the handbook's default",
    )
    if food is not None and food.food_class in ("fish", "shellfish"):
        origin = facts.get("pieces.origin")
        lines = {each.line for each in (notes.title, food_line) if each is not None}
        found["origin"] = desk.settle(
            "pieces.origin", forms["origin"], "How did the fish live?", "parasites: wild and unknown fish is frozen first or cooked",
            origin if origin and origin.line in lines else None, "unknown", "the handbook's default",
        )  # fmt: skip
    return {key: value for key, value in found.items() if value is not None and value.value != NONE}


def _batches(food_line: NoteIngredient | None, desk: Desk, kitchen: Kitchen) -> dict[str, Settled]:
    form = _forms(block_form("batches", kitchen.words))["written_for"]
    read = food_line.amount if food_line else None
    found = desk.settle(
        "batches.written_for", form, "How much raw food are the amounts for?", "every other batch is worked out from it",
        read, quoted=food_line.words if food_line else "", line=food_line.line if food_line else 0,
    )  # fmt: skip
    return {"written_for": found} if found else {}


def _measures(notes: Notes, desk: Desk, kitchen: Kitchen):
    """How a household amount of the notes is written on the page: as it is where both mean the same cups and spoons."""
    house = kitchen.house.measures
    units = {
        unit
        for each in notes.ingredients
        for value in (each.amount.value, *each.amount.choices)
        if (unit := _unit(value)) in HOUSEHOLD
    }
    if not units:
        return lambda value: value
    meant = desk.settle(
        "measures", Choice(MEASURES), f"Whose {', '.join(sorted(units))} do the notes mean?",
        "a cup is 237 mL (us), 250 mL (metric) or 284 mL (imperial)",
        default=house, default_from="the house file: what this kitchen measures with",
    )  # fmt: skip
    return lambda value: _in_millilitres(value, meant.value) if meant and meant.value != house else value


def _in_millilitres(value: str, measures: str) -> str:
    """``value`` in mL, to the digits that a change of cups needs, where its unit is a household one."""
    from handbook.errors import UnitError
    from handbook.units import parse_quantity

    unit = _unit(value)
    if unit not in HOUSEHOLD:
        return value
    try:
        quantity = parse_quantity(value, "volume", measures=measures)
    except UnitError:
        return value
    return f"{quantity.low * 1e6:.6g} mL"


def _unit(value: str) -> str:
    return value.lstrip("0123456789./ ½⅓⅔¼¾⅛⅜⅝⅞⅕⅙").strip()


def _mixture_name(block: str, heading: str, before: list[dict[str, Settled]]) -> str:
    taken = {each["name"].value for each in before}
    wanted = " ".join(heading.lower().removeprefix("for the ").removeprefix("the ").split())[:40]
    if block == "glaze":
        wanted = wanted if "glaze" in wanted else "glaze"
    name, number = wanted or block, 2
    while name in taken:
        name, number = f"{(wanted or block)[:36]} {number}", number + 1
    return name


def _mixture(block: str, group, name: str, notes: Notes, desk: Desk, kitchen: Kitchen) -> dict[str, Settled]:
    forms, key = _forms(block_form(block, kitchen.words)), f"line {group.line}"
    quoted = {"quoted": group.heading, "line": group.line}
    own_name = Settled(f"{key}.name", name, "notes" if group.heading else "handbook", group.line, group.heading)
    found: dict[str, Settled | None] = {"name": desk.take(f"{key}.name", forms["name"], own_name)}
    if block == "glaze":
        found["stays_on"] = desk.settle(
            f"{key}.stays_on", OrNone(forms["stays_on"], "not known"), "How much glaze stays on the food?", "it adds salt and sugar",
            **quoted,
        )  # fmt: skip
    else:
        found |= _salting(key, group, forms, quoted, notes, desk, kitchen)
    return {name: value for name, value in found.items() if value is not None and value.value not in (NONE, SMALLEST)}


def _salting(key: str, group, forms, quoted, notes: Notes, desk: Desk, kitchen: Kitchen) -> dict[str, Settled | None]:
    kind = desk.settle(
        f"{key}.kind", forms["kind"], "How does the salt get in?", "each way has its own figures", group.way, **quoted
    )
    found: dict[str, Settled | None] = {"kind": kind}
    fridge = any(
        step.place and step.place.value == "fridge" and step.stage and "salt" in (step.stage.value, *step.stage.choices)
        for step in notes.steps
    )
    found["temperature"] = desk.settle(
        f"{key}.temperature", OrNone(forms["temperature"], "not known"), "How cold is it while the salt goes in?", "salt goes in faster when it is warm",
        default=kitchen.house.fridge.text if fridge else "", default_from="the house file: its fridge" if fridge else "", **quoted,
    )  # fmt: skip
    if kind is None:
        return found
    if kind.value not in ("dry cure", "dry-salted ferment"):
        containers = tuple(each.name for each in kitchen.house.containers)
        found["container"] = desk.settle(
            f"{key}.container", OrWords(Name("a container", lambda: containers), (SMALLEST,)), "Which container holds it?",
            "whether the brine covers the food is worked out", default=SMALLEST,
            default_from="the handbook's default: the smallest that holds the batch", choices=(SMALLEST, *containers), **quoted,
        )  # fmt: skip
    if kind.value == "injection":
        found["pump"] = desk.settle(
            f"{key}.pump",
            forms["pump"],
            "How much brine is injected, of green weight?",
            "an injection goes by it",
            **quoted,
        )
    wanted = (
        kind.value == "equilibrium"
        or any(node.value == "until target salt" for node in desk.answers.values())
        or any(
            desk.answers.get(f"line {part.line}.amount", Text("", 0)).value == "to target" for part in notes.ingredients
        )
    )
    if wanted:
        found["target_salt"] = desk.settle(
            f"{key}.target_salt",
            forms["target_salt"],
            "How much salt is aimed at?",
            "an equilibrium or a computed time needs its target",
            **quoted,
        )
    return found


def _keeping(notes: Notes, desk: Desk, kitchen: Kitchen) -> dict[str, Settled]:
    forms = _forms(block_form("keeping", kitchen.words))
    pack = desk.settle(
        "keeping.pack",
        OrNone(forms["pack"], "it is eaten at once"),
        "How is the finished food packed?",
        "what can grow goes by the air around it",
    )
    if pack is None or pack.value == NONE:
        return {}
    said = notes.facts.get("keeping.time")
    found: dict[str, Settled | None] = {"pack": pack}
    found["temperature"] = desk.settle(
        "keeping.temperature",
        OrNone(forms["temperature"], "not said"),
        "How cold is it kept?",
        "keeping rules go by it",
    )
    offered = tuple(filter(None, (said.value, *said.choices))) if said else ()
    found["time"] = desk.settle(
        "keeping.time", OrNone(forms["time"], "not said"), "How long does it keep cold?", "safety: it is asked, never filled in",
        choices=offered, quoted=said.words if said else "", line=said.line if said else 0,
    )  # fmt: skip
    found["frozen"] = desk.settle(
        "keeping.frozen",
        OrNone(forms["frozen"], "not said"),
        "How long does it keep frozen?",
        "safety: it is asked, never filled in",
    )
    return {key: value for key, value in found.items() if value is not None and value.value != NONE}


def _forms(record: Record) -> dict:
    return {each.key: each.form for each in record.fields}
