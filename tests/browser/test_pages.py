"""Every page: no complaint, nothing from elsewhere, large targets, and nothing typed is run."""

from __future__ import annotations

import pytest

from bedplate.demo import start_demo
from bedplate.engine import examples
from bedplate.web.render import TABS

from .benches import BY, start
from .probes import PALE, TOO_SMALL, WIDE

pytestmark = pytest.mark.browser

ENDS = (
    "",
    "measure",
    "fits",
    "fits/main-clearance-1",
    "questions",
    "record",
    "verify",
    "gauges",
    "balance",
    "torsion",
)
SIZES = {
    "tablet": (1180, 820),
    "tablet upright": (820, 1180),
    "phone": (390, 844),
    "laptop": (1440, 900),
}


@pytest.fixture
def demo(bench):
    return start_demo(bench.shop)


def test_every_page_is_quiet_and_stays_at_home(demo, watched):
    for end in ENDS:
        assert watched.goto(f"/builds/{demo}/{end}").status == 200
    for path in ("/", "/keys"):
        assert watched.goto(path).status == 200
    assert watched.complaints == []
    assert watched.outside == []


@pytest.mark.parametrize("size", SIZES)
def test_what_is_touched_is_large_and_nothing_runs_off_the_side(demo, watched, size):
    watched.page.set_viewport_size(dict(zip(("width", "height"), SIZES[size], strict=True)))
    small, wide = {}, {}
    for path in ["/", "/keys", *(f"/builds/{demo}/{end}" for end in ENDS)]:
        watched.goto(path)
        found = watched.page.evaluate(TOO_SMALL)
        if found:
            small[path] = found[:5]
        over = watched.page.evaluate(WIDE)
        if over > 0:
            wide[path] = over
    assert small == {}
    assert wide == {}


IN_SIGHT = """() => [...document.querySelectorAll('nav.tabs a')].filter((e) => {
  const box = e.getBoundingClientRect();
  const middle = [box.x + box.width / 2, box.y + box.height / 2];
  return box.left >= 0 && box.top >= 0 && box.right <= innerWidth && box.bottom <= innerHeight &&
    e.scrollWidth <= e.clientWidth && e.contains(document.elementFromPoint(...middle));
}).map((e) => e.pathname.split('/').slice(3).join('/'))"""
"""The pages of a build that can be seen and touched where the window stands."""


@pytest.mark.parametrize("size", [*SIZES.values(), (700, 900), (360, 740), (320, 640)])
def test_every_page_of_a_build_is_in_sight(demo, watched, size):
    every = [end for end, _ in TABS]
    watched.page.set_viewport_size({"width": size[0], "height": size[1]})
    for end in ("", "measure", "record"):
        watched.goto(f"/builds/{demo}/{end}")
        assert watched.page.evaluate(IN_SIGHT) == every, end
        if size[0] <= 640:  # under the thumb, however far the page has run
            watched.page.evaluate("scrollTo(0, document.body.scrollHeight)")
            assert watched.page.evaluate(IN_SIGHT) == every, end


COVERED = """() => {
  const e = document.activeElement, plate = document.querySelector('header.top');
  if (plate.contains(e) || e === document.body) return false;
  return e.getBoundingClientRect().bottom > plate.getBoundingClientRect().top;
}"""


def test_on_a_phone_no_focus_lies_under_the_plate_of_pages(demo, watched):
    """WCAG 2.2, success criterion 2.4.11: what has the focus is not hidden."""
    watched.page.set_viewport_size({"width": 390, "height": 844})
    watched.goto(f"/builds/{demo}/gauges")
    seen, reached = [], set()
    for _ in range(60):
        watched.page.keyboard.press("Tab")
        reached.add(watched.page.evaluate("document.activeElement.pathname || ''"))
        if watched.page.evaluate(COVERED):
            seen.append(watched.page.evaluate("document.activeElement.outerHTML.slice(0, 90)"))
    assert seen == []
    assert {f"/builds/{demo}/{end}" for end, _ in TABS} <= reached


def test_every_field_has_a_name_and_every_page_one_heading(demo, watched):
    for path in ["/", *(f"/builds/{demo}/{end}" for end in ENDS)]:
        watched.goto(path)
        nameless = watched.page.evaluate(
            """() => [...document.querySelectorAll('input:not([type=hidden]), select, textarea')]
            .filter((e) => !e.labels?.length && !e.getAttribute('aria-label'))
            .map((e) => e.outerHTML)"""
        )
        assert nameless == []
        assert watched.page.locator("h1").count() == 1
        assert watched.page.locator("main").count() == 1


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_words_stand_out_from_the_paper(demo, watched, scheme):
    """WCAG 2.2, success criterion 1.4.3: 4.5 to 1."""
    watched.page.emulate_media(color_scheme=scheme)
    for path in ["/", *(f"/builds/{demo}/{end}" for end in ENDS)]:
        watched.goto(path)
        assert watched.page.evaluate(PALE) == [], path


def test_the_drawing_leads_to_each_feature(demo, bench, watched):
    watched.goto(f"/builds/{demo}/")
    found = watched.page.evaluate(
        "() => [...document.querySelectorAll('[data-feature]')].map((e) => e.dataset.feature)"
    )
    assert sorted(found) == sorted(bench.shop.state(demo).features)
    watched.page.locator("a[data-feature='main-journal-2']").first.click()
    watched.page.wait_for_selector("#prompt")
    assert "Main journal 2" in watched.page.locator("#prompt").inner_text()


def test_a_folded_kind_of_fit_opens_where_it_is_jumped_to(demo, watched):
    watched.goto(f"/builds/{demo}/fits")
    fit = watched.page.locator("#fit-pin-in-piston-1")
    assert not fit.is_visible()
    watched.page.locator("nav.jump a[href='#kind-pin-in-piston']").press("Enter")
    fit.wait_for(state="visible")


def test_the_drawing_is_walked_by_keyboard(demo, watched):
    watched.goto(f"/builds/{demo}/")
    names = set()
    for _ in range(60):
        watched.page.keyboard.press("Tab")
        names.add(watched.page.evaluate("document.activeElement.getAttribute('aria-label') || ''"))
    assert any(name.startswith("Main journal 1:") for name in names)
    assert any(name.startswith("Cylinder bore 1:") for name in names)


BAD = "<script>document.title='owned'</script><img src=x onerror=alert(1)>"


def test_what_was_typed_is_shown_and_not_run(bench, watched):
    engine = examples()["in-line-four-frame"].replace(
        "Kestrel 21", "K <script>document.title=1</script>"
    )
    bench.shop.start(engine, by=BAD, build="bad", title=BAD)
    bench.shop.note("bad", "", BAD, by=BAD)
    bench.shop.note("bad", BAD, BAD, by=BAD)
    bench.shop.receive_part("bad", BAD, BAD, by=BAD, marks=BAD)
    bench.shop.register_gauge(
        "bad", "mic", by=BY, name=BAD, gauge_kind=BAD, resolution="0.001 mm",
        expanded_uncertainty="0.002 mm", repeatability="0.0006 mm", reads_in="mm",
    )  # fmt: skip
    feature = bench.shop.state("bad").features["main-journal-1"].feature
    bench.shop.read(
        "bad", feature.id, feature.stations[0].id, "54.99", "mic", by=BAD, condition=BAD
    )
    bench.shop.accept("bad", "main-clearance-1", BAD, by=BAD)
    for end in (
        *ENDS,
        "measure?entry=6",
        "measure?feature=main-journal-1",
        "fits?gate=%3Cscript%3E",
    ):
        watched.goto(f"/builds/bad/{end}")
        assert watched.page.title() != "owned"
        assert watched.page.locator("main script, main img[src=x]").count() == 0, end
    watched.goto("/builds/%3Cscript%3Ealert(1)%3C/script%3E/")
    assert watched.page.locator("main script").count() == 0
    assert watched.complaints == [c for c in watched.complaints if "404" in c]
    assert watched.outside == []


def test_a_build_is_started_decided_and_signed_on_the_page(bench, watched):
    page = watched.page
    watched.goto("/")
    page.check("input[value=in-line-four-frame]")
    page.fill("form[action='/builds'] input[name=by]", BY)
    page.click("form[action='/builds'] button")
    page.wait_for_url("**/builds/kestrel-21/")
    watched.goto("/builds/kestrel-21/gauges")
    page.fill("input[name=gauge]:not([type=hidden])", "mic")
    for name, text in (
        ("resolution", "0.001 mm"),
        ("expanded_uncertainty", ""),
        ("repeatability", "0.6 µm"),
    ):
        page.fill(f"form[action$='/gauges'] input[name={name}]", text or "nothing")
    page.click("form[action$='/gauges'] button")
    page.wait_for_selector(".form-error:not([hidden])")
    page.fill("form[action$='/gauges'] input[name=expanded_uncertainty]", "2 µm")
    page.click("form[action$='/gauges'] button")
    page.wait_for_selector("#gauge-mic")
    watched.goto("/builds/kestrel-21/fits/main-clearance-1")
    page.click(".decide summary")
    page.fill(".decide textarea", "measured by the shop, sheet 4 (invented)")
    page.click(".decide button")
    page.wait_for_selector("text=Accepted by")
    watched.goto("/builds/kestrel-21/record")
    page.click("summary:has-text('Sign')")
    page.fill("input[name=role]", "builder")
    page.fill("textarea[name=statement]", "Measured as written.")
    page.click("form[action$='/signatures'] button")
    page.wait_for_selector("text=Signed as builder")
    state = bench.shop.state("kestrel-21")
    assert state.fits["main-clearance-1"].accepted
    assert state.entries[-1].entry.by == BY


def test_the_build_from_the_examples_and_the_gauges_of_another(bench, watched):
    start(bench.shop)
    bench.shop.start(examples()["v8"], by=BY, build="second")
    watched.goto("/builds/second/gauges")
    watched.page.fill("form[action$='/gauges/copy'] input[name=by]", BY)
    watched.page.click("form[action$='/gauges/copy'] button")
    watched.page.wait_for_selector("#gauge-mic")
    assert set(bench.shop.state("second").gauges) == {"mic", "bore"}


def test_the_keys_are_shown_and_listed(demo, watched):
    from bedplate.web.keys import KEYS

    watched.goto(f"/builds/{demo}/")
    watched.page.locator("h1").click()
    watched.page.keyboard.press("?")
    dialog = watched.page.locator("#keys-dialog")
    assert dialog.is_visible()
    text = dialog.inner_text()
    for key in KEYS:
        assert key.does in text
