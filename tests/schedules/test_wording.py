import inspect
import re

import pytest

from schedules.services.checks import GLASS_RULES, KILN_RULES, LOAD_RULES, Remark
from schedules.wording import remark_line, remark_words
from studio.formats import plain

RULES = (*KILN_RULES, *LOAD_RULES, *GLASS_RULES)
SOURCES = {inspect.getsource(inspect.getmodule(rule)) for rule in RULES}
CODES = sorted({code for each in SOURCES for code in re.findall(r'Remark\(\s*"(\w+)"', each)})


def test_the_codes_of_the_core_were_found() -> None:
    assert len(CODES) >= 25


@pytest.mark.parametrize("code", CODES)
def test_each_remark_has_words(code: str) -> None:
    assert len(remark_words(Remark(code, "warn", 0, 804.0, 800.0), "C")) > 20


def test_limit_is_written_in_the_readers_unit() -> None:
    remark = Remark("target_above_kiln_limit", "block", 1, 960.0, 950.0)
    assert "950 °C" in plain(remark_words(remark, "C"))
    assert "1742 °F" in plain(remark_words(remark, "F"))


def test_line_counts_segments_from_one() -> None:
    line = remark_line(Remark("negative_hold", "block", 2, -60.0, 0), "C")
    assert (line.severity, line.position) == ("block", 3)


def test_both_rules_of_an_uneven_piece_are_told() -> None:
    def words(other: float) -> str:
        remark = Remark(
            "soak_short", "warn", 3, 3600.0, 10200.0, thickness_mm=18.0, other_thickness_mm=other
        )
        return plain(remark_words(remark, "C"))

    assert "annealed as 18 mm usually gets 2 h 50" in words(12.0)
    assert "12 mm" in words(12.0)
    assert "other rule" not in words(18.0)
