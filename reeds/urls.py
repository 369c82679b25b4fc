"""Addresses of one reed's life."""

from django.urls import path

from reeds.photo.views import card, compare, lengths, opening, photos, tool
from reeds.reed.views import cane, reeds
from reeds.sheet.views import doubts, offsets, own, patterns, playing
from reeds.take import views as takes
from reeds.timeline.views import numbers, reed, sureness

app_name = "reeds"
urlpatterns = [
    path("reeds/", reeds.reeds, name="reeds"),
    path("reeds/new/", reeds.make, name="make"),
    path("reeds/made/<uuid:batch>/", reeds.made, name="made"),
    path("reeds/<int:pk>/", reed.reed, name="reed"),
    path("reeds/<int:pk>/numbers/", numbers.numbers, name="numbers"),
    path("reeds/<int:pk>/step/", reed.step, name="step"),
    path("reeds/<int:pk>/clip/", reed.clip, name="clip"),
    path("reeds/<int:pk>/strokes/", reed.strokes, name="strokes"),
    path("reeds/<int:pk>/life/", reed.life, name="life"),
    path("reeds/<int:pk>/give-up/", reed.give_up, name="give_up"),
    path("reeds/<int:pk>/made-of/", reed.made_of, name="made_of"),
    path("reeds/<int:pk>/sheet/", reed.move_sheet, name="move_sheet"),
    path("reeds/<int:pk>/take-out/", reed.take_out, name="take_out"),
    path("reeds/events/<int:pk>/take-back/", reed.take_back, name="take_back"),
    path("cane/", cane.lots, name="cane"),
    path("cane/new/", cane.add, name="cane_add"),
    path("cane/<int:pk>/", cane.lot, name="cane_lot"),
    path("cane/<int:pk>/finish/", cane.finish, name="cane_finish"),
    path("sheets/", patterns.patterns, name="patterns"),
    path("sheets/new/", patterns.new, name="pattern_new"),
    path("sheets/doubts/", doubts.doubts, name="doubts"),
    path("sheets/own/", own.own, name="own"),
    path("sheets/own/number/", own.add, {"kind": "number"}, name="own_number"),
    path("sheets/own/seen/", own.add, {"kind": "seen"}, name="own_seen"),
    path("sheets/own/<int:pk>/change/", own.change, name="own_change"),
    path("sheets/own/<int:pk>/retire/", own.retire, name="own_retire"),
    path("sheets/<int:pk>/", patterns.pattern, name="pattern"),
    path("sheets/<int:pk>/change/", patterns.edit, name="pattern_edit"),
    path("sheets/<int:pk>/playing/", playing.edit, name="playing_edit"),
    path("sheets/<int:pk>/put-away/", patterns.put_away, name="pattern_put_away"),
    path("people/<int:pk>/offsets/", offsets.offsets, name="offsets"),
    path("box/", reeds.box, name="box"),
    path("check-tool/", tool.check_tool, name="check_tool"),
    path("check-tool/<int:pk>/", tool.by_caliper, name="by_caliper"),
    path("how-sure/", sureness.how_sure, name="how_sure"),
    path("card/", card.card, name="card"),
    path("card/<int:pk>/bar/", card.bar, name="card_bar"),
    path("card/<int:pk>/card.<slug:kind>", card.card_file, name="card_file"),
    path("photos/compare/", compare.compare, name="compare"),
    path("photos/<int:pk>/flat/", compare.flat, name="flat"),
    path("photos/<int:pk>/flatten/", compare.flatten, name="flatten"),
    path("photos/<int:pk>/flattening/", compare.flattening, name="flattening"),
    path("photos/<int:pk>/measure/", lengths.measure, name="measure"),
    path("photos/<int:pk>/measure/look/", lengths.look, name="look"),
    path("photos/<int:pk>/measure/looking/", lengths.looking, name="looking"),
    path("photos/<int:pk>/measure/figures/", lengths.figures, name="figures"),
    path("photos/<int:pk>/measure/keep/", lengths.keep, name="keep_lengths"),
    path("photos/<int:pk>/opening/", opening.opening, name="opening"),
    path("photos/<int:pk>/opening/this/", opening.say_it_is_the_opening, name="opening_this"),
    path("photos/<int:pk>/opening/figures/", opening.opening_figures, name="opening_figures"),
    path("photos/<int:pk>/opening/keep/", opening.keep, name="opening_keep"),
    path("photos/<int:pk>/<slug:size>/", photos.photo_file, name="photo"),
    path("takes/<int:pk>/", takes.take, name="take"),
    path("takes/<int:pk>/heard/", takes.heard, name="take_heard"),
    path("takes/<int:pk>/sound/", takes.sound, name="take_sound"),
    path("reeds/<int:pk>/reference/", reed.reference, name="reference"),
]
