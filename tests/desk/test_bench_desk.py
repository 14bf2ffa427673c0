"""Drafts, versions, own cards and accounts: what the bench asks of the desk."""

import io
import zipfile

import pytest

from sagger import cards
from sagger.desk import people, uploads
from sagger.desk.cards import own_cards
from sagger.desk.measuring import approvals
from sagger.desk.planning import bundle, drafts, history
from sagger.errors import CardError, InputError, OrderError

BLOCK = """solid block
facet normal 0 0 0\nouter loop\nvertex 0 0 0\nvertex 0 9 0\nvertex 9 0 0\nendloop\nendfacet
facet normal 0 0 0\nouter loop\nvertex 0 0 0\nvertex 9 0 0\nvertex 0 0 9\nendloop\nendfacet
facet normal 0 0 0\nouter loop\nvertex 0 0 0\nvertex 0 0 9\nvertex 0 9 0\nendloop\nendfacet
facet normal 0 0 0\nouter loop\nvertex 9 0 0\nvertex 0 9 0\nvertex 0 0 9\nendloop\nendfacet
endsolid block
"""
TABLES = {
    "order": {"name": "blocks"},
    "cards": {"powder": "steel-316l", "box": "box-160x65x65"},
    "choices": {"layer": "50 um"},
    "part": [{"file": "block.stl", "unit": "mm", "quantity": 2, "tolerance": "0.5 %"}],
}
STRETCH = {"stage": "sintering", "rate": "6 K/min", "target": "1300 degC", "hold": "1 h"}
STRETCH |= {"atmosphere": "hydrogen"}


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path))
    monkeypatch.delenv("SAGGER_LEDGER_URL", raising=False)
    return tmp_path


@pytest.fixture
def draft():
    token = uploads.begin()
    uploads.place(token, "block.stl").write_text(BLOCK)
    return token


@pytest.mark.slow
def test_a_file_that_came_is_read_once_and_told(draft, monkeypatch):
    (file,) = drafts.uploaded(draft)
    assert (file.kind, file.size, file.triangles, file.needs_unit) == ("STL", (9.0, 9.0, 9.0), 4, True)
    monkeypatch.setattr("sagger.desk.planning.drafts._look", None)
    assert drafts.uploaded(draft)[0].kind == "STL"


@pytest.mark.parametrize("name", ["../x.stl", "/etc/x.stl", "..\\x.stl", "a/b/x.stl", "C:\\x.stl"])
def test_a_name_is_taken_without_its_folders(draft, name):
    assert uploads.place(draft, name) == uploads.folder(draft) / "x.stl"


@pytest.mark.parametrize("name", ["x.exe", "", ".stl", "x.stl\0.exe", "x.zip"])
def test_other_kinds_of_file_are_not_taken(draft, name):
    with pytest.raises(InputError, match="not read here"):
        uploads.place(draft, name)


@pytest.mark.parametrize("token", ["", "..", "0" * 23, "../orders"])
def test_nobody_else_finds_a_draft(token):
    with pytest.raises(InputError, match="no such draft"):
        uploads.folder(token)


@pytest.mark.slow
def test_a_change_is_a_new_version_beside_the_old(draft, home):
    first = drafts.save(draft, TABLES, "ann")
    second = drafts.change(first, TABLES | {"choices": {"layer": "60 um"}}, "paul")
    assert drafts.tables(first)["choices"] == {"layer": "50 um"}
    assert drafts.tables(second)["choices"] == {"layer": "60 um"}
    newest, oldest = history.versions_of(first)
    assert (newest.number, newest.person, newest.changes) == (2, "paul", ("layer: 50 um → 60 um",))
    assert (oldest.number, oldest.changes) == (1, ())
    assert len(list((home / "orders").iterdir())) == 2


@pytest.mark.slow
def test_a_change_of_nothing_is_no_version(draft):
    first = drafts.save(draft, TABLES, "ann")
    with pytest.raises(InputError, match="nothing differs"):
        drafts.change(first, TABLES, "ann")


@pytest.mark.parametrize(
    "wrong",
    [
        {"choices": {"layer": "50 kg"}},
        {"part": [TABLES["part"][0] | {"file": "other.stl"}]},
        {"part": [TABLES["part"][0] | {"file": "../../../etc/hostname"}]},
        {"cards": {"powder": "unobtainium"}},
        {"furnace_programme": [STRETCH | {"target": "3000 degC"}]},
        {"furnace_programme": [STRETCH | {"atmosphere": "air"}]},
    ],
)
def test_what_does_not_fit_leaves_no_version_behind(draft, home, wrong):
    with pytest.raises((OrderError, CardError)):
        drafts.save(draft, TABLES | wrong, "ann")
    assert list((home / "orders").iterdir()) == []
    assert uploads.folder(draft).is_dir()


@pytest.mark.slow
def test_a_programme_of_the_order_stands_before_the_cards(draft):
    from sagger.desk.planning.orders import named

    own = {"furnace_programme": [STRETCH], "choices": {"oven": "190 degC"}}
    own["oven_programme"] = [{"rate": "2 K/min", "target": "90 degC"}]
    version = drafts.save(draft, TABLES | own, "ann")
    cell = named(next(iter((history.ledger().folder / "orders").iterdir())) / "order.toml")[1]
    (segment,) = cell.powder.sintering.programme
    assert (round(segment.rate, 6), segment.target, segment.hold, segment.standing) == (
        0.1,
        1573.15,
        3600,
        "assumed",
    )
    assert cell.binder.oven_temperature.printed == "190 degC"
    assert cell.binder.programme[0].target.printed == "90 degC"
    assert {"order"} <= {figure.source for figure in cards.weak(cell)}
    assert version == 1


def test_a_figure_is_changed_on_a_card_of_ones_own(home):
    own_cards.add_source("own-1", "Weighed here", "12 readings")
    said = {"value": "0.57 -", "u": "0.01 -", "source": "own-1", "where": "sheet 3", "standing": "measured"}
    own_cards.change("powder", "steel-316l", "packing", said)
    card = cards.load("powder", "steel-316l", (home / "cards",))
    assert (card.packing.value, card.packing.u, card.packing.standing) == (0.57, 0.01, "measured")
    assert own_cards.own("powder", "steel-316l")
    own_cards.change("powder", "steel-316l", "packing", said | {"value": "0.58 -"})
    (earlier,) = (home / "cards" / "powders" / "earlier").iterdir()
    assert 'value = "0.57 -"' in earlier.read_text()


@pytest.mark.parametrize(
    ("path", "said", "why"),
    [
        ("packing", {"value": "0.57 kg"}, "unit of mass"),
        ("packing", {"value": "1.57 -"}, "between 0 and 1"),
        ("packing", {"value": "0.57 -", "source": "nobody"}, "no source has this key"),
        ("hazards", {"value": "none"}, "written as it was"),
        ("spin", {"value": "1 -"}, "no such line"),
    ],
)
def test_a_card_that_would_be_refused_is_not_kept(home, path, said, why):
    entry = {each.path: dict(each.parts) for each in own_cards.entries("powder", "steel-316l")}.get(path, {})
    entry.pop("range", None)
    with pytest.raises(CardError, match=why):
        own_cards.change("powder", "steel-316l", path, entry | said)
    assert not own_cards.own("powder", "steel-316l")


@pytest.mark.slow
def test_accounts_come_in_by_their_word_only():
    people.add("Ann", "approve", "a long enough word")
    assert people.log_in("Ann", "another long word") is None
    assert people.log_in("Bob", "a long enough word") is None
    token = people.log_in("Ann", "a long enough word")
    assert people.of_session(token)[:2] == ("Ann", "approve")
    people.add("Ann", "look", "a long enough word")
    assert people.of_session(token) is None


def test_an_account_that_is_opened_again_is_one_and_its_sessions_end(home):
    people.add("Ann", "approve", "a long enough word")
    before, token = people.listed(), people.log_in("Ann", "a long enough word")
    people.add("Ann", "approve", "a long enough word")
    assert people.listed() == before and people.of_session(token) is None
    with history.ledger().reading() as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM person").scalar() == 1
    people.add("Ann", "approve", "another long word")
    assert people.log_in("Ann", "a long enough word") is None


@pytest.mark.parametrize(
    ("name", "role", "word"),
    [("Ann", "boss", "long enough!"), ("Ann", "look", "short"), ("<b>", "look", "long enough!")],
)
def test_an_account_that_makes_no_sense_is_refused(name, role, word):
    with pytest.raises(InputError):
        people.add(name, role, word)
    assert people.listed() == []


def test_a_role_may_do_what_the_ones_before_it_may():
    assert [people.may("plan", each) for each in people.ROLES] == [True, True, False]
    assert not people.may("", "look")


@pytest.mark.slow
def test_a_job_without_a_plan_is_not_approved(draft):
    from sagger.ledger import jobs

    job = jobs.ask(history.ledger(), "n", "f", drafts.save(draft, TABLES, "ann"), "ann")
    with pytest.raises(InputError, match="came to its end"):
        approvals.approve_plan(job, "Ann")
    with pytest.raises(InputError, match="no such file"):
        bundle.file(job, 1, "traveller.pdf")


def test_layers_are_zipped_in_pieces_and_come_back_whole(tmp_path):
    folder = tmp_path / "layers"
    (folder / "passes").mkdir(parents=True)
    content = {"00001.tif": b"a" * 700_000, "passes/00001-01.tif": b"b", "manifest.jsonl": b"{}"}
    for name, body in content.items():
        (folder / name).write_bytes(body)
    pieces = list(bundle.zipped(folder))
    assert max(map(len, pieces)) < 400_000
    with zipfile.ZipFile(io.BytesIO(b"".join(pieces))) as inside:
        assert {name: inside.read(name) for name in inside.namelist()} == content
    assert b"".join(bundle.zipped(folder)) == b"".join(pieces)
