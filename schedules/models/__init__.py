from schedules.models.card import ScheduleCard
from schedules.models.class_schedule import ClassSchedule
from schedules.models.controller_memory import MemorySlot
from schedules.models.schedule import Process, Revision, RevisionSegment, Schedule
from schedules.models.silence import SilencedRemark

__all__ = [
    "ClassSchedule",
    "MemorySlot",
    "Process",
    "Revision",
    "RevisionSegment",
    "Schedule",
    "ScheduleCard",
    "SilencedRemark",
]
