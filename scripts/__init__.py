"""Benches and model building. The assistant's package comes first: it keeps onnxruntime's telemetry off."""

import assistant  # noqa: F401
