"""A notice is sealed as the example printed in RFC 8291, Message Encryption for Web Push, appendix A."""

from cryptography.hazmat.primitives.asymmetric import ec

from studio.push.sealing import sealed, sealed_with
from tests.studio.push_service import Browser, bytes_of, point_of

SAID = b"When I grow up, I want to be a watermelon"
SECRET = bytes_of("BTBZMqHH6r4Tts7J_aSIgg")
SALT = bytes_of("DGv6ra1nlYgDCS1FRnbzlw")
BROWSERS_KEY = "q1dXpw3UpT5VOmu_cf_v6ih07Aems3njxI-JWgLcM94"
BROWSERS_POINT = "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4"
SENDERS_KEY = "yfWPiYE-n46HLnH0KqZOF1fJJU3MYrct3AELtAQ-oRw"
SEALED = (
    "DGv6ra1nlYgDCS1FRnbzlwAAEABBBP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6Tlz"
    "AC8wEqKK6PBru3jl7A_yl95bQpu6cVPTpK4Mqgkf1CXztLVBSt2Ks3oZwbuwXPXLWyouBWLVWGNWQexSgSxsj_Qulcy4a-fN"
)


def key_of(text):
    return ec.derive_private_key(int.from_bytes(bytes_of(text), "big"), ec.SECP256R1())


def test_it_is_sealed_to_the_very_bytes():
    there = sealed_with(SAID, bytes_of(BROWSERS_POINT), SECRET, key_of(SENDERS_KEY), SALT)
    assert there == bytes_of(SEALED)


def test_the_browser_of_the_tests_opens_it():
    browser = Browser("", key_of(BROWSERS_KEY), SECRET)
    assert point_of(browser.key) == bytes_of(BROWSERS_POINT)
    assert browser.opened(bytes_of(SEALED)) == SAID


def test_each_time_with_another_key_and_salt():
    browser = Browser("", key_of(BROWSERS_KEY), SECRET)
    first, second = (sealed(SAID, bytes_of(BROWSERS_POINT), SECRET) for _time in range(2))
    assert first[:16] != second[:16]
    assert first[21:86] != second[21:86]
    assert browser.opened(first) == browser.opened(second) == SAID
