"""Finding -> the usual next step and its caution: a table, one row a style and finding."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from reeds.checks.experiments import Experiment, experiment_for
from reeds.checks.facts import FROM_TAKES, ReedFacts
from reeds.checks.findings import CP, CPM, Finding
from reeds.checks.work import Takes, Work
from reeds.numbers.words import Style
from reeds.numbers.words import gettext_noop as _

WAIT = _("Wait for your teacher before you scrape, clip or give it up.")
LEAK_FIRST = _("Make it airtight first: do not scrape on while it leaks.")

KNIFE = _(
    "Knives and blades cut: blade away from the hand, plaque in, block under, never towards a finger. "
    "A few strokes a side, then test again. Under age: with an adult."
)
THREAD = _("Thread under tension can cut: wind it, do not wrap it round a finger.")
WIRE = _("Cut wire ends are sharp: mind eyes, lips and fingers, and bend them flat.")
BLADE = _(
    "Knives and blades cut: blade away from the hand, never towards a finger. Under age: with an adult."
)
OFF_THE_BLADES = _("Keep wax and varnish off the blades; let varnish cure before it comes to the mouth.")
BY_HAND = _("Only soaked and with little force: dry blades split.")
NOT_FOR_PITCH = _("Do not clip or open it for its pitch alone.")
REFERENCE_FIRST = _(
    "Play your reference reed in the same sitting: pitch belongs to player, oboe and reed together."
)
RIGHT_STAPLE = _(
    "Measure it once more. If it stays so, put the staple right on the reed's page: its limits move with it."
)
OPEN_BY_HAND = _("Soak it longer; then open it by hand: press the sides lightly together.")
CLIP_A_LITTLE = _("Clip a little: 0.2 mm at most at a time.")
CORNER_ALIKE = _("Take a little from the thicker corner, on both blades, until the corners are alike.")
FROM_THE_BACK = _("Take a little from the back; keep both rails.")
CLIP = _(
    "Blade straight down on the block, fingers behind it; once, then test again. Under age: with an adult."
)


@dataclass(frozen=True)
class NextStep:
    """One row: what usually follows a finding.

    `style` is None for a step that holds for every style; `finding` is a key such as 'gouge:above' or
    'staccato:low'; `takes` what the step takes off for good, None for one that can be undone; `work` the
    place in the order of work of what wants scraping or clipping, sooner or later; `forbids` what the
    finding speaks against, whatever else was found.
    """

    style: Style | None
    finding: str
    text: str
    takes: Takes | None = None
    caution: str = ""
    source: str = CPM
    work: Work | None = None
    forbids: frozenset[Takes] = frozenset()

    @property
    def irreversible(self) -> bool:
        """Whether the step cannot be undone."""
        return self.takes is not None


def _scrape(style: Style, finding: str, work: Work, text: str, source: str = CPM) -> NextStep:
    return NextStep(style, finding, text, Takes.SCRAPE, KNIFE, source, work)


def _short(finding: str, work: Work, text: str) -> NextStep:
    return _scrape(Style.SHORT, finding, work, text, CP)


def _long(finding: str, work: Work, text: str, source: str = CPM) -> NextStep:
    return _scrape(Style.LONG, finding, work, text, source)


def _clip(style: Style, finding: str, work: Work, text: str, *forbids: Takes) -> NextStep:
    return NextStep(style, finding, text, Takes.CLIP, CLIP, work=work, forbids=frozenset(forbids))


_FIXES = _("oboeinsight.com, 'Adjustments & fixes': tip, sides of the heart, back; one zone at a time")
_TIPS = _("oboe.net.au, 'Tips': the last turn in line with the end of the staple; the step: common practice")

NEXT_STEPS: tuple[NextStep, ...] = (
    NextStep(
        None,
        "airtight:no",
        _("Do not scrape on: bind it again, or wrap above the thread, and try once more."),
        caution=THREAD,
    ),
    NextStep(
        None,
        "thread_past_staple:above",
        _("Take off the last turns until the thread ends with the staple: past it, it can choke the blades."),
        caution=THREAD,
        source=_TIPS,
    ),
    NextStep(
        None,
        "thread_past_staple:below",
        _("Bind on to the end of the staple: short of it, the reed may leak."),
        caution=THREAD,
        source=_TIPS,
    ),
    NextStep(
        None,
        "closing:alone",
        _("Send a photo into the tip: both must agree before a side is scraped."),
        work=Work.EVENNESS,
    ),
    NextStep(
        None,
        "closing:unclear",
        _("The photo does not show it clearly: take another into the tip, soaked, and look again."),
        work=Work.EVENNESS,
    ),
    NextStep(
        None,
        "closing:disagrees",
        _(
            "Look again at both with the marked blade up; make sure that the photo is not mirrored. "
            "Do not scrape a side yet."
        ),
        work=Work.EVENNESS,
    ),
    NextStep(
        None,
        "unevenness:alone",
        _("Press lightly with a finger: which side closes first? Both must agree before a side is scraped."),
        work=Work.EVENNESS,
    ),
    NextStep(None, "a4_cents:above", REFERENCE_FIRST, caution=NOT_FOR_PITCH, work=Work.INTONATION),
    NextStep(None, "a4_cents:below", REFERENCE_FIRST, caution=NOT_FOR_PITCH, work=Work.INTONATION),
    NextStep(
        None,
        "low_notes:unseen",
        _("See first whether both sides close together."),
        source=CP,
        work=Work.LOW_NOTES,
    ),
    NextStep(
        None,
        "nothing:speaks",
        _(
            "See first whether it is airtight: close the sides lightly, close the foot, and blow. "
            "Until then take nothing off."
        ),
        source=CP,
        forbids=frozenset({Takes.SCRAPE, Takes.CLIP}),
    ),
    NextStep(
        None,
        "effort:easy",
        _("Do not scrape on. Play it in, then listen whether it is flat."),
        forbids=frozenset({Takes.SCRAPE}),
    ),
    NextStep(None, "staple_length:above", RIGHT_STAPLE),
    NextStep(None, "staple_length:below", RIGHT_STAPLE),
    NextStep(None, "opening_height:below", OPEN_BY_HAND, caution=BY_HAND),
    NextStep(None, "opening_area:below", OPEN_BY_HAND, caution=BY_HAND),
    NextStep(None, "opening_area:above", _("Close it a little by hand, soaked."), caution=BY_HAND),
    NextStep(
        Style.SHORT,
        "opening_height:above",
        _("Close it by hand, soaked. For the next blank: the fold was cut too deep, or the blades forced."),
        caution=BY_HAND,
        source=CP,
    ),
    _short(
        "side:left",
        Work.EVENNESS,
        _("Scrape the left side a little, on both blades: it stays open, so less was taken there."),
    ),
    _short(
        "side:right",
        Work.EVENNESS,
        _("Scrape the right side a little, on both blades: it stays open, so less was taken there."),
    ),
    _short(
        "effort:hard",
        Work.EFFORT,
        _("Take a little more from the first scraped area, below the tip; leave the tip."),
    ),
    _short("low_notes:low", Work.LOW_NOTES, _("Take a little from the lower part of the scrape.")),
    _short("staccato:low", Work.STACCATO, _("Take a little from the middle of the tip.")),
    _short("third_octave:low", Work.THIRD_OCTAVE, _("Take a little just under the tip.")),
    _clip(Style.SHORT, "flat_and_easy", Work.INTONATION, CLIP_A_LITTLE, Takes.SCRAPE),
    NextStep(
        Style.SHORT,
        "sharp_and_hard",
        _("Do not clip. Open it a little by hand, soaked, and test again."),
        caution=BY_HAND,
        work=Work.EFFORT,
        forbids=frozenset({Takes.CLIP}),
    ),
    NextStep(
        Style.SHORT,
        "flexible_cane",
        _("Scrape shorter and look more often: very flexible cane is easily overdone."),
        source=CP,
    ),
    NextStep(
        None,
        "fold_cut:deep",
        _("Close it by hand, soaked, before it is tied and after. For the next blank: cut half through."),
        caution=BY_HAND,
        source=CP,
    ),
    NextStep(
        Style.SHORT,
        "edges:square",
        _("Round the edges of one blade before it is tied."),
        caution=BLADE,
        source=CP,
    ),
    NextStep(
        Style.SHORT,
        "blades_lie:slip",
        _("Press it back by hand, soaked; where it does not stay, tie it again."),
        caution=BY_HAND,
    ),
    NextStep(
        None,
        "blades_lie:gap",
        _("Press the blades home by hand, soaked; where they do not meet, tie it again."),
        caution=BY_HAND,
        forbids=frozenset({Takes.SCRAPE, Takes.CLIP}),
    ),
    NextStep(
        None,
        "tied_straight:turned",
        _("Tie it again, straight, while it is a blank."),
        caution=THREAD,
        source=CP,
    ),
    NextStep(
        None,
        "thread_force:forced",
        _("Take off the last turns and wind them again without force; close it by hand, soaked."),
        caution=THREAD,
        source=CP,
    ),
    NextStep(
        Style.SHORT,
        "wire_twist:side",
        _("Turn the wire until its twist lies on the flat side."),
        caution=WIRE,
        source=CP,
    ),
    *(
        NextStep(
            None,
            f"waxed_knotted:{choice}",
            _("Knot it; wax holds the turns."),
            caution=OFF_THE_BLADES,
            source=CP,
        )
        for choice in ("waxed", "neither")
    ),
    NextStep(
        Style.SHORT,
        "bark_line:aslant",
        _("Press lightly with a finger before anything more comes off: which side closes first?"),
        source=CP,
    ),
    NextStep(
        Style.SHORT,
        "grain_lines:further",
        _("Take nothing more off there. Let it rest, then play it and look at the opening."),
        source=CP,
        forbids=frozenset({Takes.SCRAPE}),
    ),
    NextStep(
        Style.SHORT,
        "sounds:after",
        _("For the next reed: both sides alike until it sounds, then the corners, then the tip."),
        source=CP,
    ),
    NextStep(
        Style.SHORT,
        "sounds:not_yet",
        _("Leave corners and tip until both sides close alike and it sounds."),
        source=CP,
    ),
    NextStep(
        Style.SHORT,
        "tip_middle:early",
        _("Leave it now, and do the corners first; the middle is what the staccato wants last."),
        source=CP,
    ),
    _scrape(Style.SHORT, "corners:uneven", Work.CORNERS, CORNER_ALIKE),
    _scrape(Style.LONG, "corners:uneven", Work.CORNERS, CORNER_ALIKE),
    _clip(Style.LONG, "crow:flat", Work.INTONATION, CLIP_A_LITTLE),
    _long("crow:sharp", Work.EFFORT, FROM_THE_BACK),
    _clip(
        Style.LONG,
        "crow:wild",
        Work.TIP,
        _("Stop scraping; clip a little, then refine the tip."),
        Takes.SCRAPE,
    ),
    _long(
        "effort:hard",
        Work.EFFORT,
        _("Take a little from the tip and test; then from the sides of the heart; then from the back."),
        _FIXES,
    ),
    NextStep(
        Style.LONG,
        "sharp_and_hard",
        _("Do not clip. Take a little from the sides of the heart or from the back; keep both rails."),
        Takes.SCRAPE,
        KNIFE,
        _FIXES,
        Work.EFFORT,
        frozenset({Takes.CLIP}),
    ),
    _clip(Style.LONG, "flat_and_easy", Work.INTONATION, CLIP_A_LITTLE, Takes.SCRAPE),
    _clip(
        Style.LONG,
        "third_octave:low",
        Work.THIRD_OCTAVE,
        _("Leave the back alone; clip a little: 0.2 mm at most at a time."),
    ),
    _long("low_notes:low", Work.LOW_NOTES, FROM_THE_BACK),
    _long("staccato:low", Work.STACCATO, _("Take a little from the tip, the corners first.")),
    NextStep(
        Style.LONG,
        "closing:middle_first",
        _("Heart and spine may be too thin: note it for the next reed."),
    ),
)

_BY_KEY = {(step.style, step.finding): step for step in NEXT_STEPS}


def step_for(style: Style, finding: str) -> NextStep | None:
    """Return the usual next step for a finding in a style, or None; steps never cross from style to style."""
    return _BY_KEY.get((style, finding)) or _BY_KEY.get((None, finding))


def with_step(found: Finding, facts: ReedFacts, key: str) -> Finding:
    """Return the finding with the usual next step for `key`, as far as this student may take it at once.

    A step that cannot be undone is withheld while the reed leaks, and from a student whose teacher has
    not allowed it; the finding then says what to do instead and `waits`.
    """
    step = step_for(facts.style, key)
    if step is None:
        return found
    found = replace(found, step_key=key)
    if step.irreversible and facts.choice("airtight") == "no":
        return replace(found, next_step=LEAK_FIRST, waits=True)
    if step.irreversible and not facts.may_act:
        return replace(found, next_step=WAIT, waits=True)
    return _taken(found, step, facts.style)


def _taken(found: Finding, step: NextStep, style: Style) -> Finding:
    told = replace(found, next_step=step.text, caution=step.caution, irreversible=step.irreversible)
    doing = experiment_for(style, found.step_key) if step.irreversible else None
    return replace(told, how=doing.how, then=doing.then) if doing else told


def allowed(found: Finding, style: Style) -> Finding | None:
    """Return what was found of a reed of a style as one reads it who need not wait: with the step withheld.

    None where that rests on more than the finding: a recording may be no ground for a knife.
    """
    if not found.waits or found.next_step == LEAK_FIRST:
        return found
    step = step_for(style, found.step_key)
    if step is None or found.quantity in FROM_TAKES:
        return None
    return replace(_taken(found, step, style), waits=False)


def experiment_in(findings: Iterable[Finding], style: Style) -> Experiment | None:
    """Return the experiment of the one finding that has a step, be it one that waits for the teacher."""
    asking = [one for one in findings if (one.irreversible or one.waits) and one.next_step != LEAK_FIRST]
    found = [experiment_for(style, one.step_key) for one in asking]
    return next((one for one in found if one), None)
