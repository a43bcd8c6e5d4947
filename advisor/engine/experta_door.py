"""The one door to experta, the forward-chaining engine.

experta needs frozendict 1.2, which looks for `Mapping` where Python 3.10 took it away; experta also sets up the logging
of the whole program, and hides it when one of its parts cannot be imported. All three are put right here.
"""

from __future__ import annotations

import collections
import collections.abc
import logging
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from types import ModuleType


def _frozendict() -> None:
    """Import frozendict, with `collections.Mapping` back in its old place for just as long."""
    if hasattr(collections, "Mapping"):
        import frozendict

        return
    collections.Mapping = collections.abc.Mapping  # type: ignore[attr-defined]
    try:
        import frozendict  # noqa: F401
    finally:
        del collections.Mapping  # type: ignore[attr-defined]


def _experta() -> ModuleType:
    _frozendict()
    handlers, level = logging.root.handlers[:], logging.root.level
    try:
        import experta
    finally:
        logging.root.handlers[:] = handlers
        logging.root.setLevel(level)
    logging.getLogger("experta").setLevel(logging.WARNING)
    if not hasattr(experta, "KnowledgeEngine"):
        raise ImportError("experta is installed but one of its parts cannot be imported")
    return experta


experta = _experta()
