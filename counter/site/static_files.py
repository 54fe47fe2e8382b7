"""Styles, scripts, drawings and fonts: collected when the shop is served, and named by content.

A file whose name says its content can be kept by a browser for good, and a changed one is asked
for at once. Each lies beside a compressed copy.
"""

from __future__ import annotations

from django.core.management import call_command
from whitenoise.storage import CompressedManifestStaticFilesStorage


class ShopStaticFilesStorage(CompressedManifestStaticFilesStorage):
    """Names by content once the files are collected; until then each is served where it lies."""

    def stored_name(self, name: str) -> str:
        return super().stored_name(name) if self.hashed_files else name


def collect() -> None:
    """Brings the collected files to what the code holds. Called before the server looks at them."""
    call_command("collectstatic", interactive=False, verbosity=0)
