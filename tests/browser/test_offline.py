"""With the network cut: a formula draws under a base URL, and a request elsewhere is noticed.

That no chapter asks others for anything is checked where its page is (`test_pages.py`); Chromium
runs without a way to any name or address but this machine's (`conftest.py`).
"""

from urllib.parse import urlsplit

ASKING = """
<link rel="stylesheet" href="https://fonts.example.org/letters.css">
<img src="http://images.example.org/a.png">
<script>new WebSocket("wss://lines.example.org/"); fetch("http://[2001:db8::1]/a");</script>
"""
"""RFC 2606 and RFC 3849: names and an address that belong to nobody."""


def test_a_page_that_asks_others_would_be_noticed(page):
    with page.expect_event("websocket"):
        page.set_content(ASKING)
    asked = {urlsplit(address).hostname for address in page.outside}
    assert asked == {"fonts.example.org", "images.example.org", "lines.example.org", "2001:db8::1"}
    assert page.errors  # nobody was reached


def test_a_formula_is_drawn_under_a_base_url(page, serve, scratch_notebooks, tmp_path):
    asked = []
    page.on("request", lambda request: asked.append(request.url))
    arguments = ("--base-url", "/a/b/", "--notebooks", str(scratch_notebooks))
    with serve(tmp_path, *arguments) as server:
        page.goto(f"{server.url}a/b/")
        page.wait_for_selector("mjx-container svg, mjx-container mjx-math", state="attached")
    assert (page.errors, page.outside) == ([], [])
    inside = (f"{server.url}a/b/", "data:", "blob:")
    assert [address for address in asked if not address.startswith(inside)] == []
