"""Files of a drop that are one recording: a WFDB header and its signal file are kept as one."""

from __future__ import annotations

from collections.abc import Iterable

from django.core.files.base import ContentFile, File

from readiness.signal.readers import join, paired
from readiness.signal.readers.limits import MAX_BYTES

JOINED_ENDING = ".wfdb.zip"


def with_partners(files: Iterable[File]) -> list[File]:
    """The files of a drop, in their order; a header and the signal file of its name as one archive
    of both, byte for byte. Where names repeat or sizes cannot be, each stays as it came.
    """
    files = list(files)
    by_name = {file.name or "": file for file in files}
    if len(by_name) < len(files):
        return files
    together: list[File] = []
    for name, partner in paired(list(by_name)):
        header, signal = by_name[name], by_name.get(partner or "")
        if signal is None:
            together.append(header)
        elif header.size + signal.size > MAX_BYTES:
            together += [header, signal]
        else:
            together.append(_joined(header, signal))
    return together


def _joined(header: File, signal: File) -> File:
    names = [(file.name or "").replace("\\", "/").rpartition("/")[2] for file in (header, signal)]
    data = join(names[0], header.read(), names[1], signal.read())
    return ContentFile(data, name=names[0].rpartition(".")[0] + JOINED_ENDING)
