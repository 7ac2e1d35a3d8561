"""A build that is measured and has nothing open before its mains and rods are closed."""

from bedplate.demo import fill
from bedplate.engine import Gate, examples
from bedplate.shop.steps import steps_of
from bedplate.shop.tightening.runs import joints

BY = "Ann (invented)"
ENGINE = examples()["in-line-four-frame"]


def measured_build(workshop, build="k", engine=ENGINE):
    """Measure an invented engine, and decide whatever is still open before the gates."""
    fill(workshop, engine, build, seed=3)
    for question in workshop.state(build).questions:
        if question.gate is Gate.FIRST_START:
            continue
        if question.about in workshop.state(build).fits:
            workshop.accept(build, question.about, "invented parts, too close to call", by=BY)
        else:
            workshop.note(build, question.about, "it will do for invented parts", by=BY)
    left = [q for q in workshop.state(build).questions if q.gate is not Gate.FIRST_START]
    assert left == []
    return build


def tighten(workshop, plan, joint="", purpose="trial", build="k", **more):
    """Tighten a joint by its whole plan."""
    workshop.begin_tightening(build, plan, by=BY, joint=joint, purpose=purpose, **more)
    if purpose == "final" and workshop.state(build).engine.plans[plan].sealant:
        workshop.apply_sealant(build, plan, by=BY, joint=joint)
    while (run := joints(workshop.state(build))[plan, joint].runs[-1]).next is not None:
        if run.next.bolt is None:
            workshop.finish_stage(build, str(run.number), by=BY, value="3 N·m")
        else:
            workshop.tighten(build, str(run.number), run.next.bolt, by=BY)
    return run


def do(workshop, step, *, build="k", turns="3 N·m", **more):
    """Do a step with everything it asks for."""
    known = steps_of(workshop.state(build).engine)[step]
    if known.caution:
        workshop.show_caution(build, step, by=BY)
    for count in known.counts:
        for way in count.ways:
            number = "0" if way == "left" else str(count.expected)
            workshop.count_parts(build, count.item, way, number, by=BY)
    if known.turning:
        workshop.turn_crank(build, step, turns, by=BY)
    return workshop.do_step(build, step, by=BY, proofs=known.proofs, **more)


def trial(workshop, build="k"):
    """Do the whole trial, and strip again."""
    do(workshop, "trial-clean", build=build)
    tighten(workshop, "frame", build=build)
    do(workshop, "trial-mains", build=build)
    do(workshop, "trial-measure", build=build)
    for number in "1234":
        tighten(workshop, "rods", number, build=build)
    do(workshop, "trial-rods", build=build)
    workshop.loosen(build, "frame", "strip", by=BY)
    for number in "1234":
        workshop.loosen(build, "rods", "strip", joint=number, by=BY)
    do(workshop, "strip", build=build)


def closed_mains(workshop, build="k"):
    """Go on to where the mains are closed for good."""
    trial(workshop, build)
    workshop.fit_fasteners(build, "frame inner", by=BY, condition="new")
    for step in ("clean", "oil-jets", "crank", "seal"):
        do(workshop, step, build=build)
    tighten(workshop, "frame", purpose="final", build=build)
    do(workshop, "mains", build=build)
