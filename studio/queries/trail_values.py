"""How a value in a trail is to be shown: what kind of figure it is, told by its field."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db.models import Field

DIFFERENCES = frozenset({"offset_c"})
SPANS = frozenset({"repeatability_c", "largest_peak_step_c", "tolerance_c"})

# What a field of a row says of its unit by the end of its name, the longest ends first.
BY_ENDING = {
    "_c_per_h": ("rate", ""),
    "_minutes": ("minutes", ""),
    "_percent": ("number", "%"),
    "_kwh": ("number", "kWh"),
    "_kw": ("number", "kW"),
    "_mm": ("number", "mm"),
    "_c": ("temperature", ""),
    "_s": ("seconds", ""),
    "_h": ("number", "h"),
}
UNITS_IN_LABELS = frozenset({"mm", "kW", "kWh", "%", "hours", "minutes", "°C per hour", "degrees"})


@dataclass(frozen=True)
class Shown:
    """A value with the kind that says how a template writes it."""

    kind: str
    value: Any = None
    unit: str = ""


NOTHING = Shown("nothing")


def shown(field: Field, value: Any) -> Shown:
    if value is None or value == "" or value == []:
        return NOTHING
    if field.flatchoices:
        return Shown("words", dict(field.flatchoices).get(value, value))
    if isinstance(value, bool):
        return Shown("yes_no", value)
    if isinstance(value, datetime):
        return Shown("when", value)
    if isinstance(value, date):
        return Shown("day", value)
    if isinstance(value, int | float | Decimal):
        return _figure(field.name, value)
    return Shown("words", value)


def _figure(name: str, value: Any) -> Shown:
    if name in DIFFERENCES:
        return Shown("difference", value)
    if name in SPANS:
        return Shown("span", value)
    for ending, (kind, unit) in BY_ENDING.items():
        if name.endswith(ending):
            return Shown(kind, value, unit)
    return Shown("number", value)


def label_of(field: Field) -> str:
    """The field's name in words, without the unit that a form asks for."""
    words = str(field.verbose_name)
    name, comma, unit = words.rpartition(", ")
    return name if comma and unit in UNITS_IN_LABELS else words
