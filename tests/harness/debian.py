"""What suites need of the machine: installed where they run as root on a Debian. Elsewhere their tests are left out and say so, and where
CI is set they fail."""

import os
import shutil
import subprocess

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
        for words in (["update"], ["install", "--yes", "--no-install-recommends", *packages.split()]):
            done = subprocess.run(["apt-get", "--quiet", *words], env=environment, capture_output=True, text=True)
            why = f"{packages} cannot be installed: {done.stderr[-300:]}"
    if not is_there():
        give_up(why)


def npm():
    """Where npm is."""
    found = shutil.which("npm")
    return found or give_up("npm is not installed (Debian: apt-get install npm)")
