from django.conf import settings
from django.db import models
from django.utils import timezone

from firings.models.photograph import Photograph
from firings.models.record import Firing
from studio.models.trail import Trail

LONGEST_COMMENT = 4000


class Comment(models.Model):
    """Something said about a firing, read by those who may read its comments.

    A comment that was taken back keeps its place, without its words. Its trail says who said
    something and took it back, and when; it keeps no words either, or they would not be gone.
    """

    firing = models.ForeignKey(Firing, models.PROTECT, related_name="comments")
    said_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="comments")
    said_at = models.DateTimeField(default=timezone.now, editable=False)
    words = models.TextField(max_length=LONGEST_COMMENT)
    photograph = models.ForeignKey(
        Photograph, models.SET_NULL, null=True, blank=True, related_name="comments"
    )
    mentions = models.ManyToManyField(settings.AUTH_USER_MODEL, blank=True, related_name="+")
    taken_back_at = models.DateTimeField("taken back", null=True, blank=True, editable=False)

    trail = Trail(part_of="firing", without=("words", "photograph"))

    class Meta:
        ordering = ["said_at", "pk"]

    def __str__(self) -> str:
        return f"comment of {self.said_by} on firing {self.firing_id}"


class CommentsRead(models.Model):
    """Up to when somebody has read the comments on a firing."""

    firing = models.ForeignKey(Firing, models.CASCADE, related_name="comments_read")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    read_at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["firing", "person"], name="comments_of_a_firing_read_once_a_person"
            )
        ]

    def __str__(self) -> str:
        return f"firing {self.firing_id} read by {self.person_id}"


class CommentMailed(models.Model):
    """A comment went to somebody in a digest; it goes to nobody twice."""

    comment = models.ForeignKey(Comment, models.CASCADE, related_name="mailed")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    mailed_at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["comment", "person"], name="a_comment_mailed_once_a_person"
            )
        ]

    def __str__(self) -> str:
        return f"comment {self.comment_id} mailed to {self.person_id}"
