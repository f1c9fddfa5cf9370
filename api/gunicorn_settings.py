"""Settings for gunicorn: `gunicorn -c python:api.gunicorn_settings`; options on its command line go before these.

Processes share nothing but the database, the counts for the metrics and, for a short while, the pages
that answered forms.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from typing import Any

from api.upkeep.shared import ANSWERED, SHARED

wsgi_app = "api.wsgi:create()"
worker_class = "gthread"
threads = 4
workers = int(os.environ.get("WEB_CONCURRENCY") or os.cpu_count() or 1)
# A season of many kits may take its two minutes.
timeout = 180
# Processes are what uses the cores; threads of the arithmetic under them would only get in each other's way.
for _library in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(_library, "1")
# The counts are made where all processes find them, and before any of them counts.
_made = None if os.environ.get(SHARED) else tempfile.mkdtemp(prefix="themekit-counts-")
if _made:
    os.environ[SHARED] = _made
# Nobody else may read them: they hold what was typed.
_answered = None if os.environ.get(ANSWERED) else tempfile.mkdtemp(prefix="themekit-answered-")
if _answered:
    os.environ[ANSWERED] = _answered


def child_exit(server: Any, worker: Any) -> None:
    """Forget what a process that has ended had under way."""
    from prometheus_client import multiprocess

    multiprocess.mark_process_dead(worker.pid)


def on_exit(server: Any) -> None:
    """Take the folders away again."""
    for folder in (_made, _answered):
        if folder:
            shutil.rmtree(folder, ignore_errors=True)
