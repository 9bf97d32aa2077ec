"""Records and entities behave as frozen values and frozen things."""

from __future__ import annotations

import copy
import pickle

import pytest

from loomwright.record import Entity, Record, made, replace, values_of


class Cut(Record):
    """A length of cable."""

    area: float
    metres: float = 1.0
    marks: list[str] = made(factory=list)


class Bent(Cut):
    radius: float = 0.1

    def __repr__(self) -> str:
        return f"<bent {self.area}>"


class Stud(Entity):
    name: str


class Nothing(Record):
    pass


def test_a_record_is_its_values() -> None:
    assert Cut(16.0, 2.0) == Cut(16.0, metres=2.0)
    assert Cut(16.0) != Cut(25.0)
    assert Stud("a").name == "a"
    assert len({Stud("a"), Stud("a")}) == 2
    assert hash(Bent(1.0, 1.0, ())) == hash(Bent(1.0, 1.0, ()))  # type: ignore[arg-type]  # a tuple can be hashed


def test_another_kind_with_the_same_values_is_another_record() -> None:
    class Offcut(Cut):
        pass

    assert Offcut(16.0) != Cut(16.0)
    assert Nothing() == Nothing()
    assert Nothing() != ()


def test_an_entity_equals_itself_only() -> None:
    one = Stud("a")
    assert one == one
    assert one != Stud("a")


def test_a_made_default_is_not_shared() -> None:
    one, other = Cut(1.0), Cut(1.0)
    one.marks.append("x")
    assert other.marks == []
    assert Cut(1.0, 1.0, one.marks).marks is one.marks


def test_the_first_of_a_base_does_not_make_those_of_its_heirs() -> None:
    assert values_of(Cut(1.0)) == {"area": 1.0, "metres": 1.0, "marks": []}
    assert values_of(Bent(1.0, radius=0.2)) == {"area": 1.0, "metres": 1.0, "marks": [], "radius": 0.2}
    assert Bent.__match_args__ == ("area", "metres", "marks", "radius")


def test_nothing_of_it_can_be_changed() -> None:
    one = Cut(1.0)
    with pytest.raises(AttributeError, match=r"Cut\.area can't be changed"):
        one.area = 2.0  # type: ignore[misc]
    with pytest.raises(AttributeError):
        one.colour = "red"  # type: ignore[attr-defined]
    with pytest.raises(AttributeError, match="taken away"):
        del one.area


def test_wrong_arguments_are_refused() -> None:
    for wrong in (lambda: Cut(), lambda: Cut(1.0, length=2), lambda: replace(Cut(1.0), length=2)):
        with pytest.raises(TypeError):
            wrong()


def test_replace_makes_another() -> None:
    one = Bent(1.0)
    assert replace(one, area=2.0) == Bent(2.0)
    assert one.area == 1.0


def test_it_says_what_it_is() -> None:
    assert repr(Cut(1.0)) == "Cut(area=1.0, metres=1.0, marks=[])"
    assert repr(Bent(1.0)) == "<bent 1.0>"


@pytest.mark.parametrize("one", [Cut(1.0, 2.0, ["x"]), Bent(1.0), Nothing()])
def test_a_record_survives_pickling_and_copying(one: Record) -> None:
    assert pickle.loads(pickle.dumps(one)) == one
    assert copy.deepcopy(one) == one


def test_a_pattern_takes_it_apart() -> None:
    match Cut(16.0, 2.0):
        case Cut(area, metres):
            assert (area, metres) == (16.0, 2.0)
