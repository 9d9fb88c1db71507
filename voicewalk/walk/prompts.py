"""The catalogue of messages that the walk may speak: name -> variables.

The wording per language is ``voice``'s; a test checks that each message is worded with exactly
these variables. Numbers go as decimal strings, lists of names joined by ", ".
"""

from __future__ import annotations

PROMPTS: dict[str, tuple[str, ...]] = {
    # start, resume, close
    "started": ("subject", "identity", "card", "items", "caution"),
    "resumed": ("subject", "identity", "last", "next"),
    "close-refused": ("count", "names"),
    "closed": ("satisfactory", "discrepancies", "not_inspected", "caution"),
    "sealed": ("key", "head"),  # the first signs of the recorder's fingerprint and of the head
    # after an entry was kept; "again" is "yes" where it replaces an earlier one, else "no";
    # "good" is "yes", "no" or "open"; a limit is in the reading's unit; other parts may be ""
    "recorded-satisfactory": ("item", "again"),
    "recorded-state": ("item", "state", "good", "again"),
    "recorded-reading": ("item", "value", "unit", "again"),
    "recorded-reading-low": ("item", "value", "unit", "limit", "again"),
    "recorded-reading-high": ("item", "value", "unit", "limit", "again"),
    "recorded-reading-open": ("item", "value", "unit", "why", "again"),
    "recorded-reading-apart": ("item", "value", "unit", "difference", "other", "again"),
    "recorded-quantity": ("item", "state", "value", "unit", "why", "again"),
    "recorded-serviced": ("item", "value", "unit", "added", "again"),
    "recorded-status": ("item", "status", "was"),
    "then": ("then",),
    "estimate": ("value", "unit"),
    "classed": ("scheme", "grade"),
    "recorded-count": ("item", "seen", "again"),
    "recorded-count-wrong": ("item", "seen", "expected", "again"),
    "recorded-count-open": ("item", "state", "seen", "expected", "open", "names", "again"),
    "recorded-promised": ("item", "owner", "again"),
    "recorded-still-open": ("item", "reason", "again"),
    "recorded-discrepancy": ("item", "defect", "place", "size", "size_unit", "again"),
    "recorded-not-inspected": ("item", "reason", "again"),
    "recorded-not-applicable": ("item", "again"),
    "recorded-remark": (),
    "disregarded": ("item",),
    "reopened": ("names",),
    # asking back
    "ask-confirm": ("call",),
    "ask-confirm-over": ("call", "before"),
    "ask-confirm-far": ("call", "before", "when"),
    "ask-either": ("call", "first", "second"),
    "ask-choice": ("call", "first", "second"),
    "affirmed-neither": (),
    "ask-digits": ("item",),
    "given-up": ("names",),
    "ask-again": (),
    "ask-which-side": ("item",),
    "ask-which-item": (),
    "ask-unit": ("value", "units"),
    "ask-result": ("item",),
    "ask-state": ("item", "states"),
    "ask-reading": ("item", "units"),
    "ask-servicing": ("item", "state", "units"),
    "ask-count": ("item",),
    "ask-count-open": ("item", "seen", "expected", "names"),
    "ask-owner": ("item",),
    "ask-status": ("item", "proposed", "states"),
    "ask-reason": ("item",),
    "ask-correction": (),
    "ask-remark": (),
    "nothing-to-answer": (),
    "asked-too-late": (),  # an answer began before its question was told; the question follows
    "no-result": (),  # talk of an item
    "one-call": (),  # a call, and more in the same breath
    # the second person
    "second-reading": ("item",),
    "second-count": ("item",),
    "second-state": ("item",),
    "second-affirm": ("item", "call"),
    "second-differs": ("item", "first", "second"),
    "second-negative": ("item",),
    "second-no-answer": (),
    "second-silent": ("item",),
    "second-pending": ("count", "names"),
    "close-unconfirmed": ("count", "names"),
    "recorded-confirmation": ("item",),
    # leading
    "item": ("station", "item"),
    "action": ("action",),
    "hold": ("item", "role"),
    "where": ("last", "next", "count"),
    "open": ("count", "names"),
    "all-closed": (),
    "caution-needs": ("item", "names"),
    "standing-by": (),
    "going-on": ("last", "next"),
    # after an interruption
    "ask-identity": ("subject",),
    "identity-differs": ("said", "subject"),
    "identified": ("identity", "last", "names", "next"),
    "hearing": ("heard",),  # "good", "fair", "poor", "quiet" or "clipped", by the identity's sound
    "expired": ("hours", "count"),
    # what earlier records say; "when" is a time, RFC 3339
    "earlier-walk": ("when", "expired"),
    "earlier-discrepancy": ("item", "defect", "place", "size", "size_unit", "status", "when"),
    "earlier-sent-back": ("item", "reason", "when"),
    "earlier-skipped": ("item", "times", "walks"),
    "seen-before": ("when",),
    "ask-acknowledge": (),
    # another inspector goes on
    "ask-successor": (),
    "handed-over": ("to",),
    "hand-over-item": ("item", "known"),
    "hand-over-count": ("item", "seen", "expected", "names"),
    "hand-over-begun": ("count", "names"),
    "hand-over-discrepancies": ("count", "names"),
    "hand-over-not-called": ("count", "names"),
    # trouble
    "not-recorded": ("reason",),
    "recording-again": (),
    "device-lost": (),
    "device-back": (),
    "device-other": (),
    "sound-lost": ("seconds",),  # "" for less than two, or nobody knows
    "clock-stepped": (),
}
