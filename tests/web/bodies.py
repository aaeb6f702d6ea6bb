"""JSON bodies drawn from the schema by which an endpoint describes its own: as it asks for them, a
little off, and anything at all.

Drawn by plain seeded chance: a search that also shrinks takes four times as long for each body,
and with a thousand for every endpoint that is minutes.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from random import Random
from typing import Any

WORDS = (
    "example", "L1", "R1", "C1", "in", "a", "out", "gnd", "woofer", "generator", "scope", "board",
    "1 kHz", "10 ohm", "1.2 mH", "3.3 uF", "0.5", "?", "-1 V", "1e300 ohm", "nan", "inf", "part",
    "inductor", "resistor", "capacitor", "amplitude ratio", "probe", "resistance", "source loading",
    "source", "kind", "at", "between", "frequency", "amplitudes", "reading 1", "L1.png", "0", "1",
    "half_of", "value", "marking", "table", "frequency/kHz a/Vpp\n1 2", "4 Vpp", "parts", "sketch",
)  # fmt: skip
"""What a board has, and what a person would type."""

PAYLOADS = (
    "<script>window.broken=1</script>", "\"><img src=x onerror=window.broken=1>",
    "{{7*7}}{% x %}", "../../etc/passwd", "'; drop table entries; --", "\u202e\U0001f9ea",
    "a\nb\tc", "\u2028", "x" * 300, "", " ", "%00", "__proto__", "\x1b[31m", "{name}", "{0}",
    "\ufeff", "e\u0301", "\u0130", "\x7f", "\uffff", "\U0010ffff", "1" * 400, "٣", "½", "1_000",
    "[" * 60, "'" * 3, '"""', "\\", "#", "a.b", "a/b", "..", ".", "-", "con", "\r\n",
)  # fmt: skip
"""What a person would not."""

ODD_NUMBERS = (0, -1, 1, 2**31, 2**53, 2**62, -(2**62), 0.0, -0.0, 5e-324, 1.8e308, -1e-9, 1e-300)
DEEP = 4
"""How deep anything at all may go."""


class Bodies:
    """Draws bodies for an app's schemas.

    Args:
        schemas: by name, as in its description.
        chance: seeded.
    """

    def __init__(self, schemas: Mapping[str, Any], chance: Random) -> None:
        self._schemas, self._chance = schemas, chance

    def of(self, schema: Mapping[str, Any]) -> Any:
        """As it asks for them; one in some is a little off, or anything at all."""
        lot = self._chance.random()
        if lot < 0.1:
            return self.anything()
        right = self.right(schema)
        return right if lot < 0.6 else self._off(right)

    def text(self) -> str:
        """What a board has, what no person would type, or any letters."""
        lot = self._chance.random()
        if lot < 0.6:
            return self._chance.choice(WORDS)
        if lot < 0.85:
            return self._chance.choice(PAYLOADS)
        letters = [self._chance.choice("aZ09 .-_±%µΩ\t<&'é漢\u200b") for _ in range(9)]
        return "".join(letters[: self._chance.randrange(10)])

    def number(self) -> float:
        """Any number that JSON holds."""
        lot = self._chance.random()
        if lot < 0.5:
            return self._chance.randrange(-3, 13)
        if lot < 0.7:
            return self._chance.choice(ODD_NUMBERS)
        return math.copysign(10.0 ** self._chance.uniform(-12, 12), self._chance.random() - 0.2)

    def anything(self, deep: int = 0) -> Any:
        """Any JSON."""
        lot = self._chance.randrange(6 if deep < DEEP else 4)
        if lot < 2:
            return self.text()
        if lot == 2:
            return self.number()
        if lot == 3:
            return self._chance.choice((None, True, False))
        many = range(self._chance.randrange(4))
        if lot == 4:
            return [self.anything(deep + 1) for _ in many]
        return {self.text(): self.anything(deep + 1) for _ in many}

    def right(self, schema: Mapping[str, Any]) -> Any:
        """As a schema asks for them."""
        if "$ref" in schema:
            return self.right(self._schemas[schema["$ref"].rsplit("/", 1)[1]])
        if "enum" in schema:
            return self._chance.choice(schema["enum"])
        if "const" in schema:
            return schema["const"]
        for key in ("anyOf", "oneOf"):
            if key in schema:
                return self.right(self._chance.choice(schema[key]))
        return self._of_type(schema)

    def _of_type(self, schema: Mapping[str, Any]) -> Any:
        kind = schema.get("type")
        if kind == "null":
            return None
        if kind == "boolean":
            return self._chance.random() < 0.5
        if kind == "integer":
            low = int(schema.get("minimum", -3))
            return self._chance.randint(low, max(low, min(int(schema.get("maximum", 40)), 40)))
        if kind == "number":
            return self.number()
        if kind == "string":
            return self.text()
        if kind == "array":
            return self._array(schema)
        return self._object(schema) if kind == "object" else self.anything()

    def _array(self, schema: Mapping[str, Any]) -> list[Any]:
        if "prefixItems" in schema:
            return [self.right(one) for one in schema["prefixItems"]]
        least = int(schema.get("minItems", 0))
        many = self._chance.randint(least, min(int(schema.get("maxItems", 99)), least + 3))
        return [self.right(schema.get("items", {})) for _ in range(many)]

    def _object(self, schema: Mapping[str, Any]) -> dict[str, Any]:
        properties = schema.get("properties")
        if properties is not None:
            asked = schema.get("required", ())
            kept = {
                k: v for k, v in properties.items() if k in asked or self._chance.random() < 0.5
            }
            return {name: self.right(one) for name, one in kept.items()}
        held = schema.get("additionalProperties", {})
        names = schema.get("propertyNames", {"type": "string"})
        return {
            str(self.right({"type": "string", **names})): self.right(held)
            if isinstance(held, dict)
            else self.anything(1)
            for _ in range(self._chance.randrange(5))
        }

    def _off(self, body: Any) -> Any:
        """The same with one thing at any depth left out, put in, or made into something else."""
        lot = self._chance.randrange(4)
        if isinstance(body, dict) and body:
            key = self._chance.choice(list(body))
            if lot == 0:
                return {k: v for k, v in body.items() if k != key}
            if lot == 1:
                return {**body, self.text(): self.anything(2)}
            return {**body, key: self._off(body[key])}
        if isinstance(body, list) and body and lot:
            place = self._chance.randrange(len(body))
            return [*body[:place], self._off(body[place]), *body[place + 1 :]]
        return self.anything(1)
