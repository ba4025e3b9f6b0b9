"""A student's progress and a class's, as lines of CSV."""

from collections.abc import Iterable, Iterator

from django.utils.timezone import localtime

from firings.models import LoadedPiece
from firings.queries.class_progress import ClassProgress, StudentRow
from studio import access
from studio.models import Person
from studio.services.csv_cells import csv_lines

PIECES = (
    "opened", "piece", "maker", "firing", "kiln", "schedule", "process", "verdict (-2 to 2)",
    "instructor's verdict (-2 to 2)", "faults", "marks", "comment",
)  # fmt: skip
STUDENTS = (
    "student", "firings", "pieces", "judged", "reviewed", "with a fault", "judged by both",
    "judged the same", "last opened",
)  # fmt: skip


def progress_lines(pieces: Iterable[LoadedPiece], reader: Person) -> Iterator[str]:
    """A line a piece, with its review where this reader may see it."""
    return csv_lines(PIECES, (_piece(loaded, reader) for loaded in pieces))


def class_lines(progress: ClassProgress) -> Iterator[str]:
    weeks = [f"pieces in the week of {monday:%Y-%m-%d}" for monday in progress.weeks]
    return csv_lines([*STUDENTS, *weeks], map(_student, progress.students))


def _student(row: StudentRow) -> tuple[object, ...]:
    last = f"{localtime(row.last_opened_at):%Y-%m-%d}" if row.last_opened_at else ""
    both = row.agreement
    return (
        row.person.name, row.fired, row.pieces, row.judged, row.reviewed, row.faulty,
        both.pieces if both else 0, both.same if both else 0, last,
        *[week.pieces for week in row.weeks],
    )  # fmt: skip


def _piece(loaded: LoadedPiece, reader: Person) -> tuple[object, ...]:
    firing = loaded.firing
    may_see = access.may(reader, "review.see", loaded)
    review = getattr(loaded, "review", None) if may_see else None
    marks = [f"{each.criterion.name} {each.mark}" for each in review.marks.all()] if review else []
    return (
        f"{localtime(firing.opened_at):%Y-%m-%d}" if firing.opened_at else "",
        loaded.piece.title,
        loaded.piece.maker.name,
        firing.pk,
        firing.kiln.name,
        firing.revision.schedule.name,
        firing.revision.schedule.get_process_display(),
        loaded.verdict,
        review.verdict if review else None,
        "; ".join(fault.get_kind_display() for fault in loaded.faults.all()),
        "; ".join(marks),
        review.comment if review else "",
    )
