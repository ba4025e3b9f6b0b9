"""The form of a measurement: its fields and what a place shows go by its means."""

from typing import Any

from django import forms
from django.utils import timezone

from firings.models import Firing, FiringState, KilnMeasurement, Means, TileState
from firings.services.strips import LEAST_SAG_MM, Strip
from studio.formats import number, temperature_span
from studio.forms.editing import SavesOwnChanges
from studio.forms.fields import (
    MillimetreField,
    TemperatureDifferenceField,
    TemperatureField,
    UnitForm,
)
from studio.models import GlassFamily, Kiln, ShelfPlace

FIELDS = {
    Means.THERMOMETER: ["measured_on", "display_c", "instrument", "tolerance_c", "note"],
    Means.TILES: [
        "measured_on", "display_c", "family", "wanted_at_c", "tolerance_c", "instrument",
        "firing", "note",
    ],
    Means.STRIPS: [
        "measured_on", "display_c", "firing", "family", "strip_thickness_mm", "gap_mm",
        "instrument", "note",
    ],
}  # fmt: skip
LABELS = {
    Means.THERMOMETER: {"display_c": "The kiln’s display", "instrument": "Which thermometer"},
    Means.TILES: {"display_c": "The display, at the most", "instrument": "Which tiles"},
    Means.STRIPS: {"display_c": "The display, at the most", "instrument": "Which strips"},
}
FURTHEST_OFF_C = 60.0
"""A thermometer that shows more beside the display was misread, or is in the other unit."""
LATEST_FIRINGS = 30


class MeasurementForm(SavesOwnChanges, UnitForm, forms.ModelForm):
    display_c = TemperatureField(lowest_c=100, highest_c=1300)
    tolerance_c = TemperatureDifferenceField(lowest_c=0, highest_c=20, label="Right within ±")
    wanted_at_c = TemperatureField(
        lowest_c=400, highest_c=1300, required=False, label="Such a tile looks as meant at"
    )
    firing = forms.ModelChoiceField(
        Firing.objects.none(), required=False, empty_label="none of the logbook"
    )
    family = forms.ModelChoiceField(GlassFamily.objects, label="Glass", empty_label="choose")

    class Meta:
        model = KilnMeasurement
        fields = sorted({name for names in FIELDS.values() for name in names})
        field_classes = {"strip_thickness_mm": MillimetreField, "gap_mm": MillimetreField}
        widgets = {
            "measured_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "note": forms.Textarea(attrs={"rows": 2}),
        }
        help_texts = {
            "measured_on": "The day on which it was taken.",
            "strip_thickness_mm": "0.5 to 12, all alike.",
            "gap_mm": "10 to 500 between the edges that they lie on, all alike.",
            "note": "Up to 400 letters.",
        }

    def __init__(self, *args: Any, places: list[ShelfPlace], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.places = sorted(places, key=lambda place: not place.is_reference)
        self.means = Means(self.instance.means)
        for name in [each for each in self.fields if each not in FIELDS[self.means]]:
            del self.fields[name]
        self.order_fields(FIELDS[self.means])
        for name, label in LABELS[self.means].items():
            ending = self.fields[name].label if name.endswith("_c") else ""
            unit = str(ending).rpartition(", ")[2] if ending else ""
            self.fields[name].label = f"{label}, {unit}" if unit else label
        for name in ("strip_thickness_mm", "gap_mm"):
            if name in self.fields:
                self.fields[name].required = True
        self._say()
        if "firing" in self.fields:
            self._offer_firings(self.instance.kiln)
        standing = {} if self.instance.pk is None else self._standing()
        for place in self.places:
            self.fields[place_name(place)] = self._place_field(place)
            self.initial[place_name(place)] = standing.get(place.pk)

    def _standing(self) -> dict[int, Any]:
        return {each.place_id: each.value for each in self.instance.readings.all()}

    def _say(self) -> None:
        helps = {
            "instrument": "So that the same one is known again, for example “type N probe, "
            "checked in March”. What it is off by it is off by each time.",
            "tolerance_c": "By its certificate or its class; for a handheld one 3 to 5 °C is usual."
            if self.unit == "C"
            else "By its certificate or its class; for a handheld one 5 to 9 °F is usual.",
            "wanted_at_c": "With a hold like this one, by earlier firings. "
            "Empty: the tiles tell only how the places differ.",
            "firing": "By its recording the strips tell the offset too; without it only how the "
            "places differ."
            if self.means == Means.STRIPS
            else "Where they lay in one.",
        }
        if self.means == Means.TILES:
            helps["tolerance_c"] = "How surely that is known. Empty: within "
            helps["tolerance_c"] += f"{temperature_span(5.0, self.unit)}."
            self.fields["tolerance_c"].required = False
        for name, words in helps.items():
            if name in self.fields:
                self.fields[name].help_text = words

    def _offer_firings(self, kiln: Kiln) -> None:
        field = self.fields["firing"]
        assert isinstance(field, forms.ModelChoiceField)  # noqa: S101
        fired = kiln.firings.filter(state__in=(FiringState.FIRING, FiringState.OPENED))
        latest = list(fired.order_by("-started_at").values_list("pk", flat=True)[:LATEST_FIRINGS])
        if self.instance.firing_id is not None:
            latest.append(self.instance.firing_id)
        field.queryset = (
            Firing.objects.filter(pk__in=latest)
            .select_related("revision__schedule")
            .order_by("-started_at")
        )
        field.label_from_instance = _named  # type: ignore[assignment, method-assign]

    def _place_field(self, place: ShelfPlace) -> forms.Field:
        name = f"{place.name} (reference)" if place.is_reference else place.name
        if self.means == Means.THERMOMETER:
            field = TemperatureField(
                unit=self.unit, lowest_c=0, highest_c=1400, required=False, label=name
            )
            field.widget.attrs["data-start-at"] = "id_display_c"
            return field
        if self.means == Means.TILES:
            return forms.TypedChoiceField(
                choices=[("", "no tile"), *TileState.choices],
                coerce=int,
                empty_value=None,
                required=False,
                label=name,
            )
        return MillimetreField(required=False, label=f"{name}, mm")

    def place_fields(self) -> list[forms.BoundField]:
        return [self[place_name(place)] for place in self.places]

    def own_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in FIELDS[self.means]]

    def clean_measured_on(self) -> Any:
        measured_on = self.cleaned_data["measured_on"]
        if measured_on > timezone.localdate():
            raise forms.ValidationError("That day is still to come.", code="future")
        return measured_on

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        if self.means == Means.THERMOMETER:
            self._check_shown(cleaned)
        elif self.means == Means.STRIPS:
            self._check_sags(cleaned)
        names = [place_name(place) for place in self.places]
        if not any(name in self.errors or cleaned.get(name) is not None for name in names):
            raise forms.ValidationError("Note at least one place.", code="empty")
        return cleaned

    def _check_shown(self, cleaned: dict[str, Any]) -> None:
        display = cleaned.get("display_c")
        for place in self.places:
            shown = cleaned.get(place_name(place))
            if display is None or shown is None or abs(shown - display) <= FURTHEST_OFF_C:
                continue
            self.add_error(
                place_name(place),
                f"That is {temperature_span(shown - display, self.unit)} from the kiln’s display; "
                f"{temperature_span(FURTHEST_OFF_C, self.unit)} at the most. Is it in the other "
                "unit?",
            )

    def _check_sags(self, cleaned: dict[str, Any]) -> None:
        thickness, gap = cleaned.get("strip_thickness_mm"), cleaned.get("gap_mm")
        if not thickness or not gap:
            return
        deepest = Strip(thickness, gap).deepest
        for place in self.places:
            sag = cleaned.get(place_name(place))
            if sag is not None and not LEAST_SAG_MM <= sag <= deepest:
                self.add_error(
                    place_name(place),
                    f"Between {number(LEAST_SAG_MM)} and {number(deepest, 1)} mm, a tenth of the "
                    "gap: less is not read surely, and more no longer goes by heat work.",
                )

    def measurement(self) -> KilnMeasurement:
        """As it is keyed, not saved."""
        measurement: KilnMeasurement = self.instance
        return measurement

    def readings(self) -> dict[ShelfPlace, Any]:
        """°C, a state or mm by place; None where there was nothing."""
        return {place: self.cleaned_data[place_name(place)] for place in self.places}


def place_name(place: ShelfPlace) -> str:
    """The name of a place's field."""
    return f"place_{place.pk}"


def _named(firing: Firing) -> str:
    """By its day and its schedule: a title may be kept to themselves by whoever fired it."""
    name = firing.revision.schedule.name
    if firing.started_at is None:
        return name
    return f"{timezone.localdate(firing.started_at):%-d %b %Y}, {name}"
