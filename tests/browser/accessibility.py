"""What a page does that shuts somebody out, by the rules of WCAG 2.2 AA and beyond."""

from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
# What is no violation is not gathered: half of the time, for nothing that is read.
OPTIONS = {"runOnly": RULES, "resultTypes": ["violations"]}


def violations(page: Page) -> list[Any]:
    return list(Axe().run(page, options=OPTIONS).response["violations"])
