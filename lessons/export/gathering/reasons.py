"""What is not in an export, each with its reason: a test walks the models, so that none is forgotten."""

from __future__ import annotations

from reeds.numbers.words import gettext_noop as _

# kept rows of people, by their model
LEFT_OUT: dict[str, str] = {
    "studio.Person": _("how somebody signs in is theirs alone; names are in people.csv"),
    "studio.Studio": _("its name, time zone and A stand in README.txt"),
    "studio.Invitation": _("an invitation opens the studio to whoever has it"),
    "studio.SignInLink": _("such a link would let anybody sign in who has it"),
    "studio.Phone": _("whoever has where a device is told could send notices to it"),
    "studio.SentForm": _("that a form was sent twice says nothing of a reed"),
    "studio.WorkerLease": _("which machine works says nothing of a reed"),
    "lessons.CalendarLink": _("such a link opens a calendar to whoever has it, and it cannot be read back"),
    "lessons.Export": _("an export says nothing that this one does not say"),
    "lessons.TermReport": _("a report is made anew of the numbers that are here"),
    "lessons.Notice": _("that somebody was told says nothing of a reed"),
    "lessons.Looking": _("who has a round open holds for a minute"),
}
# things of rows that are in it
PARTS_LEFT_OUT: dict[str, str] = {
    "pictures made of other pictures": _("they are made of the photos that are here"),
    "lines of a recording": _("pitch and level are drawn from the recordings that are here"),
    "letters on paper": _("a PDF is made anew of the letter, whose words are in letters.csv"),
    "places of a comparison that no blank has taken": _("what will be drawn next must stay unknown"),
    "numbers sent with a round": _("numbers.csv has them with their times"),
}
