"""JSON values as Python has them, for what is told and stored and not yet read into types."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeAlias

#: One value: None, a bool, a number, text, a list or an object. Who reads it checks it.
Json: TypeAlias = Any
#: An object that is being written, and one that is only read.
JsonObject: TypeAlias = dict[str, Json]
JsonMapping: TypeAlias = Mapping[str, Json]
