"""Budget: where an estimate's uncertainty comes from, input by input, adding up.

With t = G e and independent inputs of unit variance, input j contributes G_ij^2 to the variance of
unknown i; G_ij is its signed contribution to t (GUM 5.1.3: |c_j| u_j, here with its sign), so a
common cause of two estimates shows with the signs that make it add or cancel between them.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass

from ohmbook.evidence.posterior import Input, Posterior
from ohmbook.evidence.unknown import Id


@dataclass(frozen=True, slots=True)
class Share:
    """One input's, or one group's, part in the variance of an estimate.

    Args:
        label: the input's, or the group's.
        contribution: signed standard contribution on the estimate's scale; of a group the root of
            its variance, with the sign of its largest member.
        share: of the estimate's variance, 0 to 1; all shares add up to 1.
        inputs: what is in it.
    """

    label: str
    contribution: float
    share: float
    inputs: tuple[Input, ...]


def budget(
    posterior: Posterior, id_: Id, group: Callable[[Input], str] | None = None
) -> tuple[Share, ...]:
    """Every input's share of one estimate's variance, the largest first.

    Args:
        posterior: what settle gave.
        id_: whose uncertainty.
        group: gives each input the label of its group; each input alone where None.
    """
    row = posterior.gain[posterior.index(id_)]
    variance = float(row @ row)
    groups: dict[Hashable, list[int]] = {}
    for column, entry in enumerate(posterior.inputs):
        key: Hashable = column if group is None else group(entry)
        groups.setdefault(key, []).append(column)
    shares = []
    for key, columns in groups.items():
        part = float(row[columns] @ row[columns])
        largest = max(columns, key=lambda column: abs(row[column]))
        sign = -1.0 if row[largest] < 0.0 else 1.0
        members = tuple(posterior.inputs[column] for column in columns)
        label = members[0].label if isinstance(key, int) else str(key)
        shares.append(Share(label, sign * part**0.5, part / variance, members))
    return tuple(sorted(shares, key=lambda share: -share.share))


def by_owner(entry: Input) -> str:
    """Group key: a reading's own label; a prior by the owner of its unknown."""
    return entry.label if entry.id is None else entry.id[0]
