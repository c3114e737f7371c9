"""LibreOffice without a window: converts a file and recalculates it while it is at it."""

import subprocess
from dataclasses import dataclass
from pathlib import Path
from shutil import which

PATIENCE = 600
"""Seconds."""

_ALWAYS_RECALCULATE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>
"""


class NoOffice(Exception):
    """LibreOffice is not there, or does not do what it is asked for."""


@dataclass(frozen=True, slots=True)
class Office:
    """An installed LibreOffice with a profile of its own, so that it leaves a running one alone."""

    program: str
    profile: Path

    def version(self) -> str:
        """What it calls itself."""
        return self._run("--version").strip()

    def convert(self, source: Path, kind: str) -> Path:
        """Writes the first sheet beside the source as a file of another kind, such as csv."""
        self._run("--headless", "--convert-to", kind, "--outdir", str(source.parent), str(source))
        target = source.with_suffix(f".{kind}")
        if not target.exists():
            raise NoOffice(f"LibreOffice wrote no {target.name}")
        return target

    def _run(self, *arguments: str) -> str:
        command = [self.program, f"-env:UserInstallation={self.profile.as_uri()}", *arguments]
        try:
            done = subprocess.run(command, capture_output=True, text=True, check=True, timeout=PATIENCE)
        except (OSError, subprocess.SubprocessError) as error:
            raise NoOffice(f"LibreOffice failed: {error}") from error
        return done.stdout


def office_here(folder: Path) -> Office:
    """The installed LibreOffice with a new profile below `folder`. Raises NoOffice."""
    program = which("soffice") or which("libreoffice")
    if program is None:
        raise NoOffice("LibreOffice is not installed (no soffice in PATH)")
    settings = folder / "profile" / "user" / "registrymodifications.xcu"
    settings.parent.mkdir(parents=True)
    settings.write_text(_ALWAYS_RECALCULATE, encoding="utf-8")
    return Office(program, folder / "profile")
