"""Second steps for tests: setting one up as a person does, and the code a phone would show."""

from __future__ import annotations

import re
import time

from allauth.mfa.totp.internal.auth import TOTP, format_hotp_value, hotp_value

PASSWORD = "cane and thread and wax"
SET_UP = "/account/second-step/totp/activate/"
STEP = "/account/second-step/authenticate/"
CODES = "/account/second-step/recovery-codes/"
SECRET = "JBSWY3DPEHPK3PXPJBSWY3DPEHPK3PXP"


def code(secret=SECRET, later_s=0):
    """Return what a phone that knows the secret shows now (RFC 6238: thirty seconds, six digits, SHA-1)."""
    return format_hotp_value(hotp_value(secret, int(time.time() + later_s) // 30))


def a_wrong_code(secret=SECRET):
    near = {code(secret, later_s) for later_s in (-30, 0, 30)}
    return next(one for one in ("111111", "222222", "333333", "444444") if one not in near)


def with_password(member):
    member.person.set_password(PASSWORD)
    member.person.save()
    return member


def with_phone(member):
    """Give a member a password and a phone that shows codes."""
    TOTP.activate(with_password(member).person, SECRET)
    return member


def sign_in(client, member):
    return client.post("/account/login/", {"login": member.person.username, "password": PASSWORD})


def say_it_is_me(client):
    return client.post("/account/reauthenticate/", {"password": PASSWORD})


def set_up_phone(client):
    """Set the phone up by the pages, as somebody signed in; return its secret and the codes to print."""
    say_it_is_me(client)
    secret = re.search(r'id="secret" value="(\w+)"', client.get(SET_UP).content.decode()).group(1)
    answer = client.post(SET_UP, {"code": code(secret)})
    assert answer.url == CODES
    return secret, re.findall(r"<code>(\d{8})</code>", client.get(CODES).content.decode())
