"""Run every benchmark and print one table: ours, the peer, the ratio, the target."""

from __future__ import annotations

import importlib
import os
import pkgutil
import sys
from pathlib import Path

for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")


def main() -> int:
    """Print the table; the exit status is 1 if a target was missed."""
    missed = 0
    print(f"{'what':66} {'ours':>11} {'peer':>11} {'ratio':>8}  target")
    for module in sorted(m.name for m in pkgutil.iter_modules([str(Path(__file__).parent)])):
        if not module.startswith("bench_"):
            continue
        for row in importlib.import_module(f"benchmarks.{module}").run():
            peer = f"{row['peer_ms']:9.3f}ms" if row.get("peer_ms") is not None else "-"
            ratio = f"{row['ratio']:.1f}x" if row.get("ratio") is not None else "-"
            reached = row.get("reached", True)
            missed += not reached
            mark = "" if reached else "  MISSED"
            print(f"{row['name']:66} {row['ours_ms']:9.3f}ms {peer:>11} {ratio:>8}  {row['target']}{mark}", flush=True)
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
