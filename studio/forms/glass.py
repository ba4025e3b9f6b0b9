from itertools import pairwise
from typing import Any

from django import forms

from studio import formats
from studio.forms.editing import SavesOwnChanges
from studio.forms.fields import TemperatureField, UnitForm
from studio.forms.groups import GroupedForm
from studio.models import GlassFamily, GlassKind

POINTS = {
    "strain_point_c": "strain point",
    "annealing_point_c": "annealing point",
    "softening_point_c": "softening point",
}


class PointsForm(SavesOwnChanges, UnitForm, GroupedForm, forms.ModelForm):
    """The three points of a glass, each above the one before."""

    strain_point_c = TemperatureField(lowest_c=250, highest_c=800, required=False)
    annealing_point_c = TemperatureField(lowest_c=300, highest_c=850, required=False)
    softening_point_c = TemperatureField(lowest_c=400, highest_c=1100, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            if isinstance(field, TemperatureField) and not field.help_text:
                field.help_text = f"{field.say(field.lowest_c)} to {field.say(field.highest_c)}."

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        given = [(name, cleaned[name]) for name in POINTS if cleaned.get(name) is not None]
        for (lower, low_c), (upper, high_c) in pairwise(given):
            if high_c <= low_c:
                said = formats.temperature(low_c, self.unit)
                self.add_error(upper, f"Above the {POINTS[lower]}, {said}.")
        return cleaned


class FamilyForm(PointsForm):
    anneal_soak_c = TemperatureField(lowest_c=300, highest_c=700, required=False)

    GROUPS = [
        ("Family", "", ["name", "expansion"]),
        (
            "Points",
            "From the maker’s data sheet. They count for every kind that has none of its own; "
            "one that isn’t known is estimated from the others.",
            [*POINTS, "anneal_soak_c"],
        ),
        ("Note", "", ["note"]),
    ]

    class Meta:
        model = GlassFamily
        fields = ["name", *POINTS, "anneal_soak_c", "expansion", "note"]
        help_texts = {
            "expansion": "0 to 200, for example 90. It does not tell the annealing temperature.",
        }
        widgets = {"note": forms.Textarea(attrs={"rows": 4})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        lowest, highest = (formats.temperature(value, self.unit) for value in (300, 700))
        self.fields[
            "anneal_soak_c"
        ].help_text = (
            f"{lowest} to {highest}, from the maker’s sheet; the expansion number does not tell it."
        )


KIND_GROUPS = [
    (
        "Glass",
        "",
        ["family", "colour", "form", "look", "thickness_mm", "maker", "code"],
    ),
    (
        "Points of its own",
        "Leave these empty when it goes by its family’s. Known ones tell the others, where the "
        "family’s aren’t known.",
        [*POINTS, "expansion"],
    ),
    (
        "What it carries",
        "As far as the maker says: sulphur or selenium in one glass darkens where it touches "
        "copper, lead or silver in another.",
        ["carries_sulphur", "carries_copper", "carries_lead", "carries_silver"],
    ),
    ("Note", "", ["note"]),
]


class KindForm(PointsForm):
    GROUPS = KIND_GROUPS

    class Meta:
        model = GlassKind
        fields = [name for _, _, names in KIND_GROUPS for name in names]
        labels = {"code": "Maker’s code"}
        help_texts = {"expansion": "0 to 200; empty when it is the family’s."}
        widgets = {"note": forms.Textarea(attrs={"rows": 4})}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("code"):
            same = {name: cleaned.get(name) for name in ("maker", "code", "form")}
            thickness = cleaned.get("thickness_mm")
            same |= {"thickness_mm": thickness} if thickness else {"thickness_mm__isnull": True}
            others = GlassKind.objects.filter(**same)
            if others.exclude(pk=self.instance.pk).exists():
                self.add_error("code", "This code is on record in that form and thickness.")
        return cleaned
