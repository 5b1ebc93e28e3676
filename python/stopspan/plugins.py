"""Where exporters come from: the package's own folder, folders of STOPSPAN_EXPORTERS, the entry-point group
``stopspan.exporters``, and what a program adds by ``load_exporters`` and ``add_exporter``. One that cannot be used is
skipped, with a warning that names it.
"""

import os
import threading
import warnings
from collections.abc import Sequence
from importlib.metadata import entry_points
from typing import Protocol

from . import _core

FOLDERS = "STOPSPAN_EXPORTERS"  # environment variable: folders of shared libraries, separated as PATH is
GROUP = "stopspan.exporters"


class ByteStream(Protocol):
    """What an exporter writes to."""

    def write(self, data: bytes, /) -> object: ...


class Exporter(Protocol):
    """An exporter in Python. Stateless: the same drawing gives the same bytes."""

    @property
    def name(self) -> str:
        """What the format is called by: small letters, digits and '-'."""

    @property
    def suffixes(self) -> Sequence[str]:
        """File suffixes that mean this format, without the point; none: by its name only."""

    def write(self, drawing: _core.Drawing, out: ByteStream) -> object: ...


_lock = threading.RLock()  # waits without holding the interpreter
_begun = _done = False


def load_once() -> None:
    """Loads what is there when formats are first asked for."""
    global _begun, _done
    if _done:
        return
    with _lock:  # other threads wait until all is there; a plugin that asks for formats while it is loaded does not
        if _begun:
            return
        _begun = True
        try:
            _load_folders()
            _load_entry_points()
        finally:
            _done = True


def _load_folders() -> None:
    package = os.path.join(os.path.dirname(_core.__file__), "exporters")
    if os.path.isdir(package):
        _core.load_exporters(package)
    for folder in filter(None, os.environ.get(FOLDERS, "").split(os.pathsep)):
        _core.load_exporters(folder)


def _load_entry_points() -> None:
    for point in sorted(entry_points(group=GROUP), key=lambda point: point.name):
        try:
            found = point.load()
            _core.add_exporter(found() if isinstance(found, type) else found)
        except Exception as error:  # whatever somebody else's package does
            why = f"exporter '{point.name}' ({point.value}): skipped: {type(error).__name__}: {error}"
            warnings.warn(why, RuntimeWarning, stacklevel=4)
