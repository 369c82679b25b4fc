"""What one press lays beside a reed at the same true scale: their last, their best, the teacher's model."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Exists, F, OuterRef, Subquery
from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lessons.sending.models import Submission
from reeds.numbers.words import Stage
from reeds.photo.models.photo import Photo, PhotoQuerySet, PhotoState
from reeds.reed.models.reed import Reed
from studio.counting import how_many, mean_of
from studio.models import TEACHING_ROLES, Member

# a reed has come to play at these stages
PLAYED = (Stage.PLAYING, Stage.PLAYED_OUT)
RATINGS = "playing_tests__ratings"
SAID = {f"{RATINGS}__speaks__isnull": False}


@dataclass(frozen=True)
class Choice:
    """A photo that has a scale of its own, what reed it is of, and why that is the best, if it is."""

    photo: Photo
    label: str
    why: str = ""


class Choices:
    """Finds the three in a number of queries that does not grow with the rows."""

    def __init__(self, submission: Submission, member: Member) -> None:
        self.submission = submission
        self.member = member

    def all(self) -> list[Choice]:
        """Return what there is of the three, in this order; a reed that is two of them is told as both."""
        last, best, model = self._last(), self._best(), self._model()
        if last and best and last.photo.reed_id == best.photo.reed_id:
            label = _("last at this stage and best other: reed %d") % last.photo.reed.number
            last, best = Choice(last.photo, label, best.why), None
        return [one for one in (last, best, model) if one]

    def _laid(self) -> PhotoQuerySet:
        """The photos of lying reeds that were measured, or whose card was found."""
        ready = Photo.objects.visible_to(self.member).shown().with_scale().filter(state=PhotoState.READY)
        return ready.select_related("reed")

    def _last(self) -> Choice | None:
        """The last other reed that this student sent at the same stage before this one."""
        now = self.submission
        rows = Submission.objects.visible_to(self.member).sent().exclude(reed=now.reed_id)
        same = rows.filter(student=now.student_id, stage=now.stage, sent_at__lt=now.sent_at)
        sent_at = same.filter(photos=OuterRef("pk")).order_by("-sent_at").values("sent_at")[:1]
        laid = self._laid().annotate(came=Subquery(sent_at)).filter(came__isnull=False)
        photo = laid.order_by("-came", "sent_at", "pk").first()
        return Choice(photo, _("last at this stage: reed %d") % photo.reed.number) if photo else None

    def _best(self) -> Choice | None:
        """The other reed of this student that came to play and speaks best, as the player rated it."""
        rows = Reed.objects.visible_to(self.member).filter(owner=self.submission.student_id, stage__in=PLAYED)
        others = rows.exclude(pk=self.submission.reed_id).filter(
            Exists(self._laid().filter(reed=OuterRef("pk")))
        )
        rated = others.annotate(
            mean=mean_of(Reed, f"{RATINGS}__speaks"), times=how_many(Reed, RATINGS, **SAID)
        )
        order = rated.order_by(F("mean").desc(nulls_last=True), "-number")
        best = order.values_list("pk", "number", "mean", "times").first()
        if best is None:
            return None
        reed, number, mean, times = best
        rounds = Submission.objects.visible_to(self.member).sent().filter(photos=OuterRef("pk"))
        at_this_stage = Exists(rounds.filter(stage=self.submission.stage))
        photos = self._laid().filter(reed=reed).annotate(same=at_this_stage)
        photo = photos.order_by("-same", "-sent_at", "pk").first()
        return Choice(photo, _("best other: reed %d") % number, _why(mean, times)) if photo else None

    def _model(self) -> Choice | None:
        """The newest model reed of a teacher that is scraped the same way."""
        style = self.submission.reed.version.pattern.style
        models = self._laid().filter(reed__is_model=True, reed__owner__role__in=TEACHING_ROLES)
        photo = models.filter(reed__version__pattern__style=style).order_by("-sent_at", "pk").first()
        return Choice(photo, _("model: reed %d") % photo.reed.number) if photo else None


def _why(mean: float | None, times: int) -> str:
    """Why a reed is called the best: it came to play, and the mean of so many ratings."""
    if mean is None:
        return _("it came to play")
    told = ngettext(
        "it came to play, rated %(mean)s of 5 (%(times)d rating)",
        "it came to play, rated %(mean)s of 5 (mean of %(times)d ratings)",
        times,
    )
    return told % {"mean": number_format(round(mean, 1), 1), "times": times}
