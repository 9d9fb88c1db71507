"""Attacks on the pages: each is refused, told in the log, and leaves every record as it was.

What is tried follows OWASP ASVS 5.0, chapters on sessions, access, encoding and files.
"""

from __future__ import annotations

import logging
import re

import pytest
from review_desk import ORIGIN
from review_walks import LEAD, append
from starlette.testclient import TestClient

from voicewalk.record.file import RecordReader
from voicewalk.record.signing import Role
from voicewalk.record.verify import verify
from voicewalk.review.accounts import Account, folded, hashed
from voicewalk.review.app import make_app
from voicewalk.review.guard import MOST_BODY
from voicewalk.review.sessions import IDLE_MS, LONGEST_WAIT_MS, WHOLE_MS

PASSWORD = "a long way round the wing"
PAGES = [
    *("/", "/walk/found", "/walk/found/entry/8", "/walk/found/live", "/walk/found/growth"),
    f"/walk/found/sound/{'0' * 64}.wav",
]
ACTS = {
    "agree": {"entry": "2"},
    "send-back": {"item": "wheel-chocks", "reason": "not seen"},
    "remark": {"text": "look at it"},
    "decide": {"decision": "released"},
    "sign": {"passphrase": "open sesame"},
}
HOSTILE = [
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "{{ 7 * 7 }}",
    "'; DROP TABLE entries; --",
    "=cmd|'/c calc'!A0",
    "\x1b[31mred\x1b[0m \x07",
    "\u202egnp.exe",
    "javascript:alert(1)",
    "../../etc/passwd",
]


@pytest.fixture
def kept(folder):
    """Whether every record is still what it was, and nothing lies beside them."""

    def state():
        return {path.name: verify(path) for path in folder.iterdir()}

    before = state()
    assert all(report.ok for report in before.values())
    return lambda: state() == before


@pytest.fixture
def told(caplog):
    """What was logged as refused."""
    caplog.set_level(logging.WARNING, "voicewalk.review")
    return lambda: [record.getMessage() for record in caplog.records]


def post(client, secret, act, fields, **headers):
    form = {"form": secret(client), **fields}
    return client.post(f"/walk/found/{act}", data=form, headers=headers)


# --- nobody, or somebody else ------------------------------------------------------------------


@pytest.mark.parametrize("path", PAGES)
def test_without_a_session_every_page_leads_to_the_door(outside, told, path):
    answer = outside.get(path)
    assert (answer.status_code, answer.headers["location"]) == (303, "/door")
    assert "no session" in told()[0]


@pytest.mark.parametrize("act", ACTS)
def test_without_a_session_no_act_is_done(outside, kept, told, act):
    answer = outside.post(f"/walk/found/{act}", data=ACTS[act], headers={"Origin": ORIGIN})
    assert answer.status_code == 401
    assert kept()
    assert told()


@pytest.mark.parametrize("token", ["", "x", "A" * 43, "../..", "\u00e9" * 10, "a" * 5000])
def test_a_token_that_was_guessed_opens_nothing(outside, token):
    answer = outside.get("/", headers={"Cookie": f"voicewalk={token}".encode()})
    assert answer.status_code == 303


@pytest.mark.parametrize("role", [Role.INSPECTOR, Role.SECOND, None])
@pytest.mark.parametrize("act", [act for act in ACTS if act != "sign"])
def test_another_role_may_not_answer(come, secret, kept, told, role, act):
    answer = post(come(role), secret, act, ACTS[act])
    assert answer.status_code == 403
    assert "for the lead" in answer.text
    assert kept()
    assert "403" in told()[-1]


def test_who_may_only_read_has_no_forms(come):
    page = come(None).get("/walk/found").text
    assert re.findall(r'action="([^"]+)"', page) == ["/out"]


@pytest.mark.parametrize(("after", "open_still"), [(IDLE_MS - 10_000, True), (IDLE_MS, False)])
def test_a_session_ends_when_nobody_uses_it(lead, desk, after, open_still):
    desk.now.ms += after
    assert (lead.get("/").status_code == 200) is open_still


def test_a_session_ends_with_the_shift(lead, desk):
    begun = desk.now.ms
    while desk.now.ms - begun < WHOLE_MS - IDLE_MS:
        desk.now.ms += IDLE_MS // 2
        assert lead.get("/").status_code == 200
    desk.now.ms = begun + WHOLE_MS
    assert lead.get("/").status_code == 303


def test_who_goes_out_is_out(lead, secret):
    token = secret(lead)
    cookie = dict(lead.cookies)
    assert lead.post("/out", data={"form": token}).status_code == 303
    lead.cookies.update(cookie)
    assert lead.get("/").status_code == 303


# --- forged forms ------------------------------------------------------------------------------


@pytest.mark.parametrize("act", ACTS)
@pytest.mark.parametrize("form", ["", "x", None])
def test_a_form_of_no_page_of_this_session_is_refused(lead, kept, told, act, form):
    fields = {**ACTS[act], **({} if form is None else {"form": form})}
    answer = lead.post(f"/walk/found/{act}", data=fields)
    assert answer.status_code == 403
    assert kept()
    assert "not of this session" in told()[-1]


def test_a_form_of_another_session_is_refused(lead, come, secret, kept):
    other = secret(come(Role.LEAD, "Ivo Brandt"))
    answer = lead.post("/walk/found/agree", data={"form": other, "entry": "2"})
    assert answer.status_code == 403
    assert kept()


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "", "https://testserver"])
@pytest.mark.parametrize("act", ACTS)
def test_a_form_from_another_page_is_refused(lead, secret, kept, told, origin, act):
    answer = post(lead, secret, act, ACTS[act], Origin=origin)
    assert answer.status_code == 403
    assert kept()
    assert "does not come from these pages" in told()[-1]


@pytest.mark.parametrize("host", ["evil.example", "testserver.evil.example", "testserver:99", ""])
@pytest.mark.parametrize("path", ["/", "/door", "/static/pages.css"])
def test_another_name_for_this_machine_reaches_nothing(lead, told, host, path):
    answer = lead.get(path, headers={"Host": host})
    assert answer.status_code == 400
    assert "not reached by this name" in told()[-1]


@pytest.mark.parametrize("act", ACTS)
def test_an_act_is_no_link(lead, kept, act):
    assert lead.get(f"/walk/found/{act}").status_code == 405
    assert kept()


@pytest.mark.parametrize("kind", ["application/json", "text/plain", "multipart/form-data", ""])
def test_only_forms_are_taken(lead, secret, kept, kind):
    token = secret(lead)
    answer = lead.post(
        "/walk/found/agree",
        content=f"form={token}&entry=2",
        headers={"Content-Type": kind},
    )
    assert answer.status_code == 415
    assert kept()


# --- names and numbers -------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name",
    [
        *("..%2foutside", "%2e%2e/outside", "..%5coutside", "%2fetc%2fpasswd", "good%00", "."),
        *("link", "good.walk", "....//outside", "%252e%252e%252foutside"),
    ],
)
@pytest.mark.parametrize("page", ["", "/live", "/entry/1", f"/sound/{'0' * 64}.wav"])
def test_no_name_of_a_record_leads_out_of_the_folder(lead, folder, name, page):
    outside = folder.parent / "outside.walk"
    outside.write_bytes((folder / "good.walk").read_bytes())
    (folder / "link.walk").symlink_to(outside)
    assert lead.get(f"/walk/{name}{page}").status_code == 404


@pytest.mark.parametrize("clip", ["..%2f..%2fgood", "%2e%2e", "' OR 1=1", "0" * 63, "A" * 64])
def test_no_name_of_a_sound_leads_anywhere(lead, clip):
    assert lead.get(f"/walk/good/sound/{clip}.wav").status_code == 404


@pytest.mark.parametrize("path", ["../app.py", "..%2fapp.py", "%2e%2e/accounts.py", "/etc/passwd"])
def test_static_files_are_those_of_their_folder(lead, path):
    assert lead.get(f"/static/{path}").status_code == 404


@pytest.mark.parametrize(
    ("act", "fields"),
    [
        ("agree", {"entry": "99"}),
        ("agree", {"entry": "-1"}),
        ("agree", {"entry": "1e3"}),
        ("agree", {"entry": "9" * 400}),
        ("agree", {"entry": "\u0663"}),
        ("agree", {}),
        ("send-back", {"item": "no-such-item", "reason": "why"}),
        ("send-back", {"item": "wheel-chocks", "reason": " "}),
        ("send-back", {"reason": "why"}),
        ("remark", {"text": ""}),
        ("remark", {"text": "x" * 2001}),
        ("remark", {"text": "a", "entry": "99"}),
        ("decide", {"decision": "airworthy"}),
        ("decide", {}),
        ("sign", {"passphrase": "x"}),
    ],
    ids=lambda value: str(value)[:40],
)
def test_a_form_that_says_what_cannot_be_is_refused(lead, secret, kept, told, act, fields):
    answer = post(lead, secret, act, fields)
    assert answer.status_code == 422
    assert "Nothing was changed" in answer.text
    assert kept()
    assert told()


def test_bytes_that_are_no_text_are_refused(lead, secret, kept):
    body = f"form={secret(lead)}&text=%ff%fe"
    kind = {"Content-Type": "application/x-www-form-urlencoded"}
    assert lead.post("/walk/found/remark", content=body, headers=kind).status_code == 422
    assert kept()


# --- hostile texts -----------------------------------------------------------------------------


@pytest.mark.parametrize("text", HOSTILE)
def test_a_hostile_remark_is_kept_as_it_is_and_shown_as_text(lead, secret, folder, text):
    assert post(lead, secret, "remark", {"text": text}).status_code == 303
    with RecordReader.open(folder / "found.walk") as record:
        entry = record.entries()[-1]
    assert entry.body["text"] == " ".join(text.split())
    assert verify(folder / "found.walk").ok
    for path in ("/", "/walk/found", f"/walk/found/entry/{entry.seq}"):
        harmless(lead.get(path))


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_texts_in_a_record_are_shown_as_text(lead, folder, text):
    item = {"kind": "item", "item": text, "name": text, "station": text, "result": text}
    found = {"defect": text, "place": text}
    heard = {
        "how": text,
        "listeners": [{"name": text, "text": text, "score": text}],
        "judge": {text: text, "reason": text, "others": [text]},
        "versions": {text: text},
    }
    card = {"id": text, "title": text, "version": text}
    path = folder / "found.walk"
    append(
        path,
        {"kind": "started", "identity": text, "inspector": text, "subject": text, "card": card},
        {**item, "discrepancy": found, "input": {"words": text, "heard": heard}},
        {"kind": text, "reason": text},
        {"kind": "closed", "caution": text},
    )
    for page in ("", "/live", *(f"/entry/{seq}" for seq in range(15, 19))):
        harmless(lead.get(f"/walk/found{page}"))
    harmless(lead.get("/"))


def harmless(answer):
    """No mark of a hostile text is left, and no sign that steers."""
    assert answer.status_code == 200
    page = answer.text
    assert "<script>" not in page
    assert "<img" not in page
    assert ">49<" not in page
    assert not re.search(r"[\x00-\x08\x0b-\x1f\x7f\u202a-\u202e]", page)
    assert not re.search(r"""(href|src|action)=["']\s*javascript:""", page)


@pytest.mark.parametrize("name", ['<b onload="x">', "a b&c", "x'y", "#top", "a?b=1"])
def test_a_hostile_name_of_a_file_is_a_name(lead, folder, name):
    (folder / "good.walk").rename(folder / f"{name}.walk")
    page = lead.get("/")
    harmless(page)
    links = [link for link in re.findall(r'href="(/walk/[^"]+)"', page.text) if "found" not in link]
    links = [link for link in links if "left" not in link]
    assert links
    assert {lead.get(link).status_code for link in links} == {200}


# --- too much ----------------------------------------------------------------------------------


def test_a_body_that_says_it_is_too_large_is_not_read(lead, secret, kept, told):
    answer = post(lead, secret, "remark", {"text": "x" * MOST_BODY})
    assert answer.status_code == 413
    assert kept()
    assert "too large" in told()[-1]


def test_a_body_that_does_not_say_how_large_it_is_is_cut_off(lead, secret, kept):
    token = secret(lead)

    def pieces():
        yield f"form={token}&text=".encode()
        for _ in range(100):
            yield b"x" * 1024

    kind = {"Content-Type": "application/x-www-form-urlencoded"}
    answer = lead.post("/walk/found/remark", content=pieces(), headers=kind)
    assert answer.status_code == 413
    assert kept()


def test_more_fields_than_any_form_has_are_refused(lead, secret, kept):
    token = secret(lead)
    body = f"form={token}" + "&entry=2" * 3000
    kind = {"Content-Type": "application/x-www-form-urlencoded"}
    assert lead.post("/walk/found/agree", content=body, headers=kind).status_code == 422
    assert kept()


# --- passwords ---------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def account():
    return Account(LEAD, Role.LEAD, hashed(PASSWORD))


@pytest.fixture
def door(desk, account):
    """A browser at the door of a desk with accounts."""
    desk.accounts = {folded(LEAD): account}
    desk.guest = None
    client = TestClient(make_app(desk, [ORIGIN]), base_url=ORIGIN, follow_redirects=False)
    client.headers["Origin"] = ORIGIN
    return client


def come_in(client, name, password):
    return client.post("/in", data={"name": name, "password": password})


@pytest.mark.parametrize("name", [LEAD, "iva  DENHOLM"])
def test_name_and_password_open_a_session(door, name):
    answer = come_in(door, name, PASSWORD)
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    cookie = answer.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie
    assert "lead" in door.get("/").text


@pytest.mark.parametrize(
    ("name", "password"), [(LEAD, "wrong"), (LEAD, ""), ("Nobody", PASSWORD), ("", "")]
)
def test_a_wrong_name_and_a_wrong_password_are_answered_alike(door, told, name, password):
    answer = come_in(door, name, password)
    assert answer.status_code == 403
    assert "Name or password is wrong." in answer.text
    assert "set-cookie" not in answer.headers
    assert told()
    assert PASSWORD not in "".join(told())


def test_a_thousand_wrong_passwords(door, desk, told, monkeypatch):
    """In an hour of trying no more than a few are looked at, and the right one among them opens
    nothing; afterwards it does."""
    looked_at = []
    from voicewalk.review import door as module

    def slow_and_wrong(account, password):
        looked_at.append(password)
        return False

    with monkeypatch.context() as patch:
        patch.setattr(module, "matches", slow_and_wrong)
        codes = []
        for n in range(1000):
            desk.now.ms += 3_000
            codes.append(come_in(door, LEAD, f"guess {n}").status_code)
    assert set(codes) == {403, 429}
    assert codes.count(403) == len(looked_at) < 20
    assert len(told()) == 1000
    answer = come_in(door, LEAD, PASSWORD)
    assert answer.status_code == 429
    assert int(answer.headers["retry-after"]) <= LONGEST_WAIT_MS // 1000
    desk.now.ms += LONGEST_WAIT_MS
    assert come_in(door, LEAD, PASSWORD).status_code == 303


def test_a_link_opens_one_session_once(desk, outside, told):
    secret = desk.sessions.new_link()
    shown = []
    desk.on_link = shown.append
    assert outside.get(f"/door?link={secret}").headers["location"] == "/"
    assert outside.get("/").status_code == 200
    outside.cookies.clear()
    answer = outside.get(f"/door?link={secret}")
    assert answer.status_code == 403
    assert "used before" in told()[-1]
    assert outside.get("/").status_code == 303
    assert outside.get(f"/door?link={shown[0]}").headers["location"] == "/"


@pytest.mark.parametrize("link", ["", "x", "None"])
def test_no_link_opens_where_none_was_made(outside, link):
    assert "set-cookie" not in outside.get(f"/door?link={link}").headers


def test_where_there_are_accounts_no_link_opens(door, desk):
    secret = desk.sessions.new_link()
    assert "set-cookie" not in door.get(f"/door?link={secret}").headers


# --- what the browser is told ------------------------------------------------------------------


@pytest.mark.parametrize("path", ["/", "/door", "/walk/found", "/static/pages.css", "/nothing"])
def test_every_answer_says_what_the_browser_may_do(lead, path):
    headers = lead.get(path).headers
    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "unsafe" not in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["cache-control"] == "no-store"


@pytest.mark.parametrize(
    "path", ["/", "/door", "/walk/found", "/walk/found/entry/8", "/walk/left/live"]
)
def test_no_page_needs_what_the_policy_forbids(lead, path):
    page = lead.get(path).text
    assert re.findall(r"<script(?![^>]* src=\"/static/)", page) == []
    assert re.findall(r"\son\w+=|\sstyle=|<style|https?://(?!www\.w3\.org)", page) == []


def test_with_tls_the_cookie_is_for_this_host_alone(desk, door):
    desk.secure = True
    cookie = come_in(door, LEAD, PASSWORD).headers["set-cookie"]
    assert cookie.startswith("__Host-voicewalk=")
    assert "Secure" in cookie
    assert "Path=/" in cookie


def test_a_line_of_the_log_is_one_line(lead, told):
    lead.get("/walk/%0aforged%20line%1b[2J")
    assert told()
    assert all(line.isprintable() for line in told())


def test_a_person_is_known_by_the_session_and_not_by_the_form(lead, secret, folder):
    post(lead, secret, "remark", {"text": "look", "who": "Somebody Else", "name": "Other"})
    with RecordReader.open(folder / "found.walk") as record:
        assert record.entries()[-1].body["who"] == LEAD
