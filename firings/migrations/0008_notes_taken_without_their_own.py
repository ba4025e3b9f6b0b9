import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("firings", "0007_notes_taken_keep_forecasts")]

    operations = [
        migrations.AlterField(
            model_name="notetaken",
            name="forecast",
            field=models.OneToOneField(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="note_taken",
                to="firings.forecast",
            ),
        ),
        migrations.RemoveField(model_name="notetaken", name="rests_on"),
        # A default each, so that going back can fill the columns before they get their values.
        *[
            migrations.AlterField(
                model_name="notetaken", name=name, field=models.FloatField(default=0.0)
            )
            for name in ("peak_delta_c", "hold_delta_s", "chance_now", "chance_then")
        ],
        *[
            migrations.RemoveField(model_name="notetaken", name=name)
            for name in ("peak_delta_c", "hold_delta_s", "chance_now", "chance_then")
        ],
    ]
