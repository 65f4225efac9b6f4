"""How the tests draw their cases."""

from hypothesis import settings

# How long one case takes on a busy machine says nothing about the code.
settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")
