"""One published finding or rule of the trade compared with the engine's figure."""

from __future__ import annotations

from functools import lru_cache
from math import inf, sqrt

from msgspec import Struct

from handbook.base.csv_rows import cited, number, read_table, word
from handbook.base.ranges import Range
from handbook.heat.heat_results import TimeReached
from handbook.salt.uptake_records import TimeRange

PARTS, KINDS = ("uptake", "heat", "drying", "acid"), ("finding", "rule")
READS = ("about", "between", "at least", "nothing")
_TABLE = "published_findings.csv"


class Printed(Struct, frozen=True, kw_only=True):
    """One row of the table of findings.

    what : the finding; short : its name on a chart; text : its figure as printed
    figure : in ``unit``: the typical value printed, or the geometric mean of two ends, and the ends as printed (infinite
        high end for "at least"); None where the model gives no figure of its kind
    """

    key: str
    part: str
    kind: str
    short: str
    what: str
    text: str
    figure: Range | None
    unit: str
    source: str
    trust: str


class Comparison(Struct, frozen=True, kw_only=True):
    """The engine's figure and one finding.

    model : the engine's figure in ``unit`` with its range, or None; said : its answer in words, where a figure is not
        enough
    basis : assumptions for conditions that the finding does not state
    misfit : difference of the two; case : distinguishes several answers to one finding
    """

    finding: Printed
    model: Range | None
    unit: str
    said: str = ""
    basis: str
    misfit: str
    case: str = ""

    @property
    def label(self) -> str:
        """Name on the chart, with the case where one finding has several."""
        return f"{self.finding.short}, {self.case}" if self.case else self.finding.short

    @property
    def ratio(self) -> Range | None:
        """Model / printed typical figure; None where the two are of different kinds."""
        if self.model is None or self.finding.figure is None:
            return None
        return self.model.times(1 / self.finding.figure.typical)

    @property
    def printed_ratio(self) -> Range | None:
        """Printed ends / printed typical figure."""
        figure = self.finding.figure
        return None if figure is None or self.model is None else figure.times(1 / figure.typical)


def compared(key: str, model: Range, basis: str, so: str = "") -> Comparison:
    """Compare the engine's figure with a finding, in the finding's own unit.

    ratio = model / printed

    Parameters
    ----------
    key : str
        Of a row with a figure.
    model : Range, in the unit of the finding
    basis : str
        Assumptions for what the finding leaves open.
    so : str
        Conclusion, appended to the misfit.

    Returns
    -------
    Comparison

    Raises
    ------
    ValueError  the row has no figure

    Notes
    -----
    Source: the finding's own. Valid for the assumptions in ``basis``.

    Examples
    --------
    Twice the printed 1.9e-10 m2/s:

    >>> round(compared("pork_d", Range.exact(3.8), "a worked case").ratio.typical, 3)
    2.0
    """
    finding = printed(key)
    apart = f"{misfit(printed_figure(key), model)} {so}".rstrip()
    return Comparison(finding=finding, model=model, unit=finding.unit, basis=basis, misfit=apart)


def answered(key: str, said: str, basis: str, misfit: str, model: Range | None = None, unit: str = "") -> Comparison:
    """Answer a finding that has no figure to divide by, in words.

    Parameters
    ----------
    key : str
    said : str
        The engine's answer.
    basis : str
        Assumptions for what the finding leaves open.
    misfit : str
        Built from the engine's figures.
    model : Range
    unit : str

    Returns
    -------
    Comparison

    Notes
    -----
    Source: the finding's own. Valid for the assumptions in ``basis``.

    Examples
    --------
    >>> answer = answered("rule_rinse", "2 % of the salt goes", "30 s in running water", "Agrees.")
    >>> answer.said, answer.ratio
    ('2 % of the salt goes', None)
    """
    return Comparison(finding=printed(key), model=model, unit=unit, said=said, basis=basis, misfit=misfit)


def misfit(printed: Range, model: Range) -> str:
    """A sentence on the difference between the model's figure and range and the printed ones.

    factor = model / printed, or its inverse where that is above 1

    Parameters
    ----------
    printed, model : Range, in one unit
        Typical values above 0.

    Returns
    -------
    str

    Notes
    -----
    Source: none; a ratio. Valid for figures above 0.

    Examples
    --------
    >>> misfit(Range(4.0, 5.0, 6.0), Range(5.0, 7.5, 9.0))
    'High by a factor of 1.5; the ranges overlap.'
    """
    if printed.low <= model.typical <= printed.high:
        return "Inside what is printed."
    ratio = model.typical / printed.typical
    side, factor = ("High", ratio) if ratio > 1 else ("Low", 1 / ratio)
    if abs(factor - 1) < 0.005:
        return "The same as is printed."
    apart = f"by {100 * (factor - 1):.0f} %" if factor < 1.1 else f"by a factor of {two_figures(factor)}"
    overlap = model.low <= printed.high and printed.low <= model.high
    return f"{side} {apart}; the ranges {'overlap' if overlap else 'do not overlap'}."


def two_figures(value: float) -> str:
    """Format a number with two significant figures, without decimals from 10 on.

    Parameters
    ----------
    value : float, any unit

    Returns
    -------
    str

    Notes
    -----
    Source: none; a format. Valid for any number.

    Examples
    --------
    >>> two_figures(0.2345), two_figures(12.7), two_figures(8.04)
    ('0.23', '13', '8.0')
    """
    text = f"{value:#.2g}"
    return f"{value:.0f}" if "e" in text or abs(value) >= 9.95 else text


def span(values: Range) -> str:
    """Format a range with two significant figures; as one figure where the ends print the same.

    Parameters
    ----------
    values : Range, any unit

    Returns
    -------
    str

    Notes
    -----
    Source: none; a format. Valid for any range.

    Examples
    --------
    >>> span(Range(1.9, 2.3, 2.8)), span(Range(2.31, 2.33, 2.34))
    ('2.3 (1.9 to 2.8)', '2.3')
    """
    low, typical, high = (two_figures(end) for end in values.ends)
    return typical if low == high else f"{typical} ({low} to {high})"


@lru_cache
def all_printed() -> dict[str, Printed]:
    """Every row by key, in the table's order. Raises UnitError or RangeError for an invalid row."""
    return {row["key"]: _printed({**row, "name": row["key"]}) for row in read_table(_TABLE)}


def printed(key: str) -> Printed:
    """One row of the table."""
    return all_printed()[key]


def printed_figure(key: str) -> Range:
    """The printed figure of one row. Raises ValueError for a row without one."""
    figure = printed(key).figure
    if figure is None:
        raise ValueError(f"{key}: read no figure; allowed: a row with a printed figure")
    return figure


def time_span(time: TimeRange | TimeReached) -> Range:
    """A time that every sample reaches, as a range.

    Parameters
    ----------
    time : TimeRange or TimeReached [s]

    Returns
    -------
    Range [s]

    Raises
    ------
    ValueError  a sample never reaches it

    Notes
    -----
    Source: none; a check. Valid for times that every sample reaches.

    Examples
    --------
    >>> time_span(TimeRange(60.0, 90.0, 120.0))
    Range(low=60.0, typical=90.0, high=120.0)
    """
    if time.low is None or time.typical is None or time.high is None:
        raise ValueError("time: read never; allowed: a time that every sample reaches")
    return Range(time.low, time.typical, time.high)


def known(values: Range | None) -> Range:
    """A figure of a stage with a bath. Raises ValueError where the stage has none."""
    if values is None:
        raise ValueError("figure: read none; allowed: the figure of a stage with a bath")
    return values


def _printed(row: dict[str, str]) -> Printed:
    source, trust = cited(row)
    return Printed(
        key=row["key"],
        part=word(row, "part", PARTS),
        kind=word(row, "kind", KINDS),
        short=row["short"],
        what=row["what"],
        text=row["text"],
        figure=_figure(row),
        unit=row["unit"],
        source=source,
        trust=trust,
    )


def _figure(row: dict[str, str]) -> Range | None:
    reads = word(row, "reads", READS)
    if reads == "nothing":
        return None
    if reads == "between":
        low, high = (number(row, end, 1e-6, 1e6) for end in ("low", "high"))
        return Range(low, sqrt(low * high), high)
    value = number(row, "printed", 1e-6, 1e6)
    low = number(row, "low", 1e-6, 1e6, value)
    return Range(low, value, inf if reads == "at least" else number(row, "high", 1e-6, 1e6, value))
