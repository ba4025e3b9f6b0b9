"""What a taken note foretold moves into a forecast; of the five chances only one was kept."""

from django.db import migrations


def into_forecasts(apps, schema_editor):
    NoteTaken = apps.get_model("firings", "NoteTaken")
    Forecast = apps.get_model("firings", "Forecast")
    taken_notes = NoteTaken.objects.select_related("firing", "revision").order_by("taken_at", "pk")
    for taken in taken_notes:
        before = taken.revision.copied_from_id or taken.firing.revision_id
        taken.forecast = Forecast.objects.create(
            firing=taken.firing,
            revision_id=before,
            kiln_id=taken.firing.kiln_id,
            action="change",
            peak_delta_c=taken.peak_delta_c,
            hold_delta_s=taken.hold_delta_s,
            chance_now=taken.chance_now,
            chance_then=taken.chance_then,
            given_at=taken.taken_at,
        )
        taken.forecast.rests_on.set(taken.rests_on.all())
        taken.save(update_fields=["forecast"])


def out_of_forecasts(apps, schema_editor):
    NoteTaken = apps.get_model("firings", "NoteTaken")
    for taken in NoteTaken.objects.select_related("forecast"):
        taken.peak_delta_c = taken.forecast.peak_delta_c
        taken.hold_delta_s = taken.forecast.hold_delta_s
        taken.chance_now = taken.forecast.chance_now
        taken.chance_then = taken.forecast.chance_then
        taken.rests_on.set(taken.forecast.rests_on.all())
        taken.save()


class Migration(migrations.Migration):
    dependencies = [("firings", "0006_forecasts")]

    operations = [migrations.RunPython(into_forecasts, out_of_forecasts)]
