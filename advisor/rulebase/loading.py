"""The rule base of a folder: read and checked, or taken from the user's cache.

The files are read and checked once (see rulebase/reading.py); what comes out is kept as plain JSON in the user's cache folder,
under a key made of the contents of the files and of the program, so that the next start neither checks nor loads the
units library. A cache that is missing, unwritable, damaged, altered or planted changes nothing but the time: it is
signed with a key of the user that lies elsewhere, it holds nothing but data, and which formulas there are is taken
from the files alone.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import keyword
import os
import re
import stat
from pathlib import Path
from typing import TYPE_CHECKING

from advisor.ground import strangers
from advisor.ground.errors import RuleError
from advisor.ground.folders import user_folder
from advisor.ground.units import shown
from advisor.language import expression
from advisor.rulebase import reading
from advisor.rulebase.rulebook import Bound, Contradiction, Effect, Name, Rule, Rulebook, Tell

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence, Set
    from typing import Any


def load(folder: Path, *, functions: str = "advisor.formulas", cache: bool = True, overrides: Any = None) -> Rulebook:
    """The checked rule base in a folder.

    functions: package in which formulas are looked up; cache: keep and use the checked form (see the top); overrides:
    values of limits and estimates that differ, as Rulebook.constants takes them. RuleError names file, rule and reason.
    """
    folder = Path(folder)
    label = folder.resolve().name
    files = {path.name: _content(path) for path in sorted(folder.glob("*.toml"))}
    rulebook = None
    if cache:
        key = _key(files, label, functions)
        rulebook = _cached(_cache_file(functions, key), key, package=functions, formulas=_formulas(files))
    if rulebook is None:
        rulebook = reading.read(files, label=label, package=functions)
        if cache:
            save(rulebook, _cache_file(functions, key), key)
    return rulebook.revalued(overrides) if overrides else rulebook


def _content(path: Path) -> bytes:
    try:
        return strangers.content(path)
    except strangers.Unreadable as problem:
        fix = "A rule file is some pages of text. Put it right or take it out of the folder."
        raise RuleError(shown(path, 300), "", str(problem), fix) from None


def _key(files: Mapping[str, bytes], label: str, package: str) -> str:
    """What a cache is good for: these rules, read by this program, with these formulas."""
    digest = hashlib.sha256(f"{label} {package}".encode())
    for name, content in files.items():
        digest.update(f"\0{name}\0{len(content)}\0".encode())
        digest.update(content)
    program = Path(__file__).parent.parent
    for root in [program, *(folder for folder in _package_folders(package) if program not in folder.parents)]:
        for place, _, names in sorted(os.walk(root)):
            for name in sorted(names):
                if name.endswith(".py"):
                    digest.update(name.encode())
                    digest.update(Path(place, name).read_bytes())
    return digest.hexdigest()


def _package_folders(package: str) -> list[Path]:
    import importlib

    return [Path(place) for place in getattr(importlib.import_module(package), "__path__", ())]


def cache_folder(package: str) -> Path | None:
    """The folder for checked rule bases in the user's cache; None where the user has no home."""
    root = user_folder("cache")
    return root and root / f"{package}-rules"


def _cache_file(package: str, key: str) -> Path | None:
    folder = cache_folder(package)
    return folder and folder / f"{key[:32]}.json"


def _formulas(files: Mapping[str, bytes]) -> set[str]:
    """The formulas that the vocabulary names, "module.function"."""
    return set(
        re.findall(r'^formula = "([a-z0-9_.]+)"', files.get("vocabulary.toml", b"").decode("utf-8", "replace"), re.M)
    )


def _secret() -> bytes | None:
    """What this user signs caches with, 32 bytes, made when first needed; None where it cannot be kept for him alone."""
    root = user_folder("data")
    if root is None:
        return None
    path = root / "turn-radius" / "cache.key"
    try:
        if not path.exists():
            path.parent.mkdir(parents=True, exist_ok=True)
            _write_new(path, os.urandom(32))
        kept = path.lstat()
        ours = not hasattr(os, "geteuid") or (kept.st_uid == os.geteuid() and not kept.st_mode & 0o077)
        found = path.read_bytes() if stat.S_ISREG(kept.st_mode) and ours and kept.st_size == 32 else b""
    except OSError:
        return None
    return found if len(found) == 32 else None


def _write_new(path: Path, content: bytes) -> None:
    """Write a file that only this user may read, whole, or leave the one that is there."""
    beside = path.with_name(f".{path.name}.{os.urandom(8).hex()}")
    try:
        with open(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            file.write(content)
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


def save(rulebook: Rulebook, path: Path | None, key: str) -> None:
    """Keep a checked rule base in a file: key and signature, then the rules, then their examples, a line each."""
    secret = _secret() if path else None
    if path is None or secret is None:
        return
    body = json.dumps(
        [
            [name.fields() for name in rulebook.names.values()],
            [[effect.fields() for effect in rule.effects] for rule in rulebook.rules],
            [[[] if slot == "effects" else getattr(rule, slot) for slot in Rule.__slots__] for rule in rulebook.rules],
            rulebook.order,
            rulebook.methods,
            rulebook.label,
            [tell.fields() for tell in rulebook.tells.values()],
            [pair.fields() for pair in rulebook.contradictions],
            [bound.fields() for bound in rulebook.bounds],
        ],
        separators=(",", ":"),
    )
    examples = json.dumps({rule.id: rulebook.examples(rule.id) for rule in rulebook.rules}, separators=(",", ":"))
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        _write_new(path, f"{key} {_signature(secret, key, body, examples)}\n{body}\n{examples}\n".encode())
        _forget_old(path.parent)
    except OSError:
        return


def _forget_old(folder: Path, keep: int = 8) -> None:
    kept = sorted(folder.glob("*.json"), key=lambda path: path.stat().st_mtime, reverse=True)
    for path in kept[keep:]:
        path.unlink(missing_ok=True)


def _signature(secret: bytes, key: str, body: str, examples: str) -> str:
    return hmac.new(secret, f"{key}\n{body}\n{examples}".encode(), "sha256").hexdigest()


def _cached(path: Path | None, key: str, *, package: str, formulas: Set[str]) -> Rulebook | None:
    """The rule base kept in a file, or None where the file is not exactly what `save` wrote under this key.

    package: where formulas are; formulas: those that there are.
    """
    try:
        secret = _secret()
        if path is None or secret is None:
            return None
        head, body, examples, _ = path.read_text(encoding="utf-8").split("\n")
        if not hmac.compare_digest(head, f"{key} {_signature(secret, key, body, examples)}"):
            return None
        names, effects, rules, order, methods, label, tells, pairs, bounds = json.loads(body)
        names = {fields[0]: Name(*fields) for fields in names}
        rules = [Rule(*fields) for fields in rules]
        for rule, follows in zip(rules, effects, strict=True):
            rule.effects = [Effect(*fields) for fields in follows]
        for name in names.values():
            if name.holds == "list" and name.default is not None:
                name.default = tuple(name.default)
        if not _only_data(names, rules, order, formulas):
            return None
        tells, pairs = [Tell(*fields) for fields in tells], [Contradiction(*fields) for fields in pairs]
        bounds = [Bound(*fields) for fields in bounds]
        return Rulebook(names, rules, order, methods, package, label, examples, tells, pairs, bounds)
    except Exception:  # whatever is wrong with a cache, the files themselves are still there
        return None


def _only_data(names: dict[str, Name], rules: Sequence[Rule], order: Sequence[str | int], formulas: Set[str]) -> bool:
    """Whether every word that a program is written from is a name of the rule base or of one of its formulas."""
    for name in names.values():
        if not expression.NAME.fullmatch(name.name):
            return False
        if name.kind == "formula" and name.function not in formulas:
            return False
        for parameter, _ in name.arguments or ():
            if not (parameter.isidentifier() and parameter.isascii()) or keyword.iskeyword(parameter):
                return False
    if any(type(rule.number) is not int or rule.number != place for place, rule in enumerate(rules)):
        return False
    return all(
        node in names if isinstance(node, str) else type(node) is int and 0 <= node < len(rules) for node in order
    )
