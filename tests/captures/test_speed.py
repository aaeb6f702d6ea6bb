"""Long files: time by the process's own clock, memory in a process of its own."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from time import process_time

import numpy as np
import pytest

from ohmbook import captures
from ohmbook.errors import CaptureError
from tests.captures.waves import pair

LONG_SOUND = """
import resource, sys, numpy as np
from time import process_time
from ohmbook import captures
from ohmbook.captures import phasors
from tests.captures.waves import share, wav
rate, seconds = 192_000, 60
t = np.arange(rate * seconds, dtype=np.float32)
x = np.empty((len(t), 2), dtype=np.float32)
h = share(np.array([1000.0]))[0]
for k in range(0, len(t), 1 << 20):
    turn = 2 * np.pi * 1000.0 / rate * np.arange(k, min(k + (1 << 20), len(t)))
    x[k:k + len(turn), 0] = 0.5 * np.cos(turn)
    x[k:k + len(turn), 1] = 0.5 * abs(h) * np.cos(turn + np.angle(h))
sys.stdout.write("made\\n")
data = wav(x, rate, 16)
del x, t
"""
READ = """
import resource, sys
from pathlib import Path
from time import process_time
from ohmbook import captures
from ohmbook.captures import phasors
data = Path(sys.argv[1]).read_bytes()
begun = process_time()
steps = []
found = captures.read(data, "long.wav", progress=lambda done, of: steps.append(done / of))
ratio = phasors.ratios(found, "right", "left")
print(process_time() - begun, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
print(len(steps), steps[-1], abs(ratio.ratio[0]))
"""


def test_140_000_rows_of_text_in_under_a_second() -> None:
    t = (np.arange(140_000, dtype=float) - 70_000) * 1e-6
    one, _ = pair(t, 1234.0)
    data = "".join(
        ["Time (s),CH1 (V)\r\n", *(f"{a:.6e},{b:.3e}\r\n" for a, b in zip(t, one, strict=True))]
    )
    raw = data.encode()
    assert len(raw) > 3_000_000
    taken = []
    for _ in range(3):
        begun = process_time()
        found = captures.read(raw, "long.csv")
        taken.append(process_time() - begun)
    assert len(found.channels[0].values) == 140_000
    assert sorted(taken)[1] < 1.0


def test_a_minute_of_two_channels_at_192_khz(tmp_path: Path) -> None:
    """In under 10 s and 500 MB, sine fit included."""
    path = f"{tmp_path}/long.wav"
    write = LONG_SOUND + f"open({path!r}, 'wb').write(data)\n"
    subprocess.run([sys.executable, "-c", write], check=True, capture_output=True)
    done = subprocess.run(
        [sys.executable, "-c", READ, path], check=True, capture_output=True, text=True
    )
    first, second = done.stdout.splitlines()
    seconds, megabytes = map(float, first.split())
    assert seconds < 10.0
    assert megabytes < 500.0
    calls, last, ratio = map(float, second.split())
    assert calls > 10
    assert last == 1.0
    assert ratio == pytest.approx(abs(0.5 + 6.283185j) / abs(100.5 + 6.283185j), rel=1e-4)


def test_what_is_too_large_is_refused_before_it_is_read() -> None:
    begun = process_time()
    with pytest.raises(CaptureError, match="50 MB"):
        captures.read(b"1,2\n" * 12_500_001, "huge.csv")
    assert process_time() - begun < 1.0
