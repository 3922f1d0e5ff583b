"""The labelled parts of the coupling: each part that the procedure speaks of has its label, within the picture."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

from assistant.config.procedure_file import usual_procedure
from assistant.report.coupling_picture import coupling_svg


def test_every_part_that_is_asked_about_is_labelled_within_the_picture():
    root = ET.fromstring(coupling_svg())
    width, height = (int(each) for each in root.attrib["viewBox"].split()[2:])
    texts = {(each.text or ""): each for each in root.iter() if each.tag.endswith("text")}
    asked = " ".join(step.ask or "" for step in usual_procedure("split clamp coupling").steps).casefold()
    for part in ("clamp flange", "seal", "centring ring", "stop pin", "bridge piece", "split"):
        assert part in asked and any(part in label for label in texts), part
    for label, at in texts.items():
        assert int(at.attrib["x"]) >= 0 and int(at.attrib["x"]) + 7 * len(label) <= width, label
        assert 12 <= int(at.attrib["y"]) <= height, label
    assert not re.search(r"https?://(?!www\.w3\.org)", coupling_svg())
