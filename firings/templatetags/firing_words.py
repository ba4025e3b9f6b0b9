"""Words and figures of next-time notes and comparisons, for templates."""

from collections.abc import Iterable
from typing import Any

from django import template

from firings import wording
from firings.models import Message
from firings.wording import WORDS
from studio import formats
from studio.templatetags.studio_format import DASH, reader_unit

register = template.Library()


@register.filter
def in_words(code: str, subject: str) -> str:
    """`{{ "dirt"|in_words:"cause" }}` gives “dirt on the glass”."""
    return WORDS[subject].get(code, str(code))


@register.filter
def list_in_words(codes: Iterable[str], subject: str) -> str:
    """Several codes in one phrase, parted by commas."""
    return ", ".join(in_words(code, subject) for code in codes)


@register.simple_tag(takes_context=True)
def span_between(context: Any, low: float, high: float, unit: str | None = None) -> str:
    """A range of differences: “5 °C” or “5 to 10 °C”."""
    read = reader_unit(context, unit)
    first, last = formats.temperature_span(low, read), formats.temperature_span(high, read)
    return last if first == last else f"{first.split()[0]} to {last}"


@register.filter
def minutes_between(low: float, high: float) -> str:
    """A range of holds in seconds: “5 min” or “5 to 10 min”."""
    first, last = formats.duration(low), formats.duration(high)
    return last if first == last else f"{first.removesuffix(f'{formats.NO_BREAK}min')} to {last}"


@register.filter
def size(value: float) -> float:
    """A figure without its sign, where the words say which way."""
    return abs(float(value))


@register.filter
def signed_percent(share: float | None) -> str:
    """A change as a share, with its sign: “+4 %”."""
    return DASH if share is None else formats.percent_difference(share)


@register.filter
def elapsed(seconds: float | None) -> str:
    """Time since the first reading, to the second: “1:30:00”."""
    if seconds is None:
        return DASH
    minutes, rest = divmod(round(float(seconds)), 60)
    return f"{minutes // 60}:{minutes % 60:02d}:{rest:02d}"


@register.filter
def in_time(seconds: float | None) -> str:
    """How far off the plan’s time: “on time”, “5 min late”, “2 min early”."""
    if seconds is None:
        return DASH
    text = formats.duration(abs(seconds))
    if text == formats.duration(0.0):
        return "on time"
    return f"{text} {'late' if seconds > 0 else 'early'}"


@register.filter
def column_number(column: float) -> int:
    """A column as one counts it, from 1."""
    return int(column) + 1


@register.simple_tag(takes_context=True)
def rate_known(context: Any, value_c_per_h: float | None) -> str:
    """A rate that was measured: a dash where it was not, never “full power”."""
    if value_c_per_h is None:
        return DASH
    return formats.rate(value_c_per_h, reader_unit(context, None))


@register.filter
def message_words(message: Message, unit: str) -> str:
    """What somebody was told, in the reader's unit."""
    return wording.message_words(message, unit)
