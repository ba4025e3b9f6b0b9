"""What a schedule is drafted from, and the name under which a draft is kept."""

from typing import Any

from django import forms
from django.db.models import Q

from schedules.models import Process, Schedule
from studio.forms.fields import MillimetreField, TemperatureField, UnitForm
from studio.models import GlassFamily, GlassKind, Kiln

COLDEST_PEAK_C, HOTTEST_PEAK_C = 200.0, 1300.0
WITHOUT_PEAK = {Process.ANNEAL_ONLY, Process.BEAD_ANNEAL}


class DraftForm(UnitForm, forms.Form):
    """The givens of a draft: process, kiln, glass and piece."""

    process = forms.ChoiceField(choices=Process)
    kiln = forms.ModelChoiceField(
        Kiln.objects.filter(in_service=True).select_related("learnt_response"),
        empty_label="choose",
    )
    family = forms.ModelChoiceField(
        GlassFamily.objects.all(),
        label="Glass family",
        empty_label="choose",
        error_messages={"required": "Choose the family of the glass."},
    )
    kind = forms.ModelChoiceField(
        GlassKind.objects.none(),
        required=False,
        label="Glass with points of its own",
        empty_label="none in particular",
        help_text="Where it softens elsewhere than its family.",
    )
    thickest_mm = MillimetreField(min_value=0.5, max_value=100, label="Thickest")
    thinnest_mm = MillimetreField(min_value=0.5, max_value=100, required=False, label="Thinnest")
    layers = forms.IntegerField(
        min_value=1,
        max_value=40,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    width_mm = MillimetreField(min_value=0.1, max_value=3000, required=False, label="Width")
    length_mm = MillimetreField(min_value=0.1, max_value=3000, required=False, label="Length")
    peak = TemperatureField(
        required=False,
        lowest_c=COLDEST_PEAK_C,
        highest_c=HOTTEST_PEAK_C,
        label="Peak",
        help_text="By its maker’s sheet. Left empty, what is usual.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kinds = _with_points_of_their_own()
        if kinds.exists():
            self.fields["kind"].queryset = kinds  # type: ignore[attr-defined]
        else:
            del self.fields["kind"]
        given = self.data if self.is_bound else self.initial
        self.fields["family"].required = given.get("process") != Process.METAL_CLAY
        for name, field in self.fields.items():
            if isinstance(field, forms.IntegerField) and field.max_value is not None:
                unit = "" if name == "layers" else " mm"
                within = f"Between {field.min_value} and {field.max_value}{unit}, please."
                field.error_messages |= {"min_value": within, "max_value": within}
            field.widget.attrs["autocomplete"] = "off"

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        self._clean_glass(data)
        thickest, thinnest = data.get("thickest_mm"), data.get("thinnest_mm")
        if thickest is not None and thinnest is not None and thinnest > thickest:
            self.add_error("thinnest_mm", "The thinnest point can’t be thicker than the thickest.")
        if thinnest is None:
            data["thinnest_mm"] = thickest
        process = data.get("process")
        if process in WITHOUT_PEAK and data.get("peak") is not None:
            self.add_error("peak", "An anneal has no peak beside its soak; leave it empty.")
        unknown = data.get("peak") is None and "peak" not in self.errors
        if process == Process.METAL_CLAY and unknown:
            self.add_error("peak", "Metal clay is fired to the peak on its maker’s sheet.")
        return data

    def _clean_glass(self, data: dict[str, Any]) -> None:
        family, kind = data.get("family"), data.setdefault("kind", None)
        if data.get("process") == Process.METAL_CLAY:
            data["family"] = data["kind"] = None
        elif kind is not None and family is not None and kind.family_id != family.pk:
            self.add_error("kind", f"This glass is of the family {kind.family}.")


def _with_points_of_their_own() -> Any:
    own = (
        Q(strain_point_c__isnull=False)
        | Q(annealing_point_c__isnull=False)
        | Q(softening_point_c__isnull=False)
    )
    return GlassKind.objects.filter(own, archived_at=None).select_related("family")


class DraftNameForm(forms.Form):
    """How a draft is called as a schedule."""

    name = forms.CharField(max_length=Schedule._meta.get_field("name").max_length, required=False)

    def __init__(self, *args: Any, usual_name: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.usual_name = usual_name
        if usual_name:
            self.fields["name"].help_text = f"Left empty: {usual_name}."

    def clean_name(self) -> str:
        return self.cleaned_data["name"] or self.usual_name
