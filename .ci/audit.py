"""Asks a public list of known faults about every package that is installed (make audit).

0: none is known; 1: some are, and are named; 2: the list could not be asked about most of them.
"""

import json
import subprocess
import sys

COMMAND = [sys.executable, "-m", "pip_audit", "--progress-spinner", "off", "--skip-editable", "--format", "json"]


def main() -> int:
    """Runs the audit and sums it up in a few lines."""
    done = subprocess.run(COMMAND, capture_output=True, text=True)
    try:
        packages = json.loads(done.stdout)["dependencies"]
    except ValueError:
        print(f"The list of known faults cannot be asked: {done.stderr.strip().splitlines()[-1:]}", file=sys.stderr)
        return 2
    faults = [(each, fault) for each in packages for fault in each.get("vulns", ())]
    for each, fault in faults:
        better = ", ".join(fault["fix_versions"]) or "none yet"
        print(f"{each['name']} {each['version']}: {fault['id']}; mended in: {better}", file=sys.stderr)
    unknown = [each["name"] for each in packages if "skip_reason" in each]
    print(f"{len(packages) - len(unknown)} of {len(packages)} packages were looked up; {len(faults)} known faults.")
    if faults:
        return 1
    return 2 if len(unknown) * 2 > len(packages) else 0


if __name__ == "__main__":
    sys.exit(main())
