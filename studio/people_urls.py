"""Addresses of a studio's own affairs: its people, terms and settings."""

from django.urls import path

from studio.views import (
    address,
    arrive,
    guardian,
    invitations,
    journal,
    me,
    members,
    people,
    settings_page,
    terms,
)

urlpatterns = [
    path("", arrive.home, name="home"),
    path("me/", me.me, name="me"),
    path("me/told/", me.told, name="told"),
    path("me/elsewhere/", me.sign_out_elsewhere, name="sign_out_elsewhere"),
    path("me/address/", address.ask_again, name="ask_address"),
    path("journal/", journal.journal, name="journal"),
    path("people/", people.people, name="people"),
    path("people/invite/", invitations.invite, name="invite"),
    path("people/invitations/<int:pk>/", invitations.invitation, name="invitation"),
    path("people/invitations/<int:pk>/send/", invitations.send, name="send_invitation"),
    path("people/invitations/<int:pk>/revoke/", invitations.revoke, name="revoke_invitation"),
    path("people/<int:pk>/", members.member, name="member"),
    path("people/<int:pk>/role/", members.change_role, name="change_role"),
    path("people/<int:pk>/children/", members.tie, name="tie_children"),
    path("people/<int:pk>/consent/", members.consent, name="consent"),
    path("people/<int:pk>/consent/withdraw/", members.withdraw, name="withdraw_consent"),
    path("people/<int:pk>/end/", members.end, name="end_membership"),
    path("people/<int:pk>/back/", members.back, name="take_back"),
    path("people/<int:pk>/second-step/", members.drop_second_step, name="drop_second_step"),
    path("people/<int:pk>/link/", members.make_link, name="make_sign_in_link"),
    path("people/links/<int:pk>/", members.link, name="sign_in_link"),
    path("children/<int:pk>/consent/", guardian.consent, name="child_consent"),
    path("children/<int:pk>/consent/give/", guardian.give, name="give_consent"),
    path("children/<int:pk>/consent/take-back/", guardian.take_back, name="take_consent_back"),
    path("children/<int:pk>/consent/erase/", guardian.erase, name="erase_hidden"),
    path("terms/", terms.terms, name="terms"),
    path("terms/new/", terms.new_term, name="new_term"),
    path("terms/<int:pk>/", terms.edit_term, name="edit_term"),
    path("terms/<int:pk>/drop/", terms.drop_term, name="drop_term"),
    path("settings/", settings_page.settings, name="studio_settings"),
]
