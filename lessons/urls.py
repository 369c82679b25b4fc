"""Addresses of what happens between teacher and student."""

from django.urls import path

from lessons.answering.views import marks, phrases, queue, review, rounds, spans, voice
from lessons.calendar import views as calendar
from lessons.comparison.views import ask
from lessons.demonstration import views as demonstrations
from lessons.foretelling import views as foretelling
from lessons.lesson.views import desk, lessons, work
from lessons.letter.views import reading, writing
from lessons.log import views as logs
from lessons.sending.views import photos, send, takes
from lessons.term import views as term
from lessons.voice import views as voices

app_name = "lessons"
urlpatterns = [
    path("desk/", desk.desk, name="desk"),
    path("send/", send.pick, name="send"),
    path("send/<int:pk>/", send.draft, name="draft"),
    path("send/<int:pk>/save/", send.save, name="save"),
    path("send/<int:pk>/stage/", send.stage, name="stage"),
    path("send/<int:pk>/photo/", photos.add, name="photo"),
    path("send/<int:pk>/photo/<int:photo>/view/", photos.view, name="photo_view"),
    path("send/<int:pk>/photo/<int:photo>/remove/", photos.remove, name="photo_remove"),
    path("send/<int:pk>/take/", takes.add, name="take"),
    path("send/<int:pk>/take/<int:take>/remove/", takes.remove, name="take_remove"),
    path("photos/<int:pk>/prepared", photos.prepared, name="prepared"),
    path("send/<int:pk>/go/", send.send, name="go"),
    path("send/<int:pk>/next/", send.begin_next, name="next"),
    path("rounds/<int:pk>/", rounds.round_page, name="round"),
    path("rounds/<int:pk>/read/", rounds.read, name="read"),
    path("rounds/<int:pk>/reply/", rounds.reply, name="reply"),
    path("queue/", queue.queue, name="queue"),
    path("queue/together/", queue.together, name="together"),
    path("queue/<int:pk>/", review.review, name="review"),
    path("queue/<int:pk>/looking/", review.looking, name="looking"),
    path("queue/<int:pk>/claim/", review.claim, name="claim"),
    path("queue/<int:pk>/mark/", marks.put, name="mark"),
    path("queue/<int:pk>/mark/drop/", marks.drop, name="drop_mark"),
    path("queue/<int:pk>/take/<int:take>/span/", spans.add, name="span"),
    path("queue/<int:pk>/take/<int:take>/span/drop/", spans.drop, name="drop_span"),
    path("queue/<int:pk>/voice/", voice.put, name="put_voice"),
    path("queue/<int:pk>/voice/drop/", voice.drop, name="drop_voice"),
    path("queue/<int:pk>/keep/", review.keep, name="keep"),
    path("queue/<int:pk>/answer/", review.answer, name="answer"),
    path("voices/<int:pk>/", voices.heard, name="voice"),
    path("voices/<int:pk>/sound", voices.sound, name="voice_sound"),
    path("demonstrations/", demonstrations.demonstrations, name="demonstrations"),
    path("demonstrations/new/", demonstrations.new, name="demonstration_new"),
    path("demonstrations/<int:pk>/", demonstrations.demonstration, name="demonstration"),
    path("demonstrations/<int:pk>/edit/", demonstrations.edit, name="demonstration_edit"),
    path("demonstrations/<int:pk>/away/", demonstrations.put_away, name="demonstration_away"),
    path("demonstrations/<int:pk>/kept/", demonstrations.kept, name="demonstration_kept"),
    path("demonstrations/<int:pk>/photo/<slug:size>", demonstrations.photo, name="demonstration_photo"),
    path("demonstrations/<int:pk>/sound", demonstrations.sound, name="demonstration_sound"),
    path("lessons/", lessons.lessons, name="lessons"),
    path("lessons/new/", lessons.new, name="lesson_new"),
    path("lessons/<int:pk>/", lessons.lesson, name="lesson"),
    path("lessons/<int:pk>/note/", lessons.note, name="lesson_note"),
    path("lessons/<int:pk>/agree/", lessons.agree, name="lesson_agree"),
    path("lessons/<int:pk>/edit/", lessons.edit, name="lesson_edit"),
    path("lessons/<int:pk>/remove/", lessons.remove, name="lesson_remove"),
    path("work/new/", work.new, name="work_new"),
    path("work/<int:pk>/", work.work, name="work"),
    path("work/<int:pk>/reeds/", work.came_of_it, name="work_reeds"),
    path("work/<int:pk>/remove/", work.remove, name="work_remove"),
    path("queue/<int:pk>/back/", review.take_back, name="take_back"),
    path("rounds/<int:pk>/marks.json", marks.export, name="marks"),
    path("phrases/", phrases.phrases, name="phrases"),
    path("phrases/keep/", phrases.keep, name="keep_phrase"),
    path("phrases/<int:pk>/change/", phrases.change, name="change_phrase"),
    path("phrases/<int:pk>/drop/", phrases.drop, name="drop_phrase"),
    path("phrases/<int:pk>/used/", phrases.used, name="used_phrase"),
    path("letters/", reading.letters, name="letters"),
    path("letters/<int:student>/<int:term>/write/", writing.write, name="letter_write"),
    path("letters/<int:student>/<int:term>/voice/", writing.put_voice, name="letter_voice"),
    path("letters/<int:student>/<int:term>/voice/drop/", writing.drop_voice, name="letter_drop_voice"),
    path("letters/<int:pk>/", reading.letter, name="letter"),
    path("letters/<int:pk>/give/", reading.give, name="letter_give"),
    path("letters/<int:pk>/away/", writing.throw_away, name="letter_away"),
    path("letters/<int:pk>/make/", reading.make, name="letter_make"),
    path("letters/<int:pk>/made/", reading.made, name="letter_made"),
    path("letters/<int:pk>/letter.pdf", reading.pdf, name="letter_pdf"),
    path("calendar/", calendar.calendar, name="calendar"),
    path("calendar/make/", calendar.make, name="calendar_make"),
    path("calendar/back/", calendar.take_back, name="calendar_take_back"),
    path("logs/", logs.logs, name="logs"),
    path("logs/<int:pk>/", logs.log, name="log"),
    path("logs/<int:pk>/choose/", logs.choose, name="log_choose"),
    path("logs/<int:pk>/bring-in/", logs.bring_in, name="log_bring_in"),
    path("logs/<int:pk>/take-back/", logs.take_back, name="log_take_back"),
    path("logs/<int:pk>/drop/", logs.drop, name="log_drop"),
    path("foretelling/", foretelling.foretelling, name="foretelling"),
    path("term/", term.term, name="term"),
    path("term/ask/", ask.ask, name="ask"),
    path("term/<int:pk>/", term.term, name="term"),
]
