"""Write the truth tables: `python -m tests.truth --write docs/truth.md [--share 1.0] [--seed N]`."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from tests.truth.page import SEED, TABLES, build, head


def main() -> int:
    """Build every table, say on standard error how far it is, and write the page."""
    parser = argparse.ArgumentParser(prog="python -m tests.truth", description="Write the truth tables.")
    parser.add_argument("--write", type=Path, required=True, metavar="PATH", help="page to write")
    parser.add_argument("--share", type=float, default=1.0, help="share of the full number of simulations (1.0)")
    parser.add_argument("--seed", type=int, default=SEED, help=f"seed of all random numbers ({SEED})")
    chosen = parser.parse_args()
    parts, missed = [head(chosen.share, chosen.seed)], 0
    for number, name in enumerate(TABLES, 1):
        print(f"table {number} of {len(TABLES)}: {name} ...", file=sys.stderr, flush=True)
        table = build(name, chosen.share, chosen.seed)
        missed += len(table.outside())
        parts.append(table.markdown())
    chosen.write.write_text("\n".join(parts), encoding="utf-8")
    print(f"written: {chosen.write}; cells outside their limits: {missed}", file=sys.stderr)
    return 0


if __name__ == "__main__":
    sys.exit(main())
