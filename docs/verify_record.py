"""Checks a voicewalk record (format 2) without voicewalk: python verify_record.py RECORD [HEAD]

Python 3.11 and `pip install cryptography`; written from docs/record-format.md alone. Not checked:
what sounds hold, what a recovered record says of its original, time stamps. HEAD is one noted
earlier. Exit code: 0 nothing wrong; 1 something is, or the file cannot be read.
"""

import hashlib
import json
import re
import sqlite3
import sys

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

BY_OTHERS = "signed|time stamped|heard and agreed|sent back|lead remark|released|not released"
TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z", re.ASCII)


def sha256(*parts):
    return hashlib.sha256(b"".join(parts)).digest()


def jcs(value):
    """RFC 8785 for the JSON of records: no floating point numbers."""
    if value is None or isinstance(value, bool | str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, int) and abs(value) < 2**53:
        return str(value)
    if isinstance(value, list):
        return "[" + ",".join(map(jcs, value)) + "]"
    if isinstance(value, dict):
        keys = sorted(value, key=lambda key: key.encode("utf-16-be"))
        return "{" + ",".join(f"{jcs(key)}:{jcs(value[key])}" for key in keys) + "}"
    raise ValueError(f"a value that no record holds: {value!r}")


def tagged(what, value):
    return f"voicewalk {what} 2".encode() + b"\0" + jcs(value).encode()


class Tree:
    """RFC 6962, section 2.1: complete subtrees as (size, hash), joined from the right."""

    def __init__(self):
        self.peaks = []

    def add(self, leaf):
        size, node = 1, sha256(b"\0", leaf)
        while self.peaks and self.peaks[-1][0] == size:
            node, size = sha256(b"\1", self.peaks.pop()[1], node), size * 2
        self.peaks.append((size, node))

    def head(self):
        if not self.peaks:
            return sha256().hex()
        node = self.peaks[-1][1]
        for _, left in reversed(self.peaks[:-1]):
            node = sha256(b"\1", left, node)
        return node.hex()


def signed_by(key, signature, message):
    try:
        raw = bytes.fromhex(key)
        Ed25519PublicKey.from_public_bytes(raw).verify(signature, message)
    except (ValueError, TypeError, InvalidSignature):
        return False
    return raw.hex() == key


def clip_of(body):
    for name in ("input", "heard", "clip"):
        body = body.get(name) if isinstance(body, dict) else None
    return body


class Check:
    """Reads one record from its first entry to its last; ``wrong`` is what was found."""

    def __init__(self, path, noted):
        self.db = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
        self.wrong, self.told, self.noted = [], [], noted
        self.clips, self.samples, self.texts = (
            dict(self.db.execute(f"SELECT {columns}"))
            for columns in ("sha256, flac FROM clips", "flac, samples FROM clips", "* FROM texts")
        )
        self.tree, self.before, self.closed = Tree(), (0, 0, 0), False
        self.named, self.gone, self.roles, self.wanted = set(), {}, {}, set()

    def need(self, holds, words):
        if not holds:
            self.wrong.append(words)

    def file(self):
        names = ("application_id", "user_version", "integrity_check")
        header = [self.db.execute(f"PRAGMA {name}").fetchone()[0] for name in names]
        self.need(header == [0x566F5761, 2, "ok"], f"this is no whole file of format 2: {header}")
        tables = self.db.execute("SELECT name FROM sqlite_master WHERE sql IS NOT NULL")
        known = {*tables} == {("meta",), ("entries",), ("clips",), ("texts",)}
        self.need(known, "other tables than a record has")
        (meta,) = self.db.execute("SELECT recorder, program, created, key FROM meta")
        meta = dict(zip(("recorder", "program", "created", "key"), meta, strict=True))
        self.key, self.root = meta["key"], sha256(tagged("record", meta)).hex()
        self.previous = self.root

    def entry(self, row):
        seq, run, wall, monotonic_ms, text, start, stored, key, signature = row
        body = json.loads(text)
        size, head = self.before[0], self.tree.head()
        names = ("seq", "run", "wall", "monotonic_ms", "body", "start", "previous")
        parts = (seq, run, wall, monotonic_ms, body, start, self.previous)
        link = sha256(tagged("entry", dict(zip(names, parts, strict=True))))
        self.need(seq == size + 1, f"entry {seq}: the one before it is missing")
        self.need(isinstance(body, dict) and jcs(body) == text, f"entry {seq}: not canonical")
        self.need(link == stored, f"entry {seq}: its hash does not fit")
        self.need(TIME.fullmatch(wall), f"entry {seq}: its time is none")
        goes_on = run == self.before[1] and monotonic_ms >= self.before[2]
        self.need(goes_on or run == self.before[1] + 1, f"entry {seq}: its run or time runs back")
        self.tree.add(stored)
        message = tagged("head", {"root": self.root, "size": seq, "head": self.tree.head()})
        signed = signed_by(self.key if key is None else key, signature, message)
        self.need(signed, f"entry {seq}: it is not signed by the recorder")
        may = key is None or (key != self.key and re.fullmatch(BY_OTHERS, body["kind"]))
        self.need(may, f"entry {seq}: another recorder must not add such an entry")
        self.about(seq, wall, body, size, head)
        self.before, self.previous = (seq, run, monotonic_ms), stored.hex()
        if self.noted and self.tree.head().startswith(self.noted):
            self.told.append(f"the head given stood after entry {seq}")
            self.noted = ""

    def about(self, seq, wall, body, size, head):
        """What the entry says about the walk's end, signatures, sounds and texts."""
        kind = body.get("kind", "")
        self.closed = self.closed or kind == "closed"
        self.need(self.closed or "released" not in kind, f"entry {seq}: it decides on an open walk")
        self.named |= {(seq, clip_of(body))} if clip_of(body) else set()
        if kind == "started":
            card = body.get("card", {})
            self.wanted = {card.get("digest"), *card.get("vocabularies", {}).values()} - {None}
        if kind == "redacted":
            self.gone[body["clip"]] = f"taken out by entry {seq}: {body['reason']}"
        if kind == "recovered":
            self.gone |= dict.fromkeys(body["sounds_lost"], f"lost, see entry {seq}")
            self.texts |= dict.fromkeys(body["texts_lost"])
            self.wrong = [one for one in self.wrong if not one.endswith("signature")]
            self.told.append(f"entry {seq}: recovered; what it says of its original: not checked")
        if kind == "signed":
            told = {"root": self.root, "size": size, "head": head, "wall": wall}
            message = tagged("signature", told | {name: body[name] for name in ("role", "name")})
            fits = (body["size"], body["head"], self.closed) == (size, head, True)
            fits = fits and signed_by(body["key"], bytes.fromhex(body["signature"]), message)
            self.need(fits, f"entry {seq}: no person's signature")
            for who in (body["key"], " ".join(body["name"].casefold().split())):
                one = self.roles.setdefault(who, body["role"]) == body["role"]
                self.need(one, f"entry {seq}: one person signs in two roles")
            self.told.append(f"entry {seq}: signed as {body['role']} by {body['name']}")

    def sounds_and_texts(self):
        for seq, clip in sorted(self.named):
            if clip in self.gone:
                self.need(clip not in self.clips, f"entry {seq}: its sound is gone, yet there")
                self.told.append(f"entry {seq}: its sound was {self.gone[clip]}")
            else:
                self.need(clip in self.clips, f"entry {seq}: its sound is missing")
        for kept, words in ((self.clips, "sound"), (self.texts, "text")):
            for name, data in kept.items():
                self.need(data is None or sha256(data).hex() == name, f"{words} {name}: changed")
        for flac, samples in self.samples.items():  # RFC 9639, section 8.2: STREAMINFO
            held = int.from_bytes(flac[18:26], "big") % 2**36
            self.need(held == samples, "a sound is of another length than said")
        self.need(self.clips.keys() <= {clip for _, clip in self.named}, "a sound of no entry")
        if self.before[0]:
            self.need(self.texts.keys() == self.wanted, "the card's texts are not those named")

    def run(self):
        self.file()
        columns = "seq, run, wall, monotonic_ms, body, start, hash, key, signature"
        for row in self.db.execute(f"SELECT {columns} FROM entries ORDER BY seq"):
            self.entry(row)
        self.sounds_and_texts()
        self.need(not self.noted, "the head given never stood in this record")
        self.told += [] if self.closed else ["the walk is not closed"]


def main():
    try:
        check = Check(sys.argv[1], sys.argv[2].lower() if len(sys.argv) > 2 else "")
        check.run()
    except Exception as error:  # noqa: BLE001 - the file may hold anything
        sys.exit(f"cannot be read: {error!r}")
    if check.wrong:
        sys.exit("\n".join(check.wrong))
    print("\n".join([*check.told, f"{check.before[0]} entries, recorder {check.key}"]))
    print(f"head {check.tree.head()}")


if __name__ == "__main__":
    main()
