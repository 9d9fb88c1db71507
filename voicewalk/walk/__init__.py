"""The pure state machine of a walk: inputs in, effects out."""
