"""Records a walkaround inspection by voice, hands-free and offline.

The rooms, from the outside in: ``audio`` brings clips, ``hearing`` turns a clip into a
meaning or into the honest answer that it has none, ``walk`` decides what follows, ``record``
keeps it, ``voice`` says it. ``session`` is the only place that joins them.
"""

__version__ = "0.1.0"
