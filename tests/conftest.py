"""Settings for all tests: no network (pytest-socket), Hypothesis without a clock, golden files only on request."""

import os

import pytest
from hypothesis import HealthCheck, settings

pytest_plugins = ["tests.archive.postgres_server", "tests.replay.made"]

os.environ["PULSE_SERVER"] = "unix:/nowhere"  # no test looks at the sound server of whoever runs it

settings.register_profile("ours", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("searching", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("ours")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--accept-golden", action="store_true", help="write the golden event streams anew")


@pytest.fixture
def accept_golden(request: pytest.FixtureRequest) -> bool:
    return bool(request.config.getoption("--accept-golden"))
