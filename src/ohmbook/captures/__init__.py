"""Capture files: bytes into samples, samples into phasors. Nothing in a file is ever executed.

read(data, name, answers) -> Capture       what was captured, assumed, asked
sine.fit(t_s, channels, f_hz)              IEEE Std 1057, several channels, one frequency
phasors.phasors(capture, ...)              complex amplitudes over frequency, with covariance
"""

from __future__ import annotations

from ohmbook.captures.capture import Assumed, Axis, Capture, Channel, Question, Remark
from ohmbook.captures.reading import read

__all__ = ["Assumed", "Axis", "Capture", "Channel", "Question", "Remark", "read"]
