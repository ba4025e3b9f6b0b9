"""The page in which a schedule is written: its facts, its revision and its segments as one."""

from collections.abc import Mapping
from typing import Any

from django.http import QueryDict
from django.utils.functional import cached_property

from schedules.core_inputs import MM_PER_M, kiln_limits_of, load_for, written_segments
from schedules.forms.editor_rows import EditorRow, Remade, remade_row
from schedules.forms.revision import FirstRevisionForm, RevisionForm
from schedules.forms.schedule import ScheduleForm
from schedules.forms.segments import (
    HOTTEST_TARGET_C,
    BaseSegmentFormSet,
    SegmentForm,
    SegmentFormSet,
    rearranged,
    typed_rows,
    typed_segment,
    written_initial,
)
from schedules.models import Revision, Schedule
from schedules.services.checks import KilnLimits, Load, Remark, check
from schedules.services.difference import difference
from schedules.services.writing import WrittenSegment, to_core
from schedules.wording import remark_words
from studio.core_inputs import estimated_glass_of
from studio.formats import DEGREE, number
from studio.models import GlassFamily, Kiln, Unit

PREFIX = "segments"
FIRST_REASON = "First writing."
CARD_REASON = "As it stands on an old card."
EMPTY_ROWS = 4

# What is refused while a schedule is written, and the field at which it is said; the rest of the
# core's remarks are shown beside the curve.
FIELD_OF_CODE = {
    "rate_not_positive": "rate",
    "negative_hold": "hold",
    "target_does_not_move": "target",
    "target_above_kiln_limit": "target",
    "target_beyond_reach": "target",
    "target_at_room": "target",
    "no_segments": None,
    "too_many_segments": None,
}


class Editor:
    """Its forms, either bound to what was sent, or showing what was typed or is on record.

    `schedule` is None as long as there is none; `source` is the revision that is copied, and
    `asked` holds facts that the new schedule starts with instead of its. Where it `asks_unit`,
    none is chosen beforehand.
    """

    def __init__(
        self,
        *,
        reader_unit: str,
        schedule: Schedule | None = None,
        source: Revision | None = None,
        asked: Mapping[str, float] | None = None,
        data: QueryDict | None = None,
        in_work: bool = False,
        asks_unit: bool = False,
    ) -> None:
        self.schedule, self.source, self.asked = schedule, source, dict(asked or {})
        self.asks_unit = asks_unit
        self._data = data
        self.focus: tuple[int, str] = (-1, "")
        self.remade: dict[int, Remade] = {}
        started_from = reader_unit if source is None else source.unit
        chosen = None if data is None or schedule is not None else data.get("unit")
        self.unit = chosen if chosen in Unit.values else started_from
        self.unit_is_open = asks_unit and chosen not in Unit.values
        kwargs: dict[str, Any] = {} if data is None or in_work else {"data": data}
        typed = data.dict() if data is not None and in_work else None
        self.facts = None
        if schedule is None:
            self.facts = ScheduleForm(initial=typed or self._initial_facts(), **kwargs)
        revision_form = RevisionForm if schedule is not None else FirstRevisionForm
        self.revision = revision_form(
            initial=typed or self._initial_revision(),
            kiln=None if source is None else source.written_for,
            **kwargs,
        )
        if asks_unit:
            unit_field = self.revision.fields["unit"]
            unit_field.choices = [("", "choose"), *Unit.choices]  # type: ignore[attr-defined]
        rows: list[dict[str, Any]] = [{} for _ in range(EMPTY_ROWS)]
        if typed is not None:
            rows = typed_rows(typed, PREFIX)
        elif source is not None:
            rows = written_initial(written_segments(source))
        # A bound row has no initial value, so that a row is empty only when nothing stands in it.
        self.segments: BaseSegmentFormSet = SegmentFormSet(  # type: ignore[assignment]
            prefix=PREFIX,
            initial=None if kwargs else rows,
            form_kwargs={"unit": self.unit},
            **kwargs,
        )

    def _initial_facts(self) -> dict[str, Any]:
        if self.source is None:
            return {}
        origin = self.source.schedule
        names = ("process", "family", "thinnest_mm", "thickest_mm")
        return {name: getattr(origin, name) for name in names} | self.asked

    def _initial_revision(self) -> dict[str, Any]:
        if self.source is None:
            return {"unit": "" if self.unit_is_open else self.unit}
        reason = "" if self.schedule is not None else f"Begun from {self.source}."
        return {"unit": self.unit, "written_for": self.source.written_for, "reason": reason}

    def after(self, do: str) -> "Editor":
        """The same page after one act on its rows, everything typed kept."""
        data = QueryDict(mutable=True) if self._data is None else self._data.copy()
        rows, row, part = rearranged(typed_rows(data, PREFIX), do)
        editor = self._with_rows(data, rows)
        editor.focus = (row, part)
        if part == "rate" and row >= 0:
            editor.segments.forms[row].fields["rate"].widget.attrs["autofocus"] = True
        return editor

    def with_segments(self, segments: list[WrittenSegment], reason: str = "") -> "Editor":
        """The same page with other segments in its rows, the changed numbers marked.

        Everything else that was typed stays, and so does a row that can't be read. `reason` is put
        where none was given.
        """
        data = self._typed()
        typed, at = typed_rows(data, PREFIX), [position - 1 for position in self.written_at]
        rows: list[dict[str, str]] = []
        remade: dict[int, Remade] = {}
        copied = 0
        for line in difference(self.written, segments):
            own = None if line.older_index is None else at[line.older_index]
            if own is not None:
                rows += typed[copied:own]
                copied = own + 1
            if line.newer is not None and line.kind != "same":
                row, remade[len(rows)] = remade_row(line, {} if own is None else typed[own])
                rows.append(row)
            elif own is not None and line.kind == "same":
                rows.append(typed[own])
        rows += typed[copied:]
        if not data.get("reason"):
            data["reason"] = reason
        editor = self._with_rows(data, rows)
        editor.remade = remade
        for index, change in remade.items():
            first = next(iter(change.before), "rate")
            editor.segments.forms[index].fields[first].widget.attrs["autofocus"] = True
            break
        return editor

    def _typed(self) -> QueryDict:
        """What stands in the page, as it would be sent."""
        if self._data is not None:
            return self._data.copy()
        data = QueryDict(mutable=True)
        facts = {} if self.facts is None else self._initial_facts()
        for name, value in (facts | self._initial_revision()).items():
            data[name] = str(getattr(value, "pk", "" if value is None else value))
        self._write(data, [typed_segment(each) for each in self.written])
        return data

    def _with_rows(self, data: QueryDict, rows: list[dict[str, str]]) -> "Editor":
        self._write(data, rows)
        return Editor(
            reader_unit=self.unit,
            schedule=self.schedule,
            source=self.source,
            asked=self.asked,
            data=data,
            in_work=True,
            asks_unit=self.asks_unit,
        )

    @staticmethod
    def _write(data: QueryDict, rows: list[dict[str, str]]) -> None:
        data[f"{PREFIX}-TOTAL_FORMS"] = str(len(rows))
        data[f"{PREFIX}-INITIAL_FORMS"] = "0"
        for position, values in enumerate(rows):
            for name, value in values.items():
                data[f"{PREFIX}-{position}-{name}"] = value

    def sent(self) -> "Editor":
        """The same page, bound to what stands in it, so that it can be read."""
        return Editor(
            reader_unit=self.unit,
            schedule=self.schedule,
            source=self.source,
            asked=self.asked,
            data=self._data,
            asks_unit=self.asks_unit,
        )

    @property
    def rows(self) -> list[EditorRow]:
        row, part = self.focus
        return [
            EditorRow(form, part if index == row else "", self.remade.get(index, Remade()))
            for index, form in enumerate(self.segments.forms)
        ]

    @property
    def kiln(self) -> Kiln | None:
        """The kiln that it is written for, as far as that can be read."""
        if self.revision.is_bound:
            self.revision.is_valid()
            return self.revision.cleaned_data.get("written_for")
        return None if self.source is None else self.source.written_for

    @cached_property
    def written(self) -> list[WrittenSegment]:
        """The rows that can be read; all of them where the page is valid."""
        if not self.segments.is_bound:
            return [] if self.source is None else written_segments(self.source)
        return [form.written() for form in self.segments.filled() if form.is_valid()]

    @property
    def written_at(self) -> list[int]:
        """Where each of them stands on the page, from 1."""
        if not self.segments.is_bound:
            return list(range(1, len(self.written) + 1))
        return [
            position
            for position, form in enumerate(self.segments.forms, start=1)
            if form.has_changed() and form.is_valid()
        ]

    @cached_property
    def left_out(self) -> list[tuple[int, str]]:
        """Rows that can't be read yet: their position from 1, and what is amiss."""
        if not self.segments.is_bound:
            return []
        return [
            (position, str(next(iter(form.errors.values()))[0]))
            for position, form in enumerate(self.segments.forms, start=1)
            if form.has_changed() and not form.is_valid()
        ]

    @property
    def process(self) -> str:
        if self.schedule is not None:
            return self.schedule.process
        return self._fact("process") or ""

    @property
    def load(self) -> Load:
        """The load it is written for, as far as the facts can be read."""
        if self.schedule is not None:
            return load_for(self.schedule)
        family = self.family
        thickest, thinnest = self._fact("thickest_mm"), self._fact("thinnest_mm")
        usual, estimate = Load(), estimated_glass_of(None, family)
        return Load(
            glass=estimate.glass,
            estimate=estimate,
            family=family.name if family else "",
            anneal_soak=family.anneal_soak_c if family else None,
            thickest=thickest / MM_PER_M if thickest else usual.thickest,
            thinnest=thinnest / MM_PER_M if thinnest else usual.thinnest,
        )

    @property
    def family(self) -> GlassFamily | None:
        if self.schedule is not None:
            return self.schedule.family
        family: GlassFamily | None = self._fact("family")
        return family

    def _fact(self, name: str) -> Any:
        if self.facts is None or not self.facts.is_bound:
            return self._initial_facts().get(name)
        self.facts.is_valid()
        return self.facts.cleaned_data.get(name)

    def is_valid(self) -> bool:
        forms_valid = [
            form.is_valid() for form in (self.facts, self.revision) if form is not None
        ] + [self.segments.is_valid()]
        if self.segments.is_valid():
            self._refuse_what_no_kiln_takes(self.segments.filled())
        return all(forms_valid) and self.segments.is_valid()

    def _refuse_what_no_kiln_takes(self, rows: list[SegmentForm]) -> None:
        kiln = self.kiln
        limits = (
            KilnLimits(max_temperature=HOTTEST_TARGET_C) if kiln is None else kiln_limits_of(kiln)
        )
        segments = to_core(self.written, self.unit)
        for remark in check(segments, self.process, self.load, limits):
            if remark.severity == "block" and remark.code in FIELD_OF_CODE:
                self._refuse(rows, remark)
        if kiln is not None and kiln.controller_unit == self.unit:
            self._refuse_finer_steps(rows, kiln)

    def _refuse(self, rows: list[SegmentForm], remark: Remark) -> None:
        words = remark_words(remark, self.unit)
        field = FIELD_OF_CODE[remark.code]
        if remark.segment is None or field is None:
            self.segments.non_form_errors().append(words)
        else:
            rows[remark.segment].add_error(field, words)

    def _refuse_finer_steps(self, rows: list[SegmentForm], kiln: Kiln) -> None:
        for form in rows:
            target = form.cleaned_data.get("target")
            if target is not None and target % kiln.controller_step:
                step = number(float(kiln.controller_step), 1)
                form.add_error(
                    "target", f"{kiln}’s controller takes steps of {step} {DEGREE[self.unit]}."
                )
