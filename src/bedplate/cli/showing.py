"""Commands that show: the state of a build, and what to measure next."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

from bedplate.cli.options import Adder, opened, units
from bedplate.errors import NotFoundError

if TYPE_CHECKING:
    from bedplate.engine import Feature
    from bedplate.quantity import Units
    from bedplate.shop.model import FeatureState, FitState, PlanGroup, PlanStep, State
    from bedplate.workshop import Workshop


_NEAR_ENOUGH = 2e-3
"""m: a comparator that was set within so much of the size wanted can still show it (its travel;
common practice, no source)."""


def add_commands(add: Adder) -> None:
    """Add the commands of this family."""
    state = add("state", _state, "show the state of a build, or list the builds")
    state.add_argument("build", nargs="?", default="", metavar="BUILD")
    state.add_argument(
        "about",
        nargs="?",
        default="",
        metavar="ABOUT",
        help="one fit or feature, with all it rests on",
    )
    which = state.add_mutually_exclusive_group()
    which.add_argument("--open", action="store_true", help="the open questions, in order")
    which.add_argument("--entries", action="store_true", help="the record, as it happened")

    following = add("next", _next, "say what to measure next, and what it would decide")
    following.add_argument("build", metavar="BUILD")
    following.add_argument(
        "--count", type=int, default=5, metavar="N", help="readings to look ahead, 5 if not said"
    )


def _state(arguments: argparse.Namespace) -> int:
    with opened(arguments) as workshop:
        if not arguments.build:
            return _builds(workshop, as_json=arguments.json)
        state = workshop.state(arguments.build)
    shown = units(arguments, state.units)
    if arguments.about:
        return _about(state, arguments.about, shown, as_json=arguments.json)
    if arguments.json:
        _print_state_json(state, arguments)
    elif arguments.open:
        _print_questions(state)
    elif arguments.entries:
        _print_entries(state)
    else:
        _print_state(state, shown)
    return 0


def _print_state_json(state: State, arguments: argparse.Namespace) -> None:
    from bedplate.cli.output import print_json

    if arguments.entries:
        print_json(state.entries)
    else:
        whole = _as_dict(state)
        print_json(whole["questions"] if arguments.open else whole)


def _as_dict(state: State) -> dict[str, Any]:
    """Return the state in the one form that page, paper and terminal share."""
    from bedplate.documents.state_json import state_as_dict

    return state_as_dict(state)


def _builds(workshop: Workshop, *, as_json: bool) -> int:
    from bedplate.cli.output import print_json, print_table

    builds = workshop.builds()
    if as_json:
        print_json(builds)
    elif not builds:
        print("There is no build yet. Start one: bedplate start ENGINE.toml")
    else:
        rows = [(b.build, b.title, str(b.entries), b.started[:10], b.last[:10]) for b in builds]
        print_table(("build", "title", "entries", "started", "last"), rows, right=(2,))
    return 0


def _print_state(state: State, shown: Units) -> None:
    from bedplate.cli.output import print_table
    from bedplate.shop.balance.ledger import ledger_of

    told = "(invented)" in state.title or not state.engine.invented
    print(state.title if told else f"{state.title} (invented)")
    print(f"{state.build}: {state.checkpoint.count} entries, head {state.checkpoint.head[:16]}")
    print()
    titles = ("", "fit", "verdict", "value", "U", "least", "greatest", "limits", "")
    rows = [_fit_row(fit, shown) for fit in state.fits.values()]
    print_table(titles, rows, right=(3, 4, 5, 6))
    print()
    counts = state.tally()
    print(", ".join(f"{count} {name}" for name, count in counts.items() if count) + ".")
    print(ledger_of(state).sentence)
    asked = len(state.questions)
    if asked:
        print(
            f"{asked} open question{'s' if asked > 1 else ''}: bedplate state {state.build} --open"
        )
    else:
        print("No question is open.")


def _fit_row(fit: FitState, shown: Units) -> tuple[str, ...]:
    from bedplate.cli.output import length, limits, mark_of

    remarks = []
    if fit.stale:
        remarks.append("stale")
    if fit.accepted:
        remarks.append(f"accepted by {fit.accepted_by}")
    if fit.lapsed:
        remarks.append("acceptance lapsed")
    return (
        mark_of(fit),
        fit.fit.name,
        fit.verdict.value,
        *(
            length(value, shown, fit.expanded)
            for value in (fit.value, fit.expanded, fit.least, fit.greatest)
        ),
        limits(fit.low, fit.high, shown),
        ", ".join(remarks),
    )


def _print_questions(state: State) -> None:
    if not state.questions:
        print("No question is open.")
    gate = None
    for question in state.questions:
        if question.gate is not gate:
            gate = question.gate
            print(f"Before {gate.value}:")
        print(f"  {question.sentence} {question.to_do}")


def _print_entries(state: State) -> None:
    from bedplate.cli.output import print_table
    from bedplate.shop.sentences import sentence

    rows = [
        (str(n.number), n.entry.at[:19].replace("T", " "), n.entry.by, sentence(state, n.entry))
        for n in state.entries
    ]
    print_table(("entry", "at (UTC)", "by", "what"), rows, right=(0,))


def _about(state: State, about: str, shown: Units, *, as_json: bool) -> int:
    from bedplate.cli.output import print_json

    if about not in state.fits and about not in state.features:
        from difflib import get_close_matches

        near = get_close_matches(about, [*state.fits, *state.features], 3)
        hint = f"Did you mean {' or '.join(near)}?" if near else "See: bedplate state BUILD"
        sentence = f"'{state.build}' has no fit and no feature '{about}'."
        raise NotFoundError(sentence, hint=hint)
    if as_json:
        whole = _as_dict(state)
        rows = {name: [row for row in whole[name] if row["id"] == about]
                for name in ("fits", "features")}  # fmt: skip
        print_json(rows)
        return 0
    if about in state.fits:
        _print_fit(state, state.fits[about], shown)
    if about in state.features:
        _print_feature(state.features[about], shown)
    return 0


def _print_fit(state: State, fit: FitState, shown: Units) -> None:
    from bedplate.cli.output import both, fine, length, limits, mark_of, print_table

    verdict = f"{fit.verdict.value}{', stale' if fit.stale else ''}"
    print(f"{mark_of(fit)}  {fit.fit.name}: {verdict}. {fit.judgement.advice}".rstrip())
    print(f"  {fit.fit.formula}")
    if fit.value is not None:
        k = f"{state.engine.measuring.coverage:g}"
        u = fit.expanded
        print(f"  value {both(fit.value, shown, u)}, U {length(u, shown, u)} (k = {k})")
        print(f"  least {both(fit.least, shown, u)}, greatest {both(fit.greatest, shown, u)}")
    print(f"  limits {limits(fit.low, fit.high, shown)}, from {fit.fit.source}")
    if fit.fit.target is not None:
        print(f"  target {fit.fit.target.text}")
    if fit.accepted:
        print(f"  accepted by {fit.accepted_by}: {fit.accepted}")
    names = [state.features[name].feature.name for name in fit.rests_on]
    print(f"  rests on {', '.join(names)}")
    missing = [state.features[name].feature.name for name in fit.missing]
    if missing:
        print(f"  still to be measured: {', '.join(missing)}")
    if fit.budget:
        print()
        rows = [(line.source, fine(line.amount, shown)) for line in fit.budget]
        print_table(("source of uncertainty", "standard uncertainty"), rows, right=(1,))


def _print_feature(feature: FeatureState, shown: Units) -> None:
    from bedplate.cli.output import both, length, print_table

    stale = ": stale, reworked since it was measured" if feature.stale else ""
    print(f"{feature.feature.name}, on the {feature.feature.part}{stale}.")
    size = feature.size
    if size is not None:
        least, greatest = size.least.nominal_value, size.greatest.nominal_value
        u = feature.expanded
        print(f"  mean {both(size.mean.nominal_value, shown, u)}, U {length(u, shown, u)}")
        print(f"  least {both(least, shown, u)}, greatest {both(greatest, shown, u)}")
        for name, form in (("out-of-round", size.out_of_round), ("taper", size.taper)):
            if form is not None:
                print(f"  {name} {length(form.nominal_value, shown, u)}")
    if feature.wear is not None:
        print(f"  wear {both(feature.wear, shown)}. {feature.wear_note}".rstrip())
    if feature.readings:
        print()
        rows = [
            (str(r.number), _station(feature.feature, r.station), r.text, length(r.size, shown),
             r.gauge, r.condition, f"{r.standing}: {r.why}" if r.why else r.standing)
            for r in feature.readings
        ]  # fmt: skip
        titles = ("entry", "station", "typed", "size", "gauge", "condition", "standing")
        print_table(titles, rows, right=(0, 2, 3))


def _station(feature: Feature, station: str) -> str:
    return next((s.name or s.id for s in feature.stations if s.id == station), station)


def print_gauges(state: State, arguments: argparse.Namespace) -> int:
    """Print the gauges of a build."""
    from bedplate.cli.output import NOTHING, length, print_json, print_table

    if arguments.json:
        print_json(_as_dict(state)["gauges"])
        return 0
    shown = units(arguments, state.units)
    rows = [
        (
            name,
            g.gauge.gauge_kind,
            g.gauge.resolution.text,
            g.gauge.expanded_uncertainty.text,
            g.gauge.repeatability.text,
            g.setting.size.text if g.setting else "not set" if g.gauge.comparator else NOTHING,
            length(g.drift, shown),
            f"{g.gauge.due or NOTHING}{' overdue' if g.overdue else ''}",
            str(g.readings),
        )
        for name, g in state.gauges.items()
    ]
    titles = (
        "gauge",
        "kind",
        "reads to",
        "U",
        "repeatability",
        "set to",
        "drift",
        "due",
        "readings",
    )
    if rows:
        print_table(titles, rows, right=(2, 3, 4, 5, 6, 8))
    else:
        print(
            f"'{state.build}' has no gauge yet. Register one: bedplate gauge BUILD GAUGE --kind ..."
        )
    return 0


def _next(arguments: argparse.Namespace) -> int:
    from bedplate.shop.plan import wanted_steps

    with opened(arguments) as workshop:
        state = workshop.state(arguments.build)
    wanted = list(wanted_steps(state.plan))
    ahead = wanted[: max(arguments.count, 1)]
    if arguments.json:
        from bedplate.cli.output import print_json

        rows = [
            {"step": step, "group": group.title, "setting": group.setting, "gauges": group.gauges,
             "decides": _deciding(state, step)}
            for group, step in ahead
        ]  # fmt: skip
        print_json({"wanted": len(wanted), "next": rows, "open": len(state.questions)})
        return 0
    if not ahead:
        print("Every station of the plan is measured.")
        _print_questions(state)
        return 0
    _print_next(state, *ahead[0], units(arguments, state.units))
    _print_ahead(state, ahead[1:])
    print(f"{len(wanted)} reading{'s' if len(wanted) > 1 else ''} wanted in all.")
    return 0


def _print_next(state: State, group: PlanGroup, step: PlanStep, shown: Units) -> None:
    from bedplate.cli.output import limits, mark_of

    print(f"Next: {_name(state, step)}.")
    gauge = group.gauges[0] if group.gauges else ""
    using = f" ({gauge})" if gauge else ", none of which is registered yet"
    print(f"  gauge: {step.gauge_kind}{using}")
    if step.condition:
        print(f"  parts: {step.condition}")
    if step.done:
        print(f"  {step.done} of {step.needed} readings are taken here")
    print("  it would decide:")
    for name, missing in _deciding(state, step).items():
        fit = state.fits[name]
        rest = f", once {', '.join(missing)} {'is' if len(missing) == 1 else 'are'} measured too"
        within = limits(fit.low, fit.high, shown)
        print(f"    {mark_of(fit)}  {fit.fit.name} ({within}){rest if missing else ''}")
    for command in _commands(state, group, step, gauge or "GAUGE", shown):
        print(f"  {command}")


def _commands(
    state: State, group: PlanGroup, step: PlanStep, gauge: str, shown: Units
) -> Iterator[str]:
    """Yield the commands that take a reading: the setting too, if it is not the one wanted."""
    from bedplate.cli.output import length

    held = state.gauges.get(gauge)
    setting = held.setting if held else None
    if group.setting is not None and (
        setting is None or abs(setting.size.si - group.setting) > _NEAR_ENOUGH
    ):
        size = length(group.setting, shown)
        yield f"bedplate set {state.build} {gauge} '{size}' --on MICROMETER"
    condition = f' --condition "{step.condition}"' if step.condition else ""
    place = f"{step.feature} {step.station}"
    yield f"bedplate read {state.build} {place} VALUE --gauge {gauge}{condition}"


def _deciding(state: State, step: PlanStep) -> dict[str, tuple[str, ...]]:
    """Return the fits a reading would serve, each with the features still wanted besides."""
    return {
        name: tuple(
            state.features[missing].feature.name
            for missing in state.fits[name].missing
            if missing != step.feature
        )
        for name in step.serves
    }


def _print_ahead(state: State, ahead: Iterable[tuple[PlanGroup, PlanStep]]) -> None:
    for _, step in ahead:
        print(f"Then: {_name(state, step)}.")


def _name(state: State, step: PlanStep) -> str:
    feature = state.features[step.feature].feature
    station = _station(feature, step.station)
    return f"{feature.name}, {station}" if station else feature.name
