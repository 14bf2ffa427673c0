"""A page fetches its parts by a name of its own; what a browser sends is a triangle's number and no path."""

from types import SimpleNamespace

import pytest

from aside import done
from sagger.desk.pictures import faces, workers
from sagger.desk.pictures.faces import PartSource
from sagger.web import events, handles, picture_api
from sagger.web.elements.part import PartView

SOURCE = PartSource("/home/a/block.stl", "mm")


def asking(name):
    return SimpleNamespace(state=SimpleNamespace(person=SimpleNamespace(name=name)))


def test_a_name_counts_for_the_person_it_was_given_to_and_until_it_is_dropped(monkeypatch):
    asked = []

    async def ask(crew, what, *given):
        asked.append((crew, what, *given))
        return b"made"

    monkeypatch.setattr(workers, "ask", ask)
    name = handles.give("Ann", SOURCE)
    assert name != handles.give("Ann", SOURCE) and len(name) == 32
    assert done(picture_api.drawn_form(name, 150, asking("Ann"))).body == b"made"
    assert asked == [("faces", faces.form, SOURCE, 150)]
    for wrong, person in ((name, "Paul"), ("../../etc/passwd", "Ann"), (SOURCE.path, "Ann")):
        assert done(picture_api.drawn_form(wrong, 150, asking(person))).status_code == 404
    handles.drop(name)
    assert done(picture_api.drawn_form(name, 150, asking("Ann"))).status_code == 404
    assert len(asked) == 1


def test_the_oldest_names_go_first(monkeypatch):
    monkeypatch.setattr(handles, "MOST", 2)
    monkeypatch.setattr(handles, "_HELD", {})
    first, *others = [handles.give("Ann", SOURCE) for _ in range(3)]
    assert handles.part(first, "Ann") is None
    assert all(handles.part(name, "Ann") == SOURCE for name in others)


@pytest.mark.parametrize(
    "sent", [None, "7", {}, {"triangle": "7"}, {"triangle": 7.5}, {"triangle": True}, {"triangle": -2},
             {"triangle": 2**31}, {"triangle": "/etc/passwd"}, [7]],
)  # fmt: skip
def test_what_is_no_number_of_a_triangle_is_not_heard(monkeypatch, sent):
    heard, picked = [], []
    monkeypatch.setattr(events, "on", lambda element, event, act, *, may: heard.append((event, act, may)))
    monkeypatch.setattr(PartView, "__init__", lambda self: setattr(self, "_props", {}))
    PartView().hear(lambda triangle, second: picked.append((triangle, second)), may="look")
    ((event, act, may),) = heard
    act(sent)
    assert (event, may, picked) == ("picked", "look", [])
    act({"triangle": 7, "second": True})
    act({"triangle": -1, "second": "yes"})
    assert picked == [(7, True), (-1, False)]
