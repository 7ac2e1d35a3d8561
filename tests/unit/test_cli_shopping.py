"""The machine shop in the terminal: parts, order, check-in, selection, rings."""

from __future__ import annotations

import csv
import io
import json

import pytest

from bedplate import demo
from bedplate.cli import main

BY = ("--by", "the apprentice (invented)")
SIX = "demo-six"


@pytest.fixture
def run(tmp_path, capsys, monkeypatch):
    """Return the terminal on the demo build, before its order is issued and its box is there."""
    monkeypatch.setattr(demo, "_at_the_shop", lambda *_: None)

    def run(*words):
        try:
            code = main(["--data", str(tmp_path / "data"), *BY, *words])
        except SystemExit as stop:
            code = stop.code
        said = capsys.readouterr()
        return code, said.out, said.err

    assert run("demo", "--no-serve")[0] == 0
    return run


def test_the_order_is_shown_issued_and_printed(run, tmp_path):
    code, out, _ = run("order", SIX)
    assert code == 0
    assert "Draft of an order" in out
    assert "cylinder-bore-3  84.500 mm" in " ".join(out.split(" ")) or "cylinder-bore-3" in out
    pdf = tmp_path / "order.pdf"
    code, out, _ = run("order", SIX, "--issue", "--pdf", str(pdf))
    assert (code, "Order 0117, revision 1" in out) == (0, True)
    assert pdf.read_bytes().startswith(b"%PDF-")
    assert run("order", SIX, "--issue")[1].startswith("Order 0117, revision 2")


def test_a_return_sheet_goes_out_blank_and_comes_back_filled(run, tmp_path):
    assert run("checkin", SIX)[0] == 1
    blank, filled = tmp_path / "blank.csv", tmp_path / "filled.csv"
    run("order", SIX, "--issue", "--blank", str(blank))
    rows = list(csv.DictReader(io.StringIO(blank.read_text("utf-8"))))
    for line in rows:
        if line["row"] == "cylinder-bore-1":
            line["value"] = "84.530 mm"
        if line["row"] == "wash":
            line["done"] = "yes"
    out = io.StringIO()
    writer = csv.DictWriter(out, rows[0].keys())
    writer.writeheader()
    writer.writerows(rows)
    filled.write_text(out.getvalue(), "utf-8")
    code, said, _ = run("checkin", SIX, str(filled), "--back", "pistons=5", "block=1")
    assert code == 0
    assert "cylinder-bore-1" in said
    assert "outside" in said
    assert "pistons: 6 sent, 5 back." in said
    code, said, _ = run("checkin", SIX, "--json")
    found = {row["row"]: row for row in json.loads(said)}
    assert found["wash"]["standing"] == "done"
    letter = tmp_path / "letter.pdf"
    assert run("checkin", SIX, "--letter", str(letter))[0] == 0
    assert letter.read_bytes().startswith(b"%PDF-")


def test_one_row_is_taken_and_one_is_waived(run):
    run("order", SIX, "--issue")
    assert run("checkin", SIX, "--row", "cylinder-bore-2", "84.501 mm")[0] == 0
    assert run("checkin", SIX, "--done", "wash")[0] == 0
    assert run("checkin", SIX, "--waive", "chamfer", "--reason", "done here")[0] == 0
    assert "waived" in run("checkin", SIX)[1]
    code, _, err = run("checkin", SIX, "--row", "cylinder-bore-2", "3.3268 mm")
    assert code == 3
    assert "In inches it would be 84.501 mm" in err


def test_parts_are_taken_in_listed_and_used(run, tmp_path):
    box = tmp_path / "box.csv"
    box.write_text("identity,part,count,half,grade\nblue,rod shell,12,,blue\n", "utf-8")
    code, out, _ = run("parts", SIX, str(box))
    assert code == 0
    assert "blue" in out
    assert run("parts", SIX, "--use", "blue", "--count", "2", "--place", "rod 1")[0] == 0
    assert run("parts", SIX).__getitem__(1).split()[-1] == "10"
    assert run("parts", SIX, "--add", "identity=P1", "part=piston", "size=84.415 mm")[0] == 0
    assert run("parts", SIX, "--add", "nonsense")[0] == 3
    assert len(json.loads(run("parts", SIX, "--json")[1])) == 2


def test_half_shells_are_chosen_from_the_box(run, tmp_path):
    assert run("select", SIX, "main shells")[0] == 5
    rows = ["identity,part,half,grooved,wall,wall uncertainty"]
    for number in range(12):
        wall = 1.9845 + 0.0008 * number
        for half, grooved in (("upper", "yes"), ("lower", "no")):
            rows.append(f"{half[0].upper()}{number},main shell,{half},{grooved},{wall:.4f} mm,2 µm")
    box = tmp_path / "box.csv"
    box.write_text("\n".join(rows), "utf-8")
    assert run("parts", SIX, str(box))[0] == 0
    code, out, _ = run("select", SIX, "main shells", "--choose")
    assert code == 0
    assert "optimal: " in out
    assert "12 half shells are left over" in out
    assert run("select", SIX, "cams")[0] == 3


def test_rings_are_listed_and_filed(run):
    code, out, _ = run("rings", SIX, "--offers")
    assert code == 0
    assert "1 top" in out
    assert "common practice, no source" in out
    assert run("rings", SIX, "top-ring-gap-1", "--filed", "6", "--bag", "1 top")[0] == 0
    code, _, err = run("rings", SIX, "top-ring-gap-1", "--filed", "6", "--bag", "2 top")
    assert code == 5
    assert "this is ring 1 top" in err
    code, out, _ = run("rings", SIX, "top-ring-gap-1")
    assert "invented ring sheet" in out


def test_the_demo_has_an_order_out_and_a_box_of_shells_to_choose_from(tmp_path, capsys):
    def run(*words):
        code = main(["--data", str(tmp_path / "data"), *BY, *words])
        return code, capsys.readouterr().out

    assert run("demo", "--no-serve")[0] == 0
    assert run("order", SIX)[1].startswith("Order 0117, revision 1: 76 rows.")
    assert run("checkin", SIX)[1].startswith("Order 0117, revision 1: 0 return sheets.")
    assert len(json.loads(run("parts", SIX, "--json")[1])) == 24
    code, out = run("select", SIX, "main shells")
    assert (code, "optimal: " in out) == (0, True)
    assert run("verify", SIX)[0] == 0
