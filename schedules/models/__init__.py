from schedules.models.schedule import Process, Revision, RevisionSegment, Schedule

__all__ = ["Process", "Revision", "RevisionSegment", "Schedule"]
