"""Readers of capture files: bytes in, a ``Recording`` out, or a refusal in one sentence.

The way of a sample, to be read in this order and never back:

1. ``formats`` picks the reader by the first bytes.
2. ``text``, ``edf``, ``wav`` or ``wfdb`` opens the file as a ``RawTable``: columns, header words,
   numbers on demand. ``pairs`` says which files are one recording.
   Below ``text`` stand ``encoding``, ``footer``, ``number_marks``, ``clock``, ``heading``,
   ``delimiters``, ``number_rows``; below ``edf`` stands its guard, below ``wav`` ``decimation``.
3. ``decide`` weighs file, column map and operator: roles, unit, times, rate, test.
4. ``assemble`` scales the numbers, ``ten_seconds`` leaves gaps open and cuts out the test.
5. The ``Recording`` goes on to ``integrity``, then to the bench tests and the verdict.

A further format is one file like ``edf``, a word in ``formats.FORMATS``, and its tests.
``preview`` goes the same way up to step 3 and collects what lacks; ``write`` makes our own forms.
"""

from __future__ import annotations

from os import PathLike

from readiness.signal.capture import Declared, Recording

from .assemble import assemble
from .column_map import ColumnMap, MappedColumn
from .decide import declared_map
from .formats import choose_reader
from .limits import check_size, read_bytes
from .pairs import paired
from .preview import Preview, PreviewColumn, preview
from .wfdb import join
from .write import write_csv, write_edf

__all__ = [
    "ColumnMap",
    "MappedColumn",
    "Preview",
    "PreviewColumn",
    "join",
    "paired",
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
) -> Recording:
    """Read a capture file.

    Parameters
    ----------
    path_or_name : str or PathLike
        Path of the file, or its name where ``data`` holds its bytes; becomes ``Recording.file``.
    data : bytes, optional
        The whole file. Without it the path is read, after a look at its size.
    declared : Declared
        What the operator says for a file that does not say it itself.

    Returns
    -------
    Recording
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
    check_size(len(data))
    reader = choose_reader(name, data)
    table = reader.open_table(data, declared_map(declared))
    return assemble(name, table, declared)
