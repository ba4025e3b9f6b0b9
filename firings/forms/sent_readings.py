"""Turns what a logger sends into readings in °C, and tells of each that can't be one why not."""

import json
import re
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Literal, NamedTuple

import numpy as np

from studio.services.units import from_celsius, to_celsius

MOST_READINGS = 1000
LARGEST_BODY = 256 * 1024
"""Bytes, enough for the most readings with room to spare."""
COLDEST_C, HOTTEST_C = -20.0, 1400.0
LARGEST_NUMBER = 1e6
"""In either unit: beyond it nothing is converted."""
DECIMALS = 3
"""Of °C and of seconds that are kept: a reading sent again is the same to the last of them."""
MOMENT = re.compile(
    r"\d{4}-\d\d-\d\d[Tt]\d\d:\d\d:\d\d(\.\d{1,9})?([Zz]|[+-]\d\d:\d\d)", flags=re.ASCII
)
"""A date-time of RFC 3339."""
UNITS = ("C", "F")

Reason = Literal[
    "not_a_reading",
    "time_not_understood",
    "time_in_the_future",
    "time_too_long_ago",
    "temperature_not_understood",
    "temperature_out_of_range",
    "conflict",
]


@dataclass(frozen=True, slots=True)
class SentReading:
    """A reading as it is kept; `index` is its place in the batch, from 0."""

    index: int
    at: datetime
    temperature_c: float


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a reading is not kept; `known_c` is what stands for its time where that differs."""

    index: int
    reason: Reason
    known_c: float | None = None


@dataclass(frozen=True, slots=True)
class Batch:
    unit: Literal["C", "F"]
    readings: list[SentReading]
    refused: list[Refusal]

    def in_unit(self, celsius: float) -> float:
        return round(from_celsius(celsius, self.unit), DECIMALS)


class BatchError(ValueError):
    """A body that is no batch at all; nothing of it is kept."""

    def __init__(self, code: str, words: str) -> None:
        self.code, self.words = code, words
        super().__init__(words)


def read_batch(body: bytes) -> Batch:
    """The readings of a body. Raises `BatchError` where none of it can be read."""
    try:
        told = json.loads(body.decode(), parse_constant=_no_number)
    except (ValueError, RecursionError) as error:
        raise BatchError("not_json", "The body is not JSON in UTF-8.") from error
    if not isinstance(told, dict):
        raise BatchError("not_an_object", "The body is to be an object.")
    unit, sent = told.get("unit"), told.get("readings")
    if unit not in UNITS:
        raise BatchError("unit_missing", "Say in which unit the temperatures are: “C” or “F”.")
    if not isinstance(sent, list) or not sent:
        raise BatchError("readings_missing", "“readings” is to be a list with a reading or more.")
    if len(sent) > MOST_READINGS:
        raise BatchError("too_many_readings", f"At most {MOST_READINGS} readings at once.")
    read = [_reading(index, each) for index, each in enumerate(sent)]
    refused = [each for each in read if isinstance(each, Refusal)]
    shown = [each for each in read if isinstance(each, _Shown)]
    celsius = to_celsius(np.array([each.temperature for each in shown]), unit)
    readings = []
    for each, kept in zip(shown, np.round(celsius, DECIMALS).tolist(), strict=True):
        if COLDEST_C <= kept <= HOTTEST_C:
            readings.append(SentReading(each.place, each.at, kept))
        else:
            refused.append(Refusal(each.place, "temperature_out_of_range"))
    return Batch(unit, readings, refused)


class _Shown(NamedTuple):
    place: int
    at: datetime
    temperature: float


def _reading(index: int, told: Any) -> _Shown | Refusal:
    if not isinstance(told, dict):
        return Refusal(index, "not_a_reading")
    at = _moment(told.get("at"))
    if at is None:
        return Refusal(index, "time_not_understood")
    temperature = told.get("temperature")
    if isinstance(temperature, bool) or not isinstance(temperature, int | float):
        return Refusal(index, "temperature_not_understood")
    if abs(temperature) > LARGEST_NUMBER:
        return Refusal(index, "temperature_out_of_range")
    return _Shown(index, at, float(temperature))


def _moment(told: Any) -> datetime | None:
    """To the millisecond, as it is kept; None for anything but a moment with its offset."""
    if not isinstance(told, str) or not MOMENT.fullmatch(told):
        return None
    try:
        moment = datetime.fromisoformat(told.upper()).astimezone(UTC)
    except (ValueError, OverflowError):
        return None
    return moment.replace(microsecond=moment.microsecond // 1000 * 1000)


def _no_number(name: str) -> float:
    raise ValueError(f"{name} is no number")
