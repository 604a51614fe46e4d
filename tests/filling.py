"""The forms of a page as a browser sends them: all that stands there, and what is typed."""

from html.parser import HTMLParser

UNSENT = {"submit", "button", "image", "reset", "file"}


class FormsOfPage(HTMLParser):
    """Reads the forms of a page, each as its address, its method and its fields."""

    def __init__(self):
        super().__init__()
        self.forms = []
        self.select = self.textarea = None

    def handle_starttag(self, tag, attributes):
        told = dict(attributes)
        if tag == "form":
            fields = {"action": told.get("action", ""), "method": told.get("method", "get")}
            self.forms.append({**fields, "fields": {}})
        elif tag == "input":
            self.read_input(told)
        elif tag == "select":
            self.select = {"name": told.get("name"), "first": None, "chosen": []}
        elif tag == "option" and self.select:
            self.read_option(told)
        elif tag == "textarea":
            self.textarea = {"name": told.get("name"), "text": ""}

    def handle_data(self, data):
        if self.textarea:
            self.textarea["text"] += data

    def handle_endtag(self, tag):
        if tag == "textarea" and self.textarea:
            # A browser drops the line end that stands right behind the tag.
            text = self.textarea["text"].removeprefix("\r").removeprefix("\n")
            self.keep(self.textarea["name"], text)
            self.textarea = None
        if tag == "select" and self.select:
            chosen = self.select["chosen"] or [self.select["first"]]
            for value in chosen:
                self.keep(self.select["name"], value)
            self.select = None

    def read_input(self, told):
        kind = told.get("type", "text")
        if kind in UNSENT or "disabled" in told:
            return
        if kind in ("checkbox", "radio") and "checked" not in told:
            return
        self.keep(told.get("name"), told.get("value", "on" if kind == "checkbox" else ""))

    def read_option(self, told):
        value = told.get("value", "")
        if self.select["first"] is None:
            self.select["first"] = value
        if "selected" in told:
            self.select["chosen"].append(value)

    def keep(self, name, value):
        if name and value is not None and self.forms:
            self.forms[-1]["fields"].setdefault(name, []).append(value)


def forms_of(answer):
    """Return the forms of a page in their order."""
    reader = FormsOfPage()
    reader.feed(answer.content.decode())
    return reader.forms


def form_with(answer, field):
    """Return the form of a page that has a field of this name, ready to be sent."""
    found = [form for form in forms_of(answer) if field in form["fields"]]
    assert found, f"No form of {answer.request['PATH_INFO']} has a field {field}."
    return found[0]


def send(browser, page, field, /, *, to=None, **typed):
    """Send the form of a page that has a field of this name, with what is typed over it."""
    form = form_with(page, field)
    told = {key: value if len(value) > 1 else value[0] for key, value in form["fields"].items()}
    address = to or form["action"] or page.request["PATH_INFO"]
    return browser.post(address, {**told, **typed})
