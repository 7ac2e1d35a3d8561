"""The pages of the machine shop in a browser: large targets, dark and light, by keyboard."""

from __future__ import annotations

import pytest

from bedplate.demo import fill
from bedplate.engine import examples
from bedplate.shop.selection.outcomes import selections_of

from .benches import BY
from .probes import PALE, TOO_SMALL, WIDE

pytestmark = pytest.mark.browser

SIX = "six"
ENDS = (
    "order",
    "checkin",
    "checkin?row=cylinder-bore-2",
    "parts",
    "selection",
    "selection?what=sets",
    "rings",
)
MEASURED = {"piston", "main journal", "main housing", "cylinder bore"}
SIZES = {"tablet": (1180, 820), "phone": (390, 844), "laptop": (1440, 900)}


@pytest.fixture
def six(bench):
    shop = bench.shop
    fill(shop, examples()["straight-six"], SIX, seed=6,
         wanted=lambda f: f.kind in MEASURED)  # fmt: skip
    shop.issue_order(SIX, by=BY)
    shop.take_return(
        SIX, [{"row": "cylinder-bore-2", "value": "84.540 mm"}], by=BY, returned={"pistons": 5}
    )
    rows = ["identity,part,half,grooved,wall,wall uncertainty"]
    for number in range(12):
        wall = 1.9845 + 0.0008 * number
        rows += [
            f"{half[0].upper()}{number},main shell,{half},{grooved},{wall:.4f} mm,2 µm"
            for half, grooved in (("upper", "yes"), ("lower", "no"))
        ]
    shop.add_parts(SIX, "\n".join(rows).encode(), "box.csv", by=BY)
    return shop


@pytest.mark.parametrize("size", SIZES)
def test_what_is_touched_is_large_and_nothing_runs_off_the_side(six, watched, size):
    watched.page.set_viewport_size(dict(zip(("width", "height"), SIZES[size], strict=True)))
    small, wide = {}, {}
    for end in ENDS:
        assert watched.goto(f"/builds/{SIX}/{end}").status == 200
        found = watched.page.evaluate(TOO_SMALL)
        if found:
            small[end] = found[:5]
        over = watched.page.evaluate(WIDE)
        if over > 0:
            wide[end] = over
        assert watched.page.locator("h1").count() == 1
    assert small == {}
    assert wide == {}
    assert watched.complaints == []
    assert watched.outside == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_words_stand_out_from_the_paper(six, watched, scheme):
    """WCAG 2.2, success criterion 1.4.3: 4.5 to 1."""
    watched.page.emulate_media(color_scheme=scheme)
    for end in ENDS:
        watched.goto(f"/builds/{SIX}/{end}")
        assert watched.page.evaluate(PALE) == [], end


def test_a_shell_is_moved_and_the_choice_kept_by_keyboard_alone(six, watched):
    watched.goto(f"/builds/{SIX}/selection")
    page = watched.page
    page.locator("select[name='at main 1 upper']").focus()
    page.keyboard.press("End")
    page.locator("button", has_text="Try these moves").focus()
    with page.expect_navigation():
        page.keyboard.press("Enter")
    assert "Moved by hand" in page.locator("main").inner_text()
    page.locator("a", has_text="Back to the best").focus()
    with page.expect_navigation():
        page.keyboard.press("Enter")
    page.locator("form.write input[name=by]").last.fill(BY)
    page.keyboard.press("Enter")
    page.wait_for_selector("h2:has-text('Kept')")
    assert selections_of(six.state(SIX))[0].made.by == BY
