"""Evidence: unknowns and readings settled together, with what the answer is worth.

Statistics only; what the readings are of, the rooms above know. The problem is put in each
unknown's own coordinate t and whitened; a gain matrix then carries every independent input to every
unknown, and budget, intervals and draws all come from it (the framework is that of JCGM 100:2008,
JCGM 101:2008 and JCGM 102:2011).
"""

from ohmbook.evidence.budget import Share, budget, by_owner
from ohmbook.evidence.consistency import Consistency, Strain, consistency, strains
from ohmbook.evidence.convolve import half_width
from ohmbook.evidence.design import gain_of
from ohmbook.evidence.known import Known, what_is_known
from ohmbook.evidence.modes import log_evidence
from ohmbook.evidence.observation import Block
from ohmbook.evidence.posterior import Combination, Input, Mode, Posterior
from ohmbook.evidence.profile import ProfileInterval, profile_interval, profile_intervals
from ohmbook.evidence.rank import determined, determined_ids
from ohmbook.evidence.refits import Refits, refits
from ohmbook.evidence.settle import settle
from ohmbook.evidence.unknown import Array, Id, Prior, Scale, Shape, Unknown
from ohmbook.evidence.validity import Curvature, curvature

__all__ = [
    "Array",
    "Block",
    "Combination",
    "Consistency",
    "Curvature",
    "Id",
    "Input",
    "Known",
    "Mode",
    "Posterior",
    "Prior",
    "ProfileInterval",
    "Refits",
    "Scale",
    "Shape",
    "Share",
    "Strain",
    "Unknown",
    "budget",
    "by_owner",
    "consistency",
    "curvature",
    "determined",
    "determined_ids",
    "gain_of",
    "half_width",
    "log_evidence",
    "profile_interval",
    "profile_intervals",
    "refits",
    "settle",
    "strains",
    "what_is_known",
]
