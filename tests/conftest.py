"""What holds for all tests."""

from hypothesis import settings

# How long a case takes depends on the machine and on who else is using it: speed is measured in benchmarks/.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
