"""A browser without scripts behind the proxy of production: cookies, forms and nothing else."""

import http.client
from html.parser import HTMLParser
from http.cookies import SimpleCookie
from urllib.parse import urlencode, urlsplit


class Form(HTMLParser):
    """The fields of the page's one form that posts to `action`, as a browser would send them."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.forms: list[dict[str, str]] = []
        self.select = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attributes}
        if tag == "form":
            self.forms.append({})
        if not self.forms:
            return
        fields, name = self.forms[-1], given.get("name", "")
        if tag == "select":
            self.select = name
        elif tag == "option" and (self.select not in fields or "selected" in given):
            fields[self.select] = given.get("value", "")
        elif tag == "textarea":
            fields[name] = ""
        elif tag == "input" and (
            given.get("type") not in {"checkbox", "radio"} or "checked" in given
        ):
            fields[name] = given.get("value", "")


class Browser:
    """Speaks HTTP to a port as the proxy would: for the public host, over TLS it says."""

    def __init__(self, port: int, host: str) -> None:
        self.port, self.host = port, host
        self.cookies: SimpleCookie = SimpleCookie()

    def ask(self, method: str, path: str, body: str = "") -> tuple[int, dict[str, str], str]:
        """Return status, headers and text of one answer."""
        headers = {
            "Host": self.host,
            "Referer": f"https://{self.host}/",
            "X-Forwarded-Proto": "https",
            "Cookie": "; ".join(f"{name}={c.value}" for name, c in self.cookies.items()),
            "Content-Type": "application/x-www-form-urlencoded",
        }
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        connection.request(method, path, body, headers)
        answer = connection.getresponse()
        for name, value in answer.getheaders():
            if name.lower() == "set-cookie":
                self.cookies.load(value)
        text = answer.read().decode()
        connection.close()
        return answer.status, {k.lower(): v for k, v in answer.getheaders()}, text

    def send(self, path: str, **typed: str) -> tuple[int, str]:
        """Fill in the form of the page that has these fields; return status and where it leads."""
        status, _, page = self.ask("GET", path)
        assert status == 200, (status, page[:500])
        form = next(f for f in reversed(Form(page).forms) if set(typed) <= set(f))
        status, headers, page = self.ask("POST", path, urlencode({**form, **typed}))
        location = urlsplit(headers.get("location", ""))
        return status, location.path if status == 302 else page
