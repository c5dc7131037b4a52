"""What suites need of the machine: installed where they run as root on a Debian. Elsewhere their tests are left out and say so, and where
CI is set they fail."""

import fcntl
import os
import pathlib
import shutil
import subprocess
import tempfile

import pytest


def give_up(why):
    if os.environ.get("CI"):
        pytest.fail(why)
    pytest.skip(why)


def ensure(packages, is_there):
    """Installs packages of Debian, unless what they bring is there."""
    if is_there():
        return
    why = f"{packages} is not installed (Debian: apt-get install --no-install-recommends {packages})"
    if shutil.which("apt-get") and os.geteuid() == 0:
        environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
        # Suites run at the same time, and apt-get refuses to run beside another.
        with (pathlib.Path(tempfile.gettempdir()) / "drysheath-packages.lock").open("w") as turn:
            fcntl.flock(turn, fcntl.LOCK_EX)
            for words in (["update"], ["install", "--yes", "--no-install-recommends", *packages.split()]):
                command = ["apt-get", "--quiet", "-o", "DPkg::Lock::Timeout=900", *words]
                done = subprocess.run(command, env=environment, capture_output=True, text=True)
                why = f"{packages} cannot be installed: {done.stderr[-300:]}"
    if not is_there():
        give_up(why)


def npm():
    """Where npm is."""
    found = shutil.which("npm")
    return found or give_up("npm is not installed (Debian: apt-get install npm)")
