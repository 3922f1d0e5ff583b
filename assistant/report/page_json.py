"""Data for a page's own scripts, written so that nothing in it can end the element or be taken for markup."""

from __future__ import annotations

import json
from typing import Any

from markupsafe import Markup

_SIGNS = {"<": "\\u003c", ">": "\\u003e", "&": "\\u0026"}


def script_json(value: Any) -> Markup:
    """JSON as the content of `<script type="application/json">`: ASCII only, without <, > and &.

    Args:
        value: plain data, numbers finite.
    """
    text = json.dumps(value, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    for sign, escaped in _SIGNS.items():
        text = text.replace(sign, escaped)
    return Markup(text)
