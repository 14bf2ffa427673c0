"""A simulated visitor of the bench, by the page toolkit's own means: no browser, no socket."""

import asyncio
import html
import re
import sys

from aside import done
from sagger.desk import people
from sagger.web.security import COOKIE, AccessRules
from sagger.web.tries import Tries

PASSWORD = "a long enough word"
EMPTY = {  # every page, and what it says in a shop where nothing has been done
    "/": "No orders yet.",
    "/new": "New order",
    "/cell": "No order is in the book yet.",
    "/cards": "curing oven for one job box",
    "/cards/powder/steel-316l?line=packing": "Change: packing",
    "/cards/powder/none": "none",
    "/readings": "No powder is booked in yet.",
    "/lots/none": "none",
    "/factors": "None is approved yet.",
    "/charts": "No readings are in the ledger yet.",
    "/people": "No accounts",
    "/job/7": "there is no job 7",
    "/job/7/bed": "There is nothing to see yet",
    "/job/7/layers": "There is nothing to see yet",
    "/job/7/part": "Back to the route",
    "/job/7/part/lever": "There is nothing to see yet",
    "/job/7/price": "there is no job 7",
    "/job/7/programmes": "there is no job 7",
    "/job/7/change": "there is no job 7",
    "/compare?one=7&other=8": "there is no job 7",
}


class Visitor:
    """Someone before a page: reads it, fills fields, presses buttons."""

    def __init__(self, user):
        self.user = user

    async def open(self, path):
        await self.user.open(path)
        assert self.unruled() == []

    def heard(self):
        """Every event that the page hears: element, listener, and the role it needs."""
        from sagger.web import events

        return [
            (element, listener, events.rule(element, listener.type))
            for element in self.user.client.elements.values()
            for listener in element._event_listeners.values()
        ]

    def unruled(self):
        """Events that the page would hear from anybody."""
        from sagger.web import events

        strange = [(type(element).__name__, each.type) for element, each, may in self.heard() if may is None]
        return [each for each in strange if each[1] not in events.UNHEARD]

    def sign_in(self, name):
        self.user.http_client.cookies.set(COOKIE, people.log_in(name, PASSWORD))

    def text(self):
        from nicegui import ui

        elements = self.user.current_layout.descendants()
        parts = [
            each.content if isinstance(each, ui.html) else each.text
            for each in elements
            if isinstance(each, ui.html | ui.label)
        ]
        return html.unescape(" ".join(re.sub(r"<[^>]+>", " ", " ".join(parts)).split()))

    def fill(self, values):
        """Set every field of these labels."""
        fields = [
            each for each in self.user.current_layout.descendants() if each.props.get("label") in values
        ]
        assert {each.props["label"] for each in fields} == set(values)
        for field in fields:
            field.value = values[field.props["label"]]

    def press(self, words, times=1):
        from nicegui import ui
        from nicegui.testing.user_interaction import UserInteraction

        faces = [each for each in self.user.current_layout.descendants() if isinstance(each, ui.html)]
        button = next(each.parent_slot.parent for each in faces if html.unescape(each.content) == words)
        for _ in range(times):
            UserInteraction(self.user, {button}, None).trigger("click")

    async def wait(self):
        await asyncio.sleep(0.02)

    async def sees(self, words):
        for _ in range(500):
            if words in self.text():
                return
            await self.wait()
        raise AssertionError(f"{words!r} is not shown, but {self.text()[:2000]!r}")


def visit(walk, **rules):
    """Go through a walk with a bench of its own on the shop of this file."""

    async def go():
        from nicegui import app
        from nicegui.testing.user_simulation import user_simulation

        from sagger.web import pages

        loaded = dict(sys.modules)  # the simulation forgets those of the pages, and all above them
        try:
            async with user_simulation() as user:
                app.state.rules, app.state.tries = AccessRules(**rules), Tries()
                pages.register_all()
                await walk(Visitor(user))
        finally:
            sys.modules |= loaded

    done(go())
