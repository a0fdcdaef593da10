"""Readers of capture files.

``read_capture`` turns a file into a ``Capture`` or refuses it with a sentence; ``preview``
describes any file for the column-map page; ``write_csv`` and ``write_edf`` write Kitdesk's own
forms.
"""

from __future__ import annotations

from os import PathLike

from readiness.signal.capture import Capture, Declared

from .column_map import ColumnMap, MappedColumn
from .limits import check_size, read_bytes
from .preview import Preview, PreviewColumn, preview
from .sniff import kind_of
from .text import read_text
from .write import write_csv, write_edf

__all__ = [
    "ColumnMap",
    "MappedColumn",
    "Preview",
    "PreviewColumn",
    "preview",
    "read_capture",
    "write_csv",
    "write_edf",
]

NOTHING_DECLARED = Declared()


def read_capture(
    path_or_name: str | PathLike[str],
    data: bytes | None = None,
    declared: Declared = NOTHING_DECLARED,
) -> Capture:
    """Read a capture file.

    Parameters
    ----------
    path_or_name : str or PathLike
        Path of the file, or its name where ``data`` holds its bytes; becomes ``Capture.file``.
    data : bytes, optional
        The whole file. Without it the path is read, after a look at its size.
    declared : Declared
        What the operator says for a file that does not say it itself.

    Returns
    -------
    Capture
        The EMG in microvolts, the battery in volts, times in seconds. NaN stands where the file has
        no finite sample; each such place has a note ``missing_samples``. Nothing is resampled,
        clipped or filled.

    Raises
    ------
    CaptureRefused
        The only exception: what is wrong, where, and, in ``missing``, the one fact that would mend
        it.
    """
    name = str(path_or_name)
    if data is None:
        data = read_bytes(name)
    else:
        check_size(len(data))
    kind = kind_of(name, data)
    if kind == "text":
        return read_text(name, data, declared)
    from .edf import (
        read_edf,  # edfio costs 30 ms to import, which a run over text captures need not pay
    )

    return read_edf(name, data, kind, declared)
