from schedules.models.schedule import Process, Revision, RevisionSegment, Schedule
from schedules.models.silence import SilencedRemark

__all__ = ["Process", "Revision", "RevisionSegment", "Schedule", "SilencedRemark"]
