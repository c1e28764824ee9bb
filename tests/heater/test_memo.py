"""Is an answer from memory the answer that working it out again gives?"""

from __future__ import annotations

import numpy as np
import pytest

from tankside.heater import ignition
from tankside.heater.memo import replayed
from tankside.heater.model import load_model, model_names
from tankside.heater.simulation import advance, energise
from tankside.heater.unit import Unit, make_unit
from tankside.physics.circuit import Drive
from tankside.streams import Stream


def unit(batch: int = 1) -> Unit:
    """Any heater."""
    return make_unit(load_model("heron_6"), batch=batch)


@pytest.mark.parametrize("batch", [1, 3])
def test_replayed_is_done_again(batch: int) -> None:
    """Does a function that branches on what it finds set the same from memory, and only run when something it reads moved?"""
    ran = []

    def act(one: Unit) -> None:
        ran.append(1)
        if (one["tank.temperature"] > 30.0).any():
            one.set("site.room", one["tank.loss"] + 1.0)
        one.values["extra"] = one.values.get("extra", np.zeros(one.batch)) + 1.0

    again, plain, kept = replayed(act), unit(batch), unit(batch)
    for warm, loss in ((20, 1), (40, 1), (20, 2), (40, 2), (20, 1), (40, 1), (40, 2)):
        for one, function in ((plain, act), (kept, again)):
            one.values.pop("extra", None)
            one.set("tank.temperature", warm)
            one.set("tank.loss", loss)
            one.set("site.room", 7.0)
            function(one)
        assert plain.values.keys() == kept.values.keys()
        for key, value in plain.values.items():
            np.testing.assert_array_equal(value, kept.values[key], err_msg=key)
    assert len(ran) == 7 + 3  # cold, and warm with each loss: the loss means nothing to a cold one
    kept.values["extra"][0] = 99.0  # what a hand does to the unit doesn't reach the memory
    kept.values.pop("extra")
    again(kept)
    assert (kept["extra"] == 1.0).all()


def test_replayed_within_replayed() -> None:
    """Does a function notice what moved only for one that it calls, also where that answered from memory?"""
    inner = replayed(lambda one: one["tank.loss"] * 2.0)

    def act(one: Unit) -> np.ndarray:
        found = inner(one) + one["site.room"]
        one.values["extra"] = found.copy()
        return found

    one, again = unit(), replayed(act)
    for loss, room in ((1.0, 5.0), (2.0, 5.0), (1.0, 5.0), (2.0, 6.0), (2.0, 5.0), (1.0, 6.0)):
        one.set("tank.loss", loss)
        one.set("site.room", room)
        assert again(one)[0] == one["extra"][0] == 2.0 * loss + room
    with pytest.raises(ValueError, match="read-only"):
        again(one)[0] = 1.0


def test_scattered_values() -> None:
    """Is one number that stands for many variants, or a slice, told apart like any other array?"""
    one, again = unit(3), replayed(lambda held, more: held["tank.loss"] + more)
    for loss, more in ((1.0, 2.0), (3.0, 2.0), (3.0, 4.0)):
        one.values["tank.loss"] = np.broadcast_to(np.float64(loss), (3,))
        assert (again(one, np.full(6, more)[::2]) == loss + more).all()


def test_what_looks_at_everything_is_not_kept() -> None:
    """Is a function that goes through all values run each time, and a failed one forgotten?"""
    ran = []

    def act(one: Unit) -> None:
        ran.append(len(one.values.items()))

    def fails(one: Unit) -> None:
        ran.append(0)
        raise ValueError("no")

    one, again = unit(), replayed(act)
    again(one)
    again(one)
    assert len(ran) == 2
    for _ in range(2):
        with pytest.raises(ValueError, match="no"):
            replayed(fails)(one)
    assert type(one.values) is dict


@pytest.mark.parametrize("name", model_names())
def test_same_bits_with_and_without_memory(name: str) -> None:
    """Through two days of thermostats and switches: does the heater of few variants do what the same in a big batch does?"""
    one, many = make_unit(load_model(name)), make_unit(load_model(name), batch=6)
    hands = [f"{part}.{kind.moves}" for part, kind in one.model.types.items() if kind.positions]
    draw = Stream("memory", "hands")
    for _ in range(12):
        key = draw.choice(hands)
        for each in (one, many):
            each.set(key, 1.0 - each[key])
            advance(each, 240.0)
            energise(each)
        for value in one.values:
            assert one[value].tobytes() == many[value][:1].tobytes() == many[value][5:].tobytes(), value


@pytest.mark.parametrize("name", model_names())
def test_a_network_reads_the_same_whatever_it_finds(name: str) -> None:
    """Are all values that move a network's numbers among those it is kept by, and is what it fills in by halves whole?"""
    one = make_unit(load_model(name))
    energise(one)
    draw = Stream("network", name)
    drives: tuple[Drive, ...] = ("alternating", "direct")
    for net in {id(n): n for n in (one.wiring.whole, *(one.wiring.sides[d] for d in drives))}.values():
        for key in one.values:
            before = one[key].copy()
            one.set(key, before * draw.uniform(0.5, 0.9) if before.any() else 1.0)
            conductance, emf, inner = net.filled(net.inputs(one.values), one.values)
            np.testing.assert_array_equal(conductance, net.conductances(one.values), err_msg=key)
            for mine, fresh in zip((emf, inner), net.feeds(one.values), strict=True):
                np.testing.assert_array_equal(mine, fresh, err_msg=key)
            one.set(key, before)


def test_what_is_replayed_hands_nothing_on() -> None:
    """Does ignition, which is replayed, leave nothing in ``unit.kept`` that another subsystem would miss?"""
    one = make_unit(load_model("teal_10"))
    advance(one, 60.0)
    one.kept.clear()
    ignition.settle(one)
    assert not one.kept
