"""Commands as a person types them, called in this process: what is not about a process of its own
needs none.
"""

import contextlib
import io
import os
from unittest import mock

from whywire.cli.main import main


def typed(*words: object, **env: str) -> tuple[int, str, str]:
    """The exit code of `whywire WORDS`, and what is written to the two streams, which are pipes.

    *env* is added to the environment as long as the command runs.
    """
    out, err = io.StringIO(), io.StringIO()
    with (
        mock.patch.dict(os.environ, env),
        mock.patch("sys.stdin", io.StringIO()),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        try:
            code = main([str(word) for word in words])
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else 1
    assert "Traceback" not in err.getvalue(), err.getvalue()
    return code, out.getvalue(), err.getvalue()
