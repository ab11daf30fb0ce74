"""Hold the house rules that ordinary linters cannot see.

    python tools/house_check.py src/pennyweight

Lengths count code only: no docstrings, comments or blank lines. The arithmetic rooms
carry further rules: units in the docstrings, and nothing done to the outside world.
"""

import ast
import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

FUNCTION_LINES = 60
FILE_LINES = 400
ARGUMENTS = 7
POSITIONAL = 3
NESTING = 3
ARITHMETIC_ROOMS = {
    "highwater",
    "nextdig",
    "records",
    "sampling",
    "spread",
    "streaks",
    "terrain",
    "units",
    "upstream",
    "valley",
    "worth",
}
EMPTY_WORDS = {
    "common",
    "do",
    "foo",
    "handler",
    "helper",
    "helpers",
    "info",
    "manager",
    "misc",
    "my",
    "obj",
    "processor",
    "stuff",
    "temp",
    "tmp",
    "util",
    "utils",
}
ACTS_OUTSIDE = {"print", "open", "input", "np.random.default_rng", "np.random.seed"}
NUMERIC_TYPE = re.compile(r":.*\b(float|int|array|array_like|ndarray|FloatArray)\b")
UNIT = re.compile(r"\[(-|[^\]\s]{1,14}( [^\]\s]{1,10}){0,2})\]")
WORD = re.compile(r"[A-Z]?[a-z]+|[A-Z]+(?![a-z])")

Function = ast.FunctionDef | ast.AsyncFunctionDef
Documented = ast.Module | ast.ClassDef | Function
Branch = ast.If | ast.For | ast.AsyncFor | ast.While | ast.Try | ast.Match


@dataclass(frozen=True)
class Breach:
    """One place where the house is not in order."""

    line: int
    rule: str
    text: str


@dataclass(frozen=True)
class SourceFile:
    """One Python file with what the rules need to know about it."""

    text: str
    inside: Path
    """Path below the package, such as sampling/grade.py."""

    @cached_property
    def tree(self) -> ast.Module:
        """The parsed file."""
        return ast.parse(self.text)

    @property
    def arithmetic(self) -> bool:
        """Whether the file belongs to a room that only computes."""
        return self.inside.parts[0].removesuffix(".py") in ARITHMETIC_ROOMS

    @cached_property
    def code(self) -> list[int]:
        """Numbers of the lines that hold code."""
        prose: set[int] = set()
        for node in ast.walk(self.tree):
            match node:
                case ast.Expr(value=ast.Constant(value=str())):
                    prose.update(range(node.lineno, (node.end_lineno or 0) + 1))
        lines = enumerate((line.strip() for line in self.text.splitlines()), 1)
        return [n for n, line in lines if line and line[0] != "#" and n not in prose]

    @cached_property
    def public(self) -> set[Function]:
        """The functions other files may call: no underscore, not inside another."""
        functions = [node for node in ast.walk(self.tree) if isinstance(node, Function)]
        inner = {
            node for outer in functions for node in ast.walk(outer) if node is not outer
        }
        named = {node for node in functions if not node.name.startswith("_")}
        return named - inner

    def code_between(self, first: int, last: int) -> int:
        """Count the lines from first to last that hold code."""
        return sum(first <= line <= last for line in self.code)


def file_breaches(source: SourceFile) -> Iterator[Breach]:
    """Yield what is wrong with the file as a whole."""
    if (count := len(source.code)) > FILE_LINES:
        yield Breach(1, "file-length", f"{count} code lines; at most {FILE_LINES}")
    yield from empty_words(source.inside.stem, 1)
    is_room = source.inside.name == "__init__.py" and len(source.inside.parts) > 1
    if is_room and source.code:
        text = "the __init__ of a room is one docstring and nothing else"
        yield Breach(source.code[0], "room", text)


def empty_words(name: str, line: int) -> Iterator[Breach]:
    """Yield each word of a name that could name anything."""
    for word in WORD.findall(name):
        if word.lower() in EMPTY_WORDS:
            yield Breach(line, "empty-word", f"{name}: '{word}' says nothing")


def function_breaches(node: Function, source: SourceFile) -> Iterator[Breach]:
    """Yield what is wrong with one function's size, arguments and names."""

    def breach(rule: str, text: str) -> Breach:
        return Breach(node.lineno, rule, f"{node.name}: {text}")

    count = source.code_between(node.lineno, node.end_lineno or node.lineno)
    if count > FUNCTION_LINES:
        yield breach("function-length", f"{count} code lines; at most {FUNCTION_LINES}")
    positional = positional_names(node)
    count = len(positional) + len(node.args.kwonlyargs)
    if count > ARGUMENTS:
        yield breach("arguments", f"{count} arguments; at most {ARGUMENTS}")
    if node in source.public and len(positional) > POSITIONAL:
        yield breach("keyword-only", f"put '*' after '{positional[POSITIONAL - 1]}'")
    if (depth := nesting(node)) > NESTING:
        yield breach("nesting", f"{depth} levels deep; at most {NESTING}")
    if node in source.public and not ast.get_docstring(node):
        yield breach("docstring", "has none")


def positional_names(node: Function) -> list[str]:
    """Return the arguments that may be given by place, without self and cls."""
    names = [argument.arg for argument in node.args.posonlyargs + node.args.args]
    return names[1:] if names[:1] in (["self"], ["cls"]) else names


def nesting(node: ast.AST, depth: int = 0) -> int:
    """Return how many branches and loops stand inside one another; elif adds none."""
    deepest = depth
    for child in ast.iter_child_nodes(node):
        if isinstance(child, Function | ast.ClassDef | ast.Lambda):
            continue
        follows_else = isinstance(node, ast.If) and [child] == node.orelse
        deeper = isinstance(child, Branch) and not follows_else
        deepest = max(deepest, nesting(child, depth + deeper))
    return deepest


def docstring_breaches(node: Function, source: SourceFile) -> Iterator[Breach]:
    """Yield what an arithmetic function's docstring leaves out."""
    text = ast.get_docstring(node) or ""
    arguments = [*positional_names(node), *node.args.kwonlyargs]
    if not (text and arguments and node in source.public):
        return
    sections = docstring_sections(text)
    gives_back = node.returns is None or ast.unparse(node.returns) != "None"
    for title in ["Parameters", *(["Returns"] if gives_back else [])]:
        if title not in sections and not (title == "Returns" and "Yields" in sections):
            yield Breach(node.lineno, "docstring", f"{node.name}: no {title} section")
    for entry in re.split(r"\n(?=\S)", sections.get("Parameters", "")):
        heading = entry.split("\n", 1)[0].strip()
        if NUMERIC_TYPE.search(heading) and not UNIT.search(entry):
            lacks = f"{node.name}: no unit in brackets for '{heading}'"
            yield Breach(node.lineno, "unit", lacks)


def docstring_sections(text: str) -> dict[str, str]:
    """Return the text of each numpydoc section under its title."""
    parts = re.split(r"^([A-Z][A-Za-z ]+)\n-{3,}\n", text, flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def raise_breaches(node: ast.Raise) -> Iterator[Breach]:
    """Yield an error whose text cannot hold the value that is wrong."""
    if not (isinstance(node.exc, ast.Call) and node.exc.args):
        return
    parts = ast.walk(node.exc.args[0])
    if not any(isinstance(part, ast.JoinedStr | ast.Name) for part in parts):
        shown = ast.unparse(node.exc)[:60]
        yield Breach(node.lineno, "error-value", f"shows no offending value: {shown}")


def breaches(source: SourceFile) -> Iterator[Breach]:
    """Yield everything that is wrong with one file."""
    yield from file_breaches(source)
    for node in ast.walk(source.tree):
        if isinstance(node, Function | ast.ClassDef):
            yield from empty_words(node.name, node.lineno)
        if isinstance(node, Function):
            yield from function_breaches(node, source)
        if isinstance(node, Function) and source.arithmetic:
            yield from docstring_breaches(node, source)
        if isinstance(node, ast.Raise):
            yield from raise_breaches(node)
        if isinstance(node, ast.Call) and source.arithmetic:
            name = ast.unparse(node.func)
            if name in ACTS_OUTSIDE:
                yield Breach(
                    node.lineno, "side-effect", f"{name}() in a room that only computes"
                )


def main(words: list[str]) -> int:
    """Print every breach below the package folder; return 1 where there is one."""
    package = Path(words[0])
    count = 0
    for path in sorted(package.rglob("*.py")):
        source = SourceFile(path.read_text(encoding="utf-8"), path.relative_to(package))
        for breach in breaches(source):
            print(f"{path}:{breach.line}: {breach.rule}: {breach.text}")
            count += 1
    print(f"{count} house rules broken" if count else "the house is in order")
    return 1 if count else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
