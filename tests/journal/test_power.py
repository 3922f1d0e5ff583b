"""Promises 3 and 4 under a power cut at any moment: what was answered for is there, and the session goes on.

`scripts/bench/faults` cuts at each moment in each way; here a few of them stand for the others.
"""

import random
import shutil

import pytest

from assistant.errors import AssistantError
from assistant.journal.seal import installation_key
from scripts.bench.medium import VARIANTS, Step, cuts
from scripts.bench.medium import RecordingDisk as Recording
from tests.journal.whole_course import lost, recorded


def steps_of(root, forgets=lambda _path: False):
    """All steps of the course on a disk; both folders and the key were there, and synced, before."""
    installation_key(root / "keys")
    (root / "sessions").mkdir()
    disk = Recording(forgets)
    recorded(root, disk, disk.acknowledge)
    return [Step("folder", root / "keys"), Step("folder", root / "sessions"), Step("sync", root), *disk.steps]


def after_cut(root, medium, to, variant, chance):
    """Acknowledged entries that the cut lost."""
    medium.leave(to, variant, chance)
    shutil.copy2(root / "keys" / "seal-key.pem", to / "keys" / "seal-key.pem")
    return lost(to, medium.acknowledged)


@pytest.fixture(scope="module")
def power(tmp_path_factory):
    root = tmp_path_factory.mktemp("power")
    return root, steps_of(root)


@pytest.mark.parametrize("variant", VARIANTS)
def test_after_a_cut_nothing_acknowledged_is_lost_and_the_session_goes_on(power, tmp_path, variant):
    root, steps = power
    chance, count = random.Random(variant), 0
    for number, medium in cuts(steps, root):
        if number >= 3 and medium.under_way and number % 4 == len(variant) % 4:
            assert after_cut(root, medium, tmp_path / "cut", variant, chance) == 0, (variant, number)
            count += 1
    assert count > 5


@pytest.mark.parametrize("name", ["journal.jsonl", "checkpoints.jsonl", "register.jsonl"])
def test_a_sync_left_out_is_found_by_these_cuts(tmp_path, name):
    """The checks can fail: without the sync of one file, some cut loses entries or makes the session look forged."""
    root = tmp_path / "power"
    root.mkdir()
    chance = random.Random(1)
    for number, medium in cuts(steps_of(root, lambda path: path.name == name), root):
        try:
            if number >= 3 and after_cut(root, medium, tmp_path / "cut", "nothing", chance) > 0:
                return
        except (AssertionError, AssistantError):
            return
    pytest.fail("no cut found it")
