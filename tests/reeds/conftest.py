"""How the property tests of reeds run: without a deadline, since a busy machine is no fault of the code."""

from hypothesis import settings

settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")
