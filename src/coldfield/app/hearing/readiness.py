"""Whether the compiled loops behind quick answers are ready; they are compiled in the background."""

from __future__ import annotations

import logging
import multiprocessing
import os
import threading
from collections.abc import Callable
from contextlib import suppress
from multiprocessing.context import SpawnProcess

from coldfield.app.jobs.ending import end_with_parent

log = logging.getLogger("coldfield.web")


class Readiness:
    """Compiles once in a separate process, and then loads the result.

    Parameters
    ----------
    prepare : callable
        Takes no arguments and uses every loop once. It runs first in the other process, which leaves the
        machine code on disk, and then here, where it only loads it. The service can answer meanwhile.
    compiled : callable
        Returns whether the machine code is on disk already; the other process is then skipped.
    compiling : callable, optional
        Called before the other process is started.

    Notes
    -----
    Compiling takes about 4 s of one core after an installation, loading a few tenths of a second.
    """

    def __init__(
        self,
        prepare: Callable[[], None],
        compiled: Callable[[], bool],
        compiling: Callable[[], None] = lambda: None,
    ) -> None:
        self._prepare = prepare
        self._compiled = compiled
        self._compiling = compiling
        self._done = threading.Event()
        self._worker: SpawnProcess | None = None
        self._closed = False

    @property
    def ready(self) -> bool:
        """Return whether the loops can be used without waiting."""
        return self._done.is_set()

    def start(self) -> None:
        """Prepare in the background."""
        threading.Thread(target=self._run, name="prepare", daemon=True).start()

    def close(self) -> None:
        """Stop preparing, because the service stops."""
        self._closed = True
        worker = self._worker
        if worker is not None and worker.is_alive():
            worker.kill()
            worker.join(timeout=5)

    def wait(self, seconds: float) -> bool:
        """Wait until ready, at most this long; return whether it is ready."""
        return self._done.wait(seconds)

    def _run(self) -> None:
        try:
            if not self._compiled():
                self._compiling()
                self._worker = multiprocessing.get_context("spawn").Process(
                    target=_compile, args=(self._prepare,), daemon=True
                )
                self._worker.start()
                self._worker.join()
            if not self._closed:
                self._prepare()
        except Exception as error:
            # The first request then compiles and meets the same error, and can report it.
            log.warning("preparing failed: %s", type(error).__name__)
        finally:
            self._done.set()


def _compile(prepare: Callable[[], None]) -> None:
    end_with_parent()
    with suppress(OSError):
        # Lower priority than the workers, because somebody waits for those.
        os.nice(15)
    prepare()


def prepare_hearing() -> None:
    """Use everything once that the Hearing part of a drill needs: map, flux line, weakest receiver."""
    from coldfield.app.demo.demo import demo_drill
    from coldfield.app.hearing.flux_lines import flux_lines_from
    from coldfield.app.hearing.map import hearing_map_bytes

    drill = demo_drill()
    hearing_map_bytes(drill, lines=20)
    flux_lines_from(drill, drill.burials[0].position_m)
    flux_lines_from(drill, (drill.burials[0].position_m[0], drill.burials[0].position_m[1] + 15.0))


def hearing_compiled() -> bool:
    """Return whether the slowest loop of the map is compiled."""
    from coldfield.beacon.hearing_rows import fill_grid
    from coldfield.compiled_place import is_kept

    return is_kept(fill_grid)
