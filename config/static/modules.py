"""Joins ES modules into one script, in the order in which a browser runs them.

Each module becomes a function that runs once and hands back what others import, so that equal
names in two modules never meet. The product's modules keep to a part of the language that this
carries over word for word; whatever else a module asks for is refused, never guessed at.
"""

import posixpath
import re
from collections.abc import Container, Iterator, Mapping
from dataclasses import dataclass, field

NAME = r"[A-Za-z_$][\w$]*"
IMPORT = re.compile(r'^import\s*\{([^{}]*)\}\s*from\s*"([^"\n]+)";', re.MULTILINE)
EXPORT_LIST = re.compile(r'^export\s*\{([^{}]*)\}(?:\s*from\s*"([^"\n]+)")?;', re.MULTILINE)
FROM = re.compile(rf"{IMPORT.pattern}|{EXPORT_LIST.pattern}", re.MULTILINE)
EXPORTED = re.compile(
    rf"^export\s+(?=(?:const\s+|class\s+|(?:async\s+)?function(?:\s+|\s*\*\s*))({NAME}))",
    re.MULTILINE,
)
WORD = re.compile(NAME)
PAIR = re.compile(rf"({NAME})(?:\s+as\s+({NAME}))?")
LEFT_OVER = re.compile(r"^[ \t]*(?:import|export)\b(?!\s*:).*", re.MULTILINE)
MORE = re.compile(r"\bimport\s*[(.]")
PREFIX = "$from"


class ModuleError(ValueError):
    """A module that cannot be joined or made small; the message names the file and what to do."""


@dataclass
class Module:
    """One module, taken apart.

    ``imports`` maps a name in ``body`` to (other module, its name there). ``exports`` maps a name
    to the name in ``body``, or to such a pair for what is handed on from another module.
    """

    name: str
    body: str = ""
    imports: dict[str, tuple[str, str]] = field(default_factory=dict)
    exports: dict[str, str | tuple[str, str]] = field(default_factory=dict)

    def wants(self) -> Iterator[tuple[str, str]]:
        yield from self.imports.values()
        yield from (each for each in self.exports.values() if isinstance(each, tuple))


def join(entry: str, sources: Mapping[str, str]) -> str:
    """Return one module that does what ``entry`` and all that it imports do.

    ``sources`` maps names such as ``site/app.js`` to source text. Raises ModuleError for a cycle,
    an import that no module answers, and each form of import or export but
    ``import { a, b as c } from "./x.js";``, ``export { a, b as c };``, the same with ``from``, and
    ``export`` before a const, a function or a class.
    """
    order = in_order(entry, sources)
    modules = {name: taken_apart(name, sources[name], sources) for name in order}
    wanted: dict[str, list[str]] = {name: [] for name in order}
    for module in modules.values():
        for other, name in module.wants():
            if name not in modules[other].exports:
                raise ModuleError(f"{module.name}: {other} exports no {name}.")
            if name not in wanted[other]:
                wanted[other].append(name)

    names = _outer_names(modules, wanted)
    parts = []
    for module in modules.values():
        taken = [
            f"const {inner} = {names[pair]};\n"
            for inner, pair in module.imports.items()
            if inner != names[pair]
        ]
        outer = [names[module.name, name] for name in wanted[module.name]]
        exports = [module.exports[name] for name in wanted[module.name]]
        inside = [each if isinstance(each, str) else names[each] for each in exports]
        function = f"{''.join(taken)}{module.body}\nreturn [{', '.join(inside)}];"
        parts.append(f"const [{', '.join(outer)}] = (() => {{\n{function}\n}})();\n")
    return f"(() => {{\n{''.join(parts)}}})();\n"


def in_order(entry: str, sources: Mapping[str, str]) -> list[str]:
    """Return the names of all modules that ``entry`` needs, each after those that it imports."""
    order: list[str] = []
    _visit(entry, sources, order, ())
    return order


def loads_more(script: str) -> bool:
    """Say whether a script without comments loads modules as it runs, or asks where it lies."""
    return MORE.search(script) is not None


def taken_apart(name: str, source: str, names: Container[str]) -> Module:
    """Return the module without its imports and exports, and these; raises ModuleError."""
    if PREFIX in source:
        raise ModuleError(f"{name}: names with {PREFIX} are kept for joining. Choose another.")
    module = Module(name)
    for match in IMPORT.finditer(source):
        other = _resolved(name, match[2], names)
        module.imports |= {inner: (other, outer) for outer, inner in _pairs(name, match[1])}
    for match in EXPORT_LIST.finditer(source):
        for inner, outer in _pairs(name, match[1]):
            if re.search(rf"^(?:let|var)\s+{re.escape(inner)}\b", source, re.MULTILINE):
                raise ModuleError(f"{name}: {inner} changes. Export a function that returns it.")
            handed_on = match[2] and (_resolved(name, match[2], names), inner)
            module.exports[outer] = handed_on or inner
    module.exports |= {match[1]: match[1] for match in EXPORTED.finditer(source)}
    module.body = EXPORTED.sub("", FROM.sub("", source))
    if found := LEFT_OVER.search(module.body):
        raise ModuleError(
            f"{name}: this cannot be joined: {found[0].strip()!r}. "
            "Import and export by name, at the start of a line."
        )
    return module


def _outer_names(
    modules: Mapping[str, Module], wanted: Mapping[str, list[str]]
) -> dict[tuple[str, str], str]:
    """Name what is exported: (module, name there) -> the name outside of all modules.

    Its own name saves a second one wherever it is imported. It is kept only where no module that
    does not import it has that word at all, be it a name of its own or of the browser.
    """
    words = {module.name: set(WORD.findall(module.body)) for module in modules.values()}
    names: dict[tuple[str, str], str] = {}
    for number, module in enumerate(modules.values()):
        for name in wanted[module.name]:
            pair = (module.name, name)
            strangers = [
                other
                for other in modules.values()
                if other.imports.get(name) != pair
                and not (other is module and module.exports[name] == name)
            ]
            mistaken = any(name in words[each.name] or name in each.imports for each in strangers)
            free = not mistaken and name not in names.values()
            names[pair] = name if free else f"{PREFIX}{number}${name}"
    return names


def _visit(
    name: str, sources: Mapping[str, str], order: list[str], on_the_way: tuple[str, ...]
) -> None:
    if name in on_the_way:
        cycle = " -> ".join((*on_the_way[on_the_way.index(name) :], name))
        raise ModuleError(f"{cycle}: modules import each other in a circle. Break it.")
    if name in order:
        return
    for match in FROM.finditer(sources[name]):
        path = match[2] or match[4]
        if path:
            _visit(_resolved(name, path, sources), sources, order, (*on_the_way, name))
    order.append(name)


def _resolved(name: str, path: str, names: Container[str]) -> str:
    found = posixpath.normpath(posixpath.join(posixpath.dirname(name), path))
    if not path.startswith(("./", "../")) or found not in names:
        raise ModuleError(f'{name}: there is no module "{path}". Import by a relative path.')
    return found


def _pairs(name: str, text: str) -> Iterator[tuple[str, str]]:
    """Yield (name before ``as``, name after it) of each entry between the braces."""
    for part in filter(None, (each.strip() for each in text.split(","))):
        match = PAIR.fullmatch(part)
        if not match:
            raise ModuleError(f"{name}: this cannot be joined: {part!r}. Write: name as other.")
        yield match[1], match[2] or match[1]
