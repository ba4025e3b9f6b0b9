"""Pieces of the demo studio in the midst of their steps: two late, one that waits for a kiln."""

from datetime import date, datetime, timedelta

from firings.actions.steps import step_change, steps_begin
from firings.models import FiringState, Piece, PieceStep
from schedules.models import Schedule
from studio.models import Person

# who, process of a piece fired last, its steps, the step that has a day, days left, what is wanted
IN_WORK = (
    ("mads", "full_fuse", "fuse_cut_slump_polish", "cut", -3, "to the template"),
    ("inka", "full_fuse", "fuse_slump", "slump", -2, "even rim"),
    ("inka", "cast", "paste_coldwork", "coldwork", 6, "flat foot, satin"),
)
WAITS = ("Weir coaster", "fuse_slump", 20)


def steps_make(people: dict[str, Person], now: datetime) -> None:
    slumps = Schedule.objects.filter(process="slump").order_by("thickest_mm", "pk")
    for who, process, sequence, kind, left, wanted in IN_WORK:
        piece = _fired_last(people[who], process)
        if piece is None:
            continue
        steps_begin(piece=piece, sequence=sequence)
        _wanted(piece, kind, (now + timedelta(days=left)).date(), wanted)
        families = piece.firings.values("glass__family")
        slump = slumps.filter(family__in=families).first()
        for step in piece.steps.filter(kind="slump"):
            step_change(step=step, changes={"schedule": slump})
    title, sequence, left = WAITS
    for piece in Piece.objects.filter(title=title, steps=None):
        steps_begin(piece=piece, sequence=sequence, wanted_by=(now + timedelta(days=left)).date())


def _fired_last(maker: Person, process: str) -> Piece | None:
    """Their latest whole piece out of such a firing, not fired again and without steps."""
    fired = Piece.objects.filter(
        maker=maker,
        steps=None,
        firings__length_mm__gte=100,
        firings__firing__state=FiringState.OPENED,
        firings__firing__is_private=False,
        firings__firing__revision__schedule__process=process,
    )
    return fired.order_by("-pk").first()


def _wanted(piece: Piece, kind: str, day: date, wanted: str) -> None:
    for step in PieceStep.objects.filter(piece=piece, kind=kind):
        step.wanted_by, step.wanted = day, wanted
        step.save()
