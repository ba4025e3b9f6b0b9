from django import forms


class SilenceForm(forms.Form):
    """Why a remark is not to be heard any more."""

    reason = forms.CharField(
        max_length=400,
        label="Why it is silenced",
        help_text="It stands beside the remark, with your name, for whoever reads the schedule.",
        widget=forms.Textarea(attrs={"rows": 2}),
    )
