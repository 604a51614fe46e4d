"""The cited tables beside the rules, each read once."""

import json
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

TABLES = Path(__file__).parent / "tables"


@cache
def read_toml(name: str) -> dict[str, Any]:
    """Return a TOML table by its name without the ending.

    >>> read_toml("formulations")["source"]
    'CROPLIFE-TM2'
    """
    return tomllib.loads((TABLES / f"{name}.toml").read_text(encoding="utf-8"))


@cache
def read_json(name: str) -> Any:
    """Return a JSON table by its name without the ending.

    >>> read_json("rulesets")["rulesets"][0]["code"]
    'US-RUP'
    """
    return json.loads((TABLES / f"{name}.json").read_text(encoding="utf-8"))
