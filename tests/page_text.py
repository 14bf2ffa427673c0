"""What a person reads on a page: its text without tags, and its tables cell by cell."""

import html
import re


def words(content):
    """The text of a page."""
    return html.unescape(" ".join(re.sub(r"<[^>]+>", " ", str(content)).split()))


def table(content, caption=""):
    """Head and rows of the table with this caption, or of the first one, as texts."""
    tables = re.findall(r"<table.*?</table>", str(content), re.S)
    wanted = next(each for each in tables if not caption or f"<caption>{caption}</caption>" in each)
    lines = re.findall(r"<tr>(.*?)</tr>", wanted, re.S)
    return [[words(cell) for cell in re.findall(r"<t[hd].*?</t[hd]>", line, re.S)] for line in lines]


def facts(content):
    """Names and values of a list of facts."""
    pairs = re.findall(r"<dt>(.*?)</dt><dd>(.*?)</dd>", str(content), re.S)
    return {words(name): words(value) for name, value in pairs}


def links(content):
    """Addresses by the words that lead there."""
    found = re.findall(r'<a href="([^"]*)"[^>]*>(.*?)</a>', str(content), re.S)
    return {words(text): html.unescape(address) for address, text in found}
