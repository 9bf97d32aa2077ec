"""What some work takes of the processor, whatever else the machine has to do."""

from __future__ import annotations

import gc
import time
from collections.abc import Callable


def seconds(work: Callable[[], object]) -> float:
    """Seconds of the processor, without any for garbage, which depends on all that is in memory."""
    gc.disable()
    try:
        start = time.process_time()
        work()
        return time.process_time() - start
    finally:
        gc.enable()
