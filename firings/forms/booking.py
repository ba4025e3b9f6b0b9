"""What is asked when a kiln is booked, and for a calendar's address."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from firings.forms.times import KEYED, DateAndTimeField
from firings.queries.booking import out_of_service
from studio.models import Kiln, Person

STUDIO, MINE = "studio", "mine"


class KilnField(forms.ModelChoiceField):
    """A kiln in service; of one that is not it says so, and what its diary says last."""

    def to_python(self, value: Any) -> Kiln | None:
        try:
            kiln: Kiln | None = super().to_python(value)
        except ValidationError:
            resting = Kiln.objects.filter(pk=value, in_service=False) if _is_key(value) else None
            if resting and (kiln := resting.first()):
                raise ValidationError(out_of_service(kiln), code="no_service") from None
            raise
        return kiln


def at_time_taken(data: Any) -> Any:
    """What was sent; where a button offered a free time for the start, with that time."""
    if not data or not data.get("take"):
        return data
    try:
        start = DateAndTimeField(required=False).to_python(data["take"])
    except ValidationError:
        return data
    if start is None:
        return data
    local = timezone.localtime(start)
    sent = data.copy()
    # In the hour that comes twice a clock's reading alone would mean its first coming.
    sent["planned_start"] = local.isoformat() if local.fold else local.strftime(KEYED)
    sent["ready_by"] = ""
    return sent


class FeedForm(forms.Form):
    """Whose bookings a calendar is to show."""

    of = forms.ChoiceField(label="A calendar of")

    def __init__(self, *args: Any, reader: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.kilns = {f"kiln-{kiln.pk}": kiln for kiln in Kiln.objects.all()}
        others = Person.objects.filter(is_active=True).exclude(pk=reader.pk).order_by("name", "pk")
        self.people = {MINE: reader} | {f"person-{each.pk}": each for each in others}
        field = self.fields["of"]
        assert isinstance(field, forms.ChoiceField)  # noqa: S101  for the type checker
        field.choices = [
            (STUDIO, "the whole studio"),
            (MINE, "what I fire"),
            ("A kiln", [(key, kiln.name) for key, kiln in self.kilns.items()]),
            ("Somebody else", [(key, each.name) for key, each in self.people.items()][1:]),
        ]

    def facts(self) -> dict[str, Any]:
        of = self.cleaned_data["of"]
        return {"kiln": self.kilns.get(of), "person": self.people.get(of)}


def _is_key(value: Any) -> bool:
    return str(value).isdecimal() and len(str(value)) <= 18
