"""Pages and paper of assembly and tightening, without a browser."""

from __future__ import annotations

import io
import secrets

import pypdf
import pytest
from starlette.testclient import TestClient
from tests.assembly_makers import BY, closed_mains, measured_build
from tests.contract.memory_store import MemoryStore

from bedplate.documents.joint_picture import BoltLook, joint_picture
from bedplate.engine import examples, read_engine
from bedplate.shop.sentences import sentence
from bedplate.web.app import create_app
from bedplate.workshop import Workshop

JSON = {"accept": "application/json"}


@pytest.fixture(scope="module")
def rows():
    store = MemoryStore()
    measured_build(Workshop(store))
    return list(store.rows("k"))


@pytest.fixture
def shop(rows):
    store = MemoryStore()
    store.append(rows)
    return Workshop(store)


@pytest.fixture
def client(shop):
    app = create_app(shop, allowed_hosts=["bench"])
    return TestClient(app, base_url="http://bench", follow_redirects=False)


def post(client, end, **fields):
    body = {"id": secrets.token_hex(16), "by": BY, **fields}
    return client.post(f"/builds/k/{end}", json=body, headers=JSON)


def begin(client, **more):
    fields = {"plan": "frame", "purpose": "trial", "lubricant:frame inner": "engine oil"}
    return post(client, "tightenings", **{**fields, "lubricant:frame side": "dry", **more})


def test_a_run_through_its_forms(client):
    answer = begin(client, reads_in="N·m").json()
    assert answer["go"] == f"/builds/k/tightening?run={answer['run']}"
    page = client.get(answer["go"]).text
    assert "frame inner" in page
    assert "engine oil" in page
    run = str(answer["run"])
    answer = post(client, "bolts", run=run, stage="1", bolt="5").json()
    assert answer["next"]["bolt"] == 6
    page = client.get(answer["go"]).text
    assert "draw down, until the frame touches all round" in page


@pytest.mark.parametrize(
    ("end", "fields", "sentence"),
    [
        ("bolts", {"stage": "1", "bolt": "11"}, "no bolt 11"),
        ("bolts", {"stage": "1", "bolt": "five"}, "no number of a bolt"),
        ("bolts", {"stage": "1", "bolt": "3"}, "asks for frame inner 5 next"),
        ("bolts", {"stage": "1", "bolt": "5", "angle": "40"}, "turns by no angle"),
        ("bolts", {"stage": "1", "bolt": "5", "torque": "40 furlongs"}, "furlongs"),
        ("bolts", {"stage": "1", "bolt": "5", "parted": "yes"}, "how many degrees"),
        ("bolts/typed", {"bolts": "5 3"}, "asks for 6 there"),
        ("bolts/typed", {"bolts": ""}, "No bolt is named"),
        ("stages", {"stage": "1"}, "is not complete"),
        ("stops", {"reason": ""}, "why it is stopped"),
    ],
)
def test_bad_input_to_a_run_is_one_sentence_and_nothing_is_taken(
    client, shop, end, fields, sentence
):
    run = str(begin(client).json()["run"])
    before = shop.state("k").checkpoint
    answer = post(client, end, run=run, **fields)
    assert 400 <= answer.status_code < 500
    assert sentence in answer.json()["sentence"]
    assert shop.state("k").checkpoint == before


def test_another_lubricant_is_refused_on_the_page_with_the_effect(client):
    answer = begin(client, **{"lubricant:frame inner": "other", "other:frame inner": "moly paste"})
    assert answer.status_code == 409
    assert "% more clamp" in answer.json()["sentence"]
    answer = begin(client, **{"lubricant:frame inner": "other"})
    assert "what is on the bolts" in answer.json()["sentence"]


def test_pages_before_anything_is_begun(client):
    for end in ("assembly", "tightening", "fasteners", "assembly?step=mains"):
        assert client.get(f"/builds/k/{end}").status_code == 200, end
    assert client.get("/builds/k/tightening?run=99999").status_code == 404
    assert client.get("/clamp").status_code == 200
    page = client.get("/clamp?thread=ten&tightening=60+N·m").text
    assert "form-error" in page
    page = client.get("/clamp?thread=M10&tightening=60+N·m").text
    assert "Torque alone: ±" in page
    assert "Is that right?" not in page
    page = client.get("/clamp?thread=M10&class=10.9&tightening=720+lbf·ft").text
    assert "would clamp about" in page
    assert "Is it lbf·in?" in page


def test_a_step_says_what_is_left(client, shop):
    for way, number in (("issued", "2"), ("used", "1"), ("left", "1")):
        shop.count_parts("k", "pin locks, cylinder 1", way, number, by=BY)
    page = client.get("/builds/k/assembly?step=piston-1").text
    assert "2 issued, 1 used, 1 left" in page


def test_an_engine_without_plans_says_so(client, shop):
    shop.start(examples()["v8"], by=BY, build="v")
    assert "has no tightening plans" in client.get("/builds/v/tightening").text
    assert client.get("/builds/v/assembly").status_code == 200
    assert client.get("/builds/v/tightening.pdf").status_code == 200


def test_a_step_through_its_forms(client, shop):
    page = client.get("/builds/k/assembly?step=trial-clean").text
    assert "Read; go on" in page
    assert "step-form" not in page, "the caution comes first"
    assert post(client, "cautions", step="trial-clean").status_code == 200
    proofs = ["burrs dressed, threads chased, blind holes dry",
              "backs of the shells and housings dry and spotless"]  # fmt: skip
    fields = {"step": "trial-clean", "by": BY, "id": secrets.token_hex(16)}
    answer = client.post("/builds/k/steps", data={**fields, "proof": proofs[:1]}, headers=JSON)
    assert "needs to be seen" in answer.json()["sentence"]
    answer = client.post("/builds/k/steps", data={**fields, "proof": proofs}, headers=JSON)
    assert answer.status_code == 200


def test_the_book_prints_every_bolt_and_the_plan_its_boxes(shop):
    closed_mains(shop)
    state = shop.state("k")
    book = pypdf.PdfReader(io.BytesIO(shop.book("k")))
    text = "\n".join(page.extract_text() for page in book.pages)
    for heading in (
        "Frame: final, tight",
        "Frame: trial, loosened",
        "Fastener log",
        "Close the mains",
    ):
        assert heading in text, heading
    plan = pypdf.PdfReader(io.BytesIO(shop.tightening_sheet("k")))
    words = "\n".join(page.extract_text() for page in plan.pages)
    assert "42 N·m" in words
    assert "the file gives no figure" in words
    assert len(plan.pages) >= 6
    for numbered in state.entries:
        said = sentence(state, numbered.entry)
        assert said.strip().endswith((".", "?", "!")) or ":" in said


def test_the_picture_shows_each_bolt_once_and_the_next_one_with_an_arrow():
    engine = read_engine(examples()["in-line-four-frame"])
    looks = {("frame inner", 5): BoltLook("done"), ("frame inner", 6): BoltLook("unknown")}
    svg = joint_picture(
        engine, engine.plans["frame"], "", looks, now=("frame inner", 3), group="frame inner"
    )
    assert svg.count('class="bolt-mark') == 14
    assert svg.count(" now") >= 1
    assert 'bolt-mark done"' in svg
    assert "next is frame inner 3" in svg
    assert joint_picture(engine, engine.plans["rods"], "2").count('class="bolt-mark') == 2


def test_the_plan_on_paper_says_that_a_torque_looks_wrong():
    workshop = Workshop(MemoryStore())
    text = examples()["in-line-four-frame"].replace('"42 N·m"', '"504 lbf·ft"', 1)
    workshop.start(text, by=BY, build="k")
    page = pypdf.PdfReader(io.BytesIO(workshop.tightening_sheet("k"))).pages[0].extract_text()
    assert "Is it lbf·in?" in " ".join(page.split())
