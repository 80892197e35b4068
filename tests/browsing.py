"""The browser that pages are tested in, and what is asked of every page."""

from __future__ import annotations

import os
import shutil
from typing import Any

import pytest

CHROMIUM = shutil.which("chromium")
needs_chromium = pytest.mark.skipif(
    CHROMIUM is None and not os.environ.get("CI"), reason="no Debian chromium here (apt-get install chromium)"
)
LISTEN = """
window.heard = [];
document.addEventListener("securitypolicyviolation", (one) => window.heard.push(one.violatedDirective));
window.alert = () => window.heard.push("alert");
"""
FATES = """() => Object.fromEntries([...document.querySelectorAll('#bodies li')].map(
    (row) => [row.querySelector('b').textContent, row.querySelector('.word').textContent]))"""
"""What a page says of each body, by name."""


def listening(page: Any, errors: list[str], requests: list[str]) -> None:
    """Keep the errors of a page, and what it asks for, as they come."""
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.on("console", lambda one: errors.append(one.text) if one.type == "error" else None)
    page.on("request", lambda one: requests.append(one.url))
