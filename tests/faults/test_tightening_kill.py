"""kill -9 after any acknowledgement: the run goes on at exactly the next bolt."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

KILLS = int(os.environ.get("BEDPLATE_KILLS", "25"))

# A host that has everything imported forks a person on the wrench for each round, lets it have so
# many bolts acknowledged, and kills it.
_HOST = """
import os, random, signal, sys
from pathlib import Path
from bedplate.engine import examples
from bedplate.record import TighteningBegun
from bedplate.workshop import Workshop

path, kills = Path(sys.argv[1]), int(sys.argv[2])
chance = random.Random(20261125)

def on_the_wrench(out, go):
    shop = Workshop.open(path)
    if not shop.builds():
        shop.start(examples()["in-line-four-frame"], by="Ann", build="k")
    run = ""
    rows = [n.entry for n in shop.state("k").entries if isinstance(n.entry, TighteningBegun)]
    if rows and shop.run("k", rows[-1].id).standing in {"on", "tight"}:
        run = rows[-1].id
    while True:
        if not run:
            run = shop.begin_tightening("k", "frame", by="Ann", purpose="trial").id
        held = shop.run("k", run)
        if held.next is None:
            shop.loosen("k", "frame", "again", by="Ann")
            run = ""
            continue
        if held.next.bolt is None:
            taken = shop.finish_stage("k", run, by="Ann", value="3 N·m")
        else:
            taken = shop.tighten("k", run, held.next.bolt, by="Ann")
        follows = taken.next
        said = f"{taken.run} {follows.stage} {follows.bolt}" if follows else f"{taken.run} 0 0"
        os.write(out, f"{said}\\n".encode())
        os.read(go, 1)

resumed = 0
for _ in range(kills):
    ours, theirs = os.pipe()
    waits, goes = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(ours)
        os.close(goes)
        on_the_wrench(theirs, waits)
    os.close(theirs)
    os.close(waits)
    pipe = open(ours, "rb", buffering=0)
    wanted = chance.randint(1, 12)
    for count in range(wanted):
        last = pipe.readline()
        if count + 1 < wanted:
            os.write(goes, b"g")
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    run, stage, bolt = map(int, last.split())
    shop = Workshop.open(path)
    held = shop.run("k", str(run))
    found = (held.next.stage.number, held.next.bolt or 0) if held.next else (0, 0)
    assert found == (stage, bolt), (found, stage, bolt)
    resumed += 1
    shop.close()
assert Workshop.open(path).verify("k").ok
print(resumed)
"""


def test_a_killed_run_resumes_at_exactly_the_next_bolt(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", _HOST, str(tmp_path), str(KILLS)],
        cwd=Path(__file__).parents[2],
        env={**os.environ, "PYTHONPATH": os.pathsep.join(["src", "."])},
        capture_output=True,
        text=True,
        timeout=600,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert int(done.stdout) == KILLS
