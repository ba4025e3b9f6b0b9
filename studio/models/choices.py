"""Choices that more than one subject uses."""

from django.db import models


class Unit(models.TextChoices):
    CELSIUS = "C", "°C"
    FAHRENHEIT = "F", "°F"
