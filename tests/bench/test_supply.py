"""What the assistant is made of: every licence is known and goes with ours, and no answer is no good answer."""

from __future__ import annotations

import json

import pytest

from scripts import licences, supply


def test_every_part_has_a_licence_that_goes_with_ours():
    parts = licences.parts()
    assert len(parts) > 60
    for part in parts:
        assert licences.identifiers(part.licence) <= licences.GOES_WITH_GPL3, part
    inside = {part.inside for part in licences.INSIDE}
    assert inside <= licences.locked().keys()


@pytest.mark.parametrize(
    ("name", "licence"),
    [
        ("pint", "BSD-3-Clause"),  # its metadata says only 'BSD'
        ("soxr", "LGPL-2.1-or-later"),
        ("certifi", "MPL-2.0"),
        ("vosk", "Apache-2.0"),  # its metadata says 'UNKNOWN'
        ("fpdf2", "LGPL-3.0-only"),
    ],
)
def test_licences_that_were_wrong_or_missing_once(name, licence):
    assert licences.licence_of(name) == licence


def test_a_package_that_nobody_looked_at_is_an_error():
    with pytest.raises(ValueError, match="read its licence"):
        licences.licence_of("a-package-that-is-not-there")


def answer(*packages):
    return json.dumps({"dependencies": list(packages)})


def test_a_vulnerability_is_found_and_silence_is_not_taken_for_good():
    whole = [{"name": name, "version": "1", "vulns": []} for name in supply.locked_here()]
    assert supply.judged(answer(*whole), "")[0] == 0
    skipped = [*whole[1:], {"name": whole[0]["name"], "skip_reason": "not found"}]
    assert supply.judged(answer(*skipped), "No known vulnerabilities found")[0] == supply.UNKNOWN
    assert supply.judged(answer(*whole[1:]), "")[0] == supply.UNKNOWN
    bad = [*whole[1:], {"name": whole[0]["name"], "version": "1", "vulns": [{"id": "PYSEC-0"}]}]
    status, told = supply.judged(answer(*bad), "")
    assert status == supply.FOUND and "PYSEC-0" in told
    for out in ("", "not JSON", "[]"):
        assert supply.judged(out, "no route")[0] == supply.UNKNOWN
