"""The lead's acts, through forms of the pages: each one signed entry, which both checks accept."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from review_walks import GOOD, LEAD, typed

from voicewalk.record.file import RecordReader
from voicewalk.record.keys import FOLDER_VARIABLE, make_key
from voicewalk.record.signing import Role
from voicewalk.record.verify import verify
from voicewalk.review.sessions import FREE_TRIES

CHECK = Path(__file__).parents[2] / "docs" / "verify_record.py"
PHRASE = "a long way round"


def last(path):
    with RecordReader.open(path) as record:
        return record.entries()[-1].body


def whole(path):
    done = subprocess.run(
        [sys.executable, CHECK, path], capture_output=True, text=True, check=False
    )
    return verify(path).ok and done.returncode == 0


@pytest.fixture
def act(lead, secret, folder):
    """Does an act and gives the entry that it made."""

    def done(name, record="found", client=lead, **fields):
        form = {"form": secret(client), **fields}
        answer = client.post(f"/walk/{record}/{name}", data=form)
        assert answer.status_code == 303, answer.text
        assert answer.headers["location"] == f"/walk/{record}#answers"
        assert whole(folder / f"{record}.walk")
        return last(folder / f"{record}.walk")

    return done


def test_heard_and_agreed(act, lead):
    assert act("agree", entry=["9", "8"]) == {
        "kind": "heard and agreed",
        "who": LEAD,
        "entries": [8, 9],
        "clips": [],
    }
    assert "heard and agreed," in lead.get("/walk/found").text


def test_sent_back_by_boxes_and_by_the_list(act, lead):
    assert act("send-back", item=["left-main-tyre-pressure", ""], reason="read it again") == {
        "kind": "sent back",
        "who": LEAD,
        "items": ["left-main-tyre-pressure"],
        "reason": "read it again",
    }
    assert "read it again" in lead.get("/walk/found").text
    assert act("send-back", record="left", item="nose-tyre", reason="flat")["items"] == [
        "nose-tyre"
    ]


def test_remarks_on_the_walk_and_on_an_entry(act):
    assert act("remark", text="ask the night shift") == {
        "kind": "lead remark",
        "who": LEAD,
        "text": "ask the night shift",
    }
    assert act("remark", text="unclear", entry="8")["entry"] == 8


@pytest.mark.parametrize(
    ("decision", "words"),
    [
        ("released", "released for maintenance action on the discrepancies listed"),
        ("not released", "not released, held until it has been inspected again"),
    ],
)
def test_decided_in_the_cards_own_words(act, lead, decision, words):
    assert act("decide", decision=decision) == {"kind": decision, "who": LEAD, "words": words}
    assert words in lead.get("/").text


def test_a_walk_that_is_not_closed_is_not_decided_on(lead, secret):
    assert 'name="decision"' not in lead.get("/walk/left").text
    form = {"form": secret(lead), "decision": "released"}
    answer = lead.post("/walk/left/decide", data=form)
    assert answer.status_code == 422
    assert "not closed" in answer.text


@pytest.fixture
def key(tmp_path):
    make_key(tmp_path / "lead.pem", PHRASE)
    return str(tmp_path / "lead.pem")


@pytest.mark.parametrize("role", list(Role))
def test_signed_by_their_own_key_in_their_own_role(act, come, key, role):
    client = come(role, "Iva Denholm", key)
    signed = act("sign", client=client, passphrase=PHRASE)
    assert (signed["kind"], signed["role"], signed["name"]) == ("signed", role, LEAD)
    assert f"signed, {role}" in client.get("/").text


def test_a_wrong_passphrase_signs_nothing_and_is_slowed_down(come, secret, key, folder):
    client = come(Role.LEAD, LEAD, key)
    form = {"form": secret(client), "passphrase": "wrong phrase"}
    codes = [client.post("/walk/found/sign", data=form).status_code for _ in range(FREE_TRIES + 2)]
    assert codes == [422] * FREE_TRIES + [429] * 2
    assert last(folder / "found.walk")["kind"] == "closed"


def test_answers_from_another_recorder(act, tmp_path, monkeypatch):
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path / "other"))
    assert act("agree", entry="8")["kind"] == "heard and agreed"


def test_what_was_done_comes_up_on_the_pages_at_once(act, lead):
    lead.get("/")
    act("decide", record="good", decision="not released")
    page = lead.get("/").text
    assert page.index("M02") < page.index("M11")


def test_a_record_that_is_being_written_is_left_alone(lead, secret, folder):
    token = secret(lead)
    codes = []

    def answer_meanwhile(count):
        if count == 2:
            form = {"form": token, "entry": "1"}
            codes.append(lead.post("/walk/now/agree", data=form).status_code)

    path = typed(folder / "now.walk", GOOD[:3], before=answer_meanwhile)
    assert codes == [422]
    assert verify(path).ok
    with RecordReader.open(path) as record:
        assert [one.body["kind"] for one in record.entries()] == ["started", *["item"] * 3]


def test_many_answers_at_once_are_all_kept(lead, secret, folder):
    from concurrent.futures import ThreadPoolExecutor

    token = secret(lead)

    def remark(n):
        form = {"form": token, "text": f"remark {n}"}
        return lead.post("/walk/found/remark", data=form).status_code

    with ThreadPoolExecutor(4) as pool:
        assert set(pool.map(remark, range(12))) == {303}
    with RecordReader.open(folder / "found.walk") as record:
        kept = {one.body.get("text") for one in record.entries()}
    assert {f"remark {n}" for n in range(12)} <= kept
    assert whole(folder / "found.walk")
