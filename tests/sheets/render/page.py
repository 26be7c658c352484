"""A page taken apart, for tests to look into."""

from collections import Counter
from html.parser import HTMLParser

from formcheck.sheets.render.html import ClipLink, client_html, coach_html

CLIP = ClipLink(180, 320, 24.0, src="annotated.mp4")
VOID = {"meta", "img", "input", "br"}


class Page(HTMLParser):
    """A page taken apart: its tags, attributes and text, with nesting checked on the way."""

    def __init__(self, html):
        super().__init__()
        self.tags, self.attributes, self.open, self.text = Counter(), [], [], []
        self.feed(html)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.tags[tag] += 1
        self.attributes += [(tag, name, value or "") for name, value in attrs]
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags[tag] += 1
        self.attributes += [(tag, name, value or "") for name, value in attrs]

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text.append(data)

    def values(self, name):
        return [value for _, own, value in self.attributes if own == name]

    @property
    def words(self):
        return " ".join(" ".join(self.text).split())


def pages_of(sheet, words):
    return {
        "client": "".join(client_html(sheet, words)),
        "coach": "".join(coach_html(sheet, words)),
        "client with clip": "".join(client_html(sheet, words, CLIP)),
        "coach with clip": "".join(coach_html(sheet, words, CLIP)),
    }
