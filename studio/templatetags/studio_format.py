"""Template tags that write core values in the reader's unit.

`{% temperature firing.recorded_peak_c %}` gives “804 °C” or “1479 °F”. Each gives a dash for None.
A second argument overrules the unit: `{% temperature 804 "F" %}`.
"""

from decimal import Decimal
from typing import Any

from django import template
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from studio import access, formats
from studio.services.stock import Rectangle

register = template.Library()
DASH = "–"


def reader_unit(context: Any, unit: str | None) -> str:
    if unit:
        return unit
    user = getattr(context.get("request"), "user", None) or context.get("user")
    return getattr(user, "unit", "C")


@register.simple_tag(takes_context=True)
def temperature(context: Any, value_c: Any, unit: str | None = None, decimals: int = 0) -> str:
    if value_c in (None, ""):
        return DASH
    return formats.temperature(float(value_c), reader_unit(context, unit), decimals)


@register.simple_tag(takes_context=True)
def temperature_difference(
    context: Any, delta_c: Any, unit: str | None = None, decimals: int = 0
) -> str:
    if delta_c in (None, ""):
        return DASH
    return formats.temperature_difference(float(delta_c), reader_unit(context, unit), decimals)


@register.simple_tag(takes_context=True)
def temperature_span(context: Any, delta_c: Any, unit: str | None = None, decimals: int = 0) -> str:
    if delta_c in (None, ""):
        return DASH
    return formats.temperature_span(float(delta_c), reader_unit(context, unit), decimals)


@register.simple_tag(takes_context=True)
def rate(context: Any, value_c_per_h: Any, unit: str | None = None, decimals: int = 0) -> str:
    value = None if value_c_per_h in (None, "") else float(value_c_per_h)
    return formats.rate(value, reader_unit(context, unit), decimals)


@register.simple_tag(takes_context=True)
def unit_sign(context: Any, unit: str | None = None) -> str:
    return formats.DEGREE[reader_unit(context, unit)]


@register.filter
def duration(seconds: Any) -> str:
    return DASH if seconds in (None, "") else formats.duration(float(seconds))


@register.filter
def duration_difference(seconds: Any) -> str:
    return DASH if seconds in (None, "") else formats.duration_difference(float(seconds))


@register.filter
def hold(minutes: Any) -> str:
    return DASH if minutes in (None, "") else formats.hold(float(minutes))


@register.filter
def percent(share: Any) -> str:
    return DASH if share in (None, "") else formats.percent(float(share))


@register.filter
def plain_number(value: Any, decimals: int = 2) -> str:
    """A number without trailing zeros and with a true minus sign."""
    return DASH if value in (None, "") else formats.number(float(value), decimals)


@register.filter
def in_unit(figure: str, unit: str) -> str:
    """`{{ x|plain_number:1|in_unit:"mm" }}` gives “6.5 mm”, also where words are text, not HTML."""
    return f"{figure}{formats.NO_BREAK}{unit}"


@register.simple_tag(takes_context=True)
def may(context: Any, act: str, thing: Any = None) -> bool:
    """`{% may "kiln.change" kiln as can_change %}`"""
    return access.may(context["request"].user, act, thing)


@register.simple_tag(takes_context=True)
def form_key(context: Any) -> SafeString:
    """The hidden field by which a form sent twice is known (see `studio.receipts.once`)."""
    return format_html('<input type="hidden" name="form_key" value="{}">', context["form_key"])


@register.simple_tag(takes_context=True)
def page_address(context: Any, page: int) -> str:
    """The address of another page of this list, its filters kept."""
    query = context["request"].GET.copy()
    query["page"] = str(page)
    return f"?{query.urlencode()}"


@register.simple_tag(takes_context=True)
def kept_fields(context: Any, *but: str) -> str:
    """What the address of this page asks for, as hidden fields of a form; `but` are left out."""
    query = context["request"].GET
    kept = [(name, value) for name in query if name not in but for value in query.getlist(name)]
    return format_html_join(
        "", '<input type="hidden" name="{}" value="{}">', [pair for pair in kept if pair[1]]
    )


@register.filter
def stock_amount(amount: int | None, measure: str | None) -> str:
    """An amount on the shelf, from its measure's step."""
    return DASH if amount is None or not measure else formats.stock_amount(amount, measure)


@register.filter
def size(rectangle: Rectangle) -> str:
    return formats.size(rectangle)


@register.filter
def money(amount: Decimal | None, currency: str) -> str:
    """`{{ bill.total|money:bill.currency.code }}` gives “3.20 EUR”."""
    return DASH if amount is None else formats.money(amount, currency)
