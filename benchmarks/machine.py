"""What the figures were measured on."""

import os
import platform
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

PACKAGES = ("quoter", "Babel", "Flask", "marshmallow", "orjson", "sqlite-utils", "waitress")


def machine() -> dict[str, str | int | None]:
    """Cores, processor and system."""
    return {"cores": os.cpu_count(), "processor": _processor(), "system": platform.platform()}


def python() -> str:
    """Implementation and version."""
    return f"{platform.python_implementation()} {platform.python_version()}"


def packages() -> dict[str, str]:
    """The version of each package that is installed."""
    return {name: found for name in PACKAGES if (found := _version(name))}


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return ""


def _processor() -> str:
    """Linux tells the model in a file; elsewhere Python knows what there is to know."""
    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    except OSError:
        lines = []
    models = (line.partition(":")[2].strip() for line in lines if line.startswith("model name"))
    return next(models, platform.processor())
