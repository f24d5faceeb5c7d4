"""Pin the exact tested set of packages, with hashes and without any index address.

Usage: make lock
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
RUN = ROOT / "requirements" / "run.txt"
DEV = ROOT / "requirements" / "dev.txt"
PYBAMM = ROOT / "requirements" / "pybamm.txt"


def compile_pins(output: Path, *lines: str) -> None:
    """Let pip-tools resolve and hash these lines; leave out everything that names an index."""
    wanted = output.parent / f".{output.stem}.in"
    wanted.write_text("\n".join(lines) + "\n", "utf-8")
    command = [
        sys.executable, "-m", "piptools", "compile", "--quiet", "--generate-hashes",
        "--allow-unsafe", "--strip-extras", "--no-emit-index-url", "--no-emit-find-links",
        "--no-emit-trusted-host", "--no-header", "--no-annotate",
        "--output-file", str(output.relative_to(ROOT)), str(wanted.relative_to(ROOT)),
    ]  # fmt: skip
    try:
        subprocess.run(command, cwd=ROOT, check=True)
    finally:
        wanted.unlink()


def main() -> int:
    """Write all three files; each keeps to the versions of those before it."""
    import tomllib

    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    groups = project["dependency-groups"]
    build = [*project["build-system"]["requires"], "editables>=0.5"]
    compile_pins(RUN, *project["project"]["dependencies"], *build)
    compile_pins(DEV, "-c run.txt", *groups["test"], *groups["check"], *groups["bench"])
    compile_pins(PYBAMM, "-c run.txt", "-c dev.txt", *groups["pybamm"])
    print(f"wrote {RUN.name}, {DEV.name} and {PYBAMM.name}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
