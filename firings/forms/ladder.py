"""The forms of a test series: its ladder, when it begins, and what was seen on a tile."""

from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.utils import timezone

from firings.forms.choices import glass_field, glass_to_choose
from firings.forms.judging import VerdictField
from firings.forms.load import THICKNESS_TAKEN
from firings.forms.noted import kept_since
from firings.forms.times import DateAndTimeField
from firings.models import FaultKind, Ladder, LoadedPiece, Varies
from firings.queries.ladder_plan import LadderPlan
from firings.services.ladder import FEWEST_RUNGS, MOST_RUNGS, USUAL_RUNGS
from schedules.forms.segments import COLDEST_TARGET_C, HOTTEST_TARGET_C, NumberField
from schedules.models import Revision
from schedules.models.schedule import LONGEST_HOLD_MINUTES
from studio.formats import DEGREE, NO_BREAK, number
from studio.forms.fields import MillimetreField
from studio.forms.pictures import HoldsPictures, PicturesField
from studio.models import Kiln, ShelfPlace
from studio.services.units import from_celsius

MOST_PICTURES = 3


class LadderForm(forms.ModelForm):
    """Numbers are in the unit of the revision, or in minutes of hold."""

    first = NumberField()
    step = NumberField()
    count = forms.IntegerField(
        min_value=FEWEST_RUNGS,
        max_value=MOST_RUNGS,
        label=f"Rungs, {FEWEST_RUNGS} to {MOST_RUNGS}",
    )
    newest_seen = forms.IntegerField(min_value=1)
    glass = glass_field()

    class Meta:
        model = Ladder
        fields = ["first", "step", "name", "reason", "glass", "thickest_mm", "place"]
        field_classes = {"thickest_mm": MillimetreField}
        help_texts = {"thickest_mm": THICKNESS_TAKEN + " The same for all."}
        widgets = {"reason": forms.TextInput}

    field_order = ["first", "step", "count", *Meta.fields[2:]]

    def __init__(
        self,
        *args: Any,
        newest: Revision,
        kiln: Kiln,
        varies: str,
        suggested: LadderPlan | None,
        only_look: bool = False,
        **kwargs: Any,
    ) -> None:
        places = ShelfPlace.objects.filter(kiln=kiln)
        initial: dict[str, Any] = {
            "thickest_mm": newest.schedule.thickest_mm,
            "place": places.filter(is_reference=True).first(),
            "count": USUAL_RUNGS,
        }
        if suggested is not None:
            initial |= {
                "first": suggested.first,
                "step": suggested.step,
                "count": suggested.count,
            }
        super().__init__(*args, **{**kwargs, "initial": initial})
        self.varies = varies
        self.fields["glass"].queryset = glass_to_choose()  # type: ignore[attr-defined]
        self.fields["place"].queryset = places  # type: ignore[attr-defined]
        self.fields["place"].empty_label = "not said"  # type: ignore[attr-defined]
        for name in ("name", "reason"):
            self.fields[name].required = not only_look
        unit = DEGREE[newest.unit] if varies == Varies.PEAK else "min"
        self.fields["first"].label = f"Lowest rung, {unit}"
        self.fields["step"].label = f"Step, {unit}"
        self.sign = unit
        self.lowest, self.highest = 0.0, float(LONGEST_HOLD_MINUTES)
        if varies == Varies.PEAK:
            self.lowest, self.highest = (
                from_celsius(each, newest.unit) for each in (COLDEST_TARGET_C, HOTTEST_TARGET_C)
            )

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        first, step, count = (cleaned.get(name) for name in ("first", "step", "count"))
        if self.varies == Varies.HOLD:
            for name, value in (("first", first), ("step", step)):
                if value is not None and value != int(value):
                    self.add_error(name, "A hold is a whole number of minutes.")
        if first is not None and not self.lowest <= first <= self.highest:
            self.add_error("first", self._within("Between"))
        if step is not None and step <= 0:
            self.add_error("step", f"Above 0{NO_BREAK}{self.sign}: the ladder is written upwards.")
        elif (
            first is not None
            and step is not None
            and count is not None
            and first + (count - 1) * step > self.highest
        ):
            self.add_error("step", self._within("The highest rung lies between"))
        return cleaned

    def _within(self, begin: str) -> str:
        low, high = (f"{number(each)}{NO_BREAK}{self.sign}" for each in (self.lowest, self.highest))
        return f"{begin} {low} and {high}, please."

    @property
    def plan(self) -> LadderPlan | None:
        """What is to be looked at: as keyed where that can be read, as suggested before."""
        if {"first", "step", "count"} & set(self.errors):
            return None
        source = dict(self.cleaned_data if self.is_bound else self.initial)
        if source.get("first") is None:
            return None
        return LadderPlan(self.varies, source["first"], source["step"], source["count"])

    def facts(self) -> dict[str, Any]:
        names = ("name", "reason", "glass", "thickest_mm", "place", "newest_seen")
        return {name: self.cleaned_data[name] for name in names}


class LadderPlanForm(forms.Form):
    starts_at = DateAndTimeField(label="First firing starts")
    daily = forms.BooleanField(
        required=False, label="Each at that time of day, so that nobody starts one by night"
    )


class RungTakeForm(forms.Form):
    newest_seen = forms.IntegerField(min_value=1)


class RungForm(HoldsPictures, forms.Form):
    """What was seen on one tile beside the others. Ticks add faults; none is taken back here."""

    verdict = VerdictField()
    thickness_after_mm = MillimetreField(
        required=False, min_value=0.5, max_value=100, label="Thickness after, mm"
    )
    faults = forms.MultipleChoiceField(
        choices=FaultKind.choices,
        required=False,
        label="Something went wrong?",
        widget=forms.CheckboxSelectMultiple,
    )
    photographs = PicturesField(most=MOST_PICTURES, required=False, label="Photographs")

    def __init__(self, *args: Any, loaded: LoadedPiece, **kwargs: Any) -> None:
        initial = {"verdict": loaded.verdict, "thickness_after_mm": loaded.thickness_after_mm}
        own = {"initial": initial, "auto_id": f"rung-{loaded.pk}-%s"}  # many stand on one page
        super().__init__(*args, **{**kwargs, **own})
        self.noted = list(loaded.faults.all())
        kinds = {fault.kind for fault in self.noted}
        choices = [each for each in FaultKind.choices if each[0] not in kinds]
        self.fields["faults"].choices = choices  # type: ignore[attr-defined]
        if self.is_bound:  # what was noted meanwhile may be ticked on a page that is older
            self.fields["faults"].choices = FaultKind.choices  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        return {**cleaned, "at": kept_since(self.data)}

    def facts(self) -> dict[str, Any]:
        facts = dict(self.cleaned_data)
        facts["pictures"] = facts.pop("photographs")
        return facts


def first_start() -> datetime:
    """The next whole hour."""
    now = timezone.localtime()
    return now.replace(minute=0, second=0, microsecond=0) + timedelta(hours=1)
