"""The input of a computation: plain data read key by key, every fault noted with its place.

What may be written: a plain number takes the unit that the computation names for it; a quantity ("36 3/16 in",
"914 mm") is converted exactly; a decimal (13.6) is the decimal as written, never the nearest float.
A reader that meets a fault notes it and returns a stand-in, so that one pass finds them all; `finish` raises before
a stand-in can be used.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from fractions import Fraction

from guide.problems import Place, Problems, did_you_mean
from guide.quantity import DIMENSION_NAMES, NUMBER, UNITS, Quantity, QuantityError, quantity

Path = tuple[str | int, ...]
"""Where a value stands in the input: keys and positions from the top."""

PlaceOf = Callable[[Path], Place | None]
"""The spot in a file of the value at a path, or None when the input came from no file."""

MOST = Fraction(10**9)
"""No amount of this trade is larger, nor, unless zero, smaller than one over it: such a figure is a slip."""

_WITH_EXPONENT = re.compile(r"-?\d{1,30}(?:\.\d{1,30})?[eE][+-]?\d{1,2}")
_YES_NO = {"yes": True, "true": True, "no": False, "false": False}
_STAND_IN = Fraction(1)


class Given:
    """The keys and values of one mapping of the input; sub-mappings share the list of faults."""

    def __init__(self, data: object, place_of: PlaceOf, problems: Problems | None = None, path: Path = ()) -> None:
        self.place_of = place_of
        self.problems = problems if problems is not None else Problems()
        self.path = path
        self._asked: set[str] = set()
        self._parts: list[Given] = []
        self._data: Mapping[str, object] = {}
        if isinstance(data, Mapping):
            self._data = {str(key): value for key, value in data.items()}
        else:
            what = f'"{self._named()}"' if path else "the input"
            self.fault(None, f"{what} must be keys with values", "Write KEY: VALUE, one a line.", "kind")

    def fault(self, key: str | int | None, message: str, hint: str | None = None, code: str = "value") -> None:
        """Note a fault of the value at `key` (None: of the whole mapping)."""
        path = self.path if key is None else (*self.path, key)
        self.problems.add(f"work-{code}", message, self.place_of(path), hint)

    def has(self, key: str) -> bool:
        """Whether the key is there with a value."""
        self._asked.add(key)
        return self._data.get(key) is not None

    def raw(self, key: str) -> object | None:
        """The value as it was written, or None when the key is not there."""
        return self._data[key] if self.has(key) else None

    def keys(self) -> tuple[str, ...]:
        """Every key that is there, all of them taken as asked for."""
        self._asked.update(self._data)
        return tuple(self._data)

    def finish(self) -> None:
        """Note keys that nobody asked for, then raise `ProblemError` with everything found, if anything was."""
        self._unasked()
        self.problems.raise_if_any()

    def _unasked(self) -> None:
        for key in self._data:
            if key not in self._asked:
                hint = did_you_mean(key, self._asked) or f"Known here: {', '.join(sorted(self._asked))}."
                self.fault(key, f'unknown key "{self._named(key)}"', hint, "key")
        for part in self._parts:
            part._unasked()

    def _named(self, key: str | int | None = None) -> str:
        return ".".join(str(part) for part in (self.path if key is None else (*self.path, key)))

    def _value(self, key: str, required: bool) -> object | None:
        if self.has(key):
            return self._data[key]
        if required:
            missing = f'"{self._named(key)}" is missing'
            self.fault(None if key not in self._data else key, missing, f"Give it: {key}: …", "missing")
        return None

    def amount(
        self,
        key: str,
        unit: str,
        default: Fraction | int | None = None,
        above: Fraction | int | None = None,
        least: Fraction | int | None = None,
        most: Fraction | int | None = None,
    ) -> Fraction:
        """The amount in `unit`, exactly; missing is a fault unless there is a default. Bounds are in `unit`."""
        value = self._value(key, default is None)
        if value is None:
            return Fraction(default) if default is not None else _STAND_IN
        return self._amount(key, self._named(key), value, unit, above, least, most)

    def optional(
        self,
        key: str,
        unit: str,
        above: Fraction | int | None = None,
        least: Fraction | int | None = None,
        most: Fraction | int | None = None,
    ) -> Fraction | None:
        """The amount in `unit`, or None when the key is not there."""
        if not self.has(key):
            return None
        return self._amount(key, self._named(key), self._data[key], unit, above, least, most)

    def amounts(
        self,
        key: str,
        unit: str,
        above: Fraction | int | None = None,
        least: Fraction | int | None = None,
        most: Fraction | int | None = None,
        fewest: int = 1,
    ) -> list[Fraction]:
        """A list of amounts in `unit`; one amount alone is a list of one."""
        value = self._value(key, True)
        if value is None:
            return [_STAND_IN] * fewest
        items = list(value) if isinstance(value, Sequence) and not isinstance(value, str) else [value]
        if len(items) < fewest:
            self.fault(key, f'"{self._named(key)}" has {len(items)} of the {fewest} values it needs at least')
        inner = Given({}, self.place_of, self.problems, (*self.path, key))
        return [
            inner._amount(at, f"{self._named(key)}.{at}", item, unit, above, least, most)
            for at, item in enumerate(items)
        ] + [_STAND_IN] * (fewest - len(items))

    def unit_of(self, *keys: str) -> str:
        """The unit that the first of these keys is written in; "" when they are all plain numbers."""
        for key in keys:
            value = self._data.get(key)
            for item in value if isinstance(value, list | tuple) else [value]:
                unit = _unit_of(item)
                if unit:
                    return unit
        return ""

    def word(self, key: str) -> str | None:
        """The value in lower case when it is a word and no amount; None otherwise."""
        value = self._data.get(key)
        return _plain(value) if isinstance(value, str) and value[:1].isalpha() else None

    def _amount(
        self,
        key: str | int,
        named: str,
        value: object,
        unit: str,
        above: Fraction | int | None,
        least: Fraction | int | None,
        most: Fraction | int | None,
    ) -> Fraction:
        read = self._read(key, named, value)
        if read is None:
            return _STAND_IN
        dimension = UNITS[unit][1]
        if read.unit == "" and dimension != NUMBER:
            read = Quantity(read.magnitude, unit)
        if read.dimension != dimension:
            message = f'"{named}" is {DIMENSION_NAMES[read.dimension]} ({read}); {DIMENSION_NAMES[dimension]} is needed'
            self.fault(key, message, f"Give it in {unit}." if unit else "Give it without a unit.", "unit")
            return _STAND_IN
        amount = read.to(unit).magnitude
        suffix = f" {unit}" if unit else ""
        if above is not None and amount <= above:
            self.fault(key, f'"{named}" is {read}; it must be more than {above}{suffix}')
        elif least is not None and amount < least:
            self.fault(key, f'"{named}" is {read}; it can\'t be less than {least}{suffix}')
        elif most is not None and amount > most:
            self.fault(key, f'"{named}" is {read}; it can\'t be more than {most}{suffix}')
        elif abs(amount) > MOST or 0 < abs(amount) < 1 / MOST:
            self.fault(key, f'"{named}" is {read}: no such size is met here', "Is a digit, or the unit, wrong?")
        else:
            return amount
        return _STAND_IN

    def _read(self, key: str | int, named: str, value: object) -> Quantity | None:
        if isinstance(value, str):
            text = value.strip()
            try:
                return Quantity(Fraction(text), "") if _WITH_EXPONENT.fullmatch(text) else quantity(text)
            except QuantityError as fault:
                self.fault(key, f'"{named}": {fault}', 'Write it like "36 3/16 in", "914 mm" or 36.5.')
                return None
        if isinstance(value, int | Fraction) and not isinstance(value, bool):
            return Quantity(Fraction(value), "")
        if isinstance(value, float) and value == value and abs(value) != float("inf"):
            return Quantity(Fraction(repr(value)), "")
        self.fault(key, f'"{named}" must be an amount', 'Write it like "36 3/16 in", "914 mm" or 36.5.', "kind")
        return None

    def whole(self, key: str, default: int | None = None, least: int = 0, most: int = 10_000) -> int:
        """A whole number; missing is a fault unless there is a default."""
        value = self.amount(key, "", default, None, least, most)
        if value.denominator != 1:
            self.fault(key, f'"{self._named(key)}" is {Quantity(value, "")}; a whole number is needed')
            return least
        return int(value)

    def choice(self, key: str, options: Iterable[str], default: str | None = None) -> str:
        """One of some words; upper and lower case, spaces, `-` and `_` make no difference."""
        known = {_plain(option): option for option in options}
        value = self._value(key, default is None)
        if value is None:
            return default if default is not None else next(iter(known.values()))
        word = _plain(value) if isinstance(value, str) else str(value)
        if word not in known:
            listed = ", ".join(known.values())
            hint = did_you_mean(word, known.values()) if isinstance(value, str) else None
            message = f'"{self._named(key)}" is "{value}"; it must be one of: {listed}'
            self.fault(key, message, hint)
            return default if default is not None else next(iter(known.values()))
        return known[word]

    def yes_no(self, key: str, default: bool | None = None) -> bool:
        """Yes or no (true and false are understood too); missing is a fault unless there is a default."""
        value = self._value(key, default is None)
        if value is None:
            return bool(default)
        answer = value if isinstance(value, bool) else _YES_NO.get(str(value).strip().lower())
        if answer is None:
            self.fault(key, f'"{self._named(key)}" is "{value}"; yes or no is needed')
            return bool(default)
        return answer

    def text(self, key: str, default: str | None = None) -> str:
        """Some words; missing is a fault unless there is a default."""
        value = self._value(key, default is None)
        if value is None:
            return default or ""
        if not isinstance(value, str):
            self.fault(key, f'"{self._named(key)}" must be words', code="kind")
            return default or ""
        return value.strip()

    def texts(self, key: str) -> tuple[Given, list[str]]:
        """A list of words, and where to note faults of its items by position; words alone are a list of one."""
        value = self._data[key] if self.has(key) else []
        items = [value] if isinstance(value, str) or not isinstance(value, Sequence) else value
        inner = Given({}, self.place_of, self.problems, self.path if isinstance(value, str) else (*self.path, key))
        for at, item in enumerate(items):
            if not isinstance(item, str):
                inner.fault(at, f'"{inner._named(at)}" must be words', code="kind")
        return inner, [item if isinstance(item, str) else "" for item in items]

    def part(self, key: str) -> Given | None:
        """The mapping under the key, or None when the key is not there."""
        if not self.has(key):
            return None
        part = Given(self._data[key], self.place_of, self.problems, (*self.path, key))
        self._parts.append(part)
        return part

    def parts(self, key: str) -> list[Given]:
        """A list of mappings; one mapping alone is a list of one, none when the key is not there."""
        if not self.has(key):
            return []
        value = self._data[key]
        alone = not isinstance(value, Sequence) or isinstance(value, str)
        if alone:
            found = [Given(value, self.place_of, self.problems, (*self.path, key))]
        else:
            items: Sequence[object] = value  # type: ignore[assignment]
            found = [Given(item, self.place_of, self.problems, (*self.path, key, at)) for at, item in enumerate(items)]
        self._parts += found
        return found


def _unit_of(value: object) -> str:
    try:
        return quantity(value).unit if isinstance(value, str) else ""
    except QuantityError:
        return ""


def _plain(word: str) -> str:
    return " ".join(word.replace("-", " ").replace("_", " ").lower().split())
