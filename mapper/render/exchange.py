"""Two folders change places at once, where the system can do that: at no moment is one missing."""

import ctypes
import errno
import os
import sys
from pathlib import Path

AT_FDCWD = {"linux": -100, "darwin": -2}
# linux: renameat2 with RENAME_EXCHANGE (linux/fs.h); darwin: renameatx_np with RENAME_SWAP.
CALL = {"linux": "renameat2", "darwin": "renameatx_np"}
SWAP = {"linux": 2, "darwin": 2}
# What a system or a file system says that cannot do it.
CANNOT = (errno.EINVAL, errno.ENOSYS, errno.ENOTSUP, errno.EPERM)


def exchanged(one: Path, other: Path) -> bool:
    """Exchange two folders of one file system; False where the system has no such step.

    Raises
    ------
    OSError
        When the system could, and it went wrong: then nothing has moved.
    """
    system = str(sys.platform)
    if system not in CALL:
        return False
    call = getattr(ctypes.CDLL(None, use_errno=True), CALL[system], None)
    if call is None:
        return False
    here = AT_FDCWD[system]
    if call(here, os.fsencode(one), here, os.fsencode(other), ctypes.c_uint(SWAP[system])) == 0:
        return True
    number = ctypes.get_errno()
    if number in CANNOT:
        return False
    raise OSError(number, os.strerror(number), str(other))
