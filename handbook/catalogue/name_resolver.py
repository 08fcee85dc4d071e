"""Resolves a cook's name of a food or an ingredient to the name of the tables, or lists its possible meanings.

A name resolves only if its meaning is certain: the same words in any order, or another name with one meaning.
A part of a name, a misspelt name and another name with several meanings never resolve: they list candidates. A name
that may mean a curing salt lists only curing salts, because mistaking a curing salt for common salt, or omitting it,
affects safety.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Iterable, Iterator, Mapping
from difflib import SequenceMatcher, get_close_matches
from functools import cached_property, lru_cache

from handbook.base.did_you_mean import Resolution, nearest
from handbook.catalogue.foods import Food
from handbook.catalogue.ingredients import Ingredient
from handbook.catalogue.other_names import other_names
from handbook.catalogue.tables import Tables

#: Last words of ingredients whose cup weight depends on the filling.
FILLINGS = ("packed", "loose")
#: Number of characters compared, and the similarity of a name with one or two wrong letters.
_LONGEST, _SAME_LETTERS = 200, 0.9
#: Similarity of a name that is suggested without a shared word, and of one word to another; shorter words are not
#: compared.
_NEAR_LETTERS, _SAME_WORD_LETTERS, _SHORTEST = 0.82, 0.82, 5
#: Number of words of one name that are compared with other spellings.
_FEW = 4
#: Maximum number of candidates in one answer.
MOST_CANDIDATES = 6
#: Words for salts with nitrite or nitrate. Common practice, no source.
CURING_WORDS = (
    "cure", "curing", "nitrite", "nitrate", "saltpetre", "saltpeter", "saltpetere", "pokelsalz", "nitritpokelsalz", "tcm",
)  # fmt: skip
#: Similar words with other meanings.
_NOT_CURING = frozenset({"citrate", "curry", "carey", "cube", "core"})
#: Words that mark a salt, powder or mix as a curing salt: its dye, its number, its purpose. Common practice, no source.
_CURING_MARKS = (
    "pink", "tinted", "rose", "dyed", "coloured", "colored", "#1", "#2", "meat", "sausage", "ham", "bacon", "corning",
    "corned", "salami", "jerky", "quick", "rapid", "butcher", "preserving", "red", "petre", "peter",
)  # fmt: skip
#: Words for pure nitrites and nitrates, which are not curing salts: about 16 times as strong.
_PURE = frozenset({"sodium", "potassium", "nitrite", "nitrate", "saltpetre", "saltpeter"})
_CURED_HEADS = ("salt", "sel", "powder", "mix", "mixture", "blend", "cure")
#: British, American and older spellings, and synonyms. Common practice, no source.
_SAME_WORD = {
    "chilli": "chili", "chile": "chili", "chilly": "chili", "yoghurt": "yogurt", "gray": "grey", "sulphite": "sulfite", "filet": "fillet",
    "flaked": "flake", "flaky": "flake",
    "charr": "char", "flavour": "flavor",
}  # fmt: skip
#: Words that do not change the meaning.
_EMPTY_WORDS = frozenset({"a", "an", "and", "of", "or", "the", "with", "some", "type", "style"})
_TOKEN = re.compile(r"\d+(?:[.,]\d+)?|#\d|[^\W\d_]+")
#: Numbers of the nitrites and nitrates among food additives (Codex Alimentarius, CXG 36-1989, from memory).
_ADDITIVE = re.compile(r"\b(?:e|ins)[ -]?(249|250|251|252)[a-z]?\b")
_NUMBERED = re.compile(r"(?:#|\b(?:no\.?|number|type))\s*(one|two|1|2)\b")
_PLURALS = (
    ("ies", "y"),
    ("oes", "o"),
    ("ches", "ch"),
    ("shes", "sh"),
    ("aves", "af"),
    ("ss", "ss"),
    ("us", "us"),
    ("s", ""),
)


class NameList(tuple[str, ...]):
    """The names that a page may use, with ``other`` names for them.

    ``curing`` are the names of those with nitrite or nitrate.

    >>> names = NameList(["vinegar, cider", "salt, fine sea", "curing salt, 0.6 %"], curing=["curing salt, 0.6 %"])
    >>> names.resolve("Cider vinegar").name
    'vinegar, cider'
    >>> names.resolve("sea salt")
    Resolution(name='', candidates=('salt, fine sea',))
    >>> names.resolve("pink salt").candidates
    ('curing salt, 0.6 %',)
    """

    other: dict[frozenset[str], tuple[str, ...]]
    curing: tuple[str, ...]
    said: tuple[tuple[str, str], ...]

    def __new__(
        cls,
        names: Iterable[str],
        other: Iterable[tuple[str, str]] = (),
        curing: Iterable[str] = (),
        house: Iterable[tuple[str, str]] = (),
    ) -> NameList:
        """``other`` are pairs of another name and the table's name that it may mean, ``house`` those of the house.

        A house's own names take precedence.
        """
        made = super().__new__(cls, names)
        meanings: dict[frozenset[str], list[str]] = {}
        own = tuple(each for each in house if each[1] in made)
        decided = {_key(said) for said, _ in own}
        said_of = (*own, *(each for each in other if each[1] in made and not (own and _key(each[0]) in decided)))
        for said, means in said_of:
            meanings.setdefault(_key(said), []).append(means)
        made.other = {key: tuple(dict.fromkeys(found)) for key, found in meanings.items()}
        made.curing, made.said = tuple(curing), said_of
        return made

    def __eq__(self, other: object) -> bool:
        """Compare with the other names too, since the forms of pages are cached by their lists."""
        return super().__eq__(other) and (not isinstance(other, NameList) or self.said == other.said)

    __hash__ = tuple.__hash__

    def resolve(self, said: str, suggest: bool = True) -> Resolution:
        """The meaning of ``said``. The candidates, which take longer, are left out where ``suggest`` is false."""
        if said in self._set:
            return Resolution(name=said)
        key = _key(said[:_LONGEST])
        named, other = self._by_key.get(key, ()), self.other.get(key, ())
        if len(exact := self._spellings.get(" ".join(said.casefold().split()), ())) == 1:
            named = exact  # "ice water" is no ice, though the words are those of "water, ice"
        if self.curing and _may_cure(key):
            sure = [each for each in (*named, *other) if each in self.curing]
            return Resolution(name=sure[0]) if len(sure) == 1 else Resolution(candidates=self._cures(key))
        meant = named or other
        if len(meant) == 1:
            return Resolution(name=meant[0])
        return Resolution(candidates=(meant or self._near(said[:_LONGEST], key))[:MOST_CANDIDATES] if suggest else ())

    def is_own_name(self, said: str) -> bool:
        """Whether ``said`` has the words of one of these names, not of another name for it."""
        return _key(said[:_LONGEST]) in self._by_key

    @cached_property
    def _set(self) -> frozenset[str]:
        return frozenset(self)

    @cached_property
    def _by_key(self) -> dict[frozenset[str], tuple[str, ...]]:
        """The names by their words, with and without the part in brackets."""
        found: dict[frozenset[str], list[str]] = {}
        for name in self:
            for form in dict.fromkeys((_key(name), _key(re.sub(r"\(.*?\)", "", name)))):
                found.setdefault(form, []).append(name)
        return {key: tuple(names) for key, names in found.items()}

    def _cures(self, key: frozenset[str]) -> tuple[str, ...]:
        """The curing salts, only those of the strength or type in the name.

        None for a nitrite without salt or a celery powder, whose strength is not in the tables.
        """
        if not key - _PURE or "celery" in key:
            return ()
        stated = {each for each in key if "." in each or each.startswith("#")}
        return tuple(each for each in self.curing if stated <= _key(each)) or self.curing

    def _near(self, said: str, key: frozenset[str]) -> tuple[str, ...]:
        """A name that differs in one or two letters; else names with all words, then with most of them, then with
        similar letters.

        Curing salts are left out: only their own words find them.
        """
        forms = self._plain_forms
        spelt = nearest(said, tuple(self._spellings))
        if spelt and SequenceMatcher(None, said.casefold(), spelt).ratio() > _SAME_LETTERS:
            return self._spellings[spelt]
        if self.curing and "salt" in key and key - {"salt"} and key & self._plain_salt_words == {"salt"}:
            return self._some_salts
        key = self._spelt(key)
        holding = dict.fromkeys(name for form, names, _ in forms if key and key <= form for name in names)
        if holding:
            return tuple(holding)
        words = {word for word in key if word.isalpha()}
        scored = [((bool(form & words), bool(head & key), len(form & words)), names) for form, names, head in forms]
        best = max((score for score, _ in scored), default=(False, False, 0))
        if best[0]:
            return tuple(dict.fromkeys(name for score, names in scored if score == best for name in names))
        is_near = spelt and SequenceMatcher(None, said.casefold(), spelt).ratio() > _NEAR_LETTERS
        return self._spellings[spelt] if is_near else ()

    def _spelt(self, key: frozenset[str]) -> frozenset[str]:
        """The words in the spelling of the names, where they differ in about one letter; only the first few of a long name."""
        wrong = [word for word in sorted(key) if len(word) >= _SHORTEST and word not in self._all_words]
        near = {
            word: get_close_matches(word, self._all_words, n=1, cutoff=_SAME_WORD_LETTERS)
            or self._by_letters.get(_letters(word), ())
            for word in wrong[:_FEW]
        }
        return frozenset(next(iter(near.get(word, ())), word) for word in key)

    @cached_property
    def _all_words(self) -> dict[str, None]:
        return {word: None for form, _, _ in self._plain_forms for word in sorted(form)}

    @cached_property
    def _by_letters(self) -> dict[str, list[str]]:
        return {_letters(word): [word] for word in self._all_words}

    @cached_property
    def _plain_salt_words(self) -> frozenset[str]:
        """The words of all names of salts without nitrite."""
        return frozenset(word for form, _, head in self._plain_forms if "salt" in head for word in form)

    @cached_property
    def _some_salts(self) -> tuple[str, ...]:
        """Candidates for a salt with words that no plain salt has: it may be plain or a curing salt."""
        plain = [name for name in self if "salt" in _head(name) and name not in self.curing]
        return (*plain[: MOST_CANDIDATES - len(self.curing)], *self.curing)

    @cached_property
    def _spellings(self) -> dict[str, tuple[str, ...]]:
        """Names and other names in small letters, and their meanings, without those of curing salts."""
        found: dict[str, tuple[str, ...]] = {}
        for said, name in (*self.said, *((name, name) for name in self)):
            if name not in self.curing:
                found[said.casefold()] = tuple(dict.fromkeys((*found.get(said.casefold(), ()), name)))
        return found

    @cached_property
    def _plain_forms(self) -> list[tuple[frozenset[str], tuple[str, ...], frozenset[str]]]:
        """Every name and other name by its words, with its meaning and its first word; no curing salts."""
        forms = [*((_key(name), (name,)) for name in self), *self.other.items()]
        return [(form, names, _head(names[0])) for form, names in forms if not set(names) & set(self.curing)]


def find_item(said: str, foods: Collection[str], ingredients: Collection[str]) -> tuple[tuple[str, ...], str]:
    """The names of the tables for an item of a price list or a shopping list, and the question where none is certain.

    A name without a filling means the ingredient with any filling. A name that may be a curing salt is only compared
    with curing salts.

    >>> from handbook.catalogue.tables import engine_tables
    >>> names = food_names(engine_tables()), ingredient_names(engine_tables())
    >>> find_item("brown sugar", *names)[0]
    ('sugar, brown, packed', 'sugar, brown, loose')
    >>> find_item("Arctic char", *names)[0]
    ('char, Arctic',)
    """
    tables = ingredients, foods
    asked = _resolved(said, ingredients).candidates if _may_cure(_key(said[:_LONGEST])) else ()
    if asked:
        return (), Resolution(candidates=asked).question
    meant = tuple(dict.fromkeys(each.name for names in tables if (each := _resolved(said, names, suggest=False)).name))
    if len(meant) != 1:
        near = (each for names in tables for each in _resolved(said, names).candidates)
        candidates = meant or tuple(near)[:MOST_CANDIDATES]
        return (), Resolution(candidates=candidates).question
    filled = tuple(f"{meant[0]}, {each}" for each in FILLINGS if f"{meant[0]}, {each}" in ingredients)
    return filled or meant, ""


def may_be_curing_salt(said: str) -> bool:
    """Whether a name may mean a curing salt.

    >>> may_be_curing_salt("pink salt"), may_be_curing_salt("salt, fine sea")
    (True, False)
    """
    return _may_cure(_key(said[:_LONGEST]))


def _resolved(said: str, names: Collection[str], suggest: bool = True) -> Resolution:
    if isinstance(names, NameList):
        return names.resolve(said, suggest)
    if said in names:
        return Resolution(name=said)
    return Resolution(candidates=tuple(filter(None, [nearest(said, names)])) if suggest else ())


def _words(said: str) -> Iterator[str]:
    folded = unicodedata.normalize("NFKD", said.casefold())
    folded = "".join(each for each in folded if not unicodedata.combining(each))
    folded = _ADDITIVE.sub(lambda found: "nitrite" if found[1] in ("249", "250") else "nitrate", folded)
    folded = _NUMBERED.sub(lambda found: " #" + {"one": "1", "two": "2"}.get(found[1], found[1]), folded)
    for word in _TOKEN.findall(folded):
        word = word.replace(",", ".")
        word = _SAME_WORD.get(word, word)
        if word not in _EMPTY_WORDS:
            yield _SAME_WORD.get(_singular(word), _singular(word))


@lru_cache(maxsize=4096)  # every page asks for the same few thousand names
def _key(said: str) -> frozenset[str]:
    """The words of a name without order, case, accents, plurals and spellings."""
    return frozenset(_words(said))


def _head(name: str) -> frozenset[str]:
    """The first word of a name: the thing itself."""
    return _key(name.split(maxsplit=1)[0])


def _letters(word: str) -> str:
    """Whether two words have the same first letter and the same letters in another order: probably one word."""
    return word[0] + "".join(sorted(word))


def _singular(word: str) -> str:
    for ending, last in _PLURALS:
        if word.endswith(ending) and len(word) > len(ending) + 1:
            return word.removesuffix(ending) + last
    return word


def _may_cure(key: frozenset[str]) -> bool:
    """Whether a name, possibly misspelt, may mean a curing salt."""
    if _said(CURING_WORDS, key) or key >= {"celery", "powder"}:
        return True
    return bool(key & set(_CURED_HEADS)) and _said(_CURING_MARKS, key)


def _said(words: tuple[str, ...], key: frozenset[str]) -> bool:
    return any(get_close_matches(each, words, n=1, cutoff=0.8) for each in key - _NOT_CURING)


def food_names(tables: Tables) -> NameList:
    """The names of foods that a page may write."""
    return NameList(tables.foods, _others("food"), house=_of_house(tables.foods))


def ingredient_names(tables: Tables) -> NameList:
    """The names of ingredients that a page may write. A filling stated with the amount is left out of the name."""
    bare = {name.rpartition(", ")[0] for name in tables.ingredients if name.endswith(FILLINGS)}
    curing = [each.name for each in tables.ingredients.values() if each.kind == "curing salt"]
    names = (*tables.ingredients, *sorted(bare - set(tables.ingredients)))
    return NameList(names, _others("ingredient"), curing, _of_house(tables.ingredients))


def _others(kind: str) -> list[tuple[str, str]]:
    return [(each.name, each.means) for each in other_names() if each.kind == kind]


def _of_house(rows: Mapping[str, Food] | Mapping[str, Ingredient]) -> list[tuple[str, str]]:
    return [(said, name) for name, each in rows.items() for said in each.house_names]
