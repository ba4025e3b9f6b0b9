"""What went wrong in a year: faults by kiln, process, glass and person."""

from collections import Counter, defaultdict
from collections.abc import Callable, Hashable
from dataclasses import dataclass
from typing import NamedTuple

from django.db.models import QuerySet

from firings.models import FaultKind, Firing, FiringState
from firings.queries.visible import visible_load
from schedules.models import Process
from studio import access
from studio.models import Person, Role
from studio.teaching import taught_by

SUBJECTS = ("kiln", "process", "glass", "person")
KINDS_SHOWN = 3


@dataclass(frozen=True)
class FaultRow:
    """Pieces of one kiln, glass, process or person, and how many of them showed a fault."""

    name: str
    pieces: int
    faulty: int
    kinds: list[tuple[str, int]]

    @property
    def share(self) -> float:
        return self.faulty / self.pieces if self.pieces else 0.0


class _Named(NamedTuple):
    """One of a subject: two of one name are told apart by their keys."""

    key: Hashable
    name: str


def year_faults(fired: QuerySet[Firing], reader: Person) -> dict[str, list[FaultRow]]:
    """By each of `SUBJECTS`, of the opened firings among these, as far as this reader sees pieces.

    Faults by person are a keeper's, an instructor's of their students, and one's own.
    """
    pieces: dict[int, dict[str, _Named]] = {}
    kinds: dict[int, set[str]] = defaultdict(set)
    rows = (
        visible_load(reader)
        .filter(firing__in=fired, firing__state=FiringState.OPENED)
        .order_by()
        .values_list(
            "pk",
            "firing__kiln_id",
            "firing__kiln__name",
            "glass__colour",
            "firing__revision__schedule__process",
            "piece__maker_id",
            "piece__maker__name",
            "faults__kind",
        )
    )
    for pk, kiln, kiln_name, glass, process, maker, maker_name, kind in rows:
        pieces[pk] = {
            "kiln": _Named(kiln, kiln_name),
            "process": _Named(process, str(Process(process).label)),
            "glass": _Named(glass, glass or "not written down"),
            "person": _Named(maker, maker_name),
        }
        if kind:
            kinds[pk].add(kind)
    may_name = _people_named(reader)
    return {
        subject: _rows(
            {pk: of[subject] for pk, of in pieces.items()},
            kinds,
            may_name if subject == "person" else _anything,
        )
        for subject in SUBJECTS
    }


def _anything(key: Hashable) -> bool:
    return True


def _people_named(reader: Person) -> Callable[[Hashable], bool]:
    """Whose faults this reader may see."""
    if access.TABLE["review.see"][reader.role] >= access.ANY:
        return _anything
    taught = taught_by(reader) if reader.role == Role.INSTRUCTOR else Person.objects.none()
    return frozenset({reader.pk, *taught.values_list("pk", flat=True)}).__contains__


def _rows(
    pieces: dict[int, _Named], kinds: dict[int, set[str]], may_name: Callable[[Hashable], bool]
) -> list[FaultRow]:
    """Those with any fault, most first, else all; what the reader may not see is left out."""
    counts: Counter[_Named] = Counter()
    faulty: Counter[_Named] = Counter()
    seen: dict[_Named, Counter[str]] = defaultdict(Counter)
    for pk, named in pieces.items():
        if may_name(named.key):
            counts[named] += 1
            faulty[named] += bool(kinds.get(pk))
            seen[named].update(kinds.get(pk, ()))
    rows = [
        FaultRow(
            named.name,
            count,
            faulty[named],
            [(FaultKind(kind).label, n) for kind, n in seen[named].most_common(KINDS_SHOWN)],
        )
        for named, count in counts.items()
    ]
    shown = [row for row in rows if row.faulty] or rows
    return sorted(shown, key=lambda row: (-row.faulty, row.name))
