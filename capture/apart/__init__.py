"""Work in a process apart: what crashes, hangs or swells there takes nothing down here."""

from capture.apart.helper import Crashed, Helper, JobFailed, NoMemory, Overrun, Stopped
from capture.apart.wire import Reply, Words

__all__ = ["Crashed", "Helper", "JobFailed", "NoMemory", "Overrun", "Reply", "Stopped", "Words"]
