"""Values of files that know types, kept as text and given back as they were.

Records keep what the program does not know as text. A text stays itself; anything
else is kept as its JSON, and so is a text that would read as JSON.
"""

from __future__ import annotations

import json
from typing import Any


def to_text(value: Any) -> str:
    """Return a value as text.

    Examples
    --------
    >>> to_text("gravel"), to_text(5), to_text("5")
    ('gravel', '5', '"5"')
    """
    if isinstance(value, str) and not _is_json(value):
        return value
    return json.dumps(value, ensure_ascii=False, default=str, sort_keys=False)


def from_text(text: str) -> Any:
    """Return the value that was kept as this text.

    Examples
    --------
    >>> from_text("gravel"), from_text("5"), from_text('"5"')
    ('gravel', 5, '5')
    """
    return json.loads(text) if _is_json(text) else text


def _is_json(text: str) -> bool:
    try:
        json.loads(text)
    except (ValueError, RecursionError):
        return False
    return True
