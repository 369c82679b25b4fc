"""allauth's behaviour that is ours: nobody signs up without an invitation."""

from allauth.account.adapter import DefaultAccountAdapter
from django.http import HttpRequest


class InvitedOnly(DefaultAccountAdapter):
    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False
