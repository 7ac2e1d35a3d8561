"""What measuring says, as far as the state of a build."""

from __future__ import annotations

import re

from bedplate.engine import examples
from bedplate.shop import QuestionKind
from bedplate.workshop import Workshop


def start(tmp_path, text):
    shop = Workshop.open(tmp_path)
    build = shop.start(text, build="a", by="a tester").build
    shop.register_gauge(
        build, "mic", gauge_kind="outside micrometer", resolution="0.001 mm",
        expanded_uncertainty="0.003 mm", repeatability="0.001 mm", by="a tester",
    )  # fmt: skip
    feature = shop.state(build).features["main-journal-1"].feature
    shop.read(build, feature.id, feature.stations[0].id, "59.990 mm", "mic", by="a tester")
    return shop.state(build)


def asked(state):
    return [q.sentence for q in state.questions if q.kind is QuestionKind.DOUBT]


def test_sizes_that_the_build_asks_for_at_20_degrees(tmp_path):
    text = examples()["straight-six"]
    reduced, changes = re.subn(r"(?m)^reduce( *)= false", r"reduce\1= true", text)
    assert changes == 1
    sentences = asked(start(tmp_path / "reduced", reduced))
    assert any("the temperature of crank" in sentence for sentence in sentences)
    plain = asked(start(tmp_path / "plain", text))
    assert not any("20 °C" in sentence for sentence in plain)
