"""How long `loomwright size` takes over a system of 60 loads with everything left open (at most 5 s). By hand: python tests/bench/bench_size.py"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path

CHECKOUT = Path(__file__).parent.parent.parent
sys.path[:0] = [str(CHECKOUT / "src"), str(CHECKOUT)]

from tests.sizing.generated import many_loads  # noqa: E402


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        spec = Path(folder) / "many.fitout"
        spec.write_text(many_loads(60), encoding="utf-8")
        taken = []
        for _ in range(3):
            start = time.perf_counter()
            subprocess.run(
                [sys.executable, "-m", "loomwright.cli", "size", str(spec)],
                cwd=CHECKOUT,
                check=True,
                capture_output=True,
            )
            taken.append(time.perf_counter() - start)
    print(f"size of 60 loads, whole process: {sorted(taken)[1]:.2f} s (at most 5)")


if __name__ == "__main__":
    main()
