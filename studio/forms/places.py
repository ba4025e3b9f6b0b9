from typing import Any, cast

from django import forms
from django.forms import BaseModelFormSet, modelformset_factory

from studio.models import Kiln, ShelfPlace
from studio.queries.places import used_places


class PlaceForm(forms.ModelForm):
    class Meta:
        model = ShelfPlace
        fields = ["name", "x_percent", "y_percent"]
        widgets = {
            "x_percent": forms.NumberInput(attrs={"min": 0, "max": 100}),
            "y_percent": forms.NumberInput(attrs={"min": 0, "max": 100}),
        }


class BasePlaceFormSet(BaseModelFormSet):
    """A kiln's places in one form; the reference place is one radio button across its rows."""

    def __init__(self, data: Any = None, *, kiln: Kiln) -> None:
        self.used = used_places(kiln)
        super().__init__(data, prefix="place", queryset=kiln.places.all())

    def add_fields(self, form: forms.ModelForm, index: int | None) -> None:
        super().add_fields(form, index)
        form.fields["DELETE"].label = "remove"
        if form.instance.pk is None or form.instance.pk in self.used:
            del form.fields["DELETE"]

    @property
    def reference_prefix(self) -> str:
        """The row that is chosen: as sent, or as it is on record."""
        if self.is_bound:
            return str(self.data.get("reference", ""))
        return next((f.prefix or "" for f in self.forms if f.instance.is_reference), "")

    def clean(self) -> None:
        super().clean()
        if any(form.instance.pk is None for form in self.initial_forms):
            raise forms.ValidationError(
                "The shelf was changed meanwhile. Load the page again.", code="changed"
            )
        seen: set[str] = set()
        for form in self.kept_forms():
            name = str(form.cleaned_data.get("name", "")).casefold()
            if name in seen:
                form.add_error("name", "Another place has this name.")
            seen.add(name)
        if self.reference_prefix not in {form.prefix for form in self.kept_forms()}:
            raise forms.ValidationError("Choose one place as the reference.", code="reference")

    def kept_forms(self) -> list[forms.ModelForm]:
        """The rows that stay: neither empty nor to be removed."""
        return [
            form
            for form in self.forms
            if getattr(form, "cleaned_data", None) and not form.cleaned_data.get("DELETE")
        ]

    def reference(self) -> ShelfPlace:
        """The place chosen as the reference, of a form that is valid."""
        chosen = {form.prefix: form.instance for form in self.kept_forms()}
        place: ShelfPlace = chosen[self.reference_prefix]
        return place


PlaceFormSet = cast(
    type[BasePlaceFormSet],
    modelformset_factory(
        ShelfPlace, form=PlaceForm, formset=BasePlaceFormSet, extra=1, can_delete=True, max_num=60
    ),
)
