"""What every test shares: laws are tested without a stopwatch, as a busy machine is no defect of ours."""

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
