"""The one form, the links and the page for rejecting, by which findings of a page are decided."""

import html
import re

from fastapi.testclient import TestClient

from tests.pipelines.review.sample import ID, Bench, place
from tests.pipelines.review.test_pages import PAGE, _at, _seen, _states, _whole


def test_the_page_for_rejecting_asks_why(client: TestClient, bench: Bench) -> None:
    page = client.get(_at(1, "reject")).text
    assert "left front outer brake pad" in page
    assert re.search(r'<input id="reason"[^>]* autofocus', page)
    client.post(_at(1, "reject"), data=_seen(bench, 1) | {"reason": "a test"})
    assert client.get(_at(1, "reject")).status_code == 404  # decided: undone first
    client.cookies.delete("reviewer")
    answer = client.post(_at(2, "reject"), data=_seen(bench, 2) | {"reason": "kept as typed"})
    assert (answer.status_code, 'value="kept as typed"' in answer.text) == (422, True)


def test_the_buttons_of_the_page_say_what_they_do(client: TestClient, bench: Bench) -> None:
    def press(words: str):
        said = re.search(rf'<button form="d" name="do"[^>]* value="([^"]*)">{words}', client.get(PAGE).text)
        assert said is not None
        return client.post(f"{PAGE}/decide", data={"do": html.unescape(said[1])}), said[1]

    answer, said = press("Confirm")
    assert answer.headers["location"] == f"{PAGE}?said=confirm#{place(2)}"
    assert said.endswith("left front outer brake pad, thickness 6.0 mm")
    assert press("Take 13.5 psi")[0].headers["location"] == f"{PAGE}?said=correct#{place(4)}"
    assert press("Undo")[0].headers["location"] == f"{PAGE}?said=reopen#{place(1)}"
    assert _states(bench)[:3] == ["proposed", "proposed", "corrected"]
    stale = client.post(f"{PAGE}/decide", data={"do": f"confirm {place(2)[2:]} 0000 pad 6.0 mm"})
    assert (stale.status_code, "Confirm: pad 6.0 mm" in stale.text) == (409, True)
    gone = client.post(f"{PAGE}/decide", data={"do": "confirm 999999999999 0000 pad 6.0 mm"})
    assert (gone.status_code, "no longer in the record" in gone.text) == (409, True)
    for nonsense in ("", "sign", "reject x y", "confirm-plain", "correct a b"):
        assert client.post(f"{PAGE}/decide", data={"do": nonsense}).status_code in {400, 409}
    assert len(bench.store.events(ID)) == 3


def test_links_of_the_page_lead_to_one_finding(client: TestClient) -> None:
    for name in ("edit", "reject", "arrange"):
        assert f'href="?{name}={place(3)[2:]}"' in client.get(PAGE).text
        answer = client.get(f"{PAGE}?{name}={place(3)[2:]}")
        assert (answer.status_code, answer.headers["location"]) == (303, _at(3, name))
        assert client.get(answer.headers["location"]).status_code == 200
        doubts = client.get(f"{PAGE}?order=attention&{name}={place(3)[2:]}").headers["location"]
        assert doubts == f"{_at(3, name)}?order=attention"
        assert client.get(f"{PAGE}?{name}=x").status_code == 404
    # a page that answers a form has another address than its own
    refused = client.post(f"{PAGE}/sign", data=_whole(client) | {"by": "A"})
    assert f'href="{PAGE}?edit={place(3)[2:]}"' in refused.text
