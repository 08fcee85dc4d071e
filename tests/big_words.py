"""Invented words for big handbooks: names, titles, paragraphs, lists and tables of differing length."""

from __future__ import annotations

from random import Random


def _words(text: str, between: str = " ") -> tuple[str, ...]:
    return tuple(text.split(between))


_FIRST = _words("Ab Bren Cal Dov Els Fen Gar Hul Ist Jar Kel Lom Mar Nor Ost Pel Rav Sol Tor Vell")
_MIDDLE = _words("a be di e fo gi ha i ka lo mi na o pe ri se ti u va ye")
_LAST = _words("lund mar nes dal rik sund ved tor holm brek fjell strand vik mo ås heim by gard skar eid")
KEEPERS = _words(
    "Asta Vole|Bram Eide|Cato Renn|Dagny Moor|Eskil Tarn|Frida Holt|Gorm Lisse|Hedda Quill|Ivar Sorn|Juna Feld", "|"
)
TAGS = _words(
    "weekday feast autumn winter spring beginners advanced slow quick small-bites cold-table lake cellar party"
)
EQUIPMENT = (
    "bench scale",
    "fine scale",
    "core probe",
    "two core probes",
    "wire racks",
    "long tub with a plate",
    "stock pot",
    "sharp thin knife",
    "oiled mesh",
    "fridge shelf of its own",
    "paper labels and a soft pencil",
)
_OPENERS = (
    "Nobody at {place} remembers who began it.",
    "The {food} should smell of nothing but cold water and itself.",
    "We make it when the lake turns and the benches stand empty until noon.",
    "It is a plain thing, and it forgives more than it looks.",
    "This came from a notebook with a wet cover, and every figure in it was wrong but one.",
    "Two people can do it side by side without getting in each other's way.",
)
_SENTENCES = (
    "Weigh the {food} after trimming, not before.",
    "A knife that slips has gone dull; a knife that drags has gone duller.",
    "What looks dry under the lamp is often still damp on the underside.",
    "The thick end decides, and the thin end pays for it.",
    "Salt that has drawn damp weighs more than it gives.",
    "Leave room between the pieces, for air is the cheapest tool in the house.",
    "If the tub stands near the door, the top layer is always two degrees behind the rest.",
    "Write the hour on the lid; memory is short when the hands are cold.",
    "At {place} they turn the stack at every bell, which is more often than it needs.",
    "The smell tells you little, the scale tells you much, and the probe tells you the rest.",
    "Ask somebody else to read the fine scale before the bag is closed.",
    "A cloth wrung out in cold water keeps the edges from curling.",
    "Taste a trimming, fried, and wait a minute before you judge it.",
    "The colour comes late and then all at once.",
    "Whoever hurries the rest has saved an hour and lost the batch.",
    "Small pieces are not half the work of large ones; they are twice the watching.",
    "Keep the drippings apart, for they hold more salt than anything else on the bench.",
    "In a wet week give it the longer of the two times.",
    "The brine should be as cold as the {food} when they meet.",
    "It is better to cook two small lots than to crowd one large one.",
)
_HEADINGS = ("Signs", "What we learnt", "Before you begin", "Why so", "At the table", "Keeping an eye on it")
_SEEN = (
    "pale patches",
    "salty rim",
    "soft middle",
    "dry edges",
    "film on top",
    "dull surface",
    "torn flesh",
    "no grip",
)
_WHY = ("pieces of two sizes", "crowded rack", "warm tub", "short rest", "wet surface", "thin end too thin")
_HELPS = ("sort by thickness", "leave room", "colder water", "the longer time", "dry with paper", "fold the tail under")
_EXTRA_STEPS = (
    "Lay out tubs, racks and labels; check that the fridge reads what it should.",
    "Sharpen the knife and scald board and cloth.",
    "Weigh out everything dry into cups with the name beside each.",
    "Read the page to the end with whoever helps, and share out the work.",
)
_LAST_WORDS = (", and note the hour.", ", without hurry.", ", two people at the bench.", "; keep what is left on ice.")


def place_name(number: int) -> str:
    """A name of its own for each number from 0 to 7999."""
    scattered = number * 3307 % 8000  # 3307 and 8000 have no common factor: no name comes twice
    return _FIRST[scattered % 20] + _MIDDLE[scattered // 20 % 20] + _LAST[scattered // 400]


def paragraphs(rng: Random, food: str, place: str, fewest: int, most: int) -> str:
    """Between ``fewest`` and ``most`` paragraphs of two to eight sentences."""
    made = []
    for number in range(rng.randint(fewest, most)):
        opener = [rng.choice(_OPENERS)] if number == 0 else []
        chosen = [*opener, *rng.sample(_SENTENCES, rng.randint(2, 7))]
        made.append(" ".join(each.format(food=food, place=place) for each in chosen))
    return "\n\n".join(made)


def closing_section(rng: Random, food: str, place: str) -> str:
    """A heading with a paragraph, a list or a table of what goes wrong."""
    heading = f"## {rng.choice(_HEADINGS)}\n\n"
    form = rng.randrange(3)
    if form == 0:
        return heading + paragraphs(rng, food, place, 1, 2)
    if form == 1:
        lines = [each.format(food=food, place=place) for each in rng.sample(_SENTENCES, rng.randint(2, 7))]
        return heading + "\n".join(f"- **{line.split()[0]}** {' '.join(line.split()[1:])}" for line in lines)
    rows = zip(rng.sample(_SEEN, 5), rng.sample(_WHY, 5), rng.sample(_HELPS, 5), strict=True)
    table = ["| What you see | Why | What helps |", "|---|---|---|", *(f"| {' | '.join(row)} |" for row in rows)]
    return heading + "\n".join(table[: rng.randint(4, 7)])


def extra_steps(rng: Random) -> list[str]:
    """None to two steps of preparation that a page may begin with."""
    return rng.sample(_EXTRA_STEPS, rng.choice((0, 0, 1, 1, 2)))


def reworded(rng: Random, do: str) -> str:
    """The step's words as they are, or with another end."""
    return do if rng.random() < 0.5 else do.rstrip(".") + rng.choice(_LAST_WORDS)
