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


def compile_pins(output: Path, *extra: str) -> None:
    """Let pip-tools resolve and hash; leave out everything that names an index."""
    command = [
        sys.executable, "-m", "piptools", "compile", "--quiet", "--generate-hashes",
        "--allow-unsafe", "--strip-extras", "--no-emit-index-url", "--no-emit-find-links",
        "--no-emit-trusted-host", "--no-header", "--no-annotate",
        "--output-file", str(output.relative_to(ROOT)), *extra,
    ]  # fmt: skip
    subprocess.run(command, cwd=ROOT, check=True)


def main() -> int:
    """Write both files."""
    import tomllib

    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    groups = project["dependency-groups"]
    wanted = ROOT / "requirements" / ".dev.in"
    wanted.write_text(
        "\n".join(["-c run.txt", *groups["test"], *groups["check"], *groups["bench"]]) + "\n",
        "utf-8",
    )
    base = ROOT / "requirements" / ".run.in"
    build = [*project["build-system"]["requires"], "editables>=0.5"]
    base.write_text("\n".join([*project["project"]["dependencies"], *build]) + "\n", "utf-8")
    try:
        compile_pins(RUN, str(base.relative_to(ROOT)))
        compile_pins(DEV, str(wanted.relative_to(ROOT)))
    finally:
        wanted.unlink()
        base.unlink()
    print(f"wrote {RUN.name} and {DEV.name}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
