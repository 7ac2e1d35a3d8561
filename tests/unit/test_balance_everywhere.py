"""Nothing calls an engine balanced while something that turns is due; then it is closed."""

import contextlib
import io
import json

import pypdf
import pytest
from starlette.testclient import TestClient
from tests.balance_makers import LEFT, LINES, a_workshop, say, take_card

from bedplate.cli.main import main
from bedplate.errors import NotPossibleError
from bedplate.record import CautionShown
from bedplate.shop.steps import steps_of
from bedplate.web.app import create_app

DUE = "still due are flywheel, clutch cover, flywheel bolts"
CLOSED = "Balanced: everything that turns is in"


@pytest.fixture
def bench(tmp_path):
    workshop = a_workshop(tmp_path)
    take_card(workshop)
    yield workshop
    workshop.close()


def all_in(workshop):
    for part in ("flywheel", "clutch cover", "flywheel bolts"):
        say(workshop, part, "balanced on its own", identity="1", residual="20 g·mm")


def words_of(pdf):
    pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def terminal(capsys, folder, *words):
    code = main(["--data", str(folder), "--by", "t", *words])
    return code, capsys.readouterr()


def pages_of(workshop):
    client = TestClient(create_app(workshop), base_url="http://localhost")
    ends = ("", "fits", "questions", "record", "assembly", "balance", "torsion", "order", "duty")
    return {end: client.get(f"/builds/b/{end}").text for end in ends}


def test_no_page_says_it_and_those_of_balance_say_what_is_due(bench):
    pages = pages_of(bench)
    for end, html in pages.items():
        assert CLOSED not in html, end
        assert "nobody has called it balanced" not in html, end
    for end in ("questions", "balance"):
        assert f"Not balanced: {DUE}" in pages[end]
    assert "Call it balanced" not in pages["balance"]
    all_in(bench)
    assert "Call it balanced" in pages_of(bench)["balance"]
    bench.close_balance("b", "All is in.", by="t")
    pages = pages_of(bench)
    assert CLOSED in pages["balance"]
    assert "Not balanced" not in "".join(pages.values())


def test_the_state_as_data_says_it(bench, tmp_path, capsys):
    client = TestClient(create_app(bench), base_url="http://localhost")
    for found in (
        client.get("/builds/b/state.json").json()["balance"],
        json.loads(terminal(capsys, tmp_path, "state", "b", "--json")[1].out)["balance"],
        json.loads(terminal(capsys, tmp_path, "balance", "b", "--json")[1].out)["ledger"],
    ):
        assert found["balanced"] is False
        assert found["due"] == ["flywheel", "clutch cover", "flywheel bolts"]
        assert DUE in found["sentence"]


def test_the_terminal_says_it(bench, tmp_path, capsys):
    for words in (("balance", "b"), ("state", "b", "--open")):
        _, said = terminal(capsys, tmp_path, *words)
        assert DUE in said.out, words
        assert CLOSED not in said.out


def test_the_book_and_the_card_say_it(bench):
    book = words_of(bench.book("b"))
    assert book.count(f"Not balanced: {DUE}") >= 2  # where it stands at the front, and its chapter
    assert CLOSED not in book
    card = words_of(bench.balance_card("b"))
    assert f"Not balanced: {DUE}" in card
    assert CLOSED not in card
    all_in(bench)
    bench.close_balance("b", "All is in.", by="t")
    book = words_of(bench.book("b"))
    assert "Not balanced" not in book
    assert CLOSED in book
    assert CLOSED in words_of(bench.balance_card("b"))


@pytest.mark.parametrize(
    "deed",
    [
        lambda shop: shop.close_balance("b", "All is in.", by="t"),
        lambda shop: shop.sign("b", "builder", "Built, balanced, ready to run.", by="t"),
        lambda shop: shop.step("b", "rotating assembly balanced", by="t"),
        lambda shop: shop.step("b", "assembly", remark="Balanced by the shop", by="t"),
        lambda shop: clean(shop, remark="all balanced"),
    ],
    ids=["close", "hand-over", "step", "remark", "assembly"],
)
def test_every_deed_that_says_it_is_refused(bench, deed):
    with contextlib.suppress(NotPossibleError):
        deed(bench)  # the caution of a step is shown once, and stays in the record
    before = bench.state("b").checkpoint.count
    with pytest.raises(NotPossibleError, match="flywheel, clutch cover, flywheel bolts are still"):
        deed(bench)
    assert bench.state("b").checkpoint.count == before
    all_in(bench)
    deed(bench)


def clean(workshop, **more):
    """Do the first step of the assembly, its caution shown."""
    step, known = next(iter(steps_of(workshop.state("b").engine).items()))
    if not any(isinstance(row.entry, CautionShown) for row in workshop.state("b").entries):
        workshop.show_caution("b", step, by="t")
    workshop.do_step("b", step, by="t", proofs=known.proofs, **more)


def test_the_terminal_walks_through_closing_it(tmp_path, capsys):
    a_workshop(tmp_path).close()

    def balance(*words):
        return terminal(capsys, tmp_path, "balance", "b", *words)

    words = [word for text in LEFT for word in ("--residual", text)]
    lines = [word for text in LINES for word in ("--line", text)]
    code, said = balance(
        "--card", "invented shop", *words, *lines, "--bob-weight", "1838 g", "--mass", "25.2 kg",
        "--grade", "G 16", "--on-crank", "damper: D-7", "--on-crank", "timing gear: T-1",
    )  # fmt: skip
    assert code == 0
    # G 16 for 25.2 kg at 7000 rpm is 550 g·mm (ISO 21940-11); 210 are in the crank, so 340 are left
    # for three parts: 113 each; after 90 in the flywheel 250 for two.
    for part, offered, left in (
        ("flywheel", "113 g·mm", "90 g·mm"),
        ("clutch cover", "125 g·mm", "20 g·mm"),
        ("flywheel bolts", "230 g·mm", "20 g·mm"),
    ):
        code, said = balance("--close", "All is in.")
        assert code == 5
        assert part in said.err
        assert offered in said.err
        code, said = balance("--part", part, "--standing", "chosen", "--identity", "F-1")
        assert code == 0
        assert "Not balanced" in said.out
        code, said = balance("--part", part, "--standing", "balanced on its own", "--residual",
                             left)  # fmt: skip
        assert code == 0
    assert "nobody has called it balanced" in said.out
    assert "210 g·mm" in balance()[1].out  # 550 less 210, 90, 20 and 20
    code, said = balance("--close", "All is in.")
    assert code == 0
    assert CLOSED in said.out


def test_a_matched_flywheel_closes_an_external_balance(tmp_path, capsys):
    a_workshop(tmp_path, "flat-four").close()

    def balance(*words):
        return terminal(capsys, tmp_path, "balance", "b", *words)

    balance("--card", "invented shop", "--residual", "front 90 g·mm", "--residual", "rear 70 g·mm",
            "--mass", "12.6 kg", "--on-crank", "flywheel: F-1")  # fmt: skip
    for part in ("crank pulley", "clutch cover", "flywheel nut"):
        code, _ = balance("--part", part, "--standing", "balanced on its own", "--identity", "1",
                          "--residual", "10 g·mm")  # fmt: skip
        assert code == 0
    code, said = balance("--part", "flywheel", "--standing", "balanced on its own", "--identity",
                         "F-2", "--residual", "10 g·mm")  # fmt: skip
    assert code == 5
    assert "matched to the one it was balanced with" in said.err
    code, said = balance(
        "--part",
        "flywheel",
        "--standing",
        "matched",
        "--identity",
        "F-2",
        "--residual",
        "10 g·mm",
        "--reason",
        "the flywheel it came with",
    )
    assert code == 0
    code, said = balance("--close", "All is in.")
    assert code == 0
    assert CLOSED in said.out
