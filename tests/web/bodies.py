"""JSON bodies drawn from the schema by which an endpoint describes its own: as it asks for them, a
little off, and anything at all."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from hypothesis import strategies as st

Plain = st.SearchStrategy[Any]

WORDS = (
    "example", "L1", "R1", "C1", "in", "a", "out", "gnd", "woofer", "generator", "gen", "board",
    "1 kHz", "10 ohm", "1.2 mH", "3.3 uF", "0.5", "?", "-1 V", "1e300 ohm", "nan", "inf", "part",
    "inductor", "resistor", "capacitor", "amplitude ratio", "probe", "resistance", "inductance",
    "source", "kind", "at", "nodes", "frequency", "amplitudes", "reading 1", "L1.png", "0", "1",
)  # fmt: skip
"""What a board has, and what a person would type."""

PAYLOADS = (
    "<script>window.broken=1</script>", "\"><img src=x onerror=window.broken=1>",
    "{{7*7}}{% x %}", "../../etc/passwd", "'; drop table entries; --", "\u202e\U0001f9ea",
    "a\nb\tc", "\u2028", "x" * 300, "", " ", "%00", "__proto__", "\x1b[31m", "{name}", "{0}",
)  # fmt: skip
"""What a person would not."""

TEXTS = st.sampled_from((*WORDS, *PAYLOADS)) | st.text(
    st.characters(codec="utf-8", exclude_characters="\0"), max_size=12
)
NUMBERS = (
    st.integers(-3, 12)
    | st.integers(-(2**62), 2**62)
    | st.floats(allow_nan=False, allow_infinity=False)
)
ANYTHING = st.recursive(
    st.none() | st.booleans() | NUMBERS | TEXTS,
    lambda held: st.lists(held, max_size=3) | st.dictionaries(TEXTS, held, max_size=4),
    max_leaves=6,
)


class Bodies:
    """Strategies for an app's schemas.

    Args:
        schemas: by name, as in its description.
    """

    def __init__(self, schemas: Mapping[str, Any]) -> None:
        self._schemas = schemas
        self._made: dict[str, Plain] = {}

    def of(self, schema: Mapping[str, Any]) -> Plain:
        """As it asks for them; one in some is a little off, or anything at all."""
        right = self.right(schema)
        return right | right | right.flatmap(_off) | ANYTHING

    def right(self, schema: Mapping[str, Any]) -> Plain:
        """As a schema asks for them."""
        if "$ref" in schema:
            return self._named(schema["$ref"].rsplit("/", 1)[1])
        if "enum" in schema:
            return st.sampled_from(schema["enum"])
        if "const" in schema:
            return st.just(schema["const"])
        for key in ("anyOf", "oneOf"):
            if key in schema:
                return st.one_of([self.right(one) for one in schema[key]])
        made = self._of_type(schema).get(schema.get("type", ""))
        return ANYTHING if made is None else made()

    def _named(self, name: str) -> Plain:
        if name not in self._made:
            self._made[name] = st.deferred(lambda: self.right(self._schemas[name]))
        return self._made[name]

    def _of_type(self, schema: Mapping[str, Any]) -> dict[str, Callable[[], Plain]]:
        return {
            "null": st.none,
            "boolean": st.booleans,
            "integer": lambda: st.integers(
                int(schema.get("minimum", -3)), min(int(schema.get("maximum", 40)), 40)
            ),
            "number": lambda: NUMBERS,
            "string": lambda: TEXTS,
            "array": lambda: self._array(schema),
            "object": lambda: self._object(schema),
        }

    def _array(self, schema: Mapping[str, Any]) -> Plain:
        items = self.right(schema.get("items", {}))
        least = int(schema.get("minItems", 0))
        if "prefixItems" in schema:
            return st.tuples(*(self.right(one) for one in schema["prefixItems"])).map(list)
        return st.lists(items, min_size=least, max_size=min(schema.get("maxItems", 4), least + 4))

    def _object(self, schema: Mapping[str, Any]) -> Plain:
        properties = schema.get("properties")
        if properties is None:
            held = schema.get("additionalProperties", {})
            values = self.right(held) if isinstance(held, dict) else ANYTHING
            keys = self.right(schema["propertyNames"]) if "propertyNames" in schema else TEXTS
            return st.dictionaries(keys.filter(_is_text), values, max_size=4)
        asked = set(schema.get("required", ()))
        return st.fixed_dictionaries(
            {name: self.right(one) for name, one in properties.items() if name in asked},
            optional={
                name: self.right(one) for name, one in properties.items() if name not in asked
            },
        )


def _is_text(value: Any) -> bool:
    return isinstance(value, str)


def _off(body: Any) -> Plain:
    """The same with one thing at any depth left out, put in, or made into something else."""
    if isinstance(body, dict) and body:
        key = st.sampled_from(sorted(body))
        return st.one_of(
            key.map(lambda one: {k: v for k, v in body.items() if k != one}),
            st.tuples(key, ANYTHING).map(lambda pair: {**body, pair[0]: pair[1]}),
            st.tuples(TEXTS, ANYTHING).map(lambda pair: {**body, pair[0]: pair[1]}),
            key.flatmap(lambda one: _off(body[one]).map(lambda held: {**body, one: held})),
        )
    if isinstance(body, list) and body:
        place = st.integers(0, len(body) - 1)
        return place.flatmap(lambda k: _off(body[k]).map(lambda one: _with(body, k, one)))
    return ANYTHING


def _with(held: Sequence[Any], place: int, one: Any) -> list[Any]:
    return [*held[:place], one, *held[place + 1 :]]
