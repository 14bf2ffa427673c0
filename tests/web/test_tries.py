"""How often a password may be tried, by whom and from where; connections that are begun and not ended."""

import asyncio

import pytest

from aside import done
from sagger.desk import passwords, people
from sagger.errors import InputError
from sagger.web import half_open, tries
from sagger.web.tries import Tries, device_word, recognised


def turned_away(many, name="Ann", address="1.2.3.4", device="", counted=None):
    counted = counted or Tries(lambda: 0.0)
    return sum(counted.begin(name, address, device) > 0 for _ in range(many))


def test_tries_at_once_are_counted_before_the_first_is_looked_at():
    assert turned_away(60) == 60 - tries.BY_PAIR


def test_an_attacker_elsewhere_and_one_behind_the_same_address_do_not_shut_out_a_known_browser():
    counted, secret = Tries(lambda: 0.0), "kept"
    word = device_word("Ann", secret)
    for number in range(500):
        counted.begin("Ann", f"1.2.3.{number % 200}", "")
        counted.begin(f"name {number}", "9.9.9.9", "")
    assert counted.begin("Ann", "9.9.9.9", recognised(word, "Ann", secret)) == 0.0


def test_other_names_behind_an_address_go_on_after_one_was_tried_too_often():
    counted = Tries(lambda: 0.0)
    assert turned_away(10, counted=counted) == 10 - tries.BY_PAIR
    assert counted.begin("Ben", "1.2.3.4", "") == 0.0


def test_many_names_from_one_address_and_many_addresses_for_one_name_are_slowed_down():
    counted = Tries(lambda: 0.0)
    assert sum(counted.begin(f"n{k}", "1.2.3.4", "") > 0 for k in range(100)) == 100 - tries.BY_ADDRESS
    assert sum(counted.begin("Ann", f"a{k}", "") > 0 for k in range(100)) == 100 - tries.BY_ACCOUNT


def test_the_right_word_clears_the_count_and_time_does():
    clock = [0.0]
    counted = Tries(lambda: clock[0])
    assert turned_away(4, counted=counted) == 0
    counted.end("Ann", "1.2.3.4", "")
    assert turned_away(6, counted=counted) == 1
    wait = counted.begin("ann", "1.2.3.4", "")  # another spelling is the same account
    assert 0 < wait <= tries.WITHIN_S
    clock[0] += wait + 0.1
    assert counted.begin("Ann", "1.2.3.4", "") == 0.0


def test_the_counts_do_not_grow_for_ever(monkeypatch):
    monkeypatch.setattr(tries, "MOST_KEPT", 100)
    counted = Tries(lambda: 0.0)
    for number in range(1000):
        counted.begin(f"n{number}", f"a{number}", "")
    assert len(counted._times) <= 100


def test_a_browser_is_known_to_its_own_account_only_and_not_after_the_word_changed():
    word = device_word("Ann", "kept")
    assert recognised(word, "Ann", "kept")
    assert not recognised(word, "Ben", "kept")
    assert not recognised(word, "Ann", "changed")
    assert not recognised("", "Ann", "kept")
    assert not recognised("\u00e4.\u00e4", "Ann", "")


@pytest.mark.parametrize(
    "word",
    [
        *("aaaaaaaaaaaaaa", "passwordpassword", "P@ssw0rd2024!", "qwertyuiop123", "123456789012"),
        *("letmein12345", "1q2w3e4r5t6y7u", "annannannann1", "Summer2026!!!", "abcabcabcabc", "short"),
        *("x" * 129, "SaggerSagger1"),
    ],
)
def test_what_everybody_tries_first_is_no_password(word):
    with pytest.raises(InputError, match=r"tried first|12 to 128"):
        passwords.check(word, "Ann")


@pytest.mark.parametrize(
    "word", ["a long enough word", "kiln shelf nickel rain", "Xk29vmQp71zT", "Zähne größer \u4f60"]
)
def test_what_nobody_tries_first_is(word):
    passwords.check(word, "Ann")


def test_names_that_look_like_one_another_are_one(monkeypatch):
    monkeypatch.setattr(people, "listed", lambda: [people.User("Looker", "look", "")])
    for name in ("looker", "Looker.", "L00ker", "\u041bооker", "L\u043e\u043eker", "\uff2cooker"):
        if people._looks(name) == "looker":
            with pytest.raises(InputError, match="looks like"):
                people._refuse_lookalike(name)
        else:
            assert name.startswith("\u041b")  # another letter, and it looks like another
    people._refuse_lookalike("Looker")
    people._refuse_lookalike("Locker")


def test_a_guess_costs_what_is_asked_today():
    """OWASP, Password Storage Cheat Sheet, scrypt: N = 2^17, r = 8, p = 1 at least."""
    assert people.COST.log2_n >= 17
    assert (people.COST.r, people.COST.p) == (8, 1)


@pytest.mark.slow
def test_a_word_kept_by_an_edition_before_still_fits_and_is_kept_anew(tmp_path, monkeypatch):
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path))
    monkeypatch.delenv("SAGGER_LEDGER_URL", raising=False)
    salt = bytes(16)
    old = f"{salt.hex()}:{people._hashed('a long enough word', salt, people.OLD).hex()}"
    people.people.put(people.ledger(), "Ann", "plan", old)
    token = people.log_in("Ann", "a long enough word")
    assert people.secret("Ann").startswith("scrypt:17:8:1:")
    assert people.of_session(token)[:2] == ("Ann", "plan")


async def talk(*pieces, pause=0.05):
    """What a server with the patience of 0.2 s answers to pieces sent one by one; None while it waits."""
    import uvicorn

    async def app(scope, receive, send):
        await send({"type": "http.response.start", "status": 200, "headers": [(b"content-length", b"2")]})
        await send({"type": "http.response.body", "body": b"ok"})

    config = uvicorn.Config(app, http=half_open.PatientProtocol, lifespan="off", log_level="critical")
    config.load()
    state = uvicorn.server.ServerState()
    loop = asyncio.get_running_loop()
    made = lambda: half_open.PatientProtocol(config=config, server_state=state, app_state={})  # noqa: E731
    server = await loop.create_server(made, "127.0.0.1", 0)
    read, write = await asyncio.open_connection(*server.sockets[0].getsockname()[:2])
    for piece in pieces:
        write.write(piece)
        await asyncio.sleep(pause)
    try:
        return await asyncio.wait_for(read.read(), 1.5)
    finally:
        write.close()
        server.close()


@pytest.mark.slow
def test_a_request_that_is_begun_and_not_ended_is_closed(monkeypatch):
    monkeypatch.setattr(half_open, "HEAD_S", 0.2)
    assert done(talk()) == b""
    assert done(talk(b"GET / HTTP/1.1\r\n", b"Host: x\r\n", b"A: b\r\n")) == b""
    whole = b"GET / HTTP/1.1\r\nHost: x\r\n\r\n"
    answer = done(talk(whole, b"GET / HTTP/1.1\r\n"))
    assert answer.count(b"200 OK") == 1  # the first is answered, the second not waited for
