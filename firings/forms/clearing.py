"""An instructor's decision on a student's planned firing."""

from typing import Any

from django import forms

from firings.models import ClearingDecision, Firing, LoadedPiece

SAY_WHY = "Say why: it stays with the firing."


class ClearingForm(forms.Form):
    """Cleared or returned; `seen` and `latest` tell what its page showed."""

    decision = forms.ChoiceField(
        choices=[(ClearingDecision.CLEARED, "clear"), (ClearingDecision.RETURNED, "return")],
        widget=forms.HiddenInput,
    )
    seen = forms.CharField(max_length=64, widget=forms.HiddenInput)
    latest = forms.IntegerField(required=False, widget=forms.HiddenInput)
    comment = forms.CharField(
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Needed where it is returned.",
    )
    about = forms.ChoiceField(label="It is about", required=False)

    def __init__(self, *args: Any, firing: Firing, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        segments = len(firing.revision.segments.all())
        self.pieces = {loaded.pk: loaded for loaded in firing.load.all()}
        self.fields["about"].choices = [  # type: ignore[attr-defined]
            ("", "the whole of it"),
            *[(f"segment-{place}", f"segment {place}") for place in range(1, segments + 1)],
            *[(f"piece-{pk}", f"“{loaded.piece}”") for pk, loaded in self.pieces.items()],
        ]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        returned = cleaned.get("decision") == ClearingDecision.RETURNED
        if returned and not cleaned.get("comment") and "comment" not in self.errors:
            self.add_error("comment", SAY_WHY)
        return cleaned

    def facts(self) -> dict[str, Any]:
        """What `firing_decide` takes beside the firing and who decides."""
        given = self.cleaned_data
        kind, _, number = given["about"].partition("-")
        piece: LoadedPiece | None = self.pieces[int(number)] if kind == "piece" else None
        return {
            "decision": ClearingDecision(given["decision"]),
            "seen": given["seen"],
            "latest": given["latest"],
            "comment": given["comment"],
            "segment": int(number) if kind == "segment" else None,
            "loaded_piece": piece,
        }


class LetGoForm(forms.Form):
    """A keeper lets a firing go that nobody cleared."""

    seen = forms.CharField(max_length=64, widget=forms.HiddenInput)
    latest = forms.IntegerField(required=False, widget=forms.HiddenInput)
    comment = forms.CharField(
        label="Why",
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"required": SAY_WHY},
        help_text="It stays with the firing, with your name.",
    )

    def facts(self) -> dict[str, Any]:
        return {"decision": ClearingDecision.OVERRIDDEN, **self.cleaned_data}
