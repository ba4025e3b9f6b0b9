"""Every code that the reading of a file and a comparison can emit has words, in both units."""

import ast
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from django.template.loader import render_to_string

import firings.services.comparison as comparison_module
import firings.services.recording as recording_package
from firings.forms.reading_choices import OVERRULED_BY, ReadingChoicesForm
from firings.queries.recorded import TOLD_BY_DASHES, RemarkRow
from firings.services.recording import RecordingError, RecordingRemark
from studio.services import workbook

READING_FIGURES = {
    "count": 2.0, "line": 7.0, "text": "noon;hot", "unit": "F", "column": 1.0, "name": "TC1",
    "channels": 3.0, "others": "TC2, TC3", "order": "month first", "sign": ",", "seconds": 3600.0,
    "step": 20.0, "form": "h:mm", "sheet": "Log", "sheets": 2.0, "limit": 16384.0, "columns": 3.0,
    "readings": 1.0,
}  # fmt: skip
COMPARISON_FIGURES = {
    "peak": 700.0, "segment": 2.0, "duration": 7200.0, "longest": 900.0, "step": 1200.0,
    "seconds": 600.0, "begin": 3600.0, "end": 7200.0, "depth": 80.0, "target": 804.0,
    "temperature": 735.0,
}  # fmt: skip
FACTS = {
    "newest_first", "clock_restarted", "times_unlikely", "times_out_of_order", "times_repeated",
    "times_spread", "lines_dropped", "thermocouple_breaks", "parts_joined", "parts_overlap",
    "parts_in_given_order", "sent_readings_added", "sent_readings_left_out",
}  # fmt: skip
"""What was found and what was done about it: no choice would make it otherwise."""
BEYOND_CHOICE = {
    "file_missing", "too_large", "old_workbook", "too_many_lines", "line_too_long",
    "workbook_too_large", "workbook_damaged",
}  # fmt: skip
FORMED = {"f'{what}_not_understood'": ["time_not_understood", "temperature_not_understood"]}


def codes(folder: Path, *names: str) -> list[str]:
    """The codes given to the classes and functions of those names, followed to their names."""
    found: set[str] = set()
    for path in sorted(folder.glob("*.py")) if folder.is_dir() else [folder]:
        found.update(_codes_in(ast.parse(path.read_text()), names))
    return sorted(found)


def _codes_in(tree: ast.AST, names: tuple[str, ...]) -> Iterator[str]:
    for node in ast.walk(tree):
        if not (isinstance(node, ast.Call) and node.args):
            continue
        name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
        if name in names:
            place = 1 if name == "keep" else 0
            yield from _texts(node.args[place], tree)


def _texts(expression: ast.expr, tree: ast.AST) -> Iterator[str]:
    if isinstance(expression, ast.Constant):
        yield expression.value
    elif isinstance(expression, ast.IfExp):
        yield from _texts(expression.body, tree)
        yield from _texts(expression.orelse, tree)
    elif isinstance(expression, ast.JoinedStr):
        yield from FORMED[ast.unparse(expression)]
    elif isinstance(expression, ast.Name):
        for node in ast.walk(tree):
            if isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") == expression.id:
                yield from _texts(node.value, tree)
            if isinstance(node, ast.For) and expression.id in ast.unparse(node.target):
                for each in getattr(node.iter, "elts", ()):
                    yield from _texts(each.elts[0], tree)


PACKAGE = Path(recording_package.__file__).parent
READING_CODES = codes(PACKAGE, "RecordingRemark", "keep", "_chosen_remark")
WORKBOOK_CODES = codes(Path(workbook.__file__), "WorkbookError")
ERROR_CODES = [*codes(PACKAGE, "RecordingError", "_error"), *WORKBOOK_CODES, "file_missing"]
COMPARISON_CODES = codes(Path(comparison_module.__file__), "ComparisonRemark")


class Reader:
    unit = "C"


class FahrenheitReader:
    unit = "F"


def words_of(template: str, reader: type = Reader, **context: object) -> str:
    return " ".join(render_to_string(f"firings/{template}", {"user": reader, **context}).split())


def test_the_codes_are_found() -> None:
    assert {"unit_guessed", "times_unlikely", "midnight_passed", "parts_joined"} <= set(
        READING_CODES
    )
    assert {"time_not_understood", "time_not_found", "workbook_damaged"} <= set(ERROR_CODES)
    assert {"gap", "interrupted", "segment_not_found"} <= set(COMPARISON_CODES)
    assert len(READING_CODES) > 20
    assert len(ERROR_CODES) > 12
    assert len(COMPARISON_CODES) > 12


def test_every_guess_and_every_error_that_a_choice_may_mend_has_its_field() -> None:
    answered = set(OVERRULED_BY)
    assert set(READING_CODES) - FACTS == answered & set(READING_CODES)
    assert set(ERROR_CODES) - BEYOND_CHOICE == answered & set(ERROR_CODES)
    assert answered <= {*READING_CODES, *ERROR_CODES}
    assert {name for names in OVERRULED_BY.values() for name in names} == set(
        ReadingChoicesForm.base_fields
    )


@pytest.mark.parametrize("code", READING_CODES)
def test_every_remark_of_a_reading_has_words(code: str) -> None:
    words = words_of("_reading_remark.html", remark=RecordingRemark(code, READING_FIGURES))
    assert len(words) > 15, code
    assert "_" not in words


@pytest.mark.parametrize("code", ERROR_CODES)
def test_every_error_of_a_reading_has_words_and_its_line(code: str) -> None:
    error = RecordingError(code, line=7, text="noon;hot", figures=READING_FIGURES)
    words = words_of("_reading_error.html", error=error)
    told = words.partition("</p>")[0].partition(">")[2]
    assert len(told) > 20, code
    assert "Line 7" in words
    assert "noon;hot" in words


@pytest.mark.parametrize("code", sorted(set(COMPARISON_CODES) - set(TOLD_BY_DASHES)))
@pytest.mark.parametrize("reader", [Reader, FahrenheitReader])
def test_every_remark_of_a_comparison_has_words(code: str, reader: type) -> None:
    clock = datetime(2026, 3, 3, 18, 0, tzinfo=UTC)
    for begins_at in (None, clock):
        remark = RemarkRow(code, COMPARISON_FIGURES, begins_at, begins_at)
        words = words_of("_comparison_remark.html", reader, remark=remark)
        assert len(words) > 25, code
        assert "_" not in words
        assert "°C" not in words or reader is Reader


def test_an_unknown_code_would_be_silent() -> None:
    """So that the tests above can fail."""
    assert words_of("_reading_remark.html", remark=RecordingRemark("no_such_code")) == ""
    assert words_of("_comparison_remark.html", remark=RemarkRow("no_such_code", {})) == ""


def test_a_column_without_a_name_is_called_by_its_number() -> None:
    figures = READING_FIGURES | {"name": ""}
    words = words_of("_reading_remark.html", remark=RecordingRemark("channel_chosen", figures))
    assert "column 2" in words
