from django import forms

from firings.models import LoggerToken


class LoggerForm(forms.ModelForm):
    """Names the logger that is to send a kiln's readings."""

    class Meta:
        model = LoggerToken
        fields = ["name"]
