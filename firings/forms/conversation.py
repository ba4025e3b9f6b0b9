"""What somebody says about a firing."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from firings.actions.conversation import cannot_read
from firings.models import LONGEST_COMMENT, Firing
from firings.queries.conversation import readers_of
from firings.services.mentions import names_in
from studio.forms.pictures import HoldsPictures, PicturesField
from studio.models import Person

MOST_MENTIONS = 20


class WordsField(forms.CharField):
    """Text of several lines; browsers count a line's end as one sign, and send it as two."""

    def to_python(self, value: Any) -> str:
        return str(super().to_python(value)).replace("\r\n", "\n")


class CommentForm(HoldsPictures, forms.Form):
    """`facts()` are what `comment_add` takes beside the firing and who says it."""

    words = WordsField(
        label="Your comment",
        max_length=LONGEST_COMMENT,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="To mention somebody, write @ and the name by which they sign in.",
        error_messages={
            "required": "Write something first.",
            "max_length": "At most %(limit_value)d signs; this has %(show_value)d.",
        },
    )
    photographs = PicturesField(most=1, required=False, label="Photograph")

    def __init__(self, *args: Any, firing: Firing, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.firing = firing
        self.mentioned: list[Person] = []

    def clean_words(self) -> str:
        words: str = self.cleaned_data["words"]
        names = names_in(words)
        if len(names) > MOST_MENTIONS:
            raise ValidationError(f"At most {MOST_MENTIONS} people can be mentioned at once.")
        people = {each.sign_in_name: each for each in _people_named(names)} if names else {}
        told = [
            f"Nobody here signs in as “{name}”."
            for name in names
            if name not in people and not name[0].isdigit()  # “10 min @804” is no mention
        ]
        self.mentioned = readers_of(self.firing, list(people.values())) if people else []
        told += [cannot_read(each) for each in people.values() if each not in self.mentioned]
        if told:
            raise ValidationError(told)
        return words

    def facts(self) -> dict[str, Any]:
        return {
            "words": self.cleaned_data["words"],
            "mentions": self.mentioned,
            "pictures": self.cleaned_data["photographs"],
        }


def _people_named(names: tuple[str, ...]) -> list[Person]:
    """Sign-in names are kept in small letters."""
    return list(Person.objects.filter(sign_in_name__in=names))
