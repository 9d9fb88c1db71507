"""Trains the listener in letters. Developed here and never shipped: see README.md."""

import voicewalk  # noqa: F401 - reason: it switches onnxruntime's telemetry off
