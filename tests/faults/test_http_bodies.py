"""Whatever is posted, the answer is a sentence and the record stays whole."""

from __future__ import annotations

import json
from collections.abc import Iterator
from urllib.parse import quote

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from bedplate import demo
from bedplate.web.app import create_app
from bedplate.workshop import Workshop

BUILD = "demo-six"
JSON = {"accept": "application/json", "content-type": "application/json"}
DEEDS = (
    "readings",
    "settings",
    "gauges",
    "gauges/copy",
    "withdrawals",
    "reworks",
    "decisions",
    "notes",
    "parts",
    "signatures",
)
FIELDS = (
    "by", "id", "feature", "station", "value", "gauge", "condition", "part_temperature", "size",
    "on_gauge", "set_in", "size_uncertainty", "found", "gauge_kind", "resolution", "coverage",
    "expanded_uncertainty", "repeatability", "due", "from_build", "target", "reason", "features",
    "operation", "fit", "about", "text", "part", "identity", "statement", "back",
)  # fmt: skip
SENSIBLE = (
    "main-journal-1", "0-deg-front-end", "60 mm", "outside-micrometer", "bore-gauge", "a" * 32,
    "end-float", "0-deg", "dial-indicator", "0.14 mm", "main-clearance-4", "3", "block", BUILD,
    "//elsewhere", "NaN mm", "1e999 mm", "-0.0005 in", "20 °C", "\ud800"[:0], "\x00", "<script>",
)  # fmt: skip

UPLOADS = ("/import", "/builds", f"/builds/{BUILD}/notes")
ASKED = ("feature", "station", "gauge", "entry", "before", "gate", "verdict", "labels", "count")

texts = st.one_of(st.sampled_from(SENSIBLE), st.text(max_size=40))
bodies = st.dictionaries(st.sampled_from(FIELDS), texts, max_size=12)


@pytest.fixture(scope="module")
def workshop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Workshop]:
    shop = Workshop.open(tmp_path_factory.mktemp("shop"))
    demo.start_demo(shop)
    yield shop
    shop.close()


@pytest.fixture(scope="module")
def client(workshop: Workshop) -> TestClient:
    app = create_app(workshop, allowed_hosts=("testserver",))
    return TestClient(app, follow_redirects=False)


def _is_sentence(answer: object) -> bool:
    return isinstance(answer, dict) and str(answer["sentence"]).endswith((".", "?", "!"))


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(deed=st.sampled_from(DEEDS), body=bodies)
def test_noise_in_good_fields_is_taken_or_refused_in_a_sentence(
    workshop: Workshop, client: TestClient, deed: str, body: dict[str, str]
) -> None:
    before = workshop.state(BUILD).checkpoint
    response = client.post(f"/builds/{BUILD}/{deed}", content=json.dumps(body), headers=JSON)
    after = workshop.state(BUILD).checkpoint
    if response.status_code == 200:
        return
    assert response.status_code in {404, 409, 422}, response.text
    assert _is_sentence(response.json())
    assert after == before


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(deed=st.sampled_from(DEEDS), body=st.binary(max_size=200))
def test_noise_for_a_body_is_refused_in_a_sentence(
    workshop: Workshop, client: TestClient, deed: str, body: bytes
) -> None:
    before = workshop.state(BUILD).checkpoint
    response = client.post(f"/builds/{BUILD}/{deed}", content=body, headers=JSON)
    assert response.status_code in {404, 409, 422}, response.text
    assert _is_sentence(response.json())
    assert workshop.state(BUILD).checkpoint == before


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(deed=st.sampled_from(DEEDS), body=bodies)
def test_a_form_is_taken_or_refused_as_json_is(
    client: TestClient, deed: str, body: dict[str, str]
) -> None:
    headers = {"accept": "application/json"}
    sent = {"by": "Ann", **body}
    response = client.post(f"/builds/{BUILD}/{deed}", data=sent, headers=headers)
    assert response.status_code in {200, 404, 409, 422}, response.text
    assert response.status_code == 200 or _is_sentence(response.json())


@settings(max_examples=60, deadline=None)
@given(body=st.binary(max_size=300), path=st.sampled_from(UPLOADS))
def test_noise_for_a_file_is_refused_in_a_sentence(
    client: TestClient, body: bytes, path: str
) -> None:
    kind = "multipart/form-data; boundary=x"
    headers = {"accept": "application/json", "content-type": kind}
    begun = b'--x\r\ncontent-disposition: form-data; name="record"; filename="a"\r\n\r\n'
    for sent in (body, begun + body + b"\r\n--x--\r\n"):
        response = client.post(path, content=sent, headers=headers)
        assert response.status_code in {400, 404, 409, 413, 422}, response.text
        assert _is_sentence(response.json())


@pytest.mark.parametrize(
    "body",
    [
        b'{"feature": NaN}',
        b'{"feature": 1}',
        b"[]",
        b'{"a":' * 5000,
        b"\xff\xfe",
        b"",
    ],
)
def test_bodies_that_are_no_object_of_texts_are_refused(client: TestClient, body: bytes) -> None:
    response = client.post(f"/builds/{BUILD}/readings", content=body, headers=JSON)
    assert response.status_code == 422
    assert _is_sentence(response.json())


def test_a_body_over_the_bound_is_refused_before_it_is_read(client: TestClient) -> None:
    response = client.post(f"/builds/{BUILD}/readings", content=b"x" * 70_000, headers=JSON)
    assert response.status_code == 413


def test_a_page_from_elsewhere_may_not_write(client: TestClient, workshop: Workshop) -> None:
    before = workshop.state(BUILD).checkpoint
    body = {"about": "", "text": "planted", "by": "a stranger"}
    for header in ({"origin": "http://elsewhere.example"}, {"sec-fetch-site": "cross-site"}):
        response = client.post(f"/builds/{BUILD}/notes", json=body, headers=header)
        assert response.status_code == 403
    response = client.post(f"/builds/{BUILD}/notes", json=body, headers={"host": "evil.example"})
    assert response.status_code == 421
    assert workshop.state(BUILD).checkpoint == before


@settings(max_examples=60, deadline=None)
@given(path=st.text(max_size=30))
def test_no_address_gives_a_failure(client: TestClient, path: str) -> None:
    for start in (f"/builds/{BUILD}/", "/static/", "/pictures/", "/builds/"):
        response = client.get(start + quote(path))
        assert response.status_code < 500, response.text


@settings(max_examples=60, deadline=None)
@given(
    end=st.sampled_from(["measure", "fits", "record", "", "questions", "verify"]),
    query=st.dictionaries(st.sampled_from(ASKED), texts, max_size=4),
)
def test_whatever_is_asked_of_a_page_it_answers(
    client: TestClient, end: str, query: dict[str, str]
) -> None:
    response = client.get(f"/builds/{BUILD}/{end}", params=query)
    assert response.status_code in {200, 404, 422}, response.text


def test_the_record_is_whole_after_all_that(workshop: Workshop) -> None:
    found = workshop.verify(BUILD)
    assert found.ok, found.faults
