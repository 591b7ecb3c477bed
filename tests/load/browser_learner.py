"""A learner with a real browser, behind a line that can be cut."""

import asyncio
import os
import shutil
import time
from contextlib import asynccontextmanager
from urllib.parse import urlsplit

PATIENCE_MS = 240_000
CHROMIUM = os.environ.get("OXIMETRY_CHROMIUM") or shutil.which("chromium")
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1",
]
PLOT = ".ow-plot path.line"
SETTLED_S = 1.0
SLIDER = "Arterial saturation"
WATCH = """() => {
  let pressed = null;
  window.owLatencies = [];
  document.addEventListener("keydown", () => { pressed = performance.now(); }, true);
  new MutationObserver(() => {
    if (pressed !== null) window.owLatencies.push((performance.now() - pressed) / 1000);
    pressed = null;
  }).observe(document.querySelector(".ow-strip"),
             { subtree: true, childList: true, characterData: true });
}"""
"""From a key on the slider until the first number on the page has followed."""
KERNEL = "() => JSON.parse(document.getElementById('jupyter-config-data').textContent).kernelId"
STATE = "() => document.querySelector('[data-ow-state]')?.dataset.owState"


@asynccontextmanager
async def browser():
    """A Chromium that reaches nothing but this machine."""
    from playwright.async_api import async_playwright

    async with async_playwright() as playwright:
        path = CHROMIUM or playwright.chromium.executable_path
        chromium = await playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield chromium
        await chromium.close()


class BrowserLearner:
    """One page in a browser.

    Attributes:
        opened_s: From the link to the drawn plots [s].
        files: What the page fetched besides itself, as paths.
        told: What the page said of its engine, each time it had lost it.
        errors: Error pages that it came to, and exceptions in its scripts.
    """

    def __init__(self, page, address, code):
        self.page, self.address, self.code = page, address, code
        self.opened_s, self.files, self.told, self.errors = None, [], [], []
        page.set_default_timeout(PATIENCE_MS)
        page.on("request", self._note)
        page.on("response", self._note_error_page)
        page.on("pageerror", lambda error: self.errors.append(f"in the browser: {error}"))

    async def come(self):
        """Open the bench by the link that the QR code holds."""
        start = time.perf_counter()
        await self.page.goto(f"{self.address}/class?code={self.code}")
        await self.page.wait_for_selector(PLOT, state="attached")
        self.opened_s = time.perf_counter() - start
        await self.page.evaluate(WATCH)

    async def move(self, key):
        """Press a key on the slider and wait until the numbers have followed."""
        before = await self.page.evaluate("() => owLatencies.length")
        await self.page.get_by_role("slider", name=SLIDER, exact=True).focus()
        await self.page.keyboard.press(key)
        await self.page.wait_for_function("count => owLatencies.length > count", arg=before)

    async def latencies_s(self):
        """From each key until the first number had followed [s]."""
        return await self.page.evaluate("() => owLatencies")

    async def kernel(self):
        """Id of the page's kernel."""
        return await self.page.evaluate(KERNEL)

    async def state(self):
        """The state that a reload would come back to, once it has settled."""
        last, now = None, await self.page.evaluate(STATE)
        while now != last:
            await asyncio.sleep(SETTLED_S)
            last, now = now, await self.page.evaluate(STATE)
        return now

    async def is_told(self, words):
        """Wait until the page says that it has lost its engine, in such words."""
        banner = self.page.locator(f".ow-gone:visible:has-text('{words}')")
        await banner.wait_for()
        self.told.append(await banner.locator("p").inner_text())

    async def is_well(self):
        """Wait until the page no longer says so."""
        await self.page.locator(".ow-gone").wait_for(state="hidden")

    async def reload(self):
        """Press the button that the page offers; give the class code where it is asked for."""
        async with self.page.expect_navigation():
            await self.page.get_by_role("button", name="Reload the page").click()
        door = self.page.get_by_label("Class code")
        await self.page.locator(PLOT).or_(door).first.wait_for(state="attached")
        if await door.count():
            await door.fill(self.code)
            await door.press("Enter")
        await self.page.wait_for_selector(PLOT, state="attached")
        await self.page.evaluate(WATCH)

    async def leave(self):
        """Close the page."""
        await self.page.close(run_before_unload=True)

    def _note(self, request):
        parts = urlsplit(request.url)
        if parts.path.startswith(("/voila/", "/static/")) and "/render/" not in parts.path:
            self.files.append(parts._replace(scheme="", netloc="").geturl())

    def _note_error_page(self, response):
        if response.status >= 400 and response.request.is_navigation_request():
            self.errors.append(f"in the browser: {response.status} for {response.url}")
