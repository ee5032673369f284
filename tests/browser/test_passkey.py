"""A passkey in a real browser, with the device that Chromium plays itself."""

import json
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.factories import PASSWORD, make_person
from training.models import Passkey, Person

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
AXE = Path(__file__).parent / "axe/axe.min.js"


@pytest.fixture
def trainee(transactional_db: None) -> Person:
    """Somebody with a password and no passkey, made before the browser starts."""
    return make_person("Aranka Felsőházi")


def seen_well(page: Page) -> None:
    """Fail for what axe-core finds, and for a page wider than a phone."""
    page.evaluate(AXE.read_text())
    found = page.evaluate("axe.run()")
    assert found["violations"] == [], json.dumps(found["violations"], indent=1)[:3000]
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_add_a_passkey_and_sign_in_with_it(
    trainee: Person, site: str, chromium: Browser, settings: Any
) -> None:
    # Browsers allow passkeys on localhost, and on no bare address.
    here = settings.BASE_URL = site.replace("127.0.0.1", "localhost")
    context = chromium.new_context(viewport={"width": 360, "height": 740})
    page = context.new_page()
    devtools = context.new_cdp_session(page)
    devtools.send("WebAuthn.enable")
    made = {
        "protocol": "ctap2",
        "transport": "internal",
        "hasResidentKey": True,
        "hasUserVerification": True,
        "isUserVerified": True,
        "automaticPresenceSimulation": True,
    }
    device = devtools.send("WebAuthn.addVirtualAuthenticator", {"options": made})

    page.goto(f"{here}/sign-in/?next=/account/passkeys/new/")
    seen_well(page)
    # There is no passkey yet: the page says so, and lets one try again.
    page.get_by_role("button", name="Use a passkey").click()
    expect(page.get_by_role("alert")).to_contain_text("The device gave no passkey")
    page.get_by_label("E-mail address").fill(trainee.email)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()

    expect(page.get_by_role("heading", level=1)).to_have_text("Add a passkey")
    page.get_by_role("button", name="Add a passkey").click()
    expect(page.get_by_text("Write a name").first).to_be_visible()
    page.get_by_label("Name").fill("My phone")
    seen_well(page)
    page.get_by_role("button", name="Add a passkey").click()
    expect(page.get_by_text("My phone is added")).to_be_visible()
    seen_well(page)

    page.get_by_role("button", name="Sign out").click()
    page.goto(f"{here}/sign-in/?next=/account/")
    page.get_by_role("button", name="Use a passkey").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("My account")
    credentials = devtools.send("WebAuthn.getCredentials", device)["credentials"]
    assert [each["isResidentCredential"] for each in credentials] == [True]

    # The device knows of it already; a removed one signs nobody in.
    page.goto(f"{here}/account/passkeys/new/")
    page.get_by_label("Name").fill("Twice")
    page.get_by_role("button", name="Add a passkey").click()
    expect(page.get_by_role("alert")).to_contain_text("has a passkey for your account already")
    page.goto(f"{here}/account/")
    page.get_by_role("button", name="Remove My phone").click()
    expect(page.get_by_text("signs you in no longer")).to_be_visible()
    page.get_by_role("button", name="Sign out").click()
    page.goto(f"{here}/sign-in/")
    page.get_by_role("button", name="Use a passkey").click()
    expect(page.get_by_text("This passkey does not sign you in")).to_be_visible()
    assert not Passkey.objects.exists()
    context.close()
