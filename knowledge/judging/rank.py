"""The order of the lubricants: over all cases or within some, and whether what is unknown can change its top."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from knowledge.box.axes import FIELDS_OF_AXES, RINGS, WET_CLUTCH, OpenField
from knowledge.box.possible import NO_RINGS
from knowledge.judging.column_rule import CAUTIONS, EXCLUDES
from knowledge.judging.columns import Flags, Floats
from knowledge.judging.judge import Judged, RuleColumn
from knowledge.judging.rules import RULES

MARGINS = tuple(place for place, rule in enumerate(RULES) if rule.sets_margin)
COMFORTS = tuple(place for place, rule in enumerate(RULES) if rule.sets_comfort_margin)
# So few are told apart no faster.
FEW = 100
ALL_AXES = tuple(range(len(FIELDS_OF_AXES)))


@dataclass(frozen=True, slots=True)
class Measures:
    """How well each lubricant stands in some sets of cases, of shape (sets, lubricants); less is better.

    First what the service data names, where it serves; then what surely serves; then what is not warned of; then what
    is as thick as the service data asks for; then what needs no care at all; then, among those that depend, what
    serves in more of the cases; then what is warned of in fewer; then, where a wet clutch and no ring is in it, what
    clutches run in; then the family that is fitter for the facing; then one label before a double one; then what
    keeps farther from the nearest limit that refuses, more than comfortable counting as comfortable; then what lets
    first cold shifts come more easily, free counting as free; then what is usual for the facing.
    A colder start therefore never calls for a thicker class, but where what a wet clutch runs in flows no more.
    """

    serves: Floats
    keys: tuple[Any, ...]

    def leaders(self) -> list[int | None]:
        """The first lubricant of each set; None where nothing serves. Of equals the first of the table leads."""
        left = self.serves > 0
        is_led: list[bool] = np.any(left, axis=1).tolist()
        for key in self.keys:
            if left.sum(axis=1).max() <= 1:
                break
            measured = np.where(left, key, np.inf)
            left = left & (measured == measured.min(axis=1, keepdims=True))
        first = left.argmax(axis=1).tolist()
        return [place if led else None for place, led in zip(first, is_led, strict=True)]


class Ranking:
    """The order of judged lubricants."""

    def __init__(self, judged: Judged) -> None:
        self.judged = judged
        self.cases = judged.cases
        self.lubricants = judged.lubricants
        base = judged.cases.base
        self._comfortable = base.limit("margin-comfortable-from")
        named, rows = judged.cases.named, judged.lubricants.rows
        self.is_asked_for: Flags = np.array([named.matches(row) or named.is_kin(row) for row in rows], bool)
        bands = {row.kv100_band_mm2_s for row in base.lubricants if named.matches(row)} if named.grades else set()
        self.is_as_thick: Flags = np.array([row.kv100_band_mm2_s in bands for row in rows], bool)

    @cached_property
    def whole(self) -> Measures:
        """How well each lubricant stands over all cases."""
        judged = self.judged
        return self._measures(
            np.full((1, 1), self.cases.weight),
            judged.serves[None],
            judged.warned_weight[None],
            judged.needs_care[None],
            self.margin[None],
            self._least(COMFORTS, None),
            self.fitness[None],
            np.any(self._usual_in_sets, axis=0, keepdims=True),
            np.array([[self.is_for_a_clutch]]),
        )

    @cached_property
    def margin(self) -> Floats:
        """The least margin of each lubricant to a limit that refuses; infinite without any."""
        return self._least(MARGINS, None)[0]

    @cached_property
    def fitness(self) -> NDArray[np.int8]:
        """The fitness of each lubricant for the facing that it serves worst, 0 for best."""
        return self._fitness_of_sets.max(axis=0)

    @cached_property
    def is_for_a_clutch(self) -> bool:
        """Whether in every case no ring but a wet clutch is in the oil."""
        return all(self.cases.values("wet_clutch")) and not any(self.cases.values("facings"))

    @cached_property
    def _whole_keys(self) -> Floats:
        """The measures over all cases, of shape (measures, lubricants)."""
        found = np.empty((len(self.whole.keys), self.lubricants.size))
        for row, key in enumerate(self.whole.keys):
            found[row] = key[0]
        return found

    @cached_property
    def order(self) -> tuple[int, ...]:
        """The lubricants that serve in some case, best first."""
        serving = np.nonzero(self.judged.serves > 0)[0]
        return tuple(serving[np.lexsort(self._whole_keys[::-1, serving])].tolist())

    @cached_property
    def leading(self) -> tuple[int, ...]:
        """The first and what differs from it only in what is usual, or all of a family that the service data names."""
        if not self.order:
            return ()
        keys = self._whole_keys[:-1]
        leads = (keys == keys[:, self.order[:1]]).all(axis=0)
        named = self.cases.named
        if named.family is not None and named.grades is None:
            leads = leads | (self.is_asked_for & (self.judged.serves == self.cases.weight))
        return tuple(place for place in self.order if leads[place])

    def within(self, axis: int, fields: Sequence[OpenField]) -> tuple[Measures, Floats]:
        """How well each lubricant stands with each value of some open fields of an axis, and the weight of each."""
        judged, along = self.judged, self.cases.axes[axis]
        has = np.concatenate([np.arange(len(field.values))[:, None] == field.value_of for field in fields])
        weights = has * along.weights
        rest = self.cases.weight / along.weights.sum()
        total = weights.sum(axis=1, keepdims=True) * rest
        serves = weights @ judged.refused.weight_along(axis)
        warned = total - weights @ judged.warned.weight_along(axis)
        care = _any_of(has, [mask.any_along(axis) for mask in judged.cared], self.lubricants.size)
        fitness, usual, clutch = self._of_rings_and_clutch(axis, has)
        margin, comfort = self._least(MARGINS, axis), self._least(COMFORTS, axis)
        measures = self._measures(
            total, serves, warned, care, _least_of(has, margin), _least_of(has, comfort), fitness, usual, clutch
        )
        return measures, total[:, 0]

    def _of_rings_and_clutch(self, axis: int, has: Flags) -> tuple[Any, Any, Flags]:
        """Fitness, what is usual, and whether it is a box for a clutch, with each set of alternatives of an axis."""
        is_wet, bare = self._is_wet, self._is_bare
        if axis == RINGS:
            place = self.cases.fact("facings").value_of
            fitness = np.stack([self._fitness_of_sets[place[row]].max(axis=0) for row in has])
            usual = np.stack([self._usual_in_sets[place[row]].any(axis=0) for row in has])
            clutch = np.array([[bool(bare[place[row]].all() and is_wet.all())] for row in has])
            return fitness, usual, clutch
        wet = [bool(is_wet[row].all()) if axis == WET_CLUTCH else bool(is_wet.all()) for row in has]
        return (
            self._fitness_of_sets.max(axis=0)[None],
            np.any(self._usual_in_sets, axis=0, keepdims=True),
            np.array(wet)[:, None] & bool(bare.all()),
        )

    @cached_property
    def has_one_leader(self) -> bool:
        """Whether the same lubricant leads in every case; two far apart are looked at first."""
        if self.cases.count == 1:
            return True
        sizes = [axis.size for axis in self.cases.axes]
        corners = [np.array([0, size - 1]) for size in sizes]
        if len(set(self._leaders_in(corners))) > 1:
            return False
        rest = [grid.ravel() for grid in np.meshgrid(*(np.arange(size) for size in sizes[1:]), indexing="ij")]
        found: set[int | None] = set()
        for place in range(sizes[RINGS]):
            found.update(self._leaders_in([np.full(len(rest[0]), place), *rest]))
            if len(found) > 1:
                return False
        return True

    def _leaders_in(self, alternatives: Sequence[NDArray[np.intp]]) -> list[int | None]:
        """The leaders of single cases, by their alternatives on each axis."""
        judged, shape = self.judged, (len(alternatives[0]), self.lubricants.size)
        refused, cared, warned = (np.zeros(shape, bool) for _ in range(3))
        least = {"margin": np.full(shape, np.inf), "comfort": np.full(shape, np.inf)}
        for column in judged.columns:
            places = _places(column, alternatives)
            effect = _at(column.effect, places)
            refused |= effect == EXCLUDES
            cautions = effect == CAUTIONS
            if cautions.any():
                cared |= cautions
                warned |= _at(column.warns, places)
            for name, is_read in (("margin", column.rule.sets_margin), ("comfort", column.rule.sets_comfort_margin)):
                if is_read and column.margin is not None:
                    least[name] = np.fmin(least[name], _at(column.margin, places))
        sets = self.cases.fact("facings").value_of[alternatives[RINGS]]
        wet = self._is_wet[alternatives[WET_CLUTCH]]
        serves = (~refused).astype(float)
        measures = self._measures(
            np.ones((1, 1)),
            serves,
            warned.astype(float),
            cared,
            least["margin"],
            least["comfort"],
            self._fitness_of_sets[sets],
            self._usual_in_sets[sets],
            (self._is_bare[sets] & wet)[:, None],
        )
        return measures.leaders()

    def _measures(
        self,
        total: Floats,
        serves: Floats,
        warned: Floats,
        care: Any,
        margin: Any,
        comfort: Any,
        fitness: Any,
        usual: Any,
        is_for_a_clutch: Flags,
    ) -> Measures:
        depends = (serves > 0) & (serves < total)
        return Measures(
            serves,
            (
                ~self.is_asked_for[None],
                depends,
                warned > 0,
                ~self.is_as_thick[None],
                (serves != total) | care,
                np.where(depends, -serves, 0.0),
                warned,
                is_for_a_clutch & ~self.lubricants.suits_wet_clutch,
                fitness,
                self.lubricants.is_dual_label[None],
                -np.minimum(margin, self._comfortable),
                -np.minimum(_two_digits(comfort), 1.0),
                ~usual,
            ),
        )

    def _least(self, rules: Iterable[int], axis: int | None) -> Floats:
        """The least margin of some rules, over all cases or for each alternative of an axis; infinite without any."""
        found = np.full((1, self.lubricants.size), np.inf)
        for rule in rules:
            margin = self.judged.decisions[rule].margin
            if margin is None:
                continue
            if np.ndim(margin) < 2:
                found = np.fmin(found, margin)
                continue
            least = np.fmin.reduce(margin, axis=tuple(other for other in ALL_AXES if other != axis))
            least = least.reshape(-1, least.shape[-1])
            places = None if axis is None else self.judged.columns[rule].places[axis]
            found = np.fmin(found, least if len(least) == 1 or places is None else least[places])
        return found

    @cached_property
    def _fitness_of_sets(self) -> NDArray[np.int8]:
        """The fitness of each lubricant for the facing of each set that it serves worst."""
        place = self.judged.x.prepared.place_of_facing
        sets = self.cases.values("facings")
        return np.stack([self.lubricants.fitness[[place[one] for one in s or (NO_RINGS,)]].max(axis=0) for s in sets])

    @cached_property
    def _usual_in_sets(self) -> Flags:
        """Whether each lubricant is the usual one of a facing of each set."""
        facings, rows = self.cases.base.facings, self.lubricants.rows
        usual = [{facings[facing].usual_lubricant for facing in s} for s in self.cases.values("facings")]
        return np.array([[row.id in ids for row in rows] for ids in usual], bool)

    @cached_property
    def _is_bare(self) -> Flags:
        return np.array([not facings for facings in self.cases.values("facings")], bool)

    @cached_property
    def _is_wet(self) -> Flags:
        """Whether each alternative of its axis has a wet clutch."""
        _, values, value_of = self.cases.fact("wet_clutch")
        return np.array(values, bool)[value_of]


def _places(column: RuleColumn, alternatives: Sequence[NDArray[np.intp]]) -> list[NDArray[np.intp] | None]:
    return [None if places is None else places[alternatives[axis]] for axis, places in enumerate(column.places)]


def _at(column: Any, places: Sequence[NDArray[np.intp] | None]) -> Any:
    """A column in some cases, of shape (cases, lubricants or 1)."""
    picked = [0 if size == 1 or place is None else place for size, place in zip(column.shape, places, strict=False)]
    found = column[tuple(picked)]
    return found if found.ndim == 2 else found[None]


def _any_of(has: Flags, along: Sequence[Flags], size: int) -> Flags:
    """Whether any flag holds with each set of alternatives."""
    found = np.zeros((1, size), bool)
    for flags in along:
        found = found | (flags if len(flags) == 1 else (has.astype(float) @ flags) > 0)
    return found


def _least_of(has: Flags, values: Floats) -> Floats:
    """The least value with each set of alternatives."""
    return values if len(values) == 1 else np.stack([values[row].min(axis=0) for row in has])


def _two_digits(comfort: Floats) -> Floats:
    """To the two digits that the judged sizes of rings can bear; what is 1 or more counts alike."""
    capped = np.minimum(comfort, 1.0)
    if capped.size <= FEW:
        return np.array([float(f"{value:.2g}") for value in capped.ravel().tolist()]).reshape(capped.shape)
    different, places = np.unique(capped.ravel(), return_inverse=True)
    return np.array([float(f"{value:.2g}") for value in different.tolist()])[places].reshape(capped.shape)
