"""Remarks of the core, and what would mend them, as a reader reads them; the words themselves
stand in templates."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from django.template.loader import render_to_string

from schedules.services.checks import Remark
from schedules.services.difference import SegmentChange
from studio.formats import plain

LONGEST_REASON = 400


@dataclass(frozen=True)
class RemarkLine:
    """A remark in words: severity "block", "warn" or "note"; position from 1, or None.

    `key` names it among the remarks of one schedule, as "soak_short-4"; with 0 for the whole.
    `about` is the piece that it speaks of, empty where that is whatever the schedule is for.
    """

    severity: str
    position: int | None
    words: str
    key: str
    about: str = ""


def remark_words(remark: Remark, unit: str) -> str:
    words = render_to_string("schedules/_remark_words.html", {"remark": remark, "unit": unit})
    return _one_line(words)


def change_words(remark: Remark, lines: Sequence[SegmentChange], unit: str) -> str:
    """The change of segments that mends a remark, in the unit in which they are written; without
    the segment's number, beside which it stands."""
    changed = [line for line in lines if line.kind != "same"]
    context = {
        "remark": remark,
        "unit": unit,
        "changed": [line for line in changed if line.kind == "changed"],
        "added": [line for line in changed if line.kind == "added"],
        "removed": [line for line in changed if line.kind == "removed"],
        "before": sum(line.older is not None for line in lines),
        "after": sum(line.newer is not None for line in lines),
    }
    return _one_line(render_to_string("schedules/_change_words.html", context))


def change_reason(remark: Remark, change: str, unit: str) -> str:
    """Why a change was made, as its revision may keep it: the change, and what it mends."""
    where = "" if remark.segment is None else f"segment {remark.segment + 1}, "
    words = remark_words(remark, unit)
    reason = f"{where}{change}: {words[:1].lower()}{words[1:]}"
    return plain(f"{reason[:1].upper()}{reason[1:]}")[:LONGEST_REASON]


def remark_key(remark: Remark) -> str:
    return f"{remark.code}-{0 if remark.segment is None else remark.segment + 1}"


def remark_line(remark: Remark, unit: str, positions: Sequence[int] | None = None) -> RemarkLine:
    """`positions`: where each segment stands on the page, from 1, if not simply in its order."""
    position = None
    if remark.segment is not None:
        position = remark.segment + 1 if positions is None else positions[remark.segment]
    return RemarkLine(
        severity=remark.severity,
        position=position,
        words=remark_words(remark, unit),
        key=remark_key(remark),
    )


def _one_line(text: str) -> str:
    """A template's text without its line breaks; no-break spaces stay."""
    return re.sub(r"[ \n]+", " ", text).strip(" ")
