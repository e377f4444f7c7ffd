"""Reads a written page as a browser would: what is open, which tags, which words."""

from html.parser import HTMLParser

VOID = {"meta", "rect", "line", "circle", "link", "br", "path", "polyline", "polygon"}


class Reader(HTMLParser):
    """Checks that what is opened is closed, and keeps words, tags and attributes."""

    def __init__(self, page):
        super().__init__()
        self.open, self.words, self.tags, self.wrong = [], [], [], []
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)

    def handle_data(self, data):
        if self.open and self.open[-1] != "style":
            self.words.append(data)
