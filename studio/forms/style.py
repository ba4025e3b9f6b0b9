from django import forms

from studio.forms.fields import DurationField, TemperatureField


class ExampleForm(forms.Form):
    """One field of each sort, for the style page."""

    title = forms.CharField(help_text="Up to 120 letters.")
    peak_c = TemperatureField(label="Recorded peak, °C", help_text="What the display showed.")
    lasted = DurationField(label="Lasted", required=False, help_text="As 1:30, or in minutes.")
    process = forms.ChoiceField(
        choices=[("tack", "tack fuse"), ("slump", "slump")], widget=forms.RadioSelect
    )
    glass = forms.ChoiceField(choices=[("1", "sea green"), ("2", "clear")])
    fired_on = forms.DateField(widget=forms.DateInput(attrs={"type": "date"}), required=False)
    is_vented = forms.BooleanField(label="The lid was propped at first", required=False)
    note = forms.CharField(widget=forms.Textarea, required=False)


class ExampleSizeForm(forms.Form):
    width_mm = forms.IntegerField(label="Width, mm", initial=200)
    depth_mm = forms.IntegerField(label="Depth, mm", initial=150)
    height_mm = forms.IntegerField(label="Height, mm", required=False)
