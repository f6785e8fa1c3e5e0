"""Steps of sweeping, raising and sending at which a test has a worker killed by SIGKILL, as a power cut would.

A test arms a step by a file of its name; the first worker that reaches it takes the file away and dies. What the
portal does is untouched: a step stands before or after a function, or amid a text on its way to the mail server.
Only worker processes put the steps in place: see tests/nursery/steps.py.
"""

from pathlib import Path

#: Where sending may end, in order.
STEPS = (
    *("rows being raised", "rows raised", "task begun", "claimed", "message written", "connected", "greeted"),
    *("sender named", "recipient named", "asked for the text", "handing over noted", "half of the text sent"),
    *("text sent", "answer read", "answer noted", "farewell said", "reminder done"),
)
DIGEST_STEPS = ("digest made", "digest claimed", "digest written", "digest done")
#: From the note that the text goes out to the note of the answer.
UNDECIDABLE_STEPS = {"handing over noted", "half of the text sent", "text sent", "answer read"}
#: Where the assessment of a part of the fleet may end.
SWEEP_STEPS = ("chunk claimed", "answers kept, not committed", "chunk assessed, not noted")
#: Where the nightly seal may end.
SEAL_STEP = "seal made, its heads not yet"
#: What dies: the process that works, or with it the worker that would start another one.
PROCESS, WORKER = "process", "worker"


def arm(folder: Path, step: str, what: str) -> None:
    """Have the first worker that reaches a step killed."""
    draft = folder / f".{step}"
    draft.write_text(what)
    draft.rename(folder / step)


def held(folder: Path, step: str) -> str | None:
    """Which row the worker had claimed when it reached a step, such as “reminder 12”; None until one has."""
    path = folder / f"{step}.reached"
    if not path.exists():
        return None
    text = path.read_text()
    path.unlink()
    return text
