"""Any small YAML or JSON text as plain data, with the place of every value: for inputs that are no procedures."""

from __future__ import annotations

from collections.abc import Callable

from guide.problems import Place, Problems
from guide.procedure.nodes import ListNode, MapNode, Node, Scalar, Source
from guide.procedure.source import compose

Path = tuple[str | int, ...]


def read_plain(name: str, text: str) -> tuple[object, Callable[[Path], Place | None]]:
    """The data (mappings, lists and text as written) and the place of the value at a path.

    Raises `ProblemError` with every fault of the text.
    """
    problems = Problems()
    source = Source(name, text)
    root = compose(source, problems)
    problems.raise_if_any()
    places: dict[Path, Place] = {}

    def plain(node: Node | None, path: Path) -> object:
        if node is None:
            return None
        places[path] = source.place(node)
        if isinstance(node, Scalar):
            return None if node.plain and node.text in ("", "null", "~") else node.text
        if isinstance(node, ListNode):
            return [plain(item, (*path, at)) for at, item in enumerate(node.items)]
        if isinstance(node, MapNode):
            return {key.text: plain(value, (*path, key.text)) for key, value in node.pairs}
        return None

    return plain(root, ()), places.get
