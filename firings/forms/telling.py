from django import forms

from firings.models import MessageWish


class MessageWishForm(forms.ModelForm):
    class Meta:
        model = MessageWish
        fields = ["peak_near", "falls_behind", "cool_enough", "of_everybody", "comments"]
        widgets = dict.fromkeys(
            ["peak_near", "falls_behind", "cool_enough", "comments"], forms.RadioSelect
        )
