"""What the program says to its caller when it ends.

0 done; 1 the data is at fault; 2 the call is at fault; 70 ohmbook itself is at fault (the number
that BSD's sysexits.h has for it); 130 stopped by Ctrl-C; 141 the reader of a pipe went away (both
128 + the signal's number, as shells have it).
"""

from __future__ import annotations

DONE = 0
DATA_AT_FAULT = 1
CALL_AT_FAULT = 2
PROGRAM_AT_FAULT = 70
STOPPED = 130
READER_GONE = 141
