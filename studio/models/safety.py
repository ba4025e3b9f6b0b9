from django.db import models

from studio.models.trail import Trail

USUAL_LINES = [
    "Nothing that burns within the clearance that the kiln’s plate states, all round",
    "Nothing touches the kiln, and its cord lies clear of the hot outside",
    "The room is aired while binders and papers burn off",
    "The vent is as this schedule wants it",
    "The shelf lies level, and shelf and mould are coated and dry",
    "Each piece lies clear of the walls, of the others and of the thermocouple",
    "The lid or door closes freely and rests in its place",
    "Glasses with an infrared filter, heat gloves and clothes of natural fibre lie ready",
    "Somebody who knows how to switch it off at the plug or isolator is at hand",
]
"""Our words for common practice; they stand until a studio writes its own."""
LONGEST_LINE = 200


class SafetyLine(models.Model):
    """A line of what is looked at before a kiln is started, in the studio's own words."""

    text = models.CharField(max_length=LONGEST_LINE)
    position = models.PositiveSmallIntegerField(unique=True)

    trail = Trail()

    class Meta:
        ordering = ["position"]

    def __str__(self) -> str:
        return self.text

    @classmethod
    def current(cls) -> list[str]:
        """The studio's own lines, and the usual ones as long as it has none."""
        return list(cls.objects.values_list("text", flat=True)) or list(USUAL_LINES)
