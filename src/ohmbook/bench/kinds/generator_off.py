"""`generator off`: what the screen shows with no signal, which is how noise reads high."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar, Literal

from ohmbook.bench.desk import Desk
from ohmbook.bench.kind import FormWords, Reading
from ohmbook.bench.meters import Sum
from ohmbook.bench.row import Row
from ohmbook.bench.screen import screen, shown
from ohmbook.circuit.network import Branch, Drive, Network
from ohmbook.documents.fields import Volts
from ohmbook.documents.setup import Clip, SetUp


class GeneratorOff(Reading):
    """The peak-to-peak amplitude on the screen with the generator's output off."""

    uses_source: ClassVar[bool] = False

    form: ClassVar[FormWords] = FormWords(
        heading="The screen with the generator off",
        does="What is left on the screen without a signal: how much noise makes every "
        "peak-to-peak reading too high.",
        labels={"value": "The screen shows"},
    )

    kind: Literal["generator off"]
    value: Volts

    def set_ups(self, desk: Desk) -> tuple[SetUp, ...]:  # noqa: ARG002
        """The probe on its own ground clip."""
        scope = self.instrument or "scope"
        network = Network((Branch("", "short", ("tip", "com")),), Drive(("tip", "com")))
        return (
            SetUp(
                f"{scope} with the generator off",
                network,
                (Clip("scope", scope, "tip", "tip"), Clip("scope", scope, "ground", "com")),
            ),
        )

    def rows(self, desk: Desk) -> Sequence[Row]:
        """The excess alone."""
        on = screen(desk, self)
        read = on.read(self.value)
        causes, own = shown(desk, on, self.value, read, self.name)
        return [
            Row(
                self.name,
                f"{self.name}: generator off",
                read.vpp,
                own.u**2,
                own.shape,
                Sum(causes.excess),
                own.grid,
            )
        ]
