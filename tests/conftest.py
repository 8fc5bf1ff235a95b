"""Every run of the tests draws the same random examples, so that a red run can be repeated."""

from hypothesis import settings

settings.register_profile("repeatable", derandomize=True)
settings.load_profile("repeatable")
