"""The photograph of an old card, beside the schedule that is keyed from it."""

from django import forms

from studio.forms.pictures import HoldsPictures, PicturesField


class CardForm(HoldsPictures, forms.Form):
    photographs = PicturesField(most=1, label="Photograph of the card")
