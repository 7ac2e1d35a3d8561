"""The pages without a browser: who may ask, who may write, and what is answered."""

from __future__ import annotations

import re
import secrets

import pytest
from starlette.testclient import TestClient
from tests.browser.benches import BY, start

from bedplate.engine import examples
from bedplate.errors import EntryError
from bedplate.quantity import Dimension, Units, parse
from bedplate.shop.offers import gauge_offers
from bedplate.web.app import create_app
from bedplate.web.guard import FORM_LIMIT, POLICY, READING_LIMIT
from bedplate.workshop import Workshop

JSON = {"accept": "application/json"}


@pytest.fixture
def shop(tmp_path):
    workshop = Workshop.open(tmp_path)
    start(workshop)
    yield workshop
    workshop.close()


@pytest.fixture
def client(shop):
    app = create_app(shop, allowed_hosts=["bench"])
    return TestClient(app, base_url="http://bench", follow_redirects=False)


def _reading(**more):
    body = {
        "id": secrets.token_hex(16),
        "feature": "main-journal-1",
        "station": "0-deg-front-end",
        "gauge": "mic",
        "value": "54.990",
        "by": BY,
    }
    return {**body, **more}


def test_every_answer_carries_the_policy(client):
    for path in ("/", "/builds/kestrel/", "/static/bedplate.js", "/nothing", "/builds/no/"):
        headers = client.get(path).headers
        assert headers["content-security-policy"] == POLICY
        assert headers["x-content-type-options"] == "nosniff"
    assert "unsafe" not in POLICY


@pytest.mark.parametrize(
    "host", ["bench", "BENCH:80", "127.0.0.1:8377", "192.168.1.20", "[::1]:80"]
)
def test_names_of_ours_and_plain_addresses_are_answered(client, host):
    assert client.get("/", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "host", ["evil.example", "bench.evil.example", "", "127.0.0.1.evil.example"]
)
def test_other_names_are_not(client, host):
    assert client.get("/", headers={"host": host}).status_code == 421


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://bench:81"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site", "origin": "http://bench"},
    ],
)
def test_a_page_from_elsewhere_writes_nothing(client, shop, headers):
    before = shop.state("kestrel").checkpoint
    answer = client.post("/builds/kestrel/readings", json=_reading(), headers={**JSON, **headers})
    assert answer.status_code == 403
    assert shop.state("kestrel").checkpoint == before


def test_our_own_page_writes(client):
    headers = {**JSON, "origin": "http://bench", "sec-fetch-site": "same-origin"}
    answer = client.post("/builds/kestrel/readings", json=_reading(), headers=headers)
    assert answer.status_code == 200
    assert answer.json()["echo"].startswith("54.990 mm")


def test_the_same_id_is_one_entry_and_one_answer(client, shop):
    body = _reading()
    first, second = (
        client.post("/builds/kestrel/readings", json=body, headers=JSON).json() for _ in range(2)
    )
    assert first["number"] == second["number"]
    assert second["repeated"]
    assert len(shop.state("kestrel").features["main-journal-1"].readings) == 1


def test_a_form_leads_on_to_the_next_station(client):
    answer = client.post("/builds/kestrel/readings", data=_reading())
    assert answer.status_code == 303
    assert answer.headers["location"].endswith("feature=main-journal-1&station=90-deg-front-end")
    assert "bedplate-name=" in answer.headers["set-cookie"]
    assert "in the record" in client.get(answer.headers["location"]).text.lower()


@pytest.mark.parametrize(
    "back", ["//evil.example", "https://evil.example", "/\\evil.example", "evil"]
)
def test_a_form_leads_nowhere_else(client, back):
    data = {"by": BY, "about": "", "text": "a note", "back": back}
    answer = client.post("/builds/kestrel/notes", data=data)
    assert answer.headers["location"] == "/builds/kestrel/record"


@pytest.mark.parametrize(
    ("kind", "status"),
    [("text/plain", 415), ("", 415), ("application/xml", 415), ("application/json", 422)],
)
def test_only_known_bodies_are_read(client, kind, status):
    headers = {**JSON, "content-type": kind}
    answer = client.post("/builds/kestrel/readings", content=b"[1]", headers=headers)
    assert answer.status_code == status
    assert answer.json()["sentence"].endswith(".")


def test_long_bodies_are_refused_however_they_come(client):
    long = b'{"value": "' + b"1" * READING_LIMIT + b'"}'
    headers = {**JSON, "content-type": "application/json"}
    url = "/builds/kestrel/readings"
    assert client.post(url, content=long, headers=headers).status_code == 413
    drip = client.post(url, content=iter([long[:500], long[500:]]), headers=headers)
    assert drip.status_code == 413
    form = {**JSON, "content-type": "application/x-www-form-urlencoded"}
    much = b"text=" + b"a" * FORM_LIMIT
    assert client.post("/builds/kestrel/notes", content=much, headers=form).status_code == 413


@pytest.mark.parametrize(
    ("path", "status", "code"),
    [
        ("/builds/no/", 404, "not-found"),
        ("/builds/kestrel/fits/no", 404, "not-found"),
        ("/builds/kestrel/measure?feature=no", 404, "not-found"),
        ("/builds/kestrel/measure?feature=main-journal-1&station=no", 404, "not-found"),
        ("/pictures/00", 404, "not-found"),
        ("/nothing", 404, "not-found"),
    ],
)
def test_what_is_not_there_is_said_in_a_sentence(client, path, status, code):
    answer = client.get(path, headers=JSON)
    assert (answer.status_code, answer.json()["error"]) == (status, code)
    page = client.get(path)
    assert page.status_code == status
    assert "<h1>" in page.text


def test_a_wrong_engine_file_is_refused_with_its_faults(client, shop):
    data = {"engine": "schema = 1\n[engine]\nname = 3\n", "by": BY}
    answer = client.post("/builds", data=data, headers=JSON)
    assert answer.status_code == 422
    assert all(fault["wrong"] for fault in answer.json()["faults"])
    assert [b.build for b in shop.builds()] == ["kestrel"]


def test_a_failure_of_ours_is_said_without_its_insides(shop):
    def fails(_build):
        raise ZeroDivisionError("secret")

    shop.state = fails
    app = create_app(shop, allowed_hosts=["bench"])
    client = TestClient(app, base_url="http://bench")
    answer = client.get("/builds/kestrel/")
    assert answer.status_code == 500
    assert answer.headers["content-security-policy"] == POLICY
    assert "secret" not in answer.text
    assert "Traceback" not in answer.text


def test_files_come_as_files(client):
    pdf = client.get("/builds/kestrel/sheet.pdf")
    assert pdf.content.startswith(b"%PDF")
    assert client.get("/builds/kestrel/book.pdf").content.startswith(b"%PDF")
    lines = client.get("/builds/kestrel/record.jsonl")
    assert "attachment" in lines.headers["content-disposition"]
    assert client.get("/builds/kestrel/state.json").json()["build"] == "kestrel"
    assert "Kestrel" in client.get("/builds/kestrel/engine.toml").text


def test_a_record_goes_out_and_comes_in_again(client, shop, tmp_path):
    client.post("/builds/kestrel/readings", json=_reading(), headers=JSON)
    exported = client.get("/builds/kestrel/record.jsonl").content
    other = Workshop.open(tmp_path / "other")
    away = TestClient(create_app(other, allowed_hosts=["bench"]), base_url="http://bench")
    answer = away.post("/import", files={"record": ("k.jsonl", exported)}, headers=JSON)
    assert answer.json()["go"] == "/builds/kestrel/"
    assert other.state("kestrel").checkpoint == shop.state("kestrel").checkpoint
    other.close()


PNG = b"\x89PNG\r\n\x1a\n" + b"\0" * 40


def test_a_picture_is_kept_and_shown_as_what_it_is(client, shop):
    data = {"by": BY, "about": "crank", "text": "the crank (invented)"}
    url = "/builds/kestrel/notes"
    client.post(url, data=data, files={"picture": ("a.png", PNG, "image/png")})
    digest = shop.state("kestrel").entries[-1].entry.sha256
    answer = client.get(f"/pictures/{digest}")
    assert answer.content == PNG
    assert answer.headers["content-type"] == "image/png"
    evil = client.post(
        url, data=data, files={"picture": ("a.png", b"<svg onload=x>")}, headers=JSON
    )
    assert evil.status_code == 422


def test_every_deed_that_a_form_names_is_there(client):
    """A form that leads nowhere would lose what was typed."""
    import re

    paths = {"/", "/builds/kestrel/", *(f"/builds/kestrel/{end}" for end in
             ("measure", "fits/main-clearance-1", "record", "gauges"))}  # fmt: skip
    for path in paths:
        for action in re.findall(r'method="post" action="([^"]+)"', client.get(path).text):
            answer = client.post(action, data={"by": ""}, headers=JSON)
            assert answer.status_code in {404, 422}, (action, answer.text)
            assert answer.json()["sentence"] != "There is no such page."


def test_the_record_is_checked_against_paper(client, shop):
    now = shop.state("kestrel").checkpoint
    url = "/builds/kestrel/verify"
    assert "is whole" in client.get(url).text
    spaced = f"{now.head[:8]} {now.head[8:].upper()}"
    assert "is whole" in client.get(url, params={"count": now.count, "head": spaced}).text
    assert "is not whole" in client.get(url, params={"count": 2, "head": now.head}).text
    assert client.get(url, params={"count": "two", "head": now.head}).status_code == 422


def test_the_name_is_kept_on_this_device(client):
    answer = client.post("/name", data={"by": "Zoë <b>", "back": "/builds/kestrel/fits"})
    assert answer.headers["location"] == "/builds/kestrel/fits"
    page = client.get("/builds/kestrel/record").text
    assert "Zoë &lt;b&gt;" in page
    assert "<b>Zoë <b>" not in page


def test_fits_fold_where_nothing_asks_for_a_look(tmp_path):
    from bedplate import demo
    from bedplate.web.views.fits import fits_page

    workshop = Workshop.open(tmp_path)
    state = workshop.state(demo.start_demo(workshop))
    groups = {group.name: group for group in fits_page(state, "", "").groups}
    assert not groups["main clearance"].folded, "one is outside"
    assert groups["main clearance"].tally == "3 inside, 1 outside, 1 undecided, 2 not measured"
    assert [len(alike) for alike in groups["main clearance"].sets] == [6, 1], "the thrust main"
    assert groups["pin in piston"].folded, "inside, or not measured yet"
    for group in groups.values():
        assert sum(map(len, group.sets)) == len(group.fits)
        if group.folded:
            assert {fit.verdict for fit in group.fits} <= {"inside", "not-measured"}
            assert not any("Stale" in remark for fit in group.fits for remark in fit.remarks)
    wanted = fits_page(state, "", "not measured").groups
    assert not any(group.folded for group in wanted), "what was asked for is shown"


def test_the_engine_file_is_changed_on_the_page_with_its_reason(client, shop):
    url, old = "/builds/kestrel/engine", shop.engine_text("kestrel")
    data = {"by": BY, "engine": old.replace("0.028..0.052 mm", "0.030..0.050 mm", 1)}
    refused = client.post(url, data=data, headers=JSON)
    assert "why" in refused.json()["sentence"]
    broken = client.post(
        url, data=data | {"engine": old.replace("[geometry]", "[geo]"), "reason": "x"}, headers=JSON
    )
    assert broken.status_code == 422
    assert broken.json()["faults"]
    same = client.post(url, data=data | {"engine": old, "reason": "second edition"}, headers=JSON)
    assert "same as before" in same.json()["sentence"]
    count = shop.state("kestrel").checkpoint.count
    whole = data | {"reason": "second edition", "id": secrets.token_hex(16)}
    for repeated in (False, True):
        taken = client.post(url, data=whole, headers=JSON).json()
        assert (taken["number"], taken["repeated"]) == (count + 1, repeated)
    assert shop.state("kestrel").fits["main-clearance-1"].high == pytest.approx(50e-6)
    assert "second edition" in client.get("/builds/kestrel/record").text


def test_readings_come_from_a_file_all_or_none(client, shop):
    url, count = "/builds/kestrel/readings/file", shop.state("kestrel").checkpoint.count
    head = "feature,station,value,gauge\n"
    good = f"{head}main-journal-3,0-deg-front-end,54.990,mic\n"
    bad = good + "main-journal-3,nowhere,54.990,mic\n"
    refused = client.post(
        url, data={"by": BY}, files={"readings": ("r.csv", bad.encode())}, headers=JSON
    )
    assert refused.status_code == 422
    assert [fault["line"] for fault in refused.json()["faults"]] == [3]
    assert shop.state("kestrel").checkpoint.count == count
    taken = client.post(
        url, data={"by": BY}, files={"readings": ("r.csv", good.encode())}, headers=JSON
    )
    assert taken.json()["number"] == count + 1
    none = client.post(url, data={"by": BY}, headers=JSON)
    assert "No file of readings" in none.json()["sentence"]


def test_gauges_are_offered_in_the_units_of_the_engine(client, shop):
    shop.start(examples()["v8"], by=BY, build="inches")
    for build, unit, other in (("kestrel", "mm", "in"), ("inches", "in", "mm")):
        text = client.get(f"/builds/{build}/gauges").text
        offered = re.findall(r'data-(?:resolution|uncertainty|repeatability)="([^"]+)"', text)
        assert len(offered) == 27
        assert all(figure.endswith(f" {unit}") for figure in offered), build
        assert not any(figure.endswith(f" {other}") for figure in offered)


def test_a_figure_that_is_missing_is_offered_in_the_units_the_gauge_reads_in(shop):
    shop.start(examples()["v8"], by=BY, build="inches")
    kind = {"gauge_kind": "bore gauge", "resolution": "0.0001 in", "repeatability": "0.00005 in"}
    with pytest.raises(EntryError) as raised:
        shop.register_gauge("inches", "dbg", by=BY, expanded_uncertainty="", **kind)
    assert "0.00006 in; type it to use it" in raised.value.hint
    with pytest.raises(EntryError) as raised:
        shop.register_gauge("inches", "dbg", by=BY, expanded_uncertainty="", reads_in="mm", **kind)
    assert "0.0015 mm; type it to use it" in raised.value.hint
    # The turn of a dial, from which a slip of one turn is known.
    form = {"gauge": "mic2", "gauge_kind": "outside micrometer", "reads_in": "in", "by": BY,
            "resolution": "0.0001 in", "expanded_uncertainty": "0.0001 in",
            "repeatability": "0.00005 in"}  # fmt: skip
    app = TestClient(create_app(shop, allowed_hosts=["bench"]), base_url="http://bench")
    answer = app.post("/builds/kestrel/gauges", data=form, headers={"origin": "http://bench"})
    assert answer.status_code == 200
    assert shop.state("kestrel").gauges["mic2"].gauge.dial_turn.text == "0.025 in"


@pytest.mark.parametrize("offer", [o for u in Units for o in gauge_offers(u).values()])
def test_what_is_offered_for_a_gauge_is_what_its_twin_in_other_units_has(offer):
    """An inch gauge and a metric one of a kind are as good as each other, steps apart."""
    twin = gauge_offers(Units.METRIC)[offer.kind]
    for name in ("expanded_uncertainty", "repeatability"):
        ours, theirs = (parse(getattr(one, name), Dimension.LENGTH).value for one in (offer, twin))
        assert ours == pytest.approx(theirs, rel=0.08)
    assert offer.comparator == twin.comparator
    assert parse(offer.resolution, Dimension.LENGTH).value > 0
