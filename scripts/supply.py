"""What the assistant is made of: an SBOM (CycloneDX 1.6, JSON), and a look for known vulnerabilities in it.

    scripts/supply --sbom sbom.json
    scripts/supply --vulnerabilities

Both need `pip install 'bolting-assistant[supply]'` (cyclonedx-bom and pip-audit). The SBOM holds each locked package
with its hashes and licence, the libraries inside the packages, and the models by their hash. The vulnerabilities are
asked of a public service over the network. Where it cannot be reached, or does not know a package, that is said, and
nothing is taken for good.

exit codes: 0 done, 1 a known vulnerability was found, 2 the tool is missing, 3 NOT CHECKED: the data cannot be had
"""

from __future__ import annotations

import argparse
import hashlib
import json
import re
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from packaging.markers import Marker

from scripts.licences import INSIDE, LOCK, ROOT, licence_of

MODELS = ("ear/encoder.onnx", "vosk/am/final.mdl", "vosk/graph/HCLr.fst", "vosk/graph/Gr.fst", "calibration.json")
FOUND, MISSING, UNKNOWN = 1, 2, 3
SERVICES = ("osv", "pypi")


def sbom() -> dict[str, Any]:
    """The document, as the CycloneDX tool makes it from the lock, with licences, inner libraries and models added.

    Raises:
        FileNotFoundError: the tool is not installed.
        RuntimeError: it refuses.
    """
    tool = Path(sys.executable).with_name("cyclonedx-py")
    command = [str(tool), "requirements", str(LOCK), "--pyproject", str(ROOT / "pyproject.toml")]
    made = subprocess.run([*command, "--output-reproducible"], capture_output=True, text=True, check=False)
    if made.returncode:
        raise RuntimeError(made.stderr.strip())
    document: dict[str, Any] = json.loads(made.stdout)
    for component in document["components"]:
        component["licenses"] = [{"expression": licence_of(component["name"])}]
        inside = [part for part in INSIDE if part.inside == component["name"]]
        if inside:
            component["components"] = [
                {"type": "library", "name": part.name, "licenses": [{"expression": part.licence}]} for part in inside
            ]
    document["components"] += [_model(ROOT / "models" / name) for name in MODELS if (ROOT / "models" / name).exists()]
    document["dependencies"] = [each for each in document.get("dependencies", []) if each["ref"] != "root-component"]
    top = [component["bom-ref"] for component in document["components"]]
    document["dependencies"].append({"ref": "root-component", "dependsOn": top})
    return document


def _model(path: Path) -> dict[str, Any]:
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    name = path.relative_to(ROOT / "models").as_posix()
    hashes = [{"alg": "SHA-256", "content": digest}]
    return {"bom-ref": f"model {name}", "type": "machine-learning-model", "name": name, "hashes": hashes}


def invalid(document: dict[str, Any]) -> str:
    """What the schema of CycloneDX 1.6 has against it; "" for nothing."""
    from cyclonedx.schema import SchemaVersion
    from cyclonedx.validation.json import JsonStrictValidator

    found = JsonStrictValidator(SchemaVersion.V1_6).validate_str(json.dumps(document))
    return "" if found is None else str(found)[:2000]


def vulnerabilities() -> tuple[int, str]:
    """(exit code, what to say) of the look for known vulnerabilities in the locked packages."""
    reasons = []
    for service in SERVICES:
        command = [sys.executable, "-m", "pip_audit", "-r", str(LOCK), "--disable-pip", "--require-hashes"]
        command += ["-s", service, "-f", "json", "--progress-spinner", "off", "--timeout", "20"]
        looked = subprocess.run(command, capture_output=True, text=True, check=False)
        if "No module named pip_audit" in looked.stderr:
            return MISSING, "pip-audit is not installed: pip install 'bolting-assistant[supply]'"
        status, told = judged(looked.stdout, looked.stderr)
        if status != UNKNOWN:
            return status, f"{told} ({service})"
        reasons.append(f"{service}: {told}")
    told = "\n  ".join(reasons)
    return UNKNOWN, f"NOT CHECKED: the data on vulnerabilities cannot be had from here. Nothing is known.\n  {told}"


def judged(out: str, err: str) -> tuple[int, str]:
    """(exit code, what to say) of one answer of the tool.

    The tool calls a package that the service does not know 'skipped' and still ends with 0: that is no answer.
    """
    try:
        listed = json.loads(out)["dependencies"]
    except (ValueError, KeyError, TypeError):
        return UNKNOWN, (err.strip().splitlines() or ["no answer"])[-1][:160]
    found = [f"{each['name']} {each['version']}: {v['id']}" for each in listed for v in each.get("vulns", ())]
    if found:
        return FOUND, "known vulnerabilities: " + "; ".join(found)
    answered = {each["name"] for each in listed if "skip_reason" not in each}
    unknown = sorted(locked_here() - answered)
    if unknown:
        return UNKNOWN, f"no answer on {len(unknown)} of {len(locked_here())} packages, {unknown[0]} first"
    return 0, f"no known vulnerabilities in {len(answered)} packages"


def locked_here() -> set[str]:
    """Locked packages that this Python needs."""
    lines = re.findall(r"^([a-z0-9][a-z0-9._-]*)==[^ ;]+ *(?:; *([^\\\n]+))?", LOCK.read_text("utf-8"), re.MULTILINE)
    return {name for name, marker in lines if not marker.strip() or Marker(marker.strip()).evaluate()}


def main(arguments: Sequence[str] | None = None) -> int:
    """Command line."""
    p = argparse.ArgumentParser(
        prog="supply", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    p.add_argument("--sbom", type=Path, metavar="FILE", help="write the SBOM there")
    p.add_argument("--vulnerabilities", action="store_true", help="look for known vulnerabilities")
    asked = p.parse_args(arguments)
    if asked.sbom is None and not asked.vulnerabilities:
        p.error("name --sbom FILE, --vulnerabilities, or both")
    if asked.sbom is not None:
        try:
            document = sbom()
            wrong = invalid(document)
        except (FileNotFoundError, ImportError):
            print("cyclonedx-bom is not installed: pip install 'bolting-assistant[supply]'", file=sys.stderr)
            return MISSING
        if wrong:
            print(f"the SBOM does not fit CycloneDX 1.6: {wrong}", file=sys.stderr)
            return MISSING
        asked.sbom.write_text(json.dumps(document, indent=2) + "\n", "utf-8")
        print(f"{asked.sbom}: {len(document['components'])} components, CycloneDX 1.6, valid")
    if not asked.vulnerabilities:
        return 0
    status, told = vulnerabilities()
    print(told)
    return status


if __name__ == "__main__":
    raise SystemExit(main())
