"""Measuring on the page, with nothing but a keyboard, and with the network and the server gone."""

from __future__ import annotations

import pytest

from .benches import BY, start

pytestmark = pytest.mark.browser

FIELD = "#value"


def _prompt(page):
    return page.locator("#prompt").inner_text().replace("\n", ", ")


def _type(page, text):
    """Type a value as a gauge with a keyboard plug does: digits, then Enter."""
    before = (
        page.locator(".answer").get_attribute("data-number")
        if page.locator(".answer").count()
        else ""
    )
    page.keyboard.type(text)
    page.keyboard.press("Enter")
    page.wait_for_function(
        "before => Number(document.querySelector('.answer')?.dataset.number || 0) > Number(before)",
        arg=before,
    )


def _answer_first_questions(page):
    """Say who measures and in which state the parts are, by keyboard, and go back to the field."""
    for _ in range(30):
        page.keyboard.press("Tab")
        what = page.evaluate("[document.activeElement.name, document.activeElement.type]")
        if what == ["condition", "radio"]:
            page.keyboard.press("Space")
        if what[0] == "condition" and what[1] == "text":
            page.keyboard.type("on the bench")
        if what[0] == "by" and page.evaluate("!!document.activeElement.closest('#reading-form')"):
            page.keyboard.type(BY)
            break
    page.keyboard.press("Escape")
    assert page.evaluate("document.activeElement.id") == "value"


def test_two_mains_and_a_bore_by_keyboard_alone(bench, watched):
    build = start(bench.shop)
    page = watched.page
    watched.goto(f"/builds/{build}/measure?feature=main-journal-1")
    _answer_first_questions(page)
    for number in (1, 2):
        for _ in bench.shop.state(build).features[f"main-journal-{number}"].feature.stations:
            assert f"Main journal {number}" in _prompt(page)
            _type(page, "54.990")
    _set_and_measure(page, watched, bench, build)
    state = bench.shop.state(build)
    verdicts = [state.fits[f"main-clearance-{n}"].verdict.value for n in (1, 2)]
    assert verdicts == ["inside", "inside"]
    assert "inside" in page.locator(".answer").inner_text()
    assert state.features["cylinder-bore-1"].size is not None
    assert watched.complaints == []
    assert watched.outside == []


def _set_and_measure(page, watched, bench, build):
    engine = bench.shop.state(build).engine
    for number, feature in (("1", "main-bearing-bore-1"), ("2", "main-bearing-bore-2")):
        watched.goto(f"/builds/{build}/measure?feature={feature}")
        if number == "1":
            _set(page, "54.990")
            _answer_condition(page)
        for _ in engine.features[feature].stations:
            _type(page, "+0.040")
    watched.goto(f"/builds/{build}/measure?feature=cylinder-bore-1")
    _set_again(page, "86.250")
    _answer_condition(page)
    for _ in engine.features["cylinder-bore-1"].stations:
        _type(page, "+0.005")


def _set(page, size):
    _tab_to(page, "size")
    page.keyboard.press("Control+A")
    page.keyboard.type(size)
    page.keyboard.press("Enter")
    page.wait_for_selector("#reading-form")


def _set_again(page, size):
    assert "Set it again" in page.locator(".setting").inner_text()
    _set(page, size)
    page.wait_for_function(
        "text => document.querySelector('.setting')?.innerText.includes(text)", arg=size
    )


def _tab_to(page, name):
    for _ in range(60):
        if page.evaluate("document.activeElement.name") == name:
            return
        page.keyboard.press("Tab")
    pytest.fail(f"no way to {name} by Tab")


def _answer_condition(page):
    if page.locator("#reading-form input[name=condition]:checked").count():
        page.locator(FIELD).focus()
        return
    page.locator(FIELD).focus()
    for _ in range(12):
        page.keyboard.press("Tab")
        if page.evaluate("[document.activeElement.name, document.activeElement.type]") == [
            "condition",
            "radio",
        ]:
            page.keyboard.press("Space")
            break
    page.keyboard.press("Escape")


def _measuring(bench, watched, feature="main-journal-1"):
    build = start(bench.shop)
    watched.context.add_cookies(
        [{"name": "bedplate-name", "value": "Ann", "url": bench.address, "sameSite": "Strict"}]
    )
    watched.goto(f"/builds/{build}/measure?feature={feature}")
    return build


def _readings(bench, build):
    return [e.entry for e in bench.shop.state(build).entries if hasattr(e.entry, "station")]


def test_a_value_typed_without_network_is_saved_once_when_it_is_back(bench, watched):
    build = _measuring(bench, watched)
    page = watched.page
    watched.context.set_offline(True)
    first = _prompt(page)
    page.keyboard.type("54.991")
    page.keyboard.press("Enter")
    page.wait_for_selector("#unsaved-list li")
    assert "54.991" in page.locator("#unsaved").inner_text()
    assert first in page.locator("#unsaved").inner_text()
    assert _prompt(page) != first, "the next station is asked for meanwhile"
    page.keyboard.type("54.992")
    page.keyboard.press("Enter")
    page.wait_for_function("() => document.querySelectorAll('#unsaved-list li').length == 2")
    assert _readings(bench, build) == []
    watched.context.set_offline(False)
    page.wait_for_selector("#unsaved", state="hidden")
    taken = _readings(bench, build)
    assert [r.value.text for r in taken] == ["54.991", "54.992"]
    assert len({r.station for r in taken}) == 2


def test_a_value_survives_a_dead_server_and_a_reload(bench, watched):
    build = _measuring(bench, watched)
    page = watched.page
    bench.stop()
    page.keyboard.type("54.993")
    page.keyboard.press("Enter")
    page.wait_for_selector("#unsaved-list li")
    bench.start()
    page.reload()
    page.wait_for_selector("#unsaved", state="hidden")
    assert [r.value.text for r in _readings(bench, build)] == ["54.993"]


def test_an_answer_that_was_lost_is_not_taken_twice(bench, watched):
    build = _measuring(bench, watched)
    page = watched.page
    lost = []

    def swallow(route):
        if not lost:
            lost.append(route.fetch())
            route.abort()
        else:
            route.continue_()

    page.route("**/readings", swallow)
    page.keyboard.type("54.994")
    page.keyboard.press("Enter")
    page.wait_for_function("() => document.querySelectorAll('#unsaved-list li').length == 1")
    page.wait_for_selector("#unsaved", state="hidden")
    assert lost[0].status == 200
    assert [r.value.text for r in _readings(bench, build)] == ["54.994"]


def test_a_refused_value_stays_in_the_field_with_the_reason(bench, watched):
    build = _measuring(bench, watched)
    page = watched.page
    page.keyboard.type("54,9,9 furlongs")
    page.keyboard.press("Enter")
    page.wait_for_selector("#refused:not([hidden])")
    assert page.locator(FIELD).input_value() == "54,9,9 furlongs"
    assert page.locator("#unsaved").is_hidden()
    assert _readings(bench, build) == []


def test_undo_by_withdrawal_and_station_keys(bench, watched):
    build = _measuring(bench, watched)
    page = watched.page
    first = _prompt(page)
    _type(page, "54.990")
    second = _prompt(page)
    assert second != first
    page.keyboard.press("PageUp")
    page.wait_for_function(
        "text => document.querySelector('#prompt').innerText.replace('\\n', ', ') == text",
        arg=first,
    )
    page.keyboard.press("PageDown")
    page.wait_for_function(
        "text => document.querySelector('#prompt').innerText.replace('\\n', ', ') == text",
        arg=second,
    )
    page.go_back()
    page.go_back()
    page.wait_for_url("**/measure?entry=*")
    page.wait_for_selector(".answer")
    page.keyboard.press("Control+z")
    page.wait_for_selector("#undo[open]")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    page.wait_for_selector("#taken-back")
    assert _prompt(page) == first, "the station that was taken back is asked for again"
    assert "typed wrong" in page.locator("#taken-back").inner_text()
    assert page.locator(".past .withdrawn").count() == 1
    readings = bench.shop.state(build).features["main-journal-1"].readings
    assert [(r.standing, r.why) for r in readings] == [("withdrawn", "typed wrong")]


def test_a_doubtful_value_is_questioned_on_the_page(bench, watched):
    _measuring(bench, watched)
    page = watched.page
    _type(page, "55.490")
    assert page.locator(".doubt").count() == 1
    assert "turn" in page.locator(".doubt").inner_text()
    _type(page, "54.990")
    standing = page.locator(".past .questioned")
    assert "turn" in standing.inner_text(), "a question stays until it is answered"
    standing.locator(".undo summary").press("Enter")
    standing.locator("input[type=radio]").first.press("ArrowDown")
    page.keyboard.press("Enter")
    page.wait_for_selector("#taken-back")
    assert page.locator(".doubt").count() == 0


def test_a_doubtful_value_that_is_right_is_noted_as_such(bench, watched):
    build = _measuring(bench, watched)
    page = watched.page
    _type(page, "55.490")
    page.locator(".right-so summary").press("Enter")
    page.locator(".right-so input[name=text]").press_sequentially("measured twice, it is so")
    page.keyboard.press("Enter")
    page.wait_for_function("() => !document.querySelector('.doubt')")
    state = bench.shop.state(build)
    assert [q for q in state.questions if q.kind.value == "doubt"] == []
    assert "entry 4" in state.notes


def test_measuring_works_without_scripts(bench, browser):
    build = start(bench.shop)
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{bench.address}/builds/{build}/measure?feature=main-journal-1")
    page.fill("#value", "54.990")
    page.fill("#reading-form input[name=by]", BY)
    page.click("#reading-form button")
    page.wait_for_selector(".answer")
    assert "54.990 mm" in page.locator(".echo").inner_text()
    assert len(_readings(bench, build)) == 1
    page.reload()
    assert len(_readings(bench, build)) == 1
    context.close()


def test_a_slow_answer_is_waited_for_and_not_asked_for_again(bench, watched):
    _measuring(bench, watched)
    page = watched.page
    sent = []

    def slow(route):
        sent.append(route.request.post_data)
        page.wait_for_timeout(4000)
        route.continue_()

    page.route("**/readings", slow)
    _type(page, "54.990")
    assert len(sent) == 1
