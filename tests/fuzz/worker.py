"""A process that tries items as it is told: "kind number" a line in, a JSON object a line out."""

from __future__ import annotations

import json
import os
import resource
import sys
from pathlib import Path

from tests.fuzz.items import item, warm

MEMORY = 8 * 2**30
"""What a process may take beside what it has when it starts; a small file never needs it. [B]"""


def main() -> None:
    """Answer until the input ends."""
    seed, sound = int(sys.argv[1]), Path(sys.argv[2])
    answers = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)  # nothing that an item prints is an answer
    os.environ["COLUMNS"] = "100000"
    warm(sound)
    used = int(Path("/proc/self/statm").read_text().split()[0]) * os.sysconf("SC_PAGE_SIZE")
    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    resource.setrlimit(resource.RLIMIT_AS, (used + MEMORY, hard))
    print("ready", file=answers, flush=True)
    for line in sys.stdin:
        kind, number = line.split()
        print(json.dumps(item(seed, kind, int(number), sound)), file=answers, flush=True)


if __name__ == "__main__":
    main()
