"""The words of a comment as HTML: plain text, in which only this site's addresses are links."""

import re
from typing import Any
from urllib.parse import urlsplit

from django import template
from django.template.defaultfilters import linebreaksbr
from django.utils.html import escape, format_html
from django.utils.safestring import SafeString, mark_safe

register = template.Library()
_ADDRESS = re.compile(r"https?://[^\s<>\"']*[^\s<>\"'.,;:!?)\]]")
_WITHIN = re.compile(r"/(?![/\\])")
"""A browser would take two strokes for another site's address."""


@register.simple_tag(takes_context=True)
def said(context: Any, words: str) -> SafeString:
    host = context["request"].get_host()
    parts: list[str] = []
    at = 0
    for found in _ADDRESS.finditer(words):
        link = _link(found[0], host)
        if link:
            parts += [escape(words[at : found.start()]), link]
            at = found.end()
    parts.append(escape(words[at:]))
    return linebreaksbr(mark_safe("".join(parts)))  # noqa: S308 — each part is escaped


def _link(address: str, host: str) -> SafeString | None:
    """A link within the site, None for any other address."""
    try:
        split = urlsplit(address)
    except ValueError:
        return None
    if split.netloc != host or not _WITHIN.match(split.path):
        return None
    query = f"?{split.query}" if split.query else ""
    fragment = f"#{split.fragment}" if split.fragment else ""
    return format_html('<a href="{}">{}</a>', f"{split.path}{query}{fragment}", split.path)
