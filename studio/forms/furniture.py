from django import forms

from studio.forms.editing import SavesOwnChanges
from studio.models import FurnitureCoat, KilnFurniture


class FurnitureForm(SavesOwnChanges, forms.ModelForm):
    class Meta:
        model = KilnFurniture
        fields = ["name", "material", "kiln", "damage", "note"]
        help_texts = {"kiln": "Of a shelf: the kiln in which it lies."}


class CoatForm(forms.ModelForm):
    class Meta:
        model = FurnitureCoat
        fields = ["coats"]
