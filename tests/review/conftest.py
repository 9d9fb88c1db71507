"""A folder of walks, and a desk with somebody at a browser."""

from __future__ import annotations

import re
import shutil
import warnings
from collections.abc import Callable
from pathlib import Path

import pytest
from review_desk import ORIGIN, AtOnce
from review_walks import CLOSE, GOOD, LEAD, Clock, but, typed

from voicewalk.record.signing import Role
from voicewalk.review.app import make_app
from voicewalk.review.catalogue import Catalogue
from voicewalk.review.desk import Desk
from voicewalk.review.sessions import Person

with warnings.catch_warnings():  # Starlette would rather have a successor of httpx
    warnings.simplefilter("ignore")
    from starlette.testclient import TestClient


@pytest.fixture(scope="session")
def walks(tmp_path_factory) -> Path:
    """Made once: a good walk, one with findings, one that was left. Copied, never written to."""
    folder = tmp_path_factory.mktemp("walks")
    typed(folder / "good.walk", (*GOOD, CLOSE), "M02", "06:00")
    found = but(
        left_main_tyre_pressure="left main tyre pressure one nine zero psi",
        right_main_tyre="right main tyre cut half an inch outboard",
        upper_antenna="upper antenna not inspected because no stand",
    )
    typed(folder / "found.walk", (*found, CLOSE), "M07", "06:20")
    typed(folder / "left.walk", GOOD[:3], "M11", "06:40")
    return folder


@pytest.fixture
def folder(walks, tmp_path) -> Path:
    """Those walks, to be written to."""
    return Path(shutil.copytree(walks, tmp_path / "walks"))


@pytest.fixture
def desk(folder) -> Desk:
    """The desk of that folder; a lead may come in by its link."""
    return Desk(
        catalogue=Catalogue(folder, AtOnce()),
        now=Clock("08:00"),
        guest=Person(LEAD, Role.LEAD),
    )


@pytest.fixture
def outside(desk) -> TestClient:
    """A browser without a session."""
    return TestClient(make_app(desk, [ORIGIN]), base_url=ORIGIN, follow_redirects=False)


@pytest.fixture
def come(desk) -> Callable[[Role | None], TestClient]:
    """Browsers with a session, in a role."""

    def in_role(role: Role | None, name: str = LEAD, key: str = "") -> TestClient:
        client = TestClient(make_app(desk, [ORIGIN]), base_url=ORIGIN, follow_redirects=False)
        token = desk.sessions.begin(Person(name, role, key), desk.now_ms())
        client.cookies.set(desk.cookie, token)
        client.headers["Origin"] = ORIGIN
        return client

    return in_role


@pytest.fixture
def lead(come) -> TestClient:
    """A browser at which a lead is."""
    return come(Role.LEAD)


@pytest.fixture
def secret() -> Callable[[TestClient], str]:
    """What every form of a page must bring back."""

    def found(client: TestClient) -> str:
        return re.search(r'name="form" value="([^"]+)"', client.get("/").text)[1]

    return found
