from django import forms


class NoteForm(forms.Form):
    """What the page showed when its note was taken; both travel in hidden fields."""

    newest_seen = forms.IntegerField(min_value=1)
    size_seen = forms.RegexField(r"^-?\d{1,3}\.\d{3} -?\d{1,6}$", max_length=20)
