"""The ingredient lists of a draft: which entry of the table each line means, and how much of it."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from handbook.amounts import AmountForm, Packed, Pieces
from handbook.forms import Choice, Form, Name, Reading, Words
from handbook.ingredients import US_CUP, Ingredient
from handbook.notes import Group, Notes
from handbook.notes_figures import BY_THE_PIECE, Read
from handbook.notes_ingredients import NoteIngredient
from handbook.notes_names import exact_name, is_curing_salt, is_salt, may_be_curing_salt, near_names
from handbook.questions import NONE, Desk, OrNone, Settled
from handbook.resolve import ingredient_names
from handbook.tables import Tables
from handbook.yaml_text import Text

USES = ("salting", "glaze", NONE)
_AMOUNT = AmountForm()


def draft_ingredients(
    notes: Notes, food_line: NoteIngredient | None, desk: Desk, tables: Tables, convert: Callable[[str], str]
) -> list[tuple[str, Group, tuple[dict[str, Settled], ...]]]:
    """(block, group, ingredients as tables of settled values) for each mixture; lines kept as words are left out."""
    found = []
    for group in notes.groups:
        parts = [each for each in notes.ingredients if each.group == group.number and each is not food_line]
        if not parts:
            continue
        lines = f"line {parts[0].line}" if len(parts) == 1 else f"lines {parts[0].line} to {parts[-1].line}"
        use = desk.settle(
            f"line {group.line}.list", Choice(USES), f"What do the ingredients of {lines} make?",
            "salt gets in with a salting, stays outside with a glaze; none keeps them as words", group.use,
            quoted=group.heading or parts[0].words, line=group.line,
        )  # fmt: skip
        by_use: dict[str, list[NoteIngredient]] = {}
        for part in parts:
            by_use.setdefault(_use(part, use, desk), []).append(part)
        for block, members in by_use.items():
            made = _settle_all(members, desk, tables, convert, block)
            own = group if use is None or block == use.value else Group(group.number, "", members[0].line, None, None)
            if block in ("salting", "glaze") and made:
                found.append((block, own, made))
    return found


def _use(part: NoteIngredient, use: Settled | None, desk: Desk) -> str:
    """Where one line goes: with its list, unless its own words or an answer say otherwise."""
    key = f"line {part.line}.use"
    said = re.search(r"\bfor (?:the )?(?P<word>glaze|brine|rub|cure)\b", part.words, re.I)
    named = ("glaze" if said["word"].lower() == "glaze" else "salting") if said else ""
    if named and use is not None and named != use.value:
        own = desk.settle(
            key,
            Choice(USES),
            "Where does this go?",
            "its words and its list differ",
            None,
            choices=(named,),
            quoted=part.words,
            line=part.line,
        )
    else:
        own = desk.take(key, Choice(USES), None)
    return own.value if own else (use.value if use else "")


def _settle_all(parts, desk: Desk, tables: Tables, convert, block: str) -> tuple[dict[str, Settled], ...]:
    if block == NONE:
        return ()
    found = []
    for part in parts:
        item = _item(part, desk, tables)
        if item is None or item.value == NONE:
            continue
        made = {"item": item, **_amount(part, item.value, desk, tables, convert)}
        note = (
            Settled(f"line {part.line}.note", part.note, "notes", part.line, part.words)
            if 0 < len(part.note) <= 120
            else None
        )
        note = desk.take(f"line {part.line}.note", Words(120), note)
        found.append({**made, "note": note} if note else made)
    return tuple(found)


def _item(part: NoteIngredient, desk: Desk, tables: Tables) -> Settled | None:
    names = ingredient_names(tables)
    words = part.words if is_curing_salt(part.words) else part.item
    cures = tuple(each.name for each in tables.ingredients.values() if each.kind == "curing salt")
    plain = tuple(each.name for each in tables.ingredients.values() if each.is_salt)
    exact = exact_name(part.item, names)
    by_volume = _dimension(part.amount) not in ("mass", "share")
    question, why = (
        "Which ingredient of the handbook is it?",
        "its weight of a cup, its water, salt and sugar decide the figures",
    )
    form: Form = OrNone(Name("an ingredient", lambda: names), "kept as words only")
    choices = near_names(part.item, names)
    if is_curing_salt(words):
        question, why = "Which curing salt is it? Read its label.", "safety: one type is ten times as strong as another"
        form, choices = Choice(cures), cures
    elif may_be_curing_salt(words):
        question, why = (
            "Which salt is meant? Read its label.",
            "safety: pink salt is said of a curing salt and of a plain one",
        )
        form, choices = Choice((*cures, *plain)), (*cures, *plain)
    elif is_salt(part.item) and (not exact or exact in plain):
        question = "Which salt is it?"
        exact = "" if exact == "salt" and by_volume else exact
        why = (
            _cup_weights(tables)
            if by_volume
            else "the table of salts knows it by its crystal; by weight all count alike"
        )
        form, choices = (
            Name("a salt", lambda: (*plain, *cures)),
            tuple(each for each in plain if not (by_volume and each == "salt")),
        )
    read = Read(exact, part.item, part.line) if exact and exact not in cures else None
    return desk.settle(
        f"line {part.line}.item", form, question, why, read, choices=choices, quoted=part.words, line=part.line
    )


def _cup_weights(tables: Tables) -> str:
    grams = sorted(each.kg_per_m3[1] * US_CUP * 1000 for each in tables.salts)
    return f"a cup of salt weighs {grams[0]:.0f} to {grams[-1]:.0f} g, by its crystal"


def _amount(part: NoteIngredient, item: str, desk: Desk, tables: Tables, convert) -> dict[str, Settled]:
    ingredient = tables.ingredients.get(item) or tables.ingredients[f"{item}, packed"]
    key, read = f"line {part.line}.amount", part.amount
    form: Form = AmountOf(ingredient, item)
    if not (ingredient.is_salt or ingredient.kind == "curing salt"):
        form = OrNone(form, "kept as words only")
    read = _with_pieces(read, ingredient)
    read = Read(convert(read.value), read.words, read.line, read.why, tuple(map(convert, read.choices)))
    if read.value.endswith(" oz") and ingredient.density_class == "liquid":
        number = read.value.removesuffix(" oz")
        read = Read(
            "",
            read.words,
            read.line,
            "ounces of a liquid are by weight or by volume",
            (f"{number} oz", convert(f"{number} fl oz")),
        )
    if ingredient.kind == "curing salt" and read.value:
        read = Read("", read.words, read.line, "confirm it against the label", (read.value,))
    why = "safety: a dose of curing salt is weighed" if ingredient.kind == "curing salt" else "the figures rest on it"
    filled = item not in tables.ingredients
    amount = desk.settle(key, form, f"How much {item}?", why, read, quoted=part.words, line=part.line)
    if amount is None or amount.value == NONE:
        return {"amount": amount} if amount else {}
    if filled and _is_volume(amount.value) and "," not in amount.value:
        said = Read(part.filling, part.filling, part.line) if part.filling else None
        filling = desk.settle(
            f"line {part.line}.filling", Choice(("packed", "loose")), f"Is the {item} packed or loose in the cup?",
            "a packed cup weighs half as much again", said, quoted=part.words, line=part.line,
        )  # fmt: skip
        if filling is None:
            return {}
        amount = Settled(amount.key, f"{amount.value}, {filling.value}", amount.source, amount.line, amount.words)
    return {"amount": amount}


def _with_pieces(read: Read, ingredient: Ingredient) -> Read:
    """A count is an amount where the handbook knows what one piece weighs."""
    if read.why != BY_THE_PIECE:
        return read
    if not ingredient.piece_mass:
        return Read("", read.words, read.line, "told by the piece, and no weight of a piece is known")
    value = read.choices[0].replace("pieces", "leaves") if "leaf" in ingredient.name else read.choices[0]
    return Read(value, read.words, read.line)


def _dimension(read: Read | None) -> str:
    if read is None or not read.value:
        return ""
    found = _AMOUNT.read(Text(read.value, 1), "", Reading(""))
    return getattr(found, "dimension", "") or ("share" if "%" in read.value else "volume")


def _is_volume(value: str) -> bool:
    return isinstance(_AMOUNT.read(Text(value, 1), "", Reading("")), Packed)


@dataclass(frozen=True)
class AmountOf(Form):
    """An amount that can be told of one ingredient: a volume or pieces only where their weight is known."""

    ingredient: Ingredient
    item: str

    @property
    def allowed(self) -> str:
        if self.ingredient.kind == "curing salt":
            return 'a mass ("5 g") or a share ("0.25 % of food"), weighed'
        if self.ingredient.kg_per_m3 is None:
            return 'a mass ("160 g") or a share ("2.5 % of food"): no weight of a cup is known'
        return _AMOUNT.allowed

    def read_text(self, node, key, reading):
        inner = Reading(reading.file, reading.measures)
        amount = _AMOUNT.read(node, key, inner)
        is_unknown = isinstance(amount, Pieces) and not self.ingredient.piece_mass
        is_spooned = isinstance(amount, Packed) and (
            self.ingredient.kg_per_m3 is None
            or self.ingredient.kind == "curing salt"
            or (amount.filling and not _fills(self.item, self.ingredient))
        )
        if amount is None or is_unknown or is_spooned:
            suggestion = inner.faults[0].suggestion if inner.faults else ""
            return reading.fault(node.line, key, node.value, self.allowed, suggestion)
        return amount


def _fills(item: str, ingredient: Ingredient) -> bool:
    return item != ingredient.name or item.endswith(("packed", "loose"))
