"""What is asked of whoever moves a schedule to another kiln."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from studio.forms.fields import TemperatureDifferenceField, UnitForm
from studio.models import Kiln

FURTHEST_APART_C = 40.0


class ToKilnForm(UnitForm, forms.Form):
    """From which kiln to which, and what is known of the two near the anneal."""

    from_kiln = forms.ModelChoiceField(
        Kiln.objects.select_related("learnt_response"),
        label="It is written for",
        empty_label="choose a kiln",
    )
    to_kiln = forms.ModelChoiceField(
        Kiln.objects.select_related("learnt_response"),
        label="Move it to",
        empty_label="choose a kiln",
    )
    soak_difference = TemperatureDifferenceField(
        required=False,
        label="Near the anneal the other runs hotter by",
        lowest_c=-FURTHEST_APART_C,
        highest_c=FURTHEST_APART_C,
        help_text="The two kilns’ difference, in the glass. Empty: nothing was measured there.",
    )
    soak_evidence = forms.CharField(
        required=False,
        max_length=100,
        label="How that is known",
        help_text="For example “one logger in both at the soak”.",
    )
    way = forms.TypedChoiceField(
        required=False,
        coerce=int,
        empty_value=0,  # type: ignore[arg-type]
        choices=[(0, "the cooling"), (1, "the heating")],
        label="If it has too many segments, join first those of",
    )
    keep_hold = forms.BooleanField(
        required=False, label="Keep the hold at the top as it is written"
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        # One out of service is not offered; named in an address, it is told why.
        kilns = [(kiln.pk, str(kiln)) for kiln in Kiln.objects.filter(in_service=True)]
        to_kiln = self.fields["to_kiln"]
        to_kiln.choices = [("", "choose a kiln"), *kilns]  # type: ignore[attr-defined]
        self.kilns_in_service = len(kilns)

    def clean_to_kiln(self) -> Kiln:
        kiln: Kiln = self.cleaned_data["to_kiln"]
        if not kiln.in_service:
            raise ValidationError(
                "%(kiln)s is out of service: nothing is moved to it.", params={"kiln": kiln}
            )
        if kiln == self.cleaned_data.get("from_kiln"):
            raise ValidationError("It is written for %(kiln)s already.", params={"kiln": kiln})
        return kiln

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        difference, evidence = cleaned.get("soak_difference"), cleaned.get("soak_evidence")
        if difference is not None and not evidence:
            self.add_error("soak_evidence", "Say how it is known: only then is an anneal moved.")
        if evidence and difference is None and "soak_difference" not in self.errors:
            self.add_error("soak_difference", "By how much? 0 where the two agree there.")
        return cleaned
