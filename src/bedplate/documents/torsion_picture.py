"""Speeds, orders and natural frequencies in one picture, and the free end's twist over speed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import degrees, pi

import numpy as np

from bedplate.documents import ink
from bedplate.physics.torsion_scatter import TwistBand
from bedplate.shop.torsion.report import Critical, TorsionReport, Twist

_WIDTH, _HEIGHT = 760.0, 420.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 62.0, 736.0, 20.0, 372.0
_RPM = 30 / pi
_HERTZ = 1 / (2 * pi)
_DASHED = 'stroke-dasharray="7 4"'

Scale = Callable[[float], float]


def speed_order_picture(report: TorsionReport, *, damped: bool = True) -> str:
    """Return orders as rays over speed, natural frequencies as bands, criticals where they meet.

    A filled dot: the cylinders push together there. An open one: they partly cancel.
    """
    modes = report.modes if damped else report.bare_modes
    band = report.band if damped else report.bare_band
    criticals = report.criticals if damped else report.bare_criticals
    moving = report.shown if damped else report.bare_shown
    shown = sorted({one.mode for one in criticals}) or [moving[0] + 1]
    ceiling = 1.15 * max(float(band.high[mode - 1]) for mode in shown) * _HERTZ
    x, y = _scales(report, ceiling)
    parts = [_axes(report, ceiling, x, y, "natural frequency, Hz")]
    for mode in shown:
        low, middle, high = (
            float(one[mode - 1]) * _HERTZ for one in (band.low, modes.frequency, band.high)
        )
        parts.append(
            f'<rect x="{_LEFT:g}" y="{y(high):.1f}" width="{_RIGHT - _LEFT:g}" '
            f'height="{y(low) - y(high):.1f}" class="band-area" fill="currentColor" '
            'fill-opacity="0.13"/>'
        )
        parts.append(ink.line(_LEFT, y(middle), _RIGHT, y(middle)))
        said = f"mode {mode}, {middle:.0f} Hz"
        parts.append(ink.text(_LEFT + 6, y(high) - 9, said, 12, anchor="start"))
    orders = sorted({one.order for one in criticals if one.major}) or [1.0, 2.0, 4.0]
    parts += [_ray(order, report, ceiling, x, y) for order in orders]
    parts += [_dot(one, x, y) for one in criticals]
    words = ", ".join(
        f"order {one.order:g} meets mode {one.mode} at {one.speed * _RPM:.0f} rpm"
        for one in criticals
        if one.major
    )
    return ink.drawing(
        _WIDTH, _HEIGHT, "".join(parts), kind="speed-order", links=False,
        name=f"Speeds at which an order meets a natural frequency: {words or 'none'}",
    )  # fmt: skip


def _scales(report: TorsionReport, ceiling: float) -> tuple[Scale, Scale]:
    top = report.highest * _RPM

    def x(rpm: float) -> float:
        return _LEFT + (_RIGHT - _LEFT) * rpm / top

    def y(value: float) -> float:
        return _BOTTOM - (_BOTTOM - _TOP) * value / ceiling

    return x, y


def _axes(report: TorsionReport, ceiling: float, x: Scale, y: Scale, name: str) -> str:
    parts = [
        ink.line(_LEFT, _BOTTOM, _RIGHT, _BOTTOM, "outline"),
        ink.line(_LEFT, _TOP, _LEFT, _BOTTOM, "outline"),
        ink.text((_LEFT + _RIGHT) / 2, _HEIGHT - 12, "speed, rpm", 12),
        ink.text(_LEFT, 9, name, 12, anchor="start"),
    ]
    for rpm in _steps(report.highest * _RPM):
        parts.append(ink.line(x(rpm), _BOTTOM, x(rpm), _BOTTOM + 5))
        parts.append(ink.text(x(rpm), _BOTTOM + 16, f"{rpm:.0f}", 12))
    for value in _steps(ceiling):
        parts.append(ink.line(_LEFT - 5, y(value), _LEFT, y(value)))
        parts.append(ink.text(_LEFT - 8, y(value), f"{value:g}", 12, anchor="end"))
    return "".join(parts)


def _steps(highest: float) -> list[float]:
    """Return round figures from nothing up, five to ten of them."""
    base = 10.0 ** np.floor(np.log10(highest / 5))
    step = next(base * k for k in (1, 2, 5, 10) if highest / (base * k) <= 8)
    return [float(round(step * n, 10)) for n in range(1, int(highest / step) + 1)]


def _ray(order: float, report: TorsionReport, ceiling: float, x: Scale, y: Scale) -> str:
    top = report.highest * _RPM
    at = min(top, ceiling * 60 / order)
    end = at * order / 60
    label_x = x(at) - (10 if at == top else 0)
    return ink.line(x(0), y(0), x(at), y(end)) + ink.text(
        label_x, y(end) - 8 if at == top else y(end) + 10, f"{order:g}", 11
    )


def _dot(one: Critical, x: Scale, y: Scale) -> str:
    at = one.order * one.speed * _HERTZ
    place = x(one.speed * _RPM), y(at)
    if one.major:
        low, high = (min(x(end * _RPM), _RIGHT) for end in (one.low, one.high))
        whisker = ink.line(low, place[1], high, place[1], "whisker")
        return (
            whisker + f'<circle cx="{place[0]:.1f}" cy="{place[1]:.1f}" r="5" class="solid" '
            'fill="currentColor"/>'
        )
    return ink.ring(*place, 3, "thin")


def twist_picture(report: TorsionReport) -> str:
    """Return the twist of the free end over speed, damper on and off, and its leading orders.

    Empty text where no twist is known.
    """
    on, off = report.twist, report.bare_twist
    if on is None or off is None:
        return ""
    band = on.band
    most = max(float(on.all_orders.max()), float(off.all_orders.max()))
    if band is not None:
        most = max(most, float(band.high.max()))
    ceiling = 1.12 * degrees(most)
    x, y = _scales(report, ceiling)
    parts = [_axes(report, ceiling, x, y, "twist of the free end against the flywheel, ± degrees")]
    if band is not None:
        parts.append(_area(band, x, y))
    damper = report.crank.damper != "none"
    if damper:
        parts.append(_curve(off, off.all_orders, x, y, "outline", dashed=True))
        parts.append(_label(off, off.all_orders, x, y, "damper off"))
    parts.append(_curve(on, on.all_orders, x, y, "heavy"))
    parts.append(_first_label(on, x, y, "damper on" if damper else "no damper"))
    for order, swing in zip(on.orders, on.by_order, strict=True):
        parts.append(_curve(on, swing, x, y, "thin"))
        parts.append(_label(on, swing, x, y, f"{order:g}", 11))
    speed, most = on.worst
    worst = f"greatest ±{degrees(most):.2f}° at {speed * _RPM:.0f} rpm"
    if band is not None:
        worst += f", 95 % band {degrees(band.worst[0]):.2f}° to {degrees(band.worst[1]):.2f}°"
    name = f"Twist of the free end over speed; {worst}"
    return ink.drawing(_WIDTH, _HEIGHT, "".join(parts), name=name, kind="twist", links=False)


def _area(band: TwistBand, x: Scale, y: Scale) -> str:
    """Return the band between its bounds, forth along the one and back along the other."""
    forth = zip(band.speed, band.high, strict=True)
    back = zip(band.speed[::-1], band.low[::-1], strict=True)
    points = "L".join(
        f"{x(float(speed) * _RPM):.1f} {y(degrees(float(value))):.1f}"
        for speed, value in (*forth, *back)
    )
    return f'<path d="M{points}Z" class="band-area" fill="currentColor" fill-opacity="0.13"/>'


def _curve(
    twist: Twist, swing: Sequence[float] | np.ndarray[tuple[int], np.dtype[np.float64]],
    x: Scale, y: Scale, kind: str, *, dashed: bool = False,
) -> str:  # fmt: skip
    points = (
        f"{x(float(speed) * _RPM):.1f} {y(degrees(float(value))):.1f}"
        for speed, value in zip(twist.speed, swing, strict=True)
    )
    drawn = ink.path("M" + "L".join(points), kind)
    return drawn.replace("<path ", f"<path {_DASHED} ", 1) if dashed else drawn


def _first_label(twist: Twist, x: Scale, y: Scale, words: str) -> str:
    """Return words over the beginning of the curve and its band, where the train is still."""
    near = twist.speed < twist.speed[0] + 0.1 * (twist.speed[-1] - twist.speed[0])
    most = float(twist.all_orders[near].max())
    if twist.band is not None:
        most = max(most, float(twist.band.high[twist.band.speed <= twist.speed[near][-1]].max()))
    return ink.text(x(float(twist.speed[0]) * _RPM), y(degrees(most)) - 12, words, anchor="start")


def _label(
    twist: Twist, swing: Sequence[float] | np.ndarray[tuple[int], np.dtype[np.float64]],
    x: Scale, y: Scale, words: str, size: float = 12.0,
) -> str:  # fmt: skip
    place = int(np.argmax(swing))
    at = min(max(x(float(twist.speed[place]) * _RPM), _LEFT + 40), _RIGHT - 40)
    return ink.text(at, max(y(degrees(float(swing[place]))) - 9, 10), words, size)
