"""What is answered where there is nothing, or where something went wrong."""

import httpx
import pytest
from fastapi import FastAPI

from aside import done
from sagger.web import error_pages

HTML = {"accept": "text/html"}


@pytest.fixture
def get():
    """Asks an application of two addresses."""
    app = FastAPI()
    error_pages.register(app)

    @app.get("/job/{number}")
    def job(number: int):
        return {"job": number}

    @app.get("/broken")
    def broken():
        raise RuntimeError("<no> such thing")

    async def ask(path, **headers):
        transport = httpx.ASGITransport(app, raise_app_exceptions=False)
        async with httpx.AsyncClient(transport=transport, base_url="http://bench") as client:
            return await client.get(path, headers=headers)

    return lambda path, **headers: done(ask(path, **headers))


def test_an_address_that_leads_nowhere_says_so_with_a_way_back(get):
    answer = get("/nosuch", **HTML)
    assert answer.status_code == 404
    assert "There is no such page here." in answer.text and 'href="/"' in answer.text
    assert get("/nosuch").text == "There is no such page here.\n"


def test_a_job_that_is_no_number_is_refused_in_words(get):
    answer = get("/job/abc", **HTML, cookie="sagger_theme=dark")
    assert (answer.status_code, "number: " in answer.text) == (404, True)
    assert "body--dark" in answer.text
    assert get("/job/3").json() == {"job": 3}


def test_what_goes_wrong_is_logged_and_shown_without_its_details(get, caplog):
    answer = get("/broken", **HTML)
    assert answer.status_code == 500
    assert "such thing" not in answer.text
    assert "such thing" in caplog.text
