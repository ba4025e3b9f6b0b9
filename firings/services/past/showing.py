"""What a row of past firings says, as its preview shows it."""

from firings.services.past.known import NewFiring, NewRevision, Words
from studio.services.lists.fates import Change


def shown(
    plan: NewFiring, peak: str, maker: str, is_said: bool, words: Words
) -> tuple[Change, ...]:
    """What is put on record, in few words; what a list leaves open is shown as it is taken.

    Parameters
    ----------
    peak : as it stands in the row
    maker : of the first piece, by name
    is_said : whether the row names anybody
    """
    lines = _lines(plan, peak, maker if is_said else f"{maker}, as nobody is named", words)
    return tuple(Change(column, "", after) for column, after in lines if after)


def _lines(plan: NewFiring, peak: str, makers: str, words: Words) -> list[tuple[str, str]]:
    served = plan.pieces[0]
    revision = plan.revision
    new = revision if isinstance(revision, NewRevision) else None
    return [
        ("started", f"{plan.starts:%-d %b %Y, %H:%M}" if plan.knows_time else _day(plan)),
        ("schedule", f"{new.schedule}, rev. {new.number}, new" if new else ""),
        ("process", words.processes[new.process] if new and new.number == 1 else ""),
        ("thickness", f"{new.thickness:g} mm" if new and new.number == 1 else ""),
        ("makers", makers),
        ("peak", _both(peak, plan.peak)),
        ("hold", "" if plan.hold is None else f"{plan.hold / 60:g} min"),
        ("verdict", "" if served.verdict is None else words.verdicts[served.verdict]),
        ("faults", "; ".join(words.faults[each] for each in served.faults)),
        ("in one firing with", "" if plan.joins is None else f"line {plan.joins}"),
    ]


def _day(plan: NewFiring) -> str:
    return f"{plan.starts:%-d %b %Y}, time not known"


def _both(written: str, value_c: float | None) -> str:
    """As written, and in °C where it was in another unit."""
    if value_c is None or written.endswith("C"):
        return written
    return f"{written} = {value_c:.0f} °C"
