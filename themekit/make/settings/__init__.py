"""Settings of a kit: every default that the baker can change, with its range and source."""

from __future__ import annotations

from themekit.make.settings.base import Rule
from themekit.make.settings.every import GROUPS, Settings, checked, rules

__all__ = ["GROUPS", "Rule", "Settings", "checked", "rules"]
