"""Words and figures of next-time notes and comparisons, for templates."""

from collections.abc import Iterable
from typing import Any

from django import template

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
    return last if first == last else f"{first.removesuffix(' min')} to {last}"


@register.filter
def size(value: float) -> float:
    """A figure without its sign, where the words say which way."""
    return abs(float(value))


@register.filter
def signed_percent(share: float | None) -> str:
    """A change as a share, with its sign: “+4 %”."""
    if share is None:
        return DASH
    text = formats.percent(share)
    return f"+{text}" if share > 0 and text != "0 %" else text
