"""Records a walkaround inspection by voice, hands-free and offline.

The rooms, from the outside in: ``audio`` brings clips, ``hearing`` turns a clip into a
meaning or into the honest answer that it has none, ``walk`` decides what follows, ``record``
keeps it, ``voice`` says it. ``session`` is the only place that joins them.
"""

import os

__version__ = "0.1.0"

# onnxruntime sends what it is used for to its maker, and keeps an identifier of the machine in the
# user's cache, unless this stands when it is first imported (its Privacy.md, "Disabling
# Telemetry"). Here it stands before any module of ours, in every process that imports one.
os.environ["ORT_DISABLE_TELEMETRY"] = "1"
