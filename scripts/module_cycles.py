#!/usr/bin/env python3
"""Finds cycles between the module files of a crate.

    scripts/module_cycles.py CRATE...          prints each cycle, exit code 1 if there is one
    scripts/module_cycles.py --graph CRATE...  prints who uses whom, and why

CRATE is the folder of a crate, such as crates/lineproof-core.

A file depends on the file that defines what it names: by `use`, or by a path in its code that starts with
`crate`, `super`, `self` or a module within reach. Names are followed through re-exports to their definition.
A parent depends on a child if it names something of it; declaring the child (`mod child;`) and handing its
names on (`pub use child::Name;`) are not enough. Test modules do not count, binaries beside `main.rs` neither.

Text is read, not types: a method called on a value of another module's type is not seen, nor what macros make.
"""

import re
import sys
from collections import defaultdict
from pathlib import Path

TOKEN = re.compile(r"[A-Za-z_][A-Za-z0-9_]*|::|[{}();,*#!=\[\]]|\S")
ITEMS = {"struct", "enum", "union", "trait", "fn", "type", "const", "static", "macro_rules"}
RAW_STRING = re.compile(r'b?r(#*)"')


def without_text(source):
    """The source with comments, strings and characters blanked, lines kept."""
    out, i, n = [], 0, len(source)

    def blank(to):
        nonlocal i
        out.append(re.sub(r"[^\n]", " ", source[i:to]))
        i = to

    while i < n:
        c = source[i]
        raw = RAW_STRING.match(source, i) if c in "br" else None
        if raw and (i == 0 or not (source[i - 1].isalnum() or source[i - 1] == "_")):
            end = source.find('"' + raw.group(1), raw.end())
            blank(n if end < 0 else end + 1 + len(raw.group(1)))
        elif source.startswith("//", i):
            end = source.find("\n", i)
            blank(n if end < 0 else end)
        elif source.startswith("/*", i):
            depth, end = 1, i + 2
            while depth and end < n:
                step = {"/*": 1, "*/": -1}.get(source[end : end + 2], 0)
                depth += step
                end += 2 if step else 1
            blank(end)
        elif c == '"':
            end = i + 1
            while end < n and source[end] != '"':
                end += 2 if source[end] == "\\" else 1
            blank(end + 1)
        elif c == "'" and (literal := re.match(r"'(\\.[^']*|[^'\\])'", source[i:])):
            blank(i + literal.end())
        else:
            out.append(c)
            i += 1
    return "".join(out)


class Module:
    """A module of one file; modules written inside of the file are read as part of it."""

    def __init__(self, path, name, parent):
        self.path, self.name, self.parent = path, name, parent
        self.children = {}
        self.defined = set()
        self.aliases = {}  # name: path it stands for
        self.globs = []
        self.named = []  # (path, line, whether the file itself uses it)

    def root(self):
        return self if self.parent is None else self.parent.root()


def tokens_of(path):
    text = without_text(path.read_text(encoding="utf-8"))
    line, at, tokens = 1, 0, []
    for found in TOKEN.finditer(text):
        line += text.count("\n", at, found.start())
        at = found.start()
        tokens.append((found.group(), line))
    return tokens


def matching(tokens, i, opening, closing):
    """Place behind the bracket that closes the one at `i`."""
    depth = 0
    while i < len(tokens):
        depth += (tokens[i][0] == opening) - (tokens[i][0] == closing)
        i += 1
        if not depth:
            return i
    return i


def item_end(tokens, i):
    """Place behind the item at `i`: behind its `;`, or behind its block."""
    while i < len(tokens):
        token = tokens[i][0]
        if token == ";":
            return i + 1
        if token == "{":
            return matching(tokens, i, "{", "}")
        if token in "([":
            i = matching(tokens, i, token, ")" if token == "(" else "]")
            continue
        i += 1
    return i


def without_tests(tokens):
    """Drops every item under `#[cfg(test)]`."""
    kept, i = [], 0
    while i < len(tokens):
        if tokens[i][0] == "#" and i + 1 < len(tokens) and tokens[i + 1][0] == "[":
            end = matching(tokens, i + 1, "[", "]")
            words = [t for t, _ in tokens[i:end]]
            if "cfg" in words and "test" in words and "not" not in words:
                while end < len(tokens) and tokens[end][0] == "#":
                    end = matching(tokens, end + 1, "[", "]")
                i = item_end(tokens, end)
                continue
            i = end
            continue
        kept.append(tokens[i])
        i += 1
    return kept


def use_tree(tokens, i, prefix, found):
    """Reads a tree of `use` from `i`; adds (path, name) to `found`; returns the place behind it."""
    path = list(prefix)
    while True:
        token = tokens[i][0]
        if token == "{":
            i += 1
            while tokens[i][0] != "}":
                i = use_tree(tokens, i, path, found)
                if tokens[i][0] == ",":
                    i += 1
            return i + 1
        path.append(token)
        i += 1
        if tokens[i][0] != "::":
            break
        i += 1
    name = path[-1]
    if name == "self":
        path.pop()
        name = path[-1]
    if tokens[i][0] == "as":
        name = tokens[i + 1][0]
        i += 2
    found.append((path, name))
    return i


def read(module):
    """Fills a module from its file and descends into the files it declares."""
    path = module.path
    tokens = without_tests(tokens_of(path))
    folder = path.parent if path.stem in ("lib", "main", "mod") else path.parent / path.stem
    i = 0
    uses, paths = [], []
    while i < len(tokens):
        token, line = tokens[i]
        following = tokens[i + 1][0] if i + 1 < len(tokens) else ""
        before = tokens[i - 1][0] if i else ""
        if token == "mod" and i + 2 < len(tokens) and tokens[i + 2][0] == ";":
            declare(module, following, folder)
            i += 3
        elif token == "use" and before != "::":
            public = before in ("pub", ")")
            start = i + 1 + (following == "::")
            trees = []
            end = use_tree(tokens, start, [], trees)
            uses += [(p, name, line, public) for p, name in trees]
            i = end
        elif token in ITEMS and before != "::":
            module.defined.add(tokens[i + 2][0] if token == "macro_rules" else following)
            i += 1
        elif token == "pub" and following == "(":
            # `pub(in path)` says who may use the item, not what the item uses
            i = matching(tokens, i + 1, "(", ")")
        elif following == "::" and before not in ("::", ".") and re.match(r"[A-Za-z_]", token):
            end, segments = i, [token]
            while end + 2 < len(tokens) and tokens[end + 1][0] == "::" and re.match(r"[A-Za-z_]", tokens[end + 2][0]):
                segments.append(tokens[end + 2][0])
                end += 2
            paths.append((segments, line))
            i = end + 1
        else:
            i += 1
    inside = {s for segments, _ in paths for s in segments[:1]} | loose_names(tokens)
    for p, name, line, public in uses:
        if name == "*":
            module.globs.append(p[:-1])
            if not public:
                module.named.append((p[:-1], line))
            continue
        module.aliases[name] = p
        if not public or name in inside:
            module.named.append((p, line))
    for segments, line in paths:
        if segments[0] not in module.aliases:
            module.named.append((segments, line))


def loose_names(tokens):
    """Every word of the file outside of `use` and `mod name;`."""
    names, i = set(), 0
    while i < len(tokens):
        if tokens[i][0] in ("use", "mod"):
            i = behind_semicolon(tokens, i) if tokens[i][0] == "use" else i + 2
            continue
        names.add(tokens[i][0])
        i += 1
    return names


def behind_semicolon(tokens, i):
    while i < len(tokens) and tokens[i][0] != ";":
        i += 1
    return i + 1


def declare(module, name, folder):
    for candidate in (folder / f"{name}.rs", folder / name / "mod.rs"):
        if candidate.exists():
            child = Module(candidate, name, module)
            module.children[name] = child
            read(child)
            return
    raise SystemExit(f"{module.path}: found no file for `mod {name};`")


def resolve(module, path, depth=0):
    """The module whose file defines what `path` names, seen from `module`; None outside of the crate."""
    if depth > 20 or not path:
        return None
    head, rest = path[0], list(path[1:])
    if head == "crate":
        return descend(module.root(), rest, depth)
    if head == "self":
        return descend(module, rest, depth)
    if head == "super":
        return descend(module.parent, rest, depth) if module.parent else None
    if head in module.children:
        return descend(module.children[head], rest, depth)
    if head in module.aliases and module.aliases[head] != path:
        return resolve(module, module.aliases[head] + rest, depth + 1)
    return None


def descend(module, path, depth):
    """Follows the rest of a path from a module."""
    if module is None or not path:
        return module
    head, rest = path[0], path[1:]
    if head == "super":
        return descend(module.parent, rest, depth)
    if head in module.children:
        return descend(module.children[head], rest, depth)
    if head in module.defined:
        return module
    if head in module.aliases:
        return resolve(module, module.aliases[head] + rest, depth + 1)
    for glob in module.globs:
        target = resolve(module, glob, depth + 1)
        if target is not None and target is not module and (head in target.defined or head in target.aliases):
            return descend(target, path, depth + 1)
    return module


def all_modules(module):
    yield module
    for child in module.children.values():
        yield from all_modules(child)


def graph_of(root):
    """For each file the files that it depends on, each with (line, path) of the first reason."""
    graph = {m: {} for m in all_modules(root)}
    for module, targets in graph.items():
        for path, line in module.named:
            target = resolve(module, path)
            if target is not None and target is not module:
                targets.setdefault(target, (line, "::".join(path)))
    return graph


def components(graph):
    """Strongly connected components of more than one file (Tarjan 1972), without recursion."""
    index, low, stack, on, found = {}, {}, [], set(), []
    for start in graph:
        if start in index:
            continue
        work = [(start, iter(graph[start]))]
        index[start] = low[start] = len(index)
        stack.append(start)
        on.add(start)
        while work:
            node, targets = work[-1]
            for target in targets:
                if target not in index:
                    index[target] = low[target] = len(index)
                    stack.append(target)
                    on.add(target)
                    work.append((target, iter(graph[target])))
                    break
                if target in on:
                    low[node] = min(low[node], index[target])
            else:
                work.pop()
                if work:
                    low[work[-1][0]] = min(low[work[-1][0]], low[node])
                if low[node] == index[node]:
                    part = []
                    while not part or part[-1] is not node:
                        part.append(stack.pop())
                        on.discard(part[-1])
                    if len(part) > 1:
                        found.append(part)
    return found


def shortest_cycle(graph, part):
    """A shortest cycle within a component."""
    inside, best = set(part), None
    for start in part:
        parent, queue = {start: None}, [start]
        while queue and (best is None or start not in best):
            node = queue.pop(0)
            if start in graph[node]:
                way = [node]
                while parent[way[-1]] is not None:
                    way.append(parent[way[-1]])
                if best is None or len(way) < len(best):
                    best = way[::-1]
                break
            for target in graph[node]:
                if target in inside and target not in parent:
                    parent[target] = node
                    queue.append(target)
    return best


def print_cycles(graph):
    parts = components(graph)
    for part in parts:
        print(f"cycle among {len(part)} files, its shortest way round:")
        way = shortest_cycle(graph, part)
        for module, target in zip(way, way[1:] + way[:1]):
            line, path = graph[module][target]
            print(f"  {module.path}:{line} uses {path} of {target.path}")
        rest = sorted(str(m.path) for m in part if m not in way)
        if rest:
            print(f"  and in the same knot: {', '.join(rest)}")
    return len(parts)


def main(arguments):
    show_graph = "--graph" in arguments
    cycles = 0
    for crate in [a for a in arguments if not a.startswith("-")]:
        roots = [p for p in (Path(crate, "src/lib.rs"), Path(crate, "src/main.rs")) if p.exists()]
        if not roots:
            raise SystemExit(f"{crate}: found neither src/lib.rs nor src/main.rs")
        for path in roots:
            root = Module(path, "crate", None)
            read(root)
            graph = graph_of(root)
            if show_graph:
                for module, targets in graph.items():
                    for target, (line, name) in targets.items():
                        print(f"{module.path}:{line} uses {name} of {target.path}")
            else:
                cycles += print_cycles(graph)
    return 1 if cycles else 0


if __name__ == "__main__":
    if len(sys.argv) < 2:
        raise SystemExit(__doc__)
    sys.exit(main(sys.argv[1:]))
