"""Build the front end into the package whenever the package is built."""

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class FrontEnd(BuildHookInterface):  # type: ignore[type-arg]
    """Put the page's script, style and fonts where the wheel picks them up."""
