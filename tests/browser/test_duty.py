"""The duty page: the orbit moves, and a knob turned with a key is answered."""

from __future__ import annotations

import pytest

from bedplate.demo import fill, start_demo
from bedplate.engine import examples

from .probes import PALE, TOO_SMALL, WIDE

pytestmark = pytest.mark.browser

ORBIT = "document.querySelector('.orbit-figure .runs').getAttribute('transform')"


@pytest.fixture
def duty(bench, watched):
    build = start_demo(bench.shop)
    watched.goto(f"/builds/{build}/duty?bearing=rod-1")
    watched.page.wait_for_selector("#answer", timeout=180_000)
    return watched.page


def test_the_orbit_moves_and_can_be_held(duty):
    first = duty.evaluate(ORBIT)
    duty.wait_for_timeout(400)
    assert duty.evaluate(ORBIT) != first
    duty.focus("#still")
    duty.keyboard.press("Enter")
    held = duty.evaluate(ORBIT)
    duty.wait_for_timeout(300)
    assert duty.evaluate(ORBIT) == held


def test_a_key_turns_the_clearance_and_the_film_answers(duty):
    def least():
        return float(duty.inner_text("#film-least").split()[0])

    before = least()
    duty.focus("#knob-wider")
    for _ in range(10):
        duty.keyboard.press("ArrowRight")
    duty.wait_for_url("**wider=10*")
    assert least() < before
    assert duty.inner_text("output[for=knob-wider]") == "+10 µm"
    first = duty.evaluate(ORBIT)
    duty.wait_for_timeout(400)
    assert duty.evaluate(ORBIT) != first


@pytest.mark.parametrize("size", [(1180, 820), (390, 844), (1440, 900)])
def test_it_fits_every_bench(duty, size):
    duty.set_viewport_size({"width": size[0], "height": size[1]})
    assert duty.evaluate(WIDE) <= 0
    assert duty.evaluate(TOO_SMALL) == []


@pytest.mark.parametrize("size", [(1180, 820), (390, 844)])
def test_it_fits_in_inches_too(bench, watched, size):
    fill(bench.shop, examples()["v8"], "inches")
    watched.page.set_viewport_size({"width": size[0], "height": size[1]})
    watched.goto("/builds/inches/duty")
    watched.page.wait_for_selector("#answer", timeout=180_000)
    assert watched.page.evaluate(WIDE) <= 0


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_is_pale(duty, scheme):
    duty.emulate_media(color_scheme=scheme)
    assert duty.evaluate(PALE) == []


def test_an_inch_build_reads_its_knob_in_thou_within_its_column(bench, watched):
    bench.shop.start(examples()["v8"], by="Ann", build="inch")
    watched.goto("/builds/inch/duty?bearing=rod-1&speed=5000")
    page = watched.page
    page.wait_for_selector("#answer", timeout=180_000)
    assert page.inner_text("output[for=knob-wider]") == "+0.00 thou"
    page.focus("#knob-wider")
    for _ in range(10):
        page.keyboard.press("ArrowRight")
    page.wait_for_url("**wider=10*")
    assert page.inner_text("output[for=knob-wider]") == "+0.39 thou"
    for width in (390, 1180):
        page.set_viewport_size({"width": width, "height": 820})
        knob = page.locator("output[for=knob-wider]").bounding_box()
        slide = page.locator("#knob-wider").bounding_box()
        assert knob["x"] + knob["width"] <= slide["x"] + slide["width"] + 1
