"""How this room compiles its loops."""

from __future__ import annotations

from numba import njit

# Compiled code is kept beside its file; a kernel that calls one of another file is not compiled anew when
# that file changes, so save both.
# No fastmath: neighbours must get the same bits from the same numbers, or sections do not close.
kernel = njit(cache=True, nogil=True, error_model="numpy")
inner = njit(cache=True, nogil=True, error_model="numpy", inline="always")
