"""The OpenAPI document and its page, and what starting the service loads."""

from __future__ import annotations

import re
import subprocess
import sys

from flask.testing import FlaskClient


def test_the_document_lists_every_route(client: FlaskClient) -> None:
    """OpenAPI 3.1, with every address and method of the service and no other."""
    document = client.get("/api/v1/openapi.json").get_json()
    assert document["openapi"].startswith("3.1")
    listed = {
        (path, method.upper())
        for path, item in document["paths"].items()
        for method in item
        if method != "parameters"
    }
    served = set()
    for rule in client.application.url_map.iter_rules():
        path = re.sub(r"<(?:\w+:)?(\w+)>", r"{\1}", str(rule))
        # What does not begin so is a place of the page.
        if path.startswith("/api/") and not path.startswith(("/api/v1/docs", "/api/v1/openapi.json")):
            served |= {(path, method) for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}}
    assert listed == served
    assert ("/api/v1/ideas", "POST") in served
    for path, item in document["paths"].items():
        for method, operation in item.items():
            if method != "parameters":
                assert "default" not in operation["responses"], path
                assert {"422", "500"} <= set(operation["responses"])


def test_the_page_needs_nothing_from_elsewhere(client: FlaskClient) -> None:
    """No outside address in the page, no checking service, and every file is served here."""
    page = client.get("/api/v1/docs")
    html = page.get_data(as_text=True)
    assert page.status_code == 200
    assert not re.search(r"(https?:)?//\w", html)
    assert '"validatorUrl": null' in html
    policy = page.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "http" not in policy
    files = re.findall(r'(?:href|src)="([^"]+)"', html)
    assert len(files) == 3
    for address in files:
        with client.get(address) as response:
            assert response.status_code == 200
            assert len(response.get_data()) > 10_000
    assert client.get("/api/v1/docs/files/index.html").status_code == 404


def test_starting_the_service_loads_no_heavy_library() -> None:
    """What only some questions need is loaded when they are asked."""
    code = (
        "import sys, api.app, api.questions; "
        "print([m for m in ('colour', 'sklearn', 'pandas', 'scipy') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_questions_need_no_web_library() -> None:
    """The command line answers without loading Flask or marshmallow."""
    code = (
        "import sys, api.questions; "
        "print([m for m in ('flask', 'flask_smorest', 'marshmallow') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
