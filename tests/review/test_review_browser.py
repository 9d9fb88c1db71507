"""Every page and every act in a real browser: usable by keyboard and screen reader, from 320
pixels to wide, by day and by night, and without a network.

What a screen reader needs is checked by axe-core (WCAG 2.2); that nothing scrolls sideways at 320
pixels is WCAG's 1.4.10.
"""

from __future__ import annotations

import os
import re
import shutil
import threading

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect
from review_server import served
from review_sound import walk_by_sound
from review_walks import LEAD, typed

from voicewalk.record.file import RecordReader
from voicewalk.record.keys import make_key
from voicewalk.record.signing import Role
from voicewalk.record.verify import verify
from voicewalk.review.sessions import Person

pytestmark = [pytest.mark.browser, pytest.mark.slow]

PHRASE = "a long way round"
LOOKS = [(320, "light"), (320, "dark"), (800, "light"), (1600, "dark"), (1600, "light")]
PAGES = {
    "first": "/",
    "walk": "/walk/found",
    "entry": "/walk/found/entry/8",
    "live": "/walk/left/live",
    "left": "/walk/left",
    "not there": "/walk/missing",
}


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args):
    """Debian's chromium, which fetches nothing by itself."""
    chromium = shutil.which("chromium")
    if chromium is None:
        reason = "the pages are looked at with Debian's chromium: apt-get install chromium"
        if os.environ.get("CI") == "true":
            pytest.fail(reason)
        pytest.skip(reason)
    words = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
    return {**browser_type_launch_args, "executable_path": chromium, "args": words}


@pytest.fixture(scope="session")
def by_sound(tmp_path_factory):
    """A walk by sound, made once."""
    return walk_by_sound(tmp_path_factory.mktemp("sound") / "sound.walk")


@pytest.fixture
def pages(folder, tmp_path):
    """The pages of that folder; the lead has a key."""
    make_key(tmp_path / "lead.pem", PHRASE)
    with served(folder, Person(LEAD, Role.LEAD, str(tmp_path / "lead.pem"))) as running:
        running.desk.catalogue.scan()
        yield running


@pytest.fixture
def inside(page, pages):
    """A page of a browser at which the lead is. Nothing may be asked of anywhere else, and no
    page may have a fault."""
    strange, faults = [], []
    page.on(
        "request",
        lambda request: None if request.url.startswith(pages.url) else strange.append(request.url),
    )
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on(
        "console",
        lambda message: (
            faults.append(message.text)
            if message.type == "error" and "Failed to load resource" not in message.text
            else None
        ),
    )
    page.goto(pages.link())
    yield page
    assert (strange, faults) == ([], [])


def looks_right(page):
    """No serious finding of axe-core, and nothing that scrolls the page sideways."""
    found = [
        f"{one['id']}: {one['help']}: {[node['html'][:200] for node in one['nodes'][:3]]}"
        for one in Axe().run(page).response["violations"]
        if one["impact"] in ("serious", "critical", "moderate")
    ]
    assert found == []
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0


def last(pages, record="found"):
    path = pages.folder / f"{record}.walk"
    assert verify(path).ok
    with RecordReader.open(path) as opened:
        return opened.entries()[-1].body


# --- how they look -----------------------------------------------------------------------------


@pytest.mark.parametrize("path", PAGES.values(), ids=PAGES)
def test_each_page_in_each_light_and_width(inside, pages, path):
    for width, light in LOOKS:
        inside.set_viewport_size({"width": width, "height": 900})
        inside.emulate_media(color_scheme=light)
        inside.goto(pages.url + path)
        looks_right(inside)
        inside.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
        looks_right(inside)


def test_the_door(page, pages):
    page.goto(pages.url)
    expect(page).to_have_url(f"{pages.url}/door")
    looks_right(page)


def test_the_one_that_must_not_fly_is_in_sight_at_once(inside, pages):
    """On the smallest screen, without scrolling."""
    inside.set_viewport_size({"width": 320, "height": 640})
    inside.goto(pages.url)
    worst = inside.locator(".row").first
    expect(worst).to_contain_text("left main tyre pressure", timeout=60_000)  # once it is read
    expect(worst.locator(".found")).to_be_in_viewport()
    assert "CRITICAL" in worst.inner_text().upper()


def test_grades_differ_without_colour(inside, pages):
    bands = inside.locator(".row .band svg")
    expect(bands).to_have_count(3, timeout=60_000)  # the records are read meanwhile
    shapes = bands.evaluate_all("all => all.map(one => one.innerHTML)")
    assert len(set(shapes)) == 3


# --- by keyboard -------------------------------------------------------------------------------


def test_the_first_key_leads_past_the_head(inside, pages):
    inside.goto(f"{pages.url}/walk/found")
    inside.keyboard.press("Tab")
    expect(inside.locator(".skip")).to_be_focused()
    inside.keyboard.press("Enter")
    expect(inside.locator("main")).to_be_focused()


def test_an_act_by_keyboard_alone(inside, pages):
    inside.goto(f"{pages.url}/walk/found")
    for _ in range(40):
        inside.keyboard.press("Tab")
        if inside.evaluate("document.activeElement.name") == "entry":
            break
    inside.keyboard.press("Space")
    for _ in range(40):
        inside.keyboard.press("Tab")
        if inside.evaluate("document.activeElement.innerText").startswith("Heard and agreed"):
            break
    inside.keyboard.press("Enter")
    inside.wait_for_url("**/walk/found#answers")
    assert last(pages)["entries"] == [8]


def test_whatever_has_the_focus_shows_it(inside, pages):
    inside.goto(f"{pages.url}/walk/found")
    for _ in range(60):
        inside.keyboard.press("Tab")
        outline = "getComputedStyle(document.activeElement).outlineStyle"
        name = inside.evaluate("document.activeElement.tagName")
        assert inside.evaluate(outline) != "none" or name == "BODY", name


# --- the acts ----------------------------------------------------------------------------------


def test_agree_send_back_remark_decide_and_sign(inside, pages):
    inside.goto(f"{pages.url}/walk/found")
    inside.get_by_label("heard, I agree with #8").check()
    inside.get_by_role("button", name="Heard and agreed").click()
    expect(inside.locator(".needs")).to_contain_text("heard and agreed")
    assert last(pages)["kind"] == "heard and agreed"

    inside.get_by_label("upper antenna", exact=True).check()
    inside.get_by_label("Another item").select_option("wheel chocks")
    inside.get_by_label("Reason").fill("the stand is back")
    inside.get_by_role("button", name="Send back").click()
    expect(inside.locator("#answers ~ .entries")).to_contain_text("the stand is back")
    assert last(pages)["items"] == ["upper-antenna", "wheel-chocks"]

    inside.get_by_label("Remark on this walk").fill("<b>ask</b> the night shift")
    inside.get_by_role("button", name="Add the remark").click()
    expect(inside.locator("#answers ~ .entries")).to_contain_text("<b>ask</b> the night shift")

    inside.get_by_label("not released, held").check()
    inside.get_by_role("button", name="Decide").click()
    expect(inside.locator(".needs")).to_contain_text("not released")
    assert last(pages)["kind"] == "not released"

    inside.get_by_label("Passphrase of your key").fill(PHRASE)
    inside.get_by_role("button", name="Sign").click()
    expect(inside.locator("#answers ~ .entries")).to_contain_text("signed as lead by Iva Denholm")
    assert last(pages)["kind"] == "signed"
    looks_right(inside)


def test_acts_on_an_entry(inside, pages):
    inside.goto(f"{pages.url}/walk/found/entry/8")
    inside.get_by_label("Remark on this entry").fill("read it again")
    inside.get_by_role("button", name="Add the remark").click()
    assert last(pages)["entry"] == 8
    inside.goto(f"{pages.url}/walk/found/entry/8")
    expect(inside.locator("#history ~ .entries")).to_contain_text("read it again")
    inside.get_by_role("button", name="Heard and agreed").click()
    inside.goto(f"{pages.url}/walk/found/entry/8")
    expect(inside.locator(".answers")).to_contain_text("Heard and agreed by Iva Denholm")
    inside.get_by_label("Reason").fill("to be read again")
    inside.get_by_role("button", name="Send back").click()
    assert last(pages)["items"] == ["left-main-tyre-pressure"]


def test_what_cannot_be_done_is_told_and_nothing_is_lost(inside, pages):
    inside.goto(f"{pages.url}/walk/found")
    inside.get_by_label("Passphrase of your key").fill("another phrase")
    inside.get_by_role("button", name="Sign").click()
    expect(inside.get_by_role("alert")).to_contain_text("the passphrase does not open it")
    expect(inside.locator("main")).to_contain_text("Nothing was changed")
    assert last(pages)["kind"] == "closed"


def test_going_out(inside, pages):
    inside.get_by_role("button", name="Go out").click()
    expect(inside).to_have_url(f"{pages.url}/door")
    inside.goto(f"{pages.url}/walk/found")
    expect(inside).to_have_url(f"{pages.url}/door")


# --- while a walk goes on ----------------------------------------------------------------------


@pytest.fixture
def walking(folder):
    """A walk under way in a thread; a call is typed when it is asked for."""
    allowed, ended = threading.Semaphore(1), threading.Event()

    def before(count):
        while not ended.is_set() and not allowed.acquire(timeout=0.1):
            pass

    calls = ("aircraft forms reviewed", "wheel chocks not in place", "nose tyre satisfactory")
    path = folder / "now.walk"
    walk = threading.Thread(target=typed, args=(path, calls, "M20"), kwargs={"before": before})
    walk.start()
    while not path.exists():
        ended.wait(0.05)
    yield allowed.release
    ended.set()
    walk.join()


def test_a_walk_appears_as_it_is_spoken(inside, pages, walking):
    inside.goto(f"{pages.url}/walk/now/live")
    spoken = inside.locator(".spoken")
    expect(spoken).to_contain_text("aircraft forms")
    looks_right(inside)
    walking()
    expect(spoken).to_contain_text("wheel chocks", timeout=8000)
    expect(inside.locator(".title")).to_contain_text("discrepancy")
    expect(inside.locator(".title")).to_contain_text("2 of 12")
    walking()
    expect(spoken).to_contain_text("nose tyre", timeout=8000)
    assert inside.locator("#now").count() == 1


def test_the_first_page_renews_itself(inside, pages, walking):
    inside.goto(pages.url)
    row = inside.locator(".row", has_text="M20")
    expect(row).to_contain_text("under way", timeout=10_000)
    walking()
    expect(row).to_contain_text("wheel chocks", timeout=10_000)


def test_a_broken_line_is_told(inside, pages):
    inside.route("**/growth", lambda route: route.abort())
    inside.goto(f"{pages.url}/walk/left/live")
    expect(inside.get_by_role("status")).to_contain_text("The line is broken")
    inside.unroute_all()


# --- a walk by sound ---------------------------------------------------------------------------


@pytest.fixture
def heard(inside, pages, by_sound):
    shutil.copy(by_sound, pages.folder / "sound.walk")
    return inside


@pytest.mark.models
class TestBySound:
    def test_the_walk_with_its_sounds(self, heard, pages):
        for width, light in LOOKS[:3]:
            heard.set_viewport_size({"width": width, "height": 900})
            heard.emulate_media(color_scheme=light)
            heard.goto(f"{pages.url}/walk/sound")
            looks_right(heard)
        kinds = heard.locator(".need").all_inner_texts()
        assert len(kinds) == 5
        assert [re.split(r"\s", kind.lower())[0] for kind in kinds] == [
            *("discrepancy", "discrepancy", "incomplete", "in", "in")
        ]
        assert heard.locator(".need audio").count() == 5

    def test_an_entry_is_played_in_parts(self, heard, pages):
        parts = []
        heard.on(
            "response",
            lambda answer: parts.append(answer.status) if "/sound/" in answer.url else None,
        )
        heard.goto(f"{pages.url}/walk/sound/entry/7")
        looks_right(heard)
        audio = heard.locator("audio")
        length = audio.evaluate(
            "one => new Promise(done => one.readyState ? done(one.duration)"
            " : one.addEventListener('loadedmetadata', () => done(one.duration)))"
        )
        assert 2 < length < 6
        played = audio.evaluate(
            "async one => { one.muted = true; one.currentTime = one.duration / 2;"
            " await one.play(); await new Promise(done => one.onended = done);"
            " return one.currentTime; }"
        )
        assert played == pytest.approx(length, abs=0.2)
        assert 206 in parts
        head = heard.locator(".wave .head").get_attribute("d")
        assert float(re.match(r"M([\d.]+) ", head)[1]) > 200

    def test_an_entry_tells_what_each_listener_heard(self, heard, pages):
        heard.goto(f"{pages.url}/walk/sound/entry/7")
        listeners = heard.locator(".listeners li").all_inner_texts()
        assert [text.split()[0] for text in listeners] == ["letters", "words"]
        assert all("score" in text for text in listeners)
        judge = heard.locator("#heard ~ .facts").inner_text()
        assert "the listeners agree" in judge
        expect(heard.locator("main")).to_contain_text("left main tyre cut half an inch outboard")

    def test_the_history_of_a_correction(self, heard, pages):
        heard.goto(f"{pages.url}/walk/sound/entry/5")
        expect(heard.locator(".title")).to_contain_text("replaced by #6")
        history = heard.locator("#history ~ .entries li").all_inner_texts()
        assert len(history) == 2

    def test_hearing_and_agreeing_names_the_sounds(self, heard, pages):
        heard.goto(f"{pages.url}/walk/sound")
        for box in heard.get_by_role("checkbox", name="heard, I agree").all():
            box.check()
        heard.get_by_role("button", name="Heard and agreed").click()
        body = last(pages, "sound")
        assert body["entries"] == [7, 11, 14, 15, 17]
        assert len(body["clips"]) == 5
        heard.goto(pages.url)
        expect(heard.locator(".row", has_text="M05")).to_contain_text("discrepancy")


# --- the check itself --------------------------------------------------------------------------


@pytest.mark.parametrize(
    "fault",
    [
        "document.querySelector('main').innerHTML += '<button></button>'",
        "document.querySelector('h1').style.color = '#ddd'",
        "document.querySelector('main').style.minWidth = '3000px'",
    ],
)
def test_what_looks_wrong_is_found(inside, fault):
    inside.evaluate(f"() => {{ {fault} }}")
    with pytest.raises(AssertionError):
        looks_right(inside)
