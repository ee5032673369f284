"""What is sent, by whom, and what counts as an answer."""

import json
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, Request, Route

from tests.browser.site.modules import PACK, open_device

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SAVE = "async (count) => { for (let n = 0; n < count; n += 1) await site.save(); }"
START = "() => { site.start(); }"
SENT = "async () => (await site.db.all('events')).map((event) => event.sent)"
RESTS = "() => !['sending', undefined].includes(site.state?.state)"


def sent_in(request: Request) -> list[dict[str, Any]]:
    assert request.post_data is not None
    events: list[dict[str, Any]] = json.loads(request.post_data)["events"]
    return events


def stored(route: Route) -> None:
    rows = [{"id": event["id"], "result": "stored"} for event in sent_in(route.request)]
    route.fulfill(json={"results": rows})


class Server:
    """Answers ``/site/events/`` as the test says, one after the other, the last for ever."""

    def __init__(self, profile: BrowserContext, *answers: Callable[[Route], None]) -> None:
        self.answers = list(answers)
        self.requests: list[Request] = []
        profile.route("**/site/events/", self._answer)

    def _answer(self, route: Route) -> None:
        self.requests.append(route.request)
        answer = self.answers.pop(0) if len(self.answers) > 1 else self.answers[0]
        answer(route)

    def sizes(self) -> list[int]:
        return [len(sent_in(request)) for request in self.requests]


def at_rest(page: Page) -> dict[str, Any]:
    page.wait_for_function(RESTS)
    state: dict[str, Any] = page.evaluate("() => site.state")
    return state


def sign_in_page(route: Route) -> None:
    route.fulfill(status=200, content_type="text/html", body="<title>Guest network</title>")


def test_events_are_sent_in_order_and_stay_on_the_device(
    profile: BrowserContext, site: str
) -> None:
    server = Server(profile, stored)
    page = open_device(profile, site)
    page.evaluate(SAVE, 3)

    page.evaluate(START)

    state = at_rest(page)
    assert (state["state"], state["unsent"]) == ("idle", 0)
    assert state["sentence"] == "Everything is sent."
    assert page.evaluate(SENT) == [1, 1, 1]
    assert page.evaluate("() => site.read()")["unsent"] == 0
    [request] = server.requests
    assert [event["seq"] for event in sent_in(request)] == [1, 2, 3]
    assert {"pack", "assessor", "sent"}.isdisjoint(sent_in(request)[0])
    headers = request.all_headers()
    assert headers["authorization"] == f"Pack {PACK['token']}"
    assert "cookie" not in headers


@pytest.mark.parametrize(
    "answer",
    [
        sign_in_page,
        lambda route: route.fulfill(status=500, body="Server Error"),
        lambda route: route.fulfill(status=302, headers={"Location": "/site/"}),
        lambda route: route.fulfill(json={"results": [{"id": "other", "result": "stored"}]}),
        lambda route: route.fulfill(json=None),
        lambda route: route.abort(),
    ],
    ids=["sign-in page", "500", "redirect", "other ids", "garbage", "no signal"],
)
def test_what_is_no_answer_acknowledges_nothing(
    profile: BrowserContext, site: str, answer: Callable[[Route], None]
) -> None:
    Server(profile, answer)
    page = open_device(profile, site)
    page.evaluate(SAVE, 2)

    page.evaluate(START)

    state = at_rest(page)
    assert (state["state"], state["unsent"]) == ("waiting", 2)
    assert state["retryAt"] is not None
    assert page.evaluate(SENT) == [0, 0]

    profile.unroute("**/site/events/")
    Server(profile, stored)
    page.evaluate("() => site.sendNow()")
    assert page.evaluate(SENT) == [1, 1]


def test_only_what_an_answer_lists_is_acknowledged(profile: BrowserContext, site: str) -> None:
    def first_alone(route: Route) -> None:
        row = {"id": sent_in(route.request)[0]["id"], "result": "aside"}
        route.fulfill(json={"results": [{**row, "reason": "signed_off", "sentence": "Kept."}]})

    server = Server(profile, first_alone, sign_in_page)
    page = open_device(profile, site)
    page.evaluate(SAVE, 3)

    page.evaluate(START)

    assert at_rest(page)["unsent"] == 2
    assert server.sizes() == [3, 2]
    assert page.evaluate(SENT) == [1, 0, 0]
    aside = page.evaluate("async () => (await site.db.all('events'))[0].aside")
    assert aside == {"reason": "signed_off", "sentence": "Kept."}
    assert page.evaluate("() => site.state.aside") == 1


def test_a_refused_token_asks_for_a_sign_in_and_does_not_stop_the_other_packs(
    profile: BrowserContext, site: str
) -> None:
    def by_token(route: Route) -> None:
        if route.request.headers["authorization"] == "Pack old":
            route.fulfill(status=401, json={"sentence": "Sign in once on this device to send."})
        else:
            stored(route)

    Server(profile, by_token)
    page = open_device(profile, site, {**PACK, "token": "old"})
    page.evaluate(SAVE, 1)
    other = {**PACK, "id": "0192f0c0-0000-7000-8000-000000000002", "token": "new"}
    other |= {"assessor": {"id": 8, "name": "Imani Castellane"}}
    page.evaluate("(pack) => { site.pack = pack; return site.db.put('packs', pack); }", other)
    page.evaluate(SAVE, 1)

    page.evaluate(START)

    state = at_rest(page)
    assert state["state"] == "refused"
    assert state["sentence"].startswith("Sign in once on this device to send.")
    assert page.evaluate(SENT) == [0, 1]


def test_batches_hold_200_and_are_halved_when_they_are_too_large(
    profile: BrowserContext, site: str
) -> None:
    def at_most_sixty(route: Route) -> None:
        if len(sent_in(route.request)) > 60:
            route.fulfill(status=413)
        else:
            stored(route)

    server = Server(profile, at_most_sixty)
    page = open_device(profile, site)
    page.evaluate(SAVE, 210)

    page.evaluate(START)

    assert at_rest(page)["state"] == "idle"
    assert server.sizes()[:3] == [200, 100, 50]
    assert sum(size for size in server.sizes() if size <= 60) == 210
    assert set(page.evaluate(SENT)) == {1}


def test_an_event_over_which_the_server_breaks_is_kept_and_the_others_go(
    profile: BrowserContext, site: str
) -> None:
    def break_over_seven(route: Route) -> None:
        if any(event["seq"] == 7 for event in sent_in(route.request)):
            route.fulfill(status=500, body="Server Error")
        else:
            stored(route)

    server = Server(profile, break_over_seven)
    page = open_device(profile, site)
    page.evaluate(SAVE, 20)

    page.evaluate(START)
    assert at_rest(page)["unsent"] == 20, "once may be chance"
    page.evaluate("() => site.sendNow()")

    assert page.evaluate(SENT) == [1] * 6 + [0] + [1] * 13
    assert at_rest(page)["state"] == "waiting"
    page.evaluate("() => site.sendNow()")
    page.evaluate("() => site.sendNow()")
    state = at_rest(page)
    assert (state["state"], state["unsent"], state["passed"]) == ("refused", 1, 1)
    assert "Everything else goes" in state["sentence"]
    assert state["retryAt"] > page.evaluate("() => Date.now()") + 200_000
    assert server.sizes()[-2:] == [1, 1], "alone, so that it holds up no other"

    page.evaluate(SAVE, 1)
    page.evaluate("() => site.nudge()")
    assert page.evaluate(SENT)[6:] == [0] + [1] * 14, "what is saved meanwhile goes at once"
    server.answers = [stored]
    page.evaluate("() => site.sendNow()")
    assert at_rest(page)["state"] == "idle"
    assert set(page.evaluate(SENT)) == {1}


def test_an_event_without_a_readable_id_is_answered_by_its_place(
    profile: BrowserContext, site: str
) -> None:
    def by_place(route: Route) -> None:
        rows: list[dict[str, Any]] = []
        for place, event in enumerate(sent_in(route.request)):
            row: dict[str, Any] = {"id": event["id"], "result": "stored"}
            if event["id"] == "":
                row = {"id": None, "place": place, "result": "aside"}
                row |= {"reason": "unreadable", "sentence": "It has no id."}
            rows.append(row)
        route.fulfill(json={"results": rows})

    Server(profile, by_place)
    page = open_device(profile, site)
    page.evaluate(SAVE, 3)
    page.evaluate("""async () => {
      const [, second] = await site.db.all("events");
      await site.db.put("events", { ...second, id: "" });
    }""")

    page.evaluate(START)

    assert (at_rest(page)["state"], page.evaluate(SENT)) == ("idle", [1, 1, 1])
    aside = page.evaluate("async () => (await site.db.all('events')).map((one) => one.aside)")
    assert aside == [None, {"reason": "unreadable", "sentence": "It has no id."}, None]


def test_a_busy_server_is_asked_again_no_sooner_than_it_says(
    profile: BrowserContext, site: str
) -> None:
    server = Server(
        profile, lambda route: route.fulfill(status=429, headers={"Retry-After": "600"})
    )
    page = open_device(profile, site)
    page.evaluate(SAVE, 1)
    before = page.evaluate("() => Date.now()")

    page.evaluate(START)

    assert at_rest(page)["retryAt"] >= before + 600_000
    page.evaluate("() => site.sendNow()")
    assert len(server.requests) == 1
    assert page.evaluate("() => site.state.state") == "waiting"


def test_one_tab_sends_at_a_time(profile: BrowserContext, site: str) -> None:
    held: list[Route] = []
    server = Server(profile, held.append)
    tabs = [open_device(profile, site), open_device(profile, site)]
    tabs[0].evaluate(SAVE, 1)
    with profile.expect_event("request", lambda request: request.url.endswith("/site/events/")):
        tabs[0].evaluate(START)

    tabs[1].evaluate(START)
    assert at_rest(tabs[1])["state"] == "waiting"
    assert len(server.requests) == 1

    server.answers = [stored]
    stored(held[0])
    assert at_rest(tabs[0])["state"] == "idle"
    tabs[1].evaluate("() => site.sendNow()")
    assert at_rest(tabs[1])["state"] == "idle"
    assert len(server.requests) == 1


def test_a_loss_is_told_once_to_the_server(profile: BrowserContext, site: str) -> None:
    told: list[Any] = []

    def take(route: Route) -> None:
        told.append(route.request.post_data_json)
        route.fulfill(json={"result": "stored"})

    profile.route("**/site/losses/", take)
    page = open_device(profile, site)
    page.evaluate("() => site.write({ ...site.read(), last: 4, unsent: 3 })")
    page.close()
    page = open_device(profile, site)

    page.evaluate(START)
    at_rest(page)
    page.evaluate("() => site.sendNow()")

    [loss] = told
    assert (loss["last"], loss["found"], loss["unsent"]) == (4, 0, 3)
    # Listed in assessments/actions/site/losses.py.
    assert set(loss) == {"device", "epoch", "last", "found", "unsent", "found_at"}
