"""Whatever is sent to the pages: an answer in words, never a failure, and nothing half-written."""

from __future__ import annotations

import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient
from tests.browser.benches import start

from bedplate.web.app import create_app
from bedplate.workshop import Workshop

NAMES = ("readings", "settings", "gauges", "gauges/copy", "withdrawals", "reworks", "decisions",
         "notes", "parts", "signatures")  # fmt: skip
FIELDS = (
    "id", "by", "feature", "station", "gauge", "value", "condition", "size", "on_gauge", "target",
    "reason", "fit", "text", "about", "part", "identity", "features", "operation", "role",
    "statement", "gauge_kind", "resolution", "expanded_uncertainty", "repeatability", "coverage",
    "reads_in", "from_build", "part_temperature", "back",
)  # fmt: skip
KNOWN = st.sampled_from(
    ["main-journal-1", "0-deg-front-end", "mic", "bore", "54.99", "+0.01 mm", "main-clearance-1",
     "kestrel", "1", "0" * 32, "Ann", "crank", "outside micrometer", "20 °C", "other"]
)  # fmt: skip
TEXT = st.one_of(KNOWN, st.text(max_size=40))
QUICK = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    workshop = Workshop.open(tmp_path_factory.mktemp("web"))
    start(workshop)
    app = create_app(workshop, allowed_hosts=["bench"])
    yield TestClient(
        app, base_url="http://bench", raise_server_exceptions=True, follow_redirects=False
    )
    assert workshop.verify("kestrel").ok
    workshop.close()


def _fine(answer):
    assert answer.status_code < 500, answer.text
    if answer.status_code >= 400:
        assert answer.json()["sentence"].endswith((".", "…"))


@QUICK
@given(st.sampled_from(NAMES), st.dictionaries(st.sampled_from(FIELDS), TEXT, max_size=12))
def test_any_form(client, name, fields):
    headers = {"accept": "application/json"}
    _fine(client.post(f"/builds/kestrel/{name}", data=fields, headers=headers))


@QUICK
@given(st.one_of(st.binary(max_size=200), st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.text(max_size=8)),
    lambda inner: st.one_of(st.lists(inner, max_size=3),
                            st.dictionaries(st.sampled_from(FIELDS), inner, max_size=4)),
    max_leaves=8).map(lambda value: json.dumps(value).encode())))  # fmt: skip
def test_any_json(client, body):
    headers = {"accept": "application/json", "content-type": "application/json"}
    _fine(client.post("/builds/kestrel/readings", content=body, headers=headers))


@QUICK
@given(st.binary(max_size=300), st.sampled_from(["/import", "/builds", "/builds/kestrel/notes"]))
def test_any_multipart(client, body, path):
    kind = "multipart/form-data; boundary=x"
    headers = {"accept": "application/json", "content-type": kind}
    _fine(client.post(path, content=body, headers=headers))
    whole = b'--x\r\ncontent-disposition: form-data; name="record"; filename="a"\r\n\r\n'
    sent = whole + body + b"\r\n--x--\r\n"
    _fine(client.post(path, content=sent, headers=headers))


@QUICK
@given(st.sampled_from(["measure", "fits", "record", "", "fits/", "questions"]),
       st.dictionaries(st.sampled_from(["feature", "station", "gauge", "entry", "before", "gate",
                                        "verdict", "labels"]), TEXT, max_size=4))  # fmt: skip
def test_any_address(client, end, query):
    answer = client.get(f"/builds/kestrel/{end}", params=query)
    assert answer.status_code in {200, 307, 404}
