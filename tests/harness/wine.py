"""A Windows to try programs in: `python3 tests/harness/wine.py FOLDER` prepares one, which WINEPREFIX then names."""

import os
import pathlib
import subprocess
import sys

MISSING = """\
#include <windows.h>
BOOLEAN NTAPI SystemFunction036(PVOID bytes, ULONG count);
__declspec(dllexport) BOOL WINAPI ProcessPrng(PBYTE bytes, SIZE_T count) { return SystemFunction036(bytes, (ULONG)count); }
"""
"""Each program of Rust asks a library for random numbers that Wine 8, which Debian 12 has, comes without. This asks the older one."""


def prepare(folder):
    """Makes a Windows in a folder, and gives the environment in which Wine uses it."""
    environment = {**os.environ, "WINEPREFIX": str(folder), "WINEDEBUG": "-all"}
    subprocess.run(["wine", "wineboot", "--init"], env=environment, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    library = pathlib.Path(folder) / "drive_c/windows/system32/bcryptprimitives.dll"
    if not library.exists():
        compiler = ["x86_64-w64-mingw32-gcc", "-shared", "-O2", "-x", "c", "-", "-o", str(library), "-ladvapi32"]
        subprocess.run(compiler, input=MISSING, text=True, check=True)
    return environment


if __name__ == "__main__":
    prepare(pathlib.Path(sys.argv[1]).resolve())
