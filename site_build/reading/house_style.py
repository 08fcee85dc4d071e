"""The house's own colours as a part of the style sheet, and checks of their contrast.

Contrast is that of the Web Content Accessibility Guidelines (WCAG) 2.2: the ratio of two relative luminances.
"""

from __future__ import annotations

from handbook.base.errors import PageError
from handbook.page.house import House

#: Minimum contrast of text (WCAG 2.2, success criterion 1.4.3, level AA).
LEAST = 4.5
#: Colours of the theme beside which the house's colours appear (theme/assets/css/tokens.css).
PAPER, ICE, INK, QUIET, WALL, MAIN = "#fbfcfa", "#e4edef", "#0d1b21", "#43535a", "#cbd8db", "#0f4453"
NIGHT_PAPER, NIGHT_ICE = "#0e1a1f", "#182a31"
_NIGHT = (
    '@media screen and (prefers-color-scheme: dark){{:root:not([data-lamp="day"]){{{0}}}}}\n'
    '@media screen{{:root[data-lamp="night"]{{{0}}}}}\n'
)


def contrast(one: str, other: str) -> float:
    """The contrast of two colours, 1 to 21.

    (L1 + 0.05) / (L2 + 0.05), L1 the lighter relative luminance (WCAG 2.2, definition of contrast ratio).

    >>> contrast("#000000", "#ffffff")
    21.0
    """
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


def colour_faults(house: House, file: str) -> list[PageError]:
    """A fault for each colour of the house with too little contrast for text."""
    if house.colours is None:
        return []
    main, wall = house.colours.main or MAIN, house.colours.wall or WALL
    pairs = [("main", main, PAPER, "the paper"), ("main", main, ICE, "a panel"), ("main", main, wall, "the wall")]
    pairs += [("wall", wall, INK, "the ink"), ("wall", wall, QUIET, "the quiet ink")]
    found = {}
    for key, colour, other, name in pairs:
        ratio = contrast(colour, other)
        if getattr(house.colours, key) and ratio < LEAST and key not in found:
            read = f"{colour}, contrast {ratio:.1f} to {name} {other}"
            allowed = f"a colour with a contrast of at least {LEAST} (WCAG 2.2, 1.4.3)"
            found[key] = PageError(file, house.colours.line, f"colours.{key}", read, allowed)
    return list(found.values())


def house_style(house: House) -> str:
    """The style rules of the house's colours, empty where it has none."""
    if house.colours is None:
        return ""
    rules = ""
    if house.colours.main:
        rules += f"--lake:{house.colours.main};--bar:{house.colours.main};"
    if house.colours.wall:
        rules += f"--wall:{house.colours.wall};"
    day = f":root{{{rules}}}\n" if rules else ""
    if not house.colours.main:
        return day
    lake = lightened(house.colours.main, NIGHT_ICE, 7.0)
    bar = lightened(house.colours.main, NIGHT_PAPER, 3.0)
    return day + _night_wall(house) + _NIGHT.format(f"--lake:{lake};--bar:{bar};")


def lightened(colour: str, behind: str, least: float) -> str:
    """The colour mixed with just enough white for a contrast of at least ``least`` to ``behind``."""
    for share in range(101):
        mixed = "#" + "".join(f"{round(each + (255 - each) * share / 100):02x}" for each in _parts(colour))
        if contrast(mixed, behind) >= least:
            return mixed
    return "#ffffff"


def _night_wall(house: House) -> str:
    return _NIGHT.format("--wall:#060d10;") if house.colours and house.colours.wall else ""


def _luminance(colour: str) -> float:
    red, green, blue = (
        each / 255 / 12.92 if each / 255 <= 0.04045 else ((each / 255 + 0.055) / 1.055) ** 2.4
        for each in _parts(colour)
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _parts(colour: str) -> tuple[int, int, int]:
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)
