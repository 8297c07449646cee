# SPDX-License-Identifier: MIT
"""Run the benchmarks and write what they print to a page.

python tests/benchmarks/report.py reports/benchmarks.md
"""

import importlib.util
import platform
import subprocess
import sys
from importlib.metadata import version
from pathlib import Path

from goals import goal_words

HERE = Path(__file__).parent
HEAD = """# Benchmarks

Made by `make benchmarks`; every figure below was printed by the command above it, on one machine
and in one go. Seconds are that machine's; compare the ratios. No test asserts a time.
"""


def machine() -> str:
    """Processor, system and versions."""
    model = platform.processor() or platform.machine()
    info = Path("/proc/cpuinfo")
    if info.exists():
        names = [line for line in info.read_text().splitlines() if line.startswith("model name")]
        model = f"{len(names)} cores, {names[0].split(':')[1].strip()}" if names else model
    packages = ", ".join(f"{name} {version(name)}" for name in ("numpy", "scipy"))
    return f"{model}; {platform.system()}, Python {platform.python_version()}, {packages}."


def section(script: str, *arguments: str) -> str:
    """One command and what it printed."""
    run = subprocess.run(
        [sys.executable, HERE / script, *arguments], capture_output=True, text=True, check=True
    )
    command = " ".join(("python", f"tests/benchmarks/{script}", *arguments))
    printed = "\n".join(line.rstrip() for line in run.stdout.strip().splitlines())
    return f"```\n$ {command}\n{printed}\n```\n"


def page(computer: str, sections: list[str]) -> str:
    """The page: what the goals came to, the machine, and what each command printed."""
    return "\n".join([HEAD, goal_words("\n".join(sections)), "", computer, "", *sections])


def main(target: str) -> None:
    """Write the page."""
    solvers = ["superlu"]
    if importlib.util.find_spec("pypardiso") is not None:
        solvers.append("pardiso")
    parts = [section("bench_scordelis.py")]
    parts += [section("bench_growth.py", solver) for solver in solvers]
    parts.append(section("bench_check.py"))
    parts.append(section("bench_sweep.py"))
    Path(target).write_text(page(machine(), parts), encoding="utf-8")


if __name__ == "__main__":
    main(*sys.argv[1:])
