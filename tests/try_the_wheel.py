"""The installed wheel does its job away from the source tree. Run by .ci/run on each Python:
WHYWIRE JOBS.
"""

import json
import subprocess
import sys
from pathlib import Path


def run(*words: str) -> tuple[int, str]:
    p = subprocess.run(words, capture_output=True, text=True, timeout=120)
    assert "Traceback" not in p.stderr, p.stderr
    return p.returncode, p.stdout + p.stderr


def main(whywire: str, jobs: str) -> None:
    kiln = str(Path(jobs) / "kiln.yaml")
    code, text = run(whywire, "inspect", kiln)
    assert code == 1 and "NOT RIGHT: 1 thing to fix." in text, text
    code, text = run(whywire, "why", kiln, "kiln")
    assert text.startswith("NO. 6 AWG NM-B is 5 A too small"), text
    code, text = run(whywire, "inspect", kiln, "--json")
    assert any(
        f["rule"] == "conductor-125-percent" and f["answer"] == "fails"
        for f in json.loads(text)["findings"]
    )
    code, text = run(whywire, "check")
    assert code == 0, text
    code, text = run(whywire, "inspect", kiln + ".not-there")
    assert code == 2 and "no such file" in text, text
    import whywire.engine.running.durable as durable

    print(
        f"Python {sys.version.split()[0]}: the wheel works; durable-rules",
        "chains too" if durable.available() else "does not import, the plain chainer serves alone",
    )


if __name__ == "__main__":
    if (
        "whywire.engine" not in sys.modules
        and Path(sys.executable).parent != Path(sys.argv[1]).parent
    ):
        raise SystemExit("run it with the Python that the wheel is installed in")
    main(*sys.argv[1:])
