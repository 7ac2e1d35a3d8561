"""Choosing a flywheel on the page and closing the balance; what was measured in torsion."""

from __future__ import annotations

import pytest
from tests.balance_makers import LEFT, LINES

from bedplate.engine import examples

from .benches import BY
from .probes import PALE, TOO_SMALL, WIDE

pytestmark = pytest.mark.browser

SIZES = {"tablet": (1180, 820), "phone": (390, 844), "laptop": (1440, 900)}
ENDS = ("balance", "torsion")


@pytest.fixture
def eight(bench):
    shop = bench.shop
    shop.start(examples()["v8"], by=BY, build="v8", file="v8")
    shop.take_balance_card(
        "v8", "invented shop", LEFT, by=BY, lines=LINES, bob_weight="1838 g", mass="25.2 kg",
        grade="G 16", on_crank=["damper: D-7", "timing gear: T-1"],
    )  # fmt: skip
    return shop


def put_down(page, part, standing, **said):
    """Say on the page how a part stands, and wait for the page that answers."""
    entry = page.locator(".turning > li", has=page.locator(f"input[name=part][value='{part}']"))
    if entry.locator("details[open]").count() == 0:
        entry.locator("summary").click()
    form = entry.locator("form")
    form.locator(f"input[value='{standing}']").check()
    for name, text in {"by": BY, **said}.items():
        if form.locator(f"input[name={name}][type=hidden]").count() == 0:
            form.locator(f"input[name={name}]").fill(text)
    with page.expect_navigation():
        form.locator("button").click()


def says(page):
    return page.locator("#ledger-says").inner_text()


def test_choosing_a_flywheel_walks_through_closing_it(eight, watched):
    watched.goto("/builds/v8/balance")
    page = watched.page
    assert says(page).startswith("Not balanced: still due are flywheel")
    assert page.locator("button", has_text="Call it balanced").count() == 0
    put_down(page, "flywheel", "chosen", identity="F-12")
    chosen = page.locator(".turning > li", has=page.locator("input[name=part][value=flywheel]"))
    assert "F-12" in chosen.inner_text()
    # G 16 leaves 550 g·mm to 25.2 kg at 7000 rpm (ISO 21940-11); 210 are in the crank.
    assert "113 g·mm" in chosen.inner_text()
    assert chosen.locator("details[open]").count() == 1
    for part in ("flywheel", "clutch cover", "flywheel bolts"):
        put_down(page, part, "balanced on its own", identity="F-12", residual="20 g·mm")
    assert "nobody has called it balanced" in says(page)
    with page.expect_navigation():
        page.locator("button", has_text="Call it balanced").click()
    assert says(page) == f"Balanced: everything that turns is in, says {BY}."
    assert watched.complaints == []
    put_down(page, "flywheel", "chosen", identity="F-13")
    assert "still due" in says(page)


def test_a_measured_frequency_is_put_down_and_taken_back(eight, watched):
    watched.goto("/builds/v8/torsion")
    page = watched.page
    page.locator("#measure summary").click()
    form = page.locator("#measure form")
    form.locator("input[value='first natural frequency']").check()
    for name, text in (("value", "372 Hz"), ("uncertainty", "2 %"), ("by", BY),
                       ("instrument", "hammer, damper off")):  # fmt: skip
        form.locator(f"input[name={name}]").fill(text)
    with page.expect_navigation():
        form.locator("button").click()
    assert "Measured." in page.locator("main").inner_text()
    assert "372 Hz" in page.locator("main").inner_text()
    page.locator("details.undo summary").click()
    page.locator("details.undo input[name=reason]").fill("wrong pick-up")
    with page.expect_navigation():
        page.locator("details.undo button").click()
    assert "Estimated." in page.locator("main").inner_text()
    assert watched.complaints == []


@pytest.mark.parametrize("size", SIZES)
def test_what_is_touched_is_large_and_nothing_runs_off_the_side(eight, watched, size):
    watched.page.set_viewport_size(dict(zip(("width", "height"), SIZES[size], strict=True)))
    for end in ENDS:
        watched.goto(f"/builds/v8/{end}")
        watched.page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
        assert watched.page.evaluate(TOO_SMALL) == [], end
        assert watched.page.evaluate(WIDE) <= 0, end
        assert watched.page.evaluate(PALE) == [], end
    assert watched.outside == []
