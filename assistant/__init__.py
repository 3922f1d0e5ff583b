"""Offline, hands-free spoken assistant that guides a bolt-tightening sequence and keeps its record.

Nothing leaves the machine. onnxruntime collects usage data from 1.32 on: it keeps a device number and a queue of
events below the user's cache folder and looks up the collector's address. This switch must be in the environment before
the library is loaded, so it is set here, ahead of every engine; children inherit it. Its Python call
`disable_telemetry_events` does not help (tried: the same files, the same look-ups).
"""

import os

os.environ["ORT_DISABLE_TELEMETRY"] = "1"

__version__ = "0.2.0"
