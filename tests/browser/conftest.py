"""A real Chromium against the real pages, on a database file."""

import os
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests import make
from wintering.startup.browser import find_browser

# The browser's own loop runs in this thread; the tests' queries are plain ones.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "1")

QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
)
PHONE = {"width": 360, "height": 780}
DESKTOP = {"width": 1280, "height": 900}


@pytest.fixture(scope="session")
def browser_type_launch_args(
    browser_type_launch_args: dict[str, Any],
) -> dict[str, Any]:
    found = find_browser()
    assert found, "python3 manage.py test provides the browser or leaves these out"
    return {**browser_type_launch_args, "executable_path": found, "args": list(QUIET)}


@pytest.fixture
def complaints() -> list[str]:
    """What the browser's console said: errors and refusals of the content policy."""
    return []


@pytest.fixture
def signed_in(
    browser: Browser, live_server: Any, complaints: list[str]
) -> Iterator[Callable[..., Page]]:
    """A page on which somebody has signed in, at a screen's size."""
    contexts = []

    def sign_in(username: str, password: str = make.PASSWORD, **screen: Any) -> Page:
        context = browser.new_context(
            base_url=live_server.url, **{"viewport": DESKTOP, **screen}
        )
        contexts.append(context)
        page = context.new_page()
        page.on(
            "console",
            lambda said: said.type == "error" and complaints.append(said.text),
        )
        page.goto("/sign-in/")
        page.get_by_label("Name").fill(username)
        page.get_by_label("Password").fill(password)
        page.get_by_role("button", name="Sign in").click()
        page.wait_for_url("/")
        return page

    yield sign_in
    for context in contexts:
        context.close()
