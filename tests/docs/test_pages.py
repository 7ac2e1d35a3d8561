"""The documentation is held to the code: commands, keys, pages, outputs, figures, links."""

import importlib.util
import re
import shlex
import tempfile
from pathlib import Path

import pytest

from bedplate import errors
from bedplate.cli.main import parser
from bedplate.metrology import Bench, combine, standard_uncertainty
from bedplate.record import ComparatorSet, GaugeRegistered, Reading, Typed
from bedplate.web.keys import KEYS

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
PAGES = [ROOT / "README.md", *sorted(DOCS.rglob("*.md"))]
NAMES = [str(page.relative_to(ROOT)) for page in PAGES]
RENEW = "run `make pages`"


def script(name):
    spec = importlib.util.spec_from_file_location(name, DOCS / f"{name}.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(params=NAMES)
def page(request):
    return ROOT / request.param


def text(page):
    return page.read_text("utf-8")


# Made pages


@pytest.mark.parametrize("name", ["engine_file", "commands"])
def test_a_made_page_is_as_the_code_makes_it(name):
    made = script(f"make_{name}")
    assert made.PAGE.read_text("utf-8") == made.page(), RENEW


def test_the_tutorial_shows_what_its_commands_answer(tmp_path):
    tutorial = text(DOCS / "tutorial.md")
    assert script("play").played(tutorial, tmp_path) == tutorial, RENEW


# Commands


def said_commands(page):
    """Yield what stands in code on a page and begins with our program's name."""
    words = text(page).replace("\\\n", " ")
    blocks = re.findall(r"```(?:sh|console)\n(.*?)```", words, re.DOTALL)
    without = re.sub(r"```.*?```", "", words, flags=re.DOTALL)
    lines = [line for block in blocks for line in block.splitlines()]
    lines += [" ".join(span.split()) for span in re.findall(r"`(bedplate [^`]+)`", without)]
    for line in lines:
        command = re.split(r"\s[|>#]\s?", line)[0].strip().removeprefix(".venv/bin/")
        if command.startswith("bedplate "):
            yield command


def test_every_command_named_can_be_read(page):
    names = set(script("make_commands").commands(parser()))
    for command in said_commands(page):
        words = shlex.split(command)[1:]
        if len(words) == 1 and words[0] in names:
            continue  # a command by its name alone
        try:
            parser().parse_args(words)
        except SystemExit as stop:
            if stop.code:
                pytest.fail(f"'{command}' cannot be read")


def test_the_pages_name_commands():
    assert sum(len(list(said_commands(page))) for page in PAGES) > 40


def test_every_make_target_named_is_there(page):
    targets = re.findall(r"^([a-z]+):", text(ROOT / "Makefile"), re.MULTILINE)
    named = re.findall(r"`make ([a-z]+)`", text(page)) + re.findall(
        r"^make ([a-z]+)", text(page), re.MULTILINE
    )
    assert set(named) <= set(targets)


def test_the_exit_codes_told_are_those_of_the_errors():
    told = dict(re.findall(r"(\d) ([^;]+)", " ".join(parser().epilog.split())))
    families = {
        errors.InputError: "what was given cannot be used",
        errors.NotFoundError: "something named is not there",
        errors.NotPossibleError: "the record forbids it",
        errors.DamagedError: "the record or its store is not whole",
        errors.StorageError: "the disk is full, locked or read-only",
    }
    for family, words in families.items():
        assert told[str(family.exit_code)].strip() == words


# Keys and pages


def test_every_key_named_is_one_of_the_page(page):
    known = {key for held in KEYS for key in held.keys}
    named = set(re.findall(r"<kbd>([^<]+)</kbd>", text(page)))
    if page.name == "tutorial.md":
        assert named, "the tutorial names keys"
    # Ctrl C stops the server in the terminal.
    assert named - known <= {"C"}


def test_every_page_named_is_served(page, tmp_path):
    from starlette.routing import Match

    from bedplate.web.app import create_app

    app = create_app(None, allowed_hosts=())
    for path in re.findall(r"`(/builds/[^`]*)`", text(page)):
        scope = {"type": "http", "path": path, "method": "GET", "headers": [], "root_path": ""}
        assert any(route.matches(scope)[0] is Match.FULL for route in app.routes), path


# Links


def anchors(page):
    heads = re.findall(r"^#+ (.+)$", text(page), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}


def test_every_link_leads_somewhere(page):
    for target in re.findall(r"\]\(([^)\s]+)\)", text(page)):
        if target.startswith(("http://", "https://")):
            continue
        name, _, anchor = target.partition("#")
        found = (page.parent / name).resolve() if name else page
        assert found.exists(), target
        if anchor:
            assert anchor in anchors(found), target


def test_every_decision_is_listed():
    listed = set(re.findall(r"\((\d{4}-[^)]+)\)", text(DOCS / "decisions" / "README.md")))
    assert listed == {p.name for p in (DOCS / "decisions").glob("[0-9]*.md")}


# Figures


def gauge(name, uncertainty, *, comparator):
    def um(value):
        return Typed(text=f"{value} µm", si=value * 1e-6)

    return GaugeRegistered(
        id="0" * 32, at="", by="", gauge=name, name=name, gauge_kind=name, comparator=comparator,
        resolution=um(1), expanded_uncertainty=um(uncertainty), repeatability=um(1.2),
    )  # fmt: skip


def clearance_uncertainty(set_in):
    """Return U of one bore reading less one journal reading, µm, k = 2."""
    from bedplate.engine import examples, read_engine

    engine = read_engine(examples()["straight-six"])
    gauges = [(1, gauge("mic", 3, comparator=False)), (2, gauge("other", 3, comparator=False))]
    gauges.append((3, gauge("dial", 1.5, comparator=True)))
    size = Typed(text="60.000 mm", si=0.060)
    setting = ComparatorSet(id="1" * 32, at="", by="", gauge="dial", size=size, on_gauge=set_in)
    bench = Bench(engine.measuring, {}, gauges, [(4, "1" * 32, setting)])

    def reading(feature, station, name, value, setting=""):
        return Reading(
            id="2" * 32, at="", by="", feature=feature, station=station, gauge=name,
            value=Typed(text=f"{value:.3f} mm", si=value / 1e3), setting=setting,
        )  # fmt: skip

    journal = engine.features["main-journal-1"]
    bore = engine.features["main-bearing-bore-1"]
    sizes = (
        bench.measure(5, reading(bore.id, "crown-front-edge", "dial", 0.03, "1" * 32), bore),
        bench.measure(6, reading(journal.id, "0-deg-front-end", "mic", 59.99), journal),
    )
    return 2e6 * standard_uncertainty(combine([(1.0, sizes[0]), (-1.0, sizes[1])]))


@pytest.mark.parametrize(
    ("words", "set_in"), [("in that micrometer", "mic"), ("in another one", "other")]
)
def test_the_worked_example_of_the_shared_micrometer_is_right(words, set_in):
    line = re.search(rf"U = ([\d.]+) µm where [a-z ]+ zeroed {words}", text(DOCS / "numbers.md"))
    assert float(line[1]) == pytest.approx(clearance_uncertainty(set_in), abs=0.05)


def test_every_fit_kind_stands_in_the_reference_with_its_formula():
    from bedplate.engine import FIT_KINDS

    reference = text(DOCS / "engine-file.md")
    for kind in FIT_KINDS.values():
        per = "hole and shaft" if kind.named_by_file else kind.per
        assert f"| {kind.name} | {per} | {kind.formula}" in reference


def test_the_readme_opens_with_one_paragraph_and_the_two_commands():
    parts = [part for part in text(ROOT / "README.md").split("\n\n") if part.strip()]
    assert parts[0].startswith("# ")
    assert not parts[1].startswith(("#", "-", "`", "|"))
    assert [line.partition("#")[0].strip() for line in parts[2].splitlines()[1:-1]] == [
        "make demo",
        "make test",
    ]


def test_the_licence_is_whole():
    licence = text(ROOT / "LICENSE")
    assert licence.lstrip().startswith("Apache License")
    assert "END OF TERMS AND CONDITIONS" in licence
    assert len(licence.splitlines()) == 202


def test_pages_are_played_in_a_folder_of_their_own():
    assert tempfile.gettempdir() not in text(DOCS / "tutorial.md")
