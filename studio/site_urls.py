"""Addresses outside any studio."""

from django.urls import path
from django.views.generic import RedirectView

from studio.views import address, arrive, health, installed, join, language, sign_in

urlpatterns = [
    path("", arrive.start, name="start"),
    path("join/<str:token>/", join.join, name="join"),
    path("sign-in/<str:token>/", sign_in.sign_in, name="sign_in"),
    path("address/<str:token>/", address.address, name="address"),
    path("manifest.webmanifest", installed.manifest, name="manifest"),
    path("service-worker.js", installed.service_worker, name="service_worker"),
    path("language/", language.language, name="language"),
    path("offline/", installed.offline, name="offline"),
    path("healthz", health.healthz, name="healthz"),
    path("readyz", health.readyz, name="readyz"),
    # one e-mail a person, changed on their own page: allauth's page for several stays shut
    path("account/email/", RedirectView.as_view(pattern_name="start")),
    # an address of theirs is shown to be theirs by our own link: see studio/addresses.py
    path("account/confirm-email/", RedirectView.as_view(url="/")),
    path("account/confirm-email/<str:key>/", RedirectView.as_view(url="/")),
    path("account/second-step/webauthn/login/", sign_in.by_passkey),
]
