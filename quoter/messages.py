"""Words to be chosen later: what a program part says before anyone knows in which language."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

NOT_SAID = ""
"""The text of a message that nobody will read."""

_NOTHING: Mapping[str, str] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Message:
    """An English template, which is also the key of its translations, and what fills its {places}."""

    text: str
    parameters: Mapping[str, str] = field(default_factory=lambda: _NOTHING)
