"""kill -9 at random moments: what was acknowledged is there, what is sent again is there once."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from tests.contract.record_makers import Clock, new_id, reading

from bedplate.record import Ledger, SqliteStore

KILLS = 40

# A host that has everything imported forks a writer for each round and kills it at a random
# moment. A writer begins with the entry that the one before it may or may not have finished.
_HOST = """
import os, random, signal, sys, time
from pathlib import Path
from bedplate.record import Ledger, SqliteStore
from tests.contract.record_makers import Clock, reading, started

path, kills = Path(sys.argv[1]), int(sys.argv[2])
chance = random.Random(20261125)

def write(first, out):
    ledger = Ledger(SqliteStore(path), Clock())
    ledger.append("demo", started())
    for n in range(first, 10**9):
        taken = ledger.append("demo", reading(n))
        os.write(out, f"{n} {taken.number} {int(taken.repeated)}\\n".encode())

acknowledged, repeated, killed_early = 0, 0, 0
for _ in range(kills):
    ours, theirs = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(ours)
        write(acknowledged, theirs)
    os.close(theirs)
    time.sleep(chance.uniform(0.0, 0.05))
    os.kill(child, signal.SIGKILL)
    assert os.waitpid(child, 0)[1] == signal.SIGKILL
    with open(ours, "rb") as pipe:
        lines = [line for line in pipe.read().split(b"\\n") if line]
    for line in lines:
        n, number, again = map(int, line.split())
        assert (n, number) == (acknowledged, acknowledged + 2), line
        acknowledged += 1
        repeated += again
    killed_early += not lines
print(acknowledged, repeated, killed_early)
"""


def test_no_acknowledged_entry_is_lost_and_none_is_doubled(tmp_path: Path) -> None:
    path = tmp_path / "bedplate.sqlite"
    done = subprocess.run(
        [sys.executable, "-c", _HOST, str(path), str(KILLS)],
        cwd=Path(__file__).parents[2],
        env={**os.environ, "PYTHONPATH": os.pathsep.join(["src", "."])},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    acknowledged = int(done.stdout.split()[0])
    assert acknowledged > KILLS

    store = SqliteStore(path)
    ledger = Ledger(store, Clock())
    ids = [numbered.entry.id for numbered in ledger.entries("demo")[1:]]
    # At most the one in flight when the last writer was killed is there without an answer.
    assert acknowledged <= len(ids) <= acknowledged + 1
    assert ids == [new_id(n) for n in range(len(ids))]
    assert ledger.verify("demo").ok
    assert store.faults() == []
    assert ledger.append("demo", reading(acknowledged - 1)).repeated
    assert ledger.append("demo", reading(len(ids))).number == len(ids) + 2
    store.close()
