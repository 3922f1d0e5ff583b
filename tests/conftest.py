"""Settings for all tests: no network (pytest-socket), Hypothesis without a clock."""

from hypothesis import HealthCheck, settings

settings.register_profile("ours", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("ours")
