"""What a browser sends from the page in which a schedule is written."""

from studio.models import Kiln

Row = tuple[str, str, str]

FUSE: list[Row] = [("150", "540", ""), ("330", "804", "10"), ("", "482", "1:00")]


def rows_sent(rows: list[Row]) -> dict[str, str]:
    sent = {"segments-TOTAL_FORMS": str(len(rows)), "segments-INITIAL_FORMS": "0"}
    for position, (rate, target, hold) in enumerate(rows):
        sent[f"segments-{position}-rate"] = rate
        sent[f"segments-{position}-target"] = target
        sent[f"segments-{position}-hold"] = hold
    return sent


def schedule_sent(
    family_pk: int, rows: list[Row] = FUSE, kiln: Kiln | None = None, **overrides: str
) -> dict[str, str]:
    return {
        "name": "Tide fuse",
        "process": "full_fuse",
        "family": str(family_pk),
        "thinnest_mm": "6",
        "thickest_mm": "6",
        "note": "Keep an eye on the corners.",
        "unit": "C",
        "written_for": str(kiln.pk) if kiln else "",
        "reason": "",
        **rows_sent(rows),
        **overrides,
    }


def revision_sent(
    rows: list[Row] = FUSE, kiln: Kiln | None = None, **overrides: str
) -> dict[str, str]:
    return {
        "written_for": str(kiln.pk) if kiln else "",
        "reason": "A longer hold",
        **rows_sent(rows),
        **overrides,
    }
