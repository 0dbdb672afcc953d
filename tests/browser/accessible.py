"""What the accessibility checker says of a page that is open in the browser.

Colours are asked for texts that look as no other did before: the same tags, classes and colours up
to the page have the same contrast, and to ask all of them took nine tenths of the time.
"""

from __future__ import annotations

from typing import Any

_TOLD = """
const done = arguments[arguments.length - 1];
const told = (found) => done(found.violations.map(
  (v) => ({id: v.id, impact: v.impact, nodes: v.nodes.map((n) => n.html.slice(0, 160))})));
"""
_PAGE = f"""{_TOLD}
axe.run(document, {{preload: false, resultTypes: ["violations"],
  rules: {{"color-contrast": {{enabled: false}}}}}}).then(told);
"""
_LOOKS = """
// Which foot its printed pages have (foot-2) colours nothing.
const look = (e) => e.tagName
  + ["class", "style", "fill"].map((a) => e.getAttribute(a)).join().replace(/foot-\\d+/, "");
const looks = (e) => e && e !== document.body ? looks(e.parentElement) + look(e) : "";
const shows = (e) => e.getClientRects().length && [...e.childNodes].some(
  (n) => n.nodeType === Node.TEXT_NODE && n.data.trim());
const texts = [...document.body.querySelectorAll("*")].filter(shows);
"""
_ALL_LOOKS = f"{_LOOKS} return [...new Set(texts.map(looks))];"
_COLOURS = f"""{_TOLD} {_LOOKS}
const wanted = new Set(arguments[0]);
const asked = texts.filter((e) => wanted.delete(looks(e))).map((e) => [e]);
axe.run({{include: asked}}, {{preload: false, resultTypes: ["violations"],
  runOnly: {{type: "rule", values: ["color-contrast"]}}}}).then(told);
"""


class Checker:
    """The checker, and the looks whose colours it has seen."""

    def __init__(self, source: str) -> None:
        self._source = source
        self._seen: set[tuple[bool, str]] = set()

    def page(self, browser: Any) -> list[dict[str, Any]]:
        """What breaks a rule on the page, but for colours."""
        self._bring(browser)
        found: list[dict[str, Any]] = browser.execute_async_script(_PAGE)
        return found

    def colours(self, browser: Any, *, dark: bool = False) -> list[dict[str, Any]]:
        """Which texts are too faint, of those whose looks are new; `dark` as the page is shown."""
        self._bring(browser)
        looks = set(browser.execute_script(_ALL_LOOKS))
        new = [look for look in looks if (dark, look) not in self._seen]
        self._seen.update((dark, look) for look in new)
        if not new:
            return []
        found: list[dict[str, Any]] = browser.execute_async_script(_COLOURS, new)
        return found

    def _bring(self, browser: Any) -> None:
        if not browser.execute_script("return typeof axe === 'object'"):
            browser.execute_script(self._source)
