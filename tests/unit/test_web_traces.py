"""Measured pressure of a build: looked at, taken, named in check and book, taken back."""

import json
import re
from contextlib import closing
from math import pi, radians

import pytest
from starlette.testclient import TestClient
from tests.documents_makers import BUILD, measured
from tests.unit.test_traces import text

from bedplate.cli import main
from bedplate.errors import BedplateError, InputError, NotFoundError
from bedplate.shop.duty.check import duty_check
from bedplate.shop.duty.gas import pressure_at
from bedplate.shop.sentences import sentence
from bedplate.web.app import create_app
from bedplate.workshop import Workshop

RPM = pi / 30
HERE = f"/builds/{BUILD}/duty/traces"


@pytest.fixture
def shop(tmp_path):
    workshop = measured(tmp_path)
    yield workshop
    workshop.close()


@pytest.fixture
def client(shop):
    return TestClient(create_app(shop, allowed_hosts=["bench"]), base_url="http://bench")


def sent(points, **typed):
    data = {"speed": "6000 rpm", **typed}
    return {"data": data, "files": {"file": ("run 3.csv", points.encode(), "text/csv")}}


def test_a_trace_is_looked_at_before_it_is_taken(client, shop):
    before = shop.state(BUILD).checkpoint
    page = client.post(f"{HERE}/look", **sent(text(60), cylinder="3")).text
    assert "Read, not taken yet: 6000 rpm, cylinder 3" in page
    assert "360 points, every 2°; peak 61 bar at 14°" in page
    assert re.search(r"<svg[^>]*chart.*?61 bar at 14°", page, re.DOTALL)
    assert shop.state(BUILD).checkpoint == before
    # What the page would send on, a browser sends with CR and LF.
    points = re.search(r'<textarea name="points"[^>]*>\n(.*?)</textarea>', page, re.DOTALL)[1]
    form = {"points": points.replace("\n", "\r\n"), "speed": "6000 rpm", "cylinder": "3"}
    form |= {"by": "Ann", "source": "own pick-up", "id": "c" * 32}
    answer = client.post(HERE, data=form, headers={"Accept": "application/json"}).json()
    assert answer["go"] == HERE
    again = client.post(HERE, data=form, headers={"Accept": "application/json"}).json()
    assert (again["number"], again["repeated"]) == (answer["number"], True)
    assert shop.verify(BUILD).ok
    assert "own pick-up" in client.get(HERE).text
    pressure = pressure_at(shop.given(BUILD), 6000 * RPM)
    assert pressure.peaks[2] == pytest.approx(61e5, rel=1e-3)
    assert pressure.peaks[0] != pytest.approx(61e5, rel=1e-3)


@pytest.mark.parametrize(
    ("points", "typed", "says"),
    [
        (text(60, unit="mm"), {}, "no column of pressure"),
        ("\n".join(text(60).splitlines()[:300]), {}, "gap of"),
        (text(60), {"speed": "6000 mm"}, "mm"),
        (text(60), {"speed": ""}, "at which speed"),
        (text(60), {"cylinder": "9"}, "no cylinder"),
        (text(60), {"pegged_to": "1 Pa"}, "no pressure to peg to"),
        (text(60), {"firing": "9000 deg"}, "no angle of firing"),
    ],
)
def test_what_cannot_be_is_one_sentence_in_place_and_keeps_what_was_typed(
    client, points, typed, says
):
    answer = client.post(f"{HERE}/look", **sent(points, source="the bench", **typed))
    assert answer.status_code in {400, 404, 422}
    alert = re.search(r'role="alert">([^<]+)</p>', answer.text)[1]
    assert says in alert
    assert 'value="the bench"' in answer.text
    assert "not taken yet" not in answer.text


def test_no_file_and_no_text_are_said(client):
    assert "Choose the CSV file" in client.post(f"{HERE}/look", data={"speed": "1 rpm"}).text
    bad = {"file": ("a.csv", b"angle deg\xff", "text/csv")}
    answer = client.post(f"{HERE}/look", data={"speed": "6000 rpm"}, files=bad)
    assert "not UTF-8" in answer.text


def test_a_build_holds_several_and_a_withdrawal_takes_one_back(shop):
    first = shop.take_trace(BUILD, text(40), "3000 rpm", by="Ann")
    shop.take_trace(BUILD, text(60), "6000 rpm", by="Ann")
    middle = pressure_at(shop.given(BUILD), 4500 * RPM)
    assert middle.peaks[0] == pytest.approx(51e5, rel=1e-3)
    shop.take_trace(BUILD, text(50), "3000 rpm", by="Ann", source="again")
    assert pressure_at(shop.given(BUILD), 3000 * RPM).peaks[0] == pytest.approx(51e5, rel=1e-3)
    last = next(one.number for one in shop.given(BUILD).traces if one.source.endswith("again"))
    shop.withdraw(BUILD, str(last), "wrong run", by="Ann")
    # What the later one had replaced stands again.
    assert pressure_at(shop.given(BUILD), 3000 * RPM).peaks[0] == pytest.approx(41e5, rel=1e-3)
    shop.withdraw(BUILD, str(first.number), "wrong run", by="Ann")
    alone = pressure_at(shop.given(BUILD), 3000 * RPM)
    assert alone.note.startswith("nothing was measured at this speed: the nearest trace, of 6000")


def test_the_record_says_it_in_a_sentence_without_its_points(shop):
    shop.take_trace(BUILD, text(60, at=374), "6000 rpm", by="Ann", cylinder="2", firing="360 deg",
                    source="run 3")  # fmt: skip
    state = shop.state(BUILD)
    said = sentence(state, state.entries[-1].entry)
    assert said == "Cylinder pressure measured at 6000 rpm, cylinder 2: 360 points; run 3."


def test_a_trace_travels_with_the_record_and_is_chained_like_the_rest(shop, tmp_path):
    shop.take_trace(BUILD, text(60), "6000 rpm", by="Ann", cylinder="2", source="run 3")
    data = b"".join(shop.export(BUILD))
    with closing(Workshop.open(tmp_path / "other")) as other:
        other.import_(data)
        assert other.given(BUILD).traces == shop.given(BUILD).traces
        assert other.verify(BUILD).ok
    assert b"14,61.0000" in data
    with closing(Workshop.open(tmp_path / "third")) as third, pytest.raises(BedplateError):
        third.import_(data.replace(b"14,61.0000", b"14,91.0000"))


def test_nothing_is_taken_that_cannot_be_used(shop):
    before = shop.state(BUILD).checkpoint
    for points, words, kind in (
        (text(60, unit="Pa"), {}, InputError),
        (text(60), {"cylinder": "x"}, NotFoundError),
        ("", {}, BedplateError),
    ):
        with pytest.raises(kind):
            shop.take_trace(BUILD, points, "6000 rpm", by="Ann", **words)
    assert shop.state(BUILD).checkpoint == before


def test_the_page_the_json_and_the_book_name_it(client, shop):
    shop.take_trace(BUILD, text(60), "6000 rpm", by="Ann", source="run 3, own pick-up")
    page = client.get(f"/builds/{BUILD}/duty").text
    assert "nearest trace, of 6000 rpm" in page
    assert "how pressure is known" in page
    # Some speeds were measured, some not: no row says of all what is so at the first.
    assert '<td class="soft">speed by speed, below the table</td>' in page
    assert '<td class="soft">nothing was measured' not in page
    data = client.get(f"/builds/{BUILD}/duty.json").json()
    assert data["rows"][0]["pressure_from"] == ["nearest measured speed"] * 6
    from bedplate.documents.book_duty import duty_chapter

    chapter = duty_chapter(shop.state(BUILD))
    assert [one["name"] for one in chapter["traces"]] == ["6000 rpm, all cylinders"]
    assert "run 3, own pick-up" in chapter["traces"][0]["source"]
    assert "61 bar at 14°" in chapter["traces"][0]["peak"]
    assert any("nothing was measured" in note for note in chapter["pressure"])


def test_the_command_looks_takes_and_lists(capsys, tmp_path, shop):
    shop.close()
    file = tmp_path / "run.csv"
    file.write_text(text(60, at=374), "utf-8")

    def said(*words, code=0):
        assert main(["--data", str(tmp_path), *words]) == code
        return capsys.readouterr()

    look = said("trace", BUILD, str(file), "--speed", "6000 rpm", "--look", code=3).err
    assert "346° before firing top dead centre" in look
    assert "does firing top dead centre lie at -360° of the trace?" in look
    assert "No trace" in said("trace", BUILD).out
    right = ["--speed", "6000 rpm", "--firing", "360 deg", "--by", "Ann"]
    assert "peak 61 bar at 14°" in said("trace", BUILD, str(file), *right).out
    listed = json.loads(said("trace", BUILD, "--json").out)
    assert [round(one["peak_angle"] / radians(1)) for one in listed] == [14]
    assert "6000 rpm, all cylinders" in said("trace", BUILD).out
    assert "has no unit" in said("trace", BUILD, str(file), "--speed", "6000", code=3).err
    assert "Name the CSV file" in said("trace", BUILD, "--look", code=3).err


def test_what_was_measured_reaches_the_films(shop):
    def film():
        row = duty_check(shop.given(BUILD), (6000 * RPM,)).rows[0]
        return next(one for one in row.films if one.bearing.id == "rod-1").unit_load

    before = film()
    shop.take_trace(BUILD, text(160), "6000 rpm", by="Ann")
    assert film() > 1.3 * before
