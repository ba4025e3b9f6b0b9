from typing import Any

from django import forms
from django.db.models import Q

from studio.models import Kiln, Unit


def kilns_to_write_for(kiln: Kiln | None) -> Any:
    """Kilns in service, and the one that is written for already."""
    return Kiln.objects.filter(Q(in_service=True) | Q(pk=kiln.pk if kiln else None))


class RevisionForm(forms.Form):
    """What a revision says beside its segments."""

    written_for = forms.ModelChoiceField(
        queryset=Kiln.objects.none(),
        required=False,
        label="Written for",
        empty_label="no kiln in particular",
        help_text="Its limits are checked, and the curve is drawn for it.",
    )
    reason = forms.CharField(
        max_length=400,
        label="Why the change",
        help_text="What should come out differently.",
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, *args: Any, kiln: Kiln | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["written_for"].queryset = kilns_to_write_for(kiln)  # type: ignore[attr-defined]


class FirstRevisionForm(RevisionForm):
    unit = forms.ChoiceField(
        choices=Unit,
        label="Written in",
        help_text="Numbers stay as you write them.",
    )
    field_order = ["unit", "written_for", "reason"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        reason = self.fields["reason"]
        reason.required = False
        reason.label = "Where it comes from"
        reason.help_text = "A maker’s sheet, a teacher, your own trials."
