"""Lets an example of a property test take as long as a busy machine needs: no test is timed."""

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
