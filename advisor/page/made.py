"""What a view makes: a screen to be filled in, an address to go on to, or a file."""


class Screen:
    """What a view makes: the name of a template and what is put into it. status: of the answer."""

    def __init__(self, template, status=200, **values):
        self.template, self.status, self.values = template, status, values


class Move:
    """What a view makes to go on elsewhere: an address."""

    def __init__(self, address):
        self.address = address


class File:
    """What a view makes to give a file: its bytes and its kind; name: under which it is kept, "" to be shown."""

    def __init__(self, data, kind, name="", *, keep=False):
        self.data, self.kind, self.name, self.keep = data, kind, name, keep
