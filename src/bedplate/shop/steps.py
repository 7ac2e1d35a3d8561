"""The steps of an assembly, made from the engine's features and parts and from its file."""

from __future__ import annotations

from dataclasses import dataclass

from bedplate.engine import Engine, Gate, OwnStep, Per, Plan
from bedplate.engine.stations import slug
from bedplate.quantity import Range
from bedplate.shop.cautions import caution
from bedplate.shop.tightening.words import joints_of
from bedplate.wording import capital

USUAL = "usual order of the work; common practice, no source"


@dataclass(frozen=True, slots=True)
class Count:
    """What is counted at a step.

    :param ways: which must all be known: ('out', 'in') or ('issued', 'used', 'left')
    :param expected: how many the engine file says, None if it does not
    :param all_parts: every other count of the build must add up too
    :param so_far: once the step is done, what is counted later does not touch it
    """

    item: str
    ways: tuple[str, ...]
    expected: int | None = None
    all_parts: bool = False
    so_far: bool = False


AT_END = Count("parts", (), None, all_parts=True, so_far=True)
"""At the end of a stage whatever was issued is used or left."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step.

    :param phase: 'trial', 'final' or 'start'
    :param after: ids of the steps it rests on
    :param gate: the gate it closes: refused while what the gate guards is open
    :param proofs: what must be seen
    :param joints: (plan, number) of the joints that must be tight
    :param fits: kinds of fits that must be inside their limits, or accepted
    :param end_float: the end float is measured again in it, at every station
    :param source: where it comes from
    """

    id: str
    name: str
    phase: str
    after: tuple[str, ...]
    caution: str
    proofs: tuple[str, ...] = ()
    counts: tuple[Count, ...] = ()
    joints: tuple[tuple[str, str], ...] = ()
    gate: Gate | None = None
    turning: bool = False
    turning_limits: Range | None = None
    end_float: bool = False
    fits: tuple[str, ...] = ()
    source: str = USUAL


def steps_of(engine: Engine) -> dict[str, Step]:
    """Return the steps of an engine by id, in an order in which each rests on earlier ones."""
    made = [*_trial(engine), *_final(engine), *_start(engine)]
    return {step.id: step for step in _with_own(made, engine.assembly.steps)}


def plans_closing(engine: Engine, gate: Gate) -> list[Plan]:
    """Return the plans that close a gate."""
    return [plan for plan in engine.plans.values() if plan.gate is gate]


def _joints(engine: Engine, *plans: Plan) -> tuple[tuple[str, str], ...]:
    return tuple((plan.name, joint) for plan in plans for joint in joints_of(engine, plan.per))


def _trial(engine: Engine) -> list[Step]:
    mains = plans_closing(engine, Gate.CLOSING_MAINS)
    rods = plans_closing(engine, Gate.CLOSING_RODS)
    return [
        Step("trial-clean", "Clean for the trial", "trial", (), caution("cleaning"),
             ("burrs dressed, threads chased, blind holes dry",
              "backs of the shells and housings dry and spotless")),
        Step("trial-mains", "Trial: close the mains dry", "trial", ("trial-clean",),
             caution("tightening"),
             ("the fasteners, washers and lubricant of the final assembly are used",
              "no sealant on the joint"),
             joints=_joints(engine, *mains), turning=True,
             turning_limits=engine.assembly.turning),
        Step("trial-measure", "Trial: measure mains and thrust", "trial", ("trial-mains",), "",
             ("every bearing measured with the mains tight",), gate=Gate.CLOSING_MAINS),
        Step("trial-rods", "Trial: tighten and measure the rods", "trial", ("trial-clean",),
             caution("tightening"), ("each rod measured tight, against its own pin",),
             joints=_joints(engine, *rods), gate=Gate.CLOSING_RODS),
        Step("strip", "Strip again", "trial", ("trial-measure", "trial-rods"),
             caution("lifting"), ("caps, shells and rods bagged with their numbers",)),
    ]  # fmt: skip


def _final(engine: Engine) -> list[Step]:
    rules = engine.assembly
    plugs = Count("gallery plugs", ("out", "in"), rules.gallery_plugs)
    seal = ["square to the crank, its arrow with the rotation"]
    if rules.seal_lip:
        material = f" ({rules.seal_material})" if rules.seal_material else ""
        seal.append(f"lip {rules.seal_lip}{material}")
    if rules.seal_depth:
        seal.append(f"depth: {rules.seal_depth}")
    mains = plans_closing(engine, Gate.CLOSING_MAINS)
    steps = [
        Step("clean", "Clean for good", "final", ("strip",), caution("cleaning"),
             ("every drilling of block and crank brushed both ways",
              "bores wiped with oil on a white cloth until it stays white",
              "plugs sealed and tight", "covered against dust"), (plugs,),
             source=rules.source or USUAL),
        Step("crank", "Lay the crank", "final", ("clean",), caution("lifting"),
             ("backs of the shells dry, faces oiled",
              "oil holes of shells and housings in line, tangs in their slots",
              "grooved halves where the maker puts them",
              f"thrust washers at main {engine.thrust_main or '?'}, grooves to the crank")),
        Step("seal", "Fit the rear seal", "final", ("crank",), "", tuple(seal), turning=True,
             source=rules.source or USUAL),
        Step("mains", "Close the mains", "final", ("seal",), caution("tightening"),
             ("caps or frame the right way round, each in its own place",
              "crank driven back, then forward, and held: the thrust halves are in line",
              *_by_hand(mains)), (AT_END,),
             joints=_joints(engine, *mains), gate=Gate.CLOSING_MAINS,
             turning=True, turning_limits=rules.turning, source=rules.source or USUAL),
        Step("thrust", "Measure the end float", "final", ("mains",), caution("turning"),
             ("crank pried both ways", "measured at four positions of the crank"),
             end_float=True),
        Step("rings", "Fit the rings", "final", ("clean",), "",
             ("each ring on the piston of the bore it was filed for",
              "marks up, in their order",
              f"gaps: {rules.ring_gaps or 'staggered as the maker says'}"),
             source=rules.source or USUAL),
    ]  # fmt: skip
    return [*steps, *_pistons(engine), *_closing(engine)]


def _by_hand(plans: list[Plan]) -> tuple[str, ...]:
    return () if plans else ("tightened by the maker's plan, which the engine file does not give",)


def _pistons(engine: Engine) -> list[Step]:
    rules = engine.assembly
    facts = dict(engine.facts)
    rods = [p for p in plans_closing(engine, Gate.CLOSING_RODS) if p.per is Per.CYLINDER]
    neighbour = ", its flat side to its neighbour" if engine.layout.shared_pins else ""
    steps: list[Step] = []
    before: tuple[str, ...] = ("thrust", "rings")
    for cylinder in sorted(engine.layout.cylinders, key=lambda c: (c.crankpin, c.bank)):
        label = cylinder.label
        proofs = [
            f"piston {label} in bore {label}, its front mark to the {engine.layout.front}",
            "valve pockets on the side of their valves",
            f"rod and cap carry number {label}; chamfer to the fillet{neighbour}",
            "tangs of the two shells on one side, backs dry",
        ]
        if "pin offset" in facts:
            proofs.append(f"pin offset {facts['pin offset']}")
        locks = Count(f"pin locks, cylinder {label}", ("issued", "used", "left"), rules.pin_locks)
        steps.append(
            Step(
                f"piston-{label}", f"Piston and rod {label}", "final", before,
                caution("pistons") if not steps else "",
                (*proofs, "pin locks seated at both ends", *_by_hand(rods)),
                (locks,) if rules.pin_locks != 0 else (),
                tuple((plan.name, label) for plan in rods),
                Gate.CLOSING_RODS, turning=True,
            )
        )  # fmt: skip
        before = (f"piston-{label}",)
    return steps


def _closing(engine: Engine) -> list[Step]:
    pistons = tuple(f"piston-{c.label}" for c in engine.layout.cylinders)
    others = [p for p in plans_closing(engine, Gate.CLOSING_RODS) if p.per is not Per.CYLINDER]
    damper = [p for p in plans_closing(engine, Gate.FIRST_START) if _at_snout(engine, p)]
    steps = [
        Step("oil-pump", "Oil pump and pickup", "final", ("mains",), "",
             ("clearances of the pump measured, relief valve moves",
              "pickup sealed, tight and safe, its depth to the pan measured",
              "pump packed or primed as its maker says"), turning=True),
        Step("short-block", "Close the short block", "final", (*pistons, "oil-pump"), "",
             ("nothing left in the box that belongs inside, no tool missing",
              "crank turned through two whole turns by hand"),
             (Count("parts", (), None, all_parts=True),), _joints(engine, *others), turning=True),
    ]  # fmt: skip
    if "damper-hub" in engine.features or damper:
        steps.append(
            Step("damper", "Fit the damper", "start", ("short-block",), caution("heat"),
                 ("pressed or drawn on by its thread, never driven on",
                  "its press is as measured"), (AT_END,),
                 joints=_joints(engine, *damper), fits=("damper press",), turning=True)
        )  # fmt: skip
    return steps


def _at_snout(engine: Engine, plan: Plan) -> bool:
    """Tell whether a plan holds what sits on the free end: the damper."""
    return any(
        hole.at == "free end" for group in plan.groups for hole in engine.fasteners[group].holes
    )


def _start(engine: Engine) -> list[Step]:
    rest = [p for p in plans_closing(engine, Gate.FIRST_START) if not _at_snout(engine, p)]
    return [
        Step("prime", "Prime the oil system", "start", ("short-block",), caution("priming"),
             ("pressure seen at the far end, the crank turned meanwhile",)),
        Step("first-start", "First start", "start",
             ("prime", *(["damper"] if _has_damper(engine) else [])), caution("first start"),
             ("pre-start list gone through", "oil pressure within seconds, else off",
              "no leak, no knock"),
             joints=_joints(engine, *rest), gate=Gate.FIRST_START),
        Step("bedding-in", "Bed the rings in", "start", ("first-start",), "",
             ("as the ring maker says: load, not idling",
              "first oil and filter out, the filter cut open and looked at")),
    ]  # fmt: skip


def _has_damper(engine: Engine) -> bool:
    return "damper-hub" in engine.features or any(
        _at_snout(engine, plan) for plan in plans_closing(engine, Gate.FIRST_START)
    )


def _with_own(steps: list[Step], own: tuple[OwnStep, ...]) -> list[Step]:
    """Put the maker's steps in; what rested on the step before then rests on the new one too."""
    for asked in own:
        name = _free(slug(asked.name) or "step", steps)
        before = next((s for s in steps if asked.after in {s.id, s.name}), steps[0])
        place = steps.index(before)
        made = Step(
            name, capital(asked.name), before.phase, (before.id,),
            f"{capital(asked.caution)}." if asked.caution else "",
            asked.proofs, turning=asked.turning, source=asked.source,
        )  # fmt: skip
        later = [
            _resting(step, before.id, name) if before.id in step.after else step
            for step in steps[place + 1 :]
        ]
        steps = [*steps[: place + 1], made, *later]
    return steps


def _free(name: str, steps: list[Step]) -> str:
    """Return a name that no step has yet."""
    taken = {step.id for step in steps}
    names = (name, *(f"{name}-{count}" for count in range(2, len(steps) + 3)))
    return next(one for one in names if one not in taken)


def lost_steps(engine: Engine) -> list[OwnStep]:
    """Return the maker's steps that follow one that is not there."""
    steps = steps_of(engine).values()
    known = {name for step in steps for name in (step.id, step.name)}
    return [step for step in engine.assembly.steps if step.after and step.after not in known]


def _resting(step: Step, before: str, name: str) -> Step:
    from dataclasses import replace

    return replace(step, after=tuple(name if one == before else one for one in step.after))
