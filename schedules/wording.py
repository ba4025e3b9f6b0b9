"""Remarks of the core as a reader reads them; the words themselves stand in a template."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.template.loader import render_to_string

from schedules.services.checks import Remark


@dataclass(frozen=True)
class RemarkLine:
    """A remark in words: severity "block", "warn" or "note"; position from 1, or None."""

    severity: str
    position: int | None
    words: str


def remark_words(remark: Remark, unit: str) -> str:
    words = render_to_string("schedules/_remark_words.html", {"remark": remark, "unit": unit})
    return " ".join(words.split())


def remark_lines(
    remarks: Iterable[Remark], unit: str, positions: Sequence[int] | None = None
) -> list[RemarkLine]:
    """`positions`: where each segment stands on the page, from 1, if not simply in its order."""

    def position(segment: int | None) -> int | None:
        if segment is None:
            return None
        return segment + 1 if positions is None else positions[segment]

    return [
        RemarkLine(
            severity=remark.severity,
            position=position(remark.segment),
            words=remark_words(remark, unit),
        )
        for remark in remarks
    ]
