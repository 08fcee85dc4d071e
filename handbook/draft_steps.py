"""The steps of a draft: what each does to the food, and the figures that it lacks."""

from __future__ import annotations

import re

from handbook.forms import Choice
from handbook.house import House
from handbook.method import HEATING, STAGES, Vocabulary, block_form
from handbook.notes import Notes
from handbook.notes_figures import Read
from handbook.notes_steps import NoteStep
from handbook.questions import NONE, Desk, OrNone, OrWords, Settled

#: Stages in which the food waits, so that where it stands matters.
WAITING = ("salt", "freshen", "rest", "smoke", "cook", "cool", "freeze", "thaw", "ferment")
COLD = ("fridge", "freezer", "cellar")
UNTIL = ("until core", "until target salt")


def draft_steps(
    notes: Notes, names: dict[str, tuple[str, ...]], desk: Desk, words: Vocabulary, house: House
) -> tuple[dict[str, Settled], ...]:
    """Every step as a table of settled values; ``names`` are those of the page's saltings and glazes."""
    forms = {each.key: each.form for each in block_form("steps", words).form.fields}
    lines = [step.line for step in notes.steps]
    found = []
    for place, step in enumerate(notes.steps):
        several = lines.count(step.line) > 1
        key = f"line {step.line}.{lines[:place].count(step.line) + 1}" if several else f"line {step.line}"
        made = _Step(step, key, desk, forms, names, house).settled()
        if made:
            found.append(made)
    return tuple(found)


class _Step:
    """One step and what is asked of it."""

    def __init__(self, step: NoteStep, key: str, desk: Desk, forms: dict, names: dict, house: House):
        self.step, self.key, self.desk, self.forms, self.names, self.house = step, key, desk, forms, names, house
        self.found: dict[str, Settled] = {}

    def settled(self) -> dict[str, Settled]:
        stage = self._ask(
            "stage",
            "What does this step do to the food?",
            "models and safety rules go by the stage",
            self.step.stage,
            OrNone(Choice(STAGES), "kept as words, no step"),
        )
        if stage is None or stage == NONE:
            return {}
        written = self.step.hands_on
        if written is None and stage in WAITING and self.step.place and self.step.place.value in COLD:
            written = Read("no", self.step.place.words, self.step.line)
        lasts = self.step.time.value if self.step.time is not None else ""
        if (
            written is not None
            and written.value == "yes"
            and (
                lasts.endswith((" h", "days", "day", "weeks", "week"))
                or (self.step.place and self.step.place.value in COLD)
            )
        ):
            written = Read("", written.words, self.step.line, "the words name work and a wait")
        hands_on = self._ask(
            "hands_on",
            "Is the cook at it all the time?",
            "the timing chart tells work from waiting",
            written,
            default="no",
            default_from="the handbook's default: waiting",
        )
        place = self._place(stage, hands_on)
        self._heat(stage, place)
        self._core(stage)
        self._time(stage)
        self._more(stage)
        self._words()
        return {name: value for name, value in self.found.items() if value.value != NONE}

    def _words(self) -> None:
        """The step's words, asked anew where an answer has put another figure beside the one that they tell."""
        step, changed = self.step, ""
        for name, read in (
            ("time", step.time),
            ("chamber", step.heat),
            ("temperature", step.heat),
            ("core", step.core),
            ("hold", step.hold),
        ):
            found = self.found.get(name)
            told = (read.value, *read.choices) if read is not None else ()
            if any(told) and found is not None and found.source == "answer" and found.value not in told:
                changed = f"its words say {read.words}, the answer {name} {found.value}"
        do = Read("" if changed else step.do[:1].upper() + step.do[1:], step.do, step.line, changed)
        self._ask("do", "What is done? (in at most 500 characters)", "readers go by the step's own words", do)
        if "do" in self.found:
            self.found = {"do": self.found.pop("do"), **self.found}

    def _place(self, stage: str, hands_on: str | None) -> str | None:
        if (stage in WAITING and hands_on != "yes") or self.step.place is not None:
            return self._ask("place", "Where does this happen?", "how warm it is there counts", self.step.place)
        bench = Settled(f"{self.key}.place", "bench", "handbook", self.step.line, "the handbook's default")
        found = self.desk.take(f"{self.key}.place", self.forms["place"], bench)
        self.found["place"] = found
        return found.value

    def _heat(self, stage: str, place: str | None) -> None:
        heat = self.step.heat
        if place in ("smoker", "oven"):
            self._ask(
                "chamber",
                "How warm is the chamber?",
                "the core is worked out from it",
                heat,
                OrNone(self.forms["chamber"], "not known"),
            )
        elif heat is not None or (
            stage in WAITING and place not in ("fridge", None) and self._text("hands_on") != "yes"
        ):
            self._ask(
                "temperature",
                "How warm or cold is it around the food?",
                "salt, heat and growth go by it",
                heat,
                OrNone(self.forms["temperature"], "not known"),
            )
        elif place == "fridge":
            fridge = Settled(
                f"{self.key}.temperature",
                NONE,
                "handbook",
                self.step.line,
                f"the house's fridge, {self.house.fridge.text}",
            )
            self.found["temperature"] = self.desk.take(f"{self.key}.temperature", self.forms["temperature"], fridge)

    def _core(self, stage: str) -> None:
        if stage not in HEATING and self.step.core is None:
            return
        core = self._ask(
            "core",
            "Which core temperature must it reach?",
            "safety: it is asked, never filled in",
            self.step.core,
            OrNone(self.forms["core"], "none is measured"),
        )
        if core not in (None, NONE):
            self._ask(
                "hold",
                "How long is the core held there?",
                "safety: it is asked, never filled in",
                self.step.hold,
                OrNone(self.forms["hold"], "it is not held"),
            )

    def _time(self, stage: str) -> None:
        read = self.step.time
        literal = (
            read is None
            and self.step.core is not None
            and self._text("core") not in ("", NONE)
            and self._text("chamber") not in ("", NONE)
        )
        if literal and (said := re.search(r"\b(?:until|till|to)\b", self.step.do, re.I)):
            read = Read("until core", said[0], self.step.line)
        computed = (
            ()
            if self._text("hands_on") == "yes"
            else {"salt": UNTIL[1:], "smoke": UNTIL[:1], "cook": UNTIL[:1]}.get(stage, ())
        )
        form = OrWords(self.forms["time"], computed) if computed else self.forms["time"]
        self._ask(
            "time", "How long does it take?", "timing, and everything that goes by time", read, form, choices=computed
        )
        found = self.found.get("time")
        if found is not None and found.value in UNTIL:
            self.found["until"] = Settled(
                found.key, found.value.removeprefix("until "), found.source, found.line, found.words
            )
            del self.found["time"]

    def _more(self, stage: str) -> None:
        if self._text("until") == "core" and self._text("place") == "smoker":
            self._ask(
                "humidity",
                "How humid is the air in the chamber?",
                "a wet surface cools itself: dry air heats the core late or never",
                None,
                OrNone(self.forms["humidity"], "not known"),
            )
        if stage == "ferment":
            self._ask(
                "final_ph",
                "At which pH may it end at the highest?",
                "safety: it is asked, never filled in",
                None,
                OrNone(self.forms["final_ph"], "not measured"),
            )
        if stage == "freshen":
            self._ask(
                "water",
                "How much water, of green weight?",
                "how much salt comes out goes by it",
                None,
                OrNone(self.forms["water"], "not known"),
            )
        block = (
            "glaze"
            if stage == "glaze" or re.search(r"\bglaz", self.step.do, re.I)
            else "salting"
            if stage == "salt"
            else ""
        )
        names = self.names.get(block, ())
        if block and len(names) == 1:
            self.found["use"] = Settled(f"{self.key}.use", names[0], "handbook", self.step.line, f"the only {block}")
        elif block and names:
            self._ask("use", f"Which {block} is used?", "the page has several", None, Choice(names), choices=names)
        for name in ("humidity", "air", "loss", "gain", "changes"):  # not asked for, and taken where they are answered
            if name not in self.found and (extra := self.desk.take(f"{self.key}.{name}", self.forms[name], None)):
                self.found[name] = extra
        if self.step.every is not None and self.step.every.value and self.step.action:
            self.found["repeat"] = Settled(
                f"{self.key}.repeat", self.step.every.value, "notes", self.step.line, self.step.action
            )

    def _ask(
        self,
        name: str,
        words: str,
        why: str,
        read: Read | None,
        form=None,
        default: str = "",
        default_from: str = "",
        choices=(),
    ) -> str | None:
        found = self.desk.settle(
            f"{self.key}.{name}", form or self.forms[name], words, why, read, default, default_from, choices,
            quoted=self.step.do, line=self.step.line,
        )  # fmt: skip
        if found is None:
            return None
        self.found[name] = found
        return found.value

    def _text(self, name: str) -> str:
        return self.found[name].value if name in self.found else ""
