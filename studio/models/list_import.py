import json
import zlib
from typing import Any

from django.db import models
from django.db.models import Q
from django.utils import timezone

from studio.models.choices import Unit
from studio.models.person import Person
from studio.services.lists.table import Table, TableRow


class ImportState(models.TextChoices):
    READ = "read", "to be matched"
    PREVIEWED = "previewed", "to be looked at"
    RUNNING = "running", "on its way"
    DONE = "done", "brought in"
    CANCELLED = "cancelled", "cancelled"
    FAILED = "failed", "not brought in"


class ListImport(models.Model):
    """A list that somebody brings in: what stands in the file, how it is read, what became of it.

    `places` says by the name of a column where it stands in the file. `packed` holds the table
    and `judged` the fate of each row as its preview showed it, both as pressed JSON.
    """

    by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    kind = models.SlugField(max_length=20)
    name = models.CharField(max_length=120)
    digest = models.CharField(max_length=64)
    headers_digest = models.CharField(max_length=64)
    packed = models.BinaryField()
    rows = models.PositiveIntegerField()
    places = models.JSONField(default=dict, blank=True)
    decimal = models.CharField(max_length=1, default=".")
    day_first = models.BooleanField(default=True)
    temperature_unit = models.CharField(max_length=1, choices=Unit, blank=True)
    state = models.CharField(max_length=10, choices=ImportState, default=ImportState.READ)
    judged = models.BinaryField(null=True, blank=True)
    fates = models.JSONField(default=dict, blank=True)
    failure = models.CharField(max_length=20, blank=True)
    made_at = models.DateTimeField(default=timezone.now)
    begun_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-made_at", "-pk"]
        indexes = [
            models.Index(fields=["by", "-made_at"], name="imports_of_a_person"),
            models.Index(fields=["kind", "headers_digest"], name="imports_with_such_headers"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["state"], condition=Q(state="running"), name="one_list_at_a_time"
            ),
            models.CheckConstraint(
                condition=~Q(state="running") | Q(begun_at__isnull=False),
                name="what_runs_has_begun",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def table(self) -> Table:
        headers, rows = unpacked(self.packed)
        return Table(tuple(headers), tuple(TableRow(line, tuple(cells)) for line, cells in rows))

    @property
    def to_write(self) -> int:
        return int(self.fates.get("new", 0)) + int(self.fates.get("changed", 0))

    @property
    def is_over(self) -> bool:
        return self.state in (ImportState.DONE, ImportState.CANCELLED)


def packed(value: Any) -> bytes:
    return zlib.compress(json.dumps(value, ensure_ascii=False).encode(), 6)


def unpacked(data: bytes | memoryview) -> Any:
    return json.loads(zlib.decompress(data))
