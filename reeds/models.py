"""The rows of one reed's life, named where Django looks for them; everybody else imports from the nouns."""

from reeds.photo.models.card import PrintedCard
from reeds.photo.models.measuring import PhotoMeasuring
from reeds.photo.models.photo import Photo
from reeds.photo.models.tool import ToolReading
from reeds.reed.models.cane import CaneLot
from reeds.reed.models.knife import Knife
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.playing import PlayingTest, Rating
from reeds.reed.models.reed import Reed, ReedEvent
from reeds.sheet.models.doubt import OwnDoubt
from reeds.sheet.models.own import OwnQuantity
from reeds.sheet.models.pattern import Offset, Pattern, PatternVersion
from reeds.take.models import Take

__all__ = [
    "CaneLot",
    "Knife",
    "Measurement",
    "Offset",
    "OwnDoubt",
    "OwnQuantity",
    "Pattern",
    "PatternVersion",
    "Photo",
    "PhotoMeasuring",
    "PlayingTest",
    "PrintedCard",
    "Rating",
    "Reed",
    "ReedEvent",
    "Take",
    "ToolReading",
]
