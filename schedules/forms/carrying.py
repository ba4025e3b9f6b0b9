from decimal import Decimal

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator

from schedules.forms.segments import NumberField

FINEST_STEP, COARSEST_STEP = Decimal("0.1"), Decimal(10)


class StepField(NumberField):
    """The smallest step that a controller takes, in degrees."""

    default_validators = [
        MinValueValidator(FINEST_STEP, "0.1° at the least."),
        MaxValueValidator(COARSEST_STEP, "10° at the most."),
    ]


class CarryingForm(forms.Form):
    """To which steps a schedule's numbers are rounded when it is carried to the other unit."""

    targets = StepField(label="Step of a target, °")
    rates = StepField(label="Step of a rate, °")


class CarriedRevisionForm(forms.Form):
    reason = forms.CharField(
        max_length=400, label="Why the change", widget=forms.Textarea(attrs={"rows": 2})
    )
