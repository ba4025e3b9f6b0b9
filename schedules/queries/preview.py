"""What can be drawn of a schedule while it is being written, and what speaks against it."""

from dataclasses import dataclass

from schedules.forms.editor import Editor
from schedules.forms.editor_rows import EditorRow
from schedules.queries.planned import Planned, planned_in
from schedules.queries.remarks import (
    HeardRemark,
    Mending,
    RemarkList,
    mends_in,
    remark_list,
    silenced_on,
)
from schedules.services.writing import to_core
from schedules.wording import remark_key
from studio.models import Kiln


@dataclass(frozen=True)
class Preview:
    """`left_out`: rows that can't be read yet, with what is amiss in each."""

    planned: Planned | None
    remarks: RemarkList | None
    left_out: list[tuple[int, str]]
    has_kiln: bool

    def beside(self, rows: list[EditorRow]) -> list[tuple[EditorRow, list[HeardRemark]]]:
        """Rows of the page, each with the remarks that stand beside it."""
        remarks = self.remarks or RemarkList([], [])
        return [(row, remarks.beside(position)) for position, row in enumerate(rows, start=1)]


def preview_of(editor: Editor) -> Preview:
    """In the kiln that it is written for, or else the first in service."""
    kiln = editor.kiln or Kiln.objects.filter(in_service=True).first()
    planned = remarks = None
    if kiln is not None and editor.written:
        planned = _planned(editor, kiln)
        remarks = remark_list(
            planned.found,
            editor.unit,
            silenced=silenced_on(editor.schedule),
            positions=editor.written_at,
            mends=mends_in(planned.case, planned.found, editor.written, editor.unit),
        )
    return Preview(planned, remarks, editor.left_out, kiln is not None)


def mending_of(editor: Editor, key: str, kiln: Kiln | None = None) -> Mending | None:
    """What would satisfy the remark of that key: in `kiln`, or where the preview is drawn."""
    kiln = kiln or editor.kiln or Kiln.objects.filter(in_service=True).first()
    if kiln is None or not editor.written:
        return None
    planned = _planned(editor, kiln)
    remark = next((each for each in planned.found if remark_key(each) == key), None)
    if remark is None:
        return None
    return mends_in(planned.case, planned.found, editor.written, editor.unit)(remark)


def _planned(editor: Editor, kiln: Kiln) -> Planned:
    return planned_in(
        kiln=kiln,
        segments=to_core(editor.written, editor.unit),
        unit=editor.unit,
        process=editor.process,
        load=editor.load,
        family=editor.family,
    )
