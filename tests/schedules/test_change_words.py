"""How the change that mends a remark is told."""

from schedules.services.checks import Remark
from schedules.services.curve import Segment
from schedules.services.difference import difference
from schedules.services.writing import rewritten
from schedules.wording import change_words, remark_words
from studio.formats import plain

CAST = (Segment(60.0, 200.0, 7200.0), Segment(60.0, 860.0, 5400.0), Segment(None, 482.0, 3600.0))


def change(remark: Remark, after: tuple[Segment, ...]) -> str:
    before = rewritten(CAST, (), "C")
    return plain(change_words(remark, difference(before, rewritten(after, before, "C")), "C"))


def test_change_for_the_whole_schedule_names_its_segment() -> None:
    longer = (*CAST[:2], Segment(None, 482.0, 5400.0))
    whole = Remark("stress_left", "warn", None, 1.7, 1.4)
    assert change(whole, longer) == "segment 3, anneal soak 1 h 00 → 1 h 30"
    beside = Remark("soak_short", "warn", 2, 3600.0, 5400.0)
    assert change(beside, longer) == "anneal soak 1 h 00 → 1 h 30"


def test_change_that_parts_a_segment_tells_what_both_parts_do() -> None:
    parted = (CAST[0], Segment(60.0, 540.0), Segment(85.0, 860.0, 5400.0), CAST[2])
    remark = Remark("long_in_devitrification", "note", None, 4600.0, 3600.0)
    assert change(remark, parted) == (
        "a new segment 2: 60/h to 540, no hold – after it, rate 60 → 85 °C/h"
    )


def test_large_piece_is_told_its_rate_and_the_gentle_one() -> None:
    words = plain(remark_words(Remark("piece_large_for_chamber", "note", 0, 150.0, 100.0), "F"))
    assert "270 °F/h" in words
    assert "180 °F/h" in words
