"""The pages of the machine shop and of parts, without a browser."""

from __future__ import annotations

import re
import secrets
import time

import pytest
from starlette.testclient import TestClient

from bedplate import demo
from bedplate.engine import examples
from bedplate.shop.checkin.desk import orders_of
from bedplate.shop.selection.outcomes import selections_of
from bedplate.shop.stock import stock_of
from bedplate.web.app import create_app
from bedplate.workshop import Workshop

BY = "the apprentice (invented)"
SIX = "six"
PAGES = ("order", "checkin", "parts", "selection", "selection?what=sets", "rings")


@pytest.fixture
def shop(tmp_path):
    workshop = Workshop.open(tmp_path)
    demo.fill(
        workshop,
        examples()["straight-six"],
        SIX,
        seed=6,
        wanted=lambda f: f.kind in {"piston", "main journal", "main housing"},
    )
    yield workshop
    workshop.close()


@pytest.fixture
def client(shop):
    app = create_app(shop, allowed_hosts=["bench"])
    return TestClient(app, base_url="http://bench", follow_redirects=False)


def sent(client, end, files=None, **fields):
    body = {"id": secrets.token_hex(16), "by": BY, **fields}
    return client.post(
        f"/builds/{SIX}/{end}", data=body, files=files, headers={"accept": "application/json"}
    )


def box():
    rows = ["identity,part,half,grooved,wall,wall uncertainty"]
    for number in range(12):
        wall = 1.9845 + 0.0008 * number
        rows += [
            f"{half[0].upper()}{number},main shell,{half},{grooved},{wall:.4f} mm,2 µm"
            for half, grooved in (("upper", "yes"), ("lower", "no"))
        ]
    return {"file": ("box.csv", "\n".join(rows).encode(), "text/csv")}


@pytest.mark.parametrize("page", PAGES)
def test_every_page_stands_before_anything_is_said(client, page):
    answer = client.get(f"/builds/{SIX}/{page}")
    assert answer.status_code == 200
    assert 'aria-current="page"' in answer.text


def test_order_return_row_and_waiver_by_form(client, shop):
    assert sent(client, "orders", number="0117").status_code == 200
    assert "Order 0117, revision 1" in client.get(f"/builds/{SIX}/order").text
    refused = sent(client, "returns", row="cylinder-bore-2", value="3.3268 mm")
    assert refused.status_code == 422
    assert "In inches it would be 84.501 mm" in refused.json()["hint"]
    assert sent(client, "returns", row="cylinder-bore-2", value="84.540 mm").status_code == 200
    assert sent(client, "waivers", row="wash", reason="washed here").status_code == 200
    page = client.get(f"/builds/{SIX}/checkin").text
    assert "84.540 mm" in page
    assert "Waived by the apprentice (invented): washed here" in page
    assert "Letter on 1 disputed row" in page
    assert "Take it" in client.get(f"/builds/{SIX}/checkin?row=cylinder-bore-3").text
    for end in ("order.pdf", "letter.pdf"):
        assert client.get(f"/builds/{SIX}/{end}").content.startswith(b"%PDF-")
    rows = {row.row.row: row for row in orders_of(shop.state(SIX))[0].rows}
    assert rows["cylinder-bore-2"].standing == "outside"
    questions = client.get(f"/builds/{SIX}/questions").text
    assert f"/builds/{SIX}/checkin?order=0117#row-cylinder-bore-2" in questions


def test_a_return_sheet_is_taken_as_a_file(client, shop):
    sent(client, "orders")
    blank = client.get(f"/builds/{SIX}/return.csv").text
    filled = blank.replace("wash,Wash,before and after, galleries open", "wash,Wash,x")
    filled = re.sub(r"(?m)^(cylinder-bore-1,[^\n]*?),,,,,,,$", r"\1,84.501 mm,,,,,,", filled)
    files = {"sheet": ("return.csv", filled.encode(), "text/csv")}
    answer = sent(client, "returns", files=files, **{"back pistons": "5"})
    assert answer.status_code == 200, answer.json()
    (order,) = orders_of(shop.state(SIX))
    assert next(r for r in order.rows if r.row.row == "cylinder-bore-1").shop is not None
    assert next(c for c in order.counts if c.part == "pistons").back == 5


def test_shells_are_taken_in_moved_by_hand_and_kept(client, shop):
    assert sent(client, "stock", files=box()).status_code == 200
    assert len(stock_of(shop.state(SIX))) == 24
    page = client.get(f"/builds/{SIX}/selection").text
    assert "Optimal: " in page
    assert page.count('class="drawing bearing"') == 7
    moved = client.get(f"/builds/{SIX}/selection?at+main+1+upper=U11&at+main+1+lower=L11").text
    assert "Moved by hand: worst deviation" in moved
    wrong = sent(client, "selections", what="main shells", **{"at main 1 upper": "L3"})
    assert wrong.status_code == 409
    assert sent(client, "selections", what="main shells").status_code == 200
    (made,) = selections_of(shop.state(SIX))
    assert made.made.proof.startswith("optimal")
    assert "to be measured" in client.get(f"/builds/{SIX}/selection").text


def test_one_part_is_noted_and_used(client, shop):
    answer = sent(client, "stock", identity="P1", part="piston", count="1", size="84.415 mm",
                  size_uncertainty="2 µm", measured_over="bare metal")  # fmt: skip
    assert answer.status_code == 200
    assert sent(client, "stock/used", identity="P1", count="1", place="piston 1").status_code == 200
    assert stock_of(shop.state(SIX))["P1"].left == 0
    assert sent(client, "stock/used", identity="P1", count="1", place="x").status_code == 409


def test_a_ring_is_filed_with_its_bag_in_the_hand(client, shop):
    page = client.get(f"/builds/{SIX}/rings").text
    assert 'aria-label="Bag 3 top"' in page
    ring = {"feature": "top-ring-gap-3", "strokes": "5"}
    assert sent(client, "filings", bag="3 top", **ring).status_code == 200
    assert sent(client, "filings", bag="2 top", **ring).status_code == 409
    assert sent(client, "filings", bag="3 top", feature="top-ring-gap-3",
                strokes="five").status_code == 422  # fmt: skip


def test_order_and_check_in_answer_fast(client):
    sent(client, "orders")
    for page in ("order", "checkin"):
        client.get(f"/builds/{SIX}/{page}")
        times = []
        for _ in range(5):
            start = time.process_time()
            client.get(f"/builds/{SIX}/{page}")
            times.append(time.process_time() - start)
        assert min(times) < 0.06, f"{page} takes {min(times) * 1e3:.0f} ms"
