"""What can be drawn of a schedule while it is being written."""

from dataclasses import dataclass

from schedules.forms.editor import Editor
from schedules.queries.planned import Planned, planned_in
from schedules.services.writing import to_core
from studio.models import Kiln


@dataclass(frozen=True)
class Preview:
    """`left_out`: rows that can't be read yet, with what is amiss in each."""

    planned: Planned | None
    left_out: list[tuple[int, str]]
    has_kiln: bool


def preview_of(editor: Editor) -> Preview:
    """In the kiln that it is written for, or else the first in service."""
    kiln = editor.kiln or Kiln.objects.filter(in_service=True).first()
    planned = None
    if kiln is not None and editor.written:
        planned = planned_in(
            kiln=kiln,
            segments=to_core(editor.written, editor.unit),
            unit=editor.unit,
            process=editor.process,
            load=editor.load,
            family=editor.family,
            positions=editor.written_at,
        )
    return Preview(planned=planned, left_out=editor.left_out, has_kiln=kiln is not None)
