"""The page of the duty check answers its sliders."""

import re
import threading
import time
from dataclasses import replace
from importlib.resources import files
from math import nan, pi

import pytest
from starlette.testclient import TestClient
from tests.documents_makers import BUILD, measured
from tests.engine_makers import engine_text

from bedplate.documents.book_duty import duty_chapter
from bedplate.shop.duty.check import duty_check
from bedplate.shop.duty.films import least_film
from bedplate.web.app import create_app
from bedplate.web.views.duty import knobs


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    workshop = measured(tmp_path_factory.mktemp("duty"))
    workshop.start(engine_text(), by="Ann", build="bare")
    yield workshop
    workshop.close()


@pytest.fixture(scope="module")
def client(shop):
    return TestClient(create_app(shop, allowed_hosts=["bench"]), base_url="http://bench")


def least(text):
    return float(re.search(r'id="film-least">([\d.]+) µm', text)[1])


def test_the_page_leads_with_the_least_film_and_why(client):
    text = client.get(f"/builds/{BUILD}/duty").text
    assert re.search(r'class="lead">[^<]*(Rod|Main) \d+: [\d.]+ µm', text)
    assert "never a release" in text
    # The foot tells what is done to readings, not that sizes were measured.
    assert re.search(r"<dt>Readings</dt><dd>(not )?reduced to 20 °C</dd>", text)
    assert "A rating that nobody gave is unknown, never fine" in text


def test_the_highest_speed_stands_first_in_either_table(client):
    text = client.get(f"/builds/{BUILD}/duty").text
    lead = re.search(r"Least film of all: [^:]*: ([\d.]+) µm at (\d+) rpm", text)
    for table in text.split('<table class="numbers">')[1:3]:
        speeds = [int(one) for one in re.findall(r"figures\">(\d+) rpm", table)]
        assert len(speeds) > 1
        assert speeds == sorted(speeds, reverse=True)
    films = text.split('<table class="numbers">')[1]
    rpm = [int(one) for one in re.findall(r"figures\">(\d+) rpm", films)]
    cells = [re.findall(r'<td class="right figures[^"]*">([\d.]+)', row)
             for row in films.split("<tr>")[2:]]  # fmt: skip
    assert lead[1] in [row[rpm.index(int(lead[2]))] for row in cells]


def test_the_book_puts_the_rating_under_the_name_and_names_the_row_of_the_pressure(shop):
    rows = {row["name"]: row for row in duty_chapter(shop.state(BUILD))["items"]}
    assert rows["rod angle"]["rated"] == "no rating"
    rated = [row["rated"] for row in rows.values() if row["rated"] not in ("", "no rating")]
    assert rated
    assert all(words.startswith("rated ") for words in rated)
    assert set(rows["how pressure is known"]["cells"]) == {"computed"}
    page = (files("bedplate.documents") / "book_duty.typ").read_text(encoding="utf-8")
    table = page[page.index("== Loads and motion") : page.index("list(..d.pressure)")]
    assert "breakable: false" in table
    assert '"Rated"' not in table


def test_the_orbit_moves_inside_its_clearance(client):
    text = client.get(f"/builds/{BUILD}/duty/film?bearing=rod-2").text
    assert "crank angle, °; at 0 the first throw is up" in text
    orbit = text[text.index("orbit") : text.index("polar")]
    way = re.search(r'data-way="([^"]+)"', orbit)[1]
    places = [tuple(map(float, one.split(","))) for one in way.split()]
    assert len(places) == 120
    # The middle is at 180; contact would be 44 from it.
    reach = [((x - 180) ** 2 + (y - 180) ** 2) ** 0.5 for x, y in places]
    assert 20 < max(reach) < 44.1
    assert len(set(places)) > 60


def test_knobs_change_the_film_the_way_the_books_say(client):
    def film(**knobs):
        return client.get(f"/builds/{BUILD}/duty/film", params={"bearing": "rod-2", **knobs}).text

    plain = film()
    assert least(film(wider="10")) < least(plain)
    assert least(film(oil="0W-16")) < least(plain)
    assert 'Oil</dt><dd class="figures">0W-16' in film(oil="0W-16")


def test_measured_clearance_is_drawn_with_its_uncertainty(client):
    text = client.get(f"/builds/{BUILD}/duty/film?bearing=rod-2").text
    assert "measured, ±U" in text
    assert "measured, Rod clearance 2" in text


@pytest.mark.parametrize(
    "query", ["bearing=<b>", "speed=1e99", "speed=-5", "oil=10W-99", "wider=nan", "wider=999"]
)
def test_what_is_no_choice_is_taken_as_not_said(client, query):
    answer = client.get(f"/builds/{BUILD}/duty/film?{query}")
    assert answer.status_code == 200
    assert "<b>" not in answer.text
    assert "10W-99" not in answer.text


def test_the_page_opens_on_a_bearing_that_has_an_orbit_and_says_so(client, shop, monkeypatch):
    given = shop.given(BUILD)
    row = duty_check(given, (6000 * pi / 30,)).rows[0]
    gone = [replace(one, film=replace(one.film, state="film breaks down", least_film=nan))
            for one in row.films if one.bearing.id in {"main-4", "rod-1"}]  # fmt: skip
    films = (*gone, *(one for one in row.films if one.bearing.id not in {"main-4", "rod-1"}))
    begin = replace(row, films=films, least=least_film(films))
    at = knobs(given, {}, begin)
    assert (at.bearing, at.rpm, at.opened) == (least_film(films).bearing.id, 6000, True)
    assert at.bearing not in {"main-4", "rod-1"}
    assert not knobs(given, {"bearing": "main-4"}, begin).opened
    said = "The film breaks down in main 4 at 6000 rpm."
    monkeypatch.setattr("bedplate.shop.duty.check.DutyCheck.lacking", property(lambda _: said))
    text = client.get(f"/builds/{BUILD}/duty").text
    assert f'class="lead">{said} The least that could be told: ' in text
    assert "Shown first: the least film that could be told, which has an orbit." in text
    assert "data-way" in text
    chosen = client.get(f"/builds/{BUILD}/duty?bearing=main-4").text
    assert "Shown first" not in chosen


def test_page_and_book_mark_what_is_an_estimate(client, shop):
    text = client.get(f"/builds/{BUILD}/duty").text
    row = r"<th scope=\"row\">heat that leaves with the oil, every bearing</th><td>estimated</td>"
    assert re.search(row, text)
    book = duty_chapter(shop.state(BUILD))["sources"]
    marked = ", ".join(what for what, how, _ in book if how == "estimated")
    assert "heat that leaves with the oil" in marked
    assert "oil&#39;s density at 15 °C" in text
    assert "oil's density at 15 °C" in marked


def test_an_engine_file_that_says_little_is_told_what_it_lacks(client):
    text = client.get("/builds/bare/duty").text
    assert "does not say what a piston weighs" in text
    assert "weights.piston" in text


def test_the_check_comes_as_json_too(client):
    data = client.get(f"/builds/{BUILD}/duty.json").json()
    assert data["least"]["bearing"]
    assert all(one["source"] for one in data["sources"])


def test_the_film_comes_as_a_distribution_on_request(client):
    plain = client.get(f"/builds/{BUILD}/duty/film?bearing=rod-2").text
    assert "As a distribution" in plain
    text = client.get(f"/builds/{BUILD}/duty/film?bearing=rod-2&spread=1").text
    high, middle = re.search(r"to ([\d.]+) µm \(95 %.*?median ([\d.]+) µm", text).groups()
    assert 0 < float(middle) < float(high)
    high = float(high)
    assert high > 0.9 * least(text)
    assert "least film as a distribution" in text


@pytest.fixture
def slow(shop, monkeypatch):
    """Return an application on a machine without kernels, and what ends the compiling."""
    end, began = threading.Event(), []
    monkeypatch.setattr("bedplate.physics._compiled.is_compiled", lambda: False)
    monkeypatch.setattr(
        "bedplate.web.warming._warm", lambda given: (began.append(given), end.wait(60))
    )
    app = create_app(shop, allowed_hosts=["bench"])
    yield TestClient(app, base_url="http://bench"), end, began
    end.set()


@pytest.mark.parametrize("what", ["duty", "duty/film?bearing=rod-2", "book.pdf"])
def test_a_person_is_told_that_kernels_are_compiled(slow, what):
    client, end, began = slow
    person = {"accept": "text/html,*/*;q=0.8"}
    for _ in range(2):
        answer = client.get(f"/builds/{BUILD}/{what}", headers=person)
        assert (answer.status_code, answer.headers["retry-after"]) == (202, "3")
        assert "are being compiled for this machine, once" in answer.text
        assert '<meta http-equiv="refresh" content="3">' in answer.text
    assert client.get("/builds/bare/duty", headers=person).status_code == 200
    assert client.get(f"/builds/{BUILD}/fits", headers=person).status_code == 200
    end.set()
    deadline = time.monotonic() + 60
    while client.get(f"/builds/{BUILD}/{what}", headers=person).status_code == 202:
        assert time.monotonic() < deadline
    assert len(began) == 1


def test_a_program_waits_for_the_kernels(slow):
    client, end, began = slow
    threading.Timer(0.2, end.set).start()
    assert client.get(f"/builds/{BUILD}/duty.json").json()["least"]
    assert client.get(f"/builds/{BUILD}/duty").status_code == 200
    assert len(began) == 1
