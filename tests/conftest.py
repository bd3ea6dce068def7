"""What all tests share: property tests try the same examples every time, and no clock ends one."""

from hypothesis import settings

settings.register_profile("the same every time", derandomize=True, deadline=None)
settings.load_profile("the same every time")
