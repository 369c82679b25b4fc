"""The rows of one reed's life."""

from reeds.models.cane import CaneLot
from reeds.models.card import PrintedCard
from reeds.models.doubt import OwnDoubt
from reeds.models.measurement import Measurement
from reeds.models.measuring import Look, PhotoMeasuring, Scale
from reeds.models.pattern import Offset, Pattern, PatternVersion
from reeds.models.photo import Photo, PhotoState, View
from reeds.models.playing import Effort, PlayingTest, Rating, Speaks
from reeds.models.reed import AT_REST, EventKind, Reed, ReedEvent
from reeds.models.take import Take, TakeState

__all__ = [
    "AT_REST",
    "CaneLot",
    "Effort",
    "EventKind",
    "Look",
    "Measurement",
    "Offset",
    "OwnDoubt",
    "Pattern",
    "PatternVersion",
    "Photo",
    "PhotoMeasuring",
    "PhotoState",
    "PlayingTest",
    "PrintedCard",
    "Rating",
    "Reed",
    "ReedEvent",
    "Scale",
    "Speaks",
    "Take",
    "TakeState",
    "View",
]
