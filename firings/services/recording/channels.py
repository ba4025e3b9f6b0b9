"""Which column is the kiln's chamber, and whether it is in °C or °F."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from firings.services.recording.numbers import CELSIUS, FAHRENHEIT
from firings.services.recording.series import Floats
from studio.services.units import from_celsius, to_celsius

Unit = Literal["C", "F"]

COLDEST, HOTTEST = -40.0, 1350.0
"""°C: what lies outside is a broken thermocouple, or no thermocouple's reading."""
ROOM = (5.0, 42.0)
"""°C at which firings mostly begin (common practice, no source)."""
PEAKS = (480.0, 950.0)
"""°C to which glass is mostly fired (common practice, no source)."""
ENOUGH_VALUES = 10_000
"""Readings, evenly taken, that show how far a series goes."""
ZERO_BETWEEN = 60.0
"""A zero between two readings above this is a break."""

_OTHER = re.compile(
    r"set.?p(?:oin)?t|\bsp\d?\b|\bset\b|target|soll|consigne|program|ambient|\broom\b|\bair\b|outside"
    r"|cold.?junction|\bcjc?\b|internal|board|case\b|batter|volt|\bamp|current\b|watt|power|output"
    r"|duty|\bout\b|%|humid|\brh\b|segment|\bseg\b|step|ramp|rate|\bindex\b|^(?:no|nr|n|#)\.?$|number"
    r"|record\b|error|alarm|relay|cost|energy|kwh|dew|pressure|deviation|diff|status|state|flag"
    r"|\bhold\b|elapsed|minutes|seconds",
    re.IGNORECASE,
)
_CHAMBER = re.compile(
    r"chamber|kiln|oven|ofen|furnace|muffle|actual|measured|process.?val|\bpv\d?\b|\bist\b|temp|t[°º]"
    r"|\btc.?\d?\b|thermocouple|probe|type.?[knrsj]\b",
    re.IGNORECASE,
)
_NAMED_UNIT = re.compile(
    r"(?:°|º|˚|\ufffd|deg(?:rees?)?\.?|[\[(/_,|])[ _]*(?P<sign>[CF])(?![A-Za-z0-9])"
    r"|^(?P<alone>[CF])$"
    # Behind a word for what is measured, or a number: a kiln, a probe or a zone may be called C.
    r"|(?:\b(?:temp\w*|chamber|actual|measured|display|reading|glass|room|ambient|set.?point|pv)\.?"
    r"|\d)[ -]+(?P<behind>[CF])$"
    r"|(?P<word>celsius|centigrade|fahrenheit)",
    re.IGNORECASE,
)
_OTHER_LETTERS = "abdegh"
"""Beside a column whose name ends with one of these, a C or F behind the same words counts too."""
_NOTED_UNIT = re.compile(
    r"(?:unit|temp\w*|scale|degrees?)\w*\W+(?:in\W+)?(?:deg\w*\.?\W*)?"
    r"(?P<unit>C|F|celsius|fahrenheit)\b",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Channel:
    """A column that may hold temperatures, as its sample shows it.

    Parameters
    ----------
    column : from 0
    name : as the file has it, or empty
    unit : "C", "F" or None where nothing near the column names it
    lowest, highest : of the sample, as written, without breaks
    likeness : how much it looks like the chamber; the greatest is chosen
    """

    column: int
    name: str
    unit: Unit | None
    lowest: float
    highest: float
    likeness: float


def named_unit(name: str, beside: Iterable[str] = ()) -> Unit | None:
    """The unit in the name of a column.

    Parameters
    ----------
    name : of the column
    beside : the names of all columns; beside A and B, a C is no unit

    Returns
    -------
    "C", "F", or None where the name holds none.

    Examples
    --------
    >>> [named_unit(n) for n in ("Temp (°F)", "kiln_c", "chamber C", "T1 C", "TC1", "zone C")]
    ['F', 'C', 'C', 'C', None, None]
    >>> named_unit("C", ["time", "C"]), named_unit("C", ["time", "A", "B", "C"])
    ('C', None)
    """
    found = _NAMED_UNIT.search(name)
    if found is None:
        return None
    letter_at_end = found["word"] is None and found.end() == len(name)
    if letter_at_end and _is_one_of_several(name, beside):
        return None
    text = found["sign"] or found["alone"] or found["behind"] or found["word"]
    return "F" if text[0] in "fF" else "C"


def _is_one_of_several(name: str, beside: Iterable[str]) -> bool:
    """Whether the letter at its end tells a column from its neighbours, as of chambers A to C."""
    stem = name[:-1].casefold()
    return not {each.casefold() for each in beside}.isdisjoint(
        stem + letter for letter in _OTHER_LETTERS
    )


def noted_unit(notes: Iterable[str]) -> Unit | None:
    """The unit in what stands above the table.

    Examples
    --------
    >>> noted_unit(["# studio logger 2", "# unit: °F"])
    'F'
    """
    for note in notes:
        if found := _NOTED_UNIT.search(note):
            return "F" if found["unit"][0] in "fF" else "C"
    return None


def coded_unit(code: int) -> Unit | None:
    """The unit behind a number of `NumberCells.units`; None where there is none.

    Examples
    --------
    >>> coded_unit(CELSIUS), coded_unit(0)
    ('C', None)
    """
    return {CELSIUS: "C", FAHRENHEIT: "F"}.get(code)  # type: ignore[return-value]


def likeness(name: str, values: Floats, peak: float | None, *, has_unit: bool = False) -> float:
    """How much a column looks like the chamber's temperatures.

    Parameters
    ----------
    name : of the column
    values : of the sample, as written, shape (n,); NaN where there is none
    peak : °C that was planned, or None
    has_unit : whether °C or °F is named in its name

    Returns
    -------
    About −10 for what holds no temperatures, up to 6 for what surely does.

    Examples
    --------
    >>> heat = np.linspace(20.0, 800.0, 50)
    >>> likeness("kiln", heat, 804.0) > likeness("setpoint", heat, 804.0)
    True
    """
    known = values[np.isfinite(values)]
    known = known[(known > COLDEST) & (known < float(from_celsius(HOTTEST, "F")))]
    if known.size < 2:
        return -10.0
    low, high = (float(at) for at in np.percentile(known, [1, 100]))
    score = -3.0 * bool(_OTHER.search(name)) + 1.0 * bool(_CHAMBER.search(name))
    score += 0.5 * has_unit
    score += float(np.clip((high - low) / 300.0, 0.0, 2.0))
    score += 1.0 * (high > 300.0)
    if peak is not None:
        off = min(abs(high - peak), abs(float(to_celsius(high, "F")) - peak))
        score += float(np.clip(1.5 - off / 40.0, 0.0, 1.5))
    if known.size > 4 and np.all(np.diff(known) == 1.0):  # a count of the readings
        score -= 4.0
    return score


def chosen_channel(channels: Sequence[Channel]) -> Channel:
    """The channel that looks most like the chamber; of equals the first.

    Parameters
    ----------
    channels : at least one

    Raises
    ------
    ValueError
        Where there is none.

    Examples
    --------
    >>> room = Channel(1, "room", "C", 20.0, 24.0, likeness=-2.0)
    >>> kiln = Channel(2, "kiln", "C", 20.0, 804.0, likeness=4.5)
    >>> chosen_channel([room, kiln]).name
    'kiln'
    """
    return max(channels, key=lambda channel: channel.likeness)


def guessed_unit(values: Floats, peak: float | None) -> Unit:
    """°C or °F, told from where the readings begin and how far they go, or from the plan.

    Parameters
    ----------
    values : as written, without NaN, shape (n,)
    peak : °C that was planned, or None

    Examples
    --------
    >>> guessed_unit(np.array([68.0, 700.0, 1480.0]), None)
    'F'
    >>> guessed_unit(np.array([21.0, 700.0, 1050.0]), None)
    'C'
    """
    some = values[:: max(values.size // ENOUGH_VALUES, 1)]
    seen: dict[Unit, Floats] = {"C": some, "F": np.asarray(to_celsius(some, "F"))}
    return min(seen, key=lambda unit: _oddness(seen[unit], peak))


def _oddness(celsius: Floats, peak: float | None) -> float:
    """How unlike a firing a series is that begins in a room and goes to a peak."""
    if not celsius.size:
        return 0.0
    start, highest = float(celsius[0]), float(np.percentile(celsius, 99.9))
    odd = 2.0 * (highest > HOTTEST)
    if start < ROOM[0]:
        odd += (ROOM[0] - start) / 5.0
    elif ROOM[1] < start < 130.0:  # hotter, and it was still warm: that tells nothing
        odd += min((start - ROOM[1]) / 8.0, 1.5)
    if peak is not None:
        return odd + abs(highest - peak) / 40.0
    low, high = PEAKS
    return odd + min(max(low - highest, highest - high, 0.0) / 100.0, 2.0)
