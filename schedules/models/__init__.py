from schedules.models.class_schedule import ClassSchedule
from schedules.models.schedule import Process, Revision, RevisionSegment, Schedule
from schedules.models.silence import SilencedRemark

__all__ = ["ClassSchedule", "Process", "Revision", "RevisionSegment", "Schedule", "SilencedRemark"]
