from django import forms

from firings.models import MessageWish


class MessageWishForm(forms.ModelForm):
    class Meta:
        model = MessageWish
        fields = [
            "peak_near",
            "falls_behind",
            "cool_enough",
            "of_everybody",
            "to_judge",
            "comments",
        ]
        widgets = dict.fromkeys(
            ["peak_near", "falls_behind", "cool_enough", "to_judge", "comments"],
            forms.RadioSelect,
        )
