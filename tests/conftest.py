"""For every test: one thread for native libraries, and hypothesis without a stopwatch."""

import os

# Before anything loads a library that reads them: on shared processors more threads are slower, not faster.
os.environ["OMP_NUM_THREADS"] = "1"
os.environ["OMP_THREAD_LIMIT"] = "1"

from hypothesis import settings

settings.register_profile("default", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "default")
