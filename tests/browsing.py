"""What the tests in a browser do on many pages."""

TRIES = 3


def choose(page, label, option, within=None):
    """Pick an option of a list; a list that a busy page closed again is opened once more."""
    from playwright.sync_api import TimeoutError as Late

    box = (within or page).get_by_role("combobox", name=label, exact=True)
    wanted = page.get_by_role("option", name=option, exact=True)
    for left in reversed(range(TRIES)):
        box.click()
        try:
            wanted.click(timeout=8000 if left else None)
            return
        except Late:
            if not left:
                raise
            page.keyboard.press("Escape")
