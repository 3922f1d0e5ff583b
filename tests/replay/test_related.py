"""Sessions on one joint beside each other."""

from __future__ import annotations

from assistant.replay.related import last_torques
from tests.replay.telling import record_of


def test_last_torques_are_those_of_the_full_value(done_session, demo_sessions):
    passes = record_of(done_session).passes
    found = last_torques(passes)
    assert {bolt for _, bolt in found} == set(range(1, 9))
    assert {key: value.value for key, value in found.items()} == {
        ("flange bolts", b.bolt): b.on_scale.value for b in passes[3].bolts
    }
    assert last_torques(passes[:3]).keys() == found.keys()  # then pass 2 is the highest that there was
    clamp = last_torques(record_of(demo_sessions["north-sluice-conveying-pipe-coupling"]).passes)
    assert {key[0] for key in clamp} == {"joint bolts", "split bolts"} and clamp["joint bolts", 1].value == 150
