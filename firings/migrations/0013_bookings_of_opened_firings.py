from django.db import migrations


def book_what_was_fired(apps, schema_editor):
    """What was opened held its kiln until then; what is planned or fires is booked when it, or
    another firing in its kiln, is next saved."""
    Firing = apps.get_model("firings", "Firing")
    Booking = apps.get_model("firings", "Booking")
    opened = Firing.objects.filter(state="opened", booking=None).order_by("pk")
    rows = opened.values_list("pk", "kiln_id", "started_at", "opened_at")
    Booking.objects.bulk_create(
        (
            Booking(firing_id=pk, kiln_id=kiln, starts_at=start, ends_at=end, changed_at=end)
            for pk, kiln, start, end in rows.iterator()
        ),
        batch_size=500,
    )


class Migration(migrations.Migration):

    dependencies = [
        ('firings', '0012_bookings'),
    ]

    operations = [
        migrations.RunPython(book_what_was_fired, migrations.RunPython.noop),
    ]
