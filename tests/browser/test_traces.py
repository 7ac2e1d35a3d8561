"""Measured pressure on the page: chosen, looked at, taken and taken back, by keyboard alone."""

from __future__ import annotations

import pytest

from bedplate.demo import start_demo

from .probes import PALE, TOO_SMALL, WIDE

pytestmark = pytest.mark.browser

TRACE = "\n".join(
    ["angle deg;pressure bar"]
    + [f"{a};{1 + 60 * max(0.0, 1 - abs(a - 14) / 90):.3f}" for a in range(-360, 360, 2)]
)


@pytest.fixture
def traces(bench, watched):
    build = start_demo(bench.shop)
    watched.goto(f"/builds/{build}/duty/traces")
    return watched.page


def look(page, trace=TRACE):
    page.set_input_files(
        "input[type=file]", {"name": "run.csv", "mimeType": "text/csv", "buffer": trace.encode()}
    )
    page.focus("input[name=speed]")
    page.keyboard.type("6000 rpm")
    page.keyboard.press("Enter")


def test_a_trace_is_looked_at_taken_and_taken_back_with_the_keyboard(bench, traces):
    look(traces)
    traces.wait_for_selector("#offer")
    assert "peak 61 bar at 14°" in traces.inner_text("#offer")
    assert traces.get_attribute("#offer svg", "role") == "img"
    name = traces.locator("#offer input[name=by]")
    if name.count():
        name.focus()
        traces.keyboard.type("Ann")
    traces.focus("#offer button")
    traces.keyboard.press("Enter")
    traces.wait_for_selector(".traces article")
    assert "6000 rpm, all cylinders" in traces.inner_text(".traces")
    build = bench.shop.builds()[0].build
    assert [trace.cylinder for trace in bench.shop.given(build).traces] == [""]
    traces.focus(".traces summary")
    traces.keyboard.press("Enter")
    traces.focus(".traces input[name=reason]")
    traces.keyboard.press("Space")
    traces.keyboard.press("Enter")
    traces.wait_for_selector(".traces article", state="detached")
    assert bench.shop.given(build).traces == ()


def test_a_trace_with_a_gap_is_refused_in_place(traces):
    look(traces, "\n".join(TRACE.splitlines()[:300]))
    traces.wait_for_selector("p.form-error:not([hidden])")
    assert "has a gap of" in traces.inner_text("p.form-error:not([hidden])")
    assert traces.input_value("input[name=speed]") == "6000 rpm"


@pytest.mark.parametrize("size", [(1180, 820), (390, 844), (1440, 900)])
def test_it_fits_every_bench(traces, size):
    traces.set_viewport_size({"width": size[0], "height": size[1]})
    look(traces)
    traces.wait_for_selector("#offer")
    assert traces.evaluate(WIDE) <= 0
    assert traces.evaluate(TOO_SMALL) == []
    assert traces.evaluate(PALE) == []
