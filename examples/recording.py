"""What was answered, kept as the description of the API shows it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from examples.shown import cut

EVERYWHERE = "everywhere"
"""In the place of an operation, for what any of them says."""

SHORTENED = "Only the beginning of each long list and text."


@dataclass(slots=True)
class Recording:
    """Examples by name, and by operation what each status shows. Equal answers are kept once.

    `drawn_by_lot` has what is different each time and cannot be told by its form, and what is shown in its place.
    """

    values: dict[str, dict[str, Any]] = field(default_factory=dict)
    operations: dict[str, dict[str, Any]] = field(default_factory=dict)
    everywhere: dict[str, str] = field(default_factory=dict)
    problems: dict[str, str] = field(default_factory=dict)
    drawn_by_lot: dict[str, str] = field(default_factory=dict)

    def keep(
        self, operation: str, status: int, content_type: str, body: Any, name: str, *, brief: bool = False
    ) -> None:
        """An answer, under a name of its own, unless an operation has one of this name already for the status."""
        by_type = self._of(operation)["answers"].setdefault(str(status), {}).setdefault(content_type, {})
        if name not in by_type:
            by_type[name] = self._named(name, operation, body, brief)

    def keep_parameters(self, operation: str, values: Mapping[str, Any]) -> None:
        """What was asked for in path, query and headers."""
        self._of(operation)["parameters"] |= values

    def keep_problem(self, code: str, body: Any, *, status: int | None = None) -> None:
        """A problem that no single operation shows; with a status, the example of every operation that declares it."""
        self.problems[code] = name = self._named(code, "", body, False)
        if status is not None:
            self.everywhere[str(status)] = name

    def has(self, operation: str, status: int) -> bool:
        """Whether there is an example of this already."""
        return str(status) in self._of(operation)["answers"]

    def data(self) -> dict[str, Any]:
        """All of it as plain data, in an order that does not depend on that of the scenes."""
        return {
            "values": dict(sorted(self.values.items())),
            "operations": {name: self._sorted(each) for name, each in sorted(self.operations.items())},
            "everywhere": dict(sorted(self.everywhere.items())),
            "problems": dict(sorted(self.problems.items())),
        }

    def _of(self, operation: str) -> dict[str, Any]:
        return self.operations.setdefault(operation, {"parameters": {}, "answers": {}})

    @staticmethod
    def _sorted(kept: Mapping[str, Any]) -> dict[str, Any]:
        return {"parameters": kept["parameters"], "answers": dict(sorted(kept["answers"].items()))}

    def _named(self, name: str, operation: str, body: Any, brief: bool) -> str:
        """The name of a component that says this: a short one, or one that names the first operation to say it."""
        value = cut(body, brief=brief)
        example = {"description": SHORTENED, "value": value} if value != body else {"value": value}
        said = (each for each, kept in self.values.items() if each.partition(".")[0] == name and kept == example)
        found = next(said, name if name not in self.values else f"{name}.{operation or EVERYWHERE}")
        if self.values.setdefault(found, example) != example:
            raise ValueError(f"{operation} has two examples that are named {name}")
        return found
