"""What can be asked of a served book, read off the signatures of the store's interface.

Adding an operation to :class:`logbook.store.interface.Store` is all it takes for it to be asked,
carried and answered: there is no second list.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, get_type_hints

from logbook.store.interface import Store
from logbook.store.served.pending import PendingPuts
from logbook.store.served.wire import from_bytes, to_bytes

OF_ONE_PROCESS = frozenset({"close"})
"""What every store does for itself."""


@dataclass(frozen=True, slots=True)
class Operation:
    """One operation: its name, its arguments and its answer, each with its type.

    Callbacks are no part of it, since they cannot travel.
    """

    method: Callable[..., Any]
    signature: inspect.Signature
    arguments: Mapping[str, Any]
    answer: Any

    def asked(self, *positional: object, **named: object) -> bytes:
        """The arguments of a call, but for callbacks, as bytes.

        Raises
        ------
        TypeError
            These are not the arguments of this operation.
        """
        given = self.signature.bind(None, *positional, **named).arguments
        return to_bytes({name: given[name] for name in given if name in self.arguments})

    def answered(self, by: object, asked: bytes) -> bytes:
        """The answer of an object that has the operation to such arguments, as bytes."""
        arguments = from_bytes(asked, self.arguments)
        return to_bytes({"answer": getattr(by, self.method.__name__)(**arguments)})

    def read(self, answer: bytes) -> Any:
        """The answer in such bytes.

        Raises
        ------
        StoreError
            They hold something else.
        """
        return from_bytes(answer, {"answer": self.answer})["answer"]


def _operations_of(owner: type, names: Iterable[str]) -> dict[str, Operation]:
    found = {}
    for name in sorted(names):
        method = getattr(owner, name)
        types = get_type_hints(method)
        answer = types.pop("return")
        signature = inspect.signature(method)
        travel = {each: kind for each, kind in types.items() if "Callable" not in repr(kind)}
        found[name] = Operation(method, signature, travel, answer)
    return found


STORE_OPERATIONS = _operations_of(Store, Store.__abstractmethods__ - OF_ONE_PROCESS)
PENDING_OPERATIONS = _operations_of(PendingPuts, ("put_pending", "settle"))
