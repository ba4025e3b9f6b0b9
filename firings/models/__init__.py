from firings.models.booking import Booking, CalendarFeed
from firings.models.brought import BroughtFiring
from firings.models.clearing import Clearing, ClearingDecision
from firings.models.conversation import LONGEST_COMMENT, Comment, CommentMailed, CommentsRead
from firings.models.energy import ComputedEnergy
from firings.models.forecast import AdviceAction, FiredAs, Forecast, ForecastScore
from firings.models.glass_use import GlassUse
from firings.models.label import Label
from firings.models.ladder import Ladder, Rung, Varies
from firings.models.load import Fault, FaultKind, LoadedPiece, Piece, VerdictValue
from firings.models.logger import LoggedReading, LoggedSeries, LoggerToken
from firings.models.measurement import (
    READING_OF,
    KilnMeasurement,
    Means,
    PlaceReading,
    TileState,
)
from firings.models.photograph import Moment, Photograph
from firings.models.prices import KilnPrice, PriceList
from firings.models.record import (
    AlsoChanged,
    EventKind,
    Firing,
    FiringEvent,
    FiringState,
    KeyedDifference,
)
from firings.models.recording import RecordingFile, RecordingSeries, SpotReading
from firings.models.review import HIGHEST_MARK, Review, ReviewMark
from firings.models.spot import PieceSpot
from firings.models.start_check import StartCheck
from firings.models.step import ENDED, MAY_BE_FIRED, OutsideWork, PieceStep, StepStanding
from firings.models.storage import StayEnd, StoredPiece
from firings.models.telling import Digest, Message, MessageKind, MessageWish, Way
from firings.models.tuning import NoteTaken
from firings.models.unknown_firing import UnknownFiring
from firings.models.waiting import WaitingPiece
from firings.models.watching import AlarmAnswer, RunawayAlarm

__all__ = [
    "ENDED",
    "HIGHEST_MARK",
    "LONGEST_COMMENT",
    "MAY_BE_FIRED",
    "READING_OF",
    "AdviceAction",
    "AlarmAnswer",
    "AlsoChanged",
    "Booking",
    "BroughtFiring",
    "CalendarFeed",
    "Clearing",
    "ClearingDecision",
    "Comment",
    "CommentMailed",
    "CommentsRead",
    "ComputedEnergy",
    "Digest",
    "EventKind",
    "Fault",
    "FaultKind",
    "FiredAs",
    "Firing",
    "FiringEvent",
    "FiringState",
    "Forecast",
    "ForecastScore",
    "GlassUse",
    "KeyedDifference",
    "KilnMeasurement",
    "KilnPrice",
    "Label",
    "Ladder",
    "LoadedPiece",
    "LoggedReading",
    "LoggedSeries",
    "LoggerToken",
    "Means",
    "Message",
    "MessageKind",
    "MessageWish",
    "Moment",
    "NoteTaken",
    "OutsideWork",
    "Photograph",
    "Piece",
    "PieceSpot",
    "PieceStep",
    "PlaceReading",
    "PriceList",
    "RecordingFile",
    "RecordingSeries",
    "Review",
    "ReviewMark",
    "RunawayAlarm",
    "Rung",
    "SpotReading",
    "StartCheck",
    "StayEnd",
    "StepStanding",
    "StoredPiece",
    "TileState",
    "UnknownFiring",
    "Varies",
    "VerdictValue",
    "WaitingPiece",
    "Way",
]
