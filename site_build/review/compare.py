"""Compares two versions of a method or of a whole build, computed figures first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from difflib import SequenceMatcher
from operator import attrgetter

from msgspec import Struct, field
from msgspec.structs import replace

from site_build.record.figures import Figure, MethodFigures, Recorded, StepFigures, printed_step
from site_build.review.changes import (
    Comparison,
    FigureChange,
    FindingChange,
    HouseChange,
    IngredientChange,
    MethodChange,
    ProseChange,
    StatedChange,
    StepChange,
)

ALIKE = 0.55  # share of equal words from which two steps count as one reworded step
MOST_COMPARED = 3_000  # pairs of steps of one page whose words are compared
MOST_WORDS = 60  # of a step that are compared
#: What is compared of a finding; its words alone change nothing.
_JUDGED = attrgetter("level", "verdict", "figure", "printed", "signed")


class Version(Struct, frozen=True, kw_only=True):
    """One method in one version: its figures, or None and the faults that prevent its computation.

    ``words`` are the page's statements, where it can be read.
    """

    figures: MethodFigures | None = None
    faults: tuple[str, ...] = ()
    is_there: bool = True
    words: dict[str, str] = field(default_factory=dict)


MISSING = Version(is_there=False)


def compare_method(path: str, old_path: str, before: Version, after: Version) -> MethodChange:
    """The changes of one method."""
    old, new = before.figures, after.figures
    change = MethodChange(
        path=path,
        old_path=old_path,
        before=old,
        after=new,
        faults_before=before.faults,
        faults=after.faults,
        was_there=before.is_there,
        is_there=after.is_there,
    )
    if old is None or new is None:
        known = before.words and after.words
        stated = compare_words(before.words, after.words) if known else ()
        return replace(change, findings=_open_findings(new) if new else (), stated=stated)
    old = _renamed_mixtures(old, new)
    figures, below = compare_figures(old.figures, new.figures)
    steps, below_steps = compare_steps(old.steps, new.steps)
    return replace(
        change,
        findings=compare_findings(old, new),
        figures=figures,
        steps=steps,
        ingredients=_ingredients(old, new),
        stated=compare_words(old.stated, new.stated),
        prose=_prose(old, new),
        below_rounding=below + below_steps,
    )


def _open_findings(method: MethodFigures) -> tuple[FindingChange, ...]:
    """What a method asks of the cook that is new or computed for the first time."""
    return _by_severity(
        FindingChange(key=key, before=None, after=each)
        for key, each in method.findings.items()
        if each.level in ("stop", "act")
    )


def compare_recorded(before: Recorded, after: Recorded, names: tuple[str, str]) -> Comparison:
    """Compares the recorded figures of two builds, such as those of two engines, over the whole handbook."""
    old, new = dict(before.methods), dict(after.methods)
    pairs = [(path, path) for path in new if path in old]
    lost = {each.title: path for path, each in old.items() if path not in new}
    pairs += [(path, lost.pop(each.title)) for path, each in new.items() if path not in old and each.title in lost]
    paired = {path for path, _ in pairs}
    changes = [compare_method(path, was, Version(figures=old[was]), Version(figures=new[path])) for path, was in pairs]
    changes += [
        compare_method(path, path, MISSING, Version(figures=each)) for path, each in new.items() if path not in paired
    ]
    changes += [compare_method(path, path, Version(figures=old[path]), MISSING) for path in lost.values()]
    kept = tuple(sorted((each for each in changes if not each.is_empty), key=lambda each: each.order))
    unchanged = sum(each.is_empty for each in changes)
    house = HouseChange(stated=(StatedChange("house file", before.house, after.house),))
    return Comparison(
        before=names[0],
        after=names[1],
        methods=kept,
        house=None if before.house == after.house else house,
        unchanged=unchanged,
        engines=(before.engine, after.engine),
    )


def compare_figures(old: dict[str, Figure], new: dict[str, Figure]) -> tuple[tuple[FigureChange, ...], int]:
    """Figures that moved beyond their rounding, and the number of those that moved less."""
    found, below = [], 0
    for key in old.keys() | new.keys():
        before, after = old.get(key), new.get(key)
        if before == after:
            continue
        if before and after and not moved(before, after):
            below += 1
        else:
            found.append(FigureChange(key=key, before=before, after=after))
    return tuple(sorted(found, key=lambda each: each.order)), below


def moved(before: Figure, after: Figure) -> bool:
    """Whether a figure moved by at least half the last digit that a page prints of it."""
    if before.unit != after.unit or before.words != after.words:
        return True
    return any(
        _moved(old, new, before.unit)
        for old, new in ((before.low, after.low), (before.value, after.value), (before.high, after.high))
    )


def compare_findings(old: MethodFigures, new: MethodFigures) -> tuple[FindingChange, ...]:
    """Changed findings, the most serious first."""
    pairs = ((key, old.findings.get(key), new.findings.get(key)) for key in old.findings.keys() | new.findings.keys())
    return _by_severity(
        FindingChange(key=key, before=before, after=after)
        for key, before, after in pairs
        if not (before and after and _JUDGED(before) == _JUDGED(after))
    )


def _by_severity(found: Iterable[FindingChange]) -> tuple[FindingChange, ...]:
    return tuple(sorted(found, key=lambda each: (each.severity, each.key)))


def compare_words(old: dict[str, str], new: dict[str, str]) -> tuple[StatedChange, ...]:
    """Changed statements."""
    keys = sorted(old.keys() | new.keys())
    return tuple(StatedChange(key, old.get(key, ""), new.get(key, "")) for key in keys if old.get(key) != new.get(key))


def compare_steps(old: tuple[StepFigures, ...], new: tuple[StepFigures, ...]) -> tuple[tuple[StepChange, ...], int]:
    """Steps added, removed, moved and changed, in the order of the new page, and the number of figures moved below
    rounding.
    """
    pairs = match_steps(old, new)
    partners = {j: i for i, j in pairs}
    changes, below, last = [], 0, -1
    for j, after in enumerate(new):
        i = partners.get(j)
        if i is None:
            changes.append(StepChange(number=j + 1, after=after))
            continue
        change, less = _step_change((i, old[i]), (j, after), is_moved=i < last)
        below += less
        last = max(last, i)
        changes += [change] if change else []
    removed = sorted(set(range(len(old))) - {i for i, _ in pairs})
    return (*changes, *(StepChange(number_before=i + 1, before=old[i]) for i in removed)), below


def _step_change(
    old: tuple[int, StepFigures], new: tuple[int, StepFigures], is_moved: bool
) -> tuple[StepChange | None, int]:
    """The change of a step of both pages, given with its index, and the number of figures moved below rounding."""
    (i, before), (j, after) = old, new
    figures, below = compare_figures(before.figures, after.figures)
    stated = compare_words(_with_stage(before), _with_stage(after))
    duration = FigureChange(key="duration", before=before.duration, after=after.duration)
    timed = duration if moved(before.duration, after.duration) else None
    is_reworded = before.do != after.do
    if not (figures or stated or timed or is_moved or is_reworded):
        return None, below
    change = StepChange(
        number_before=i + 1,
        number=j + 1,
        before=before,
        after=after,
        stated=stated,
        figures=figures,
        duration=timed,
        is_moved=is_moved,
        is_reworded=is_reworded,
    )
    return change, below


def match_steps(old: tuple[StepFigures, ...], new: tuple[StepFigures, ...]) -> list[tuple[int, int]]:
    """Pairs of old and new steps, by their words: equal ones first, then similar ones between them, then moved ones."""
    matcher = SequenceMatcher(None, [each.do for each in old], [each.do for each in new], autojunk=False)
    pairs = []
    for kind, low, high, start, end in matcher.get_opcodes():
        lefts, rights = range(low, high), range(start, end)
        pairs += zip(lefts, rights, strict=True) if kind == "equal" else _alike(old, new, lefts, rights)
    right = sorted(set(range(len(new))) - {j for _, j in pairs})
    for i in sorted(set(range(len(old))) - {i for i, _ in pairs}):
        same = next((j for j in right if new[j].do == old[i].do), None)
        if same is not None:
            right.remove(same)
            pairs.append((i, same))
    return sorted(pairs, key=lambda pair: pair[1])


def _alike(old, new, lefts: range, rights: range) -> list[tuple[int, int]]:
    # Every step with every other, or with those near its place where the pairs are too many.
    reach = max((MOST_COMPARED // max(len(lefts), 1) - 1) // 2, 1)
    scored = []
    for at, i in enumerate(lefts):
        first, last = (0, len(rights)) if len(lefts) * len(rights) <= MOST_COMPARED else (at - reach, at + reach + 1)
        near = rights[max(first, 0) : max(last, 0)]
        scored += ((_likeness(old[i], new[j]), -abs(at - (j - rights.start)), i, j) for j in near)
    pairs: list[tuple[int, int]] = []
    for _score, _, i, j in sorted((each for each in scored if each[0] >= ALIKE), reverse=True):
        if not any((i - a) * (j - b) <= 0 for a, b in pairs):
            pairs.append((i, j))
    return pairs


def _likeness(old: StepFigures, new: StepFigures) -> float:
    before, after = (each.do.casefold().split()[:MOST_WORDS] for each in (old, new))
    words = SequenceMatcher(None, before, after, autojunk=False).ratio()
    return 0.7 * words + 0.3 * (old.stage == new.stage)


def _with_stage(step: StepFigures) -> dict[str, str]:
    return {**step.stated, "stage": step.stage, "at it": "hands-on" if step.hands_on else "waiting"}


def _renamed_mixtures(old: MethodFigures, new: MethodFigures) -> MethodFigures:
    """``old`` with its only lost mixture renamed to the only new one, so that their figures are compared."""
    lost = [name for name in old.mixtures if name not in new.mixtures]
    found = [name for name in new.mixtures if name not in old.mixtures]
    if len(lost) != 1 or len(found) != 1:
        return old
    was, now = f"{lost[0]}: ", f"{found[0]}: "

    def turned(table: dict) -> dict:
        return {now + key[len(was) :] if key.startswith(was) else key: each for key, each in table.items()}

    mixtures = {found[0] if name == lost[0] else name: each for name, each in old.mixtures.items()}
    return replace(old, figures=turned(old.figures), stated=turned(old.stated), mixtures=mixtures)


def _ingredients(old: MethodFigures, new: MethodFigures) -> tuple[IngredientChange, ...]:
    found = []
    for mixture in dict.fromkeys((*new.mixtures, *old.mixtures)):
        before, after = old.mixtures.get(mixture, {}), new.mixtures.get(mixture, {})
        for item in dict.fromkeys((*after, *before)):
            was, now = before.get(item), after.get(item)
            if was != now and not (
                was
                and now
                and (was.written, was.note) == (now.written, now.note)
                and not _moved(was.mass, now.mass, "g")
            ):
                found.append(IngredientChange(mixture=mixture, item=item, before=was, after=now))
    return tuple(found)


def _prose(old: MethodFigures, new: MethodFigures) -> ProseChange | None:
    before, after = Counter(old.prose), Counter(new.prose)
    if before == after:
        return None
    return ProseChange(
        gone=(before - after).total(),
        new=(after - before).total(),
        words_before=old.prose_words,
        words_after=new.prose_words,
    )


def _moved(old: float | None, new: float | None, unit: str) -> bool:
    if old is None or new is None:
        return (old is None) != (new is None)
    step = min(printed_step(old, unit), printed_step(new, unit))
    # The small share treats figures exactly half a digit apart equally, whatever their last bit.
    return abs(new - old) >= step / 2 * (1 - 1e-9)
