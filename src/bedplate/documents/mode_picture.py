"""How the train swings in its first modes: each inertia's amplitude, in its place on the crank."""

from __future__ import annotations

from math import pi

from bedplate.documents import ink
from bedplate.physics.checks import Array
from bedplate.shop.torsion.report import TorsionReport

_WIDTH, _HEIGHT = 760.0, 214.0
_GAP, _SWING, _MIDDLE = 26.0, 62.0, 100.0


def mode_shapes_picture(report: TorsionReport, *, damped: bool = True) -> str:
    """Return the shapes of three modes that twist the crank, the greatest of each as large.

    A damper's ring and accessories stand left of the nose that they hang on.
    """
    modes = report.modes if damped else report.bare_modes
    shown = (report.shown if damped else report.bare_shown)[-3:]
    width = (_WIDTH - _GAP * (len(shown) - 1)) / len(shown)
    parts = []
    for place, mode in enumerate(shown):
        hertz = float(modes.frequency[mode]) / 2 / pi
        left = place * (width + _GAP)
        parts.append(ink.text(left + width / 2, 12, f"mode {mode + 1}, {hertz:.0f} Hz", 12))
        parts.append(_shape(report, modes.shape[mode], left, width, damped=damped))
    name = f"Shapes of the first {len(shown)} modes, free end left"
    return ink.drawing(_WIDTH, _HEIGHT, "".join(parts), kind="mode-shapes", name=name, links=False)


def _shape(report: TorsionReport, shape: Array, left: float, width: float, *, damped: bool) -> str:
    crank = report.crank.damped if damped else report.crank.bare
    chain = [crank.nose, *crank.throws, crank.flywheel]
    hung = [node for node in range(crank.model.nodes) if node not in chain]
    columns = len(hung) + len(chain)
    step = (width - 24) / max(columns - 1, 1)
    x = {node: left + 12 + step * n for n, node in enumerate([*reversed(hung), *chain])}
    # Twisting the other way is the same mode: the nose is drawn above the line.
    way = -1.0 if shape[crank.nose] < 0 else 1.0
    y = {node: _MIDDLE - _SWING * way * float(shape[node]) for node in x}
    parts = [ink.line(left, _MIDDLE, left + width, _MIDDLE, "centre")]
    line = "L".join(f"{x[node]:.1f} {y[node]:.1f}" for node in chain)
    parts.append(ink.path(f"M{line}", "heavy"))
    parts += [ink.line(x[n], y[n], x[crank.nose], y[crank.nose], "hidden") for n in hung]
    for node, across in x.items():
        parts.append(ink.line(across, _MIDDLE, across, y[node]))
        parts.append(ink.ring(across, y[node], 3.5, "solid" if node in chain else "outline"))
    numbers = {crank.nose: "nose", crank.flywheel: "flywheel"}
    numbers |= {node: str(n) for n, node in enumerate(crank.throws, 1)}
    if crank.ring is not None:
        numbers[crank.ring] = "ring"
    for node, words in numbers.items():
        anchor = {"flywheel": "end", "nose": "start", "ring": "end"}.get(words, "middle")
        low = 0.0 if anchor == "middle" else 16.0
        aside = {"end": 8.0, "start": -8.0}.get(anchor, 0.0)
        parts.append(ink.text(x[node] + aside, _HEIGHT - 36 + low, words, 11, anchor=anchor))
    return "".join(parts)
