"""A block of HTML as a browser reads it, and a text that must never become markup."""

from html.parser import HTMLParser

EVIL = """<script>alert("1")</script> & 'Söhne'"""


class Page(HTMLParser):
    """The tags, links, labels and text of a block."""

    def __init__(self, block):
        super().__init__(convert_charrefs=True)
        self.tags, self.links, self.labels, self.text = set(), [], [], ""
        self.feed(block)

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        named = dict(attrs)
        if "href" in named:
            self.links.append(named["href"])
        if "aria-label" in named:
            self.labels.append(named["aria-label"])
        assert not any(name.startswith("on") for name in named)

    def handle_data(self, data):
        self.text += data
