"""An instructor's verdict, comment and marks."""

from collections.abc import Sequence
from typing import Any

from django import forms

from firings.forms.judging import ScaleInput, VerdictField
from firings.models import HIGHEST_MARK, Review, VerdictValue
from studio.models import RubricCriterion

MARKS = [(str(mark), str(mark)) for mark in range(1, HIGHEST_MARK + 1)]


class MarksInput(ScaleInput):
    template_name = "firings/parts/marks.html"


class MarkField(forms.TypedChoiceField):
    """Cleans to 1 … 4, or to None for no mark."""

    widget = MarksInput

    def __init__(self, criterion: RubricCriterion) -> None:
        super().__init__(
            label=criterion.name.capitalize(),
            help_text=criterion.meaning,
            required=False,
            choices=[*MARKS, ("", "none")],
            coerce=int,
            empty_value=None,
        )


class ReviewForm(forms.Form):
    """`review` is what stands, None for a piece that nobody reviewed yet."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    verdict = VerdictField()
    comment = forms.CharField(
        required=False, max_length=4000, widget=forms.Textarea(attrs={"rows": 4})
    )

    def __init__(
        self,
        *args: Any,
        review: Review | None,
        criteria: Sequence[RubricCriterion],
        **kwargs: Any,
    ) -> None:
        given = {mark.criterion_id: mark.mark for mark in review.marks.all()} if review else {}
        retired = [mark.criterion for mark in review.marks.all()] if review else []
        self.criteria = {each.pk: each for each in [*criteria, *retired]}
        initial: dict[str, Any] = {"version": review.version if review else 0}
        if review is not None:
            initial |= {"verdict": review.verdict, "comment": review.comment}
        initial |= {f"mark{pk}": given.get(pk, "") for pk in self.criteria}
        super().__init__(*args, **kwargs)
        self.initial = initial
        for pk, criterion in self.criteria.items():
            self.fields[f"mark{pk}"] = MarkField(criterion)
        verdict = self.fields["verdict"]
        verdict.label = "Your verdict"
        verdict.choices = [*VerdictValue.choices, ("", "no verdict")]  # type: ignore[attr-defined]

    def show_over(self, review: Review | None) -> None:
        """What was typed, to be sent over a review that somebody wrote meanwhile."""
        version = review.version if review else 0
        self.data = {name: self.data.get(name) for name in self.fields} | {"version": version}

    def marks_shown(self) -> list[forms.BoundField]:
        return [self[f"mark{pk}"] for pk in self.criteria]

    def facts(self) -> dict[str, Any]:
        """What `piece_review` takes beside the piece and who reviews it."""
        given = self.cleaned_data
        marks = {
            criterion: given[f"mark{pk}"]
            for pk, criterion in self.criteria.items()
            if given[f"mark{pk}"] is not None
        }
        kept = {name: given[name] for name in ("version", "verdict", "comment")}
        return kept | {"marks": marks}
